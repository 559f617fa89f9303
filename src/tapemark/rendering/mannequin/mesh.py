r"""Triangle meshes of the mannequin: grids, tubes, balls, and their vertex normals.

A grid of points is a sheet of rows and columns; a ring of columns may close on itself.  Faces run
anticlockwise seen from outside.  For a sheet whose rows run down and whose columns run to the
viewer's right, that is the side of the viewer.

         0----1----2   columns
         | \  | \  |
         3----4----5   rows
"""

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from tapemark.geometry import FloatArray, cross, normalize

IntArray = np.ndarray
_WELD_M = 1e-7  # corners nearer than this are one [m]
# Odd numbers that spread places over 64 bits; two places meet once in 10^9 such meshes.
_MIX = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)


@dataclass(frozen=True, kw_only=True, eq=False)
class Mesh:
    """Triangles with smooth normals.

    Attributes
    ----------
    vertices, normals : (n, 3) arrays
        Corners, and the unit normals there.
    faces : (m, 3) int array
        Corners of the triangles, anticlockwise from outside.
    colors : (n, 3) array or None
        Reflectance for red, green and blue at each corner; None for one color. [-]
    """

    vertices: FloatArray
    faces: IntArray
    normals: FloatArray
    colors: FloatArray | None = field(default=None)


@lru_cache(maxsize=256)
def grid_faces(rows: int, columns: int, *, closed: bool = False) -> IntArray:
    """Return the triangles of a grid, (m, 3), of points counted row by row.

    Parameters
    ----------
    rows, columns : int
        Points down and across.
    closed : bool
        Whether the last column is joined to the first.
    """
    wide = columns if closed else columns - 1
    row, column = np.meshgrid(np.arange(rows - 1), np.arange(wide), indexing="ij")
    here, right = row * columns + column, row * columns + (column + 1) % columns
    below, across = here + columns, right + columns
    faces = np.stack([here, below, across, here, across, right], axis=-1).reshape(-1, 3)
    faces.flags.writeable = False  # it is kept for the next grid of this size
    return faces


