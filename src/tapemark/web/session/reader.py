"""Reads the frames of sessions in the app's processes, the newest first, whoever looks.

What waits is in the library: after a restart it goes on as soon as somebody opens the session.
One process is always left to others.
"""

from __future__ import annotations

import asyncio
import json
import logging
import os
from collections.abc import Coroutine
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from starlette.requests import HTTPConnection

from tapemark.errors import NotKept, TapemarkError
from tapemark.services.photos.frame_reading import FrameRead
from tapemark.services.photos.session_log import keep_match
from tapemark.services.photos.session_queue import FrameJob, keep_read, next_job, to_match
from tapemark.store.arriving_files import Arriving, waiting_name
from tapemark.web.answering import log_fault
from tapemark.web.desk import Desk, desk_of
from tapemark.web.workers.pool import Fault, Refused, Stopped

if TYPE_CHECKING:
    from tapemark.store import Library

TASKS = "tapemark.web.session.tasks:"
LIMIT_S = 120.0  # a frame, or a match, that takes longer hangs
_LOG = logging.getLogger("tapemark.web")


@dataclass(kw_only=True)
class _Shift:
    """The work on one session while it goes on."""

    reading: asyncio.Task[None] | None = None
    naming: asyncio.Task[None] | None = None
    again: bool = False
    in_hand: set[int] = field(default_factory=set)
    wanted: list[int] = field(default_factory=list)  # frames whose light is asked for
    matching: int = 0


class FrameReader:
    """All reading of one running app.

    Parameters
    ----------
    desk : Desk
        Its workers read, its library keeps.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._shifts: dict[str, _Shift] = {}
        most = desk.settings.long_workers or max(2, (os.cpu_count() or 1) - 1)
        self._slots = max(1, most - 1)
        self._turn = asyncio.Semaphore(self._slots)
        self._swept = False

    def stir(self, session: str, *, look_at: int | None = None) -> None:
        """Have the frames of a session read that wait, and ask whose light is in one of them."""
        shift = self._shifts.setdefault(session, _Shift())
        shift.again = True
        if shift.reading is None or shift.reading.done():
            shift.reading = asyncio.create_task(self._guarded(session, self._work(session, shift)))
        if look_at is not None and look_at != shift.matching:
            shift.wanted = [look_at]
            if shift.naming is None or shift.naming.done():
                shift.naming = asyncio.create_task(
                    self._guarded(session, self._name(session, shift))
                )

    def matching(self, session: str) -> int:
        """Return the frame whose light is being looked for; 0 for none."""
        shift = self._shifts.get(session)
        return 0 if shift is None else shift.matching

    async def close(self) -> None:
        """Stop; what waits stays in the library."""
        shifts = self._shifts.values()
        tasks = [one for each in shifts for one in (each.reading, each.naming) if one is not None]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    # ------------------------------------------------------------------ inside

    async def _guarded(self, session: str, work: Coroutine[Any, Any, None]) -> None:
        try:
            await work
        except (Stopped, NotKept):
            pass  # the app ends, or the session was erased
        except TapemarkError as error:
            _LOG.warning("session %s: %s", session, error)
        except Exception as error:
            log_fault(error, where=f"session {session}")

    async def _work(self, session: str, shift: _Shift) -> None:
        """Read until no frame waits."""
        await self._sweep()
        while shift.again:
            shift.again = False
            await asyncio.gather(
                *(self._hand(session, shift, number) for number in range(self._slots))
            )

    async def _name(self, session: str, shift: _Shift) -> None:
        """Find whose light is in the frames asked for."""
        while shift.wanted:
            await self._match(session, shift, shift.wanted.pop())

    async def _hand(self, session: str, shift: _Shift, number: int) -> None:
        """Read one frame after the other until none waits."""
        while True:
            async with self._turn:
                job = await self._desk.library.do(
                    lambda library: next_job(library, session, in_hand=set(shift.in_hand))
                )
                if job is None:
                    return
                shift.in_hand.add(job.frame)
                try:
                    await self._read(session, job, key=f"frame:{session}:{number}")
                finally:
                    shift.in_hand.discard(job.frame)

    async def _read(self, session: str, job: FrameJob, *, key: str) -> None:
        pictures: dict[str, bytes] = {}
        try:
            async with asyncio.timeout(LIMIT_S):
                parts = await self._desk.workers.long(key, f"{TASKS}read_frame", **job.arguments)
            body = json.loads(parts.pop("body"))
            pictures = parts
        except (Fault, TimeoutError):
            said = "crashed what reads it, or took too long; it is damaged, leave it out"
            body = {"reading": None, "error": f"{job.name}: {said}"}
        except Refused as error:
            body = {"reading": None, "error": str(error)}

        read = FrameRead(body=body, pictures=pictures)
        await self._desk.library.do(lambda library: keep_read(library, session, job, read))

    async def _match(self, session: str, shift: _Shift, frame: int) -> None:
        asked = await self._desk.library.do(lambda library: to_match(library, session, frame))
        if asked is None:
            return
        shift.matching = frame
        try:
            async with asyncio.timeout(LIMIT_S):
                parts = await self._desk.workers.long(
                    f"match:{session}", f"{TASKS}match", **asked.arguments
                )
            body = json.loads(parts["match"])
        except (Fault, Refused, TimeoutError) as error:
            body = {"wearers": [], "corrected": None, "notes": [], **asked.known}
            body |= {"moves": True, "error": str(error)}  # not asked for again
        finally:
            shift.matching = 0
        await self._desk.library.do(lambda library: keep_match(library.log(session), frame, body))
        if not body["moves"] and not shift.wanted:
            shift.wanted = [frame]  # now for the one move

    async def _sweep(self) -> None:
        """Once a run, take away sent photos that nobody waits for."""
        if self._swept:
            return
        self._swept = True

        def sweep(library: Library) -> None:
            wanted = set()
            for line in library.kept("session"):
                waiting = library.log(line.id).without("frame", "reading", most=10_000)
                wanted |= {waiting_name(line.id, str(one.body.get("digest"))) for one in waiting}
            Arriving(library.path).sweep(wanted)

        await self._desk.library.do(sweep)


def reader_of(connection: HTTPConnection) -> FrameReader:
    """Return the reader of the app that a request came to."""
    state = connection.app.state
    if not hasattr(state, "frame_reader"):
        state.frame_reader = FrameReader(desk_of(connection))
        state.endings.append(state.frame_reader.close)
    reader: FrameReader = state.frame_reader
    return reader
