"""How the skin gives way to glasses: the nose and the cheeks are pressed in under the lenses."""

from dataclasses import replace

import numpy as np

from tapemark.anatomy import HeadPose, LensStack, lens_margin
from tapemark.geometry import to_local, to_world
from tapemark.rendering.mannequin.head import SkinMesh
from tapemark.rendering.mannequin.mesh import smoothstep
from tapemark.units import MM

CLEARANCE_M = 3.4 * MM  # behind the front of the lens: lens, rim and a little air
_SOFT_M = 3.0 * MM
_AROUND_M = 5.0 * MM  # beyond the edge of the lens, over which the skin comes back


def pressed(skin: SkinMesh, *, lenses: LensStack, pose: HeadPose) -> SkinMesh:
    """Return the skin without what would stand in or in front of a lens or its rim.

    The modelled head is not fitted to the frame: a wide nose would go through the inner corner
    of a low lens.  Skin there moves straight back, by what is needed.
    """
    world = to_world(skin.vertices * MM, origin=pose.origin, axes=pose.axes)
    moved = np.zeros(len(world))
    for index in (0, 1):
        axes = lenses.boxed_axes[index]
        place = to_local(world, origin=lenses.boxed_origin[index], axes=axes)
        squared = place[:, 0] ** 2 + place[:, 2] ** 2
        front = -0.5 * lenses.front_curvature[index] * squared
        margin = lens_margin(place[:, 0], place[:, 2], lens=lenses)
        near = smoothstep(-_AROUND_M, -1.5 * MM, margin) * (place[:, 1] > -40.0 * MM)
        over = place[:, 1] - (front - CLEARANCE_M)
        soft = np.where(
            over > -_SOFT_M,
            np.where(over > _SOFT_M, over, (over + _SOFT_M) ** 2 / (4.0 * _SOFT_M)),
            0.0,
        )
        moved = np.maximum(moved, near * soft)
    vertices = skin.vertices.copy()
    vertices[:, 1] -= moved / MM
    return replace(skin, vertices=vertices)
