"""Sift a folder of photos: a verdict for every frame and wearer, many at once.

What is done is kept in a journal, a line for every frame, so that it can be broken off at any
time and goes on from there. Originals are only read.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from tapemark.errors import FileError, WriteError, shown_name
from tapemark.photo import PHOTO_SUFFIXES, Hints
from tapemark.photo.batch_worker import Job
from tapemark.planning import Watch
from tapemark.services.photos.photo_batch import read_many
from tapemark.services.photos.sift_out import CROP_ENDING, CROPS, JOURNAL, check_out
from tapemark.services.plain import Plain

FORMAT = 1
_MOST_LINE = 1_000_000


@dataclass(frozen=True, kw_only=True, slots=True)
class SiftedFrame:
    """One frame of a folder.

    Attributes
    ----------
    file : str
        Its name, under the folder.
    reading : dict or None
        As `reading_as_plain` tells it; None where it could not be read.
    error : str
        Why it could not be read, in one line; else empty.
    """

    file: str
    reading: Plain | None
    error: str

    @property
    def trouble(self) -> float:
        """How much is wrong with it; unreadable frames come first."""
        return 100.0 if self.reading is None else float(self.reading["trouble"])

    @property
    def verdict(self) -> str:
        """Its verdict, or ``unreadable``."""
        return "unreadable" if self.reading is None else str(self.reading["verdict"])


@dataclass(frozen=True, kw_only=True, slots=True)
class SiftReport:
    """A folder of photos.

    Attributes
    ----------
    folder : str
        Which.
    frames : tuple of SiftedFrame
        The worst first.
    total : int
        How many photos the folder has.
    taken_over : int
        How many of these were read in an earlier run.
    interrupted : bool
        Whether it was broken off before all were read.
    """

    folder: str
    frames: tuple[SiftedFrame, ...]
    total: int
    taken_over: int
    interrupted: bool


def photos_in(folder: Path) -> tuple[Path, ...]:
    """Return the photos in a folder, by name; not those in folders within it.

    Raises
    ------
    FileError
        There is no such folder, or it may not be read.
    """
    try:
        with os.scandir(folder) as entries:
            names = [
                one.name
                for one in entries
                if Path(one.name).suffix.lower() in PHOTO_SUFFIXES
                and not one.name.startswith(".")
                and one.is_file()
            ]
    except OSError as error:
        raise FileError(
            str(folder),
            reason=f"cannot be read as a folder ({error.strerror or error})",
            advice="name a folder of photos",
        ) from None
    return tuple(folder / name for name in sorted(names))


def sift_folder(
    folder: Path,
    *,
    out: Path,
    hints: Hints | None = None,
    workers: int = 0,
    watch: Watch | None = None,
) -> SiftReport:
    """Read every photo of a folder, going on where an earlier run ended.

    Parameters
    ----------
    folder : Path
        Of photos.
    out : Path
        Where journal and crops are kept.
    hints : Hints, optional
        What is known of the sitter.
    workers : int
        Processes; 0 for as many as there are processors.
    watch : Watch, optional
        Who waits; what is done is kept when it stops.

    Raises
    ------
    FileError
        The folder cannot be read, or `out` has something else that would be replaced.
    """
    watch = watch or Watch()
    photos = photos_in(folder)
    check_out(out, folder=folder)
    known = asdict(hints) if hints is not None else {}
    done = _taken_over(out, photos, folder=folder, known=known)
    left = [one for one in photos if one.name not in done]
    frames, taken_over = dict(done), len(done)
    with _opened(out) as journal:
        jobs = (Job(path=str(one), hints=hints) for one in left)
        for number, answer in enumerate(read_many(jobs, workers=workers, watch=watch), start=1):
            name = Path(answer.path).name
            frames[name] = SiftedFrame(file=name, reading=answer.reading, error=answer.error)
            _keep_crop(out, name, answer.crop)
            journal.write(_line(answer.path, frames[name], folder=folder, known=known))
            journal.flush()
            watch.tell(f"{taken_over + number} of {len(photos)} photos")
    ordered = sorted(frames.values(), key=lambda one: (-one.trouble, one.file))
    return SiftReport(
        folder=shown_name(folder.name or str(folder)),
        frames=tuple(ordered),
        total=len(photos),
        taken_over=taken_over,
        interrupted=len(frames) < len(photos),
    )


def crop_of(out: Path, frame: SiftedFrame) -> bytes:
    """Return the crop that was kept of a frame; empty where there is none."""
    try:
        return _crop_path(out, frame.file).read_bytes()
    except OSError:
        return b""


def _opened(out: Path) -> Any:
    try:
        (out / CROPS).mkdir(parents=True, exist_ok=True)
        return (out / JOURNAL).open("a", encoding="utf-8")
    except OSError as error:
        raise WriteError(
            str(out),
            reason=f"cannot be written ({error.strerror or error})",
            advice="name another folder with --out",
        ) from None


def _line(path: str, frame: SiftedFrame, *, folder: Path, known: Plain) -> str:
    mark = _mark(Path(path), folder=folder, known=known)
    return json.dumps({**mark, "reading": frame.reading, "error": frame.error}) + "\n"


def _mark(photo: Path, *, folder: Path, known: Plain) -> Plain:
    """Return by what a frame is known again: another size, time or sitter is another frame."""
    try:
        about = photo.stat()
        size, time = about.st_size, about.st_mtime_ns
    except OSError:
        size = time = 0
    return {
        "format": FORMAT,
        "folder": folder.resolve().name,
        "file": photo.name,
        "bytes": size,
        "time": time,
        "known": json.loads(json.dumps(known)),
    }


def _taken_over(
    out: Path, photos: tuple[Path, ...], *, folder: Path, known: Plain
) -> dict[str, SiftedFrame]:
    """Return the frames that the journal has and that have not changed since."""
    marks = {one.name: _mark(one, folder=folder, known=known) for one in photos}
    found = {}
    for entry in _entries(out / JOURNAL):
        name = str(entry.get("file"))
        mark = marks.get(name)
        if mark is None or any(entry.get(key) != value for key, value in mark.items()):
            continue
        reading, error = entry.get("reading"), entry.get("error")
        if isinstance(error, str) and (reading is None or isinstance(reading, dict)):
            found[name] = SiftedFrame(file=name, reading=reading, error=error)
    return found


def _entries(journal: Path) -> Iterator[Plain]:
    """Yield what a journal holds; lines that are not whole are passed over."""
    try:
        with journal.open(encoding="utf-8", errors="replace") as lines:
            for line in lines:
                try:
                    entry = json.loads(line) if len(line) < _MOST_LINE else None
                except (ValueError, RecursionError):
                    continue
                if isinstance(entry, dict):
                    yield entry
    except OSError:
        return


def _keep_crop(out: Path, name: str, crop: bytes) -> None:
    if crop:
        _crop_path(out, name).write_bytes(crop)


def _crop_path(out: Path, name: str) -> Path:
    return out / CROPS / f"{name}{CROP_ENDING}"
