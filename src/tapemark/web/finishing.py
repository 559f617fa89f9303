"""Ending long work early while keeping what it has found: asked for in the app, heard in the work.

In a process that computes, `Finishing` holds the number of the job under way; a search whose
watch is a `FinishingWatch` ends soon after it is asked to, with the best it has.
"""

import threading
from collections.abc import Callable

from tapemark.watch import Watch


class Finishing:
    """Whether the job under way in this process has been asked to come to its end."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._job = 0
        self._asked = False

    def begin(self, job: int) -> None:
        """Forget what was asked of the job before."""
        with self._lock:
            self._job, self._asked = job, False

    def ask(self, job: int) -> None:
        """Ask a job to end; one that is over hears nothing."""
        with self._lock:
            self._asked = self._asked or job == self._job

    @property
    def asked(self) -> bool:
        """Whether the job under way was asked to end."""
        with self._lock:
            return self._asked


#: Of this process.
FINISHING = Finishing()


class FinishingWatch(Watch):
    """The watch of a search that whoever waits in the app may end early.

    Parameters
    ----------
    tell : callable
        Told how far it is.
    """

    def __init__(self, tell: Callable[[str], None]) -> None:
        self.tell = tell

    @property
    def stopped(self) -> bool:  # type: ignore[override]
        """Whether it was asked to end."""
        return FINISHING.asked
