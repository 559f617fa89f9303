"""How little re-rigging can any order need? A floor to hold an order against.

Every order is a chain through all sitters from how things stand; a chain is a tree, and the
cheapest tree is easily found.  Prices on the sitters push that tree towards a chain.
"""

from math import ceil

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.run_orders.problem import OrderProblem

ROUNDS = 150
FIRST_STEP, LEAST_STEP = 0.25, 0.005  # of the mean change, for the prices
_ROUNDING = 1e-6


def least_re_rigging_s(problem: OrderProblem) -> int:
    """Return re-rigging that no order of the sitters falls short of, whoever can come when. [s]

    Notes
    -----
    The bound of [held-karp-1970], with a last stop that costs nothing to reach from anywhere
    and leads back to the start. Changes take the same time in both directions.

    References
    ----------
    [held-karp-1970] sec. 2-3, for the idea; the step lengths are our own.
    """
    count = problem.count
    if not count:
        return 0
    cost = np.zeros((count + 1, count + 1))
    cost[0, 1:] = cost[1:, 0] = problem.change_s[0]
    cost[1:, 1:] = np.minimum(problem.change_s[1:], problem.change_s[1:].T)
    prices, best = np.zeros(count + 1), 0.0
    step = FIRST_STEP * float(cost.mean())
    shrink = (LEAST_STEP / FIRST_STEP) ** (1.0 / ROUNDS)
    for _ in range(ROUNDS):
        tree, degree = _cheapest_tree(cost + prices[:, None] + prices[None, :])
        last = 1 + int(np.argmin(prices[1:]))
        degree[[0, last]] += 1  # the way back over the last stop
        best = max(best, tree + prices[0] + prices[last] - 2 * float(prices.sum()))
        prices += step * (degree - 2)
        step *= shrink
    return ceil(best - _ROUNDING)


def _cheapest_tree(cost: FloatArray) -> tuple[float, np.ndarray]:
    """Return the cost of the cheapest tree over all stops, and how many ways meet at each."""
    count = len(cost)
    degree = np.zeros(count, dtype=int)
    nearest, link = cost[0].copy(), np.zeros(count, dtype=int)
    nearest[0], total = np.inf, 0.0
    inside = np.zeros(count, dtype=bool)
    inside[0] = True
    for _ in range(count - 1):
        stop = int(np.argmin(nearest))
        total += float(nearest[stop])
        degree[[stop, link[stop]]] += 1
        inside[stop], nearest[stop] = True, np.inf
        closer = (cost[stop] < nearest) & ~inside
        nearest[closer], link[closer] = cost[stop][closer], stop
    return total, degree
