"""An order that is there at once: before any search, and where one is ended early."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.planning.run_orders.greedy import greedy_order
from tapemark.planning.run_orders.problem import FAR_S, OrderProblem, timings
from tapemark.planning.run_orders.search import search_order
from tapemark.watch import Watch

NINE, SITTING_S = 9 * 3600, 480


def problem_of(levels, windows) -> OrderProblem:
    """Return sitters at whole levels, a minute of re-rigging apart, some with a window."""
    steps = np.abs(np.subtract.outer([0, *levels], levels)) * 60
    opened = [NINE + 60 * one[0] if one else 0 for one in windows]
    closing = [NINE + 60 * one[1] if one else FAR_S for one in windows]
    return OrderProblem(
        change_s=steps.astype(int),
        sitting_s=np.full(len(levels), SITTING_S),
        from_s=np.array(opened),
        to_s=np.array(closing),
        start_s=NINE,
    )


def crowd(count: int) -> OrderProblem:
    """Return many sitters, every other one with an hour's window that can be kept."""
    levels = [(7 * one) % 5 for one in range(count)]
    windows = [None if one % 2 else (10 * one, 10 * one + 60) for one in range(count)]
    return problem_of(levels, windows)


def kept(problem: OrderProblem, order, moved) -> set[int]:
    times = timings(problem, order, moved=moved)
    return {
        one
        for one, time in zip(order, times, strict=True)
        if time.start_s >= problem.from_s[one] and time.end_s <= problem.to_s[one]
    }


SITTERS = st.lists(
    st.tuples(
        st.integers(0, 4),
        st.none() | st.tuples(st.integers(-60, 120), st.integers(5, 90)),
    ),
    min_size=1,
    max_size=9,
)


@given(SITTERS)
def test_everybody_comes_once_and_only_appointments_are_moved(sitters):
    windows = [None if one is None else (one[0], sum(one)) for _, one in sitters]
    problem = problem_of([level for level, _ in sitters], windows)
    found = greedy_order(problem)
    assert sorted(found.order) == list(range(problem.count))
    assert set(found.moved) <= set(problem.fixed)
    assert kept(problem, found.order, found.moved) == set(range(problem.count)) - set(found.moved)


def test_windows_that_can_be_kept_are_kept_without_waiting_for_hours():
    problem = crowd(40)
    found = greedy_order(problem)
    assert found.moved == ()
    assert max(one.idle_s for one in timings(problem, found.order)) < 1200


@pytest.mark.parametrize("count", [8, 40])
def test_a_search_ended_at_once_moves_nobody_who_is_free(count):
    problem = crowd(count)
    found = search_order(problem, watch=Watch(stopped=True))
    assert sorted(found.order) == list(range(count))
    assert found.moved == ()


def test_a_search_ended_at_once_has_all_who_can_come_at_any_time():
    problem = problem_of([3, 0, 3, 1, 2, 0], [None] * 6)
    found = search_order(problem, watch=Watch(stopped=True))
    assert sorted(found.order) == list(range(6))
    assert found.moved == ()
    assert sum(one.change_s for one in timings(problem, found.order)) == 180
