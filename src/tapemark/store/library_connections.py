"""One connection a thread, reads that see one moment, writes that are whole or not there."""

from __future__ import annotations

import os
import sqlite3
import threading
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tapemark.errors import LibraryError
from tapemark.store.library_opening import answering, connect

__all__ = ["Connections"]


class Connections:
    """The connections to one library file, one for each thread that asks.

    Parameters
    ----------
    path : Path
        The file; ready, see `tapemark.store.library_opening.prepare`.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._file = _identity(path)
        self._here = threading.local()
        self._all: weakref.WeakSet[_Held] = weakref.WeakSet()
        self._lock = threading.Lock()
        self._closed = False

    def close(self) -> None:
        """Close every connection, also those of other threads."""
        with self._lock:
            self._closed = True
            held = list(self._all)
        for one in held:
            one.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give a connection on which all is read as of one moment."""
        db = self._mine()
        with answering(self.path):
            db.execute("BEGIN")
            try:
                yield db
            finally:
                db.execute("ROLLBACK")

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give a connection on which nobody else writes; kept at the end, or nothing is."""
        db = self._mine()
        if _identity(self.path) != self._file:
            raise LibraryError(
                str(self.path),
                reason="was moved, deleted or replaced while it was open",
                advice="put it back, or close tapemark and open it again",
            )
        with answering(self.path, edit=True):
            db.execute("BEGIN IMMEDIATE")
            try:
                yield db
                db.execute("COMMIT")
            except BaseException:
                if db.in_transaction:
                    db.execute("ROLLBACK")
                raise

    def _mine(self) -> sqlite3.Connection:
        held: _Held | None = getattr(self._here, "held", None)
        if held is not None and held.process == os.getpid() and not self._closed:
            return held.db
        with self._lock:
            if self._closed:
                raise LibraryError(
                    str(self.path), reason="is closed", advice="open the library again"
                )
            held = _Held(connect(self.path))
            self._all.add(held)
        self._here.held = held
        return held.db


class _Held:
    """A connection that closes when its thread ends; one from before a fork is left alone."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self.db = db
        self.process = os.getpid()

    def close(self) -> None:
        if self.process == os.getpid():
            self.db.close()

    def __del__(self) -> None:
        if self.process != os.getpid():
            _LEFT_ALONE.append(self.db)  # its process closes it; here it must not even be freed
        self.close()


_LEFT_ALONE: list[sqlite3.Connection] = []


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
