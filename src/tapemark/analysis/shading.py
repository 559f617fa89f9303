"""What stands between an emitter and a place?

Paths are followed from a place to points spread over the part of an emitter
that shines.  Stands and booms are thin and are left out.
"""

import numpy as np

from tapemark.analysis.emitter import Emitter, face_cells
from tapemark.analysis.light_faces import FlatFace
from tapemark.anatomy import Body
from tapemark.geometry import FloatArray, dot

OUTLINE_POINTS = 16
LIT_PART = 0.25  # of its peak: the part of a lit surface that counts as shining
#: What the room itself consists of blocks nothing.
ROOM_KINDS = ("ceiling", "wall", "floor", "window")


def blocked_paths(
    places: FloatArray,
    targets: FloatArray,
    *,
    emitter: Emitter,
    others: tuple[Emitter, ...],
    bodies: tuple[Body, ...] = (),
) -> np.ndarray:
    """Return which straight paths from places to points on an emitter are blocked.

    Parameters
    ----------
    places, targets : (..., 3) arrays
        Ends of the paths, world. [m]
    emitter : Emitter
        On which the paths end; neither it nor what lights it blocks them.
    others : tuple of Emitter
        Everything that may stand in between, lit or not.
    bodies : tuple of Body
        People who may.

    Returns
    -------
    (...) bool array
        True where something stands in between.
    """
    span = targets - places
    distance = np.sqrt(dot(span, span))
    directions = span / distance[..., None]
    blocked = np.zeros(distance.shape, dtype=bool)
    for other in others:
        if other is emitter or other.kind in ROOM_KINDS or other.name in emitter.fed_by:
            continue
        met = other.face.hits(np.broadcast_to(places, span.shape), directions).distance
        with np.errstate(invalid="ignore"):
            blocked |= met < distance - 1e-3
    for body in bodies:
        blocked |= body.blocks(places, directions, reach_m=distance)
    return blocked


def free_share(
    place: FloatArray,
    *,
    emitter: Emitter,
    others: tuple[Emitter, ...],
    bodies: tuple[Body, ...] = (),
) -> float:
    """Return the share of an emitter, 0 to 1, that can be seen from a place (3,) [m]."""
    samples = shining_samples(shining_outline(emitter)[None])[0]
    blocked = blocked_paths(place, samples, emitter=emitter, others=others, bodies=bodies)
    return float(1.0 - blocked.mean())


def shining_outline(emitter: Emitter) -> FloatArray:
    """Return points around the part of an emitter that shines, (16, 3) [m]."""
    if emitter.lit_map is None or not emitter.lit_map.any():
        return _resampled(emitter.face.outline())
    assert isinstance(emitter.face, FlatFace)
    cells, _ = face_cells(emitter.face, count=emitter.lit_map.shape[0])
    lit = cells[emitter.lit_map.ravel() >= LIT_PART * emitter.lit_map.max()]
    local = (lit - emitter.face.center) @ emitter.face.axes
    low, high = local.min(axis=0), local.max(axis=0)
    corners = np.array(
        [(low[0], 0, low[2]), (high[0], 0, low[2]), (high[0], 0, high[2]), (low[0], 0, high[2])]
    )
    return _resampled(emitter.face.center + corners @ emitter.face.axes.T)


def _resampled(corners: FloatArray) -> FloatArray:
    """Return a closed outline as 16 points that keep its corners where they divide evenly."""
    at = np.arange(OUTLINE_POINTS) * (len(corners) / OUTLINE_POINTS)
    whole = np.floor(at).astype(int)
    following = corners[(whole + 1) % len(corners)]
    return np.asarray(corners[whole] + (at - whole)[:, None] * (following - corners[whole]))


def shining_samples(outlines: FloatArray) -> FloatArray:
    """Return middle, half-way points and outline of each face, (emitters, 33, 3) [m]."""
    center = outlines.mean(axis=1, keepdims=True)
    return np.concatenate([center, 0.5 * (center + outlines), outlines], axis=1)
