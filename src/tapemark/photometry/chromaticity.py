"""Colour of lights and of their mixtures, in the CIE's numbers.

The one place that asks the colour-science library, which is loaded on the first call.
"""

import sys
import warnings
from functools import cache
from types import ModuleType

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

#: Colour temperatures between which lights and their mixtures have one here. [K]
LOWEST_K, HIGHEST_K = 1000.0, 40_000.0
SEARCHED_K = (900.0, 50_000.0)  # so that the ends above are no ends of the table
MOST_DUV = 0.05  # farther from the black bodies a light has no colour temperature, [ohno-2013]
#: Neighbours in the table of black bodies that is searched: 0.01 mired of error at most. [-]
TABLE_SPACING = 1.003
_SOME_UV = (0.2, 0.32)  # stands in where there is no light


def black_body_xyz(color_k: FloatLike) -> FloatArray:
    """Return the colour of a black body.

    Parameters
    ----------
    color_k : float or (...) array
        Colour temperature, `LOWEST_K` to `HIGHEST_K`. [K]

    Returns
    -------
    (..., 3) array
        X, Y, Z of the CIE 1931 observer for a luminance of 1, so that Y is 1. [-]

    References
    ----------
    [colour-science]: Planck's law, summed from 360 to 780 nm.
    """
    wanted = np.asarray(color_k, dtype=np.float64)
    known = np.isfinite(wanted)
    uv = _library().CCT_to_uv(np.where(known, wanted, HIGHEST_K), method="Planck 1900")
    u, v = uv[..., 0], uv[..., 1]
    xyz = np.stack([1.5 * u / v, np.ones_like(u), (4.0 - u - 10.0 * v) / (2.0 * v)], axis=-1)
    return np.where(known[..., None], xyz, np.nan)


def color_temperature(xyz: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the correlated colour temperature of a light, and how far it is off white.

    Parameters
    ----------
    xyz : (..., 3) array
        X, Y, Z of the CIE 1931 observer, on any scale; not black. [-]

    Returns
    -------
    color_k : (...) array
        Temperature of the nearest black body; NaN if below `LOWEST_K`, above `HIGHEST_K` or
        farther than `MOST_DUV` from them all. [K]
    duv : (...) array
        Distance from it in u, v of 1960: greenish above 0, pinkish below. [-]

    Notes
    -----
    Mixtures of black bodies lie on the pinkish side, by 0.0025 for 5500 with 3200 K.

    References
    ----------
    [ohno-2013], by [colour-science].
    """
    x, y, z = xyz[..., 0], xyz[..., 1], xyz[..., 2]
    whole = x + 15.0 * y + 3.0 * z
    uv = np.stack([4.0 * x / whole, 6.0 * y / whole], axis=-1)
    known = np.asarray(np.isfinite(uv).all(axis=-1))
    found = _nearest_black_body(np.where(known[..., None], uv, _SOME_UV))
    color_k, duv = found[..., 0], found[..., 1]
    near = known & (np.abs(duv) <= MOST_DUV) & (color_k > LOWEST_K - 1) & (color_k < HIGHEST_K + 1)
    return np.where(near, color_k, np.nan)[()], np.where(known, duv, np.nan)[()]


def _nearest_black_body(uv: FloatArray) -> FloatArray:
    """Return temperature [K] and distance of the nearest black body, (..., 2)."""
    if not uv.size:
        return uv
    with warnings.catch_warnings():  # what is off the ends of the table gets no temperature
        warnings.filterwarnings("ignore", message="Minimal distance index")
        found: FloatArray = _library().uv_to_CCT(
            uv,
            method="Ohno 2013",
            start=SEARCHED_K[0],
            end=SEARCHED_K[1],
            spacing=TABLE_SPACING,
        )
    return found


def glow_srgb(passed: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return the colour that a gel's light has on a white backdrop, for a drawing.

    Parameters
    ----------
    passed : three floats
        Shares of red, green and blue that pass the gel, linear, not all 0. [-]

    Returns
    -------
    three floats
        sRGB values, 0 to 1, the strongest of them 1. [-]

    Notes
    -----
    The camera is taken to be balanced to the light without its gel.

    References
    ----------
    [wcag22] for the curve of sRGB.

    Examples
    --------
    >>> glow_srgb((0.4, 0.0, 0.0))
    (1.0, 0.0, 0.0)
    """
    most = max(passed)
    red, green, blue = (_encoded(one / most) for one in passed)
    return red, green, blue


def _encoded(linear: float) -> float:
    """Return a linear value as sRGB. [-]"""
    return 12.92 * linear if linear <= 0.04045 / 12.92 else 1.055 * linear ** (1 / 2.4) - 0.055


@cache
def _library() -> ModuleType:
    """Return the part of the library that knows colour temperatures, loaded once.

    Without scipy and matplotlib, which nothing here needs, the library warns and puts
    stand-ins into the interpreter's list of modules; others must not take them for the real
    thing.
    """
    before = set(sys.modules)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message='"(SciPy|Matplotlib)" related API features')
        import colour.temperature
    temperature: ModuleType = colour.temperature
    for name in set(sys.modules) - before:
        own = name.partition(".")[0] == "colour"
        if not own and not isinstance(sys.modules[name], ModuleType):
            del sys.modules[name]
    return temperature
