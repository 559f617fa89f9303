"""Straight rays against planes and spheres of the room."""

import numpy as np
from numpy.typing import ArrayLike

from tapemark.geometry.vectors import FloatArray, dot


def intersect_plane(
    origins: FloatArray, directions: FloatArray, *, point: ArrayLike, normal: ArrayLike
) -> FloatArray:
    """Return how far along a ray a plane is met.

    Parameters
    ----------
    origins : (..., 3) array
        Where the rays start. [m]
    directions : (..., 3) array
        Unit vectors the way the rays travel. [-]
    point : (..., 3) array
        Any point of the plane. [m]
    normal : (..., 3) array
        Normal of the plane, either side, any length. [-]

    Returns
    -------
    (...) array
        Distance along the ray, 0 or more; NaN where the ray is parallel to the plane or
        the plane lies behind its start. [m]
    """
    plane_normal = np.asarray(normal, dtype=np.float64)
    approach = dot(directions, plane_normal)
    offset = dot(np.asarray(point, dtype=np.float64) - origins, plane_normal)
    distance: FloatArray = offset / np.where(approach == 0.0, np.nan, approach)
    return np.where(distance >= 0.0, distance, np.nan)[()]


def intersect_sphere(
    origins: FloatArray, directions: FloatArray, *, center: ArrayLike, radius: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return how far along a line a sphere is entered and left.

    Parameters
    ----------
    origins : (..., 3) array
        Points the lines start from. [m]
    directions : (..., 3) array
        Unit vectors the way the rays travel. [-]
    center : (..., 3) array
        Centre of the sphere. [m]
    radius : float or (...) array
        Radius of the sphere. [m]

    Returns
    -------
    near, far : (...) array
        Signed distances of the two crossings, near <= far; negative behind the start. NaN
        where the line misses the sphere. [m]

    Notes
    -----
    Measured from the point of the line closest to the centre, so that nothing cancels when
    the ray starts many radii away.
    """
    offset = origins - np.asarray(center, dtype=np.float64)
    closest = -dot(offset, directions)
    foot = offset + closest[..., None] * directions
    squared = np.asarray(radius, dtype=np.float64) ** 2 - dot(foot, foot)
    half_chord = np.sqrt(np.where(squared < 0.0, np.nan, squared))
    return closest - half_chord, closest + half_chord
