"""One photo of a batch, read in a process of its own: little is loaded there.

Whatever goes wrong is one line in the answer.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from dataclasses import dataclass
from pathlib import Path

from tapemark.errors import TapemarkError, shown_name
from tapemark.photo.crops import eye_crop
from tapemark.photo.files import read_photo
from tapemark.photo.hints import Hints
from tapemark.photo.plain_reading import Plain, reading_as_plain
from tapemark.photo.wearers import read_shot


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """A photo to be read."""

    path: str
    hints: Hints | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """What became of it: a reading as plain data and a crop of the eyes, or an error."""

    path: str
    reading: Plain | None
    error: str
    crop: bytes


def read_one(job: Job) -> Answer:
    """Read one photo; whatever goes wrong is one line in the answer."""
    path = Path(job.path)
    try:
        photo = read_photo(path)
        reading = read_shot(photo, name=shown_name(path.name), hints=job.hints)
        crop = eye_crop(photo, reading)
    except TapemarkError as error:
        return Answer(path=job.path, reading=None, error=_one_line(str(error)), crop=b"")
    except Exception as error:  # one odd photo must not end a batch of hundreds
        why = f"{type(error).__name__}: {error}"
        said = f"{shown_name(str(path))}: cannot be read ({why}); leave it out"
        return Answer(path=job.path, reading=None, error=_one_line(said), crop=b"")
    return Answer(path=job.path, reading=reading_as_plain(reading), error="", crop=crop)


def prepare_process() -> None:
    """Leave Ctrl-C to the process that started this one, and the other processors to others."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def _end_with_parent() -> None:
    """End when the process that started this one is gone, however that ended."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _one_line(text: str) -> str:
    return " ".join(text.split())[:400]
