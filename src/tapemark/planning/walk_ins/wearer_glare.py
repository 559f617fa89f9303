"""What do the lenses of many wearers show?

The question of `cover_map` and `lens_glare`, for many lenses at once.  Shares of cells at an
edge come from how the edge crosses them instead of from sub-rays.
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from tapemark.analysis import Emitter
from tapemark.analysis.cover import (
    IRIS_REFLECTANCE,
    PUPIL_REFLECTANCE,
    SCLERA_REFLECTANCE,
    THRESHOLD_CONTRAST,
)
from tapemark.anatomy import rim_clearance
from tapemark.anatomy.eye import OPENING_SHIFT
from tapemark.geometry import (
    FloatArray,
    almond_margin,
    join_components,
    split_components,
    stacked,
)
from tapemark.optics import LensOptics, TracedRays, front_point, leave_front
from tapemark.planning.sightlines.mirrored_plane import (
    may_meet,
    near_to_far,
    plane_places,
    seen_share,
)
from tapemark.planning.walk_ins.wearer_faces import WearerFaces
from tapemark.planning.walk_ins.wearer_nodes import (
    Lattice,
    LensNodes,
    cell_places,
    on_cells,
    views_at_cells,
)
from tapemark.planning.walk_ins.wearer_outlines import cell_edges

WORTH_PICKING = 0.6  # of the lenses: below, those that an emitter may touch are picked out
LOWER_EDGE = -0.2  # the lower rim starts where the edge faces down by more than this [-]


@dataclass(frozen=True, kw_only=True, eq=False)
class Shown:
    """What lenses show, (L,) arrays.

    Attributes
    ----------
    lens_cover, veil : (L,) arrays
        All visible reflections together, 0 to 1.
    covers, veils : (emitters, L) arrays
        Of each emitter alone, the larger of both surfaces.
    """

    lens_cover: FloatArray
    veil: FloatArray
    covers: FloatArray
    veils: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class LensCells:
    """Lenses on a lattice of cells, whatever the lights are; axes (row, column, lens).

    Attributes
    ----------
    lenses : (K,) int array
        Which.
    origins, directions : (2, rows, columns, K, 3) arrays
        Rays that leave by each surface, boxed frames. [m], [-]
    solid : (rows, columns, K) array
        Size of what the camera sees of each cell. [sr]
    eye : (rows, columns, K) array
        Share of each cell over the eye opening. [-]
    free : (2, rows, columns, K) array
        Share of each seen cell from which rays get out. [-]
    dull : (2, rows, columns, K) array
        Least luminous exposure that shows, over the light around the eye. [cd/lm]
    """

    lenses: np.ndarray
    origins: FloatArray
    directions: FloatArray
    solid: FloatArray
    eye: FloatArray
    free: FloatArray
    dull: FloatArray


Kept: TypeAlias = dict[Lattice, LensCells]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Cells:
    """Cells under some lights: what must be exceeded, and what is covered so far."""

    rays: LensCells
    least: FloatArray
    covered: FloatArray
    passing: FloatArray


def what_lenses_show(
    faces: WearerFaces,
    nodes: LensNodes,
    sending: tuple[Emitter, ...],
    *,
    received: FloatArray,
    lattice: Lattice,
    met: np.ndarray,
    kept: Kept | None = None,
) -> Shown:
    """Return what all lenses show.

    Parameters
    ----------
    faces, nodes : WearerFaces, LensNodes
        The lenses.
    sending : tuple of Emitter
        What sends light, or hides it.
    received : (L,) array
        Light around the eye behind each lens. [lx·s]
    lattice : tuple of two ints
        Rows and columns of cells.
    met : (emitters, 2, L) bool array
        Where to look for what, see `may_show`; nothing is found elsewhere.
    kept : dict, optional
        Where cells are kept for other lights before the same faces.
    """
    some = np.flatnonzero(met.any(axis=(0, 1)))
    count = len(faces.outward)
    found = Shown(
        lens_cover=np.zeros(count),
        veil=np.zeros(count),
        covers=np.zeros((len(sending), count)),
        veils=np.zeros((len(sending), count)),
    )
    if some.size == 0:
        return found
    rays = _rays(faces, nodes, some, lattice=lattice, kept=kept)
    some = rays.lenses
    cells = _Cells(
        rays=rays,
        least=rays.dull * received[some],
        covered=np.zeros_like(rays.free),
        passing=np.ones_like(rays.free),
    )
    solid, eye = rays.solid, rays.solid * rays.eye
    whole, whole_eye = (np.maximum(one.sum(axis=(0, 1)), 1e-30) for one in (solid, eye))
    for number in near_to_far(sending, eyes=faces.head_origin.mean(axis=0)):
        for surface in (0, 1):
            own = _numbers(met[number, surface, some])
            lenses = some[own]
            visible = _covered(
                sending[number],
                cells,
                surface=surface,
                own=own,
                place=(faces.boxed_origin[lenses], faces.boxed_axes[lenses]),
            )
            for values, weight, total in (
                (found.covers, solid, whole),
                (found.veils, eye, whole_eye),
            ):
                part = np.einsum("rcl,rcl->l", weight[..., own], visible) / total[own]
                values[number, lenses] = np.maximum(values[number, lenses], part)
    union = np.minimum(cells.covered.max(axis=0), 1.0)
    found.lens_cover[some] = (solid * union).sum(axis=(0, 1)) / whole
    found.veil[some] = (eye * union).sum(axis=(0, 1)) / whole_eye
    return found


def may_show(faces: WearerFaces, nodes: LensNodes, sending: tuple[Emitter, ...]) -> np.ndarray:
    """Return which surfaces of which lenses may show which emitter, (emitters, 2, L) bool.

    Lenses that may show nothing that shines are left out, and those that could not be traced.
    """
    place = {"origin": faces.boxed_origin, "axes": faces.boxed_axes}
    rays = nodes.rays[0], nodes.leaving
    met = np.zeros((len(sending), 2, len(faces.outward)), dtype=bool)
    for number, one in enumerate(sending):
        met[number] = may_meet(rays, one, **place)
    shining = [max(one.brightness, one.back_brightness) > 0 for one in sending]
    lit = met[np.array(shining, dtype=bool)].any(axis=(0, 1))
    return np.asarray(met & lit & nodes.traced)


def _numbers(chosen: np.ndarray) -> np.ndarray | slice:
    """Return which are chosen: all of them, where picking some out costs more than it saves."""
    return slice(None) if chosen.mean() > WORTH_PICKING else np.flatnonzero(chosen)


def _covered(
    emitter: Emitter,
    cells: _Cells,
    *,
    surface: int,
    own: np.ndarray | slice,
    place: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Return the share of each cell that shows an emitter in one surface, and count it.

    What is left for emitters behind it is kept in `cells`.
    """
    origin, axes = place
    if len(origin) == 0:
        return np.asarray(cells.covered[surface][..., own])
    out = cells.rays
    rays = out.origins[surface][..., own, :], out.directions[surface][..., own, :]
    share, bright = seen_share(
        emitter,
        plane_places(rays, emitter, origin=origin, axes=axes),
        least=cells.least[surface][..., own],
        origin=origin,
    )
    passing = cells.passing[surface]
    visible = share * bright * passing[..., own] * out.free[surface][..., own]
    cells.covered[surface][..., own] += visible
    passing[..., own] *= 1.0 - share
    return np.asarray(visible)


