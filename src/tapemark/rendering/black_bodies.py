"""The colour of black bodies as two polynomials: the library of colours takes a second to load.

The natural logarithms of X/Y and Z/Y, each a sum of Chebyshev polynomials of the reciprocal of the
temperature. They were fitted to what `tapemark.photometry.black_body_xyz` gives, and are within
1e-5 of it, as a test holds.
"""

import numpy as np
from numpy.polynomial import chebyshev

from tapemark.geometry import FloatArray
from tapemark.photometry import HIGHEST_K, LOWEST_K

_MIRED = 1e6
_X_AND_Z = np.array(
    [
        [
            2.752352750e-1,
            3.597627465e-1,
            3.655096593e-2,
            -4.532958029e-2,
            1.512709449e-2,
            -1.527647992e-3,
            -1.604083209e-3,
            1.390201686e-3,
            -7.053368567e-4,
            2.523757555e-4,
            -4.495961791e-5,
            -2.245208979e-5,
            2.999541521e-5,
            -1.982841439e-5,
            9.210932226e-6,
            -2.731679390e-6,
            -5.309972834e-8,
        ],
        [
            -2.009134165,
            -2.825176261,
            -1.525907128e-2,
            4.133906161e-2,
            -1.408505466e-2,
            8.678456163e-3,
            -4.266622185e-3,
            1.718529039e-3,
            -4.768127095e-4,
            -7.290490099e-6,
            1.199214735e-4,
            -9.832633665e-5,
            5.284401546e-5,
            -2.014371446e-5,
            3.994538585e-6,
            1.501360282e-6,
            -2.175200818e-6,
        ],
    ]
)


def black_body_color(kelvin: float) -> FloatArray:
    """Return X, Y, Z of a black body for a luminance of 1, (3,).

    Parameters
    ----------
    kelvin : float
        Temperature; beyond `LOWEST_K` and `HIGHEST_K` the nearer of them is taken. [K]

    References
    ----------
    [colour-science]: Planck's law and the CIE 1931 observer.
    """
    low, high = _MIRED / HIGHEST_K, _MIRED / LOWEST_K
    mired = min(max(_MIRED / kelvin, low), high)
    x, z = np.exp(chebyshev.chebval((2.0 * mired - low - high) / (high - low), _X_AND_Z.T))
    return np.array([x, 1.0, z])
