"""How much light falls on the face, from which emitter?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import free_share
from tapemark.geometry import FloatArray, to_world
from tapemark.units import MM

EYE_SOCKET_M = 5.0 * MM  # receivers this far in front of the corneas


@dataclass(frozen=True, kw_only=True, slots=True)
class FaceLight:
    """Luminous exposure around the eyes, on a surface that faces as the face does.

    Attributes
    ----------
    at_eyes : tuple of two floats
        All emitters together at the right and the left eye. [lx·s]
    free_shares : tuple of floats
        Share of each emitter, 0 to 1, that nothing hides from between the eyes.
    """

    at_eyes: tuple[float, float]
    free_shares: tuple[float, ...]


def face_light(scene: Scene) -> FaceLight:
    """Return the light on the face of a scene.

    Notes
    -----
    What stands in between is looked for; shadows of nose, brow and frame are not.
    """
    places = eye_places(scene)
    normal = np.broadcast_to(scene.pose.axes[:, 1], places.shape)
    middle = places.mean(axis=0)
    shares = tuple(
        free_share(middle, emitter=emitter, others=scene.emitters, bodies=scene.neighbours)
        for emitter in scene.emitters
    )
    each = [
        emitter.exposure_at(places, normal=normal) * share
        for emitter, share in zip(scene.emitters, shares, strict=True)
    ]
    total = np.sum(each, axis=0) if each else np.zeros(2)
    return FaceLight(at_eyes=(float(total[0]), float(total[1])), free_shares=shares)


def eye_places(scene: Scene) -> FloatArray:
    """Return the receivers in front of right and left cornea, world, (2, 3) [m]."""
    half = scene.sitter.face.interpupillary_mm * MM / 2
    local = np.array([[half, EYE_SOCKET_M, 0.0], [-half, EYE_SOCKET_M, 0.0]])
    return to_world(local, origin=scene.pose.origin, axes=scene.pose.axes)
