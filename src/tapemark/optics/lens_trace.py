"""Rays from a camera at a spectacle lens: mirrored in front, in back, let through.

Everything is traced from the camera outwards (light takes the same paths the
other way).  A camera ray that meets the front surface

    camera ->  (1) is mirrored at the front,
               (2) enters, is mirrored at the back, leaves through the front,
               (3) enters and leaves through the back, towards the eye.

All arrays are in the lens's optical frame: origin on the front at the optical
centre, y outward, metres; leading axes of lens quantities broadcast against
those of the rays.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray, FloatLike, dot, join_components
from tapemark.optics.coating import surface_reflectance
from tapemark.optics.reflection import reflect
from tapemark.optics.refraction import refract
from tapemark.optics.surfaces import (
    intersect_spherical,
    intersect_toric,
    spherical_normal,
    toric_normal,
)


@dataclass(frozen=True, kw_only=True, eq=False)
class LensOptics:
    """Surfaces of one lens or of a stack of lenses, in their optical frames.

    Attributes
    ----------
    front_curvature, back_curvature_a, back_curvature_b : arrays
        Curvatures [1/m], positive where convex towards the scene.
    back_axis : array
        Angle of meridian `a` from x towards z. [rad]
    thickness_m, index : arrays
        Centre thickness [m], refractive index [-].
    coating_reflectance : float, array or None
        Per surface at normal incidence; None for bare surfaces. [-]
    """

    front_curvature: FloatArray
    back_curvature_a: FloatArray
    back_curvature_b: FloatArray
    back_axis: FloatArray
    thickness_m: FloatArray
    index: FloatArray
    coating_reflectance: FloatLike | None


@dataclass(frozen=True, kw_only=True, eq=False)
class TracedRays:
    """Rays leaving a lens.

    Attributes
    ----------
    origins, directions : (..., 3) arrays
        Where each ray leaves the lens [m] and its unit direction [-]; NaN
        where there is no such ray (total internal reflection, past the edge).
    weight : (...) array
        Share of luminance carried along the path. [-]
    """

    origins: FloatArray
    directions: FloatArray
    weight: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class LensPaths:
    """The three families of rays of a camera view of a lens, and the second before it leaves."""

    front: TracedRays
    back: TracedRays
    through: TracedRays
    inside: TracedRays


def front_point(x: FloatArray, z: FloatArray, *, curvature: FloatArray) -> FloatArray:
    """Return the points of a spherical front above given places.

    Parameters
    ----------
    x, z : (...) arrays
        Places across and up from the vertex. [m]
    curvature : (...) array
        Front curvature, broadcasts. [1/m]

    Returns
    -------
    (..., 3) array
        Points on the surface [m]; NaN outside the sphere.
    """
    squared = x * x + z * z
    inside = 1.0 - curvature * curvature * squared
    root = np.sqrt(np.where(inside >= 0, inside, np.nan))
    y = -curvature * squared / (1.0 + root)
    return join_components(x, y, z)


def trace_lens(camera: FloatArray, points: FloatArray, *, lens: LensOptics) -> LensPaths:
    """Return what becomes of the camera rays that meet a lens at given points.

    Parameters
    ----------
    camera : (..., 3) array
        Camera (entrance pupil) in the optical frame. [m]
    points : (..., 3) array
        Points on the front surface. [m]
    lens : LensOptics
        Surfaces; leading axes broadcast.

    Returns
    -------
    LensPaths
        Front and back reflections and the refracted view; directions point
        away from the lens along the traced (reversed) ray.

    Notes
    -----
    Weights: R for the front; (1-R)(1-R') times the back's R for the back;
    (1-R)(1-R') for the view through, R and R' being the reflectances met on
    the way in and out. Absorption in the lens is not included.
    """
    view = points - camera
    view = view / np.sqrt(dot(view, view))[..., None]
    normal = spherical_normal(points, curvature=lens.front_curvature)
    mirrored_front, share_in = _front_split(view, normal, lens)
    inside = refract(view, normal=normal, index_from=1.0, index_to=lens.index)
    at_back, back_normal = _reach_back(points, inside, lens)
    reflect_back, share_out = _back_split(inside, back_normal, lens)
    front = TracedRays(
        origins=points, directions=reflect(view, normal=normal), weight=mirrored_front
    )
    through = TracedRays(
        origins=at_back,
        directions=refract(inside, normal=back_normal, index_from=lens.index, index_to=1.0),
        weight=share_in * share_out,
    )
    mirrored = TracedRays(
        origins=at_back,
        directions=reflect(inside, normal=back_normal),
        weight=share_in * reflect_back,
    )
    back = leave_front(mirrored, lens=lens)
    return LensPaths(front=front, back=back, through=through, inside=mirrored)


def leave_front(rays: TracedRays, *, lens: LensOptics) -> TracedRays:
    """Return rays inside a lens as they leave through its front.

    Parameters
    ----------
    rays : TracedRays
        Inside the lens: in its optical frame, or in any other frame whose y axis is a normal
        of the front at its origin.
    lens : LensOptics
        Front, index and coating; leading axes broadcast.

    Returns
    -------
    TracedRays
        Beyond the front; NaN where it is reflected totally.
    """
    left = _leave_front(rays.origins, rays.directions, lens)
    return TracedRays(
        origins=left.origins, directions=left.directions, weight=rays.weight * left.weight
    )


def leave_from_eye(origins: FloatArray, directions: FloatArray, *, lens: LensOptics) -> TracedRays:
    """Return rays that start at the eye and pass the lens outwards.

    Parameters
    ----------
    origins, directions : (..., 3) arrays
        Rays between the eye and the lens, optical frame. [m], [-]
    lens : LensOptics
        Surfaces; leading axes broadcast.

    Returns
    -------
    TracedRays
        Rays leaving the front; the weight is the share let through.
    """
    distance = _to_back(origins, directions, lens)
    at_back = origins + distance[..., None] * directions
    normal = _back_normal(at_back, lens)
    cosine = np.abs(dot(directions, normal))
    passed = 1.0 - surface_reflectance(
        cosine, index=lens.index, coating_reflectance=lens.coating_reflectance
    )
    inside = refract(directions, normal=normal, index_from=1.0, index_to=lens.index)
    left = _leave_front(at_back, inside, lens)
    return TracedRays(origins=left.origins, directions=left.directions, weight=passed * left.weight)


def _front_split(
    view: FloatArray, normal: FloatArray, lens: LensOptics
) -> tuple[FloatArray, FloatArray]:
    reflectance = surface_reflectance(
        np.abs(dot(view, normal)), index=lens.index, coating_reflectance=lens.coating_reflectance
    )
    return reflectance, 1.0 - reflectance


def _reach_back(
    points: FloatArray, inside: FloatArray, lens: LensOptics
) -> tuple[FloatArray, FloatArray]:
    distance = _to_back(points, inside, lens)
    at_back = points + distance[..., None] * inside
    return at_back, _back_normal(at_back, lens)


def _to_back(origins: FloatArray, directions: FloatArray, lens: LensOptics) -> FloatArray:
    if _is_sphere(lens):
        return intersect_spherical(
            origins, directions, curvature=lens.back_curvature_a, vertex_y=-lens.thickness_m
        )
    return intersect_toric(
        origins,
        directions,
        curvature_a=lens.back_curvature_a,
        curvature_b=lens.back_curvature_b,
        axis_angle=lens.back_axis,
        vertex_y=-lens.thickness_m,
    )


def _back_normal(points: FloatArray, lens: LensOptics) -> FloatArray:
    if _is_sphere(lens):
        return spherical_normal(points, curvature=lens.back_curvature_a, vertex_y=-lens.thickness_m)
    return toric_normal(
        points,
        curvature_a=lens.back_curvature_a,
        curvature_b=lens.back_curvature_b,
        axis_angle=lens.back_axis,
        vertex_y=-lens.thickness_m,
    )


def _is_sphere(lens: LensOptics) -> bool:
    return bool(np.all(lens.back_curvature_a == lens.back_curvature_b))


def _back_split(
    inside: FloatArray, normal: FloatArray, lens: LensOptics
) -> tuple[FloatArray, FloatArray]:
    reflectance = _from_inside(inside, normal, lens)
    return reflectance, 1.0 - reflectance


def _from_inside(inside: FloatArray, normal: FloatArray, lens: LensOptics) -> FloatArray:
    """Return the reflectance met from inside the lens; 1 at total internal reflection."""
    return surface_reflectance(
        np.abs(dot(inside, normal)),
        index=1.0,
        coating_reflectance=lens.coating_reflectance,
        index_from=lens.index,
    )


def _leave_front(origins: FloatArray, inside: FloatArray, lens: LensOptics) -> TracedRays:
    distance = intersect_spherical(origins, inside, curvature=lens.front_curvature)
    points = origins + distance[..., None] * inside
    normal = spherical_normal(points, curvature=lens.front_curvature)
    return TracedRays(
        origins=points,
        directions=refract(inside, normal=normal, index_from=lens.index, index_to=1.0),
        weight=1.0 - _from_inside(inside, normal, lens),
    )
