"""Where a light, a panel or a camera points, worked out from its word or place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from tapemark.studio.place import Place

if TYPE_CHECKING:
    from tapemark.studio.aims import AimName
    from tapemark.studio.setup import Setup

__all__ = ["Aimed", "aim_direction", "aim_point_m"]

Vec3 = tuple[float, float, float]


class Aimed(Protocol):
    """A thing with a place and an aim: a light, a panel, a screen, the camera."""

    @property
    def place(self) -> Place:
        """Where it is."""

    @property
    def aim(self) -> AimName | Place:
        """What it points at."""


def aim_point_m(thing: Aimed, *, setup: Setup) -> Vec3:
    """Return the point in the room that a thing points at. [m]

    Parameters
    ----------
    thing : Light, Panel, Screen or Camera
        What points.
    setup : Setup
        For the room, the sitter and the backdrop.

    Returns
    -------
    tuple of float
        World frame. [m]

    Notes
    -----
    The face is the midpoint between the eyes. A bounce goes to the point of the ceiling or of a
    side wall midway between thing and sitter. The wall behind and the backdrop are hit midway
    between the thing's own side and the middle, at eye height: common practice, no published
    source.
    """
    if isinstance(thing.aim, Place):
        return thing.aim.position_m
    room, eye_m = setup.room, setup.sitter.eye_height_m
    x, y, _ = thing.place.position_m
    if thing.aim == "backdrop" and setup.backdrop is not None:
        return x / 2, -setup.backdrop.distance_m, min(eye_m, setup.backdrop.height_m)
    points: dict[str, Vec3] = {
        "face": (0.0, 0.0, eye_m),
        "ceiling": (x / 2, y / 2, room.height_m),
        "wall behind": (x / 2, room.y_min_m, eye_m),
        "wall behind camera": (x / 2, room.y_max_m, eye_m),
        "wall camera-left": (room.x_max_m, y / 2, eye_m),
        "wall camera-right": (room.x_min_m, y / 2, eye_m),
        "backdrop": (x / 2, room.y_min_m, eye_m),
    }
    return points[thing.aim]


def aim_direction(thing: Aimed, *, setup: Setup) -> Vec3:
    """Return the unit vector from a thing to what it points at; straight ahead if it is there."""
    target, origin = aim_point_m(thing, setup=setup), thing.place.position_m
    x, y, z = (end - start for end, start in zip(target, origin, strict=True))
    size = (x * x + y * y + z * z) ** 0.5
    return (x / size, y / size, z / size) if size > 0 else (0.0, 1.0, 0.0)
