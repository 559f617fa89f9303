"""Rows of a session's log, sealed, always within somebody's transaction."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from tapemark.errors import LibraryError
from tapemark.store.library_bodies import digest_of
from tapemark.store.library_types import BundledEntry

__all__ = [
    "ENTRY_COLUMNS",
    "entry_seal",
    "insert_entries",
    "picture_seal",
    "refuse_unsound_entry",
    "taken_along",
]

ENTRY_COLUMNS = "number, about, at, kind, mark, body, seal"


def entry_seal(session: str, number: int, text: str) -> str:
    """Return the fingerprint of one entry of one session."""
    return digest_of(f"log {session} {number}\n{text}")


def picture_seal(session: str, entry: int, content: bytes) -> str:
    """Return the fingerprint of one picture."""
    made = hashlib.blake2b(f"{session} {entry}\n".encode(), digest_size=16)
    made.update(content)
    return made.hexdigest()


def insert_entries(db: sqlite3.Connection, session: str, entries: Iterable[BundledEntry]) -> None:
    """Add entries with their numbers to a session, within somebody's transaction."""
    for one in entries:
        seal = entry_seal(session, one.number, one.text)
        db.execute(
            "INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (session, one.number, one.about, one.at, one.kind, one.mark, one.text, seal),
        )
        for what, content in one.pictures:
            seal = picture_seal(session, one.number, content)
            db.execute(
                "INSERT INTO pictures VALUES (?, ?, ?, ?, ?)",
                (session, one.number, what, content, seal),
            )


def taken_along(
    db: sqlite3.Connection, session: str, *, pictures: bool, path: Path
) -> tuple[BundledEntry, ...]:
    """Return the log of a session as it goes into an exported file, the oldest first."""
    shown = _pictures(db, session) if pictures else {}
    found = db.execute(
        f"SELECT {ENTRY_COLUMNS} FROM entries WHERE session = ? ORDER BY number", (session,)
    )
    entries = []
    for number, about, at, kind, mark, text, seal in found:
        refuse_unsound_entry(session, number, text, seal, path=path)
        entries.append(
            BundledEntry(
                number=number,
                about=about,
                at=at,
                kind=kind,
                mark=mark,
                text=text,
                pictures=tuple(shown.get(number, ())),
            )
        )
    return tuple(entries)


def _pictures(db: sqlite3.Connection, session: str) -> dict[int, list[tuple[str, bytes]]]:
    """Return the sound pictures of each entry; one that the disk has changed stays behind."""
    by_entry: dict[int, list[tuple[str, bytes]]] = {}
    for entry, what, content, seal in db.execute(
        "SELECT entry, what, content, seal FROM pictures WHERE session = ? ORDER BY entry, what",
        (session,),
    ):
        if picture_seal(session, entry, content) == seal:
            by_entry.setdefault(entry, []).append((what, content))
    return by_entry


def refuse_unsound_entry(session: str, number: int, text: Any, seal: str, *, path: Path) -> None:
    """Refuse an entry that is not what was written."""
    if not isinstance(text, str) or entry_seal(session, number, text) != seal:
        raise LibraryError(
            str(path),
            reason=f"entry {number} of a session's log was damaged on the disk",
            advice="run: tapemark own rescue",
        )
