"""An order of sitters as numbers: how long each change takes, who can come when."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

#: A time of day nobody reaches: ten days. [s]
FAR_S = 864_000
#: So many minutes in which everybody waits for a sitter are as bad as one of re-rigging: few
#: would let a studio stand idle for hours to save a camera's height (assumption). [-]
IDLE_PER_RE_RIGGING = 10


@dataclass(frozen=True, kw_only=True, eq=False)
class OrderProblem:
    """Sitters to be put in order; all times in whole seconds.

    Attributes
    ----------
    change_s : (n + 1, n) int array
        Re-rigging before each sitter: from how things stand in row 0, after sitter i in row
        i + 1. [s]
    sitting_s : (n,) int array
        Time each sitting takes. [s]
    from_s, to_s : (n,) int arrays
        A sitting starts no earlier and ends no later, from midnight; 0 and `FAR_S` for somebody
        who can come at any time. [s]
    start_s : int
        When the first change begins. [s]
    """

    change_s: np.ndarray
    sitting_s: np.ndarray
    from_s: np.ndarray
    to_s: np.ndarray
    start_s: int

    @property
    def count(self) -> int:
        """How many sitters."""
        return len(self.sitting_s)

    @property
    def fixed(self) -> tuple[int, ...]:
        """Sitters who can come only at some times."""
        bound = (self.from_s > self.start_s) | (self.to_s < FAR_S)
        return tuple(int(index) for index in np.flatnonzero(bound))

    @property
    def latest_end_s(self) -> int:
        """When the last sitting of any order ends at the latest, without needless waiting. [s]"""
        if not self.count:
            return self.start_s
        ready = max(self.start_s, int(self.from_s.max()))
        return ready + int(self.sitting_s.sum() + self.change_s.max(axis=0).sum())

    def part(self, sitters: tuple[int, ...]) -> "OrderProblem":
        """Return the problem of some of the sitters alone."""
        at = np.array(sitters, dtype=int)
        rows = np.concatenate([[0], at + 1])
        return OrderProblem(
            change_s=self.change_s[np.ix_(rows, at)],
            sitting_s=self.sitting_s[at],
            from_s=self.from_s[at],
            to_s=self.to_s[at],
            start_s=self.start_s,
        )

    def without_times_of(self, sitters: tuple[int, ...]) -> "OrderProblem":
        """Return the problem with some sitters coming at any time."""
        at = list(sitters)
        opened, closing = self.from_s.copy(), self.to_s.copy()
        opened[at], closing[at] = 0, FAR_S
        return OrderProblem(
            change_s=self.change_s,
            sitting_s=self.sitting_s,
            from_s=opened,
            to_s=closing,
            start_s=self.start_s,
        )


class OrderFound(NamedTuple):
    """An order and how good it is.

    Attributes
    ----------
    order : tuple of int
        Sitters, first to last.
    moved : tuple of int
        Those whose times cannot be kept.
    proven : bool
        Whether no order moves fewer appointments, and none of those scores better.
    fewest : bool
        Whether no order moves fewer appointments.
    least_s : int
        Re-rigging that no order at all falls short of. [s]
    """

    order: tuple[int, ...]
    moved: tuple[int, ...]
    proven: bool
    fewest: bool = False
    least_s: int = 0


class Timing(NamedTuple):
    """When a sitting starts and ends, and what went before it. [s]"""

    change_s: int
    start_s: int
    end_s: int
    idle_s: int


def timings(
    problem: OrderProblem, order: tuple[int, ...], *, moved: tuple[int, ...] = ()
) -> tuple[Timing, ...]:
    """Return when each sitting of an order takes place: as early as it can.

    Parameters
    ----------
    problem : OrderProblem
        The sitters.
    order : tuple of int
        First to last.
    moved : tuple of int
        Those whose times cannot be kept: they come when it is their turn, but no earlier than
        they wished where nobody else is held up by that.
    """
    latest = _latest_starts(problem, order, moved=moved)
    now, before, found = problem.start_s, 0, []
    for sitter, last in zip(order, latest, strict=True):
        change, wished = int(problem.change_s[before, sitter]), int(problem.from_s[sitter])
        ready = now + change
        start = max(ready, min(wished, last) if sitter in moved else wished)
        end = start + int(problem.sitting_s[sitter])
        found.append(Timing(change_s=change, start_s=start, end_s=end, idle_s=start - ready))
        now, before = end, sitter + 1
    return tuple(found)


def _latest_starts(
    problem: OrderProblem, order: tuple[int, ...], *, moved: tuple[int, ...]
) -> list[int]:
    """Return how late each sitting may start so that all after it are done in time."""
    found, after, limit = [], None, FAR_S
    for sitter in reversed(order):
        if after is not None:
            limit -= int(problem.change_s[sitter + 1, after])
        if sitter not in moved:
            limit = min(limit, int(problem.to_s[sitter]))
        limit -= int(problem.sitting_s[sitter])
        found.append(limit)
        after = sitter
    return found[::-1]


def score(
    problem: OrderProblem, order: tuple[int, ...], *, moved: tuple[int, ...] = ()
) -> tuple[int, int]:
    """Return what an order is judged by: how many moved, then re-rigging and waiting weighed.

    The second is `IDLE_PER_RE_RIGGING` times the re-rigging plus the waiting. [s]
    """
    times = timings(problem, order, moved=moved)
    re_rigging = sum(one.change_s for one in times)
    return len(moved), IDLE_PER_RE_RIGGING * re_rigging + sum(one.idle_s for one in times)
