"""A good order for many sitters, by the routing library's local search.

One vehicle leaves from how things stand, visits every sitter and ends anywhere; the way between
two sitters is the re-rigging, the clock runs along with it, and waiting lengthens the day.
"""

from __future__ import annotations

from typing import Any

from tapemark.planning.run_orders.problem import FAR_S, IDLE_PER_RE_RIGGING, OrderProblem
from tapemark.watch import Watch

#: Steps of the search; a fixed number, so that the same list gives the same order anywhere.
STEPS = 1_200_000
#: An appointment that is not kept weighs more than any re-rigging of a day. [s]
DROPPED_S = 100_000_000
#: A second by which an appointment is missed weighs as much as this of waiting. [s]
SHIFT_WEIGHT = 10 * IDLE_PER_RE_RIGGING
#: Stops all searching of one order on a very slow machine, where the order may then differ. [s]
LONGEST_S = 8.0
_SHORTEST_MS = 50
_TELL_EVERY = 65_536


def route(
    problem: OrderProblem,
    *,
    moved: tuple[int, ...] | None = None,
    begin_with: tuple[int, ...] = (),
    count_idle: bool = True,
    watch: Watch,
    steps: int = STEPS,
    longest_s: float = LONGEST_S,
) -> tuple[int, ...]:
    """Return a good order; sitters whose times cannot be kept are left out of it.

    Parameters
    ----------
    problem : OrderProblem
        The sitters.
    moved : tuple of int, optional
        Those whose times need not be kept, but are missed by as little as can be; nobody else
        is left out then.
    begin_with : tuple of int
        An order of all sitters that keeps everybody's times but those of the moved.
    count_idle : bool
        Whether waiting counts beside re-rigging.
    watch : Watch
        Told how far it is, and asked to stop.
    steps : int
        How long to search.
    longest_s : float
        Ends it on a slow machine. [s]

    Returns
    -------
    tuple of int
        Empty where no order was found.
    """
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2

    count = problem.count
    nodes = pywrapcp.RoutingIndexManager(count + 2, 1, [0], [count + 1])
    model = pywrapcp.RoutingModel(nodes)
    _describe(model, nodes, problem, moved=moved, count_idle=count_idle)
    limit = _Limit(model=model, watch=watch, steps=steps, count=count)
    model.AddSearchMonitor(model.solver().CustomLimit(limit.reached))
    wish = pywrapcp.DefaultRoutingSearchParameters()
    wish.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    wish.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    wish.time_limit.FromMilliseconds(max(round(1000 * longest_s), _SHORTEST_MS))
    if begin_with:
        model.CloseModelWithParameters(wish)
        stops = [sitter + 1 for sitter in begin_with]
        begin = model.ReadAssignmentFromRoutes([stops], True)  # noqa: FBT003 (its only form)
        found = model.SolveFromAssignmentWithParameters(begin, wish)
    else:
        found = model.SolveWithParameters(wish)
    if found is None:
        return ()
    order, index = [], model.Start(0)
    while not model.IsEnd(index):
        index = found.Value(model.NextVar(index))
        order.append(nodes.IndexToNode(index) - 1)
    return tuple(order[:-1])


def _describe(
    model: Any,
    nodes: Any,
    problem: OrderProblem,
    *,
    moved: tuple[int, ...] | None,
    count_idle: bool,
) -> None:
    """Tell the library about changes, times and who may be left out."""
    count = problem.count
    change = [[0] * (count + 2) for _ in range(count + 2)]
    clock = [[0] * (count + 2) for _ in range(count + 2)]
    for before in range(count + 1):
        sitting = int(problem.sitting_s[before - 1]) if before else 0
        clock[before][count + 1] = sitting
        for after in range(1, count + 1):
            change_s = int(problem.change_s[before, after - 1])
            change[before][after] = (IDLE_PER_RE_RIGGING - 1) * change_s
            clock[before][after] = change_s + sitting
    model.SetArcCostEvaluatorOfAllVehicles(model.RegisterTransitMatrix(change))
    from_zero = False
    ticking = model.RegisterTransitMatrix(clock)
    model.AddDimension(ticking, 2 * FAR_S, 2 * FAR_S, from_zero, "clock")
    times = model.GetDimensionOrDie("clock")
    times.SetSpanCostCoefficientForAllVehicles(int(count_idle))
    times.CumulVar(model.Start(0)).SetRange(problem.start_s, problem.start_s)
    for sitter in range(count):
        index = nodes.NodeToIndex(sitter + 1)
        first = max(int(problem.from_s[sitter]), problem.start_s)
        last = int(problem.to_s[sitter] - problem.sitting_s[sitter])
        if moved is not None and sitter in moved:
            times.SetCumulVarSoftLowerBound(index, first, SHIFT_WEIGHT)
            times.SetCumulVarSoftUpperBound(index, max(last, problem.start_s), SHIFT_WEIGHT)
            continue
        reachable = first <= last  # if not, nobody can keep it, and it is left out
        times.CumulVar(index).SetRange(*((first, last) if reachable else (2 * FAR_S, 2 * FAR_S)))
        if moved is None and sitter in problem.fixed:
            model.AddDisjunction([index], DROPPED_S)


class _Limit:
    """Counts the steps of a search and says when it is to end."""

    def __init__(self, *, model: Any, watch: Watch, steps: int, count: int) -> None:
        self._model, self._watch = model, watch
        self._steps, self._count, self._done = steps, count, 0

    def reached(self) -> bool:
        self._done += 1
        if self._done % _TELL_EVERY == 0:
            share = min(self._done / self._steps, 1.0)
            self._watch.tell(f"{self._count} sitters: {100 * share:.0f} % of the orders looked at")
        return self._done > self._steps or self._watch.stopped
