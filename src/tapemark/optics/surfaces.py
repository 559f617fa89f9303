"""Spherical, plane and toric lens surfaces: where a ray meets them, and their normal.

Frame of a surface: vertex on the y axis at `vertex_y`, y outward (towards the scene). The
surface is y = vertex_y - sag(x, z), with curvature c = 1/radius:

    +y <----( c > 0    domed towards +y, centre of curvature behind at y = vertex_y - 1/c
    +y <----| c = 0    plane
    +y <----) c < 0    hollow towards +y

Sphere: c (x^2 + y^2 + z^2) + 2 y = 0, y from the vertex.

Torus: with s = -(y - vertex_y), u along the meridian of curvature c_a and v along that of
c_b, a circle of curvature c_b in the plane of v is turned about an axis parallel to v at
s = 1/c_a:

    2 (s - s_v) - c_a (s^2 - s_v^2 + u^2) = 0,  s_v = c_b v^2 / (1 + sqrt(1 - c_b^2 v^2))

Every curvature, angle and vertex broadcasts with the leading axes of the rays, so that many
lenses are traced at once. A miss is NaN. References: [torus-exact], [golden-rays].
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike, join_components, split_components

_NEWTON_STEPS = 8  # quadratic: 3 suffice for a strong cylinder at the edge of a lens
_CONVERGED_M = 1e-8  # after a step this small the error is 1e-15, for it goes by its square [m]


def intersect_spherical(
    origins: FloatArray,
    directions: FloatArray,
    *,
    curvature: FloatLike,
    vertex_y: FloatLike = 0.0,
) -> FloatArray:
    """Return how far along a ray a spherical or plane surface is met.

    Parameters
    ----------
    origins : (..., 3) array
        Where the rays start, frame of the surface. [m]
    directions : (..., 3) array
        Unit vectors the way the rays travel; either way through the surface. [-]
    curvature : float or (...) array
        1/radius, positive if domed towards +y; 0 for a plane. [1/m]
    vertex_y : float or (...) array
        Where the vertex lies on the y axis. [m]

    Returns
    -------
    (...) array
        Signed distance along the ray to the crossing nearest the plane through the vertex,
        negative behind the start; NaN for a miss. [m]

    Notes
    -----
    Measured from the point p of the line closest to the vertex, where p.d = 0, the equation
    is c t^2 + 2 d_y t + (c p.p + 2 p_y) = 0. Its root
    -C/(d_y + sign(d_y) sqrt(d_y^2 - c C)) is the crossing nearest the vertex plane; nothing
    cancels, and it is the plane's own formula at c = 0.

    References
    ----------
    [golden-rays]
    """
    c = np.asarray(curvature)
    ox, oy, oz = split_components(origins)
    dx, dy, dz = split_components(directions)
    oy = oy - vertex_y
    closest = -(ox * dx + oy * dy + oz * dz)
    px, py, pz = ox + closest * dx, oy + closest * dy, oz + closest * dz
    constant = c * (px * px + py * py + pz * pz) + 2.0 * py
    squared = dy * dy - c * constant
    root = np.sqrt(np.where(squared < 0.0, np.nan, squared))
    divisor = dy + np.copysign(root, dy)
    return closest - constant / np.where(divisor == 0.0, np.nan, divisor)


def spherical_normal(
    points: FloatArray, *, curvature: FloatLike, vertex_y: FloatLike = 0.0
) -> FloatArray:
    """Return the outward normal of a spherical or plane surface.

    Parameters
    ----------
    points : (..., 3) array
        Points on the surface, frame of the surface. [m]
    curvature : float or (...) array
        1/radius, positive if domed towards +y; 0 for a plane. [1/m]
    vertex_y : float or (...) array
        Where the vertex lies on the y axis. [m]

    Returns
    -------
    (..., 3) array
        Unit normal, to +y at the vertex; NaN where an input is NaN. [-]
    """
    c = np.asarray(curvature)
    x, y, z = split_components(points)
    return join_components(c * x, 1.0 + c * (y - vertex_y), c * z)


def intersect_toric(
    origins: FloatArray,
    directions: FloatArray,
    *,
    curvature_a: FloatLike,
    curvature_b: FloatLike,
    axis_angle: FloatLike,
    vertex_y: FloatLike = 0.0,
) -> FloatArray:
    """Return how far along a ray a toric surface is met.

    Parameters
    ----------
    origins : (..., 3) array
        Where the rays start, frame of the surface. [m]
    directions : (..., 3) array
        Unit vectors the way the rays travel; either way through the surface. [-]
    curvature_a, curvature_b : float or (...) array
        Curvature along the meridian at `axis_angle`, and along the meridian square to it;
        positive if domed towards +y. [1/m]
    axis_angle : float or (...) array
        Direction of meridian a, from +x towards +z. [rad]
    vertex_y : float or (...) array
        Where the vertex lies on the y axis. [m]

    Returns
    -------
    (...) array
        Signed distance along the ray to the crossing near the vertex; NaN for a miss. [m]

    Notes
    -----
    Newton's method on the exact torus, from the sphere that is curved as the torus is towards
    the crossing. Equal curvatures give the sphere.

    References
    ----------
    [torus-exact]
    """
    c_a, c_b = np.asarray(curvature_a, dtype=np.float64), np.asarray(curvature_b, dtype=np.float64)
    cosine, sine = np.cos(axis_angle), np.sin(axis_angle)
    on_sphere = _nearly_on_torus(origins, directions, (c_a, c_b), (cosine, sine), vertex_y=vertex_y)
    starts = origins + on_sphere[..., None] * directions
    u, v, s = _along_meridians(starts, cosine, sine, vertex_y)
    du, dv, ds = _along_meridians(directions, cosine, sine, 0.0)
    distance = on_sphere
    for _ in range(_NEWTON_STEPS):
        s_v, slope_v = _circle_sag(v, c_b)
        excess = 2.0 * (s - s_v) - c_a * (s * s - s_v * s_v + u * u)
        rate = 2.0 * ((1.0 - c_a * s) * ds - slope_v * (1.0 - c_a * s_v) * dv - c_a * u * du)
        step = excess / np.where(rate == 0.0, np.nan, rate)
        distance = distance - step
        u, v, s = u - step * du, v - step * dv, s - step * ds
        if not np.any(np.abs(step) > _CONVERGED_M):
            break
    return distance


def _nearly_on_torus(
    origins: FloatArray,
    directions: FloatArray,
    curvatures: tuple[FloatArray, FloatArray],
    meridians: tuple[FloatLike, FloatLike],
    *,
    vertex_y: FloatLike,
) -> FloatArray:
    """Return distances to the spheres curved as the torus is towards each ray's crossing.

    They miss the torus by some micrometres at the edge of a lens, which saves Newton a step.
    """
    c_a, c_b = curvatures
    mean = 0.5 * (c_a + c_b)
    rough = intersect_spherical(origins, directions, curvature=mean, vertex_y=vertex_y)
    u, v, _ = _along_meridians(origins + rough[..., None] * directions, *meridians, 0.0)
    u2, v2 = u * u, v * v
    towards = (c_a * u2 + c_b * v2) / np.maximum(u2 + v2, np.finfo(np.float64).tiny)
    return intersect_spherical(origins, directions, curvature=towards, vertex_y=vertex_y)


def toric_normal(
    points: FloatArray,
    *,
    curvature_a: FloatLike,
    curvature_b: FloatLike,
    axis_angle: FloatLike,
    vertex_y: FloatLike = 0.0,
) -> FloatArray:
    """Return the outward normal of a toric surface.

    Parameters
    ----------
    points : (..., 3) array
        Points on the surface, frame of the surface. [m]
    curvature_a, curvature_b : float or (...) array
        As in `intersect_toric`. [1/m]
    axis_angle : float or (...) array
        Direction of meridian a, from +x towards +z. [rad]
    vertex_y : float or (...) array
        Where the vertex lies on the y axis. [m]

    Returns
    -------
    (..., 3) array
        Unit normal, to +y at the vertex; NaN where an input is NaN. [-]

    References
    ----------
    [torus-exact]
    """
    c_a, c_b = np.asarray(curvature_a, dtype=np.float64), np.asarray(curvature_b, dtype=np.float64)
    cosine, sine = np.cos(axis_angle), np.sin(axis_angle)
    u, v, s = _along_meridians(points, cosine, sine, vertex_y)
    s_v, slope_v = _circle_sag(v, c_b)
    normal_u = c_a * u
    normal_v = slope_v * (1.0 - c_a * s_v)
    normal_y = 1.0 - c_a * s
    shrink = 1.0 / np.sqrt(normal_u * normal_u + normal_v * normal_v + normal_y * normal_y)
    normal_u, normal_v = shrink * normal_u, shrink * normal_v
    return join_components(
        normal_u * cosine - normal_v * sine,
        shrink * normal_y,
        normal_u * sine + normal_v * cosine,
    )


def _along_meridians(
    vectors: FloatArray, cosine: FloatLike, sine: FloatLike, vertex_y: FloatLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return components along meridian a, along meridian b, and inward from the vertex."""
    x, y, z = split_components(vectors)
    return x * cosine + z * sine, z * cosine - x * sine, vertex_y - y


def _circle_sag(v: FloatArray, curvature: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return depth and slope of a circle at v from its vertex; NaN beyond its edge. [m, -]"""
    cv = curvature * v
    squared = 1.0 - cv * cv
    root = np.sqrt(np.where(squared <= 0.0, np.nan, squared))
    return cv * v / (1.0 + root), cv / root
