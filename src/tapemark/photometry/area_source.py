"""Light from evenly bright faces: illuminance per unit luminance.

A face of luminance L [cd/m2] lights a surface with E [lx]; for flash, cd s/m2 and lx s. The
factors F are those of heat transfer (view factors): E = pi L F. `polygon_illuminance` gives
E/L itself. All assume the same luminance in every direction (Lambert's law).
"""

import numpy as np
from numpy.typing import ArrayLike

from tapemark.geometry.vectors import FloatArray, FloatLike, cross, dot


def disc_on_axis_factor(radius_m: FloatLike, *, distance_m: FloatLike) -> FloatArray:
    """Return the factor of a disc for a small surface on its axis, facing it.

    Parameters
    ----------
    radius_m : float or (...) array
        Radius of the disc. [m]
    distance_m : float or (...) array
        Centre of the disc to the surface, above 0. [m]

    Returns
    -------
    (...) array
        F = R^2/(R^2 + d^2), 0 to 1; E = pi L F. [-]

    References
    ----------
    [disc-exercise]
    """
    r2, d2 = np.square(radius_m), np.square(distance_m)
    factor: FloatArray = np.true_divide(r2, r2 + d2)
    return factor


def rectangle_parallel_factor(
    width_m: FloatLike, *, height_m: FloatLike, distance_m: FloatLike
) -> FloatArray:
    """Return the factor of a rectangle for a parallel surface opposite its corner.

    Parameters
    ----------
    width_m, height_m : float or (...) array
        Sides of the rectangle, 0 or more. [m]
    distance_m : float or (...) array
        Distance along the normal through the corner, above 0. [m]

    Returns
    -------
    (...) array
        F, 0 to 1/4; E = pi L F. [-]

    Notes
    -----
    Other places by adding and taking away corner rectangles: opposite the centre, four
    quarter rectangles.

    References
    ----------
    [br-187] eq. A4; Howell B-3.

    Examples
    --------
    >>> round(float(rectangle_parallel_factor(1.0, height_m=1.0, distance_m=1.0)), 6)
    0.138532
    """
    x, y = np.true_divide(width_m, distance_m), np.true_divide(height_m, distance_m)
    root_x, root_y = np.sqrt(1.0 + x * x), np.sqrt(1.0 + y * y)
    factor: FloatArray = (
        x / root_x * np.arctan2(y, root_x) + y / root_y * np.arctan2(x, root_y)
    ) / (2.0 * np.pi)
    return factor


def rectangle_perpendicular_factor(
    width_m: FloatLike, *, height_m: FloatLike, distance_m: FloatLike
) -> FloatArray:
    """Return the factor of a rectangle for a surface square to it, opposite its corner.

    Parameters
    ----------
    width_m : float or (...) array
        Side of the rectangle along the edge that lies in the plane of the surface. [m]
    height_m : float or (...) array
        Side of the rectangle along the normal of the surface. [m]
    distance_m : float or (...) array
        Surface to the corner, along the normal of the rectangle, above 0. [m]

    Returns
    -------
    (...) array
        F, 0 to 1/2; E = pi L F. [-]

    References
    ----------
    [br-187]; Howell B-4.

    Examples
    --------
    >>> round(float(rectangle_perpendicular_factor(1.0, height_m=1.0, distance_m=1.0)), 6)
    0.055734
    """
    x, y = np.true_divide(width_m, distance_m), np.true_divide(height_m, distance_m)
    root_y = np.sqrt(1.0 + y * y)
    factor: FloatArray = (np.arctan(x) - np.arctan2(x, root_y) / root_y) / (2.0 * np.pi)
    return factor


