"""Whether an eye is open and how sharp it is."""

from __future__ import annotations

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.color import luminance
from tapemark.photo.strip import PX_PER_MM, EyeStrip

OPEN_LIKENESS, CLOSED_LIKENESS = 0.30, 0.12
HIDDEN_SHARE = 0.25  # of the opening under a reflection: then nothing can be told
SHARP_EDGE_MM = 1.1  # a lash line or the border of an iris is sharper than this in a sharp frame
SHARP_EDGE_PX = 2.4  # no picture of a small face is sharper
_HALF_WIDE_MM, _HALF_TALL_MM = 15.0, 8.0
_LEAST_RANGE = 0.3  # stops


def is_open(likeness: float, *, veil: float, light: float) -> bool | None:
    """Return whether an eye is open; None where a reflection or darkness hides it.

    Parameters
    ----------
    likeness : float
        How much its middle looks like an iris. [-]
    veil : float
        Share of its opening under a reflection. [-]
    light : float
        Luminance around it, 1 for white. [-]
    """
    if likeness >= OPEN_LIKENESS:
        return True
    if veil > HIDDEN_SHARE or light < 0.01 or likeness > CLOSED_LIKENESS:
        return None
    return False


def sharpest_edge_mm(pixels: np.ndarray, *, pupil: tuple[float, float], px_per_mm: float) -> float:
    """Return how wide the sharpest edges of an eye are, dark to light. [mm]

    Parameters
    ----------
    pixels : (rows, columns, 3) array of bytes
        The photo.
    pupil : tuple of two floats
        Column and row. [px]
    px_per_mm : float
        Of the photo at this face. [px/mm]
    """
    import cv2

    column, row = pupil
    wide, tall = _HALF_WIDE_MM * px_per_mm, _HALF_TALL_MM * px_per_mm
    left, top = max(int(column - wide), 0), max(int(row - tall), 0)
    part = pixels[top : int(row + tall) + 1, left : int(column + wide) + 1]
    if min(part.shape[:2]) < 6:
        return float("inf")
    values = np.sqrt(luminance(part)).astype(np.float32)
    values = cv2.GaussianBlur(values, (0, 0), 0.6)  # noise is no sharpness
    slope = np.hypot(
        cv2.Sobel(values, -1, 1, 0, ksize=3, scale=0.125),
        cv2.Sobel(values, -1, 0, 1, ksize=3, scale=0.125),
    )
    low, high = np.percentile(values, (3, 97))
    steepest = float(np.percentile(slope, 99.0))
    if steepest <= 1e-6 or high - low < 0.02:
        return float("inf")
    return float(0.5 * (high - low) / steepest / px_per_mm)


def light_around(strip: EyeStrip, pupil_mm: tuple[float, float]) -> float:
    """Return the luminance around an eye, 1 for white. [-]"""
    column = round((pupil_mm[0] + 80.0) * PX_PER_MM)
    row = round((pupil_mm[1] + 42.0) * PX_PER_MM)
    reach = round(12 * PX_PER_MM)
    part: FloatArray = strip.luminance[
        max(row - reach, 0) : row + reach, max(column - reach, 0) : column + reach
    ]
    return float(np.median(part)) if part.size else 0.0
