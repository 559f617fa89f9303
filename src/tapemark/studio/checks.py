"""Checks over several parts of a setup: what cannot be, with both keys named."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tapemark.errors import Problem
from tapemark.studio.aiming import Aimed, aim_point_m
from tapemark.studio.as_typed import AsTyped
from tapemark.studio.checks_around import surroundings_problems, wiring_problems
from tapemark.studio.checks_people import eye_height_problem, glasses_problem, people_problems
from tapemark.studio.lights import Light
from tapemark.studio.place import Place
from tapemark.studio.surroundings import Panel, Screen, Window
from tapemark.units import as_typed, format_side

__all__ = ["setup_problems"]

NEAREST_THING_M = 0.25  # [m] from the eyes; a thing nearer than this is inside the head
NEAREST_CAMERA_M = 0.3  # [m] from the eyes
BODY_RADIUS_M = 0.25  # [m] of the upright cylinder that stands for the body below the eyes


def setup_problems(typed: AsTyped) -> list[Problem]:
    """Return everything that cannot be in a setup whose parts are valid by themselves.

    Parameters
    ----------
    typed : AsTyped
        The setup, with what was typed.

    Returns
    -------
    list of Problem
        In the order room, sitter, camera, stands, surroundings, names.
    """
    problems = [*_room_problems(typed), *_sitter_problems(typed), *_glasses_problems(typed)]
    problems += people_problems(typed)
    if not any(problem.key.startswith("room.") for problem in problems):
        problems += [*_camera_problems(typed), *_stand_problems(typed)]
        problems += surroundings_problems(typed)
    return [*problems, *_name_problems(typed), *wiring_problems(typed)]


def _room_problems(typed: AsTyped) -> Iterator[Problem]:
    room = typed.setup.room
    pairs = (
        ("behind_sitter", room.behind_sitter_m, "length", room.length_m),
        ("camera_left", room.camera_left_m, "width", room.width_m),
    )
    for key, part_m, whole_key, whole_m in pairs:
        if part_m >= whole_m:
            yield Problem(
                key=f"room.{key}",
                given=f"{typed.length(part_m, 'room', key)}, "
                f"with {typed.keyed(whole_m, 'room', whole_key)}",
                allowed=f"less than room.{whole_key}",
                advice=f"the sitter would be outside; measure room.{key} from the sitter mark",
            )


def _sitter_problems(typed: AsTyped) -> Iterator[Problem]:
    yield from eye_height_problem(typed, typed.setup.sitter, "sitter")


def _glasses_problems(typed: AsTyped) -> Iterator[Problem]:
    yield from glasses_problem(typed, typed.setup.sitter, "sitter")


def _camera_problems(typed: AsTyped) -> Iterator[Problem]:
    place, eyes_m = typed.setup.camera.place, typed.setup.sitter.eye_height_m
    yield from _outside_problems(typed, place, "camera")
    from_eyes_m = math.hypot(place.distance_m, place.height_m - eyes_m)
    in_body = place.distance_m < BODY_RADIUS_M and place.height_m < eyes_m
    if from_eyes_m < NEAREST_CAMERA_M or in_body:
        allowed = (
            f"at least {typed.length(NEAREST_CAMERA_M)} from the eyes, and outside the body "
            f"({typed.length(BODY_RADIUS_M)} around the sitter mark)"
        )
        yield _inside_problem(typed, place, "camera", inside="the sitter", allowed=allowed)
    yield from _aim_problems(typed, typed.setup.camera, "camera")


def _stand_problems(typed: AsTyped) -> Iterator[Problem]:
    setup = typed.setup
    eyes_m = setup.sitter.eye_height_m
    allowed = f"at least {typed.length(NEAREST_THING_M)} from the eyes"
    stands: dict[str, Sequence[Light | Panel | Screen]] = {
        "light": setup.lights,
        "panel": setup.panels,
        "screen": setup.screens,
    }
    for key, things in stands.items():
        for index, thing in enumerate(things):
            place = thing.place
            yield from _outside_problems(typed, place, key, index)
            if math.hypot(place.distance_m, place.height_m - eyes_m) < NEAREST_THING_M:
                yield _inside_problem(
                    typed, place, key, index, inside="the sitter's head", allowed=allowed
                )
            yield from _aim_problems(typed, thing, key, index)


def _inside_problem(
    typed: AsTyped, place: Place, *steps: str | int, inside: str, allowed: str
) -> Problem:
    eyes_m = typed.setup.sitter.eye_height_m
    distance = typed.length(place.distance_m, *steps, "place", "distance")
    height = typed.length(place.height_m, *steps, "place", "height")
    return Problem(
        key=typed.key(*steps, "place", "distance"),
        given=f"{distance} at place.height {height}, "
        f"with {typed.keyed(eyes_m, 'sitter', 'eye_height')}",
        allowed=allowed,
        advice=f"the {steps[0]} would be inside {inside}; move it away",
    )


def _aim_problems(typed: AsTyped, thing: Aimed, *steps: str | int) -> Iterator[Problem]:
    key = typed.key(*steps, "aim")
    if thing.aim == "backdrop" and typed.setup.backdrop is None:
        yield Problem(
            key=key,
            given='"backdrop", without a [backdrop]',
            allowed='"wall behind" where there is no backdrop',
            advice='add [backdrop] with its distance, or write aim = "wall behind"',
        )
    elif math.dist(aim_point_m(thing, setup=typed.setup), thing.place.position_m) < 0.01:
        yield Problem(
            key=key,
            given=f"the point where {typed.key(*steps, 'place')} is",
            allowed="a point away from its place",
            advice=f"say what the {steps[0]} points at",
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Wall:
    """A wall as seen from the sitter mark along one direction. [m]"""

    name: str
    key: str
    length_m: float  # the value of the key
    free_m: float  # sitter mark to wall
    reach_m: float  # sitter mark to thing, towards the wall


def _outside_problems(typed: AsTyped, place: Place, *steps: str | int) -> Iterator[Problem]:
    room = typed.setup.room
    if place.height_m > room.height_m:
        yield Problem(
            key=typed.key(*steps, "place", "height"),
            given=f"{typed.length(place.height_m, *steps, 'place', 'height')}, "
            f"with {typed.keyed(room.height_m, 'room', 'height')}",
            allowed=f"0 to {typed.length(room.height_m)} under this ceiling",
            advice=f"the {steps[0]} would be above the ceiling; lower it, or check room.height",
        )
    hits = [wall for wall in _walls(typed, place) if wall.reach_m > max(wall.free_m, 0.0)]
    if hits:
        wall = min(hits, key=lambda hit: hit.free_m / hit.reach_m)
        free_m = place.distance_m * max(wall.free_m, 0.0) / wall.reach_m
        yield Problem(
            key=typed.key(*steps, "place", "distance"),
            given=f"{typed.length(place.distance_m, *steps, 'place', 'distance')} at place.side "
            f"{format_side(place.side_deg)}, with {typed.keyed(wall.length_m, 'room', wall.key)}",
            allowed=f"at most {typed.length(free_m)} to that side",
            advice=f"the {steps[0]} would be {typed.length(wall.reach_m - wall.free_m)} inside "
            f"the wall {wall.name}; move it in, or check room.{wall.key}",
        )


def _walls(typed: AsTyped, place: Place) -> tuple[_Wall, ...]:
    room = typed.setup.room
    x, y, _ = place.position_m
    walls = (
        ("on camera-left", "camera_left", room.camera_left_m, room.x_max_m, x),
        ("on camera-right", "width", room.width_m, -room.x_min_m, -x),
        ("behind the camera", "length", room.length_m, room.y_max_m, y),
        ("behind the sitter", "behind_sitter", room.behind_sitter_m, -room.y_min_m, -y),
    )
    return tuple(
        _Wall(name=name, key=key, length_m=length_m, free_m=free_m, reach_m=reach_m)
        for name, key, length_m, free_m, reach_m in walls
    )


def _name_problems(typed: AsTyped) -> Iterator[Problem]:
    setup = typed.setup
    lists: dict[str, Sequence[Light | Panel | Window | Screen]] = {
        "light": setup.lights,
        "panel": setup.panels,
        "window": setup.windows,
        "screen": setup.screens,
    }
    seen: dict[str, str] = {}
    for key, things in lists.items():
        for number, thing in zip(typed.numbers[key], things, strict=True):
            folded = thing.name.casefold()
            if folded in seen:
                yield Problem(
                    key=f"{key}[{number}] name",
                    given=f"{as_typed(thing.name)}, also {seen[folded]} name",
                    allowed="a name of its own for each light, panel, window and screen",
                    advice="give one of them another name",
                )
            else:
                seen[folded] = f"{key}[{number}]"
