"""Folders that a tethered camera writes into, looked through while the app runs.

A folder is named on the machine itself only, and only read. What is watched is in the library, so
that it goes on after a restart: what arrived meanwhile is taken in then.
"""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.requests import HTTPConnection

from tapemark.errors import NotKept, TapemarkError
from tapemark.services.photos.folder_arrivals import FolderArrivals
from tapemark.services.photos.frame_reading import fingerprint
from tapemark.services.photos.session_log import add_frame, standing
from tapemark.services.photos.sifting import photos_in
from tapemark.web.answering import log_fault
from tapemark.web.desk import Desk, desk_of
from tapemark.web.session.reader import FrameReader, reader_of

if TYPE_CHECKING:
    from tapemark.store import Library

LOOK_S = 0.4
AWAY_S = 2.0  # while the folder cannot be read
MOST_PASSED_OVER = 20_000
MOST_PASSED_OVER_BYTES = 600_000
LONGEST_FOLDER = 1000  # characters


class Watches:
    """The folders that one running app watches, one for each session.

    Parameters
    ----------
    desk : Desk
        Its library keeps what arrives.
    reader : FrameReader
        Reads it.
    """

    def __init__(self, desk: Desk, reader: FrameReader) -> None:
        self._desk = desk
        self._reader = reader
        self._tasks: dict[str, asyncio.Task[None]] = {}
        self._troubles: dict[str, str] = {}

    def trouble(self, session: str) -> str:
        """Return why a folder cannot be watched just now; nothing where it can."""
        return self._troubles.get(session, "")

    async def resume(self, session: str) -> None:
        """Watch what the session says is watched, unless that is done already."""
        task = self._tasks.get(session)
        if task is None or task.done():
            self._tasks[session] = asyncio.create_task(self._watch(session))

    async def begin(self, session: str, folder: str, *, old_too: bool) -> None:
        """Watch a folder from now on.

        Raises
        ------
        TapemarkError
            It is none, or has too much in it.
        """
        path = _named(folder)
        before = [] if old_too else [one.name for one in await asyncio.to_thread(photos_in, path)]
        if len(before) > MOST_PASSED_OVER or sum(map(len, before)) > MOST_PASSED_OVER_BYTES:
            raise TapemarkError(
                f"There are {len(before)} photos in {path} already, more than can be told apart: "
                "name an emptier folder."
            )
        body = {"on": True, "folder": str(path), "before": before}
        await self._desk.library.do(lambda library: library.log(session).add("watch", body))
        await self._stop(session)
        await self.resume(session)

    async def end(self, session: str) -> None:
        """Watch no folder for a session any more."""
        await self._stop(session)
        await self._desk.library.do(
            lambda library: library.log(session).add("watch", {"on": False})
        )

    async def close(self) -> None:
        """Stop looking; the app ends."""
        for session in tuple(self._tasks):
            await self._stop(session)

    async def _stop(self, session: str) -> None:
        task = self._tasks.pop(session, None)
        self._troubles.pop(session, None)
        if task is not None:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    async def _watch(self, session: str) -> None:
        try:
            now = await self._desk.library.do(lambda library: standing(library.log(session)))
            if not now.watched:
                return
            arrivals = FolderArrivals(Path(now.watched), passed_over=now.passed_over)
            while True:
                await asyncio.sleep(await self._look(session, arrivals))
        except NotKept:
            pass  # erased
        except Exception as error:
            mark = log_fault(error, where=f"watching for session {session}")
            self._troubles[session] = f"Watching the folder went wrong (fault {mark})."

    async def _look(self, session: str, arrivals: FolderArrivals) -> float:
        """Take in what has arrived; return how long to wait until the next look. [s]"""
        try:
            paths = await asyncio.to_thread(arrivals.look)
            for path in paths:
                await self._desk.library.do(
                    lambda library, path=path: _take_in(library, session, path)  # type: ignore[misc]
                )
        except NotKept:
            raise
        except TapemarkError as error:
            self._troubles[session] = str(error)
            return AWAY_S
        self._troubles.pop(session, None)
        if paths:
            self._reader.stir(session)
        return LOOK_S


def _take_in(library: Library, session: str, path: Path) -> None:
    mark = fingerprint(path)
    add_frame(library, session, name=path.name, folder=str(path.parent), mark=mark, where="folder")


def _named(folder: str) -> Path:
    """Return a folder as it was typed, or say what is wrong with it."""
    text = folder.strip().strip('"')
    if not text or len(text) > LONGEST_FOLDER or not text.isprintable():
        raise TapemarkError("Which folder? Write its whole path on this computer.")
    try:
        path = Path(text).expanduser()
    except RuntimeError:  # "~name" of nobody
        raise TapemarkError(f"{text}: there is no such folder on this computer.") from None
    if not path.is_absolute():
        raise TapemarkError(f"{text}: write the whole path, from the root or the drive on.")
    if not path.is_dir():
        raise TapemarkError(f"{text}: there is no such folder on this computer.")
    return path


def watches_of(connection: HTTPConnection) -> Watches:
    """Return the watched folders of the app that a request came to."""
    state = connection.app.state
    if not hasattr(state, "watches"):
        state.watches = Watches(desk_of(connection), reader_of(connection))
        state.endings.append(state.watches.close)
    watches: Watches = state.watches
    return watches
