"""What all pages and sockets of one running app share."""

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from starlette.requests import HTTPConnection

from tapemark.web.sessions import Sessions
from tapemark.web.settings import Settings
from tapemark.web.workers.team import Workers

if TYPE_CHECKING:
    from tapemark.store.library import Library
    from tapemark.web.windows import Windows

Found = TypeVar("Found")

THREADS = 4  # one may read in a large file while others save


class Shelf:
    """The library, used from threads of its own so that no page waits on the disk.

    Parameters
    ----------
    open_library : callable
        Opens the library; called when it is first used.
    """

    def __init__(self, open_library: "Callable[[], Library]") -> None:
        self._open = open_library
        self._library: Library | None = None
        self._opening = threading.Lock()
        self._threads = ThreadPoolExecutor(max_workers=THREADS, thread_name_prefix="library")

    async def do(self, work: "Callable[[Library], Found]") -> Found:
        """Return what a function of the library returns; other pages go on meanwhile."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._threads, self._work, work)

    async def close(self) -> None:
        """Finish what was begun, and close the library."""
        await asyncio.to_thread(self._end)

    def _work(self, work: "Callable[[Library], Found]") -> Found:
        with self._opening:
            if self._library is None:
                self._library = self._open()
        return work(self._library)

    def _end(self) -> None:
        self._threads.shutdown()
        if self._library is not None:
            self._library.close()
            self._library = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Desk:
    """What all pages and sockets of one running app share.

    Attributes
    ----------
    settings : Settings
        What the app was told when it started.
    library : Shelf
        The library: ``await desk.library.do(lambda library: library.get(id))``.
    workers : Workers
        Processes that compute: ``await desk.workers.live(...)`` and ``.long(...)``.
    sessions : Sessions
        Devices that may use the app over the network.
    windows : Windows
        Open set windows, to tell one what another changed.
    """

    settings: Settings
    library: Shelf
    workers: Workers
    sessions: Sessions = field(default_factory=Sessions)
    windows: "Windows"


def desk_of(connection: HTTPConnection) -> Desk:
    """Return the desk of the app that a request or socket came to."""
    desk = connection.app.state.desk
    assert isinstance(desk, Desk)
    return desk
