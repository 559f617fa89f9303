"""The order found against every order there is."""

from functools import cache
from itertools import combinations, permutations

import numpy as np
import pytest

from tapemark.planning.run_orders.bound import least_re_rigging_s
from tapemark.planning.run_orders.problem import (
    FAR_S,
    IDLE_PER_RE_RIGGING,
    OrderProblem,
    score,
    timings,
)
from tapemark.planning.run_orders.search import collisions, search_order
from tapemark.watch import Watch

NINE_O_CLOCK = 9 * 3600


def a_day(count: int, *, seed: int, with_times: float, spread_s: int = 5400) -> OrderProblem:
    """A day of invented sitters: a few heights, seated or standing, some with fixed times."""
    random = np.random.default_rng(seed)
    standing = random.random(count) < 0.3
    settings = np.stack(
        [
            standing * 45.0,
            np.round(np.where(standing, 1.6, 1.2) + random.normal(0, 0.06, count), 2) * 100,
            random.integers(0, 3, count) * 20.0,
        ],
        axis=1,
    )
    all_settings = np.vstack([[0.0, 120.0, 0.0], settings])
    apart = np.abs(all_settings[:, None] - all_settings[None, 1:])
    change = np.ceil((apart + 15 * (apart > 0)).sum(axis=-1)).astype(int)
    opened, closing = np.zeros(count, dtype=int), np.full(count, FAR_S)
    for sitter in np.flatnonzero(random.random(count) < with_times):
        opened[sitter] = NINE_O_CLOCK + 60 * random.integers(0, spread_s // 60)
        closing[sitter] = opened[sitter] + 60 * random.integers(20, 60)
    return OrderProblem(
        change_s=change,
        sitting_s=np.full(count, 480),
        from_s=opened,
        to_s=closing,
        start_s=NINE_O_CLOCK,
    )


@cache
def every_order(count: int) -> np.ndarray:
    return np.array(list(permutations(range(count))), dtype=np.int8)


def best_of_all(problem: OrderProblem) -> int | None:
    """Re-rigging and waiting of the best order, by trying all of them; None if none is in time."""
    orders = every_order(problem.count)
    now = np.full(len(orders), problem.start_s)
    cost, kept = np.zeros(len(orders), dtype=int), np.ones(len(orders), dtype=bool)
    before = np.zeros(len(orders), dtype=int)
    for sitter in orders.T.astype(int):
        change = problem.change_s[before, sitter]
        start = np.maximum(now + change, problem.from_s[sitter])
        cost += IDLE_PER_RE_RIGGING * change + (start - now - change)
        now, before = start + problem.sitting_s[sitter], sitter + 1
        kept &= now <= problem.to_s[sitter]
    return int(cost[kept].min()) if kept.any() else None


DAYS = [(1, 0.0), (2, 1.0), (4, 0.5), (5, 1.0), (6, 0.0), (7, 0.4), (8, 0.3), (9, 0.0), (9, 0.4)]


@pytest.mark.parametrize(("count", "with_times"), DAYS)
def test_order_is_the_best_of_all_orders(count, with_times):
    days = (a_day(count, seed=seed, with_times=with_times) for seed in range(100))
    tried = ((day, best_of_all(day)) for day in days)
    day, best = next(one for one in tried if one[1] is not None)
    found = search_order(day, watch=Watch())
    assert found.proven
    assert found.moved == ()
    assert sorted(found.order) == list(range(count))
    assert score(day, found.order)[1] == best


def fewest_moved(problem: OrderProblem) -> int:
    """How many appointments have to be moved, by trying all sets and all orders."""
    for count in range(problem.count + 1):
        for moved in combinations(problem.fixed, count):
            if best_of_all(problem.without_times_of(moved)) is not None:
                return count
    raise AssertionError("nobody has a time to keep once all are moved")


@pytest.mark.parametrize(("count", "seed"), [(5, 0), (5, 50), (5, 100), (6, 150)])
def test_no_more_appointments_are_moved_than_must_be(count, seed):
    seeds = range(seed, seed + 50)
    days = (a_day(count, seed=one, with_times=0.9, spread_s=900) for one in seeds)
    day = next(one for one in days if best_of_all(one) is None)
    found = search_order(day, watch=Watch())
    assert found.fewest
    assert len(found.moved) == fewest_moved(day)
    times = dict(zip(found.order, timings(day, found.order, moved=found.moved), strict=True))
    for sitter in set(range(day.count)) - set(found.moved):
        assert day.from_s[sitter] <= times[sitter].start_s
        assert times[sitter].end_s <= day.to_s[sitter]


def test_colliding_appointments_cannot_be_kept_and_none_of_them_is_needless():
    day = a_day(6, seed=12, with_times=0.0)
    opened, closing = day.from_s.copy(), day.to_s.copy()
    opened[[1, 3, 4]], closing[[1, 3, 4]] = NINE_O_CLOCK, NINE_O_CLOCK + 20 * 60
    opened[5], closing[5] = NINE_O_CLOCK + 3600, NINE_O_CLOCK + 7200
    day = OrderProblem(
        change_s=day.change_s,
        sitting_s=day.sitting_s,
        from_s=opened,
        to_s=closing,
        start_s=day.start_s,
    )
    found = search_order(day, watch=Watch())
    ((*names,),) = collisions(day, found.moved, watch=Watch())
    assert set(names) <= {1, 3, 4}
    assert best_of_all(day.part(tuple(names))) is None
    for one in names:
        fewer = tuple(other for other in names if other != one)
        assert best_of_all(day.part(fewer)) is not None


@pytest.mark.parametrize("seed", range(6))
def test_floor_under_re_rigging_is_below_every_order_and_not_far(seed):
    day = a_day(7, seed=seed, with_times=0.0)
    best = best_of_all(day)
    floor = IDLE_PER_RE_RIGGING * least_re_rigging_s(day)
    assert 0.9 * best <= floor <= best
