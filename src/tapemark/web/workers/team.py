"""Processes that compute, so that the app itself only ever waits.

*Live* processes answer within a moment: what a set looks like while something is dragged. *Long*
ones do work of seconds (map, moves, plans, walk-ins) at low priority: one job a window, of which
the newest wins, and which is cancelled by ending its process. One that dies is replaced; all end
with the app, even if that is killed.
"""

import asyncio
import os
from collections.abc import Coroutine
from typing import Any

from tapemark.web.workers.pool import Died, Fault, Parts, Pool, Stopped, Tell, WorkerProcess

LIVE_LIMIT_S = 30.0  # a job that takes longer hangs
LIVE_TRIES = 3  # the second and third by a new process
NOTICE_S = 0.05  # until the end of a process is known
AFTER_S = 3.0  # the first page has the machine to itself


class Workers:
    """All processes that compute for one running app.

    Parameters
    ----------
    live, long : int, optional
        How many of each kind at most; without them what suits the machine.
    ready : bool
        Whether some get ready before they are asked for.
    """

    def __init__(
        self, *, live: int | None = None, long: int | None = None, ready: bool = True
    ) -> None:
        cores = os.cpu_count() or 1
        self._ready = ready
        self._live = Pool("live", most=live or max(2, min(4, cores)))
        self._long = Pool("long", most=long or max(2, cores - 1))
        self._by_window: dict[str, asyncio.Task[Parts]] = {}
        self._at_work: dict[str, WorkerProcess] = {}
        self._jobs: set[asyncio.Task[Parts]] = set()
        self._warming: asyncio.Task[None] | None = None

    @property
    def pids(self) -> tuple[int, ...]:
        """Numbers of the processes that run."""
        return tuple(one.pid for one in (*self._live.processes, *self._long.processes) if one.alive)

    @property
    def under_way(self) -> int:
        """How many jobs have been begun and not ended."""
        return len(self._jobs)

    async def start(self) -> None:
        """Have processes get ready, the most urgent first, without waiting for them."""
        if self._ready:
            self._warming = asyncio.create_task(self._get_ready())

    async def _get_ready(self) -> None:
        await self._live.add_ready("tapemark.web.tasks:ready")
        await asyncio.sleep(AFTER_S)
        await self._long.add_ready("tapemark.web.tasks:ready_for_long")
        await self._live.add_ready("tapemark.web.tasks:ready")

    async def stop(self) -> None:
        """Stop all work and end all processes."""
        under_way: list[asyncio.Task[Any]] = list(self._jobs)
        if self._warming is not None:
            under_way.append(self._warming)
        for job in under_way:
            job.cancel()
        await asyncio.gather(*under_way, return_exceptions=True)
        await self._live.close()
        await self._long.close()

    async def live(self, task: str, **arguments: Any) -> Parts:
        """Return the parts of an answer that is wanted at once.

        Parameters
        ----------
        task : str
            ``module:function`` of the app, such as ``"tapemark.web.tasks:view"``. It is called
            with ``tell`` and the arguments, and returns a mapping of names to what JSON can hold
            (or to bytes of JSON text); each comes back here as bytes of JSON text.
        **arguments
            Fit for JSON.

        Raises
        ------
        Refused
            With one clear text for the person.
        Fault
            Something nobody foresaw, under a mark in the log.
        """
        for _ in range(LIVE_TRIES):
            job = self._begin(self._live.do(task, arguments, limit_s=LIVE_LIMIT_S))
            try:
                return await asyncio.shield(job)  # goes on if its window goes: ending is dearer
            except Died:
                await asyncio.sleep(NOTICE_S)
            except TimeoutError:
                break
        raise Fault("process ended")

    async def long(
        self, window: str, task: str, *, tell: Tell | None = None, **arguments: Any
    ) -> Parts:
        """Return the parts of an answer that takes its time; newer work of the window stops it.

        Parameters
        ----------
        window : str
            Whose work it is.
        task : str
            As for `live`; its ``tell`` comes out here.
        tell : callable, optional
            Awaited with a few words on how far it is.
        **arguments
            Fit for JSON.

        Raises
        ------
        Stopped
            By `stop_long`, by newer work, or by the end of the app.
        Refused, Fault
            As for `live`.
        """
        self.stop_long(window)

        def at_work(worker: WorkerProcess) -> None:
            self._at_work[window] = worker

        work = self._long.do(task, arguments, tell=tell, at_work=at_work)
        job = self._by_window[window] = self._begin(work)
        try:
            return await asyncio.shield(job)
        except asyncio.CancelledError:
            if job.cancelled():
                raise Stopped from None
            job.cancel()  # whoever waited is gone
            raise
        except Died:
            raise Fault("process ended") from None
        finally:
            if self._by_window.get(window) is job:
                del self._by_window[window]
                self._at_work.pop(window, None)

    def stop_long(self, window: str) -> bool:
        """Stop the long work of a window; return whether there was any."""
        job = self._by_window.pop(window, None)
        return job is not None and job.cancel()

    def finish_long(self, window: str) -> bool:
        """Ask the long work of a window to end with what it has; return whether it was begun."""
        worker = self._at_work.get(window)
        if worker is None or window not in self._by_window:
            return False
        worker.finish()
        return True

    def _begin(self, work: Coroutine[Any, Any, Parts]) -> "asyncio.Task[Parts]":
        job = asyncio.create_task(work)
        self._jobs.add(job)
        job.add_done_callback(self._over)
        return job

    def _over(self, job: "asyncio.Task[Parts]") -> None:
        self._jobs.discard(job)
        if not job.cancelled():
            job.exception()  # whoever waited has it, or is gone
