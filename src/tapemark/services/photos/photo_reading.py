"""Read one photo: who wears glasses in it, and what the lenses show."""

from __future__ import annotations

import io
import json
import os
from dataclasses import asdict
from pathlib import Path

from tapemark.errors import FileError, shown_name
from tapemark.photo import (
    Hints,
    LensShape,
    ShotReading,
    read_photo,
    read_shot,
    reading_as_plain,
)

__all__ = [
    "kept_sitter",
    "may_hold_sitter",
    "read_photo_file",
    "read_sitter",
    "reading_as_plain",
]

MOST_SITTER_BYTES = 10_000
_SITTER_MARK = "tapemark_sitter"
_SHAPE_LIMITS = {
    "gap_mm": (5.0, 40.0),
    "width_mm": (25.0, 80.0),
    "height_mm": (15.0, 70.0),
    "exponent": (1.5, 10.0),
}


def read_photo_file(path: Path, *, hints: Hints | None = None) -> ShotReading:
    """Return what a photo file shows.

    Parameters
    ----------
    path : Path
        JPEG, PNG, TIFF, HEIC, WebP or raw; it is only read.
    hints : Hints, optional
        What a person said about it, or what is known of the sitter's glasses.

    Raises
    ------
    FileError
        Why it cannot be read, or what was said of it is outside, in one line.
    """
    photo = read_photo(path)
    outside = hints.outside(photo.full_size) if hints is not None else ""
    if outside:
        columns, rows = photo.full_size
        raise FileError(
            str(path),
            reason=f"{outside} is outside its {columns} x {rows} pixels",
            advice="count pixels of the upright photo, from its top left corner",
        )
    return read_shot(photo, name=shown_name(path.name), hints=hints)


def kept_sitter(reading: ShotReading) -> str | None:
    """Return what is worth keeping of a sitter for the next frames, as JSON text.

    None where nobody in the photo wears glasses for sure, or more than one person does.
    """
    shapes = [one.shape for one in reading.wearers if one.shape is not None]
    if len(shapes) != 1:
        return None
    return json.dumps({_SITTER_MARK: 1, "lenses": asdict(shapes[0])}, indent=2) + "\n"


def may_hold_sitter(path: Path) -> None:
    """Refuse to keep a sitter in a file that is there and is none that `kept_sitter` made.

    Raises
    ------
    FileError
        The file is something else, or cannot be read.
    """
    reason = "is no file of a sitter, and is not written over"
    try:
        if not os.path.lexists(path):
            return
        with path.open("rb") if path.is_file() else io.BytesIO() as file:
            given = json.loads(file.read(MOST_SITTER_BYTES + 1))
        ours = isinstance(given, dict) and _SITTER_MARK in given
    except OSError as error:
        ours, reason = False, f"cannot be read ({error.strerror or error})"
    except (ValueError, RecursionError):
        ours = False
    if not ours:
        raise FileError(
            str(path),
            reason=reason,
            advice="keep the sitter in a new file, or in one that tapemark read --keep wrote",
        )


def read_sitter(path: Path) -> LensShape:
    """Return the lenses of a sitter as `kept_sitter` wrote them.

    Raises
    ------
    FileError
        The file cannot be read or is no such file.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(MOST_SITTER_BYTES + 1)
        given = json.loads(raw.decode("utf-8"))["lenses"]
        values = {key: float(given[key]) for key in _SHAPE_LIMITS}
    except OSError as error:
        raise FileError(
            str(path),
            reason=f"cannot be read ({error.strerror or error})",
            advice="name a file that tapemark read --keep wrote",
        ) from None
    except (ValueError, KeyError, TypeError, RecursionError):
        values = {}
    low_high = _SHAPE_LIMITS.items()
    if not values or not all(low <= values[key] <= high for key, (low, high) in low_high):
        raise FileError(
            str(path),
            reason="is no file about a sitter's lenses",
            advice="name a file that tapemark read --keep wrote",
        )
    return LensShape(**values)
