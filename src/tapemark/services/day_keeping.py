"""The order of a day as the library keeps it, so that a day goes on where it was."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from tapemark.planning import Appointment, Change, RunOrder, Turn, Watch, reorder
from tapemark.planning.run_orders.controls import HandTimes, controls_of
from tapemark.planning.run_orders.sitter_needs import SitterNeeds
from tapemark.studio import (
    Part,
    Setup,
    part_from_mapping,
    part_to_mapping,
    setup_from_mapping,
    setup_to_mapping,
)

__all__ = ["day_as_kept", "day_from_kept", "rearranged", "taken_next", "turn_as_kept"]

Plain = dict[str, Any]
_FACTS = ("colliding", "proven", "fewest", "interrupted", "least_s", "list_order_s")
_TIMES = ("setup_s", "idle_s", "start_s", "end_s", "moved")


def day_as_kept(plan: RunOrder) -> Plain:
    """Return an order as data fit for JSON; reads back as equal."""
    return {
        "setup": setup_to_mapping(plan.setup),
        "begins_with": list(plan.begins_with),
        "start_s": plan.start_s,
        "sitting_s": plan.sitting_s,
        "turns": [turn_as_kept(turn, plan.setup) for turn in plan.turns],
        **{name: _listed(getattr(plan, name)) for name in _FACTS},
    }


def turn_as_kept(turn: Turn, setup: Setup) -> Plain:
    """Return one sitter of an order as data fit for JSON."""
    one, needs = turn.appointment, turn.needs
    appointment = {
        field.name: getattr(one, field.name)
        for field in dataclasses.fields(one)
        if field.name != "glasses"
    }
    return {
        "appointment": appointment | {"glasses": _part("glasses", one.glasses, setup)},
        "needs": {
            "sitter": _part("sitter", needs.sitter, setup),
            "eye_height_guessed": needs.eye_height_guessed,
            "settings": list(needs.settings),
            "verdict": needs.verdict,
            "shown": list(needs.shown),
            "notes": list(needs.notes),
        },
        "changes": [dataclasses.asdict(change) for change in turn.changes],
        **{name: getattr(turn, name) for name in _TIMES},
    }


def day_from_kept(kept: Mapping[str, Any]) -> RunOrder:
    """Return an order that was kept.

    Raises
    ------
    KeyError, TypeError, ValueError
        It is not what `day_as_kept` returned.
    """
    setup = setup_from_mapping(kept["setup"], name="the day's setup")
    facts = {name: kept[name] for name in _FACTS}
    facts["colliding"] = tuple(tuple(names) for names in kept["colliding"])
    return RunOrder(
        setup=setup,
        controls=controls_of(setup, times=HandTimes()),
        begins_with=tuple(kept["begins_with"]),
        start_s=kept["start_s"],
        sitting_s=kept["sitting_s"],
        turns=tuple(_turn(one) for one in kept["turns"]),
        **facts,
    )


def rearranged(
    plan: RunOrder,
    *,
    done: Sequence[str],
    now_s: int,
    absent: Collection[str] = (),
    late: Mapping[str, int] | None = None,
    back: Mapping[str, Any] | None = None,
    watch: Watch | None = None,
) -> RunOrder:
    """Return the order of those still to come, see `tapemark.planning.reorder`.

    Parameters
    ----------
    plan : RunOrder
        The order so far.
    done : sequence of str
        Who has been photographed since it was made, the last one last.
    now_s : int
        The time, from midnight. [s]
    absent : collection of str
        Who does not come.
    late : mapping of str to int, optional
        Who comes later, and from when on. [s]
    back : mapping, optional
        A turn as kept of somebody who was given up and is there after all.
    watch : Watch, optional
        Told how far it is, and asked to stop.
    """
    late = dict(late or {})
    if back is not None:
        turn = _turn(back)
        plan = dataclasses.replace(plan, turns=(*plan.turns, turn))
        late.setdefault(turn.appointment.name, now_s)
    return reorder(plan, done=done, now_s=now_s, absent=absent, late=late, watch=watch)


def taken_next(
    plan: RunOrder, name: str, *, done: Sequence[str], now_s: int, watch: Watch | None = None
) -> RunOrder:
    """Return an order in which somebody who is there already comes next, the others after.

    Parameters
    ----------
    plan : RunOrder
        The order so far.
    name : str
        Who comes next.
    done : sequence of str
        Who has been photographed since it was made, the last one last.
    now_s : int
        The time, from midnight. [s]
    watch : Watch, optional
        Told how far it is, and asked to stop.
    """
    others = [turn.appointment.name for turn in plan.turns if turn.appointment.name != name]
    alone = [one for one in others if one not in done]
    first = reorder(plan, done=done, now_s=now_s, absent=alone, late={name: now_s}, watch=watch)
    rest = reorder(plan, done=[*done, name], now_s=first.end_s, watch=watch)
    return dataclasses.replace(
        rest,
        begins_with=first.begins_with,
        start_s=now_s,
        turns=(*first.turns, *rest.turns),
        proven=False,
        least_s=min(rest.least_s + first.re_rigging_s, rest.re_rigging_s + first.re_rigging_s),
    )


def _turn(kept: Mapping[str, Any]) -> Turn:
    one, needs = dict(kept["appointment"]), kept["needs"]
    glasses = one.pop("glasses")
    worn: Any = None if glasses is None else part_from_mapping("glasses", glasses).thing
    sitter: Any = part_from_mapping("sitter", needs["sitter"]).thing
    return Turn(
        appointment=Appointment(**one, glasses=worn),
        needs=SitterNeeds(
            sitter=sitter,
            eye_height_guessed=needs["eye_height_guessed"],
            settings=tuple(needs["settings"]),
            verdict=needs["verdict"],
            shown=tuple(needs["shown"]),
            notes=tuple(needs["notes"]),
        ),
        changes=tuple(Change(**change) for change in kept["changes"]),
        **{name: kept[name] for name in _TIMES},
    )


def _part(kind: str, thing: Any, setup: Setup) -> Plain | None:
    return (
        None if thing is None else part_to_mapping(Part(kind=kind, thing=thing, units=setup.units))
    )


def _listed(value: object) -> object:
    return [_listed(one) for one in value] if isinstance(value, tuple) else value
