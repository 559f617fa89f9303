"""How to come from the set as it stands to an earlier one: what to change, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tapemark.services.editing.words import all_edits_in_words
from tapemark.studio import Companion, Setup, Sitter, changed

_POSE = ("turn_deg", "chin_deg", "tip_deg", "eye_height_m", "posture", "seat_height_m")


@dataclass(frozen=True, kw_only=True, slots=True)
class Reproduction:
    """What to change to come to an earlier setup.

    Attributes
    ----------
    changes : tuple of str
        One sentence each; empty where everything stands already.
    cautions : tuple of str
        What the list cannot see to.
    """

    changes: tuple[str, ...]
    cautions: tuple[str, ...]


def reproduction(now: Setup, wanted: Setup) -> Reproduction:
    """Return what to change on a set to have an earlier setup again.

    Parameters
    ----------
    now : Setup
        The set as it stands.
    wanted : Setup
        As it was.

    Notes
    -----
    Marks count from the sitter's place, so that a list holds in another room too; whether the
    room has the place is for whoever stands in it. People and rooms are not rigged: they are
    taken as wanted, but for how high the eyes are and how the head is turned.
    """
    cautions = []
    if now.room != wanted.room:
        cautions.append(
            "The room is another one: check that every stand has its place, and the ceiling its "
            "height."
        )
    if now.camera.circle_of_confusion_mm != wanted.camera.circle_of_confusion_mm:
        cautions.append("The camera's limit of sharpness was another.")
    cautions.append(
        "Weight stands before anything is raised, and take one test shot at the end: the list "
        "knows what was written down, not what was nudged."
    )
    return Reproduction(
        changes=all_edits_in_words(_as_wanted(now, wanted), wanted), cautions=tuple(cautions)
    )


def _as_wanted(now: Setup, wanted: Setup) -> Setup:
    """Return the set as it stands, with what is not rigged taken from the setup wanted."""
    return changed(
        now,
        {
            "title": wanted.title,
            "units": wanted.units,
            "room": wanted.room,
            "sitter": _posed(wanted.sitter, now.sitter),
            "companions": _companions(now, wanted),
        },
    )


def _posed(person: Sitter, pose: Sitter) -> Sitter:
    """Return a person in the pose of somebody; what was not stated stays so."""
    return Sitter.model_validate(_stated(person, pose))


def _stated(person: Sitter, pose: Sitter) -> dict[str, Any]:
    own = {name: getattr(person, name) for name in person.model_fields_set}
    other = (name for name in _POSE if getattr(pose, name) != getattr(person, name))
    return own | {name: getattr(pose, name) for name in other}


def _companions(now: Setup, wanted: Setup) -> tuple[Companion, ...]:
    """Return those who are on the set, each who is also wanted as they are wanted but for pose."""
    by_name = {one.name: one for one in wanted.companions}
    return tuple(
        Companion.model_validate(
            _stated(by_name[one.name], one) | {"across_m": one.across_m, "back_m": one.back_m}
        )
        if one.name in by_name
        else one
        for one in now.companions
    )
