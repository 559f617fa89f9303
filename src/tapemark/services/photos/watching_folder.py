"""Watch the folder that a tethered camera writes into, and read every photo that arrives.

The folder is looked through again and again: that works on every kind of disk and share. A photo
counts as arrived when neither its size nor its time has changed between two looks and it can be
read to its end; one that cannot yet is tried again until it has been still for a while.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tapemark.errors import FileError
from tapemark.photo import Hints, ShotReading
from tapemark.photo.cascades import load_detectors
from tapemark.photo.lens_net import load_network
from tapemark.services.photos.photo_reading import read_photo_file
from tapemark.services.photos.sifting import photos_in

LOOK_S = 0.25  # between looks
STILL_S = 0.35  # for which a file must not have changed
GIVE_UP_S = 8.0  # still and not readable for so long: it is damaged


@dataclass(frozen=True, kw_only=True, slots=True)
class Arrived:
    """A photo that arrived.

    Attributes
    ----------
    path : Path
        The file.
    reading : ShotReading or None
        None where it cannot be read.
    error : str
        Why not, in one line; else empty.
    waited_s : float
        From the last change of the file that was seen to the answer. [s]
    """

    path: Path
    reading: ShotReading | None
    error: str
    waited_s: float


@dataclass(kw_only=True)
class _Seen:
    """A file as it was last seen."""

    state: tuple[int, int]
    since: float
    done: bool = False
    error: str = ""
    tried: float = field(default=0.0)


def watch_folder(
    folder: Path,
    *,
    hints: Hints | None = None,
    old_too: bool = False,
    stopped: Callable[[], bool] = lambda: False,
    read: Callable[..., ShotReading] = read_photo_file,
) -> Iterator[Arrived | None]:
    """Yield the photos that arrive in a folder, and None after every look at it.

    Parameters
    ----------
    folder : Path
        Where the camera writes.
    hints : Hints, optional
        What is known of the sitter.
    old_too : bool
        Whether photos that are there already are read first.
    stopped : callable
        Asked between looks whether to end.
    read : callable
        Reads a photo.

    Raises
    ------
    FileError
        The folder cannot be read.
    """
    seen: dict[str, _Seen] = {}
    load_detectors()
    load_network()
    for path in photos_in(folder):
        if not old_too and (state := _state(path)) is not None:
            seen[path.name] = _Seen(state=state, since=time.monotonic(), done=True)
    while not stopped():
        began = time.monotonic()
        paths = photos_in(folder)
        for path in paths:
            arrived = _looked_at(path, seen, hints=hints, read=read)
            if arrived is not None:
                yield arrived
        for gone in seen.keys() - {one.name for one in paths}:
            del seen[gone]
        yield None
        time.sleep(max(LOOK_S - (time.monotonic() - began), 0.02))


def _looked_at(
    path: Path,
    seen: dict[str, _Seen],
    *,
    hints: Hints | None,
    read: Callable[..., ShotReading],
) -> Arrived | None:
    """Return what became of a file at this look, if anything did."""
    state, now = _state(path), time.monotonic()
    if state is None:
        return None
    known = seen.get(path.name)
    if known is None or known.state != state:
        seen[path.name] = _Seen(state=state, since=now)
        return None
    still = now - known.since
    if known.done or still < STILL_S or (known.error and now - known.tried < still / 4):
        return None
    known.tried = now
    try:
        reading = read(path, hints=hints)
    except FileError as error:
        known.error = str(error)
        if still < GIVE_UP_S:
            return None
        known.done = True
        return Arrived(path=path, reading=None, error=known.error, waited_s=still)
    if _state(path) != state:  # it changed while it was read
        return None
    known.done = True
    waited = time.monotonic() - known.since
    return Arrived(path=path, reading=reading, error="", waited_s=waited)


def _state(path: Path) -> tuple[int, int] | None:
    """Return size and time of a file; None for one that is gone."""
    try:
        about = path.stat()
    except OSError:
        return None
    return about.st_size, about.st_mtime_ns
