"""The strip of a photo around the eyes of one person, level and at a fixed scale.

    column 0 is camera-left; the sitter's own right eye is on that side

         (-80, -42) ------------------- (80, -42)   mm
              |      o             o       |
         (-80, +48) ------------------- (80, +48)

A distance between pupils of 63 mm is assumed for the scale: all millimetres here are of a sitter
who has it [dodgson-2004].
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.color import LUMINANCE, linear_light

PUPILS_APART_MM = 63.0
PX_PER_MM = 2.0
HALF_WIDE_MM, ABOVE_MM, BELOW_MM = 80.0, 42.0, 48.0
COLUMNS = round(2 * HALF_WIDE_MM * PX_PER_MM)
_ORIGIN_MM = np.array([HALF_WIDE_MM, ABOVE_MM])
ROWS = round((ABOVE_MM + BELOW_MM) * PX_PER_MM)


@dataclass(frozen=True, kw_only=True, eq=False)
class EyeStrip:
    """A level strip around the eyes.

    Attributes
    ----------
    pixels : (rows, columns, 3) array of bytes
        sRGB.
    matrix : (2, 3) array
        From strip pixels to pixels of the photo as it was read.
    px_per_mm : float
        Of the photo as it was read, at this face. [px/mm]
    """

    pixels: np.ndarray
    matrix: FloatArray
    px_per_mm: float

    @functools.cached_property
    def light(self) -> FloatArray:
        """The pixels in linear light, (rows, columns, 3). [-]"""
        return linear_light(self.pixels)

    @functools.cached_property
    def luminance(self) -> FloatArray:
        """Their luminance, 1 for white, (rows, columns). [-]"""
        return np.asarray(self.light @ LUMINANCE.astype(np.float32))

    def in_photo(self, points_mm: FloatArray) -> FloatArray:
        """Return where strip points (..., 2) [mm] are in the photo, (..., 2) [px]."""
        at = to_pixels(points_mm)
        return np.asarray(at @ self.matrix[:, :2].T + self.matrix[:, 2])


def to_pixels(points_mm: FloatArray) -> FloatArray:
    """Return strip millimetres (..., 2) as strip columns and rows."""
    return np.asarray((points_mm + _ORIGIN_MM) * PX_PER_MM - 0.5)


def to_mm(points: FloatArray) -> FloatArray:
    """Return strip columns and rows (..., 2) as strip millimetres."""
    return np.asarray((points + 0.5) / PX_PER_MM - _ORIGIN_MM)


def lattice_mm() -> tuple[FloatArray, FloatArray]:
    """Return across (1, columns) and down (rows, 1) of every strip pixel. [mm]"""
    across: FloatArray = (np.arange(COLUMNS, dtype=np.float64) + 0.5) / PX_PER_MM - HALF_WIDE_MM
    down: FloatArray = (np.arange(ROWS, dtype=np.float64) + 0.5) / PX_PER_MM - ABOVE_MM
    return across[None, :], down[:, None]


def eye_strip(
    pixels: np.ndarray, *, right: tuple[float, float], left: tuple[float, float]
) -> EyeStrip:
    """Return the strip around two pupils.

    Parameters
    ----------
    pixels : (rows, columns, 3) array of bytes
        The photo.
    right, left : tuples of two floats
        Pupil centres of the sitter's own right and left eye. [px]
    """
    import cv2

    span = np.array(left) - np.array(right)
    per_mm = float(np.linalg.norm(span)) / PUPILS_APART_MM
    unit = span / np.linalg.norm(span)
    step = unit * per_mm / PX_PER_MM
    drop = np.array([-step[1], step[0]])
    middle = (np.array(left) + np.array(right)) / 2
    corner = middle - step * (HALF_WIDE_MM * PX_PER_MM - 0.5) - drop * (ABOVE_MM * PX_PER_MM - 0.5)
    matrix = np.column_stack([step, drop, corner])
    source, own = pixels, matrix
    times = int(per_mm / PX_PER_MM)
    if times >= 2:  # means, so that fine texture does not alias
        source, own = _coarser(pixels, matrix, times)
    flags = cv2.WARP_INVERSE_MAP | cv2.INTER_LINEAR
    cut = cv2.warpAffine(source, own, (COLUMNS, ROWS), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return EyeStrip(pixels=cut, matrix=np.asarray(matrix), px_per_mm=per_mm)


def _coarser(pixels: np.ndarray, matrix: FloatArray, times: int) -> tuple[np.ndarray, FloatArray]:
    """Return the part of a photo that a strip needs, so many times smaller, and the way there."""
    import cv2

    ends = np.array([[0.0, 0.0], [COLUMNS, 0.0], [0.0, ROWS], [COLUMNS, ROWS]])
    reached = ends @ matrix[:, :2].T + matrix[:, 2]
    room, most = 2 * times, np.array(pixels.shape[1::-1])
    low = np.clip(np.floor(reached.min(axis=0)).astype(int) - room, 0, most - times) // times
    high = np.clip(np.ceil(reached.max(axis=0)).astype(int) + room, 0, most) // times
    wide, tall = np.maximum(high - low, 1)
    (left, top) = low * times
    part = pixels[top : top + tall * times, left : left + wide * times]
    half = np.array([[0.0, 0.0, 0.5], [0.0, 0.0, 0.5]])  # pixel centres, not corners
    shift = np.array([[0.0, 0.0, left], [0.0, 0.0, top]])
    smaller = cv2.resize(part, (int(wide), int(tall)), interpolation=cv2.INTER_AREA)
    return smaller, (matrix - shift + half) / times - half
