"""The plane of a light's face, mirrored in many lenses at once.

An umbrella stands for its opening, which is what one sees of it from within some 40 degrees of
its axis.
"""

import numpy as np

from tapemark.analysis import Emitter
from tapemark.analysis.cover import SMALL_EMITTER_M
from tapemark.analysis.light_faces import OCTAGON_SIDES, FlatFace
from tapemark.analysis.shading import ROOM_KINDS
from tapemark.geometry import (
    FloatArray,
    dot,
    regular_polygon_margin,
    split_components,
    turn_to_local,
    turn_to_world,
)

BEHIND_M = -1e3  # margin where a ray leads away from the plane
PLAY = 0.28  # of an image's own half size: beyond the outermost nodes
GAP_PLAY = 1.2  # of the angle between neighbouring rays: what lies between and beyond them
LOST_RAD = 0.7  # taken for the angle to a ray that is lost in total reflection
LENS_REACH_M = 0.04  # no place on a lens lies farther from its middle


def near_to_far(sending: tuple[Emitter, ...], *, eyes: FloatArray) -> list[int]:
    """Return the numbers of emitters, nearest to the eyes first, walls and ceiling last."""
    return sorted(
        range(len(sending)),
        key=lambda one: (
            sending[one].kind in ROOM_KINDS and sending[one].kind != "window",
            float(np.linalg.norm(sending[one].face.center - eyes)),
        ),
    )


