"""Can a light, or the camera, be where a move would put it?

Ceiling, floor and walls keep out the whole modifier and the head behind it; a stand reaches as
high as it does; nothing hangs in somebody's face or in another light.  What a setup is short of
already counts as allowed, but may not get worse.
"""

from math import dist

import numpy as np

from tapemark.analysis import light_face, rigs
from tapemark.planning.single_moves import CAMERA_HEIGHTS_M, MOST_TURN_DEG, SingleMove
from tapemark.studio import Light, Setup

TO_CEILING_M, TO_WALL_M, TO_FLOOR_M = 0.03, 0.05, 0.05
TO_PEOPLE_M = 0.45  # from a lit face to somebody's eyes
BEHIND_CAMERA_M = 0.3  # for the photographer
BESIDE = 0.35  # of both sizes: how near the middles of two modifiers come
PLAY_M = 0.02  # that is not counted


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
    return light_within_reach(move, before=before, after=after)


def light_within_reach(move: SingleMove, *, before: Setup, after: Setup) -> bool:
    """Return whether a moved light can be there; see `within_reach`."""
    was, now = (
        np.array(_slack(next(one for one in setup.lights if one.name == move.name), setup))
        for setup in (before, after)
    )
    return bool((now >= np.minimum(was, 0.0) - PLAY_M).all())


def _slack(light: Light, setup: Setup) -> list[float]:
    """Return by how much a light keeps off everything that it should, one number each [m]."""
    room, face = setup.room, light_face(light, setup)
    outline = face.outline()
    low, high = outline.min(axis=0), outline.max(axis=0)
    (rig,) = rigs(setup.model_copy(update={"lights": (light,)}))
    head = rig.head_m
    own_size = max(light.modifier.face_size_m)
    middle = light.place.position_m
    slack = [
        room.height_m - TO_CEILING_M - float(high[2]),
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
        low <= z <= min(high, room.height_m - TO_CEILING_M)
        and room.x_min_m + BEHIND_CAMERA_M <= x <= room.x_max_m - BEHIND_CAMERA_M
        and y <= room.y_max_m - BEHIND_CAMERA_M
    )
