"""What a person says about a photo, and what is known of a sitter's glasses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.lens_regions import LensShape, Outline
from tapemark.photo.strip import EyeStrip, to_mm

Box = tuple[float, float, float, float]
_EXPONENT = 3.4
_SIDES = ("right", "left")


@dataclass(frozen=True, kw_only=True, slots=True)
class Hints:
    """What is known beforehand.

    Attributes
    ----------
    pupils : tuple of two points or None
        The sitter's right and left pupil, in pixels of the upright original. [px]
    boxes : tuple of two boxes or None
        Left, top, right, bottom of the sitter's right and left lens, in the same pixels. [px]
    shape : LensShape or None
        The lenses of this sitter, as found in an earlier frame.
    bare : bool
        Whether it is known that nobody wears glasses.
    """

    pupils: tuple[tuple[float, float], tuple[float, float]] | None = None
    boxes: tuple[Box, Box] | None = None
    shape: LensShape | None = None
    bare: bool = False

    def outside(self, size: tuple[int, int]) -> str:
        """Return what of it lies outside an upright photo of a size, in words; empty for nothing.

        A lens may be cut off by the edge of the photo, a pupil may not.
        """
        columns, rows = size
        for side, (x, y) in zip(_SIDES, self.pupils or (), strict=False):
            if not (0.0 <= x <= columns and 0.0 <= y <= rows):
                return f"the sitter's {side} pupil at {x:g},{y:g}"
        for side, (left, top, right, bottom) in zip(_SIDES, self.boxes or (), strict=False):
            if not (left < columns and right > 0.0 and top < rows and bottom > 0.0):
                return f"the box {left:g},{top:g},{right:g},{bottom:g} of the {side} lens"
        return ""

    def outlines(self, strip: EyeStrip, scale: float) -> tuple[Outline, Outline]:
        """Return the lenses that somebody boxed, in the strip."""
        assert self.boxes is not None
        first, second = (_outline(box, strip, scale) for box in self.boxes)
        return first, second


def _outline(box: Box, strip: EyeStrip, scale: float) -> Outline:
    left, top, right, bottom = (one / scale - 0.5 for one in box)
    middle = _in_strip(strip, np.array([(left + right) / 2, (top + bottom) / 2]))
    return Outline(
        across=float(middle[0]),
        down=float(middle[1]),
        half_width=abs(right - left) / 2 / strip.px_per_mm,
        half_height=abs(bottom - top) / 2 / strip.px_per_mm,
        exponent=_EXPONENT,
    )


def _in_strip(strip: EyeStrip, at: FloatArray) -> FloatArray:
    return to_mm(np.asarray(np.linalg.solve(strip.matrix[:, :2], at - strip.matrix[:, 2])))
