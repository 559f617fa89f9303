"""The camera's view of each lens as a lattice of traced rays.

A lattice covers the boxed rectangle of each lens.  For every point the camera
ray is traced to where it goes: mirrored in front, mirrored in back, and
through to the eye.  Everything that follows (what shows, over what, how
bright) is looked up on this lattice.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from tapemark.analysis.lens_sheet import LensSheet, lens_sheet
from tapemark.analysis.scene import Scene
from tapemark.anatomy import LensStack, opening_margin, rim_clearance, rim_of
from tapemark.geometry import (
    FloatArray,
    dot,
    normalize,
    stacked,
    to_local,
    to_world,
    turn_to_local,
    turn_to_world,
)
from tapemark.optics import LensOptics, LensPaths, front_point, trace_lens
from tapemark.units import MM

Surface = Literal["front", "back"]
SURFACES: tuple[Surface, Surface] = ("front", "back")
_OUT = np.array([0.0, 1.0, 0.0])
EYE_BAND_M = 7.5 * MM  # above and below the pupil: the opening with some play
LATTICE_ASPECT = 1.4  # columns over rows
HEAD_STRIDE = 4  # the head is looked for at every fourth lattice point


@dataclass(frozen=True, kw_only=True, eq=False)
class RayLattice:
    """Reflected rays of one surface in the world; lattice axes (lens, row, column).

    Attributes
    ----------
    origins, directions : (L, rows, columns, 3) arrays
        Where the rays leave the lens [m] and their directions [-].
    weight : (L, rows, columns) array
        Share of luminance carried; 0 where nothing of the cell is free. [-]
    free : (L, rows, columns) array
        Share of what the camera sees of each cell from which rays get past lens
        edge, rim and head. [-]
    """

    origins: FloatArray
    directions: FloatArray
    weight: FloatArray
    free: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class LensView:
    """What the camera sees of a stack of lenses; lattice axes (L, rows, columns).

    Attributes
    ----------
    x, z : (columns,), (rows,) arrays
        Lattice places in the boxed frame; rows stand closer over the eye. [m]
    row_height : (rows, 1) array
        Height of each row of cells. [m]
    solid_angle : (L, rows, columns) array
        Size of each lattice cell as the camera sees it, 0 outside the lens
        and where rim or head hide it. [sr]
    reflected : dict of RayLattice
        Rays of the front and of the back reflection.
    through_weight : (L, rows, columns) array
        Share of luminance let through on one pass. [-]
    opening, iris, pupil : (L, rows, columns) arrays
        How far the place seen through the lens lies inside the eye opening,
        the iris, the pupil. [m]
    points : (L, rows, columns, 3) array
        Lattice points on the front surface, world. [m]
    """

    x: FloatArray
    z: FloatArray
    row_height: FloatArray
    solid_angle: FloatArray
    reflected: dict[Surface, RayLattice]
    through_weight: FloatArray
    opening: FloatArray
    iris: FloatArray
    pupil: FloatArray
    points: FloatArray


def view_lenses(scene: Scene, lenses: LensStack, *, columns: int, rows: int) -> LensView:
    """Return the traced lattice of the camera's view of a stack of lenses.

    Parameters
    ----------
    scene : Scene
        Camera, head and eyes.
    lenses : LensStack
        Right and left lenses in turn.
    columns, rows : int
        Lattice points across and up the boxed rectangle.
    """
    sheet = lens_sheet(
        (lenses.half_width, lenses.half_height),
        lenses.outline_shape,
        eye_band=_eye_band(scene),
        columns=columns,
        rows=rows,
    )
    boxed = front_point(sheet.x, sheet.z[:, None], curvature=_deep(lenses.front_curvature))
    place = {
        "origin": lenses.boxed_origin[:, None, None, :],
        "axes": _lattice_axes(lenses.boxed_axes),
    }
    to_camera = to_local(scene.camera, **place) - boxed
    points = to_world(boxed, **place)
    paths = _trace(scene, lenses, points)
    fall = _fall(lenses, boxed, sheet)
    clear = _rim_clearance(scene, to_camera, margin=sheet.margin, sheet=sheet, fall=fall)
    mirrored = turn_to_world(paths.front.directions, axes=_lattice_axes(lenses.optical_axes))
    hidden, shaded = _behind_head(scene, points, (scene.camera - points, mirrored))
    seen = np.where(hidden | np.isnan(clear), 0.0, _share_inside(clear, sheet))
    free = np.where(shaded, 0.0, seen)  # the back's rays pass the head some mm beside the front's
    reflected = _reflected(scene, lenses, paths, points=points, sheet=sheet, fall=fall, free=free)
    for rays in reflected.values():
        np.divide(rays.free, seen, out=rays.free, where=seen > 0.0)
    eye = _eye_margins(scene, lenses, paths)
    return LensView(
        x=sheet.x,
        z=sheet.z,
        row_height=sheet.row_height,
        solid_angle=seen * _solid_angle(lenses, sheet, boxed, to_camera),
        reflected=reflected,
        through_weight=paths.through.weight,
        opening=eye[0],
        iris=eye[1],
        pupil=eye[2],
        points=points,
    )


def lattice_for(lenses: LensStack, *, points: int) -> tuple[int, int]:
    """Return columns and rows of a lattice with at least so many points inside each lens.

    Notes
    -----
    A superellipse of exponent p fills G(1 + 1/p)² / G(1 + 2/p) of its box (G: gamma
    function); rows that stand closer over the eye make up for what a taper takes away.
    """
    exponent, _taper = lenses.outline_shape
    share = math.gamma(1 + 1 / exponent) ** 2 / math.gamma(1 + 2 / exponent)
    cells = points / share
    columns = math.ceil(math.sqrt(cells * LATTICE_ASPECT))
    return columns, math.ceil(cells / columns)


def lens_optics(lenses: LensStack, *, trailing: int) -> LensOptics:
    """Return the surfaces of a stack with `trailing` axes added for lattices."""
    shape = (-1,) + (1,) * trailing
    return LensOptics(
        front_curvature=lenses.front_curvature.reshape(shape),
        back_curvature_a=lenses.back_curvature_a.reshape(shape),
        back_curvature_b=lenses.back_curvature_b.reshape(shape),
        back_axis=lenses.back_axis.reshape(shape),
        thickness_m=lenses.thickness_m.reshape(shape),
        index=lenses.index.reshape(shape),
        coating_reflectance=lenses.coating_reflectance,
    )


def _eye_band(scene: Scene) -> tuple[float, float]:
    """Return the band of the boxed lens in which the eye opening is seen [m]."""
    glasses = scene.sitter.glasses
    assert glasses is not None
    pupil = glasses.assumed_pupil_height_mm - glasses.lens_height_mm / 2 + glasses.slipped_mm
    return (pupil * MM - EYE_BAND_M, pupil * MM + EYE_BAND_M)


def _deep(values: FloatArray) -> FloatArray:
    return values[:, None, None]


def _lattice_axes(axes: FloatArray) -> FloatArray:
    """Return stacked axes, (L, 3, 3), ready for lattices of vectors."""
    return axes[:, None, None, :, :]


def _trace(scene: Scene, lenses: LensStack, points: FloatArray) -> LensPaths:
    axes = _lattice_axes(lenses.optical_axes)
    origin = lenses.optical_origin[:, None, None, :]
    camera = to_local(scene.camera, origin=origin, axes=axes)
    local = to_local(points, origin=origin, axes=axes)
    return trace_lens(camera, local, lens=lens_optics(lenses, trailing=2))


def _solid_angle(
    lenses: LensStack, sheet: LensSheet, boxed: FloatArray, to_camera: FloatArray
) -> FloatArray:
    """Return the size of each cell as the camera sees it, (L, rows, columns) [sr]."""
    normal = lenses.front_curvature[:, None, None, None] * boxed + _OUT
    squared = dot(to_camera, to_camera)
    facing = np.maximum(dot(to_camera, normal), 0.0)
    size = sheet.cell_m2 * facing / (normal[..., 1] * squared * np.sqrt(squared))
    return np.where(np.isnan(size), 0.0, size)  # beyond the edge of a steep lens


def _reflected(
    scene: Scene,
    lenses: LensStack,
    paths: LensPaths,
    *,
    points: FloatArray,
    sheet: LensSheet,
    fall: FloatArray,
    free: FloatArray,
) -> dict[Surface, RayLattice]:
    """Return the rays of both surfaces; `free` is the share of each cell left by the head."""
    axes, boxed_axes = _lattice_axes(lenses.optical_axes), _lattice_axes(lenses.boxed_axes)
    origin = lenses.optical_origin[:, None, None, :]
    back_origins = to_world(paths.back.origins, origin=origin, axes=axes)
    moved = turn_to_local(back_origins - points, axes=boxed_axes)
    ends = sheet.margin - moved[..., 0] * sheet.edge_x - moved[..., 2] * sheet.edge_z
    lattice: dict[Surface, RayLattice] = {}
    for surface, origins, rays, margin in zip(
        SURFACES,
        (points, back_origins),
        (paths.front, paths.back),
        (sheet.margin, ends),
        strict=True,
    ):
        along = turn_to_world(rays.directions, axes=axes)
        leaving = turn_to_local(along, axes=boxed_axes)
        clear = _rim_clearance(scene, leaving, margin=margin, sheet=sheet, fall=fall)
        share = np.minimum(_share_inside(np.nan_to_num(clear, nan=-1.0), sheet), free)
        share[np.isnan(rays.weight)] = 0.0
        lattice[surface] = RayLattice(
            origins=origins,
            directions=along,
            weight=np.where(share > 0.0, rays.weight, 0.0),
            free=share,
        )
    return lattice


def _behind_head(
    scene: Scene, points: FloatArray, families: tuple[FloatArray, FloatArray]
) -> np.ndarray:
    """Return which paths from lattice points, world, any length, run into the head.

    The head is looked for at every few points; in between its depth is interpolated.
    """
    rows, columns = (_nodes(count) for count in points.shape[1:3])
    step = (slice(None), rows.at[:, None], columns.at)
    starts = to_local(points[step], origin=scene.pose.origin, axes=scene.pose.axes)
    leaving = stacked([normalize(family[step]) for family in families])
    along = turn_to_local(leaving, axes=scene.pose.axes)
    depth = scene.head.depth_along(starts, along, reach_m=0.07, steps=9)
    if not (depth > 0.0).any():
        return np.zeros((len(families), *points.shape[:-1]), dtype=bool)
    return np.asarray(rows.weights @ depth @ columns.weights.T > 0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Nodes:
    """Every few of a row of lattice points, and the weights that give all from them."""

    at: np.ndarray
    weights: FloatArray


@lru_cache(maxsize=32)
def _nodes(count: int) -> _Nodes:
    """Return nodes among lattice points, the same counted from either end."""
    half = np.arange(0, (count + 1) // 2, HEAD_STRIDE)
    at = np.unique(np.concatenate([half, count - 1 - half]))
    weights = [np.interp(np.arange(count), at, own) for own in np.eye(len(at))]
    return _Nodes(at=at, weights=np.stack(weights, axis=1))


def _fall(lenses: LensStack, boxed: FloatArray, sheet: LensSheet) -> FloatArray:
    """Return how fast the front falls back towards the edge, (L, rows, columns) [-]."""
    curvature = _deep(lenses.front_curvature)
    outwards = boxed[..., 0] * sheet.edge_x + boxed[..., 2] * sheet.edge_z
    return np.asarray(curvature * outwards / (1.0 + curvature * boxed[..., 1]))


def _rim_clearance(
    scene: Scene, leaving: FloatArray, *, margin: FloatArray, sheet: LensSheet, fall: FloatArray
) -> FloatArray:
    """Return by how much rays leaving the lens, boxed frame, clear the rim [m].

    `margin` tells how far inside the lens edge they leave. [m]
    """
    glasses = scene.sitter.glasses
    assert glasses is not None
    rim = rim_of(glasses)
    towards_edge = leaving[..., 0] * sheet.edge_x + leaving[..., 2] * sheet.edge_z
    radius = np.where(sheet.edge_z > -0.2, rim.tube_radius_m, rim.lower_tube_radius_m)
    return rim_clearance(margin, towards_edge, leaving[..., 1], tube_radius_m=radius, fall=fall)


def _share_inside(margin: FloatArray, sheet: LensSheet) -> FloatArray:
    """Return the share of each cell on the inner side of an edge along the lens edge."""
    return np.asarray(np.minimum(np.maximum(margin / sheet.across + 0.5, 0.0), 1.0))


def _eye_margins(
    scene: Scene, lenses: LensStack, paths: LensPaths
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return how far inside opening, iris and pupil each view through the lens falls [m]."""
    pairs = len(lenses.outward) // 2
    eyes = scene.eyes
    axes = _lattice_axes(lenses.optical_axes)
    origins = to_world(
        paths.through.origins, origin=lenses.optical_origin[:, None, None, :], axes=axes
    )
    directions = turn_to_world(paths.through.directions, axes=axes)
    opening = _on_plane(origins, directions, _tiled(eyes.opening_center, pairs), eyes.head_axes)
    outward = np.tile(eyes.outward, pairs)[:, None, None]
    open_margin = opening_margin(opening[..., 0], opening[..., 2], eyes=eyes, outward=outward)
    gaze_axes = _lattice_axes(np.tile(eyes.gaze_axes, (pairs, 1, 1)))
    seen = _on_plane(origins, directions, _tiled(eyes.iris_center, pairs), gaze_axes)
    off_axis = np.hypot(seen[..., 0], seen[..., 2])
    return open_margin, eyes.iris_diameter_m / 2 - off_axis, eyes.pupil_diameter_m / 2 - off_axis


def _on_plane(
    origins: FloatArray, directions: FloatArray, center: FloatArray, axes: FloatArray
) -> FloatArray:
    """Return where rays meet the x-z plane of a frame, in that frame [m]."""
    start = to_local(origins, origin=center, axes=axes)
    along = turn_to_local(directions, axes=axes)
    return start - (start[..., 1] / along[..., 1])[..., None] * along


def _tiled(points: FloatArray, pairs: int) -> FloatArray:
    return np.tile(points, (pairs, 1))[:, None, None, :]
