"""Searching for an order ends in time, however slow the machine is."""

from typing import Any

import numpy as np
import pytest

from tapemark.planning import Watch
from tapemark.planning.run_orders import search as order_search
from tapemark.planning.run_orders.problem import OrderProblem
from tapemark.planning.run_orders.routing import LONGEST_S
from tapemark.planning.run_orders.search import search_order

COUNT = 14  # more than are proven


def test_both_halves_of_a_search_share_one_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    clock, limits = [100.0], []

    def slow(problem: OrderProblem, *, longest_s: float, **_: Any) -> tuple[int, ...]:
        limits.append(longest_s)
        clock[0] += longest_s  # uses up all it may
        return tuple(range(problem.count))

    monkeypatch.setattr(order_search, "route", slow)
    monkeypatch.setattr(order_search, "monotonic", lambda: clock[0])
    problem = OrderProblem(
        change_s=np.full((COUNT + 1, COUNT), 30),
        sitting_s=np.full(COUNT, 480),
        from_s=np.zeros(COUNT, dtype=int),
        to_s=np.full(COUNT, 60_000),
        start_s=32_400,
    )
    search_order(problem, watch=Watch())
    assert len(limits) == 2
    assert 0.0 < sum(limits) <= LONGEST_S
