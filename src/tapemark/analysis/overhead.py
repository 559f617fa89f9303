"""What hangs over somebody's head?"""

from dataclasses import dataclass
from math import hypot

from tapemark.analysis.rigs import Rig
from tapemark.geometry import Vec3
from tapemark.studio import Setup, Sitter

#: Along the floor from somebody's middle: shoulders and a hand's breadth to spare (assumption). [m]
OVER_PERSON_M = 0.6
CROWN_OVER_EYES_M = 0.111  # [m] [ansur-ii-2012], mean of men and women


@dataclass(frozen=True, kw_only=True, slots=True)
class Overhead:
    """A light, or the arm that carries it, over somebody.

    Attributes
    ----------
    light, person : str
        Their names.
    what : str
        ``light`` or ``arm``.
    aside_m : float
        How near it comes to the person's middle, along the floor. [m]
    height_m : float
        Where it hangs. [m]
    held_by : str
        ``stand``, ``boom`` or ``fixed``; ``unknown`` where no stand was described.
    """

    light: str
    person: str
    what: str
    aside_m: float
    height_m: float
    held_by: str


def overhead(setup: Setup, rigs: tuple[Rig, ...]) -> tuple[Overhead, ...]:
    """Return what hangs over the people in the frame, the nearest part of each light.

    Notes
    -----
    Head, modifier and arm count by their middles, not by how wide they are: any light that
    tips towards somebody reaches farther than this.
    """
    found = (_over(rig, person) for rig in rigs for person in setup.people)
    return tuple(one for one in found if one is not None)


def _over(rig: Rig, person: Sitter) -> Overhead | None:
    crown_m = person.eye_height_m + CROWN_OVER_EYES_M
    x, y = person.mark_m
    parts: list[tuple[str, Vec3]] = [("light", rig.head_m), ("light", rig.modifier_m)]
    if rig.stand.kind == "boom":
        parts.append(("arm", _nearest_of_arm(rig, x, y)))
    above = [
        (hypot(place[0] - x, place[1] - y), what, place[2])
        for what, place in parts
        if place[2] > crown_m
    ]
    aside, what, height = min(above, default=(OVER_PERSON_M, "", 0.0))
    if aside >= OVER_PERSON_M:
        return None
    return Overhead(
        light=rig.name,
        person=person.name,
        what=what,
        aside_m=aside,
        height_m=height,
        held_by="unknown" if rig.stand_assumed else rig.stand.kind,
    )


def _nearest_of_arm(rig: Rig, x: float, y: float) -> Vec3:
    """Return the point of a level arm that is nearest to a spot of the floor. [m]"""
    (from_x, from_y), (to_x, to_y, height) = rig.base_m, rig.head_m
    along_x, along_y = to_x - from_x, to_y - from_y
    squared = along_x**2 + along_y**2
    share = 0.0
    if squared > 0.0:
        share = min(max(((x - from_x) * along_x + (y - from_y) * along_y) / squared, 0.0), 1.0)
    return from_x + share * along_x, from_y + share * along_y, height
