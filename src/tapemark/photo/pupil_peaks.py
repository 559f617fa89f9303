"""Where the network sees pupils: the peaks of its maps."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.lens_net import LensMaps
from tapemark.photo.strip import PUPILS_APART_MM, PX_PER_MM, lattice_mm

REACH_MM = 26.0  # how far a pupil may be from where it was thought
_PEAK = round(3.0 * PX_PER_MM)  # px about a peak that its middle is reckoned from


class PupilPeaks(NamedTuple):
    """The right and the left pupil in the strip [mm], and how likely each is one, 0 to 1."""

    right: tuple[float, float]
    left: tuple[float, float]
    sure: tuple[float, float]


def pupil_peaks(maps: LensMaps, *, reach_mm: float = REACH_MM) -> PupilPeaks:
    """Return the likeliest pupils that are not too far from where they were thought."""
    right, first = _peak(maps.right_pupil, -PUPILS_APART_MM / 2, reach_mm)
    left, second = _peak(maps.left_pupil, PUPILS_APART_MM / 2, reach_mm)
    return PupilPeaks(right, left, (first, second))


def _peak(likely: FloatArray, start: float, reach_mm: float) -> tuple[tuple[float, float], float]:
    across, down = lattice_mm()
    own = _within(across[0] - start, reach_mm), _within(down[:, 0], reach_mm)
    near = (across[:, own[0]] - start) ** 2 + down[own[1]] ** 2 <= reach_mm**2
    part = np.where(near, likely[own[1], own[0]], 0.0)
    row, column = divmod(int(np.argmax(part)), part.shape[1])
    row, column = row + own[1].start, column + own[0].start
    rows, columns = (slice(max(one - _PEAK, 0), one + _PEAK + 1) for one in (row, column))
    weight = likely[rows, columns]
    total = max(float(weight.sum()), 1e-9)
    at = (
        float((weight * across[:, columns]).sum()) / total,
        float((weight * down[rows]).sum()) / total,
    )
    return at, float(likely[row, column])


def _within(places: FloatArray, reach: float) -> slice:
    """Return which of some rising places are within reach of 0."""
    first, last = np.searchsorted(places, (-reach, reach))
    return slice(int(first), max(int(last), int(first) + 1))
