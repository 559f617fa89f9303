"""The camera's view of many lenses from a few traced rays each.

Over one lens the mirrored ray, the place where the view through it falls and the weights vary
so smoothly that rays traced at a few places give every other by interpolation.  The places are
the Chebyshev points of the lens box, which keep polynomials from swinging at the ends:

    | .  .     .     .  . |     NODES across, as many up; a check traces 2,000

Arrays run (up, across, lens), with the lens last, so that what belongs to a lens broadcasts.
"""

from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TypeAlias

import numpy as np

from tapemark.anatomy import head_surface
from tapemark.geometry import (
    FloatArray,
    axes_facing,
    normalize,
    stacked,
    to_local,
    turn_to_local,
    turn_to_world,
)
from tapemark.optics import LensPaths, front_point, trace_lens
from tapemark.planning.walk_ins.wearer_faces import WearerFaces, single
from tapemark.studio import FaceMeasures

NODES = 6
SPAN = 0.8  # of the box: its corners lie outside most lenses, and beyond steep surfaces
Lattice: TypeAlias = tuple[int, int]  # rows and columns of cells over a lens box
HEAD_REACH_M, HEAD_STEPS = 0.07, 9  # as in a check


@dataclass(frozen=True, kw_only=True, eq=False)
class LensNodes:
    """Rays at the nodes of many lenses, boxed frames; axes (up, across, lens).

    Attributes
    ----------
    camera_world : (3,) array
        Entrance pupil of the camera. [m]
    camera : (L, 3) array
        The same in the boxed frames. [m]
    rays : (2, 2, NODES, NODES, L, 3) array
        Origins [m] and directions [-] of the rays mirrored in front, and of those mirrored in
        back while they are still inside the lens: outside they may end in total reflection.
    leaving : (2, NODES, NODES, L, 3) array
        Directions of both as they leave the lens; NaN in total reflection. [-]
    weight : (2, NODES, NODES, L) array
        Share of luminance that both carry. [-]
    through_weight : (NODES, NODES, L) array
        Share let through on one pass. [-]
    opening, iris : (2, NODES, NODES, L) arrays
        Where the view through the lens meets the plane of the opening, from the pupil at rest,
        and the plane of the iris, from its middle: across and up. [m]
    depth : (2, NODES, NODES, L) array
        How deep the paths to the camera and along the front reflection run into the head. [m]
    traced : (L,) bool array
        False for lenses so steep that a ray at a node is lost.
    seen_through : (L,) bool array
        False where a view through ends in total reflection, as near the edge of a strong lens
        that is looked at from the side; there the views are traced one by one.
    """

    camera_world: FloatArray
    camera: FloatArray
    rays: FloatArray
    leaving: FloatArray
    weight: FloatArray
    through_weight: FloatArray
    opening: FloatArray
    iris: FloatArray
    depth: FloatArray
    traced: np.ndarray
    seen_through: np.ndarray

    def in_single(self) -> "LensNodes":
        """Return the same in single precision, which is good to some micrometres on a light."""
        return LensNodes(
            **{one.name: single(getattr(self, one.name)) for one in fields(self)},
        )

    def only(self, lenses: np.ndarray) -> "LensNodes":
        """Return some of the lenses, by their numbers."""
        return LensNodes(
            camera_world=self.camera_world,
            camera=self.camera[lenses],
            rays=self.rays[..., lenses, :],
            leaving=self.leaving[..., lenses, :],
            weight=self.weight[..., lenses],
            through_weight=self.through_weight[..., lenses],
            opening=self.opening[..., lenses],
            iris=self.iris[..., lenses],
            depth=self.depth[..., lenses],
            traced=self.traced[lenses],
            seen_through=self.seen_through[lenses],
        )


def lens_nodes(faces: WearerFaces, *, camera: FloatArray) -> LensNodes:
    """Return the rays at the nodes of all lenses.

    Parameters
    ----------
    faces : WearerFaces
        Lenses and eyes in the world.
    camera : (3,) array
        Entrance pupil of the camera. [m]
    """
    at = SPAN * node_places(NODES)
    boxed = front_point(
        faces.half_width * at[:, None],
        faces.half_height * at[:, None, None],
        curvature=faces.front_curvature,
    )
    points = turn_to_world(boxed, axes=faces.boxed_axes) + faces.boxed_origin
    paths = _traced(faces, points, camera, lenses=slice(None))
    to_boxed = np.swapaxes(faces.boxed_axes, -1, -2) @ faces.optical_axes
    front, inside, back = (
        turn_to_world(rays.directions, axes=to_boxed)
        for rays in (paths.front, paths.inside, paths.back)
    )
    place = {"origin": faces.boxed_origin, "axes": faces.boxed_axes}
    shift = to_local(faces.optical_origin, **place)
    at_back = turn_to_world(paths.inside.origins, axes=to_boxed) + shift
    opening, iris = _through(faces, paths, lenses=slice(None))
    rays = np.stack([[boxed, at_back], [front, inside]])
    return LensNodes(
        camera_world=camera,
        camera=to_local(np.broadcast_to(camera, faces.boxed_origin.shape), **place),
        rays=rays,
        leaving=stacked([front, back]),
        weight=np.stack([paths.front.weight, paths.inside.weight]),
        through_weight=paths.through.weight,
        opening=opening,
        iris=iris,
        depth=_head_depths(faces, points, camera - points, front),
        traced=np.asarray(np.isfinite(rays).all(axis=(0, 1, 2, 3, 5))),
        seen_through=np.asarray(np.isfinite(iris).all(axis=(0, 1, 2))),
    )


