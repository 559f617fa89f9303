"""Long work at the command line: how far it is goes to stderr, Ctrl-C ends it early."""

import os
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

import click

from tapemark.watch import Watch

QUIET_S = 1.0  # shorter work says nothing
EVERY_S, EVERY_LINE_S = 0.2, 3.0  # on a terminal, into a file


@contextmanager
def watching(*, at_once: bool = False) -> Iterator[Watch]:
    """Give a watch for long work; a first Ctrl-C stops it there, a second one stops at once.

    Work whose every step is of use by itself may be stopped `at_once` by the first.
    """
    teller = _Teller("stops" if at_once else "ends it with the best so far")
    watch = Watch(tell=teller.tell)

    def interrupted(number: int, frame: Any) -> None:
        del number, frame
        at_once_now = at_once or watch.stopped
        watch.stopped = True
        if at_once_now:
            raise KeyboardInterrupt
        teller.heard()

    before = signal.signal(signal.SIGINT, interrupted)
    try:
        yield watch
    finally:
        signal.signal(signal.SIGINT, before)
        teller.end()


class _Teller:
    """Writes how far work is, not too often."""

    def __init__(self, ends: str) -> None:
        self._ends = ends
        self._began = self._last = time.monotonic()
        self._on_terminal = sys.stderr.isatty()
        self._told = self._heard = False

    def tell(self, text: str) -> None:
        now = time.monotonic()
        every = EVERY_S if self._on_terminal else EVERY_LINE_S
        if self._heard or now - self._began < QUIET_S or (self._told and now - self._last < every):
            return
        self._last, self._told = now, True
        lead, end = ("\r\x1b[K", "") if self._on_terminal else ("", "\n")
        click.echo(f"{lead}{text} (Ctrl-C {self._ends}){end}", err=True, nl=False)

    def heard(self) -> None:
        """Say that it ends. Called in the midst of anything, so past all buffers."""
        lead = "\r\x1b[K" if self._on_terminal else ""
        self._heard = True
        with suppress(OSError):
            os.write(2, f"{lead}Ending with the best so far; Ctrl-C again stops at once\n".encode())

    def end(self) -> None:
        if self._told and self._on_terminal:
            click.echo("\r\x1b[K", err=True, nl=False)
