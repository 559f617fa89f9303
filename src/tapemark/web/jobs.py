"""Work of seconds that goes on in the app whoever looks at it: begun once, followed by any window.

Unlike work over the socket ``/work`` it belongs to a kept thing, not to a window: a phone and a
laptop follow the same one, a page that is loaded again finds it, and what it finds is kept.
"""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from starlette.requests import HTTPConnection

from tapemark.errors import TapemarkError
from tapemark.web.answering import log_fault
from tapemark.web.desk import Desk, desk_of
from tapemark.web.workers.pool import Fault, Stopped, Tell

MOST_REMEMBERED = 64

Work = Callable[[Tell], Awaitable[None]]


@dataclass(kw_only=True)
class Job:
    """How far a work is.

    Attributes
    ----------
    text : str
        What it says of itself.
    busy : bool
        Whether it goes on.
    refusal : str
        Why it came to nothing; empty if it did not.
    """

    text: str = ""
    busy: bool = True
    refusal: str = ""


class Jobs:
    """The works of one running app, by what they are about.

    Parameters
    ----------
    desk : Desk
        Its workers end them.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._jobs: dict[str, Job] = {}
        self._tasks: dict[str, asyncio.Task[None]] = {}

    def get(self, key: str) -> Job | None:
        """Return how far a work is, None where there was none lately."""
        return self._jobs.get(key)

    def busy(self, key: str) -> bool:
        """Whether a work goes on."""
        job = self._jobs.get(key)
        return job is not None and job.busy

    def begin(self, key: str, work: Work, *, text: str = "") -> None:
        """Begin a work; one of the same key that goes on is stopped."""
        self.stop(key)
        job = self._jobs[key] = Job(text=text)
        task = self._tasks[key] = asyncio.create_task(self._do(job, work, key))
        task.add_done_callback(lambda done: self._over(key, done))
        while len(self._jobs) > MOST_REMEMBERED:
            oldest = next((one for one in self._jobs if not self._jobs[one].busy), None)
            if oldest is None:
                break
            del self._jobs[oldest]

    def stop(self, key: str) -> None:
        """Stop a work at once; nothing of it stays."""
        self._desk.workers.stop_long(key)
        task = self._tasks.pop(key, None)
        if task is not None:
            task.cancel()

    def finish(self, key: str) -> None:
        """Ask a work to end soon, with what it has."""
        job = self._jobs.get(key)
        if job is not None and job.busy and self._desk.workers.finish_long(key):
            job.text = "Ending with what was found so far"

    def forget(self, key: str) -> None:
        """Forget a work that is over."""
        if not self.busy(key):
            self._jobs.pop(key, None)

    async def _do(self, job: Job, work: Work, key: str) -> None:
        async def tell(text: str) -> None:
            job.text = text

        try:
            await work(tell)
        except (Stopped, asyncio.CancelledError):
            job.refusal = "It was stopped."
        except (TapemarkError, Fault) as error:
            job.refusal = str(error)
        except Exception as error:
            mark = log_fault(error, where=key)
            job.refusal = f"Something in tapemark went wrong (fault {mark}). Your work is kept."
        finally:
            job.busy = False

    def _over(self, key: str, task: "asyncio.Task[None]") -> None:
        if self._tasks.get(key) is task:
            del self._tasks[key]


def jobs_of(connection: HTTPConnection) -> Jobs:
    """Return the works of the app that a request came to."""
    state = connection.app.state
    if not hasattr(state, "jobs"):
        state.jobs = Jobs(desk_of(connection))
    jobs: Jobs = state.jobs
    return jobs
