"""Plain triangle meshes for a model of the set: fans, lofts, tubes, boxes, balls.

Every mesh is points (n, 3) [m] in the world and triangles (k, 3) whose
corners run anticlockwise as seen from outside.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray

_ROUND = 20  # corners that stand for a circle
_BALL_ROWS = 10


@dataclass(frozen=True, kw_only=True, eq=False)
class Mesh:
    """Points and triangles.

    Attributes
    ----------
    points : (n, 3) array
        Corners, world. [m]
    triangles : (k, 3) int array
        Which points; anticlockwise as seen from outside.
    """

    points: FloatArray
    triangles: np.ndarray


def fan(outline: FloatArray) -> Mesh:
    """Return a flat or hollow shape inside a convex outline (n, 3), seen with it anticlockwise."""
    count = len(outline)
    points = np.concatenate([outline, outline.mean(axis=0, keepdims=True)])
    around = np.arange(count)
    triangles = np.stack([around, (around + 1) % count, np.full(count, count)], axis=-1)
    return Mesh(points=points, triangles=triangles)


def loft(rings: list[FloatArray], *, closed: bool = False) -> Mesh:
    """Return the skin through rings of as many points each, (m, 3).

    Parameters
    ----------
    rings : list of (m, 3) arrays
        One after the other, each anticlockwise as seen from where the last one lies; of a closed
        skin either way round.
    closed : bool
        Whether the first and last ring are filled.
    """
    count, rows = len(rings[0]), len(rings)
    here = np.arange(count)
    there = (here + 1) % count
    parts = []
    for row in range(rows - 1):
        low, high = row * count, (row + 1) * count
        parts.append(np.stack([low + here, low + there, high + there], axis=-1))
        parts.append(np.stack([low + here, high + there, high + here], axis=-1))
    skin = Mesh(points=np.concatenate(rings), triangles=np.concatenate(parts))
    if not closed:
        return skin
    return _outwards(joined([skin, fan(rings[-1]), fan(rings[0][::-1])]))


def tube(start: FloatArray, end: FloatArray, *, radius_m: float) -> Mesh:
    """Return a round bar between two points (3,)."""
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    away = np.eye(3)[int(np.argmin(np.abs(along)))]
    first = np.cross(along, away)
    first /= np.linalg.norm(first)
    second = np.cross(along, first)
    turns = np.arange(_ROUND) * (2 * np.pi / _ROUND)
    ring = radius_m * (np.cos(turns)[:, None] * first + np.sin(turns)[:, None] * second)
    return loft([start + ring, end + ring], closed=True)


def box(low: FloatArray, high: FloatArray) -> Mesh:
    """Return an upright box between two opposite corners (3,)."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    floor = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    rings = [np.column_stack([floor, np.full(4, z)]) for z in (z0, z1)]
    return flat_shaded(loft(rings, closed=True))


def slab(outline: FloatArray, *, normal: FloatArray, thick_m: float) -> Mesh:
    """Return a convex outline (n, 3) with a thickness behind it; the normal points out of it."""
    ring = outline if _turns_about(outline, normal) else outline[::-1]
    return flat_shaded(loft([ring - thick_m * normal, ring], closed=True))


def facing(outline: FloatArray, *, normal: FloatArray) -> Mesh:
    """Return the inside of a convex outline (n, 3), seen from where its normal points."""
    return fan(outline if _turns_about(outline, normal) else outline[::-1])


def ball(center: FloatArray, *, axes: FloatArray, radii: FloatArray) -> Mesh:
    """Return an ellipsoid: middle (3,), directions of its half axes (columns), half axes (3,)."""
    up = np.linspace(-np.pi / 2, np.pi / 2, _BALL_ROWS + 1)[1:-1]
    turns = np.arange(_ROUND) * (2 * np.pi / _ROUND)
    rings = []
    for angle in up:
        ring = np.stack(
            [
                np.cos(angle) * np.cos(turns),
                np.cos(angle) * np.sin(turns),
                np.full(_ROUND, np.sin(angle)),
            ],
            axis=-1,
        )
        rings.append(center + (ring * radii) @ axes.T)
    return loft(rings, closed=True)


def grid(points: FloatArray) -> Mesh:
    """Return the skin through a grid of points (rows, columns, 3)."""
    rows, columns = points.shape[:2]
    corner = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    right, above = corner + 1, corner + columns
    triangles = np.concatenate(
        [np.stack([corner, right, above + 1], axis=-1), np.stack([corner, above + 1, above], -1)]
    )
    return Mesh(points=points.reshape(-1, 3), triangles=triangles)


def turned_over(mesh: Mesh) -> Mesh:
    """Return a mesh seen from its other side."""
    return Mesh(points=mesh.points, triangles=mesh.triangles[:, ::-1])


def joined(meshes: list[Mesh]) -> Mesh:
    """Return several meshes as one."""
    starts = np.cumsum([0, *(len(one.points) for one in meshes[:-1])])
    return Mesh(
        points=np.concatenate([one.points for one in meshes]),
        triangles=np.concatenate(
            [one.triangles + start for one, start in zip(meshes, starts, strict=True)]
        ),
    )


def flat_shaded(mesh: Mesh) -> Mesh:
    """Return a mesh whose triangles share no points, so that its edges stay hard."""
    points = mesh.points[mesh.triangles].reshape(-1, 3)
    return Mesh(points=points, triangles=np.arange(len(points)).reshape(-1, 3))


def normals(mesh: Mesh) -> FloatArray:
    """Return unit normals at the points, (n, 3): the mean of the triangles around each."""
    a, b, c = (mesh.points[mesh.triangles[:, k]] for k in range(3))
    across = np.cross(b - a, c - a)
    total = np.zeros_like(mesh.points)
    for k in range(3):
        np.add.at(total, mesh.triangles[:, k], across)
    size = np.linalg.norm(total, axis=1, keepdims=True)
    return np.asarray(np.where(size > 1e-15, total / np.maximum(size, 1e-15), (0.0, 0.0, 1.0)))


def cleaned(mesh: Mesh) -> Mesh:
    """Return a mesh without triangles that have no area or no finite corner, and spare points."""
    corners = mesh.points[mesh.triangles]
    finite = np.isfinite(corners).all(axis=(1, 2))
    safe = np.where(finite[:, None, None], corners, 0.0)
    area = np.linalg.norm(np.cross(safe[:, 1] - safe[:, 0], safe[:, 2] - safe[:, 0]), axis=1)
    kept = mesh.triangles[finite & (area > 1e-12)]
    used, place = np.unique(kept, return_inverse=True)
    return Mesh(points=mesh.points[used], triangles=place.reshape(-1, 3))


def _outwards(mesh: Mesh) -> Mesh:
    """Return a closed mesh seen from outside: turned over if it holds less than nothing."""
    corners = mesh.points[mesh.triangles] - mesh.points.mean(axis=0)
    volume = (corners[:, 0] * np.cross(corners[:, 1], corners[:, 2])).sum()
    return mesh if volume >= 0.0 else turned_over(mesh)


def _turns_about(outline: FloatArray, normal: FloatArray) -> bool:
    """Return whether an outline runs anticlockwise as seen from where a normal points."""
    following = np.roll(outline, -1, axis=0)
    middle = outline.mean(axis=0)
    turn = np.cross(outline - middle, following - middle).sum(axis=0)
    return float(turn @ normal) > 0.0