def _rays(
    faces: WearerFaces, nodes: LensNodes, some: np.ndarray, *, lattice: Lattice, kept: Kept | None
) -> LensCells:
    """Return chosen lenses on a lattice of cells; more of them where those are kept."""
    every = np.flatnonzero(nodes.traced)
    if kept is None or some.size < WORTH_PICKING * every.size:
        return _lens_cells(faces, nodes.only(some), some, lattice=lattice)
    if lattice not in kept:
        kept[lattice] = _lens_cells(faces, nodes.only(every), every, lattice=lattice)
    return kept[lattice]


def _lens_cells(
    faces: WearerFaces, nodes: LensNodes, some: np.ndarray, *, lattice: Lattice
) -> LensCells:
    """Return chosen lenses on a lattice of cells."""
    half, (rows, columns) = (faces.half_width[some], faces.half_height[some]), lattice
    x, z = (own * at for own, at in zip(half, _at_cells(lattice, half[0].dtype), strict=True))
    places = cell_places(rows), cell_places(columns)
    edge_x, edge_z, margin = cell_edges(places, half=half, outline=faces.outline[some])
    across = 2.0 * (np.abs(edge_x) * half[0] / columns + np.abs(edge_z) * half[1] / rows)
    radius = np.where(edge_z > LOWER_EDGE, faces.upper_tube[some], faces.lower_tube[some])

    curvature = faces.front_curvature[some]
    boxed = front_point(x, z, curvature=curvature)
    normal = 1.0 + curvature * boxed[..., 1]
    fall = curvature * (boxed[..., 0] * edge_x + boxed[..., 2] * edge_z) / normal

    def clear(inside: FloatArray, out: tuple[FloatArray, FloatArray, FloatArray]) -> FloatArray:
        towards_edge = out[0] * edge_x + out[2] * edge_z
        start = rim_clearance(inside, towards_edge, out[1], tube_radius_m=radius, fall=fall)
        return np.asarray(np.minimum(np.fmax(start / across + 0.5, 0.0), 1.0))  # NaN: 0

    lens = faces.optics(some)
    to_camera = split_components(nodes.camera - boxed)
    depth = on_cells(nodes.depth, lattice, straight=True)
    seen = np.where(depth[0] > 0.0, 0.0, clear(margin, to_camera))
    origins, directions, weight = _leaving(nodes, lens, boxed, lattice)
    moved = origins[1] - boxed
    ends = margin - moved[..., 0] * edge_x - moved[..., 2] * edge_z
    open_to = np.where(depth[1] > 0.0, 0.0, seen)
    free = np.stack(
        [
            np.minimum(clear(inside, split_components(directions[k])), open_to)
            for k, inside in enumerate((margin, ends))
        ]
    )
    np.divide(free, seen, out=free, where=seen > 0.0)
    squared = sum(part * part for part in to_camera)
    facing = to_camera[1] + curvature * (
        boxed[..., 0] * to_camera[0] + boxed[..., 1] * to_camera[1] + boxed[..., 2] * to_camera[2]
    )
    size = np.maximum(facing, 0.0) / (normal * squared * np.sqrt(squared))
    opening, behind = _behind(faces, nodes, some, lattice=lattice)
    row_height = 2.0 * half[1] / rows
    return LensCells(
        lenses=some,
        origins=origins,
        directions=directions,
        solid=seen * np.fmax(size, 0.0),
        eye=np.minimum(np.maximum(opening / row_height + 0.5, 0.0), 1.0),
        free=free,
        dull=THRESHOLD_CONTRAST * behind / np.maximum(weight, 1e-12),
    )


