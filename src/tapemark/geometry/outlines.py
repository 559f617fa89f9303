"""Outlines of lenses and of the eye opening, in the plane seen from the front.

Points are (x, z). A margin is how far inside the outline a point lies: positive inside,
0 on the outline, negative outside. Outlines run from x towards z and do not repeat their
first point.

Lens: a superellipse in its boxed rectangle, |x/a|^p + |z/b|^p = 1; p = 2 is an ellipse,
p = 4 a rounded rectangle. A taper makes the half above the middle wider than the half below
(positive) or narrower (negative) and keeps the boxed width.

Eye opening: the upper and the lower lid are circular arcs that meet at the two corners.
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

_NEWTON_STEPS = 12  # widest height of a tapered outline; converges in 5 to 8
_NARROWEST = 0.1  # least width scale of a tapered outline, far above or below it [-]


def superellipse_margin(
    points2d: FloatArray,
    *,
    half_width: FloatLike,
    half_height: FloatLike,
    exponent: FloatLike,
    taper: float = 0.0,
) -> FloatArray:
    """Return how far inside a lens outline a point lies, to first order.

    Parameters
    ----------
    points2d : (..., 2) array
        Points (x, z) from the boxed centre. [m]
    half_width, half_height : float or (...) array
        Half the boxed width A and half the boxed height B. [m]
    exponent : float or (...) array
        Squareness p, 2 or more. [-]
    taper : float
        Width gained at the top and lost at the bottom, as a fraction; -0.5 to 0.5. [-]

    Returns
    -------
    (...) array
        Margin, positive inside; NaN where an input is NaN. [m]

    Notes
    -----
    (1 - g)/|grad g| with g = (|x/a|^p + |z/b|^p)^(1/p): exact on the outline and for a
    circle; elsewhere the first term of the distance to the outline. The sign is exact.
    """
    a, b, p = (np.asarray(value, dtype=np.float64) for value in (half_width, half_height, exponent))
    z = points2d[..., 1] / b
    widening = np.maximum(1.0 + taper * z, _NARROWEST)
    scale = widening * a / _widest(p, taper)
    x = points2d[..., 0] / scale
    x_power, z_power = np.abs(x) ** (p - 1.0), np.abs(z) ** (p - 1.0)
    total = np.maximum(x_power * np.abs(x) + z_power * np.abs(z), np.finfo(np.float64).tiny)
    gauge = total ** (1.0 / p)
    slope_x = np.copysign(x_power, x)
    slope_z = (np.copysign(z_power, z) - slope_x * x * taper / widening) / b
    steepness = np.hypot(slope_x / scale, slope_z) * gauge / total
    at_center = steepness == 0.0
    steepness = np.where(at_center, 1.0 / np.minimum(scale, b), steepness)
    return ((1.0 - gauge) / steepness)[()]


def superellipse_points(
    count: int, *, half_width: float, half_height: float, exponent: float, taper: float = 0.0
) -> FloatArray:
    """Return points (x, z) around a lens outline.

    Parameters
    ----------
    count : int
        Number of points. [-]
    half_width, half_height : float
        Half the boxed width A and half the boxed height B. [m]
    exponent : float
        Squareness p, 2 or more. [-]
    taper : float
        As in `superellipse_margin`. [-]

    Returns
    -------
    (count, 2) array
        Points of the closed outline, from x towards z, evenly spaced in polar angle of the
        outline drawn as wide as high. [m]
    """
    angles = np.arange(count) * (2.0 * np.pi / count)
    cosine, sine = np.cos(angles), np.sin(angles)
    radius = (np.abs(cosine) ** exponent + np.abs(sine) ** exponent) ** (-1.0 / exponent)
    z = radius * sine
    x = radius * cosine * (1.0 + taper * z) / _widest(np.float64(exponent), taper)
    return np.stack((half_width * x, half_height * z), axis=-1)


def almond_margin(
    points2d: FloatArray, *, half_width: FloatLike, upper_height: FloatLike, lower_height: FloatLike
) -> FloatArray:
    """Return how far inside the eye opening a point lies.

    Parameters
    ----------
    points2d : (..., 2) array
        Points (x, z) from the middle of the line between the two corners of the eye. [m]
    half_width : float or (...) array
        Half the width of the opening, corner to corner. [m]
    upper_height, lower_height : float or (...) array
        Greatest height of the upper lid above, and of the lower lid below, the line between
        the corners; above 0. [m]

    Returns
    -------
    (...) array
        Margin, positive inside; NaN where an input is NaN. [m]

    Notes
    -----
    The opening is the overlap of two discs of radius (w^2 + h^2)/(2 h). Inside, the margin
    is the exact distance to the nearer lid; outside, at most the distance.
    """
    x, z = points2d[..., 0], points2d[..., 1]
    upper = _arc_margin(x, z, half_width, upper_height)
    lower = _arc_margin(x, -z, half_width, lower_height)
    return np.minimum(upper, lower)


def almond_points(
    count: int, *, half_width: float, upper_height: float, lower_height: float
) -> FloatArray:
    """Return points (x, z) around the eye opening.

    Parameters
    ----------
    count : int
        Number of points, even: half on each lid. [-]
    half_width, upper_height, lower_height : float
        As in `almond_margin`. [m]

    Returns
    -------
    (count, 2) array
        Points of the closed outline, from the corner at +x over the upper lid. [m]
    """
    steps = 1.0 - 4.0 * np.arange(count // 2) / count
    upper = _arc_points(steps, half_width, upper_height)
    lower = _arc_points(-steps, half_width, lower_height) * (1.0, -1.0)
    return np.concatenate((upper, lower))


def _widest(exponent: FloatArray | np.float64, taper: float) -> FloatArray:
    """Return the greatest half-width of a tapered outline whose middle half-width is 1.

    The width (1 + t z)(1 - z^p)^(1/p) is greatest where t = z^(p-1) + 2 t z^p, solved by
    Newton from the right, where the convergence is monotonic.
    """
    p = np.asarray(exponent, dtype=np.float64)
    if taper == 0.0:
        return np.ones_like(p)
    t = abs(taper)
    z = np.minimum(t ** (1.0 / (p - 1.0)), 1.0)
    for _ in range(_NEWTON_STEPS):
        excess = z ** (p - 1.0) + 2.0 * t * z**p - t
        z = z - excess / ((p - 1.0) * z ** (p - 2.0) + 2.0 * t * p * z ** (p - 1.0))
    widest: FloatArray = (1.0 + t * z) * (1.0 - z**p) ** (1.0 / p)
    return widest


def _arc_margin(
    x: FloatArray, z: FloatArray, half_width: FloatLike, height: FloatLike
) -> FloatArray:
    """Return how far below an arched lid a point lies; the arch rises towards +z. [m]"""
    w, h = np.asarray(half_width), np.asarray(height)
    radius = (w * w + h * h) / (2.0 * h)
    rise = z - (h - radius)
    margin: FloatArray = radius - np.sqrt(x * x + rise * rise)
    return margin


def _arc_points(steps: FloatArray, half_width: float, height: float) -> FloatArray:
    """Return points of an arched lid; steps run from 1 (corner at +x) to -1. [m]"""
    radius = (half_width**2 + height**2) / (2.0 * height)
    half_angle = np.arctan2(half_width, radius - height)
    angles = steps * half_angle
    return np.stack((radius * np.sin(angles), radius * (np.cos(angles) - 1.0) + height), axis=-1)
