"""How bright does each place of a sitter look in the lights of the setup?

Each emitter is stood for by a few points; light arrives from each by the
cosine laws, and the head's own shadow is looked for.  Meant for a picture,
not for numbers: exposures come from `tapemark.analysis`.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Emitter, FlatFace, Scene
from tapemark.analysis.emitter import face_cells
from tapemark.drawing.bust import outward_normals
from tapemark.geometry import FloatArray, dot, normalize, to_local

SHADOW_REACH_M = 0.26
SHADOW_STEPS = 22
MOST_PATCHES = 9
LEAST_SHARE = 0.015  # lights that give less of the light at the head are left out
SHADOWED = ("face", "neck", "clothes")  # surfaces on which the head throws shadows


@dataclass(frozen=True, kw_only=True, eq=False)
class LightPoints:
    """Points that stand for one emitter.

    Attributes
    ----------
    points : (n, 3) array
        Places on it. [m]
    power : (n,) array
        Brightness times area of each. [cd·s]
    normal : (3,) array
        The way it emits. [-]
    exponent : float
        Fall-off with the cosine, 1 for a diffuse face. [-]
    """

    points: FloatArray
    power: FloatArray
    normal: FloatArray
    exponent: float


def light_points(emitters: tuple[Emitter, ...]) -> tuple[LightPoints, ...]:
    """Return a few points that stand for each emitter."""
    return tuple(_points_of(emitter) for emitter in emitters if emitter.brightness > 0)


def lit(
    points: FloatArray, normals: FloatArray, *, lights: tuple[LightPoints, ...], scene: Scene | None
) -> FloatArray:
    """Return the light on a grid of small surfaces.

    Parameters
    ----------
    points, normals : (rows, columns, 3) arrays
        Places [m] and the way they face.
    lights : tuple of LightPoints
        What shines.
    scene : Scene or None
        Whose head throws shadows; None to leave them out.

    Returns
    -------
    (rows, columns) array
        Luminous exposure, without light from the room. [lx·s]
    """
    total = np.zeros(points.shape[:-1])
    for light in lights:
        arriving = np.zeros(points.shape[:-1])
        for place, power in zip(light.points, light.power, strict=True):
            span = place - points
            squared = dot(span, span)
            towards = span / np.sqrt(squared)[..., None]
            leaves = np.maximum(-dot(towards, light.normal), 0.0) ** light.exponent
            arriving += power * leaves * np.maximum(dot(towards, normals), 0.0) / squared
        if scene is not None and arriving.any():
            arriving *= 1.0 - _shadow(scene, points, light)
        total += arriving
    return total


def grid_light(scene: Scene, grids: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Return the light on grids of points of a sitter.

    Parameters
    ----------
    scene : Scene
        Lights, and the head that throws shadows.
    grids : dict of str to (rows, columns, 3) arrays
        World points of each surface. [m]

    Returns
    -------
    dict of str to (rows, columns) arrays
        Luminous exposure, without light from the room. [lx·s]
    """
    lights = _that_matter(light_points(scene.emitters), at=scene.pose.origin)
    return {
        name: lit(
            grid,
            _normals(name, grid, scene),
            lights=lights,
            scene=scene if name in SHADOWED else None,
        )
        for name, grid in grids.items()
    }


def _that_matter(lights: tuple[LightPoints, ...], *, at: FloatArray) -> tuple[LightPoints, ...]:
    """Return the lights that give more than a small share of the light at a place [m]."""
    arriving = []
    for light in lights:
        span = light.points - at
        squared = dot(span, span)
        leaves = np.maximum(dot(span, light.normal) / -np.sqrt(squared), 0.0) ** light.exponent
        arriving.append(float((light.power * leaves / squared).sum()))
    least = LEAST_SHARE * sum(arriving)
    return tuple(light for light, amount in zip(lights, arriving, strict=True) if amount > least)


def _normals(name: str, grid: FloatArray, scene: Scene) -> FloatArray:
    middle = scene.pose.origin - 0.08 * scene.pose.axes[:, 1]
    return outward_normals(grid, inside=middle if "ear" in name else None)


def _points_of(emitter: Emitter) -> LightPoints:
    face = emitter.face
    if emitter.lit_map is not None and isinstance(face, FlatFace):
        points, power = _lit_patches(face, emitter.lit_map)
    else:
        ring = face.center + 0.6 * (_every_third(face.outline()) - face.center)
        points = np.concatenate([face.center[None], ring])
        power = np.full(len(points), emitter.brightness * face.area_m2 / len(points))
    return LightPoints(
        points=points, power=power, normal=face.axes[:, 1], exponent=emitter.beam_exponent
    )


def _every_third(outline: FloatArray) -> FloatArray:
    return outline if len(outline) < MOST_PATCHES else outline[:: len(outline) // 6]


def _lit_patches(face: FlatFace, lit_map: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return middles and strengths of blocks of a lit surface, the strongest only."""
    count = lit_map.shape[0]
    side = next(size for size in range(max(count // 6, 1), 0, -1) if count % size == 0)
    across = count // side
    blocks = lit_map.reshape(across, side, across, side).mean(axis=(1, 3)).ravel()
    middles, area = face_cells(face, count=across)
    strongest = np.argsort(blocks)[-MOST_PATCHES:]
    share = blocks.sum() / max(float(blocks[strongest].sum()), 1e-12)
    return middles[strongest], blocks[strongest] * area * share


def _shadow(scene: Scene, points: FloatArray, light: LightPoints) -> FloatArray:
    """Return the share of an emitter that the head hides from each place, on a coarse grid."""
    rows, columns = points.shape[:2]
    row, column = _coarse(rows), _coarse(columns)
    starts = to_local(points[np.ix_(row, column)], origin=scene.pose.origin, axes=scene.pose.axes)
    hidden = np.zeros(starts.shape[:-1])
    samples = light.points if len(light.points) <= 5 else light.points[:: len(light.points) // 4]
    for place in samples:
        target = to_local(place, origin=scene.pose.origin, axes=scene.pose.axes)
        hidden += scene.head.blocks(
            starts,
            normalize(target - starts),
            clearance_m=0.009,
            reach_m=SHADOW_REACH_M,
            steps=SHADOW_STEPS,
        )
    return _spread(hidden / len(samples), row, column, (rows, columns))


def _coarse(count: int) -> np.ndarray:
    return np.unique(np.append(np.arange(0, count, 2), count - 1))


def _spread(
    coarse: FloatArray, row: np.ndarray, column: np.ndarray, shape: tuple[int, int]
) -> FloatArray:
    """Return a coarse grid interpolated to all rows and columns."""
    wide = np.stack([np.interp(np.arange(shape[1]), column, line) for line in coarse])
    return np.stack([np.interp(np.arange(shape[0]), row, line) for line in wide.T], axis=-1)