def _at_cells(lattice: Lattice, precision: np.dtype) -> tuple[FloatArray, FloatArray]:
    """Return the middles of cells across, (columns, 1), and up, (rows, 1, 1), in half boxes."""
    up, across = (cell_places(count).astype(precision) for count in lattice)
    return across[:, None], up[:, None, None]


def _leaving(
    nodes: LensNodes, lens: LensOptics, front: FloatArray, lattice: Lattice
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return origins [m], directions and weights [-] of the rays that leave the cells.

    Each has the axes (surface, row, column, lens); NaN and 0 in total reflection.
    """
    mirrored = join_components(*on_cells(np.moveaxis(nodes.rays[1, 0], -1, 0), lattice))
    start, along = np.moveaxis(on_cells(np.moveaxis(nodes.rays[:, 1], -1, 1), lattice), 1, -1)
    weight = on_cells(nodes.weight, lattice)
    left = leave_front(TracedRays(origins=start, directions=along, weight=weight[1]), lens=lens)
    return (
        stacked([front, left.origins]),
        stacked([mirrored, left.directions]),
        np.stack([weight[0], np.fmax(left.weight, 0.0).astype(weight.dtype)]),
    )


def _behind(
    faces: WearerFaces,
    nodes: LensNodes,
    some: np.ndarray,
    *,
    lattice: Lattice,
) -> tuple[FloatArray, FloatArray]:
    """Return the margin of the eye opening [m] and what lies behind under a light of 1 lx·s."""
    fields = on_cells(
        np.concatenate([nodes.opening, nodes.iris, nodes.through_weight[None]]), lattice
    )
    apart = np.flatnonzero(~nodes.seen_through)
    if apart.size:
        camera = nodes.camera_world
        fields[..., apart] = views_at_cells(faces, some[apart], lattice, camera=camera)
    width = faces.opening_width[some]
    at = np.stack(
        [
            fields[0] * faces.outward[some] + OPENING_SHIFT * width,
            fields[1] - faces.corner_height[some],
        ],
        axis=-1,
    )
    opening = almond_margin(
        at,
        half_width=width / 2,
        upper_height=faces.upper_lid[some],
        lower_height=faces.opening_height[some] / 2,
    )
    off_axis = fields[2] ** 2 + fields[3] ** 2
    skin = np.repeat(faces.skin, 2)[some]
    pupil, iris, sclera = np.array(
        [PUPIL_REFLECTANCE, IRIS_REFLECTANCE, SCLERA_REFLECTANCE], dtype=skin.dtype
    )
    kind = np.where(off_axis < faces.iris_radius[some] ** 2, iris, sclera)
    kind = np.where(off_axis < faces.pupil_radius[some] ** 2, pupil, kind)
    kind = np.where(opening > 0, kind, skin)
    behind = kind * fields[4] ** 2 * (1.0 / np.pi)
    return np.fmax(opening, -1.0), np.fmax(behind, 0.0)
