"""A light's face cut into patches of equal area, to ask how much of it a place sees.

Patches follow the real shape: rectangle, disc, octagon, a bowl that bulges
forwards, or the lit cells of a surface.  They lie mirror-wise to both sides of
the face's upright middle line and no two pairs at the same height, so that a
mirrored setup gives mirrored shadows and a straight edge, wherever it runs,
uncovers them a few at a time.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.analysis.emitter import Emitter, face_cells
from tapemark.analysis.light_faces import BowlFace, Face, FlatFace
from tapemark.geometry import FloatArray, dot

#: Pairs of patches: few where many places are asked, many to follow a shadow's edge.
ROUGH_PAIRS, COARSE_PAIRS, EDGE_PAIRS, FINE_PAIRS = 8, 13, 21, 34
_LATTICE_STEPS = {8: 5, 13: 8, 21: 13, 34: 21}  # neighbours in Fibonacci's series: an even lattice
MAP_PATCHES = 8  # patches along each side of a surface lit by other lights
LEAST_LIT = 0.01  # of the brightest patch: darker ones are left out


@dataclass(frozen=True, kw_only=True, eq=False)
class SourcePatches:
    """Patches of one emitter in the world.

    Attributes
    ----------
    points : (k, 3) array
        Their middles. [m]
    normals : (k, 3) array
        The way each sends light, front side. [-]
    intensities : (k,) array
        Brightness on the axis times area, front side. [cd·s]
    back_intensities : (k,) array
        The same for the other side. [cd·s]
    """

    points: FloatArray
    normals: FloatArray
    intensities: FloatArray
    back_intensities: FloatArray


@lru_cache(maxsize=64)
def source_patches(emitter: Emitter, *, pairs: int = COARSE_PAIRS) -> SourcePatches:
    """Return the patches of an emitter (kept for reuse).

    Parameters
    ----------
    emitter : Emitter
        What sends light.
    pairs : int
        Pairs of patches of a face that sends light by itself: `ROUGH_PAIRS`,
        `COARSE_PAIRS`, `EDGE_PAIRS` or `FINE_PAIRS`. With 13 pairs the share
        that a place sees is good to 0.12, mostly 0.04; with 34 to 0.05.
    """
    if emitter.lit_map is not None:
        return _lit_patches(emitter)
    points, normals = _spread_over(emitter.face, pairs=pairs)
    area = emitter.face.sending_area_m2 / len(points)
    return SourcePatches(
        points=points,
        normals=normals,
        intensities=np.full(len(points), emitter.brightness * area),
        back_intensities=np.full(len(points), emitter.back_brightness * area),
    )


def patch_light(
    emitter: Emitter, patches: SourcePatches, *, places: FloatArray, normals: FloatArray
) -> FloatArray:
    """Return what each patch would put on small flat receivers if nothing hid it.

    Parameters
    ----------
    emitter : Emitter
        Whose patches they are.
    patches : SourcePatches
        From `source_patches`.
    places, normals : (n, 3) arrays
        Receivers in the world [m] and the way they face [-].

    Returns
    -------
    (n, k) array
        Illuminance times time. [lx·s]

    References
    ----------
    [view-factor]
    """
    middle = places.mean(axis=0)
    ends, starts = patches.points - middle, places - middle
    squared = dot(starts, starts)[:, None] + dot(ends, ends) - 2.0 * starts @ ends.T
    # cosines times distance
    leaving = starts @ patches.normals.T - dot(ends, patches.normals)
    received = np.maximum(normals @ ends.T - dot(starts, normals)[:, None], 0.0)
    sent = patches.intensities * np.maximum(leaving, 0.0)
    if patches.back_intensities.any():
        sent = sent + patches.back_intensities * np.maximum(-leaving, 0.0)
    if not emitter.even:
        span = places[:, None, :] - patches.points
        sent = sent * emitter.relative_brightness(span / np.sqrt(squared)[..., None])
    return np.asarray(sent * received / squared**2)


def _spread_over(face: Face, *, pairs: int) -> tuple[FloatArray, FloatArray]:
    """Return places spread evenly over a face, mirror-wise, and the way it points there."""
    number = np.arange(pairs)
    along, up = (number + 0.5) / pairs, (number * _LATTICE_STEPS[pairs] % pairs + 0.5) / pairs
    if isinstance(face, BowlFace) and not face.hollow_front:
        angle = (up - 0.5) * np.pi  # the right half, then the left one
        return face.bulge(np.tile(along, 2), np.concatenate([angle, np.pi - angle]))
    if isinstance(face, FlatFace) and face.shape == "rectangle":
        half = np.stack([along * face.width_m, (up - 0.5) * face.height_m * 2.0], axis=-1) / 2
    else:
        half = _half_round(face, along, up)
    flat = np.concatenate([half, half * (-1.0, 1.0)])
    local = np.stack([flat[:, 0], np.zeros(len(flat)), flat[:, 1]], axis=-1)
    return face.center + local @ face.axes.T, np.broadcast_to(face.axes[:, 1], local.shape)


def _half_round(face: Face, along: FloatArray, up: FloatArray) -> FloatArray:
    """Return places over the right half of a disc or octagon: equal shares of its area."""
    outwards = np.sqrt(along)
    if isinstance(face, FlatFace) and face.shape == "octagon":
        corners = face.outline()
        local = (corners - face.center) @ face.axes[:, [0, 2]]
        around = np.argsort(np.arctan2(local[:, 1], local[:, 0]) % (2 * np.pi))
        ring = np.concatenate([local[around], local[around[:1]]])
        # half an octagon: half a sector, three whole ones, half a sector
        place = (up - 0.5) * (len(ring) - 1) / 2 - 0.5
        first = np.floor(place).astype(int)
        share = (place - first)[:, None]
        first = first % (len(ring) - 1)
        return np.asarray(outwards[:, None] * (ring[first] * (1 - share) + ring[first + 1] * share))
    angle = (up - 0.5) * np.pi
    radius = np.sqrt(face.area_m2 / np.pi) * outwards
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)


def _lit_patches(emitter: Emitter) -> SourcePatches:
    """Return the brighter patches of a lit surface, each at the middle of its light."""
    assert emitter.lit_map is not None
    assert isinstance(emitter.face, FlatFace)
    count = emitter.lit_map.shape[0]
    cells, area = face_cells(emitter.face, count=count)
    side = count // MAP_PATCHES
    blocks = (MAP_PATCHES, side, MAP_PATCHES, side)
    light = emitter.lit_map.reshape(blocks)
    sums = light.sum(axis=(1, 3)).ravel()
    moved = (light[..., None] * cells.reshape(*blocks, 3)).sum(axis=(1, 3)).reshape(-1, 3)
    kept = sums > LEAST_LIT * sums.max(initial=0.0)
    points = moved[kept] / sums[kept, None]
    return SourcePatches(
        points=points,
        normals=np.broadcast_to(emitter.face.axes[:, 1], points.shape),
        intensities=sums[kept] * area,
        back_intensities=np.zeros(len(points)),
    )