def plane_places(
    rays: tuple[FloatArray, FloatArray],
    emitter: Emitter,
    *,
    origin: FloatArray,
    axes: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return where rays meet the plane of an emitter's face.

    Parameters
    ----------
    rays : pair of (..., L, 3) arrays
        Origins [m] and directions [-] in the boxed frames of the lenses.
    emitter : Emitter
        Whose plane.
    origin, axes : (L, 3), (L, 3, 3) arrays
        Boxed frames. [m], [-]

    Returns
    -------
    across, up : (..., L) arrays
        Place on the plane; NaN for a ray that leads away from it. [m]
    down : (..., L) array
        Cosine of the ray to the way the face emits; negative where it sees the front. [-]
    """
    face, precision = emitter.face, origin.dtype
    turned = np.swapaxes(axes, -1, -2) @ face.axes.astype(precision)
    center = turn_to_local(face.center.astype(precision) - origin, axes=axes)
    start, along = _turned(rays[0] - center, turned), _turned(rays[1], turned)
    down = along[1]
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = -start[1] / down
        reach = np.where(reach > 0, reach, np.nan)
    return start[0] + reach * along[0], start[2] + reach * along[2], down


def _turned(vectors: FloatArray, axes: FloatArray) -> tuple[FloatArray, ...]:
    """Return the components of vectors along the axes of a frame: `turn_to_local`, not joined."""
    x, y, z = split_components(vectors)
    return tuple(x * axes[..., 0, k] + y * axes[..., 1, k] + z * axes[..., 2, k] for k in range(3))


def may_meet(
    rays: tuple[FloatArray, FloatArray], emitter: Emitter, *, origin: FloatArray, axes: FloatArray
) -> np.ndarray:
    """Return which surfaces and lenses may mirror an emitter at all.

    Parameters
    ----------
    rays : pair of (2, NODES, NODES, L, 3) arrays
        Origins [m] and directions [-] of the rays that leave the nodes, boxed frames; NaN for a
        lost direction.
    emitter : Emitter
        What to look for.
    origin, axes : (L, 3), (L, 3, 3) arrays
        Boxed frames. [m], [-]

    Returns
    -------
    (2, L) bool array
        False where no ray, nor any between it and its neighbours, leads near the emitter.
    """
    across, up, _ = plane_places(rays, emitter, origin=origin, axes=axes)
    place = np.stack([across, up])
    met = np.isfinite(place)
    low = np.where(met, place, np.inf).min(axis=(2, 3))
    high = np.where(met, place, -np.inf).max(axis=(2, 3))
    some, every = (np.asarray(how(met, axis=(0, 2, 3))) for how in (np.any, np.all))
    with np.errstate(invalid="ignore"):
        play = PLAY * (high - low) / 2
    half = np.array(_half_size(emitter))[:, None, None]
    within = ((low - play < half) & (high + play > -half)).all(axis=0)
    in_part = np.asarray(some & ~every)
    if in_part.any():
        lenses = np.flatnonzero(in_part.any(axis=0))
        toward = turn_to_world(rays[1][..., lenses, :], axes=axes[lenses])
        near = _leads_near(toward, emitter, origin=origin[lenses])
        in_part[:, lenses] &= near
    return np.asarray(np.where(every, within, in_part))


def _leads_near(directions: FloatArray, emitter: Emitter, *, origin: FloatArray) -> np.ndarray:
    """Return where a ray, or one between it and its neighbours, leads near an emitter, (2, L)."""
    span = emitter.face.center - origin
    distance = np.sqrt(dot(span, span))
    reach = emitter.face.reach_m + LENS_REACH_M
    size = np.arcsin(np.minimum(reach / distance, 1.0))
    off = np.arccos(np.clip(dot(directions, span / distance[:, None]), -1.0, 1.0))
    near = np.nan_to_num(off, nan=np.inf) < size + _to_neighbours(directions)
    return np.asarray(near.any(axis=(1, 2)))


def _to_neighbours(directions: FloatArray) -> FloatArray:
    """Return the largest angle from each ray to those beside it, (2, NODES, NODES, L) [rad]."""
    widest = np.zeros(directions.shape[:-1])
    for axis in (1, 2):
        count = directions.shape[axis]
        first, second = (
            directions.take(range(start, count - 1 + start), axis=axis) for start in (0, 1)
        )
        gap = np.arccos(np.clip(dot(first, second), -1.0, 1.0))
        gap = GAP_PLAY * np.nan_to_num(gap, nan=LOST_RAD)
        for start in (0, 1):
            part = widest[(slice(None),) * axis + (slice(start, count - 1 + start),)]
            np.maximum(part, gap, out=part)
    return widest


def seen_share(
    emitter: Emitter,
    place: tuple[FloatArray, FloatArray, FloatArray],
    *,
    least: FloatArray,
    origin: FloatArray,
) -> tuple[FloatArray, np.ndarray]:
    """Return what an emitter covers of lattice cells, and where it is bright enough to count.

    Parameters
    ----------
    emitter : Emitter
        Whose plane it is.
    place : three (2, rows, columns, L) arrays
        As from `plane_places`, at the cells.
    least : (2, rows, columns, L) array
        Least luminous exposure that counts. [cd·s/m²]
    origin : (L, 3) array
        Middle of each lens, world. [m]

    Returns
    -------
    share : (2, rows, columns, L) array
        Of each cell, 0 to 1. [-]
    bright : array of the same shape
        True where it counts.
    """
    across, up, down = place
    share = _crossed(np.fmax(_margin(emitter, across, up), BEHIND_M))
    if emitter.face.reach_m < SMALL_EMITTER_M:
        area = np.nan_to_num(_cell_area(across, up))
        share = np.minimum(share, emitter.face.area_m2 / np.maximum(area, 1e-12))
    return share, _brightness(emitter, (across, up), origin, from_front=down < 0) > least


def _half_size(emitter: Emitter) -> tuple[float, float]:
    face = emitter.face
    if isinstance(face, FlatFace):
        return face.width_m / 2, face.height_m / 2
    return face.diameter_m / 2, face.diameter_m / 2


def _margin(emitter: Emitter, u: FloatArray, v: FloatArray) -> FloatArray:
    """Return how far inside the face places on its plane lie [m]."""
    face, (wide, tall) = emitter.face, _half_size(emitter)
    if not isinstance(face, FlatFace) or face.shape == "disc":
        return np.asarray(wide - np.sqrt(u * u + v * v))
    if face.shape == "rectangle":
        return np.asarray(np.minimum(wide - np.abs(u), tall - np.abs(v)))
    place = np.stack([u, v], axis=-1)
    return regular_polygon_margin(place, diameter=face.width_m, sides=OCTAGON_SIDES)


def _crossed(margin: FloatArray) -> FloatArray:
    """Return the share of each cell inside an edge, from the margin at the middles of cells."""
    step = np.abs(_slope(margin, axis=-3)) + np.abs(_slope(margin, axis=-2))
    share = margin / np.maximum(step, 1e-9) + 0.5
    return np.asarray(np.minimum(np.maximum(share, 0.0), 1.0))


def _slope(values: FloatArray, *, axis: int) -> FloatArray:
    """Return the change per cell; towards the smaller step where one neighbour is far off."""
    before = np.diff(values, axis=axis)
    first = np.take(before, [0], axis=axis)
    last = np.take(before, [-1], axis=axis)
    back, on = np.concatenate([first, before], axis=axis), np.concatenate([before, last], axis=axis)
    return np.where(np.abs(back) < np.abs(on), back, on)


def _cell_area(u: FloatArray, v: FloatArray) -> FloatArray:
    """Return the area of the plane that each cell shows [m²]."""
    rows, columns = -3, -2
    turned = _slope(u, axis=rows) * _slope(v, axis=columns)
    return np.abs(turned - _slope(u, axis=columns) * _slope(v, axis=rows))


def _brightness(
    emitter: Emitter,
    place: tuple[FloatArray, FloatArray],
    origin: FloatArray,
    *,
    from_front: np.ndarray,
) -> FloatArray:
    """Return the luminous exposure that rays see at places on the plane [cd·s/m²]."""
    if emitter.even and emitter.lit_map is None:
        sides = emitter.brightness, emitter.back_brightness
        return np.where(from_front, *(np.asarray(one, dtype=origin.dtype) for one in sides))
    face, (u, v) = emitter.face, place
    points = face.center + u[..., None] * face.axes[:, 0] + v[..., None] * face.axes[:, 2]
    along = points - origin
    along /= np.sqrt((along * along).sum(axis=-1))[..., None]
    return emitter.brightness_at(points, along, from_front=from_front)
