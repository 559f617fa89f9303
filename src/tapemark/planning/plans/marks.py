"""Where is everything taped: from the sitter, and with two tapes from the corners of the room?"""

from dataclasses import dataclass

import numpy as np

from tapemark.studio import Light, Panel, Place, Room, Setup
from tapemark.units import format_length, format_side

#: The corners from which tapes are run; behind the sitter, as in the drawings.
CORNERS = ("A", "B")


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """One taped place on the floor, and what stands on it.

    Attributes
    ----------
    name, what : str
        What stands there, and its kind.
    distance_m, side_deg : float
        From the sitter mark along the floor, camera-left positive. [m, deg]
    height_m : float
        Of the middle of its lit face, or of the lens; eyes for the sitter. [m]
    from_a_m, from_b_m : float
        From the corners behind the sitter, on camera-left (A) and camera-right (B). [m]
    aim : str
        What it points at.
    """

    name: str
    what: str
    distance_m: float
    side_deg: float
    height_m: float
    from_a_m: float
    from_b_m: float
    aim: str


def marks_of(setup: Setup, *, what: dict[str, str]) -> tuple[Mark, ...]:
    """Return the marks of a setup: sitter, camera, lights, panels.

    Parameters
    ----------
    setup : Setup
        What is built.
    what : dict of str to str
        What each light and panel is, by its name.
    """
    room = setup.room
    sitter = Place(distance_m=0.0, height_m=setup.sitter.eye_height_m)
    found = [_mark("sitter", "eyes", sitter, room, aim=_turn_words(setup))]
    for number, one in enumerate(setup.companions):
        x, y = one.mark_m
        place = Place(
            distance_m=float(np.hypot(x, y)),
            side_deg=float(np.rad2deg(np.arctan2(x, y))),
            height_m=one.eye_height_m,
        )
        found.append(_mark(one.name or f"person {number + 2}", "eyes", place, room, aim=""))
    lens = f"{setup.camera.focal_length_mm:g} mm"
    found.append(
        _mark("camera", lens, setup.camera.place, room, aim=_aim_words(setup.camera.aim, setup))
    )
    things: tuple[Light | Panel, ...] = (*setup.lights, *setup.panels)
    for thing in things:
        found.append(
            _mark(
                thing.name,
                what.get(thing.name, ""),
                thing.place,
                room,
                aim=_aim_words(thing.aim, setup),
            )
        )
    return tuple(found)


def _mark(name: str, what: str, place: Place, room: Room, *, aim: str) -> Mark:
    x, y, height = place.position_m
    return Mark(
        name=name,
        what=what,
        distance_m=place.distance_m,
        side_deg=place.side_deg,
        height_m=height,
        from_a_m=float(np.hypot(x - room.x_max_m, y - room.y_min_m)),
        from_b_m=float(np.hypot(x - room.x_min_m, y - room.y_min_m)),
        aim=aim,
    )


def _turn_words(setup: Setup) -> str:
    turn = setup.sitter.turn_deg
    if turn == 0.0:
        return "face to the camera"
    return f"face turned {abs(turn):.0f}° to camera-{'left' if turn > 0 else 'right'}"


def _aim_words(aim: str | Place, setup: Setup) -> str:
    """Return what a thing points at, in words one can aim by."""
    if isinstance(aim, str):
        return "the eyes" if aim == "face" else aim
    system, room = setup.units, setup.room
    height = format_length(aim.height_m, system=system)
    x, y, _ = aim.position_m
    behind = room.behind_sitter_m if setup.backdrop is None else setup.backdrop.distance_m
    if aim.height_m > room.height_m - 0.05:
        away = format_length(aim.distance_m, system=system)
        return f"the ceiling, {away} from the sitter on the same side"
    if aim.distance_m < 0.05:
        return f"{height} up over the sitter mark"
    if abs(-y - behind) < 0.1:
        where = "in the middle" if abs(x) < 0.05 else f"{_across(x, setup)} of the middle"
        return f"the background, {where}, {height} up"
    return (
        f"{format_length(aim.distance_m, system=system)}, {format_side(aim.side_deg)}, {height} up"
    )


def _across(x: float, setup: Setup) -> str:
    side = "camera-left" if x > 0 else "camera-right"
    return f"{format_length(abs(x), system=setup.units)} {side}"
