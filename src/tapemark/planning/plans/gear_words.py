"""Why no light can be put together from the gear of a brief, in words."""

from tapemark.planning.plans.gear import (
    LARGEST_ON_SMALL_M,
    UMBRELLAS,
    HeadKind,
    face_of,
    goes_on,
    head_kind,
)
from tapemark.studio import Brief, HeadGear, ModifierGear
from tapemark.units import UnitSystem, as_typed, format_length


def gear_trouble(brief: Brief) -> str:
    """Return why no head of a brief takes any of its modifiers; empty where one does.

    Parameters
    ----------
    brief : Brief
        With the gear that is there.
    """
    if any(goes_on(one, head) for head in brief.heads for one in brief.modifiers):
        return ""
    told = [_head_words(head, brief) for head in brief.heads]
    first = as_typed(brief.heads[0].name)
    return (
        "no light can be put together from this gear. "
        + " ".join(f"{one}." for one in told)
        + f" List another modifier, or write fits = [{first}] under one that does fit"
    )


def _head_words(head: HeadGear, brief: Brief) -> str:
    """Return what a head takes, and why each modifier is none of it."""
    reasons = "; ".join(f"{as_typed(one.name)} {_why_not(one, head)}" for one in brief.modifiers)
    return f"{as_typed(head.name)} takes {_takes(head_kind(head.head), brief.units)}: {reasons}"


def _takes(kind: HeadKind, system: UnitSystem) -> str:
    most = format_length(LARGEST_ON_SMALL_M, system=system)
    return {
        "panel": "no modifier but its own bare face",
        "small": f"umbrellas, other modifiers up to {most}, or its bare face",
        "studio": "softboxes, umbrellas and dishes",
    }[kind]


def _why_not(gear: ModifierGear, head: HeadGear) -> str:
    """Return why a modifier does not go on a head, as the rest of a sentence."""
    kind = head_kind(head.head)
    if gear.modifier.kind == "bare":
        whose = {"panel": "an LED panel", "small": "a small camera flash"}[face_of(gear.modifier)]
        return f"is the bare face of {whose}"
    if kind == "small" and gear.modifier.kind not in UMBRELLAS:
        return "is too large for it"
    return "does not go on it"
