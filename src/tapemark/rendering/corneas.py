"""The corneas as mirrors for the path tracer: caps of a ball, over the iris."""

import numpy as np

from tapemark.anatomy import Eyes
from tapemark.rendering.meshes import Mesh, grid_triangles

RINGS, SPOKES = 24, 64
CORNEA_INDEX = 1.376  # [millodot]


def cornea_mesh(eyes: Eyes, *, index: int) -> Mesh:
    """Return the cornea of the right (0) or left (1) eye as far as the iris reaches, world."""
    edge = float(np.arcsin(min(eyes.iris_diameter_m / 2.0 / eyes.cornea_radius_m, 0.999)))
    polar = np.linspace(0.0, edge, RINGS + 1)
    around = np.arange(SPOKES) * (2.0 * np.pi / SPOKES)
    local = np.stack(
        [
            np.outer(np.sin(polar), np.cos(around)),
            np.outer(np.cos(polar), np.ones(SPOKES)),
            np.outer(np.sin(polar), np.sin(around)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    normals = local @ eyes.gaze_axes[index].T
    triangles = grid_triangles(RINGS + 1, SPOKES, closed=True)
    return Mesh(
        points=eyes.cornea_center[index] + eyes.cornea_radius_m * normals,
        triangles=triangles,
        normals=normals,
    )
