"""The best order for a few sitters, proven, by the constraint library.

A tour through all sitters with a start for each; in turn as few appointments moved as can be, by
as little as can be, the least re-rigging and waiting.
"""

from __future__ import annotations

import itertools
from threading import Thread
from typing import Any, Literal, NamedTuple

from tapemark.planning.run_orders.problem import (
    FAR_S,
    IDLE_PER_RE_RIGGING,
    OrderFound,
    OrderProblem,
)
from tapemark.watch import Watch

#: Work after which a proof is given up; counted by the library, the same on every machine. [-]
MOST_WORK = 1.5
LONGEST_S = 6.0  # stops it on a very slow machine [s]
_LOOK_AGAIN_S = 0.05
_Status = Literal["optimal", "feasible", "infeasible", "unknown"]


def prove(
    problem: OrderProblem, *, hint: tuple[int, ...], may_move: bool, watch: Watch
) -> OrderFound | None:
    """Return the best order there is, or None where the search by itself is as good.

    Where appointments must be moved, it may be proven only that no order moves fewer.

    Parameters
    ----------
    problem : OrderProblem
        A dozen sitters or so.
    hint : tuple of int
        A good order to begin with; empty where there is none.
    may_move : bool
        Whether appointments may be moved where they cannot all be kept.
    watch : Watch
        Asked whether to stop.
    """
    tour = _Tour(problem, may_move=may_move)
    order, proven = hint, True
    moved: tuple[int, ...] = ()
    for number, goal in enumerate(tour.goals()):
        tour.begin_with(order)
        answer = _solved(tour.model, goal=goal, watch=watch)
        if answer.status != "optimal":
            proven = False
            if answer.status != "feasible" or number == 0:
                break
        order, moved = tour.order(answer.solver), tour.moved(answer.solver)
        tour.model.add(goal <= round(answer.solver.objective_value))
    if not proven and (not moved or order == hint):
        return None
    return OrderFound(order=order, moved=moved, proven=proven, fewest=True)


def can_be_kept(problem: OrderProblem, *, watch: Watch) -> bool | None:
    """Return whether all times can be kept together; None where that could not be shown."""
    status = _solved(_Tour(problem, may_move=False).model, goal=None, watch=watch).status
    return {"optimal": True, "feasible": True, "infeasible": False}.get(status)


class _Tour:
    """A tour through all sitters, as the library has it."""

    def __init__(self, problem: OrderProblem, *, may_move: bool) -> None:
        from ortools.sat.python import cp_model

        self.model: Any = cp_model.CpModel()
        self._problem, self._may_move = problem, may_move
        self._arcs: dict[tuple[int, int], Any] = {}
        self._move: dict[int, Any] = {}
        self._shift: list[Any] = []
        self._starts = [self._start(sitter) for sitter in range(problem.count)]
        self._end = self.model.new_int_var(problem.start_s, problem.latest_end_s, "")
        for sitter, start in enumerate(self._starts):
            self.model.add(self._end >= start + int(problem.sitting_s[sitter]))
        self._add_arcs()

    def goals(self) -> list[Any]:
        """Return what is to be as little as can be, the most important first."""
        change_s = self._problem.change_s
        rigging = sum(
            int(change_s[before, after - 1]) * on
            for (before, after), on in self._arcs.items()
            if after
        )
        moving = [sum(self._move.values()), sum(self._shift)] if self._move else []
        # what is neither sitting nor re-rigging before the end is waiting
        return [*moving, (IDLE_PER_RE_RIGGING - 1) * rigging + self._end]

    def begin_with(self, order: tuple[int, ...]) -> None:
        """Hint at an order."""
        self.model.clear_hints()
        stops = [0, *(sitter + 1 for sitter in order), 0]
        on = set(itertools.pairwise(stops)) if order else set()
        for arc, var in self._arcs.items() if order else ():
            self.model.add_hint(var, arc in on)

    def order(self, solver: Any) -> tuple[int, ...]:
        """Return the order found."""
        after = {arc[0]: arc[1] for arc, var in self._arcs.items() if solver.boolean_value(var)}
        found, stop = [], after[0]
        while stop:
            found.append(stop - 1)
            stop = after[stop]
        return tuple(found)

    def moved(self, solver: Any) -> tuple[int, ...]:
        """Return whose appointments are moved."""
        return tuple(one for one, var in self._move.items() if solver.boolean_value(var))

    def _start(self, sitter: int) -> Any:
        problem, model = self._problem, self.model
        sitting = int(problem.sitting_s[sitter])
        first, last = int(problem.from_s[sitter]), int(problem.to_s[sitter]) - sitting
        horizon = problem.latest_end_s
        if not (self._may_move and sitter in problem.fixed):
            first = max(first, problem.start_s)
            if first > last:
                model.add_bool_or([])
            return model.new_int_var(first, max(first, min(last, horizon)), "")
        start, shift = (
            model.new_int_var(problem.start_s, horizon, ""),
            model.new_int_var(0, FAR_S, ""),
        )
        move = model.new_bool_var("")
        model.add(start + shift >= first)
        model.add(start - shift <= last)
        model.add(shift == 0).only_enforce_if(~move)
        self._move[sitter] = move
        self._shift.append(shift)
        return start

    def _add_arcs(self) -> None:
        problem, count = self._problem, self._problem.count
        for before, after in itertools.permutations(range(count + 1), 2):
            if self._too_late(before, after):
                continue
            on = self.model.new_bool_var("")
            self._arcs[before, after] = on
            if not after:
                continue
            ready: Any = problem.start_s
            if before:
                ready = self._starts[before - 1] + int(problem.sitting_s[before - 1])
            change = int(problem.change_s[before, after - 1])
            self.model.add(self._starts[after - 1] >= ready + change).only_enforce_if(on)
        self.model.add_circuit([(*arc, on) for arc, on in self._arcs.items()])

    def _too_late(self, before: int, after: int) -> bool:
        """Return whether one stop cannot directly follow another for their times alone."""
        problem = self._problem
        if self._may_move or not before or not after:
            return False
        first = max(int(problem.from_s[before - 1]), problem.start_s)
        ready = first + int(problem.sitting_s[before - 1] + problem.change_s[before, after - 1])
        return ready + int(problem.sitting_s[after - 1]) > int(problem.to_s[after - 1])


class _Answer(NamedTuple):
    solver: Any
    status: _Status


def _solved(model: Any, *, goal: Any, watch: Watch) -> _Answer:
    """Return what the library finds; it runs aside, so that it can be stopped."""
    from ortools.sat.python import cp_model

    if goal is not None:
        model.minimize(goal)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1  # the same answer each time
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = MOST_WORK
    solver.parameters.max_time_in_seconds = LONGEST_S
    solver.parameters.catch_sigint_signal = False
    found: list[Any] = []
    aside = Thread(target=lambda: found.append(solver.solve(model)))
    aside.start()
    while aside.is_alive():
        aside.join(_LOOK_AGAIN_S)
        if watch.stopped:
            solver.stop_search()
    named: dict[Any, _Status] = {
        cp_model.OPTIMAL: "optimal",
        cp_model.FEASIBLE: "feasible",
        cp_model.INFEASIBLE: "infeasible",
    }
    return _Answer(solver=solver, status=named.get(found[0], "unknown") if found else "unknown")
