r"""Spectacle lenses of the mannequin as closed solids on the very surfaces that are traced.

Every corner of the front lies on the sphere, every corner of the back on the torus of
`tapemark.anatomy.lens`, with the normals of those surfaces; the edge is ground square to the
plane of the frame.

        ____
       |    \     front: sphere
       |     )
       |____/     back: torus
"""

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import LensStack
from tapemark.geometry import (
    FloatArray,
    superellipse_points,
    to_local,
    to_world,
    turn_to_local,
    turn_to_world,
)
from tapemark.optics import front_point, intersect_toric, spherical_normal, toric_normal
from tapemark.rendering.mannequin.mesh import Mesh, grid_faces, vertex_normals
from tapemark.units import MM

THINNEST_EDGE_M = 0.05 * MM  # a sharp edge is ground blunt


@dataclass(frozen=True, kw_only=True, eq=False)
class LensSolid:
    """One lens as a closed mesh in the world.

    Attributes
    ----------
    mesh : Mesh
        Front, back and edge; corners are not shared between them.
    sections : dict
        First and last (left out) face of ``front``, ``back`` and ``edge``.
    """

    mesh: Mesh
    sections: dict[str, tuple[int, int]]


def lens_solid(lens: LensStack, *, index: int, fineness: float) -> LensSolid:
    """Return one lens of a stack as a closed solid, world frame [m]."""
    rows, columns = int(36 * fineness) + 4, int(140 * fineness) // 2 * 2
    edge = outline_points(lens, count=columns)
    shares = np.sin(np.linspace(0.0, np.pi / 2, rows)) ** 0.9
    flat = shares[:, None, None] * edge
    front, front_normal = _front(lens, index, flat)
    back, back_normal = _back(lens, index, front)
    wall, wall_faces = np.stack([front[-1], back[-1]]), grid_faces(2, columns, closed=True)
    faces = grid_faces(rows, columns, closed=True)[:, ::-1]
    wall_points = wall.reshape(-1, 3)
    wall_faces = _facing_out(wall_points, wall_faces)
    count = rows * columns
    mesh = Mesh(
        vertices=np.concatenate([front.reshape(-1, 3), back.reshape(-1, 3), wall_points]),
        normals=np.concatenate(
            [
                front_normal.reshape(-1, 3),
                -back_normal.reshape(-1, 3),
                vertex_normals(wall_points, wall_faces),
            ]
        ),
        faces=np.concatenate([faces, faces[:, ::-1] + count, wall_faces + 2 * count]),
    )
    size = len(faces)
    return LensSolid(
        mesh=mesh,
        sections={
            "front": (0, size),
            "back": (size, 2 * size),
            "edge": (2 * size, 2 * size + len(wall_faces)),
        },
    )


def outline_points(lens: LensStack, *, count: int, grown_m: float = 0.0) -> FloatArray:
    """Return the outline of the lenses in the boxed frame, grown outwards, (count, 2) [m]."""
    exponent, taper = lens.outline_shape
    line = superellipse_points(
        count * 8,
        half_width=lens.half_width,
        half_height=lens.half_height,
        exponent=exponent,
        taper=taper,
    )
    line = _evenly(line, count)
    return line if grown_m == 0.0 else line + grown_m * outwards(line)


def outwards(line: FloatArray) -> FloatArray:
    """Return unit directions out of a closed outline that runs from x towards z."""
    along = np.roll(line, -1, axis=0) - np.roll(line, 1, axis=0)
    square = np.stack([along[:, 1], -along[:, 0]], axis=-1)
    return np.asarray(square / np.hypot(*square.T)[:, None])


def _evenly(line: FloatArray, count: int) -> FloatArray:
    """Return points of a dense closed outline, evenly spaced along it."""
    closed = np.concatenate([line, line[:1]])
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.arange(count) * length[-1] / count
    return np.stack([np.interp(at, length, closed[:, k]) for k in (0, 1)], axis=-1)


def _front(lens: LensStack, index: int, flat: FloatArray) -> tuple[FloatArray, FloatArray]:
    curvature = lens.front_curvature[index]
    points = front_point(flat[..., 0], flat[..., 1], curvature=curvature)
    normal = spherical_normal(points, curvature=curvature)
    axes = lens.boxed_axes[index]
    return (
        to_world(points, origin=lens.boxed_origin[index], axes=axes),
        turn_to_world(normal, axes=axes),
    )


def _back(lens: LensStack, index: int, front: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return points of the back straight behind the front's, and its normals towards it."""
    origin, axes = lens.optical_origin[index], lens.optical_axes[index]
    starts = to_local(front, origin=origin, axes=axes)
    inwards = turn_to_local(-lens.boxed_axes[index][:, 1], axes=axes)
    shape = {
        "curvature_a": lens.back_curvature_a[index],
        "curvature_b": lens.back_curvature_b[index],
        "axis_angle": lens.back_axis[index],
        "vertex_y": -lens.thickness_m[index],
    }
    distance = intersect_toric(starts, np.broadcast_to(inwards, starts.shape), **shape)
    distance = np.maximum(np.nan_to_num(distance, nan=THINNEST_EDGE_M), THINNEST_EDGE_M)
    points = starts + distance[..., None] * inwards
    return (
        to_world(points, origin=origin, axes=axes),
        turn_to_world(toric_normal(points, **shape), axes=axes),
    )


def _facing_out(points: FloatArray, faces: np.ndarray) -> np.ndarray:
    """Return faces turned so that they look away from the middle of the points."""
    corners = points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    away = corners.mean(axis=1) - points.mean(axis=0)
    return faces if (normal * away).sum() > 0 else faces[:, ::-1]
