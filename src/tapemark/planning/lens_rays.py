"""The rays that leave the lenses of one person, ready to be followed to any place of a light.

They are those of the camera's view, whatever the lights are: traced once, then met with a light
wherever it may stand.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis.cover import behind_lenses, eye_share
from tapemark.analysis.edge_cells import EdgeCells, edge_cells
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.lens_view import SURFACES, LensView
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import ROOM_KINDS
from tapemark.geometry import FloatArray, dot, stacked

EYE_RAYS = 2  # for each cell over the eye; one for every second cell beside it
#: Steps of an even scatter in two directions (Roberts): cells are looked at off their middles,
#: each elsewhere, so that no row of cells meets the edge of a light at once.
_SCATTER = (0.7548776662466927, 0.5698402909980532)
FREE_M = 1e6  # that a ray runs which meets nothing


@dataclass(frozen=True, kw_only=True, eq=False)
class LensRays:
    """Rays of both surfaces of both lenses; the first axis of pairs is the surface.

    Attributes
    ----------
    lens : (n,) int array
        Which lens: 0 the sitter's right.
    cover, veil : (2, n) arrays
        Share of the lens, and of the eye opening seen through it, that each ray stands for. [-]
    azimuth, up : (2, n) arrays
        Directions, seen from very far away. [rad]
    azimuth_shift, up_shift : (2, n) arrays
        What to add for each inverse metre of range, since rays leave beside the point between
        the eyes. [rad·m]
    telling : (2, n) arrays
        Share of luminance mirrored, over the reflectance of what lies behind, log 2.
    blocked_m : (2, n) array
        How far each runs free of other things; `FREE_M` for those that meet none. [m]
    """

    lens: np.ndarray
    cover: FloatArray
    veil: FloatArray
    azimuth: FloatArray
    up: FloatArray
    azimuth_shift: FloatArray
    up_shift: FloatArray
    telling: FloatArray
    blocked_m: FloatArray


def lens_rays(scene: Scene, view: LensView, *, middle_rad: float, range_m: float) -> LensRays:
    """Return the rays of a view of the lenses, as directions from the point between the eyes.

    Parameters
    ----------
    scene : Scene
        About one person, without the light.
    view : LensView
        The camera's view of their lenses.
    middle_rad : float
        Middle of the sides that are asked for; azimuths are within half a turn of it. [rad]
    range_m : float
        About how far off the light is; what blocks its rays is looked for in that range. [m]
    """
    eye = eye_share(view)
    seen = view.solid_angle > 0.0
    over = seen & (eye > 0.0)
    beside = seen & ~over & _checkered(seen.shape)
    parts = [
        _rays(scene, view, _scattered(over, EYE_RAYS), over=True),
        _rays(scene, view, _scattered(beside, 1), over=False),
    ]
    lens, cover, veil, telling, starts, along = (
        np.concatenate(column, axis=-1 if axis is None else axis)
        for column, axis in zip(
            zip(*parts, strict=True), (None, None, None, None, 1, 1), strict=True
        )
    )
    kept = (cover > 0.0).any(axis=0)
    lens, cover, veil, telling = lens[kept], cover[:, kept], veil[:, kept], telling[:, kept]
    starts, along = starts[:, kept], along[:, kept]
    x, y, z = np.moveaxis(along, -1, 0)
    level = np.maximum(np.hypot(x, y), 1e-6)
    off = starts - scene.pose.origin
    off = off - dot(off, along)[..., None] * along
    turn = (np.arctan2(x, y) - middle_rad + np.pi) % (2 * np.pi) - np.pi
    return LensRays(
        lens=lens,
        cover=cover,
        veil=veil,
        azimuth=(middle_rad + turn).astype(np.float32),
        up=np.arctan2(z, level).astype(np.float32),
        azimuth_shift=((off[..., 0] * y - off[..., 1] * x) / level**2).astype(np.float32),
        up_shift=(off[..., 2] / level).astype(np.float32),
        telling=telling,
        blocked_m=_blocked(scene, starts, along, range_m=range_m).astype(np.float32),
    )


def _checkered(shape: tuple[int, ...]) -> np.ndarray:
    """Return every second cell of a lattice, as on a chessboard."""
    row, column = np.ogrid[: shape[-2], : shape[-1]]
    return np.broadcast_to((row + column) % 2 == 0, shape)


def _scattered(chosen: np.ndarray, rays: int) -> EdgeCells:
    """Return cells with so many places each, elsewhere in every cell."""
    cells = edge_cells(chosen, sub_places=1)
    number = np.arange(rays)[:, None] * len(cells.at) + np.arange(len(cells.at))
    steps = (np.asarray(number * one % 1.0 - 0.5, dtype=np.float64) for one in _SCATTER)
    row_steps, column_steps = steps
    return replace(cells, row_steps=row_steps, column_steps=column_steps)


def _rays(scene: Scene, view: LensView, cells: EdgeCells, *, over: bool) -> tuple[FloatArray, ...]:
    """Return lens, cover, veil, telling, starts and directions of the rays of some cells."""
    places = len(cells.row_steps)
    size = view.solid_angle
    whole = size.sum(axis=(1, 2))
    eye_whole = (size * eye_share(view)).sum(axis=(1, 2))
    lens = (cells.at // (size.shape[1] * size.shape[2])).astype(np.int32)
    own = size.reshape(-1)[cells.at] / places
    if not over:  # those looked at stand for the others
        rest = (size * (eye_share(view) <= 0.0)).sum(axis=(1, 2))
        own = own * (rest / np.bincount(lens, own, minlength=len(rest)))[lens]
    free = np.stack([view.reflected[surface].free.reshape(-1)[cells.at] for surface in SURFACES])
    cover = free * (own / whole[lens])
    inside = cells.values(view.opening) > 0.0 if over else np.zeros((places, len(lens)), dtype=bool)
    veil = np.where(inside, (own / np.maximum(eye_whole, 1e-12)[lens]), 0.0) * free[:, None]
    starts, along = (
        stacked([cells.vectors(getattr(view.reflected[one], name)) for one in SURFACES])
        for name in ("origins", "directions")
    )
    bad = ~np.isfinite(along[..., 0])
    telling = _telling(scene, view).reshape(2, -1)[:, cells.at]
    rays = places * len(lens)
    return (
        np.tile(lens, places),
        np.where(bad, 0.0, cover[:, None]).reshape(2, rays),
        np.where(bad, 0.0, veil).reshape(2, rays),
        np.where(bad, -99.0, telling[:, None]).reshape(2, rays),
        np.where(bad[..., None], 0.0, starts).reshape(2, rays, 3),
        np.where(bad[..., None], (0.0, 1.0, 0.0), along).reshape(2, rays, 3),
    )


def _telling(scene: Scene, view: LensView) -> FloatArray:
    """Return log 2 of the luminance mirrored over the reflectance behind, (2, L, rows, columns)."""
    glasses = scene.sitter.glasses
    tint = 1.0 if glasses is None else glasses.tint_transmission
    _, behind = behind_lenses(view, FaceLight(at_eyes=(np.pi, np.pi), free_shares=()), scene)
    weight = np.stack([view.reflected[surface].weight for surface in SURFACES])
    weight[1] *= tint**2  # in and out again, as `cover_map` has it
    return np.log2(np.maximum(weight, 1e-12) / np.maximum(behind, 1e-12))


def _blocked(scene: Scene, starts: FloatArray, along: FloatArray, *, range_m: float) -> FloatArray:
    """Return how far rays run before they meet something that stands about [m]."""
    nearest = np.full(starts.shape[:-1], FREE_M)
    for other in scene.emitters:
        if other.kind in ROOM_KINDS or other.kind == "backdrop":
            continue
        near = np.nonzero(_within_cone(scene, other, along))
        if near[0].size:
            met = other.face.hits(starts[near], along[near]).distance
            nearest[near] = np.fmin(nearest[near], met)
    for body in scene.neighbours:
        hidden = body.blocks(starts, along, reach_m=np.full(nearest.shape, range_m))
        nearest[hidden] = 0.0
    return nearest


def _within_cone(scene: Scene, other: Emitter, along: FloatArray) -> np.ndarray:
    span = other.face.center - scene.pose.origin
    distance = float(np.sqrt(dot(span, span)))
    reach = min((other.face.reach_m + 0.12) / max(distance, 1e-6), 1.0)
    return np.asarray(dot(along, span / distance) >= np.sqrt(1.0 - reach * reach))
