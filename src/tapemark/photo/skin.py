"""The skin beside the glasses: what reflections are compared with."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.color import LUMINANCE
from tapemark.photo.lens_regions import Outline
from tapemark.photo.strip import EyeStrip, lattice_mm

CLIPPED = 252  # of 255: what a camera or a converter leaves of a value that went over
_AWAY_MM = 4.0  # from the outline: rim and its shadow
_LEAST_PIXELS, _EVERY = 240, 3
_FULL = 0.96  # linear: brighter is about to be clipped
_ODD = 0.12  # in share of red or green: not of this skin


class Skin(NamedTuple):
    """Skin around one lens.

    Attributes
    ----------
    color : (3,) array
        Linear, the middle of it. [-]
    luminance : float
        Of the same, 1 for white. [-]
    bright : float
        Luminance of the brighter parts of the lit skin. [-]
    lit : float
        Luminance of the skin on the better lit side of the face. [-]
    clipped_share : float
        Of its pixels. [-]
    """

    color: FloatArray
    luminance: float
    bright: float
    lit: float
    clipped_share: float


def skin_beside(strip: EyeStrip, outlines: tuple[Outline, Outline]) -> tuple[Skin, Skin]:
    """Return the skin near the sitter's own right and left lens."""
    own = [_skin_near(strip, outlines, index=index) for index in (0, 1)]
    lit = max(one.luminance for one in own)
    bright = max(one.bright for one in own)
    first, second = (one._replace(lit=lit, bright=bright) for one in own)
    return first, second


def _skin_near(strip: EyeStrip, outlines: tuple[Outline, Outline], *, index: int) -> Skin:
    """Return the skin of cheek and nose near one lens; index 0 is the sitter's own right."""
    own = outlines[index]
    across, down = lattice_mm()
    below = down > own.down + own.half_height + _AWAY_MM
    below = below & (down < own.down + own.half_height + 20.0)
    inward = -np.sign(own.across) or 1.0
    cheek = below & (np.abs(across - own.across - inward * 4.0) < own.half_width)
    nose = (np.abs(across) < 7.0) & (down > own.down) & (down < own.down + 22.0)
    place = cheek | nose
    for one in outlines:
        place &= ~one.within(inset_mm=-_AWAY_MM)
    return _skin_of(strip, place)


def _skin_of(strip: EyeStrip, place: np.ndarray) -> Skin:
    if place.sum() < _LEAST_PIXELS:
        place = np.ones_like(place)
    at = np.flatnonzero(place)[::_EVERY]
    light, pixels = (one.reshape(-1, 3)[at] for one in (strip.light, strip.pixels))
    shares = light[:, :2] / np.maximum(light.sum(axis=1, keepdims=True), 1e-4)
    middle = np.median(shares, axis=0)
    alike = (np.abs(shares - middle) < _ODD).all(axis=1)
    kept = light[alike] if alike.sum() >= _LEAST_PIXELS // 8 else light
    bright = kept @ LUMINANCE
    color = _unclipped(kept, luminance=float(np.median(bright)))
    return Skin(
        color=color,
        luminance=float(max(color @ LUMINANCE, 1e-3)),
        bright=float(max(np.percentile(bright, 85), 1e-3)),
        lit=float(max(color @ LUMINANCE, 1e-3)),
        clipped_share=float((pixels >= CLIPPED).any(axis=1).mean()),
    )


def _unclipped(light: FloatArray, *, luminance: float) -> FloatArray:
    """Return the colour of skin of some luminance, by its pixels that no colour is clipped in."""
    whole = light[light.max(axis=1) < _FULL]
    color = np.median(whole if len(whole) >= _LEAST_PIXELS // 8 else light, axis=0)
    return np.asarray(color * (luminance / max(float(color @ LUMINANCE), 1e-4)))
