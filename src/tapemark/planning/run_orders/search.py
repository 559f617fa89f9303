"""The order that needs the least re-rigging under everybody's times."""

from dataclasses import replace
from time import monotonic

import numpy as np

from tapemark.planning.run_orders.bound import least_re_rigging_s
from tapemark.planning.run_orders.greedy import greedy_order
from tapemark.planning.run_orders.problem import (
    IDLE_PER_RE_RIGGING,
    OrderFound,
    OrderProblem,
    score,
)
from tapemark.planning.run_orders.proof import can_be_kept, prove
from tapemark.planning.run_orders.routing import LONGEST_S, STEPS, route
from tapemark.watch import Watch

#: Up to so many sitters, or different settings where all can come at any time, the order is
#: proven to be the best.
MOST_PROVEN = 11
#: The search for so few takes this many steps for each.
STEPS_EACH = 6_000
#: Appointments are looked at together up to this many, to say which collide.
MOST_COLLIDING = 9


def search_order(problem: OrderProblem, *, watch: Watch) -> OrderFound:
    """Return the order with the fewest appointments moved, then the least re-rigging and waiting.

    Notes
    -----
    Where everybody can come at any time, sitters who need the same settings follow each other:
    since a detour never saves re-rigging, no order is better, and the search is smaller. Up to
    `MOST_PROVEN` the constraint library proves the answer; beyond, it is the best that the
    routing library found in a fixed number of steps.
    """
    if not problem.fixed:
        return _any_time(problem, watch=watch)
    found = _searched(problem, watch=watch)
    least_s = least_re_rigging_s(_merged(problem, _alike(problem)))
    best = not found.moved and _weighed(problem, found) <= IDLE_PER_RE_RIGGING * least_s
    return found._replace(
        least_s=least_s, proven=found.proven or best, fewest=not found.moved or found.fewest
    )


def _any_time(problem: OrderProblem, *, watch: Watch) -> OrderFound:
    """Return the best order where everybody can come at any time."""
    groups = _alike(problem)
    merged = _merged(problem, groups)
    found = _searched(merged, watch=watch)
    needed_s = _weighed(merged, found) // IDLE_PER_RE_RIGGING
    least_s = needed_s if found.proven else least_re_rigging_s(merged)
    order = tuple(sitter for group in found.order for sitter in groups[group])
    return OrderFound(
        order=order, moved=(), proven=needed_s <= least_s, fewest=True, least_s=least_s
    )


def _weighed(problem: OrderProblem, found: OrderFound) -> int:
    return score(problem, found.order, moved=found.moved)[1]


def collisions(
    problem: OrderProblem, moved: tuple[int, ...], *, watch: Watch
) -> tuple[tuple[int, ...], ...]:
    """Return appointments that cannot all be kept, each set without one too many.

    Parameters
    ----------
    problem : OrderProblem
        The sitters.
    moved : tuple of int
        Those who have to be moved; a set is looked for around each.
    watch : Watch
        Asked whether to stop.
    """
    found: list[tuple[int, ...]] = []
    for sitter in moved:
        if any(sitter in known for known in found):
            continue
        together = _colliding(problem, sitter, watch=watch)
        if together:
            found.append(together)
    return tuple(found)


def _searched(problem: OrderProblem, *, watch: Watch) -> OrderFound:
    if problem.count < 2 and not problem.fixed:
        return OrderFound(order=tuple(range(problem.count)), moved=(), proven=True)
    few = problem.count <= MOST_PROVEN
    rough = _routed(problem, watch=watch, steps=STEPS_EACH * problem.count if few else STEPS)
    if few and not watch.stopped:
        hint = rough.order if len(rough.order) == problem.count else ()
        best = prove(problem, hint=hint, may_move=bool(rough.moved), watch=watch)
        if best is not None:
            return best
    return rough


def _routed(problem: OrderProblem, *, watch: Watch, steps: int) -> OrderFound:
    """Return a good order by local search, with those put in whom it first left out.

    With times to keep, the first half looks at re-rigging alone: told about waiting from the
    start, the library gives up appointments that can be kept. Stopped early, it may have little:
    never is anything worse returned than the order that is there at once.
    """
    at_once = greedy_order(problem)
    if watch.stopped:
        return at_once
    if not problem.fixed:
        order = route(problem, watch=watch, steps=steps)
        return _better(problem, at_once, OrderFound(order=order, moved=(), proven=False))
    end_s = monotonic() + LONGEST_S  # for both halves together
    kept = route(problem, count_idle=False, watch=watch, steps=steps // 2, longest_s=LONGEST_S / 2)
    moved = tuple(sorted(set(range(problem.count)) - set(kept)))
    begin = OrderFound(order=(*kept, *moved), moved=moved, proven=False)
    order = route(
        problem,
        moved=moved,
        begin_with=begin.order,
        watch=watch,
        steps=steps // 2,
        longest_s=end_s - monotonic(),
    )
    found = begin._replace(order=order or begin.order)
    return _better(problem, at_once, min(found, begin, key=lambda one: _weighed(problem, one)))


def _better(problem: OrderProblem, at_once: OrderFound, searched: OrderFound) -> OrderFound:
    """Return the searched order, unless it is not whole or worse than the one there at once."""
    if len(searched.order) < problem.count:
        return at_once

    def badness(one: OrderFound) -> tuple[int, int]:
        return score(problem, one.order, moved=one.moved)

    return min(searched, at_once, key=badness)


def _alike(problem: OrderProblem) -> list[tuple[int, ...]]:
    """Return groups of sitters between whom nothing is changed, in the order of the list."""
    groups: list[list[int]] = []
    for sitter in range(problem.count):
        for group in groups:
            if problem.change_s[group[0] + 1, sitter] == 0:
                group.append(sitter)
                break
        else:
            groups.append([sitter])
    return [tuple(group) for group in groups]


def _merged(problem: OrderProblem, groups: list[tuple[int, ...]]) -> OrderProblem:
    """Return the problem of groups, each taking as long as all in it."""
    first = problem.part(tuple(group[0] for group in groups))
    sitting = np.array([problem.sitting_s[list(group)].sum() for group in groups], dtype=int)
    return replace(first, sitting_s=sitting)


def _colliding(problem: OrderProblem, sitter: int, *, watch: Watch) -> tuple[int, ...]:
    """Return a set of appointments around one that cannot all be kept; empty if none is found."""
    middle = (problem.from_s + problem.to_s) / 2
    near = sorted(problem.fixed, key=lambda other: (abs(middle[other] - middle[sitter]), other))
    near = [sitter, *(other for other in near if other != sitter)]
    for size in range(1, min(len(near), MOST_COLLIDING) + 1):
        if can_be_kept(problem.part(tuple(near[:size])), watch=watch) is False:
            return _without_needless(problem, near[:size], watch=watch)
    return ()


def _without_needless(
    problem: OrderProblem, together: list[int], *, watch: Watch
) -> tuple[int, ...]:
    """Return a set that cannot be kept less all whom it does not need for that."""
    for one in list(together):
        fewer = tuple(other for other in together if other != one)
        if fewer and can_be_kept(problem.part(fewer), watch=watch) is False:
            together = list(fewer)
    return tuple(sorted(together))
