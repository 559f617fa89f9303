r"""The nose of the mannequin: a dorsum with two planes beside it, wings, and the way into it.

::

        | |      dorsum: flat across, its sides steep
       /   \
      ( ._. )    wings with a crease behind them; their border rises beside the column

Laid over the nose of the anatomy's head, whose midline stays where it is; everything is drawn.
All in millimetres of the reference head.
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.mesh import smoothstep

_WING_SIDE_MM, _WING_UP_MM = 13.0, -40.8
_FOOT_MM, _ROOT_MM = -49.0, 6.0


def nose_border(side: FloatArray, up: FloatArray) -> FloatArray:
    """Return how much higher the lower border of the nose is beside its column. [mm]"""
    arch = np.exp(-(((side - 7.2) / 3.6) ** 2)) - 0.55 * np.exp(-((side / 2.6) ** 2))
    near = smoothstep(-47.5, -44.0, up) * (1.0 - smoothstep(-41.0, -33.0, up))
    return np.asarray(1.7 * arch * near)


def nose_relief(side: FloatArray, up: FloatArray, rise: FloatArray, *, broad: float) -> FloatArray:
    """Return what the nose has over that of the anatomy.

    Parameters
    ----------
    side, up : (...) arrays
        Place, `side` counted from the middle. [mm of the reference head]
    rise : (...) array
        How far the nose stands over the cheeks at that height. [mm]
    broad : float
        -1 narrow to 1 broad. [-]
    """
    return np.asarray(_planes(side, up, rise) + _wings(side, up, broad=broad))


def wing_crease(side: FloatArray, up: FloatArray, *, broad: float) -> FloatArray:
    """Return how much of a place lies in the crease around a wing of the nose, 0 to 1."""
    across, above = side - _WING_SIDE_MM - 0.9 * broad, up - _WING_UP_MM
    away, turned = np.hypot(across, 0.92 * above), np.arctan2(above, across)
    behind = np.exp(-(((turned - 0.35) / 1.1) ** 2))
    return np.asarray(behind * np.exp(-(((away - 6.4) / 1.4) ** 2)))


def _planes(side: FloatArray, up: FloatArray, rise: FloatArray) -> FloatArray:
    """Return the flat dorsum and its steep sides: fuller near the middle, less farther out."""
    reach = np.interp(up, (-38.0, -24.0, -8.0, 4.0), (12.0, 9.6, 8.2, 8.6))
    soft = np.exp(-((side / reach) ** 2))
    flat = np.exp(-((side / (0.98 * reach)) ** 4))
    kept = smoothstep(_FOOT_MM, -42.0, up) * (1.0 - smoothstep(-4.0, _ROOT_MM, up))
    return np.asarray(0.42 * rise * (flat - soft) * kept)


def _wings(side: FloatArray, up: FloatArray, *, broad: float) -> FloatArray:
    """Return wings that are round, a crease around them, and a dent between them and the tip."""
    across, above = side - _WING_SIDE_MM - 0.9 * broad, up - _WING_UP_MM
    ball = 3.4 * np.exp(-((across / 3.7) ** 2 + ((above + 0.2) / 4.4) ** 2))
    crease = -2.4 * wing_crease(side, up, broad=broad)
    dent = -1.1 * np.exp(-(((side - 8.3) / 1.9) ** 2 + ((up + 37.5) / 3.6) ** 2))
    tip = 0.35 * np.exp(-(((side - 3.4) / 2.4) ** 2 + ((up + 38.5) / 3.6) ** 2))
    return np.asarray(ball + crease + dent + tip)
