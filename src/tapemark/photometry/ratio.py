"""Lighting ratios: how much brighter the lit side of a face is than its shadow side.

Two conventions are in print and do not agree.  *Highlight to shadow*, the
custom of portrait photographers: (key + fill) : fill, because a fill near the
camera reaches both sides.  *Source to source*, the custom of film sets: key :
fill.  A ratio without its convention says nothing: one and the same pair of
lights is 3:1 by the first and 2:1 by the second.
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike


def highlight_to_shadow_ratio(key: FloatLike, *, fill: FloatLike) -> FloatArray:
    """Return the portrait photographer's ratio of two lights.

    Parameters
    ----------
    key, fill : float or (...) array
        Light that each puts on the subject, 0 or more. [lx or lx s, both alike]

    Returns
    -------
    (...) array
        (key + fill)/fill, 1 or more; infinity without fill, NaN without any light. [-]

    Notes
    -----
    Takes it that the fill reaches both sides alike and the key one only.

    References
    ----------
    [army-ss0510] p. 21.

    Examples
    --------
    >>> float(highlight_to_shadow_ratio(2.0, fill=1.0))
    3.0
    """
    return source_ratio(np.add(key, fill), fill=fill)


def source_ratio(key: FloatLike, *, fill: FloatLike) -> FloatArray:
    """Return the ratio of two lights, each metered alone: key over fill.

    Parameters
    ----------
    key, fill : float or (...) array
        Light that each puts on the subject, 0 or more. [lx or lx s, both alike]

    Returns
    -------
    (...) array
        key/fill; infinity without fill, NaN without any light. [-]

    References
    ----------
    [source-ratio]

    Examples
    --------
    >>> float(source_ratio(2.0, fill=1.0))
    2.0
    """
    bright, dim = np.asarray(key, dtype=np.float64), np.asarray(fill, dtype=np.float64)
    nothing = np.where((bright > 0.0) & (dim == 0.0), np.inf, np.nan)
    ratio: FloatArray = np.where(dim > 0.0, bright / np.where(dim > 0.0, dim, 1.0), nothing)[()]
    return ratio


def ratio_from_key_over_fill(stops: FloatLike) -> FloatArray:
    """Return the highlight-to-shadow ratio of a key so many stops over its fill.

    Parameters
    ----------
    stops : float or (...) array
        Key over fill, each metered alone. [stops]

    Returns
    -------
    (...) array
        2^stops + 1. [-]

    References
    ----------
    [army-ss0510] p. 21: 1 stop is 3:1, 2 stops are 5:1.

    Examples
    --------
    >>> float(ratio_from_key_over_fill(2.0))
    5.0
    """
    ratio: FloatArray = np.exp2(np.asarray(stops, dtype=np.float64)) + 1.0
    return ratio


def key_over_fill_stops(ratio: FloatLike) -> FloatArray:
    """Return how far the key is over the fill for a highlight-to-shadow ratio.

    Parameters
    ----------
    ratio : float or (...) array
        (key + fill)/fill. [-]

    Returns
    -------
    (...) array
        log2(ratio - 1); minus infinity for 1, NaN below. [stops]

    References
    ----------
    [army-ss0510] p. 21.

    Examples
    --------
    >>> float(key_over_fill_stops(3.0))
    1.0
    """
    key = np.asarray(ratio, dtype=np.float64) - 1.0
    none = np.where(key == 0.0, -np.inf, np.nan)
    stops: FloatArray = np.where(key > 0.0, np.log2(np.where(key > 0.0, key, 1.0)), none)[()]
    return stops


def equal_heads_ratio(key_distance_m: FloatLike, *, fill_distance_m: FloatLike) -> FloatArray:
    """Return the highlight-to-shadow ratio of two equal heads at two distances.

    Parameters
    ----------
    key_distance_m, fill_distance_m : float or (...) array
        From the subject, above 0; far against the size of the heads. [m, or both in feet]

    Returns
    -------
    (...) array
        (fill distance/key distance)^2 + 1, by the inverse square law. [-]

    References
    ----------
    [army-ss0510] p. 21.

    Examples
    --------
    >>> round(float(equal_heads_ratio(8.0, fill_distance_m=11.0)), 2)
    2.89
    """
    ratio: FloatArray = np.square(np.true_divide(fill_distance_m, key_distance_m)) + 1.0
    return ratio
