"""Opening a library file: looked at before it is touched, refused in one clear line."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from tapemark.errors import DamagedLibrary, FileError, LibraryError, WriteError
from tapemark.store.library_bodies import plain_line
from tapemark.store.library_schema import (
    APPLICATION_ID,
    STEPS,
    Step,
    bring_up_to_date,
    newer_library,
    user_version,
)

__all__ = ["answering", "connect", "damaged", "prepare"]

BUSY_S = 5.0  # how long a write waits for another one
CHECKED_UP_TO = 64_000_000  # bytes; a larger file is not read through at every start
_MAGIC = b"SQLite format 3\x00"
_HEADER_BYTES = 100
_COLUMNS = {  # of each table, since which version of the tables
    ("things", 1): {
        *("id", "kind", "name", "words", "revision", "version", "changed_at", "binned"),
    },
    ("versions", 1): {"thing", "number", "parent", "ahead", "saved_at", "why", "body", "seal"},
    ("revisions", 1): {"thing", "revision", "version"},
    ("entries", 2): {"session", "number", "about", "at", "kind", "mark", "body", "seal"},
    ("pictures", 2): {"session", "entry", "what", "content", "seal"},
    ("practice", 2): {"base", "seed", "number", "at", "place", "light", "surface", "move"},
}
_KEPT = "your edit is still on the screen"


def prepare(path: Path, *, steps: Sequence[Step] = STEPS) -> Path | None:
    """Make a library ready: made where there is none, checked, brought up to date.

    Parameters
    ----------
    path : Path
        Its file; the folder is made if it is not there, for its owner only.
    steps : sequence of Step
        The steps that lead to the newest tables.

    Returns
    -------
    Path, optional
        The copy made before an upgrade.

    Raises
    ------
    LibraryError
        The file is damaged, of another program or of a newer tapemark; it is left as it is.
    FileError
        It cannot be opened.
    """
    _make_room(path)
    _refuse_by_first_bytes(path, known=len(steps))
    with answering(path):
        db = _plain_connection(path)
        try:
            _refuse_by_content(db, path=path, known=len(steps))
            _set_journal(db)
            copy = bring_up_to_date(db, path=path, steps=steps)
            _refuse_missing_tables(db, path=path)
            return copy
        finally:
            db.close()


def connect(path: Path) -> sqlite3.Connection:
    """Return a connection in autocommit mode to a library that is ready."""
    with answering(path):
        db = _plain_connection(path)
        try:
            _set_journal(db)
        except BaseException:
            db.close()
            raise
        return db


@contextmanager
def answering(path: Path, *, edit: bool = False) -> Iterator[None]:
    """Turn what the database complains of into one clear line, for an edit or for looking."""
    try:
        yield
    except sqlite3.Error as error:
        raise _explained(error, path, edit=edit) from error
    except UnicodeDecodeError as error:  # a name or a complaint that is no text any more
        raise damaged(path, how="a text in it is none any more") from error


def damaged(path: Path, *, how: str) -> DamagedLibrary:
    """Return the error for a library that is not whole."""
    return DamagedLibrary(
        str(path),
        reason=f"is damaged ({plain_line(how)}); it was left as it is",
        advice="run: tapemark own rescue, which sets it aside and keeps all that can be read",
    )


def _plain_connection(path: Path) -> sqlite3.Connection:
    db = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
    try:
        db.execute("PRAGMA trusted_schema = OFF")
        db.execute("PRAGMA cell_size_check = ON")
        db.execute("PRAGMA foreign_keys = ON")
        db.execute("PRAGMA synchronous = FULL")  # what was acknowledged survives a power cut
    except BaseException:
        db.close()
        raise
    return db


def _set_journal(db: sqlite3.Connection) -> None:
    """Have readers and the one writer not wait for each other, where the disk can do it."""
    until = time.monotonic() + BUSY_S
    while db.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        try:
            db.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:  # this one does not wait by itself
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.01)


def _make_room(path: Path) -> None:
    """Make folder and file, for the owner only, where they are not there."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.exists():
            os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        raise FileError(
            str(path),
            reason=f"cannot be made ({error.strerror or error})",
            advice="name another file in TAPEMARK_LIBRARY, or free this place",
        ) from None


