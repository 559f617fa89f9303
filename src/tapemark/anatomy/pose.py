"""Where the head is and how it is turned in the room."""

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray, rotation_from_yaw_pitch_roll
from tapemark.studio import Sitter


@dataclass(frozen=True, kw_only=True, eq=False)
class HeadPose:
    """The head frame in the world.

    Attributes
    ----------
    origin : (3,) array
        Midpoint between the corneal vertices, world frame. [m]
    axes : (3, 3) array
        Columns are the head axes (sitter's right, out of the face, up).
    """

    origin: FloatArray
    axes: FloatArray


def head_pose(sitter: Sitter) -> HeadPose:
    """Return where the sitter's head frame stands in the world.

    Parameters
    ----------
    sitter : Sitter
        Mark and eye height [m], head turn, chin and tip [deg].

    Notes
    -----
    The eyes' midpoint stays above the sitter's mark: a sitter who turns is
    asked to turn on the spot.
    """
    axes = rotation_from_yaw_pitch_roll(
        np.deg2rad(sitter.turn_deg),
        pitch=np.deg2rad(sitter.chin_deg),
        roll=np.deg2rad(sitter.tip_deg),
    )
    return HeadPose(origin=np.array([*sitter.mark_m, sitter.eye_height_m]), axes=axes)
