"""Flat faces of lights and panels: rectangle, disc, regular polygon, centred on the origin.

Points are (x, z) in the plane of the face. A margin is how far inside the edge a point
lies: positive inside, 0 on the edge, negative outside. Inside it is the true distance to
the edge; outside it is at most the true distance (exact for the disc). Outlines run from x
towards z and do not repeat their first point.
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike


def rectangle_margin(points2d: FloatArray, *, width: FloatLike, height: FloatLike) -> FloatArray:
    """Return how far inside a rectangle a point lies.

    Parameters
    ----------
    points2d : (..., 2) array
        Points (x, z) in the plane of the face. [m]
    width, height : float or (...) array
        Full size along x and along z. [m]

    Returns
    -------
    (...) array
        Margin, positive inside; NaN where an input is NaN. [m]
    """
    margin: FloatArray = np.minimum(
        np.multiply(0.5, width) - np.abs(points2d[..., 0]),
        np.multiply(0.5, height) - np.abs(points2d[..., 1]),
    )
    return margin


def disc_margin(points2d: FloatArray, *, diameter: FloatLike) -> FloatArray:
    """Return how far inside a disc a point lies.

    Parameters
    ----------
    points2d : (..., 2) array
        Points (x, z) in the plane of the face. [m]
    diameter : float or (...) array
        Diameter of the disc. [m]

    Returns
    -------
    (...) array
        Margin, positive inside; NaN where an input is NaN. [m]
    """
    x, z = points2d[..., 0], points2d[..., 1]
    margin: FloatArray = np.multiply(0.5, diameter) - np.sqrt(x * x + z * z)
    return margin


def regular_polygon_margin(points2d: FloatArray, *, diameter: FloatLike, sides: int) -> FloatArray:
    """Return how far inside a regular polygon with a flat top a point lies.

    Parameters
    ----------
    points2d : (..., 2) array
        Points (x, z) in the plane of the face. [m]
    diameter : float or (...) array
        Twice the distance from the centre to a flat: across flats if `sides` is even. [m]
    sides : int
        Number of sides, 3 or more; 8 for an octagonal box. [-]

    Returns
    -------
    (...) array
        Margin, positive inside; NaN where an input is NaN. [m]
    """
    angles = _flat_angles(sides)
    x, z = points2d[..., 0], points2d[..., 1]
    farthest = np.cos(angles[0]) * x + np.sin(angles[0]) * z
    for angle in angles[1:]:
        farthest = np.maximum(farthest, np.cos(angle) * x + np.sin(angle) * z)
    margin: FloatArray = np.multiply(0.5, diameter) - farthest
    return margin


def rectangle_points(*, width: float, height: float) -> FloatArray:
    """Return the four corners (x, z) of a rectangle.

    Parameters
    ----------
    width, height : float
        Full size along x and along z. [m]

    Returns
    -------
    (4, 2) array
        Corners, from x towards z. [m]
    """
    signs = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
    return signs * (0.5 * width, 0.5 * height)


def disc_points(count: int, *, diameter: float) -> FloatArray:
    """Return points (x, z) on the rim of a disc, evenly spaced.

    Parameters
    ----------
    count : int
        Number of points. [-]
    diameter : float
        Diameter of the disc. [m]

    Returns
    -------
    (count, 2) array
        Points of the rim, from x towards z. [m]
    """
    angles = np.arange(count) * (2.0 * np.pi / count)
    return 0.5 * diameter * np.stack((np.cos(angles), np.sin(angles)), axis=-1)


def regular_polygon_points(*, diameter: float, sides: int) -> FloatArray:
    """Return the corners (x, z) of a regular polygon with a flat top.

    Parameters
    ----------
    diameter : float
        Twice the distance from the centre to a flat. [m]
    sides : int
        Number of sides, 3 or more. [-]

    Returns
    -------
    (sides, 2) array
        Corners, from x towards z. [m]
    """
    angles = _flat_angles(sides) + np.pi / sides
    corner = 0.5 * diameter / np.cos(np.pi / sides)
    corners: FloatArray = corner * np.stack((np.cos(angles), np.sin(angles)), axis=-1)
    return corners


def _flat_angles(sides: int) -> FloatArray:
    """Return the directions of the flats from the centre, the first straight up. [rad]"""
    return 0.5 * np.pi + np.arange(sides, dtype=np.float64) * (2.0 * np.pi / sides)
