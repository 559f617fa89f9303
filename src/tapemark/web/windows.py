"""The windows that show a set, so that one hears what another changed."""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from tapemark.web.workers.pool import Parts

MOST_WINDOWS = 64
MOST_VIEWS = 24


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """A set as it is after somebody changed it.

    Attributes
    ----------
    revision : int
        Its revision.
    text : str
        What is told to the windows: JSON.
    """

    revision: int
    text: str


class Window:
    """One window that shows a set: what it is told waits here until it can be sent.

    Parameters
    ----------
    thing_id : str
        The set.
    stirred : Event
        Set when there is something to send.
    close : callable
        Awaited when the app ends.
    """

    def __init__(
        self, thing_id: str, *, stirred: asyncio.Event, close: Callable[[], Awaitable[None]]
    ) -> None:
        self.thing_id = thing_id
        self.close = close
        self._stirred = stirred
        self._change: Change | None = None

    def tell(self, change: Change) -> None:
        """Leave a change for the window; a newer one takes the place of one not yet sent."""
        if self._change is None or change.revision > self._change.revision:
            self._change = change
        self._stirred.set()

    def take(self) -> Change | None:
        """Return what waits to be sent, once."""
        change, self._change = self._change, None
        return change


class Windows:
    """All windows of one running app that show a set."""

    def __init__(self) -> None:
        self._open: set[Window] = set()
        self._views: dict[str, Parts] = {}

    def __len__(self) -> int:
        return len(self._open)

    @property
    def full(self) -> bool:
        """Whether no further window can be opened."""
        return len(self._open) >= MOST_WINDOWS

    def add(self, window: Window) -> None:
        """Remember an open window."""
        self._open.add(window)

    def remove(self, window: Window) -> None:
        """Forget a window that was closed."""
        self._open.discard(window)

    def showing(self, thing_id: str) -> tuple[Window, ...]:
        """Return the windows that show a set."""
        return tuple(one for one in self._open if one.thing_id == thing_id)

    def tell(self, thing_id: str, change: Change, *, but: Window | None = None) -> None:
        """Tell the windows of a set what it is now, but for the one that changed it."""
        for window in self.showing(thing_id):
            if window is not but:
                window.tell(change)

    def view(self, mark: str) -> Parts | None:
        """Return a whole view that was computed lately, by the mark of what it shows."""
        found = self._views.pop(mark, None)
        if found is not None:
            self._views[mark] = found
        return found

    def keep_view(self, mark: str, view: Parts) -> None:
        """Keep a whole view for the next window, or for an undo."""
        self._views[mark] = view
        while len(self._views) > MOST_VIEWS:
            del self._views[next(iter(self._views))]

    async def close(self) -> None:
        """Close all windows' sockets: the app ends."""
        await asyncio.gather(*(one.close() for one in tuple(self._open)), return_exceptions=True)
