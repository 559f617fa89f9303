"""Triangle meshes of simple things, in the world, metres.

A mesh is closed or one-sided; its triangles run counter-clockwise seen from outside, which is
also the side that sends light where the thing is a lamp.
"""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from tapemark.geometry import FloatArray

CAP_RINGS, CAP_SPOKES = 24, 96


@dataclass(frozen=True, kw_only=True, eq=False)
class Mesh:
    """Points, and triangles between them.

    Attributes
    ----------
    points : (n, 3) array
        Corners, world. [m]
    triangles : (k, 3) int array
        Which three points each triangle joins.
    normals : (n, 3) array or None
        Smooth normals at the points; None for a faceted thing. [-]
    """

    points: FloatArray
    triangles: np.ndarray
    normals: FloatArray | None = None

    def flipped(self) -> Self:
        """Return the mesh turned inside out."""
        turned = None if self.normals is None else -self.normals
        return replace(self, triangles=self.triangles[:, ::-1], normals=turned)


def polygon_mesh(corners: FloatArray, *, facing: FloatArray) -> Mesh:
    """Return a flat convex polygon that faces a direction.

    Parameters
    ----------
    corners : (n, 3) array
        In order around it, world. [m]
    facing : (3,) array
        Direction on its outer side. [-]
    """
    after = np.arange(1, len(corners) - 1)
    fan = np.stack([np.zeros_like(after), after, after + 1], axis=-1)
    around = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    return Mesh(points=corners, triangles=fan if around @ facing > 0 else fan[:, ::-1])


def cap_mesh(
    opening: FloatArray, *, axes: FloatArray, radius_m: float, depth_m: float, forwards: bool
) -> Mesh:
    """Return a cap of a ball that faces along y, smooth.

    Parameters
    ----------
    opening : (3,) array
        Middle of its opening, world. [m]
    axes : (3, 3) array
        Columns; y is the way it faces. [-]
    radius_m, depth_m : float
        Of the opening; from the opening to the apex. [m]
    forwards : bool
        Whether it bulges the way it faces, or is hollow.
    """
    ball = (radius_m**2 + depth_m**2) / (2.0 * depth_m)
    polar = np.linspace(0.0, np.arctan2(radius_m, ball - depth_m), CAP_RINGS + 1)
    around = np.arange(CAP_SPOKES) * (2.0 * np.pi / CAP_SPOKES)
    out = np.stack(
        [
            np.outer(np.sin(polar), np.cos(around)),
            np.outer(np.cos(polar), np.ones(CAP_SPOKES)),
            np.outer(np.sin(polar), np.sin(around)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    local = ball * out - (0.0, ball - depth_m, 0.0)
    triangles = grid_triangles(CAP_RINGS + 1, CAP_SPOKES, closed=True)
    if not forwards:
        local, out = local * (1.0, -1.0, 1.0), out * (-1.0, 1.0, -1.0)
        triangles = triangles[:, ::-1]
    mesh = Mesh(points=opening + local @ axes.T, triangles=triangles, normals=out @ axes.T)
    return facing(mesh, axes[:, 1])


def grid_triangles(rows: int, columns: int, *, closed: bool = False) -> np.ndarray:
    """Return the triangles of a grid of points, row by row.

    Parameters
    ----------
    rows, columns : int
        Of the grid.
    closed : bool
        Whether the last column joins the first.
    """
    across = columns if closed else columns - 1
    row, column = np.meshgrid(np.arange(rows - 1), np.arange(across), indexing="ij")
    a, b = row * columns + column, row * columns + (column + 1) % columns
    a, b = a.ravel(), b.ravel()
    return np.concatenate(
        [np.stack([a, b, b + columns], -1), np.stack([a, b + columns, a + columns], -1)]
    )


def facing(mesh: Mesh, direction: FloatArray) -> Mesh:
    """Return a mesh whose triangles face a direction on the whole, its normals too."""
    corners = mesh.points[mesh.triangles]
    facets = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    triangles = mesh.triangles if facets.sum(axis=0) @ direction > 0 else mesh.triangles[:, ::-1]
    normals = mesh.normals
    if normals is not None and normals.sum(axis=0) @ direction < 0:
        normals = -normals
    return replace(mesh, triangles=triangles, normals=normals)