def node_places(count: int) -> FloatArray:
    """Return the Chebyshev points from -1 to 1, ends included. [-]"""
    return np.asarray(-np.cos(np.pi * np.arange(count) / (count - 1)))


@lru_cache(maxsize=64)
def to_cells(count: int) -> FloatArray:
    """Return the matrix that gives values at the middles of `count` cells from those at nodes."""
    basis = np.polynomial.chebyshev.chebvander
    at_nodes = basis(node_places(NODES), NODES - 1)
    at_cells = basis(cell_places(count) / SPAN, NODES - 1)
    return np.asarray(np.linalg.solve(at_nodes.T, at_cells.T).T)


@lru_cache(maxsize=64)
def straight_to_cells(count: int) -> FloatArray:
    """Return the matrix that does so along straight lines between the nodes."""
    own = np.eye(NODES)
    return np.stack(
        [np.interp(cell_places(count), SPAN * node_places(NODES), one) for one in own], axis=1
    )


def cell_places(count: int) -> FloatArray:
    """Return the middles of equal cells from -1 to 1. [-]"""
    return np.asarray((np.arange(count) + 0.5) * (2.0 / count) - 1.0)


def on_cells(fields: FloatArray, lattice: Lattice, *, straight: bool = False) -> FloatArray:
    """Return fields at the cells of a lattice from those at the nodes.

    Parameters
    ----------
    fields : (..., NODES, NODES, L) array
        Any unit.
    lattice : tuple of two ints
        Rows and columns of cells.
    straight : bool
        Along straight lines instead of polynomials, for what has kinks.

    Returns
    -------
    (..., rows, columns, L) array
        Same unit.
    """
    matrix = straight_to_cells if straight else to_cells
    rows, columns = lattice
    *leading, _, _, lenses = fields.shape
    up = matrix(rows).astype(fields.dtype) @ fields.reshape(*leading, NODES, NODES * lenses)
    across = matrix(columns).astype(fields.dtype)
    return np.asarray(np.matmul(across, up.reshape(*leading, rows, NODES, lenses)))


def views_at_cells(
    faces: WearerFaces, lenses: np.ndarray, lattice: Lattice, *, camera: FloatArray
) -> FloatArray:
    """Return where the views through some lenses fall, traced cell by cell.

    Parameters
    ----------
    faces : WearerFaces
        All lenses.
    lenses : (K,) int array
        Which.
    lattice : tuple of two ints
        Rows and columns of cells.
    camera : (3,) array
        Entrance pupil of the camera. [m]

    Returns
    -------
    (5, rows, columns, K) array
        On the opening and on the iris, across and up each [m], and the weight [-]; NaN where
        nothing is seen through.
    """
    rows, columns = (cell_places(count) for count in lattice)
    boxed = front_point(
        faces.half_width[lenses] * columns[:, None],
        faces.half_height[lenses] * rows[:, None, None],
        curvature=faces.front_curvature[lenses],
    )
    points = turn_to_world(boxed, axes=faces.boxed_axes[lenses]) + faces.boxed_origin[lenses]
    paths = _traced(faces, points, camera, lenses=lenses)
    opening, iris = _through(faces, paths, lenses=lenses)
    return np.concatenate([opening, iris, paths.through.weight[None]])


def _traced(
    faces: WearerFaces, points: FloatArray, camera: FloatArray, *, lenses: np.ndarray | slice
) -> LensPaths:
    place = {"origin": faces.optical_origin[lenses], "axes": faces.optical_axes[lenses]}
    from_camera = to_local(np.broadcast_to(camera, place["origin"].shape), **place)
    return trace_lens(from_camera, to_local(points, **place), lens=faces.optics(lenses))


def _through(
    faces: WearerFaces, paths: LensPaths, *, lenses: np.ndarray | slice
) -> tuple[FloatArray, FloatArray]:
    """Return where the views through the lenses fall: on the opening, on the iris [m]."""
    axes = faces.optical_axes[lenses]
    start = turn_to_world(paths.through.origins, axes=axes) + faces.optical_origin[lenses]
    along = turn_to_world(paths.through.directions, axes=axes)
    head = np.repeat(faces.head_axes, 2, axis=0)[lenses]
    gaze = axes_facing(faces.gaze[lenses])  # how they lie about the gaze does not matter
    return (
        _on_plane(start, along, center=faces.opening_center[lenses], axes=head),
        _on_plane(start, along, center=faces.iris_center[lenses], axes=gaze),
    )


def _on_plane(
    start: FloatArray, along: FloatArray, *, center: FloatArray, axes: FloatArray
) -> FloatArray:
    """Return across and up where rays meet the x-z plane of a frame, (2, ...) [m]."""
    start, along = to_local(start, origin=center, axes=axes), turn_to_local(along, axes=axes)
    reach = start[..., 1] / along[..., 1]
    return np.stack([start[..., k] - reach * along[..., k] for k in (0, 2)])


def _head_depths(
    faces: WearerFaces, points: FloatArray, to_camera: FloatArray, mirrored: FloatArray
) -> FloatArray:
    """Return how deep paths from the nodes run into the heads, (2, ...) [m].

    One head, of average measures, is stretched to each wearer's.
    """
    head_axes, origin = (np.repeat(one, 2, axis=0) for one in (faces.head_axes, faces.head_origin))
    scale = np.repeat(faces.head_scale, 2, axis=0)
    starts = to_local(points, origin=origin, axes=head_axes) / scale
    world = stacked([normalize(to_camera), turn_to_world(mirrored, axes=faces.boxed_axes)])
    along = turn_to_local(world, axes=head_axes) / scale
    head = head_surface(FaceMeasures())
    return head.depth_along(starts, along, reach_m=HEAD_REACH_M, steps=HEAD_STEPS)
