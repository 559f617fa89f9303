"""Can a light, or the camera, be where a move would put it?

Ceiling, floor and walls keep out the whole modifier and the head behind it; a stand reaches as
high as it does; nothing hangs in somebody's face or in another light.  What a setup is short of
already counts as allowed, but may not get worse.
"""

from collections.abc import Callable
from math import dist

import numpy as np

from tapemark.analysis import light_face, rigs
from tapemark.analysis.frame_clearance import light_parts
from tapemark.geometry import FloatArray
from tapemark.planning.moves.single import CAMERA_HEIGHTS_M, MOST_TURN_DEG, SingleMove
from tapemark.studio import Light, Setup

#: Air kept between the ceiling and the highest corner of modifier and head: moves and map. [m]
UNDER_CEILING_M = 0.03
TO_WALL_M, TO_FLOOR_M = 0.05, 0.05
TO_PEOPLE_M = 0.45  # from a lit face to somebody's eyes
BEHIND_CAMERA_M = 0.3  # for the photographer
SMALL_M = 1e-6  # of rounding
BESIDE = 0.35  # of both sizes: how near the middles of two modifiers come
PLAY_M = 0.02  # by which what falls short already may get worse


def within_reach(move: SingleMove, *, before: Setup, after: Setup) -> bool:
    """Return whether the thing that a move has moved can be there.

    Parameters
    ----------
    move : SingleMove
        What was moved.
    before, after : Setup
        The setup without and with it.
    """
    if move.what == "camera":
        return _camera_fits(after)
    if move.what == "sitter":
        return abs(after.people[move.person].turn_deg) <= MOST_TURN_DEG
    return light_reach(move.name, before)(after)


def light_reach(name: str, before: Setup) -> Callable[[Setup], bool]:
    """Return what tells of a setup whether a light can be where it has moved to from another."""

    def slack(setup: Setup) -> FloatArray:
        return np.array(_slack(next(one for one in setup.lights if one.name == name), setup))

    now = slack(before)
    least = np.where(now < 0.0, now - PLAY_M, -SMALL_M)
    return lambda after: bool((slack(after) >= least).all())


def highest_m(light: Light, setup: Setup) -> float:
    """Return how high the highest corner of modifier and head is, its stand left out. [m]"""
    parts = light_parts(light, light_face(light, setup), setup)
    return max(float(points[:, 2].max()) for name, points in parts if name == "body")


def _slack(light: Light, setup: Setup) -> list[float]:
    """Return by how much a light keeps off everything that it should, one number each [m]."""
    room, face = setup.room, light_face(light, setup)
    outline = face.outline()
    low, high = outline.min(axis=0), outline.max(axis=0)
    top_m = highest_m(light, setup)
    (rig,) = rigs(setup.model_copy(update={"lights": (light,)}))
    head = rig.head_m
    own_size = max(light.modifier.face_size_m)
    middle = light.place.position_m
    slack = [
        room.height_m - UNDER_CEILING_M - top_m,
        float(low[2]) - TO_FLOOR_M,
        room.x_max_m - TO_WALL_M - max(float(high[0]), head[0]),
        min(float(low[0]), head[0]) - room.x_min_m - TO_WALL_M,
        room.y_max_m - TO_WALL_M - max(float(high[1]), head[1]),
        min(float(low[1]), head[1]) - room.y_min_m - TO_WALL_M,
        min(dist(middle, (*one.mark_m, one.eye_height_m)) for one in setup.people) - TO_PEOPLE_M,
        dist(middle, setup.camera.place.position_m) - BESIDE * own_size,
    ]
    slack.append(rig.stand.highest_m - head[2] if rig.on_legs else 0.0)
    for other in setup.lights:
        if other.name != light.name:
            both = own_size + max(other.modifier.face_size_m)
            slack.append(dist(middle, other.place.position_m) - BESIDE * both)
    return slack


def _camera_fits(setup: Setup) -> bool:
    room, (x, y, z) = setup.room, setup.camera.place.position_m
    low, high = CAMERA_HEIGHTS_M
    return bool(
        low <= z <= min(high, room.height_m - UNDER_CEILING_M)
        and room.x_min_m + BEHIND_CAMERA_M <= x <= room.x_max_m - BEHIND_CAMERA_M
        and y <= room.y_max_m - BEHIND_CAMERA_M
    )
