"""Order the sitters of a day: who comes when, and what is changed before each."""

from dataclasses import dataclass
from pathlib import Path

from tapemark.planning import Change, RunOrder, Turn, Watch, run_order
from tapemark.services.plain import Plain, as_plain, rounded
from tapemark.store import read_setup, read_sitters
from tapemark.units import format_clock


@dataclass(frozen=True, kw_only=True)
class OrderReport:
    """An order, and what was noted on the way.

    Attributes
    ----------
    plan : RunOrder
        The order.
    notes : tuple of str
        What was passed over in the list, or assumed.
    """

    plan: RunOrder
    notes: tuple[str, ...]

    @property
    def found_trouble(self) -> bool:
        """Whether somebody must be moved, lenses are not clear, or it was interrupted."""
        return bool(self.plan.moved or self.plan.not_clear or self.plan.interrupted)


def order_sitters(
    sitters: Path, *, setup: Path, start_s: int, sitting_s: int, watch: Watch | None = None
) -> OrderReport:
    """Return the order of the sitters in a list, photographed with a setup.

    Parameters
    ----------
    sitters : Path
        The list.
    setup : Path
        The setup that the day starts from.
    start_s : int
        When the first change begins, from midnight. [s]
    sitting_s : int
        How long a sitting takes. [s]
    watch : Watch, optional
        Told how far it is, and asked to stop.
    """
    studio = read_setup(setup)
    listed = read_sitters(sitters, sitting_s=sitting_s)
    plan = run_order(studio, listed.appointments, start_s=start_s, sitting_s=sitting_s, watch=watch)
    return OrderReport(
        plan=plan, notes=(*listed.notes, *order_notes(plan, people=len(studio.people)))
    )


def order_notes(plan: RunOrder, *, people: int) -> tuple[str, ...]:
    """Return what was assumed for an order, made with a setup of some people."""
    found = []
    guessed = [turn for turn in plan.turns if turn.needs.eye_height_guessed]
    if guessed:
        found.append(
            f"eye heights of {len(guessed)} follow from their body heights, ±4 cm: measure them "
            "at the stool where it matters"
        )
    if people > 1:
        found.append("the others in the frame of the setup are left out: one sitter at a time")
    found.append(
        "set-up times are common practice for one pair of hands, no published source; on your "
        "set they may be half or twice as long"
    )
    return tuple(found)


def order_as_plain(report: OrderReport) -> Plain:
    """Return an order as dictionaries, lists, numbers and text.

    Returns
    -------
    dict
        ``title``; ``start`` and ``end``; ``re_rigging_s``, ``idle_s``, ``least_s`` that no
        order falls short of, and ``list_order_s``; ``proven``, ``fewest_moved`` and
        ``interrupted``; ``order``, a list of sitters with ``changes`` and ``settings``;
        ``moved`` names; ``colliding`` sets of names; ``notes``.
    """
    plan = report.plan
    return {
        "title": plan.setup.title,
        "start": format_clock(plan.start_s),
        "end": format_clock(plan.end_s),
        "re_rigging_s": plan.re_rigging_s,
        "idle_s": plan.idle_s,
        "least_s": plan.least_s,
        "list_order_s": plan.list_order_s,
        "proven": plan.proven,
        "fewest_moved": plan.fewest,
        "interrupted": plan.interrupted,
        "order": [_turn(plan, position, turn) for position, turn in enumerate(plan.turns, 1)],
        "moved": [turn.appointment.name for turn in plan.moved],
        "colliding": [list(names) for names in plan.colliding],
        "notes": list(report.notes),
    }


def _turn(plan: RunOrder, position: int, turn: Turn) -> Plain:
    one, needs = turn.appointment, turn.needs
    return {
        "position": position,
        "name": one.name,
        "line": one.line,
        "start": format_clock(turn.start_s),
        "end": format_clock(turn.end_s),
        "start_s": turn.start_s,
        "end_s": turn.end_s,
        "setup_s": turn.setup_s,
        "idle_s": turn.idle_s,
        "from": None if one.from_s is None else format_clock(one.from_s),
        "to": None if one.to_s is None else format_clock(one.to_s),
        "moved": turn.moved,
        "posture": needs.sitter.posture,
        "eye_height_m": rounded(needs.sitter.eye_height_m),
        "glasses": one.glasses_words,
        "verdict": needs.verdict,
        "shown": list(needs.shown),
        "changes": [_change(change) for change in turn.changes],
        "settings": [
            {"what": control.kind, "name": control.name, "value": rounded(value)}
            for control, value in zip(plan.controls, needs.settings, strict=True)
        ],
        "notes": list(needs.notes),
    }


def _change(change: Change) -> Plain:
    plain: Plain = as_plain(change)
    return {("what" if key == "kind" else key): value for key, value in plain.items()}
