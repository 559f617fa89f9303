"""Read many photos at once, in processes of their own.

A decoder that crashes takes down its process, not the batch: what was being read then is read
again one by one, and what crashes again is reported. No more photos are handed out than are being
worked on, so that memory stays the same however many there are.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager

from tapemark.errors import shown_name
from tapemark.photo.batch_worker import Answer, Job, prepare_process, read_one
from tapemark.planning import Watch

AHEAD = 2  # photos handed out for each process
LOOK_S = 0.25  # how often whoever waits is asked whether to stop
A_PROCESS = 400  # photos, then a fresh process takes over: what a library leaks is given back


def read_many(jobs: Iterable[Job], *, workers: int = 0, watch: Watch) -> Iterator[Answer]:
    """Yield answers as photos are done, in any order, until all are or the watch stops.

    Parameters
    ----------
    jobs : iterable of Job
        Photos.
    workers : int
        Processes; 0 for as many as there are processors, 1 for this process.
    watch : Watch
        Who waits.
    """
    count = workers or os.cpu_count() or 1
    if count == 1:
        for job in jobs:
            if watch.stopped:
                return
            yield read_one(job)
        return
    left = iter(jobs)
    suspects: list[Job] = []
    while not watch.stopped:
        broken: list[Job] = []
        yield from _in_processes(left, count, watch=watch, broken=broken)
        suspects += broken
        if not broken:
            break
    for job in suspects:
        if watch.stopped:
            return
        yield _alone(job)


def _in_processes(
    jobs: Iterator[Job], count: int, *, watch: Watch, broken: list[Job]
) -> Iterator[Answer]:
    """Yield answers until there are no more jobs, or a process died: its jobs are put aside."""
    pool = _pool(count)
    running: dict[Future[Answer], Job] = {}
    try:
        while not watch.stopped:
            while len(running) < AHEAD * count and (job := next(jobs, None)) is not None:
                try:
                    with _interrupts_held():
                        running[pool.submit(read_one, job)] = job
                except BrokenProcessPool:
                    broken.append(job)
                    break
            if not running:
                return
            done, _ = wait(running, timeout=LOOK_S, return_when=FIRST_COMPLETED)
            for one in done:
                job = running.pop(one)
                if one.exception() is None:
                    yield one.result()
                else:
                    broken.append(job)
            if broken:
                broken += running.values()
                return
    finally:
        _end(pool, at_once=bool(running))


def _alone(job: Job) -> Answer:
    """Read a photo in a process of its own, which it may crash."""
    pool, read = _pool(1), False
    try:
        with _interrupts_held():
            answer = pool.submit(read_one, job)
        found, read = answer.result(), True
        return found
    except BrokenProcessPool:
        said = f"{shown_name(job.path)}: crashed what reads it; it is damaged, leave it out"
        return Answer(path=job.path, reading=None, error=said, crop=b"")
    finally:
        _end(pool, at_once=not read)


def _end(pool: ProcessPoolExecutor, *, at_once: bool) -> None:
    """End processes; at once where nobody waits any more for what they are reading.

    No Ctrl-C comes between: the pool would take itself for ended, and never end.
    """
    with _interrupts_held():
        if at_once:
            processes = getattr(pool, "_processes", None) or {}  # from Python 3.14: kill_workers
            for process in list(processes.values()):
                process.kill()
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Hold back Ctrl-C, in this thread and in the threads and processes begun meanwhile.

    Processes leave Ctrl-C to this one, but only once they have loaded: until then it would end
    them with a trace of what they were loading. Here it comes as soon as this is over.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _pool(count: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(
        max_workers=count,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=prepare_process,
        max_tasks_per_child=A_PROCESS,
    )
