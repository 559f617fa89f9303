"""Colour temperature counted so that equal steps look about equal: the mired.

Bluer and cooler on the left, redder and warmer on the right::

    10 000 K    5500 K       3200 K        2000 K
     100 mired   182 mired    312 mired     500 mired
    <-- a blue gel, shift below 0 | an amber gel, shift above 0 -->
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

MICRO = 1e6  # a mired is a reciprocal megakelvin [mired K], [cine-manual-color]


def mired_from_kelvin(color_k: FloatLike) -> FloatArray:
    """Return a colour temperature in mired.

    Parameters
    ----------
    color_k : float or (...) array
        Colour temperature, above 0. [K]

    Returns
    -------
    (...) array
        10^6/T. [mired]

    References
    ----------
    [cine-manual-color]

    Examples
    --------
    >>> round(float(mired_from_kelvin(3200.0)), 1)
    312.5
    """
    return np.true_divide(MICRO, color_k)


def kelvin_from_mired(mired: FloatLike) -> FloatArray:
    """Return the colour temperature of a value in mired.

    Parameters
    ----------
    mired : float or (...) array
        Value in mired. [mired]

    Returns
    -------
    (...) array
        10^6/M; NaN at 0 and below, where no colour temperature is left. [K]

    References
    ----------
    [cine-manual-color]
    """
    value = np.asarray(mired, dtype=np.float64)
    there = value > 0.0
    return np.where(there, MICRO / np.where(there, value, 1.0), np.nan)[()]


def mired_shift(from_k: FloatLike, *, to_k: FloatLike) -> FloatArray:
    """Return the shift that turns one colour temperature into another.

    Parameters
    ----------
    from_k, to_k : float or (...) array
        Colour temperature before and after, above 0. [K]

    Returns
    -------
    (...) array
        10^6/T2 - 10^6/T1: above 0 it warms, below 0 it cools. [mired]

    References
    ----------
    [cine-manual-color], [practical-cinematography]

    Examples
    --------
    >>> round(float(mired_shift(3200.0, to_k=5500.0)), 1)
    -130.7
    """
    return mired_from_kelvin(to_k) - mired_from_kelvin(from_k)


def shifted_color_k(color_k: FloatLike, *, shift_mired: FloatLike) -> FloatArray:
    """Return the colour temperature of a light behind a filter.

    Parameters
    ----------
    color_k : float or (...) array
        Colour temperature of the light itself, above 0. [K]
    shift_mired : float or (...) array
        Shift of the filter, warmer positive. [mired]

    Returns
    -------
    (...) array
        Colour temperature after the filter; NaN where the filter is bluer than any. [K]

    Notes
    -----
    The shift of a real filter is the same for every light only as far as the light is a
    black body; for flash and LEDs take ±10 mired.

    Examples
    --------
    >>> round(float(shifted_color_k(5500.0, shift_mired=131.0)))
    3197
    """
    return kelvin_from_mired(mired_from_kelvin(color_k) + shift_mired)
