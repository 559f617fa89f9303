"""Pictures and papers made by the app's processes, once while nothing changes.

They are long work, so that none of it holds up somebody who drags.
"""

import asyncio
import hashlib
import json
from typing import Any

from starlette.requests import HTTPConnection

from tapemark.errors import TapemarkError
from tapemark.web.desk import Desk, desk_of
from tapemark.web.workers.pool import Stopped

TASKS = "tapemark.web.start.tasks:"
MOST_KEPT, MOST_BYTES = 64, 48_000_000


class Drawn:
    """What was drawn lately, by what it was drawn from.

    Parameters
    ----------
    desk : Desk
        Its workers draw.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._kept: dict[str, bytes] = {}
        self._under_way: dict[str, asyncio.Task[bytes]] = {}

    async def file(self, task: str, **arguments: Any) -> bytes:
        """Return the file that a task makes, see `tapemark.web.start.tasks`."""
        text = json.dumps([task, arguments], sort_keys=True, ensure_ascii=False)
        mark = hashlib.sha256(text.encode()).hexdigest()
        if mark in self._kept:
            self._kept[mark] = self._kept.pop(mark)
            return self._kept[mark]
        work = self._under_way.get(mark)
        if work is None:
            work = self._under_way[mark] = asyncio.create_task(self._make(mark, task, arguments))
            work.add_done_callback(lambda done: self._over(mark, done))
        try:
            return await asyncio.shield(work)
        except Stopped:
            raise TapemarkError("tapemark is just closing: open it again.") from None

    def _over(self, mark: str, work: "asyncio.Task[bytes]") -> None:
        self._under_way.pop(mark, None)
        if not work.cancelled():
            work.exception()  # whoever waited has it, or is gone

    async def _make(self, mark: str, task: str, arguments: dict[str, Any]) -> bytes:
        workers = self._desk.workers
        parts = await workers.long(f"drawn:{mark}", f"{TASKS}{task}", **arguments)
        self._kept[mark] = parts["file"]
        while len(self._kept) > MOST_KEPT or sum(map(len, self._kept.values())) > MOST_BYTES:
            del self._kept[next(iter(self._kept))]
        return parts["file"]


async def drawn_file(connection: HTTPConnection, task: str, **arguments: Any) -> bytes:
    """Return the file that a task makes for the app that a request came to."""
    state = connection.app.state
    if not hasattr(state, "drawn"):
        state.drawn = Drawn(desk_of(connection))
    drawn: Drawn = state.drawn
    return await drawn.file(task, **arguments)
