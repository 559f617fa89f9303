"""A day as it stands: who was there, who comes next, what is changed before them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from tapemark.errors import NotKept, TapemarkError, UnitError
from tapemark.planning.run_orders.day_sheet import DayLine, day_sheet
from tapemark.services.day_keeping import day_from_kept
from tapemark.units import format_clock, format_span, parse_clock_s
from tapemark.web.apart import names_apart

if TYPE_CHECKING:
    from tapemark.store import Kept, Library

DAY = "day"
MINUTE_S, DAY_S = 60, 86_400
BEFORE_S, AFTER_S = (
    2 * 3600,
    4 * 3600,
)  # around a day, within which the clock of this machine counts
LATE_S = 120  # less is no delay worth a word

Body = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A day as a page shows it.

    Attributes
    ----------
    id, name, revision
        Of the kept session.
    title, span : str
        Setup that it starts from; how many and from when to when.
    begins_with, trouble, notes : tuple of str
        How everything stands at first; what cannot be kept; what was assumed.
    coming : tuple of DayLine
        Those still to come, the next one first.
    done : tuple of pairs
        Who was there, and when.
    absent : tuple of str
        Who was given up.
    now : str
        The time that counts.
    own_clock : bool
        Whether that is the time of this machine.
    delay : str
        How much later than planned it is; empty for less than two minutes.
    can_undo : bool
        Whether the last step can be taken back.
    last : str
        What the last step was.
    """

    id: str
    name: str
    revision: int
    title: str
    span: str
    begins_with: tuple[str, ...]
    trouble: tuple[str, ...]
    notes: tuple[str, ...]
    coming: tuple[DayLine, ...]
    done: tuple[tuple[str, str], ...]
    absent: tuple[str, ...]
    now: str
    own_clock: bool
    delay: str
    can_undo: bool
    last: str

    @property
    def next(self) -> DayLine | None:
        """Who comes next."""
        return self.coming[0] if self.coming else None


def get_day(library: "Library", thing_id: str) -> "Kept":
    """Return a day.

    Raises
    ------
    NotKept
        There is none of that id.
    """
    kept = library.get(thing_id)
    if kept.kind != "session" or kept.body.get("what") != DAY:
        raise NotKept(f"a day of id {thing_id[:40]!r}")
    return kept


def new_day(
    *, setup_id: str, setup: Mapping[str, Any], sitters: str, start_s: int, sitting_s: int
) -> Body:
    """Return the body of a day that has no order yet."""
    return {
        "what": DAY,
        "setup_id": setup_id,
        "setup": dict(setup),
        "sitters": sitters,
        "start_s": start_s,
        "sitting_s": sitting_s,
        "order": None,
        "notes": [],
        "done": [],
        "absent": {},
        "last": "",
    }


def shown_day(kept: "Kept", *, clock: datetime | None = None) -> Shown | None:
    """Return a day as a page shows it; None where there is no order yet.

    Raises
    ------
    TapemarkError
        What is kept cannot be read.
    """
    body = kept.body
    if not body.get("order"):
        return None
    try:
        plan = day_from_kept(body["order"])
        done = {one["name"]: one["at_s"] for one in body["done"]}
        sheet = day_sheet(plan, notes=tuple(body["notes"]))
        now_s, own_clock = now_of(body, clock=clock)
        apart = names_apart(
            {
                *(light["name"] for light in body["setup"].get("light", ())),
                *(turn.appointment.name for turn in plan.turns),
                *body["absent"],
                *done,
            }
        )
        coming = tuple(
            replace(
                line,
                changes=tuple(apart(one) for one in line.changes),
                notes=tuple(apart(one) for one in line.notes),
            )
            for line, turn in zip(sheet.lines, plan.turns, strict=True)
            if turn.appointment.name not in done
        )
        first = next((one for one in plan.turns if one.appointment.name not in done), None)
        due_s = plan.start_s if first is None else first.start_s
        late_s = now_s - due_s if own_clock and first is not None else 0
    except (KeyError, TypeError, ValueError, LookupError) as error:
        raise TapemarkError(f'The day "{kept.name}" cannot be read: {error}') from error
    return Shown(
        id=kept.id,
        name=kept.name,
        revision=kept.revision,
        title=sheet.title,
        span=sheet.span,
        begins_with=tuple(apart(one) for one in sheet.begins_with),
        trouble=tuple(apart(one) for one in sheet.trouble),
        notes=tuple(apart(one) for one in sheet.notes),
        coming=coming,
        done=tuple((name, format_clock(at_s)) for name, at_s in done.items()),
        absent=tuple(body["absent"]),
        now=format_clock(now_s),
        own_clock=own_clock,
        delay=format_span(60 * (late_s // 60)) if late_s >= LATE_S else "",
        can_undo=bool(body.get("last")) and kept.can_undo,
        last=apart(body.get("last", "")),
    )


def now_of(body: Mapping[str, Any], *, clock: datetime | None = None) -> tuple[int, bool]:
    """Return the time that counts, and whether it is this machine's. [s]

    Far from the day's own hours, such as the evening before, the day's own plan is the clock: it
    is when the last sitting ended.
    """
    clock = datetime.now() if clock is None else clock
    now_s = clock.hour * 3600 + clock.minute * 60 + clock.second
    turns = body["order"]["turns"]
    end_s = max([body["start_s"], *(turn["end_s"] for turn in turns)])
    if body["start_s"] - BEFORE_S <= now_s <= end_s + AFTER_S:
        return now_s, True
    done = {one["name"] for one in body["done"]}
    ends = [turn["end_s"] for turn in turns if turn["appointment"]["name"] in done]
    return max([body["order"]["start_s"], *ends]), False


def turn_of(body: Mapping[str, Any], name: str) -> dict[str, Any]:
    """Return the turn of somebody who is still to come.

    Raises
    ------
    TapemarkError
        There is nobody of that name, or they were there already.
    """
    if any(one["name"] == name for one in body["done"]):
        raise TapemarkError(f'"{name[:60]}" was photographed already.')
    for turn in (body["order"] or {"turns": ()})["turns"]:
        if turn["appointment"]["name"] == name:
            return dict(turn)
    raise TapemarkError(f'Nobody to come is called "{name[:60]}".')


def done_since(body: Mapping[str, Any]) -> list[str]:
    """Return who was photographed since the order was made, the last one last."""
    there = {turn["appointment"]["name"] for turn in body["order"]["turns"]}
    return [one["name"] for one in body["done"] if one["name"] in there]


def with_done(body: Mapping[str, Any], name: str, *, now_s: int) -> Body:
    """Return a day after somebody was photographed."""
    turn_of(body, name)
    done = [*body["done"], {"name": name, "at_s": now_s}]
    return {**body, "done": done, "last": f"{name} done"}


def comes_at(text: str, *, now_s: int) -> int:
    """Return when somebody who is late will be there, from midnight. [s]

    Raises
    ------
    TapemarkError
        It is no time, or has passed.
    """
    words = " ".join(text.split())
    if words.startswith("+") and words[1:].isascii() and words[1:].isdigit() and len(words) < 5:
        return now_s + MINUTE_S * int(words[1:])
    try:
        at_s = parse_clock_s(words)
    except UnitError as error:
        raise TapemarkError(f"When will they be there? {error}") from error
    if at_s < now_s:
        raise TapemarkError(
            f"{format_clock(at_s)} has passed: it is {format_clock(now_s)}. Give a later time."
        )
    return at_s
