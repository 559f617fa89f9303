"""Rendered pictures with labels, by scripts/labelled_pictures.py, and what is read from them."""

import functools
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from tapemark.photo import Hints, WearerReading, read_photo, read_shot

PICTURES = Path(__file__).resolve().parents[1] / "pictures"
NAMES = tuple(sorted(path.stem for path in PICTURES.glob("shot-*.jpg")))
LENS_BITS = {"right": 1, "left": 2}  # the sitter's own; 4 and 8: mirrored by front and back
MIRRORED = 4 | 8
ROOM = 0.012  # of a lens: fewer mirrored pixels are not asked for


def known_of(name: str) -> dict[str, Any]:
    """Return what is in a picture."""
    found: dict[str, Any] = json.loads((PICTURES / f"{name}.json").read_text(encoding="utf-8"))
    return found


@dataclass(frozen=True, kw_only=True, eq=False)
class Labelled:
    """A picture, what is in it and what was read from it."""

    name: str
    known: dict[str, Any]
    marks: np.ndarray
    wearers: tuple[WearerReading, ...]

    @property
    def glasses(self) -> bool:
        return bool(self.known["glasses"])

    @property
    def apart(self) -> float:
        """Between the pupils. [px]"""
        right, left = (np.array(self.known["pupils"][side]) for side in ("right", "left"))
        return float(np.linalg.norm(right - left))

    def lens(self, side: str) -> np.ndarray:
        return (self.marks & 3) == LENS_BITS[side]

    def mirrored_share(self, side: str) -> float:
        lens = self.lens(side)
        return float(((self.marks & MIRRORED) > 0)[lens].mean()) if lens.any() else 0.0


@functools.cache
def labelled(name: str, hints: Hints | None = None) -> Labelled:
    """Return a picture with its labels, read."""
    path = PICTURES / f"{name}.jpg"
    with Image.open(path.with_suffix(".png")) as image:
        marks = np.asarray(image)
    reading = read_shot(read_photo(path), name=path.name, hints=hints)
    return Labelled(name=name, known=known_of(name), marks=marks, wearers=reading.wearers)


def filled(outline: tuple[tuple[float, float], ...], shape: tuple[int, int]) -> np.ndarray:
    """Return which pixels are within an outline."""
    image = Image.new("1", (shape[1], shape[0]))
    ImageDraw.Draw(image).polygon([tuple(point) for point in outline], fill=1)
    return np.asarray(image)


def overlap(one: np.ndarray, two: np.ndarray) -> float:
    """Return intersection over union."""
    return float((one & two).sum() / max((one | two).sum(), 1))
