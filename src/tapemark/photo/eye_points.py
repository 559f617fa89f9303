"""Pupil centres refined in the strip around the eyes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tapemark.photo.eye_pairs import iris_likeness
from tapemark.photo.lens_net import LensMaps, lens_maps
from tapemark.photo.pupil_peaks import pupil_peaks
from tapemark.photo.strip import (
    ABOVE_MM,
    HALF_WIDE_MM,
    PUPILS_APART_MM,
    PX_PER_MM,
    EyeStrip,
    eye_strip,
)

REACH_MM = 16.0  # how far a pupil may be from where it was thought
ROUNDS = 3
NEAR_MM = 1.0  # pupils that moved less stay in the strip they were found in
SURE = 0.25  # peaks of the network's map that are less are no pupils
BAND_MM = 20  # above and below the eyes
LEAST_LIKENESS = 0.15  # less is no iris: the place stays as it was thought
_IRIS_REACH_MM = 6.0
_SIGNS = (-1.0, 1.0)


class EyesSeen(NamedTuple):
    """Refined pupils in the photo [px], how much each looks like an iris, the strip, its maps."""

    right: tuple[float, float]
    left: tuple[float, float]
    likeness: tuple[float, float]
    strip: EyeStrip
    maps: LensMaps


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
    for _ in range(ROUNDS):
        strip = eye_strip(pixels, right=right, left=left)
        maps = lens_maps(strip)
        places = iris_likeness(_band(strip), apart=PUPILS_APART_MM)
        peaks = pupil_peaks(maps, reach_mm=reach_mm)
        own_reach = min(reach_mm, _IRIS_REACH_MM)
        found = [
            at if sure >= SURE else _nearest_iris(places, sign, own_reach)
            for at, sure, sign in zip((peaks.right, peaks.left), peaks.sure, _SIGNS, strict=True)
        ]
        at = strip.in_photo(np.array(found))
        right, left = ((float(x), float(y)) for x, y in at)
        thought = PUPILS_APART_MM / 2 * np.array([[sign, 0.0] for sign in _SIGNS])
        if np.abs(np.array(found) - thought).max() < NEAR_MM:
            break
    likeness = [_likeness(places, one) for one in found]
    return EyesSeen(right, left, (likeness[0], likeness[1]), strip, maps)


def _likeness(places: np.ndarray, pupil_mm: tuple[float, float]) -> float:
    """Return how much a place of the strip looks like an iris, 0 to 1."""
    column = round(pupil_mm[0] + HALF_WIDE_MM - 0.5)
    row = round(pupil_mm[1] + BAND_MM - 0.5)
    near = places[max(row - 1, 0) : row + 2, max(column - 1, 0) : column + 2]
    return max(float(near.max()), 0.0) if near.size else 0.0


def _band(strip: EyeStrip) -> np.ndarray:
    """Return the red of a band about the eyes, a pixel for a millimetre: irises are dark in red."""
    import cv2

    top, bottom = (round((ABOVE_MM + one) * PX_PER_MM) for one in (-BAND_MM, BAND_MM))
    part = np.ascontiguousarray(strip.pixels[top:bottom, :, 0])
    size = (round(2 * HALF_WIDE_MM), 2 * BAND_MM)
    return np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA))


def _nearest_iris(places: np.ndarray, sign: float, reach_mm: float) -> tuple[float, float]:
    """Return where an iris is in the strip, or where it was thought if there is none. [mm]"""
    across = (np.arange(places.shape[1]) + 0.5 - HALF_WIDE_MM)[None, :]
    down = (np.arange(places.shape[0]) + 0.5 - BAND_MM)[:, None]
    start = sign * PUPILS_APART_MM / 2
    away = np.hypot(across - start, 1.5 * down) / reach_mm
    weighed = np.where(away < 1.0, places - 0.5 * away**2, -np.inf)
    row, column = divmod(int(np.argmax(weighed)), places.shape[1])
    if places[row, column] < LEAST_LIKENESS:
        return start, 0.0
    near = places[row - 1 : row + 2, column - 1 : column + 2]
    weight = np.maximum(near - near.min(), 1e-6)
    dx = float((weight.sum(axis=0) * (-1, 0, 1)).sum() / weight.sum())
    dy = float((weight.sum(axis=1) * (-1, 0, 1)).sum() / weight.sum())
    return float(across[0, column]) + dx, float(down[row, 0]) + dy
