"""Which photos have arrived in a folder that a camera writes into, one look at a time."""

from __future__ import annotations

import time
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from tapemark.services.photos.sifting import photos_in

__all__ = ["FolderArrivals", "looks_whole"]

STILL_S = 0.35  # for which a file must not have changed
UNTOLD_STILL_S = 1.2  # the same where its end does not tell
GIVE_UP_S = 8.0  # still for so long, it is taken as it is
_TAIL = 65_536


@dataclass(slots=True)
class _Seen:
    state: tuple[int, int]
    since: float
    taken: bool = False


class FolderArrivals:
    """What has arrived in one folder.

    Parameters
    ----------
    folder : Path
        Where the camera writes; only read.
    passed_over : collection of str
        Names of files that are not wanted, such as those that lay there before.
    """

    def __init__(self, folder: Path, *, passed_over: Collection[str] = ()) -> None:
        self.folder = folder
        self._passed_over = frozenset(passed_over)
        self._seen: dict[str, _Seen] = {}

    def look(self, *, now: float | None = None) -> tuple[Path, ...]:
        """Return the photos that have arrived whole since the last look, by name.

        Raises
        ------
        FileError
            The folder cannot be read.
        """
        now = time.monotonic() if now is None else now
        paths = [one for one in photos_in(self.folder) if one.name not in self._passed_over]
        for gone in self._seen.keys() - {one.name for one in paths}:
            del self._seen[gone]
        return tuple(one for one in paths if self._has_arrived(one, now=now))

    def _has_arrived(self, path: Path, *, now: float) -> bool:
        state = _state(path)
        if state is None:
            return False
        known = self._seen.get(path.name)
        if known is None or known.state != state:
            self._seen[path.name] = _Seen(state=state, since=now)
            return False
        still_s = now - known.since
        if known.taken or still_s < STILL_S:
            return False
        whole = looks_whole(path)
        needed_s = GIVE_UP_S if whole is False else UNTOLD_STILL_S if whole is None else STILL_S
        known.taken = still_s >= needed_s
        return known.taken


def looks_whole(path: Path) -> bool | None:
    """Return whether a file ends as its kind does; None where its end does not tell."""
    try:
        with path.open("rb") as file:
            head = file.read(12)
            file.seek(max(0, path.stat().st_size - _TAIL))
            tail = file.read(_TAIL).rstrip(b"\0")
    except OSError:
        return False
    if head.startswith(b"\xff\xd8\xff"):
        return b"\xff\xd9" in tail
    if head.startswith(b"\x89PNG"):
        return b"IEND" in tail[-16:]
    return None


def _state(path: Path) -> tuple[int, int] | None:
    try:
        about = path.stat()
    except OSError:
        return None
    return (about.st_size, about.st_mtime_ns) if about.st_size else None
