"""An order at once, without a search: whoever can come next for the least, nobody late."""

from dataclasses import dataclass, field

from tapemark.planning.run_orders.problem import (
    FAR_S,
    IDLE_PER_RE_RIGGING,
    OrderFound,
    OrderProblem,
    timings,
)

#: So many of the cheapest are looked at for who comes next.
LOOKED_AT = 40


def greedy_order(problem: OrderProblem) -> OrderFound:
    """Return a fair order of all sitters.

    Parameters
    ----------
    problem : OrderProblem
        The sitters.

    Notes
    -----
    Next comes whoever costs the least re-rigging and waiting, as long as all who have times left
    to keep can still come one after the other, whose time ends first coming first. Where that
    cannot be, the first who would be late is moved, and comes when it suits.
    """
    line = _Line(problem=problem)
    while line.waiting:
        line.append(line.next())
    return OrderFound(order=tuple(line.order), moved=line.late(), proven=False)


@dataclass(kw_only=True, eq=False)
class _Line:
    """Who has been put in order so far, and who still waits."""

    problem: OrderProblem
    order: list[int] = field(default_factory=list)
    waiting: set[int] = field(default_factory=set)
    given_up: set[int] = field(default_factory=set)
    bound: list[int] = field(default_factory=list)  # with times to keep, the first to end first
    now_s: int = 0

    def __post_init__(self) -> None:
        problem = self.problem
        self.waiting, self.now_s = set(range(problem.count)), problem.start_s
        timed = [one for one in range(problem.count) if problem.to_s[one] < FAR_S]
        self.bound = sorted(timed, key=lambda one: (int(problem.to_s[one]), one))
        while (late := self._first_late(None)) is not None:
            self._give_up(late)

    def next(self) -> int:
        """Return who comes next."""
        ranked = sorted(self.waiting, key=lambda one: (*self._price(one), one))
        for one in ranked[:LOOKED_AT]:
            if self._first_late(one) is None:
                return one
        return self.bound[0] if self.bound else ranked[0]

    def append(self, sitter: int) -> None:
        """Put somebody in order; whoever can no longer come in time is given up."""
        self.now_s = self._end(sitter, before=self._before, now_s=self.now_s)
        self.order.append(sitter)
        self.waiting.remove(sitter)
        if sitter in self.bound:
            self.bound.remove(sitter)
        while (late := self._first_late(None)) is not None:
            self._give_up(late)

    def late(self) -> tuple[int, ...]:
        """Return who does not come within their times: some given up may do all the same."""
        problem, order = self.problem, tuple(self.order)
        moved: tuple[int, ...] = ()
        late = tuple(sorted(self.given_up))
        while late != moved:
            moved = late
            times = zip(order, timings(problem, order, moved=moved), strict=True)
            missed = {
                one
                for one, time in times
                if time.start_s < problem.from_s[one] or time.end_s > problem.to_s[one]
            }
            late = tuple(one for one in moved if one in missed)
        return moved

    @property
    def _before(self) -> int:
        return self.order[-1] + 1 if self.order else 0

    def _price(self, sitter: int) -> tuple[int, int]:
        """Return what it costs that somebody comes next, and when their time ends. [s]"""
        change = int(self.problem.change_s[self._before, sitter])
        idle = max(int(self.problem.from_s[sitter]) - self.now_s - change, 0)
        closing = FAR_S if sitter in self.given_up else int(self.problem.to_s[sitter])
        return IDLE_PER_RE_RIGGING * change + idle, closing

    def _end(self, sitter: int, *, before: int, now_s: int) -> int:
        problem = self.problem
        ready = now_s + int(problem.change_s[before, sitter])
        return max(ready, int(problem.from_s[sitter])) + int(problem.sitting_s[sitter])

    def _first_late(self, first: int | None) -> int | None:
        """Return who would be late if somebody came first, then all with times in turn."""
        before, now_s = self._before, self.now_s
        line = self.bound if first is None else [first, *self.bound]
        for place, one in enumerate(line):
            if place and one == first:
                continue
            now_s = self._end(one, before=before, now_s=now_s)
            if one not in self.given_up and now_s > self.problem.to_s[one]:
                return one
            before = one + 1
        return None

    def _give_up(self, sitter: int) -> None:
        self.given_up.add(sitter)
        self.bound.remove(sitter)
