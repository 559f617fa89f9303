"""The outline of each lens from the pixels that the network takes for it: a superellipse.

Of such an outline the box around it is as wide and tall as its middle rows and columns are long,
and how much of that box it fills gives its exponent.
"""

from __future__ import annotations

import math

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.lens_net import LensMaps
from tapemark.photo.lens_regions import Outline
from tapemark.photo.strip import PX_PER_MM, lattice_mm

LEAST_MM2 = 250.0  # smaller ones are no lens: the smallest sold have some 600
CRUMBS_MM2 = 60.0  # less is nothing
LONGEST = 85.0  # percentile of its rows, and of its columns, that is as long as the box
_EXPONENTS = np.linspace(1.6, 9.0, 75)
_FILLED = np.array([math.gamma(1.0 + 1.0 / p) ** 2 / math.gamma(1.0 + 2.0 / p) for p in _EXPONENTS])


def lenses_seen(maps: LensMaps) -> tuple[Outline, Outline] | None:
    """Return the outlines of the right and the left lens; None unless both are seen."""
    found = [_outline(one) for one in (maps.right, maps.left)]
    if found[0] is None or found[1] is None:
        return None
    return found[0], found[1]


def shows_no_lens(maps: LensMaps) -> bool:
    """Return whether the network sees nothing to speak of that may be a lens."""
    most = CRUMBS_MM2 * PX_PER_MM**2
    return all(np.count_nonzero(one > 0.5) < most for one in (maps.right, maps.left))


def lens_likeness(maps: LensMaps, outlines: tuple[Outline, Outline]) -> float:
    """Return how much what the network takes for lenses is what is outlined, the worse, 0 to 1."""
    shares = []
    for likely, outline in zip((maps.right, maps.left), outlines, strict=True):
        own = outline.within()
        both = float(likely[own].sum())
        shares.append(both / max(float(own.sum() + likely.sum()) - both, 1.0))
    return min(shares)


def _outline(likely: FloatArray) -> Outline | None:
    """Return the outline around what is likely one lens, (rows, columns)."""
    own = _largest(likely)
    area = float(own.sum()) / PX_PER_MM**2
    if area < LEAST_MM2:
        return None
    across, down = lattice_mm()
    total = float(own.sum())
    wide, tall = (
        float(np.percentile(lengths[lengths > 0.5], LONGEST)) / PX_PER_MM
        for lengths in (own.sum(axis=1), own.sum(axis=0))
    )
    return Outline(
        across=float((own * across).sum() / total),
        down=float((own * down).sum() / total),
        half_width=wide / 2.0,
        half_height=tall / 2.0,
        exponent=float(np.interp(area / (wide * tall), _FILLED, _EXPONENTS)),
    )


def _largest(likely: FloatArray) -> FloatArray:
    """Return what is likelier than not, apart from all but its largest connected part."""
    import cv2

    _, parts, stats, _ = cv2.connectedComponentsWithStats((likely > 0.5).astype(np.uint8))
    if len(stats) < 2:
        return np.zeros_like(likely)
    number = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    return np.where(parts == number, 1.0, 0.0)