def vertex_normals(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return unit normals at the corners: those of the faces around, by their areas.

    Corners at the same place share one normal; faces without area count for nothing.
    """
    place = _welded(vertices)
    corners = vertices[faces]
    flat = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    at = place[faces.T.ravel()]
    count = int(at.max()) + 1 if len(at) else 0
    total = np.stack(
        [np.bincount(at, weights=np.tile(flat[:, k], 3), minlength=count) for k in range(3)],
        axis=-1,
    )
    own = np.zeros_like(vertices)
    used = place < count
    own[used] = total[place[used]]
    return safe_unit(own)


def _welded(vertices: FloatArray) -> IntArray:
    """Return a number for each corner, the same for corners at the same place."""
    steps = np.round(vertices / _WELD_M).astype(np.int64).astype(np.uint64)
    key = steps[:, 0] * _MIX[0] + steps[:, 1] * _MIX[1] + steps[:, 2] * _MIX[2]
    return np.unique(key ^ (key >> np.uint64(29)), return_inverse=True)[1].reshape(-1)


def safe_unit(vectors: FloatArray) -> FloatArray:
    """Return unit vectors; upright where there is no direction."""
    size = np.sqrt(np.einsum("...i,...i->...", vectors, vectors))[..., None]
    none = size <= 1e-30
    if not none.any():
        return np.asarray(vectors / size)
    return np.asarray(np.where(none, (0.0, 0.0, 1.0), vectors / np.where(none, 1.0, size)))


def sheet(points: FloatArray, *, closed: bool = False, colors: FloatArray | None = None) -> Mesh:
    """Return a grid of points (rows, columns, 3) as a mesh."""
    rows, columns = points.shape[:2]
    return smooth(
        points.reshape(-1, 3),
        grid_faces(rows, columns, closed=closed),
        colors=None if colors is None else colors.reshape(-1, 3),
    )


def smooth(vertices: FloatArray, faces: IntArray, *, colors: FloatArray | None = None) -> Mesh:
    """Return a mesh with smooth normals."""
    return Mesh(
        vertices=vertices, faces=faces, normals=vertex_normals(vertices, faces), colors=colors
    )


def joined(meshes: list[Mesh]) -> Mesh:
    """Return several meshes as one."""
    starts = np.cumsum([0, *(len(one.vertices) for one in meshes[:-1])])
    colored = all(one.colors is not None for one in meshes)
    return Mesh(
        vertices=np.concatenate([one.vertices for one in meshes]),
        faces=np.concatenate(
            [one.faces + start for one, start in zip(meshes, starts, strict=True)]
        ),
        normals=np.concatenate([one.normals for one in meshes]),
        colors=np.concatenate([one.colors for one in meshes if one.colors is not None])
        if colored
        else None,
    )


def tube(
    line: FloatArray,
    section: FloatArray,
    *,
    across: FloatArray,
    closed: bool = False,
    capped: bool = True,
) -> Mesh:
    """Return a cross-section swept along a line.

    Parameters
    ----------
    line : (n, 3) array
        Middle line.
    section : (k, 2) or (n, k, 2) array
        Outline of the section, anticlockwise: along `across`, and square to it and the line.
    across : (3,) or (n, 3) array
        Direction that the section keeps to as well as it can.
    closed : bool
        Whether the line closes on itself.
    capped : bool
        Whether the ends of an open line are closed, to a point.
    """
    ahead = _along(line, closed=closed)
    across = np.broadcast_to(across, line.shape)
    side = safe_unit(across - (across * ahead).sum(-1, keepdims=True) * ahead)
    third = cross(ahead, side)
    section = np.broadcast_to(section, (len(line), *section.shape[-2:]))
    rings = line[:, None] + section[..., :1] * side[:, None] + section[..., 1:] * third[:, None]
    if closed:
        rings = np.concatenate([rings, rings[:1]])
    elif capped:
        ends = [np.broadcast_to(line[k], rings[0].shape)[None] for k in (0, -1)]
        rings = np.concatenate([ends[0], rings, ends[1]])
    return sheet(rings[::-1], closed=True)


def rounded_section(width: float, height: float, *, count: int, exponent: float) -> FloatArray:
    """Return the outline of a rounded section, half measures given, (count, 2)."""
    angle = np.arange(count) * 2.0 * np.pi / count
    cosine, sine = np.cos(angle), np.sin(angle)
    reach = (np.abs(cosine) ** exponent + np.abs(sine) ** exponent) ** (-1.0 / exponent)
    return np.stack([width * reach * cosine, height * reach * sine], axis=-1)


def ball(
    center: FloatArray, axes: FloatArray, radii: FloatArray, *, rows: int, columns: int
) -> Mesh:
    """Return an ellipsoid; axes are columns."""
    up = np.linspace(0.0, np.pi, rows)[:, None]
    around = np.arange(columns)[None, :] * 2.0 * np.pi / columns
    unit = np.stack(
        np.broadcast_arrays(np.sin(up) * np.cos(around), np.sin(up) * np.sin(around), np.cos(up)),
        axis=-1,
    ).reshape(-1, 3)
    return Mesh(
        vertices=center + (unit * radii) @ axes.T,
        faces=grid_faces(rows, columns, closed=True),
        normals=normalize((unit / radii) @ axes.T),
    )


def rods(line: FloatArray, *, thick: FloatArray | float, colors: FloatArray | None = None) -> Mesh:
    """Return pointed rods with three sides along lines, for single hairs.

    Parameters
    ----------
    line : (n, k, 3) array
        Middle lines, from root to tip.
    thick : float or (n,) array
        Radius at the root.
    colors : (n, 3) array or None
        Of each rod.
    """
    count, steps = line.shape[:2]
    along = safe_unit(line[:, -1] - line[:, 0])
    side = safe_unit(cross(along, np.broadcast_to([0.31, 0.17, 0.94], along.shape)))
    third = cross(along, side)
    angle = np.arange(3) * 2.0 * np.pi / 3.0
    ring = np.cos(angle)[:, None] * side[:, None] + np.sin(angle)[:, None] * third[:, None]
    taper = (1.0 - 0.97 * np.linspace(0.0, 1.0, steps)) ** 0.7
    radius = np.broadcast_to(np.asarray(thick), (count,))[:, None] * taper
    points = line[:, :, None] + radius[..., None, None] * ring[:, None]
    faces = grid_faces(steps, 3, closed=True)[:, ::-1]
    starts = np.arange(count)[:, None, None] * steps * 3
    return Mesh(
        vertices=points.reshape(-1, 3),
        faces=(faces + starts).reshape(-1, 3),
        normals=np.broadcast_to(ring[:, None], points.shape).reshape(-1, 3).copy(),
        colors=None if colors is None else np.repeat(colors, steps * 3, axis=0),
    )


def mirrored(mesh: Mesh) -> Mesh:
    """Return a mesh on the other side of the plane x = 0."""
    flip = np.array([-1.0, 1.0, 1.0])
    return Mesh(
        vertices=mesh.vertices * flip,
        normals=mesh.normals * flip,
        faces=mesh.faces[:, ::-1],
        colors=mesh.colors,
    )


def smoothstep(low: FloatArray | float, high: FloatArray | float, value: FloatArray) -> FloatArray:
    """Return 0 below, 1 above and a smooth rise between."""
    share = np.clip((value - low) / (high - low), 0.0, 1.0)
    return np.asarray(share * share * (3.0 - 2.0 * share))


def smooth_max(one: FloatArray, other: FloatArray, *, blend: FloatArray | float) -> FloatArray:
    """Return the greater of two, rounded where they differ by less than `blend`."""
    near = np.maximum(blend - np.abs(one - other), 0.0) / blend
    return np.asarray(np.maximum(one, other) + near * near * blend / 4.0)


def _along(line: FloatArray, *, closed: bool) -> FloatArray:
    if closed:
        return safe_unit(np.roll(line, -1, axis=0) - np.roll(line, 1, axis=0))
    return safe_unit(np.gradient(line, axis=0))
