"""From the room to the page: parallel views from above and from the side, and the camera's view.

Page coordinates run to the right and down, in points; the camera's picture is
first met as a place on a plane one metre in front of the camera, see
`tapemark.analysis.CameraView`.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis import CameraView, camera_view
from tapemark.geometry import FloatArray, Vec3

__all__ = [
    "POINT_M",
    "CameraView",
    "ParallelView",
    "ViewFrom",
    "camera_view",
    "page_axes",
    "page_offsets",
    "view_direction",
]

POINT_M = 0.0254 / 72  # a point on paper [m]

ViewFrom = Literal["above", "camera-left", "camera-right"]

#: World directions that run to the right and down the page in each parallel view.
_PAGE_AXES: dict[ViewFrom, tuple[Vec3, Vec3]] = {
    "above": ((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
    "camera-left": ((0.0, 1.0, 0.0), (0.0, 0.0, -1.0)),
    "camera-right": ((0.0, -1.0, 0.0), (0.0, 0.0, -1.0)),
}


@dataclass(frozen=True, kw_only=True, eq=False)
class ParallelView:
    """A drawing to scale, seen from above or from one side.

    Attributes
    ----------
    view_from : str
        ``above`` (the camera at the foot of the page), ``camera-left`` or
        ``camera-right``.
    points_per_m : float
        Points on paper for a metre in the room.
    at_origin : tuple of two floats
        Page place of the world's origin. [pt]
    """

    view_from: ViewFrom
    points_per_m: float
    at_origin: tuple[float, float]

    def __call__(self, world: FloatArray) -> FloatArray:
        """Return page places (..., 2) [pt] of world points (..., 3) [m]."""
        return page_offsets(world, view_from=self.view_from) * self.points_per_m + self.at_origin


def page_offsets(world: FloatArray, *, view_from: ViewFrom) -> FloatArray:
    """Return where world points lie across and down a parallel view, (..., 2) [m]."""
    return np.asarray(np.asarray(world, dtype=np.float64) @ np.array(_PAGE_AXES[view_from]).T)


def page_axes(view_from: ViewFrom) -> tuple[FloatArray, FloatArray]:
    """Return the world directions that run to the right and down a parallel view [-]."""
    right, down = _PAGE_AXES[view_from]
    return np.array(right), np.array(down)


def view_direction(view_from: ViewFrom) -> FloatArray:
    """Return the world direction from the drawing towards who looks at it [-]."""
    right, down = page_axes(view_from)
    return np.asarray(np.cross(right, -down))
