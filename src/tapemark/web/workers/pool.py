"""One process that computes, and a pool of them; see `tapemark.web.workers.team`."""

import asyncio
import contextlib
import os
import sys
from collections.abc import Awaitable, Callable, Coroutine
from typing import Any

from tapemark.errors import TapemarkError
from tapemark.web.workers.frames import LARGEST_FRAME, PREFIX, pack, unpack

START_LIMIT_S = 60.0
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")

Parts = dict[str, bytes]
Tell = Callable[[str], Awaitable[None]]


class Refused(TapemarkError):
    """A job was refused for a reason that the person can put right.

    Parameters
    ----------
    text : str
        What is wrong, and what to do.
    problems : list of dict, optional
        Each problem with ``key``, ``given``, ``allowed`` and ``advice``.
    """

    def __init__(self, text: str, problems: list[dict[str, str]] | None = None) -> None:
        super().__init__(text)
        self.problems = problems or []


class Fault(Exception):
    """A job failed for a reason nobody foresaw.

    Parameters
    ----------
    mark : str
        What the log has it under.
    """

    def __init__(self, mark: str) -> None:
        super().__init__(f"Something in tapemark went wrong (fault {mark}). Your work is kept.")
        self.mark = mark


class Stopped(Exception):
    """Long work was stopped: by the person, by newer work, or because the app ends."""


class Died(Exception):
    """A process ended in the midst of a job."""


class WorkerProcess:
    """One process that computes; does one job at a time.

    Parameters
    ----------
    kind : str
        ``live`` or ``long``.
    """

    def __init__(self, kind: str) -> None:
        self._kind = kind
        self._process: asyncio.subprocess.Process | None = None
        self._count = 0

    @property
    def pid(self) -> int:
        """Number of the process, 0 if it was never started."""
        return 0 if self._process is None else self._process.pid

    @property
    def alive(self) -> bool:
        """Whether the process runs."""
        return self._process is not None and self._process.returncode is None

    async def start(self) -> None:
        """Start the process, and wait until it listens."""
        self._process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-P",  # nothing from the folder one happens to be in
            "-m",
            "tapemark.web.workers.process",
            self._kind,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            env=os.environ | dict.fromkeys(_ONE_THREAD, "1"),
        )
        async with asyncio.timeout(START_LIMIT_S):
            await self._read()

    def finish(self) -> None:
        """Ask the job under way to come to its end with what it has."""
        if self._process is not None and self._process.stdin is not None:
            with contextlib.suppress(ConnectionError, RuntimeError):
                self._process.stdin.write(pack({"finish": self._count}))

    async def do(self, task: str, arguments: dict[str, Any], *, tell: Tell | None) -> Parts:
        """Return the parts of a job's answer.

        Raises
        ------
        Refused, Fault, Died
            The job came to nothing.
        """
        if self._process is None or self._process.stdin is None:
            raise Died
        self._count += 1
        job = {"job": self._count, "task": task, "arguments": arguments}
        try:
            self._process.stdin.write(pack(job))
            await self._process.stdin.drain()
        except (ConnectionError, RuntimeError):
            raise Died from None
        while True:
            head, parts = await self._read()
            if "progress" in head:
                if tell is not None:
                    await tell(head["progress"])
            elif "refused" in head:
                raise Refused(head["refused"], head["problems"])
            elif "fault" in head:
                raise Fault(head["fault"])
            else:
                return parts

    async def end(self) -> None:
        """End the process, whatever it is doing, and wait until it is gone."""
        process = self._process
        if process is None:
            return
        if process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
        if process.stdin is not None:
            process.stdin.close()
        with contextlib.suppress(ConnectionError):
            await process.communicate()  # waiting alone never ends where answers were not read

    async def _read(self) -> tuple[dict[str, Any], Parts]:
        assert self._process is not None
        assert self._process.stdout is not None
        try:
            prefix = await self._process.stdout.readexactly(PREFIX.size)
            length: int = PREFIX.unpack(prefix)[0]
            if length > LARGEST_FRAME:
                raise Died
            return unpack(await self._process.stdout.readexactly(length))
        except (asyncio.IncompleteReadError, ConnectionError):
            raise Died from None


