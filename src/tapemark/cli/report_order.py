"""An order of sitters as text that one reads aloud to an assistant."""

from collections.abc import Iterator

from tapemark.cli.lines import folded
from tapemark.planning import RunOrder, Turn, changes_text
from tapemark.services import OrderReport
from tapemark.units import format_clock, format_length, format_span

_INDENT = 11
_MOST_NAMES = 6
_SHORT_WAIT_S = 60
_HARD = "\N{NO-BREAK SPACE}"


def order_text(report: OrderReport) -> str:
    """Return an order as text: first what it costs, then sitter by sitter, then what to know."""
    plan = report.plan
    lines = [*_head(plan), "", *_trouble(plan)]
    for position, turn in enumerate(plan.turns, 1):
        lines += _turn(plan, position, turn)
    lines += ["", *(line for note in (*_limits(plan), *report.notes) for line in _note(note))]
    return "\n".join(lines)


def _head(plan: RunOrder) -> Iterator[str]:
    count = "1 sitter" if len(plan.turns) == 1 else f"{len(plan.turns)} sitters"
    yield plan.setup.title or "Untitled setup"
    yield f"{count}, {format_clock(plan.start_s)} to {format_clock(plan.end_s)}"
    waiting = f", waiting {format_span(plan.idle_s)}" if plan.idle_s >= _SHORT_WAIT_S else ""
    needed = f"Re-rigging {format_span(plan.re_rigging_s)}{waiting}: {_how_good(plan)}"
    yield from folded(needed, indent=0)
    if plan.list_order_s > plan.re_rigging_s:
        yield f"In the order of the list it would take {format_span(plan.list_order_s)}"


def _how_good(plan: RunOrder) -> str:
    """Return how far the order is from the best there is."""
    if plan.proven:
        return "no order is better"
    if not any(turn.appointment.fixed for turn in plan.turns):
        return f"the best found; no order needs less than {format_span(plan.least_s)}"
    least = format_span(plan.least_s)
    return f"the best found; {least} if all could come at any time"


def _trouble(plan: RunOrder) -> Iterator[str]:
    if plan.interrupted:
        yield "INTERRUPTED: the best order found so far."
    if plan.moved:
        count = len(plan.moved)
        kept = "1 appointment" if count == 1 else f"{count} appointments"
        fewest = "the fewest there are" if plan.fewest else "the fewest found"
        yield from folded(f"MOVE {kept} ({fewest}): {_names(plan.moved)}", indent=0)
    for names in plan.colliding:
        called = [_called(name) for name in names]
        told = called[0] if len(names) == 1 else f"{', '.join(called[:-1])} and {called[-1]}"
        why = "cannot be kept" if len(names) == 1 else "cannot all be kept"
        yield from folded(f"The times of {told} {why}.", indent=0)
    not_looked = [turn for turn in plan.not_clear if turn.needs.verdict is None]
    if not_looked:
        yield from folded(f"Glasses not looked into: {_names(not_looked)}", indent=0)
    shown = [turn for turn in plan.not_clear if turn.needs.verdict is not None]
    if shown:
        yield from folded(f"LENSES not clear: {_names(shown)}", indent=0)
    if plan.interrupted or plan.moved or plan.not_clear:
        yield ""


def _turn(plan: RunOrder, position: int, turn: Turn) -> Iterator[str]:
    sitter, one = turn.needs.sitter, turn.appointment
    eyes = format_length(sitter.eye_height_m, system=plan.setup.units)
    glasses = "no glasses" if sitter.glasses is None else one.glasses_words
    told = f"{_called(one.name)}: {sitter.posture}, eyes at {eyes}, {glasses}"
    if one.fixed:
        told += f" ({_window(turn)})"
    yield f"{format_clock(turn.start_s):>6} {position:>3} {told}"
    if turn.moved:
        yield from folded(
            f"MOVE from {_window(turn)} to {format_clock(turn.start_s)}", indent=_INDENT
        )
    if turn.changes:
        told = f"{_unbroken(turn)} [{format_span(turn.setup_s).replace(' ', _HARD)}]"
        yield from (line.replace(_HARD, " ") for line in folded(told, indent=_INDENT))
    else:
        yield f"{'':<{_INDENT}}nothing to change"
    if turn.idle_s >= _SHORT_WAIT_S:
        yield f"{'':<{_INDENT}}then {format_span(60 * (turn.idle_s // 60))} free"
    if turn.needs.verdict not in ("clear", None):
        shown = " and ".join(turn.needs.shown)
        verb = "shows" if len(turn.needs.shown) == 1 else "show"
        yield f"{'':<{_INDENT}}LENSES {turn.needs.verdict}: {shown} {verb}"


def _unbroken(turn: Turn) -> str:
    """Return the changes with breaks only between them."""
    return ", ".join(changes_text((one,)).replace(" ", _HARD) for one in turn.changes)


def _window(turn: Turn) -> str:
    one = turn.appointment
    if one.from_s is None:
        return "any time" if one.to_s is None else f"until {format_clock(one.to_s)}"
    if one.to_s is None:
        return f"from {format_clock(one.from_s)} on"
    return f"{format_clock(one.from_s)}\N{EN DASH}{format_clock(one.to_s)}"


def _limits(plan: RunOrder) -> list[str]:
    """Return what does not follow the eyes, with for whom."""
    who: dict[str, list[Turn]] = {}
    for turn in plan.turns:
        for note in turn.needs.notes:
            who.setdefault(note, []).append(turn)
    return [f"{note} ({_names(turns)})" for note, turns in who.items()]


def _names(turns: tuple[Turn, ...] | list[Turn]) -> str:
    names = [_called(turn.appointment.name) for turn in turns]
    more = len(names) - _MOST_NAMES
    return ", ".join(names[:_MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def _called(name: str) -> str:
    """Return a name so that a bare number is not taken for a count."""
    return f"no. {name}" if name.isdigit() else name


def _note(text: str) -> Iterator[str]:
    yield from folded(f"note {text}", indent=0)
