"""Results of sifting, read from their journal as it grows: who is in them, the worst first."""

from __future__ import annotations

import hashlib
import json
import threading
from dataclasses import dataclass
from pathlib import Path

from tapemark.photo import PHOTO_SUFFIXES
from tapemark.services.photos.glasses_alike import Glasses, Size, alike, glasses_size
from tapemark.services.photos.sift_files import sheet_line
from tapemark.services.photos.sift_out import JOURNAL
from tapemark.services.photos.sifting import SiftedFrame, SiftReport
from tapemark.services.plain import Plain

VERDICTS = ("unreadable", "veiled", "edge", "unsure", "clear", "no glasses")
MOST_LINE = 1_000_000
MOST_NAME = 300


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """One frame of the results.

    Attributes
    ----------
    key : str
        What pages call it.
    frame : SiftedFrame
        Its reading.
    line : str
        What was found, in a few words.
    wears : tuple of int
        Numbers of the glasses in it, see `Glasses`; 0 for somebody without.
    """

    key: str
    frame: SiftedFrame
    line: str
    wears: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Results:
    """All frames that were read so far.

    Attributes
    ----------
    frames : tuple of Found
        The worst first.
    glasses : tuple of Glasses
        Who wears alike ones.
    counts : dict of str to int
        How many frames have each verdict.
    """

    frames: tuple[Found, ...]
    glasses: tuple[Glasses, ...]
    counts: dict[str, int]

    def find(self, key: str) -> Found | None:
        """Return a frame by its key."""
        return next((one for one in self.frames if one.key == key), None)

    def chosen(self, *, verdict: str = "", wearer: str = "") -> tuple[Found, ...]:
        """Return the frames of a verdict and of somebody.

        Parameters
        ----------
        verdict : str
            One of `VERDICTS`; empty for all.
        wearer : str
            Number of glasses, ``none`` for somebody without; empty for all.
        """
        number = {"none": 0, "": -1}.get(wearer)
        if number is None:
            number = int(wearer) if wearer.isascii() and wearer.isdigit() and len(wearer) < 5 else 0
        return tuple(
            one
            for one in self.frames
            if (not verdict or one.frame.verdict == verdict) and (number < 0 or number in one.wears)
        )

    def report(self, name: str, *, total: int, interrupted: bool) -> SiftReport:
        """Return the results as the command has them, to be exported."""
        return SiftReport(
            folder=name,
            frames=tuple(one.frame for one in self.frames),
            total=total,
            taken_over=0,
            interrupted=interrupted,
        )


class SiftJournal:
    """A journal of results; what was read of it is kept, and only what is new is read again.

    Parameters
    ----------
    folder : Path
        Of the results.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / JOURNAL
        self._lock = threading.Lock()
        self._entries: dict[str, _Entry] = {}
        self._at = 0
        self._file: tuple[int, int] | None = None
        self._there: frozenset[str] | None = None
        self._results = Results(frames=(), glasses=(), counts={})

    @property
    def latest(self) -> Results:
        """What was read when it was last looked at; empty before."""
        return self._results

    def results(self, *, there: frozenset[str] | None = None) -> Results:
        """Return everything that was read so far.

        Parameters
        ----------
        there : frozenset of str, optional
            Names of the photos that are still there; without it all are.
        """
        with self._lock:
            if self._take_in() or there != self._there:
                self._there = there
                kept = [
                    one
                    for one in self._entries.values()
                    if there is None or one.frame.file in there
                ]
                self._results = _results(kept)
            return self._results

    def _take_in(self) -> bool:
        """Take in lines that are new and whole; return whether there were any."""
        try:
            about = self._path.stat()
            if self._file != (about.st_dev, about.st_ino) or about.st_size < self._at:
                self._file, self._at = (about.st_dev, about.st_ino), 0
                self._entries.clear()
            with self._path.open("rb") as file:
                file.seek(self._at)
                piece = file.read()
        except OSError:
            return False
        whole = piece.rfind(b"\n") + 1
        self._at += whole
        for line in piece[:whole].split(b"\n"):
            entry = _entry(line)
            if entry is not None:
                self._entries[entry.frame.file] = entry
        return whole > 0


@dataclass(frozen=True, kw_only=True, slots=True)
class _Entry:
    """A line of the journal: the frame, what is said of it, and the size of everybody's glasses."""

    frame: SiftedFrame
    line: str
    sizes: tuple[Size | None, ...]


def _entry(line: bytes) -> _Entry | None:
    """Return what a line tells; None for one that is not sound."""
    if not line or len(line) > MOST_LINE:
        return None
    try:
        entry = json.loads(line)
        name, reading, error = entry["file"], entry["reading"], entry["error"]
        error = str(error)
        error = error[max(error.find(name), 0) :]  # no path: others may look at this
        found = SiftedFrame(file=name, reading=reading, error=error)
        if reading is not None:
            _look_through(reading)
        float(found.trouble)
        made = _Entry(frame=found, line=sheet_line(found), sizes=_sizes(found))
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
        return None
    plain = name == Path(name).name and name.isprintable() and "\\" not in name
    plain = plain and Path(name).suffix.lower() in PHOTO_SUFFIXES
    sound = plain and 0 < len(name) <= MOST_NAME and found.verdict in VERDICTS
    return made if sound else None


def _look_through(reading: Plain) -> None:
    """Touch what pages show of a reading, so that one that lacks it is passed over."""
    wide, high = reading["size"]
    float(wide), float(high)
    for one in reading["wearers"]:
        one["questions"], one["sharp"], one["open"], one["skin"]["clipped_share"]
        for side in ("right", "left"):
            eye = one["eyes"][side]
            float(eye["pupil"][0]), float(eye["pupil"][1])
            if eye["lens"] is not None:
                float(eye["lens"]["lens_cover"]), float(eye["lens"]["veil"])
                for part in (eye["lens"], *eye["lens"]["reflections"]):
                    [(float(x), float(y)) for x, y in part["outline"]]
                for part in eye["lens"]["reflections"]:
                    part["recoverable"], part["color"], float(part["stops_over_skin"])


def frame_key(name: str) -> str:
    """Return what pages call a frame."""
    return hashlib.sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _results(entries: list[_Entry]) -> Results:
    glasses, wears = alike([one.sizes for one in entries])
    frames = [one.frame for one in entries]
    found = [
        Found(key=frame_key(one.frame.file), frame=one.frame, line=one.line, wears=own)
        for one, own in zip(entries, wears, strict=True)
    ]
    ordered = sorted(found, key=lambda one: (-one.frame.trouble, one.frame.file))
    counts = {one: sum(frame.verdict == one for frame in frames) for one in VERDICTS}
    return Results(
        frames=tuple(ordered),
        glasses=glasses,
        counts={name: count for name, count in counts.items() if count},
    )


def _sizes(frame: SiftedFrame) -> tuple[Size | None, ...]:
    """Return the size of everybody's glasses in a frame; None for somebody without."""
    return () if frame.reading is None else tuple(map(glasses_size, frame.reading["wearers"]))
