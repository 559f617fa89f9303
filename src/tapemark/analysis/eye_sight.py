"""How much of each eye does the camera see past the rim and the head?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.scene import Scene
from tapemark.anatomy import SIDES, Side, opening_margin, rim_crosses, rim_of
from tapemark.geometry import FloatArray, normalize

COLUMNS, ROWS = 20, 9


@dataclass(frozen=True, kw_only=True, slots=True)
class EyeSight:
    """What stands between the camera and one eye.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left`` eye.
    rim_share : float
        Share of the eye opening behind the rim, 0 to 1.
    head_share : float
        Share behind the nose or another part of the head, 0 to 1.
    """

    side: Side
    rim_share: float
    head_share: float


def eye_sight(scene: Scene) -> tuple[EyeSight, EyeSight]:
    """Return what hides each eye from the camera, right eye first.

    Notes
    -----
    Paths are taken straight; the lens shifts them by less than 2 mm at the
    rim.
    """
    eyes = scene.eyes
    local, inside = _opening_points(scene)
    points = eyes.opening_center[:, None, :] + local @ eyes.head_axes.T
    towards = normalize(scene.camera - points)
    axes, origin = scene.pose.axes, scene.pose.origin
    by_head = scene.head.blocks(
        (points - origin) @ axes, towards @ axes, clearance_m=0.012, steps=10
    )
    by_rim = np.zeros(by_head.shape, dtype=bool)
    glasses = scene.sitter.glasses
    if scene.lenses is not None and glasses is not None:
        rim, lens = rim_of(glasses), scene.lenses
        for index in (0, 1):
            by_rim[index] = rim_crosses(
                points[index], towards[index], lens=lens, index=index, rim=rim
            )
    count = inside.sum(axis=1)
    rim_share, head_share = ((hit & inside).sum(axis=1) / count for hit in (by_rim, by_head))
    right, left = (
        EyeSight(side=side, rim_share=float(rim_share[k]), head_share=float(head_share[k]))
        for k, side in enumerate(SIDES)
    )
    return right, left


def _opening_points(scene: Scene) -> tuple[FloatArray, np.ndarray]:
    """Return lattice points over both openings, (2, n, 3) [m], and which lie inside."""
    eyes = scene.eyes
    x = (np.arange(COLUMNS) + 0.5 - COLUMNS / 2) * (1.15 * eyes.opening_width_m / COLUMNS)
    lowest, height = -eyes.opening_height_m / 2, eyes.opening_height_m / 2 + eyes.upper_lid_m
    z = (np.arange(ROWS) + 0.5) * (height / ROWS) + lowest + eyes.corner_height_m
    across, up = np.tile(x, ROWS), np.repeat(z, COLUMNS)
    inside = opening_margin(across, up, eyes=eyes, outward=eyes.outward[:, None]) > 0
    local = np.stack([across, np.zeros_like(across), up], axis=-1)
    return np.stack([local, local]), np.asarray(inside)
