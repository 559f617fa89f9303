"""Reflections inside a lens: what the network takes for some, as separate patches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.lens_regions import Outline
from tapemark.photo.strip import PX_PER_MM, lattice_mm

LIKELY = 0.5  # less likely pixels show none
INSET_MM = 0.4  # along the rim: its own highlights
LEAST_MM2 = 2.0  # smaller patches are passed over
#: The opening of the eye about the pupil, half width and half height, with a little room
#: [read-2006]. [mm]
OPENING_MM = (14.0, 5.2)


@dataclass(frozen=True, kw_only=True, eq=False)
class LensGlareSeen:
    """What one lens shows, on the strip.

    Attributes
    ----------
    lens, opening : (rows, columns) bool arrays
        The lens within its rim, and the opening of the eye in it.
    glare : (rows, columns) bool array
        Reflections.
    parts : (rows, columns) int array
        Their numbers, 0 for none.
    likely : (rows, columns) array
        How likely each pixel of the strip shows one, 0 to 1.
    """

    lens: np.ndarray
    opening: np.ndarray
    glare: np.ndarray
    parts: np.ndarray
    likely: FloatArray


def lens_glare_seen(
    likely: FloatArray, outline: Outline, *, pupil_mm: tuple[float, float]
) -> LensGlareSeen:
    """Return the reflections in one lens.

    Parameters
    ----------
    likely : (rows, columns) array
        How likely each pixel of the strip shows a reflection, 0 to 1.
    outline : Outline
        The lens.
    pupil_mm : tuple of two floats
        The pupil behind it. [mm]
    """
    lens = outline.within(inset_mm=INSET_MM)
    parts = _patches(lens & (likely > LIKELY))
    across, down = lattice_mm()
    wide, tall = OPENING_MM
    opening = ((across - pupil_mm[0]) / wide) ** 2 + ((down - pupil_mm[1]) / tall) ** 2 <= 1.0
    return LensGlareSeen(
        lens=lens, opening=opening & lens, glare=parts > 0, parts=parts, likely=likely
    )


def _patches(shows: np.ndarray) -> np.ndarray:
    """Return the number of the patch of each pixel, 0 outside and in those that are too small."""
    import cv2

    _, parts, stats, _ = cv2.connectedComponentsWithStats(shows.astype(np.uint8), connectivity=8)
    large = stats[:, cv2.CC_STAT_AREA] >= LEAST_MM2 * PX_PER_MM**2
    large[0] = False
    return np.asarray(np.where(large, np.cumsum(large), 0)[parts])
