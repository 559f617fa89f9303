"""The order of a day as pages one works down, line by line: plain data."""

from dataclasses import dataclass

from tapemark.planning.run_orders.controls import Control
from tapemark.planning.run_orders.run_order import RunOrder, Turn
from tapemark.planning.run_orders.sitter_changes import changes_text
from tapemark.units import dialled_power, format_clock, format_length, format_side, format_span

_SHORT_WAIT_S = 60
_VERDICTS = {"edge": "lenses show an edge", "veiled": "LENSES VEILED"}


@dataclass(frozen=True, kw_only=True, slots=True)
class DayLine:
    """One sitter of the day.

    Attributes
    ----------
    number : int
        Position in the order.
    time : str
        When the sitting begins.
    name : str
        Who.
    about : str
        Posture, eye height, glasses and the times they asked for.
    changes : tuple of str
        What is set anew before them, one hand's work each, and what it then stands at.
    change_time : str
        How long that takes; empty where nothing is changed.
    notes : tuple of str
        A moved appointment, lenses that are not clear, what could not be set.
    free : str
        How long everybody waits before the sitting; empty for less than a minute.
    """

    number: int
    time: str
    name: str
    about: str
    changes: tuple[str, ...]
    change_time: str
    notes: tuple[str, ...]
    free: str


@dataclass(frozen=True, kw_only=True, slots=True)
class DaySheet:
    """Everything the pages say.

    Attributes
    ----------
    title : str
        Of the setup that the day starts from.
    span : str
        How many sitters, from when to when, and how much is re-rigged.
    begins_with : tuple of str
        How everything stands before the first change.
    trouble : tuple of str
        What cannot be kept.
    lines : tuple of DayLine
        First sitter to last.
    notes : tuple of str
        What was assumed.
    """

    title: str
    span: str
    begins_with: tuple[str, ...]
    trouble: tuple[str, ...]
    lines: tuple[DayLine, ...]
    notes: tuple[str, ...]


def day_sheet(plan: RunOrder, *, notes: tuple[str, ...] = ()) -> DaySheet:
    """Return what the pages about an order say.

    Parameters
    ----------
    plan : RunOrder
        The order.
    notes : tuple of str
        What was assumed or passed over on the way.
    """
    count = "1 sitter" if len(plan.turns) == 1 else f"{len(plan.turns)} sitters"
    span = f"{count}, {format_clock(plan.start_s)} to {format_clock(plan.end_s)}"
    return DaySheet(
        title=plan.setup.title or "Untitled setup",
        span=f"{span}; re-rigging {format_span(plan.re_rigging_s)}",
        begins_with=tuple(
            _stands_at(control, value, plan)
            for control, value in zip(plan.controls, plan.begins_with, strict=True)
        ),
        trouble=_trouble(plan),
        lines=tuple(_line(plan, number, turn) for number, turn in enumerate(plan.turns, 1)),
        notes=notes,
    )


def _stands_at(control: Control, value: float, plan: RunOrder) -> str:
    """Return how a control stands, in words."""
    if control.kind == "stool":
        return "stool in" if value > 0.5 else "no stool"
    if control.kind == "side":
        return f"{control.name} {format_side(value)}"
    if control.kind == "power":
        light = next(one for one in plan.setup.lights if one.name == control.name)
        return f"{control.name} {dialled_power(value, step_stops=light.head.power_step_stops)}"
    return f"{control.name} {format_length(value, system=plan.setup.units)} high"


def _trouble(plan: RunOrder) -> tuple[str, ...]:
    found = []
    if plan.interrupted:
        found.append("Interrupted: the best order found so far.")
    for names in plan.colliding:
        told = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
        why = "cannot be kept" if len(names) == 1 else "cannot all be kept"
        found.append(f"The times of {told} {why}.")
    return tuple(found)


def _line(plan: RunOrder, number: int, turn: Turn) -> DayLine:
    sitter, one = turn.needs.sitter, turn.appointment
    eyes = format_length(sitter.eye_height_m, system=plan.setup.units)
    glasses = "no glasses" if sitter.glasses is None else one.glasses_words
    about = [sitter.posture, f"eyes {eyes}", glasses]
    window = _window(turn)
    about += [window] if window else []
    return DayLine(
        number=number,
        time=format_clock(turn.start_s),
        name=one.name,
        about=", ".join(about),
        changes=tuple(changes_text((change,)) for change in turn.changes),
        change_time=format_span(turn.setup_s) if turn.changes else "",
        notes=_notes(turn),
        free=format_span(60 * (turn.idle_s // 60)) if turn.idle_s >= _SHORT_WAIT_S else "",
    )


def _window(turn: Turn) -> str:
    """Return when somebody can come; empty for at any time."""
    one = turn.appointment
    if one.from_s is None and one.to_s is None:
        return ""
    if one.from_s is None:
        return f"until {format_clock(one.to_s or 0)}"
    if one.to_s is None:
        return f"from {format_clock(one.from_s)}"
    return f"{format_clock(one.from_s)}\N{EN DASH}{format_clock(one.to_s)}"


def _notes(turn: Turn) -> tuple[str, ...]:
    found = []
    if turn.moved:
        found.append(f"MOVED from {_window(turn)}: tell them")
    verdict = turn.needs.verdict
    if verdict is None:
        found.append("glasses not looked into: take a test shot")
    elif verdict in _VERDICTS:
        found.append(f"{_VERDICTS[verdict]}: {' and '.join(turn.needs.shown)}")
    return (*found, *turn.needs.notes)
