"""Files named at the start that say something else than the library: kept until it is decided."""

import secrets
from typing import TYPE_CHECKING

from starlette.requests import HTTPConnection

if TYPE_CHECKING:
    from tapemark.services.library.opened_files import OpenedFile

MOST_OFFERED = 16


class OpenedFiles:
    """The files of one running app that wait for a choice, each under a mark."""

    def __init__(self) -> None:
        self._waiting: dict[str, OpenedFile] = {}

    def add(self, opened: "OpenedFile") -> str:
        """Keep a file, and return the address of the page that asks what to do with it."""
        mark = secrets.token_hex(8)
        self._waiting[mark] = opened
        while len(self._waiting) > MOST_OFFERED:
            del self._waiting[next(iter(self._waiting))]
        return f"/file/{mark}"

    def get(self, mark: str) -> "OpenedFile | None":
        """Return a file that waits."""
        return self._waiting.get(mark)

    def done(self, mark: str) -> None:
        """Forget a file: the choice was made."""
        self._waiting.pop(mark, None)


def opened_files_of(connection: HTTPConnection) -> OpenedFiles:
    """Return the files of the app that a request came to."""
    found: OpenedFiles = connection.app.state.opened_files
    return found
