"""What the page Day has computed: the order of a list, a new order on the day, the day on paper."""

from collections.abc import Mapping, Sequence
from typing import Any

from tapemark.web.tasks import Plain, Tell


def order(
    *, tell: Tell, setup: Mapping[str, Any], sitters: str, start_s: int, sitting_s: int
) -> Plain:
    """Return ``order``, as it is kept, and ``notes``: what was assumed."""
    from tapemark.planning import run_order
    from tapemark.services.day_keeping import day_as_kept
    from tapemark.services.run_order import order_notes
    from tapemark.store import sitters_from_text
    from tapemark.studio import setup_from_mapping
    from tapemark.web.finishing import FinishingWatch

    studio = setup_from_mapping(setup, name="the day's setup")
    listed = sitters_from_text(sitters, name="the list", sitting_s=sitting_s)
    plan = run_order(
        studio,
        listed.appointments,
        start_s=start_s,
        sitting_s=sitting_s,
        watch=FinishingWatch(tell),
    )
    notes = [*listed.notes, *order_notes(plan, people=len(studio.people))]
    return {"order": day_as_kept(plan), "notes": notes}


def rearrange(
    *,
    tell: Tell,
    order: Mapping[str, Any],
    done: Sequence[str],
    now_s: int,
    absent: Sequence[str] = (),
    late: Mapping[str, int] | None = None,
    back: Mapping[str, Any] | None = None,
    first: str = "",
) -> Plain:
    """Return ``order``: those still to come, from how things stand."""
    from tapemark.services.day_keeping import day_as_kept, day_from_kept, rearranged, taken_next
    from tapemark.web.finishing import FinishingWatch

    plan, watch = day_from_kept(order), FinishingWatch(tell)
    if first:
        found = taken_next(plan, first, done=done, now_s=now_s, watch=watch)
    else:
        found = rearranged(
            plan, done=done, now_s=now_s, absent=absent, late=late, back=back, watch=watch
        )
    return {"order": day_as_kept(found)}


def paper(*, tell: Tell, order: Mapping[str, Any], notes: Sequence[str], paper: str) -> Plain:
    """Return ``file``: the day on paper, as PDF."""
    from tapemark.services.day_keeping import day_from_kept
    from tapemark.services.paper.day_sheet import day_sheet_bytes
    from tapemark.services.run_order import OrderReport

    del tell
    report = OrderReport(plan=day_from_kept(order), notes=tuple(notes))
    return {"file": day_sheet_bytes(report, paper=paper)}  # type: ignore[arg-type]
