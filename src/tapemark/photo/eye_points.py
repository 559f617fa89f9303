"""Pupil centres refined in the strip around the eyes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tapemark.photo.eye_pairs import iris_likeness
from tapemark.photo.strip import (
    ABOVE_MM,
    HALF_WIDE_MM,
    PUPILS_APART_MM,
    PX_PER_MM,
    EyeStrip,
    eye_strip,
)

REACH_MM = 6.0  # how far a pupil may be from where it was thought
ROUNDS = 2
BAND_MM = 20  # above and below the eyes
LEAST_LIKENESS = 0.15  # less is no iris: the place stays as it was thought


class EyesSeen(NamedTuple):
    """Refined pupils in the photo [px], how much each looks like one, and the strip."""

    right: tuple[float, float]
    left: tuple[float, float]
    likeness: tuple[float, float]
    strip: EyeStrip


def refined_eyes(
    pixels: np.ndarray,
    *,
    right: tuple[float, float],
    left: tuple[float, float],
    reach_mm: float = REACH_MM,
) -> EyesSeen:
    """Return the pupils near where they are thought to be.

    Parameters
    ----------
    pixels : (rows, columns, 3) array of bytes
        The photo.
    right, left : tuples of two floats
        Where the sitter's own right and left pupil are thought to be. [px]
    reach_mm : float
        How far from there they may be. [mm]
    """
    likeness = (0.0, 0.0)
    for _ in range(ROUNDS):
        strip = eye_strip(pixels, right=right, left=left)
        places = iris_likeness(_band(strip), apart=PUPILS_APART_MM)
        found = [_nearest_iris(places, sign, reach_mm) for sign in (-1.0, 1.0)]
        at = strip.in_photo(np.array([one[0] for one in found]))
        right = (float(at[0, 0]), float(at[0, 1]))
        left = (float(at[1, 0]), float(at[1, 1]))
        likeness = (found[0][1], found[1][1])
    return EyesSeen(right, left, likeness, eye_strip(pixels, right=right, left=left))


def _band(strip: EyeStrip) -> np.ndarray:
    """Return the red of a band about the eyes, a pixel for a millimetre: irises are dark in red."""
    import cv2

    top, bottom = (round((ABOVE_MM + one) * PX_PER_MM) for one in (-BAND_MM, BAND_MM))
    part = np.ascontiguousarray(strip.pixels[top:bottom, :, 0])
    size = (round(2 * HALF_WIDE_MM), 2 * BAND_MM)
    return np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA))


def _nearest_iris(
    places: np.ndarray, sign: float, reach_mm: float
) -> tuple[tuple[float, float], float]:
    """Return where an iris is in the strip [mm], and its likeness; as thought if there is none."""
    across = (np.arange(places.shape[1]) + 0.5 - HALF_WIDE_MM)[None, :]
    down = (np.arange(places.shape[0]) + 0.5 - BAND_MM)[:, None]
    start = sign * PUPILS_APART_MM / 2
    away = np.hypot(across - start, 1.5 * down) / reach_mm
    weighed = np.where(away < 1.0, places - 0.5 * away**2, -np.inf)
    row, column = divmod(int(np.argmax(weighed)), places.shape[1])
    here = float(places[row, column])
    if here < LEAST_LIKENESS:
        return (start, 0.0), max(here, 0.0)
    near = places[row - 1 : row + 2, column - 1 : column + 2]
    weight = np.maximum(near - near.min(), 1e-6)
    dx = float((weight.sum(axis=0) * (-1, 0, 1)).sum() / weight.sum())
    dy = float((weight.sum(axis=1) * (-1, 0, 1)).sum() / weight.sum())
    return (float(across[0, column]) + dx, float(down[row, 0]) + dy), here