class Pool:
    """Processes of one kind; jobs wait their turn in the order they came.

    Parameters
    ----------
    kind : str
        ``live`` or ``long``.
    most : int
        How many processes at most.
    """

    def __init__(self, kind: str, *, most: int) -> None:
        self._kind = kind
        self._most = most
        self._turn = asyncio.Semaphore(most)
        self._idle: list[WorkerProcess] = []
        self._busy: set[WorkerProcess] = set()
        self._beside: set[asyncio.Task[None]] = set()  # what goes on when a job is cancelled
        self._closed = False

    @property
    def processes(self) -> tuple[WorkerProcess, ...]:
        """The processes that there are."""
        return (*self._idle, *self._busy)

    async def add_ready(self, task: str) -> None:
        """Have one more process, with what a task loads, unless there are as many as may be."""
        if self._closed or len(self.processes) >= self._most:
            return
        with contextlib.suppress(Died, Fault, TimeoutError):  # whoever needs one finds out
            worker, usable = await self._new(), False
            try:
                await worker.do(task, {}, tell=None)
                usable = True
            finally:
                await self._give_back(worker, usable=usable)

    async def do(
        self,
        task: str,
        arguments: dict[str, Any],
        *,
        tell: Tell | None = None,
        limit_s: float | None = None,
        at_work: Callable[[WorkerProcess], None] = lambda worker: None,
    ) -> Parts:
        """Return the parts of a job's answer; cancelling this ends the process that works on it."""
        async with self._turn:
            if self._closed:
                raise Stopped
            worker = await self._take()
            at_work(worker)
            usable = False
            try:
                async with asyncio.timeout(limit_s):
                    found = await worker.do(task, arguments, tell=tell)
                usable = True
                return found
            except (Refused, Fault):
                usable = True
                raise
            finally:
                await self._give_back(worker, usable=usable)

    async def close(self) -> None:
        """End all processes, and wait until they are gone."""
        self._closed = True
        while self._beside:
            await asyncio.gather(*self._beside, return_exceptions=True)
        for worker in self.processes:
            await worker.end()
        self._idle.clear()
        self._busy.clear()

    async def _take(self) -> WorkerProcess:
        while self._idle:
            worker = self._idle.pop()
            if worker.alive:
                self._busy.add(worker)
                return worker
            await asyncio.shield(self._go_on(worker.end()))
        return await self._new()

    async def _new(self) -> WorkerProcess:
        """Start one more process; one whose job is cancelled meanwhile serves the next."""
        worker = WorkerProcess(self._kind)
        self._busy.add(worker)
        starting = self._go_on(worker.start())
        try:
            await asyncio.shield(starting)
        except asyncio.CancelledError:
            self._go_on(self._adopt(worker, starting))
            raise
        except BaseException:
            await self._give_back(worker, usable=False)
            raise
        return worker

    async def _give_back(self, worker: WorkerProcess, *, usable: bool) -> None:
        self._busy.discard(worker)
        if usable and worker.alive and not self._closed:
            self._idle.append(worker)
        else:
            await asyncio.shield(self._go_on(worker.end()))

    async def _adopt(self, worker: WorkerProcess, starting: "asyncio.Task[None]") -> None:
        """Keep a process for the next job whose own was cancelled before it had started."""
        await asyncio.wait([starting])
        self._busy.discard(worker)
        if starting.exception() is None and worker.alive and not self._closed:
            self._idle.append(worker)
        else:
            await worker.end()

    def _go_on(self, work: Coroutine[Any, Any, None]) -> "asyncio.Task[None]":
        """Begin what must come to its end, whoever is cancelled."""
        task = asyncio.create_task(work)
        self._beside.add(task)
        task.add_done_callback(self._beside.discard)
        return task