def patch_illuminance(
    area_m2: FloatLike, *, distance_m: FloatLike, cos_emitted: FloatLike, cos_received: FloatLike
) -> FloatArray:
    """Return illuminance per unit luminance from a patch small against its distance.

    Parameters
    ----------
    area_m2 : float or (...) array
        Area of the patch. [m2]
    distance_m : float or (...) array
        Patch to surface, above 0. [m]
    cos_emitted, cos_received : float or (...) array
        Cosine of the angle between the joining line and the patch's, and the surface's
        normal; 0 is taken where it is negative. [-]

    Returns
    -------
    (...) array
        E/L = A cos cos/d^2. [lx per cd/m2]

    Notes
    -----
    Within 1 % if the distance is at least five times the largest size.

    References
    ----------
    [ies-five-times], [view-factor]
    """
    facing = np.maximum(cos_emitted, 0.0) * np.maximum(cos_received, 0.0)
    illuminance: FloatArray = np.multiply(area_m2, facing) / np.square(distance_m)
    return illuminance


def polygon_illuminance(vertices: FloatArray, *, point: ArrayLike, normal: ArrayLike) -> FloatArray:
    """Return illuminance per unit luminance from a flat convex face at any angle.

    Parameters
    ----------
    vertices : (n, 3) array
        Corners in order, either way round, world frame. [m]
    point : (..., 3) array
        Where the light arrives, not on the outline of the face. [m]
    normal : (..., 3) array
        Unit normal of the surface there; broadcasts with `point`. [-]

    Returns
    -------
    (...) array
        E/L, 0 where the face is below the surface's horizon; NaN where an input is NaN.
        [lx per cd/m2]

    Notes
    -----
    Lambert's polygon formula E/L = 1/2 |sum angle_i (edge normal_i . n)| over the edges of
    the part above the horizon. The face counts as lit on both sides: leave out points behind
    it. Many corners make a disc (64 corners: 0.2 % low).

    References
    ----------
    [lambert-polygon], checked against [br-187].
    """
    place = np.asarray(point, dtype=np.float64)
    facing = np.asarray(normal, dtype=np.float64)
    starts = vertices - place[..., None, :]
    heights = dot(starts, facing[..., None, :])
    ends, end_heights = np.roll(starts, -1, axis=-2), np.roll(heights, -1, axis=-1)
    if not np.any(heights <= 0.0):
        total = np.sum(_edge_term(starts, ends, facing[..., None, :]), axis=-1)
    else:
        begun, finished, leaving, entering = _clip_edges(starts, ends, heights, end_heights)
        total = np.sum(_edge_term(begun, finished, facing[..., None, :]), axis=-1)
        total = total + _edge_term(leaving, entering, facing)
    illuminance: FloatArray = 0.5 * np.abs(total)
    return illuminance


def _clip_edges(
    starts: FloatArray, ends: FloatArray, heights: FloatArray, end_heights: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the edges above the horizon and where the outline sinks below and rises again.

    An edge below the horizon shrinks to a point. The two last arrays are 0 where the whole
    outline stays above.
    """
    up, end_up = heights > 0.0, end_heights > 0.0
    sinks, rises = up & ~end_up, ~up & end_up
    crosses = sinks | rises
    share = np.where(crosses, heights, 0.0) / np.where(crosses, heights - end_heights, 1.0)
    crossing = starts + share[..., None] * (ends - starts)
    begun = np.where(rises[..., None], crossing, starts)
    finished = np.where(sinks[..., None], crossing, ends)
    below = (heights <= 0.0) & (end_heights <= 0.0)
    finished = np.where(below[..., None], begun, finished)
    leaving = np.sum(np.where(sinks[..., None], crossing, 0.0), axis=-2)
    entering = np.sum(np.where(rises[..., None], crossing, 0.0), axis=-2)
    return begun, finished, leaving, entering


def _edge_term(starts: FloatArray, ends: FloatArray, normal: FloatArray) -> FloatArray:
    """Return the angle an edge spans times the tilt of its plane; 0 for a point. [rad]"""
    plane = cross(starts, ends)
    size = np.sqrt(dot(plane, plane))
    angle = np.arctan2(size, dot(starts, ends))
    return angle * dot(plane, normal) / np.where(size == 0.0, 1.0, size)
