"""In which order do many sitters come, so that the least is re-rigged between them?"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tapemark.planning.run_orders.appointments import Appointment
from tapemark.planning.run_orders.controls import (
    Control,
    HandTimes,
    controls_of,
    re_rigging_s,
    setup_for,
)
from tapemark.planning.run_orders.problem import FAR_S, OrderProblem, Timing, timings
from tapemark.planning.run_orders.search import collisions, search_order
from tapemark.planning.run_orders.sitter_changes import Change, changes_between
from tapemark.planning.run_orders.sitter_needs import SitterNeeds, needs_of
from tapemark.studio import Setup, changed
from tapemark.watch import Watch


@dataclass(frozen=True, kw_only=True)
class Turn:
    """One sitter in the order.

    Attributes
    ----------
    appointment : Appointment
        Who, and when they can.
    needs : SitterNeeds
        How everything is set for them.
    changes : tuple of Change
        What is set anew before them.
    setup_s : int
        How long that takes. [s]
    idle_s : int
        How long everybody then waits for them. [s]
    start_s, end_s : int
        Their sitting, from midnight. [s]
    moved : bool
        Whether it is not when they wished.
    """

    appointment: Appointment
    needs: SitterNeeds
    changes: tuple[Change, ...]
    setup_s: int
    idle_s: int
    start_s: int
    end_s: int
    moved: bool


@dataclass(frozen=True, kw_only=True)
class RunOrder:
    """The order of a day.

    Attributes
    ----------
    setup : Setup
        What it starts from.
    controls : tuple of Control
        What is set for each sitter.
    begins_with : tuple of float
        How the controls stand before the first change.
    start_s : int
        When the first change begins, from midnight. [s]
    sitting_s : int
        How long a sitting takes where the list does not say. [s]
    turns : tuple of Turn
        First to last.
    colliding : tuple of tuples of str
        Names whose appointments cannot all be kept together, one set for each trouble; a set
        has nobody in it who does not matter.
    proven : bool
        Whether no order moves fewer appointments, and none of those needs less re-rigging, ten
        minutes of waiting counted as one.
    fewest : bool
        Whether no order moves fewer appointments.
    interrupted : bool
        Whether it was stopped before it was done.
    least_s : int
        Re-rigging that no order falls short of, even if all could come at any time. [s]
    list_order_s : int
        Re-rigging in the order of the list. [s]
    """

    setup: Setup
    controls: tuple[Control, ...]
    begins_with: tuple[float, ...]
    start_s: int
    sitting_s: int
    turns: tuple[Turn, ...]
    colliding: tuple[tuple[str, ...], ...]
    proven: bool
    fewest: bool
    interrupted: bool
    least_s: int
    list_order_s: int

    @property
    def re_rigging_s(self) -> int:
        """All changes together. [s]"""
        return sum(turn.setup_s for turn in self.turns)

    @property
    def idle_s(self) -> int:
        """All waiting for sitters together. [s]"""
        return sum(turn.idle_s for turn in self.turns)

    @property
    def end_s(self) -> int:
        """When the last sitting ends. [s]"""
        return self.turns[-1].end_s if self.turns else self.start_s

    @property
    def moved(self) -> tuple[Turn, ...]:
        """Those whose appointments cannot be kept."""
        return tuple(turn for turn in self.turns if turn.moved)

    @property
    def not_clear(self) -> tuple[Turn, ...]:
        """Those whose lenses still show something, or were not looked at."""
        return tuple(turn for turn in self.turns if turn.needs.verdict != "clear")

    def setup_for(self, name: str) -> Setup:
        """Return the whole setup as it stands for one sitter of the order.

        Raises
        ------
        LookupError
            Nobody is called so.
        """
        needs = self._turn(name).needs
        return setup_for(self.setup, needs.sitter, needs.settings, controls=self.controls)

    def _turn(self, name: str) -> Turn:
        for turn in self.turns:
            if turn.appointment.name == name:
                return turn
        names = ", ".join(f'"{turn.appointment.name}"' for turn in self.turns)
        raise LookupError(f'nobody in the order is called "{name}"; there are {names}')


def run_order(
    setup: Setup,
    appointments: Sequence[Appointment],
    *,
    start_s: int,
    sitting_s: int,
    times: HandTimes | None = None,
    watch: Watch | None = None,
) -> RunOrder:
    """Return the order that moves the fewest appointments, then needs the least re-rigging.

    Parameters
    ----------
    setup : Setup
        A setup that is right for its sitter; it is what the day starts from.
    appointments : sequence of Appointment
        Who comes.
    start_s : int
        When the first change begins, from midnight. [s]
    sitting_s : int
        How long a sitting takes. [s]
    times : HandTimes, optional
        How long each change takes.
    watch : Watch, optional
        Told how far it is, and asked to stop.

    Notes
    -----
    The same list gives the same order each time. Changes are made one after the other by one
    pair of hands, before the sitter comes in. Others in the frame of the setup are left out.
    """
    watch = Watch() if watch is None else watch
    setup = changed(setup, {"companions": ()})
    controls = controls_of(setup, times=HandTimes() if times is None else times)

    def busy(done: int) -> bool:
        watch.tell(f"looking into glasses: {done} of {len(appointments)} sitters")
        return watch.stopped

    needs = needs_of(setup, appointments, controls=controls, busy=busy)
    return _ordered(
        _Day(
            setup=setup,
            controls=controls,
            begins_with=tuple(one.start for one in controls),
            start_s=start_s,
            sitting_s=sitting_s,
            appointments=tuple(appointments),
            needs=needs,
        ),
        watch=watch,
    )


def reorder(
    plan: RunOrder,
    *,
    done: Sequence[str],
    now_s: int,
    absent: Collection[str] = (),
    late: Mapping[str, int] | None = None,
    watch: Watch | None = None,
) -> RunOrder:
    """Return the order of those still to come, from how things stand now.

    Parameters
    ----------
    plan : RunOrder
        The order so far.
    done : sequence of str
        Who has been photographed, the last one last: everything is still set for them.
    now_s : int
        The time, from midnight. [s]
    absent : collection of str
        Who does not come.
    late : mapping of str to int, optional
        Who comes later than planned, and from when on; they have no other times then. [s]
    watch : Watch, optional
        Told how far it is, and asked to stop.

    Returns
    -------
    RunOrder
        Those still to come. Somebody whose time has passed counts as moved.

    Raises
    ------
    LookupError
        Nobody in the order is called so.
    """
    late = {} if late is None else late
    known = {name: plan._turn(name) for name in (*done, *absent, *late)}
    gone = {*done, *absent}
    coming = [turn for turn in plan.turns if turn.appointment.name not in gone]
    return _ordered(
        _Day(
            setup=plan.setup,
            controls=plan.controls,
            begins_with=known[done[-1]].needs.settings if done else plan.begins_with,
            start_s=now_s,
            sitting_s=plan.sitting_s,
            appointments=tuple(_delayed(turn.appointment, late) for turn in coming),
            needs=tuple(turn.needs for turn in coming),
        ),
        watch=Watch() if watch is None else watch,
    )


def _delayed(appointment: Appointment, late: Mapping[str, int]) -> Appointment:
    if appointment.name not in late:
        return appointment
    return replace(appointment, from_s=late[appointment.name], to_s=None)


@dataclass(frozen=True, kw_only=True)
class _Day:
    """Who comes, what they need, and how things stand at the start."""

    setup: Setup
    controls: tuple[Control, ...]
    begins_with: tuple[float, ...]
    start_s: int
    sitting_s: int
    appointments: tuple[Appointment, ...]
    needs: tuple[SitterNeeds, ...]

    def problem(self) -> OrderProblem:
        """Return it as numbers."""
        settings = np.array([self.begins_with, *(one.settings for one in self.needs)])
        spans = [
            self.sitting_s if one.sitting_s is None else one.sitting_s for one in self.appointments
        ]
        opened = [0 if one.from_s is None else one.from_s for one in self.appointments]
        closing = [FAR_S if one.to_s is None else one.to_s for one in self.appointments]
        changing = re_rigging_s(settings[:, None], settings[None, 1:], controls=self.controls)
        return OrderProblem(
            change_s=changing.astype(int),
            sitting_s=np.array(spans, dtype=int),
            from_s=np.array(opened, dtype=int),
            to_s=np.array(closing, dtype=int),
            start_s=self.start_s,
        )


def _ordered(day: _Day, *, watch: Watch) -> RunOrder:
    problem = day.problem()
    found = search_order(problem, watch=watch)
    together = collisions(problem, found.moved, watch=watch) if not watch.stopped else ()
    listed = timings(problem, tuple(range(problem.count)), moved=tuple(range(problem.count)))
    names = [one.name for one in day.appointments]
    return RunOrder(
        setup=day.setup,
        controls=day.controls,
        begins_with=day.begins_with,
        start_s=day.start_s,
        sitting_s=day.sitting_s,
        turns=_turns(
            day, found.order, timings(problem, found.order, moved=found.moved), found.moved
        ),
        colliding=tuple(tuple(names[index] for index in group) for group in together),
        proven=found.proven,
        fewest=found.fewest,
        interrupted=watch.stopped,
        least_s=found.least_s,
        list_order_s=sum(one.change_s for one in listed),
    )


def _turns(
    day: _Day, order: tuple[int, ...], times: tuple[Timing, ...], moved: tuple[int, ...]
) -> tuple[Turn, ...]:
    before, found = day.begins_with, []
    for sitter, timing in zip(order, times, strict=True):
        needs = day.needs[sitter]
        found.append(
            Turn(
                appointment=day.appointments[sitter],
                needs=needs,
                changes=changes_between(
                    before, needs.settings, controls=day.controls, setup=day.setup
                ),
                setup_s=timing.change_s,
                idle_s=timing.idle_s,
                start_s=timing.start_s,
                end_s=timing.end_s,
                moved=sitter in moved,
            )
        )
        before = needs.settings
    return tuple(found)