def _refuse_by_first_bytes(path: Path, *, known: int) -> None:
    """Refuse what its first bytes show to be no library, without opening it as one."""
    try:
        if not path.is_file():
            raise LibraryError(str(path), reason="is no ordinary file", advice="name another file")
        with path.open("rb") as file:
            head = file.read(_HEADER_BYTES)
        size = path.stat().st_size
    except LibraryError:
        raise
    except OSError as error:
        raise FileError(
            str(path),
            reason=f"cannot be read ({error.strerror or error})",
            advice="check that you may read it",
        ) from None
    if not head:
        return
    if len(head) < _HEADER_BYTES or not head.startswith(_MAGIC):
        raise damaged(path, how="it is no library")
    found = int.from_bytes(head[60:64], "big")
    if head[68:72] == APPLICATION_ID.to_bytes(4, "big") and found > known:
        raise newer_library(path, found=found, known=known)
    if size < _promised_size(path, head):
        raise damaged(path, how="it is cut short")


def _promised_size(path: Path, head: bytes) -> int:
    """Return how large the first bytes say that a file is; where a log is to come, one page."""
    page = int.from_bytes(head[16:18], "big")
    page_size = 65536 if page == 1 else page
    log = Path(f"{path}-wal")
    if (log.exists() and log.stat().st_size) or head[24:28] != head[92:96]:
        return page_size
    return page_size * int.from_bytes(head[28:32], "big")


def _refuse_by_content(db: sqlite3.Connection, *, path: Path, known: int) -> None:
    db.execute("BEGIN")  # all as of one moment: another process may be making it just now
    found = user_version(db)
    mark = int(db.execute("PRAGMA application_id").fetchone()[0])
    empty = not db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    db.execute("ROLLBACK")
    if mark == 0 and found == 0 and empty:
        return
    if mark != APPLICATION_ID:
        raise LibraryError(
            str(path),
            reason="is a database of another program",
            advice="name another file in TAPEMARK_LIBRARY; this one was not touched",
        )
    if found > known:
        raise newer_library(path, found=found, known=known)
    if path.stat().st_size <= CHECKED_UP_TO:
        answer = str(db.execute("PRAGMA quick_check(1)").fetchone()[0])
        if answer != "ok":
            raise damaged(path, how=answer.splitlines()[-1])
    if found == known:
        _refuse_missing_tables(db, path=path)


def _refuse_missing_tables(db: sqlite3.Connection, *, path: Path) -> None:
    version = user_version(db)
    for (table, since), columns in _COLUMNS.items():
        if version < since:
            continue
        found = {row[1] for row in db.execute(f"PRAGMA table_info({table})")}
        if not columns <= found:
            raise damaged(path, how=f"the table of {table} is not as it should be")


def _explained(error: sqlite3.Error, path: Path, *, edit: bool) -> FileError:
    """Return what an error of the database means to the person."""
    name = getattr(error, "sqlite_errorname", "") or ""
    undecodable = "decode" in str(error)  # a text on the disk is no text any more
    if undecodable or name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return damaged(path, how=str(error))
    meaning = _MEANINGS.get("_".join(name.split("_")[:2]))
    reason, advice = meaning or (plain_line(str(error)), "try again")
    if name.startswith("SQLITE_CANTOPEN"):
        return FileError(str(path), reason=reason, advice=advice)
    return WriteError(str(path), reason=reason, advice=f"{advice}; {_KEPT}" if edit else advice)


_BUSY = ("is being written by another program", "try again in a moment")
_MEANINGS = {
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
    "SQLITE_READONLY": ("may not be written", "check that you may write the file and its folder"),
    "SQLITE_FULL": ("the disk is full", "free some space and try again"),
    "SQLITE_IOERR": ("the disk does not answer as it should", "check the disk"),
    "SQLITE_CANTOPEN": ("cannot be opened", "check that you may read and write its folder"),
}
