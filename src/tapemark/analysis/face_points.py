"""Places on the skin of a face, and the way the skin faces there.

Places are named in millimetres on the reference head, x to the sitter's right
and z up from the pupils, and move with the measures of the face.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.anatomy import HeadPose, HeadSurface
from tapemark.anatomy.head_shape import REFERENCE
from tapemark.geometry import FloatArray, to_world, turn_to_world
from tapemark.units import MM

LIFT_M = 0.3 * MM  # paths start so far over the skin
_SLOPE_STEP_M = 1.0 * MM

#: Cheek below the pupil and beside the nose, on the sitter's right [mm].
CHEEK = ((30.0, -30.0), (40.0, -30.0), (36.0, -38.0), (30.0, -46.0), (40.0, -46.0))
FOREHEAD = ((-20.0, 46.0), (0.0, 50.0), (20.0, 46.0), (-11.0, 60.0), (11.0, 60.0))
NOSE = ((0.0, -14.0), (0.0, -22.0), (0.0, -30.0), (0.0, -35.0), (-5.0, -35.0), (5.0, -35.0))
BROWS = ((-34.0, 34.0), (-17.0, 36.0), (0.0, 34.0), (17.0, 36.0), (34.0, 34.0))
CHEEKBONE = ((40.0, -19.0), (47.0, -17.0), (53.0, -22.0), (46.0, -26.0))


@dataclass(frozen=True, kw_only=True, eq=False)
class SkinPlaces:
    """Places on the skin, in the head frame or in the world.

    Attributes
    ----------
    points : (n, 3) array
        A hair's breadth over the skin. [m]
    normals : (n, 3) array
        The way the skin faces. [-]
    """

    points: FloatArray
    normals: FloatArray

    def in_world(self, pose: HeadPose) -> "SkinPlaces":
        """Return places of the head frame in the world."""
        return SkinPlaces(
            points=to_world(self.points, origin=pose.origin, axes=pose.axes),
            normals=turn_to_world(self.normals, axes=pose.axes),
        )


def skin_at(head: HeadSurface, x: FloatArray, z: FloatArray) -> SkinPlaces:
    """Return the skin at places seen from the front, head frame.

    Parameters
    ----------
    head : HeadSurface
        The face.
    x, z : (n,) arrays
        Side and height in the head frame; NaN places beside the outline. [m]
    """
    step = _SLOPE_STEP_M
    depth = head.front_depth(
        np.stack([x, x + step, x - step, x, x]), np.stack([z, z, z, z + step, z - step])
    )
    slope_x, slope_z = (depth[1] - depth[2]) / (2 * step), (depth[3] - depth[4]) / (2 * step)
    normals = np.stack([-slope_x, np.ones_like(slope_x), -slope_z], axis=-1)
    normals /= np.sqrt((normals**2).sum(axis=-1, keepdims=True))
    return SkinPlaces(
        points=np.stack([x, depth[0], z], axis=-1) + LIFT_M * normals, normals=normals
    )


@lru_cache(maxsize=32)
def named_places(head: HeadSurface, places_mm: tuple[tuple[float, float], ...]) -> SkinPlaces:
    """Return the skin at places of the reference head, head frame (kept for reuse)."""
    across, up = (np.array(one) * MM for one in zip(*places_mm, strict=True))
    wide, tall = face_scale(head)
    return skin_at(head, across * wide, up * tall)


def face_scale(head: HeadSurface) -> tuple[float, float]:
    """Return how much wider and taller a face is than the reference head. [-]"""
    measures = head.measures
    wide = measures.bizygomatic_mm / REFERENCE["bizygomatic"]
    return wide, measures.face_height_mm / REFERENCE["face_height"]


def mirrored(places_mm: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """Return places of the sitter's right on the left."""
    return tuple((-across, up) for across, up in places_mm)
