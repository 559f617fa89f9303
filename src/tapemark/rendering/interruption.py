"""Long work that can be dropped: whoever drops it waits no longer than a moment.

Work goes on in a thread of its own while somebody is asked, every few hundredths of a second,
whether its answer is still wanted. Work that can be cancelled is; other work is left to end by
itself, and its answer is thrown away.
"""

import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import TypeVar

Work = TypeVar("Work")
ASKED_EVERY_S = 0.02
CANCELLING_S = 0.15  # so long work that can be cancelled is waited for


class Dropped(Exception):
    """Nobody wants the answer any more."""


def never() -> bool:
    """Return False: the answer is wanted whatever happens."""
    return False


@dataclass(frozen=True, kw_only=True, eq=False)
class Patience:
    """How long somebody waits for work.

    Attributes
    ----------
    dropped : callable
        Asked whether its answer is no longer wanted.
    """

    dropped: Callable[[], bool] = field(default=never)

    def during(self, work: Callable[[], Work], *, cancel: Callable[[], None] | None = None) -> Work:
        """Return what work gives.

        Parameters
        ----------
        work : callable
            Work of more than a moment.
        cancel : callable, optional
            Makes it end early.

        Raises
        ------
        Dropped
            Nobody wanted it any more.
        """
        if self.dropped is never:
            return work()
        answer = begun(work)
        while not _ready(answer, within_s=ASKED_EVERY_S):
            if self.dropped():
                _cancelled(answer, cancel)
                raise Dropped
        return answer.result()


def begun(work: Callable[[], Work]) -> "Future[Work]":
    """Return the future answer of work that goes on in a thread of its own."""
    answer: Future[Work] = Future()

    def run() -> None:
        try:
            answer.set_result(work())
        except BaseException as error:  # handed to whoever asks for the answer
            answer.set_exception(error)

    threading.Thread(target=run, name="picture").start()
    return answer


def _ready(answer: "Future[Work]", *, within_s: float) -> bool:
    """Return whether an answer is there, waiting a little."""
    try:
        answer.exception(timeout=within_s)
    except TimeoutError:
        return False
    return True


def _cancelled(answer: "Future[Work]", cancel: Callable[[], None] | None) -> None:
    """Have work end early; asked again and again, since it may only just have begun."""
    until = time.monotonic() + CANCELLING_S
    while cancel is not None and time.monotonic() < until:
        cancel()
        if _ready(answer, within_s=ASKED_EVERY_S):
            return
