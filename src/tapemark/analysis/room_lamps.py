"""How the room's own lamps light a place: an evenly shining ceiling, thrown about by the room.

What was metered at the sitter, with a dome turned to the camera, counts light from all around; a
wall counts what comes from before it, by the cosine. Under light from above the wall gets less:

    a wide ceiling alone        dome: pi L      wall: pi L / 2, a stop less
    the same from all around    dome: 2 pi L    wall: pi L, a stop less, too
"""

from functools import cache

import numpy as np

from tapemark.analysis.lit_surfaces import Surface, room_face
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, normalize
from tapemark.photometry import polygon_illuminance
from tapemark.studio import Room

SIDES: tuple[Surface, ...] = (
    "ceiling",
    "floor",
    "wall behind",
    "wall behind camera",
    "wall camera-left",
    "wall camera-right",
)
EACH_WAY = 4  # places on a side of the room at which the light from the others is taken


def lamp_shares(scene: Scene, places: FloatArray, *, normal: FloatArray) -> FloatArray:
    """Return how much of the metered light of the room's lamps falls on places, (n,). [-]

    Parameters
    ----------
    scene : Scene
        For the room, the sitter's place and the camera's.
    places : (n, 3) array
        World. [m]
    normal : (3,) array
        Of the surface there, its lit side. [-]

    Returns
    -------
    (n,) array
        Illuminance against what a dome at the sitter reads. [-]

    Notes
    -----
    People, backdrop and panels stand in nobody's light, and every side of the room is as bright
    all over as it is on the mean.
    """
    room, at = scene.setup.room, scene.pose.origin
    bright = _brightness(room)
    towards = normalize(scene.camera - at)
    corners = [room_face(room, one)[0].outline() for one in SIDES]
    dome = 0.0
    light = np.zeros(len(places))
    for own, luminance in zip(corners, bright, strict=True):
        pull = polygon_illuminance(own, point=at, normal=towards) - polygon_illuminance(
            own, point=at, normal=-towards
        )
        dome += luminance * float(_solid_angle(own - at) + pull) / 2.0
        light += luminance * polygon_illuminance(own, point=places, normal=normal)
    return light / dome


@cache
def _brightness(room: Room) -> tuple[float, ...]:
    """Return the luminance of every side of a room whose ceiling sends 1, light thrown about."""
    faces = [room_face(room, one) for one in SIDES]
    shares = np.zeros((len(SIDES), len(SIDES)))
    for i, (face, reflectance) in enumerate(faces):
        places, normal = face.samples(EACH_WAY), face.axes[:, 1]
        for j, (other, _) in enumerate(faces):
            if i != j:
                light = polygon_illuminance(other.outline(), point=places, normal=normal)
                shares[i, j] = reflectance / np.pi * float(light.mean())
    sent = np.eye(len(SIDES))[SIDES.index("ceiling")]
    return tuple(np.linalg.solve(np.eye(len(SIDES)) - shares, sent).tolist())


def _solid_angle(corners: FloatArray) -> FloatArray:
    """Return the solid angle of a flat convex polygon seen from the origin. [sr]"""
    a, b, c = corners[:1], corners[1:-1], corners[2:]
    la, lb, lc = (np.linalg.norm(one, axis=-1) for one in (a, b, c))
    triple = (a * np.cross(b, c)).sum(axis=-1)
    below = la * lb * lc + (a * b).sum(-1) * lc + (a * c).sum(-1) * lb + (b * c).sum(-1) * la
    return np.asarray(np.abs(2.0 * np.arctan2(triple, below)).sum())
