"""Checks of the people in a setup: what cannot be."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from tapemark.errors import Problem
from tapemark.studio.as_typed import AsTyped
from tapemark.studio.sitter import EYE_BELOW_CROWN_M, Sitter
from tapemark.units import as_typed

__all__ = ["eye_height_problem", "glasses_problem", "people_problems"]

SEATED_EYES_M = (0.7, 1.5)  # [m] possible eye heights, from a floor cushion to a bar stool
STANDING_EYES_M = (0.9, 2.1)  # [m] possible eye heights, from a child to a very tall adult
NEAREST_PEOPLE_M = 0.2  # [m] from the middle of one head to that of another, cheek to cheek


def people_problems(typed: AsTyped) -> list[Problem]:
    """Return what cannot be about the people beside the sitter.

    Parameters
    ----------
    typed : AsTyped
        The setup, with what was typed.
    """
    problems: list[Problem] = []
    for index, one in enumerate(typed.setup.companions):
        problems += eye_height_problem(typed, one, "companion", index)
        problems += glasses_problem(typed, one, "companion", index)
        problems += _outside_problems(typed, index)
    return [*problems, *_same_place_problems(typed), *_same_name_problems(typed)]


def eye_height_problem(typed: AsTyped, sitter: Sitter, *steps: str | int) -> Iterator[Problem]:
    """Yield what is wrong with the eye height of a person in this room."""
    room = typed.setup.room
    eyes = typed.length(sitter.eye_height_m, *steps, "eye_height")
    low_m, high_m = SEATED_EYES_M if sitter.posture == "seated" else STANDING_EYES_M
    if not low_m <= sitter.eye_height_m <= high_m:
        yield Problem(
            key=typed.key(*steps, "eye_height"),
            given=f'{eyes}, with {typed.key(*steps, "posture")} "{sitter.posture}"',
            allowed=f"{typed.length(low_m)} to {typed.length(high_m)} for somebody "
            f"{sitter.posture}",
            advice="measure from the floor to the eyes as posed, or change "
            f"{typed.key(*steps, 'posture')}",
        )
    elif sitter.eye_height_m + EYE_BELOW_CROWN_M > room.height_m:
        yield Problem(
            key=typed.key(*steps, "eye_height"),
            given=f"{eyes}, with {typed.keyed(room.height_m, 'room', 'height')}",
            allowed=f"at most {typed.length(room.height_m - EYE_BELOW_CROWN_M)} in this room",
            advice="the head would be in the ceiling; check both heights",
        )


def glasses_problem(typed: AsTyped, sitter: Sitter, *steps: str | int) -> Iterator[Problem]:
    """Yield what is wrong between the glasses of a person and their eyes."""
    glasses, face = sitter.glasses, sitter.face
    if glasses is None:
        return
    low_mm = glasses.bridge_mm
    high_mm = glasses.bridge_mm + 2 * glasses.lens_width_mm
    if not low_mm < face.interpupillary_mm < high_mm:
        own = typed.key(*steps, "glasses")
        yield Problem(
            key=typed.key(*steps, "face.interpupillary"),
            given=f"{face.interpupillary_mm:g} mm, with {own}.lens_width "
            f"{glasses.lens_width_mm:g} mm and {own}.bridge {glasses.bridge_mm:g} mm",
            allowed=f"{low_mm:g} mm to {high_mm:g} mm, so that each eye is behind its lens",
            advice="check the numbers on the temple (lens width, bridge) and the eye distance",
        )


def _outside_problems(typed: AsTyped, index: int) -> Iterator[Problem]:
    room, one = typed.setup.room, typed.setup.companions[index]
    ends = (
        ("across", one.across_m, room.x_min_m, room.x_max_m),
        ("back", one.back_m, -room.y_max_m, -room.y_min_m),
    )
    for key, value_m, low_m, high_m in ends:
        if not low_m < value_m < high_m:
            yield Problem(
                key=typed.key("companion", index, key),
                given=typed.length(value_m, "companion", index, key),
                allowed=f"between {typed.length(low_m)} and {typed.length(high_m)} in this room",
                advice="they would be outside; count from the sitter mark",
            )


def _same_place_problems(typed: AsTyped) -> Iterator[Problem]:
    placed = [("the sitter", 0.0, 0.0, typed.setup.sitter.eye_height_m)]
    for index, one in enumerate(typed.setup.companions):
        here = (one.across_m, one.back_m, one.eye_height_m)
        for name, *there in placed:
            if math.dist(here, there) < NEAREST_PEOPLE_M:
                yield Problem(
                    key=typed.key("companion", index, "across"),
                    given=typed.length(one.across_m, "companion", index, "across"),
                    allowed=f"heads at least {typed.length(NEAREST_PEOPLE_M)} apart",
                    advice=f"they would be inside {name}; move them aside or back",
                )
        placed.append((as_typed(one.name), *here))


def _same_name_problems(typed: AsTyped) -> Iterator[Problem]:
    people = typed.setup.people
    for (_, first), (number, second) in itertools.combinations(enumerate(people), 2):
        if first.name.casefold() == second.name.casefold():
            yield Problem(
                key=typed.key("companion", number - 1, "name"),
                given=as_typed(second.name),
                allowed="a name of its own for each person",
                advice="give one of them another name",
            )
