"""The tables of the library, every step that led to them, and bringing an older file up to date.

A step that was ever released is never edited: a change of the tables is a new step at the end,
and `tests/pinned/library_schemas` gets a dump of the version before it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from tapemark.errors import LibraryError

__all__ = [
    "APPLICATION_ID",
    "STEPS",
    "Step",
    "bring_up_to_date",
    "newer_library",
    "user_version",
]

APPLICATION_ID = 0x74706D6B
"""Marks the file as a library of ours, where a look at its first bytes finds it."""

Step = tuple[str, ...]
"""The statements that lead from one version of the tables to the next."""

_FIRST: Step = (
    """
    CREATE TABLE things (
        id TEXT PRIMARY KEY NOT NULL,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        words TEXT NOT NULL,
        revision INTEGER NOT NULL,
        version INTEGER NOT NULL,
        changed_at TEXT NOT NULL,
        binned INTEGER NOT NULL DEFAULT 0 CHECK (binned IN (0, 1)),
        FOREIGN KEY (id, version) REFERENCES versions (thing, number)
            DEFERRABLE INITIALLY DEFERRED
    )
    """,
    """
    CREATE TABLE versions (
        thing TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE
            DEFERRABLE INITIALLY DEFERRED,
        number INTEGER NOT NULL CHECK (number > 0),
        parent INTEGER CHECK (parent < number),
        ahead INTEGER,
        saved_at TEXT NOT NULL,
        why TEXT NOT NULL,
        body TEXT NOT NULL,
        seal TEXT NOT NULL,
        PRIMARY KEY (thing, number),
        FOREIGN KEY (thing, parent) REFERENCES versions (thing, number)
            DEFERRABLE INITIALLY DEFERRED
    )
    """,
    """
    CREATE TABLE revisions (
        thing TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE,
        revision INTEGER NOT NULL,
        version INTEGER NOT NULL,
        PRIMARY KEY (thing, revision)
    ) WITHOUT ROWID
    """,
    "CREATE INDEX things_by_change ON things (kind, binned, changed_at)",
    # without it each version taken in or erased is held against all others
    "CREATE INDEX versions_by_parent ON versions (thing, parent)",
)

_LOGS: Step = (
    """
    CREATE TABLE entries (
        session TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE
            DEFERRABLE INITIALLY DEFERRED,
        number INTEGER NOT NULL CHECK (number > 0),
        about INTEGER CHECK (about < number),
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        mark TEXT,
        body TEXT NOT NULL,
        seal TEXT NOT NULL,
        PRIMARY KEY (session, number),
        FOREIGN KEY (session, about) REFERENCES entries (session, number)
            DEFERRABLE INITIALLY DEFERRED
    )
    """,
    """
    CREATE TABLE pictures (
        session TEXT NOT NULL,
        entry INTEGER NOT NULL,
        what TEXT NOT NULL,
        content BLOB NOT NULL,
        seal TEXT NOT NULL,
        PRIMARY KEY (session, entry, what),
        FOREIGN KEY (session, entry) REFERENCES entries (session, number) ON DELETE CASCADE
            DEFERRABLE INITIALLY DEFERRED
    )
    """,
    "CREATE UNIQUE INDEX entries_by_mark ON entries (session, mark) WHERE mark IS NOT NULL",
    "CREATE INDEX entries_by_kind ON entries (session, kind, number)",
    "CREATE INDEX entries_by_about ON entries (session, about, kind, number)",
    """
    CREATE TABLE practice (
        base TEXT NOT NULL,
        seed INTEGER NOT NULL,
        number INTEGER NOT NULL CHECK (number > 0),
        at TEXT NOT NULL,
        place INTEGER NOT NULL CHECK (place IN (0, 1)),
        light INTEGER NOT NULL CHECK (light IN (0, 1)),
        surface INTEGER NOT NULL CHECK (surface IN (0, 1)),
        move INTEGER NOT NULL CHECK (move IN (0, 1)),
        PRIMARY KEY (base, seed, number)
    )
    """,
)

STEPS: tuple[Step, ...] = (_FIRST, _LOGS)
"""Step n leads to version n of the tables, counted from 1."""


def user_version(db: sqlite3.Connection) -> int:
    """Return which version of the tables a file has; 0 for a new file."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def newer_library(path: Path, *, found: int, known: int) -> LibraryError:
    """Return the error for a library that a newer program wrote."""
    return LibraryError(
        str(path),
        reason=f"was written by a newer tapemark (library version {found}, this one knows {known})",
        advice="bring tapemark up to date; the file was not touched",
    )


def bring_up_to_date(
    db: sqlite3.Connection, *, path: Path, steps: Sequence[Step] = STEPS
) -> Path | None:
    """Take every step that a library lacks, all or none, after a copy of what it was.

    Parameters
    ----------
    db : sqlite3.Connection
        In autocommit mode.
    path : Path
        Its file.
    steps : sequence of Step
        All steps, in order.

    Returns
    -------
    Path, optional
        The copy made beside the file before an upgrade; None where none was needed.

    Raises
    ------
    LibraryError
        The library is newer than the steps known.
    """
    before = user_version(db)
    if before > len(steps):
        raise newer_library(path, found=before, known=len(steps))
    if before == len(steps):
        return None
    copy = _copied(db, path=path, version=before) if before else None
    db.execute("BEGIN IMMEDIATE")
    try:
        for number in range(user_version(db), len(steps)):  # another process may have been quicker
            for statement in steps[number]:
                db.execute(statement)
            db.execute(f"PRAGMA user_version = {number + 1}")
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
    return copy


def _copied(db: sqlite3.Connection, *, path: Path, version: int) -> Path:
    """Copy a library beside itself under a name that is free, only for its owner to read."""
    number = 1
    while True:
        again = "" if number == 1 else f" ({number})"
        copy = path.with_name(f"{path.stem} before upgrade from version {version}{again}.sqlite")
        try:
            copy.touch(mode=0o600, exist_ok=False)
            break
        except FileExistsError:
            number += 1
    target = sqlite3.connect(copy, isolation_level=None)
    try:
        db.backup(target)
    finally:
        target.close()
    return copy
