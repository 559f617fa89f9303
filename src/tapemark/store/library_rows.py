"""Rows of the library's tables as kept things, and back; always within somebody's transaction."""

from __future__ import annotations

import json
import sqlite3
import uuid
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tapemark.errors import LibraryError, NotKept
from tapemark.store.library_bodies import digest_of, plain_line, seal_of, words_of
from tapemark.store.library_bundle import BundledThing, BundledVersion
from tapemark.store.library_bundle_logs import log_digest_lines
from tapemark.store.library_log_rows import insert_entries, taken_along
from tapemark.store.library_types import BundledEntry, ImportedThing, Kept, KeptLine

__all__ = [
    "COLUMNS",
    "body_of",
    "bundled",
    "bytes_of",
    "go_to",
    "grow",
    "insert",
    "kept_of",
    "line_from",
    "line_of",
    "neighbour",
    "now",
    "take_in",
    "version_at",
]

COLUMNS = "id, kind, name, revision, version, changed_at, binned"
_OF_THINGS = ", ".join(f"t.{column}" for column in COLUMNS.split(", "))
_WITH_BODY = f"""
    SELECT {_OF_THINGS}, v.body, v.seal, v.parent, v.ahead
    FROM things t JOIN versions v ON v.thing = t.id AND v.number = t.version
    WHERE t.id = ?
"""


def now() -> str:
    """Return the present moment as it is kept, in UTC."""
    moment = datetime.now(UTC)
    return moment.isoformat(timespec="microseconds").replace("+00:00", "Z")


def line_from(row: Sequence[Any]) -> KeptLine:
    """Return a row of `COLUMNS` as a line."""
    thing_id, kind, name, revision, version, changed_at, binned = row
    return KeptLine(
        id=thing_id,
        kind=kind,
        name=name,
        revision=revision,
        version=version,
        changed_at=changed_at,
        binned=bool(binned),
    )


def line_of(db: sqlite3.Connection, thing_id: str) -> KeptLine:
    """Return the line of a thing."""
    row = db.execute(f"SELECT {COLUMNS} FROM things WHERE id = ?", (thing_id,)).fetchone()
    if row is None:
        raise _no_such(thing_id)
    return line_from(row)


def kept_of(db: sqlite3.Connection, thing_id: str, *, path: Path) -> Kept:
    """Return a thing with the body of its current version."""
    row = db.execute(_WITH_BODY, (thing_id,)).fetchone()
    if row is None:
        raise _no_such(thing_id)
    line = line_from(row[:7])
    text, seal, parent, ahead = row[7:]
    return Kept(
        id=line.id,
        kind=line.kind,
        name=line.name,
        revision=line.revision,
        version=line.version,
        changed_at=line.changed_at,
        binned=line.binned,
        body=_sound(line, line.version, text=text, seal=seal, path=path),
        can_undo=parent is not None,
        can_redo=ahead is not None,
    )


def body_of(db: sqlite3.Connection, line: KeptLine, version: int, *, path: Path) -> dict[str, Any]:
    """Return the body of one version of a thing."""
    row = db.execute(
        "SELECT body, seal FROM versions WHERE thing = ? AND number = ?", (line.id, version)
    ).fetchone()
    if row is None:
        raise NotKept(f"version {version} of {line.kind} {line.name!r}")
    return _sound(line, version, text=row[0], seal=row[1], path=path)


def version_at(db: sqlite3.Connection, thing_id: str, revision: int) -> int | None:
    """Return which version was current at a revision; None where there was no such revision."""
    row = db.execute(
        "SELECT version FROM revisions WHERE thing = ? AND revision = ?", (thing_id, revision)
    ).fetchone()
    return None if row is None else int(row[0])


def neighbour(db: sqlite3.Connection, line: KeptLine, column: str) -> int | None:
    """Return the ``parent`` of the current version, or the version ``ahead`` of it."""
    row = db.execute(
        "SELECT parent, ahead FROM versions WHERE thing = ? AND number = ?",
        (line.id, line.version),
    ).fetchone()
    found: int | None = row[("parent", "ahead").index(column)]
    return found


def go_to(db: sqlite3.Connection, line: KeptLine, version: int) -> None:
    """Make a version the current one and count a revision."""
    name, text = db.execute(
        "SELECT t.name, v.body FROM things t JOIN versions v ON v.thing = t.id "
        "WHERE t.id = ? AND v.number = ?",
        (line.id, version),
    ).fetchone()
    revision = line.revision + 1
    db.execute(
        "UPDATE things SET version = ?, revision = ?, changed_at = ?, words = ? WHERE id = ?",
        (version, revision, now(), words_of(name, _read(text)), line.id),
    )
    db.execute("INSERT INTO revisions VALUES (?, ?, ?)", (line.id, revision, version))


def grow(db: sqlite3.Connection, line: KeptLine, *, text: str, why: str) -> None:
    """Add a version to the current one and make it current."""
    (last,) = db.execute("SELECT max(number) FROM versions WHERE thing = ?", (line.id,)).fetchone()
    version = BundledVersion(last + 1, line.version, None, now(), plain_line(why), text)
    _insert_version(db, line.id, version)
    go_to(db, line, version.number)


def insert(db: sqlite3.Connection, thing: BundledThing) -> None:
    """Add a thing with its versions, at revision 1."""
    words = words_of(thing.name, _read(thing.current.text))
    db.execute(
        "INSERT INTO things VALUES (?, ?, ?, ?, 1, ?, ?, ?)",
        (thing.id, thing.kind, thing.name, words, thing.version, now(), thing.binned),
    )
    for version in thing.versions:
        _insert_version(db, thing.id, version)
    db.execute("INSERT INTO revisions VALUES (?, 1, ?)", (thing.id, thing.version))
    insert_entries(db, thing.id, thing.log)


def bytes_of(
    db: sqlite3.Connection, ids: Sequence[str], *, all_versions: bool, pictures: bool
) -> int:
    """Return about how many characters things will take that are to be exported."""
    query = """
        SELECT (SELECT total(length(v.body)) FROM versions v JOIN things t ON t.id = v.thing
                WHERE t.id = :id AND (:all OR v.number = t.version))
             + (SELECT total(length(body)) FROM entries WHERE session = :id)
             + (SELECT total(length(content)) * 4 / 3 FROM pictures
                WHERE session = :id AND :pictures)
    """
    values = {"all": all_versions, "pictures": pictures}
    return sum(int(db.execute(query, {"id": one, **values}).fetchone()[0]) for one in ids)


def bundled(
    db: sqlite3.Connection,
    thing_id: str,
    *,
    all_versions: bool,
    path: Path,
    pictures: bool = True,
) -> BundledThing:
    """Return a thing as it goes into an exported file."""
    line = line_of(db, thing_id)
    found = db.execute(
        "SELECT number, parent, ahead, saved_at, why, body, seal FROM versions "
        "WHERE thing = ? AND (? OR number = ?) ORDER BY number",
        (thing_id, all_versions, line.version),
    ).fetchall()
    for row in found:
        _sound(line, row[0], text=row[5], seal=row[6], path=path)
    versions = tuple(BundledVersion(*row[:6]) for row in found)
    if not all_versions:
        (only,) = versions
        versions = (BundledVersion(1, None, None, only.saved_at, only.why, only.text),)
    return BundledThing(
        id=line.id,
        kind=line.kind,
        name=line.name,
        binned=line.binned,
        version=line.version if all_versions else 1,
        versions=versions,
        log=taken_along(db, thing_id, pictures=pictures, path=path),
    )


def take_in(db: sqlite3.Connection, thing: BundledThing) -> ImportedThing:
    """Add a thing of a file: as new, as a copy beside a different one, or not at all."""
    outcome, thing_id = "new", thing.id
    if _is_here(db, thing_id):
        outcome, thing_id = "copy", _id_of_copy(thing)
        for here in (thing.id, thing_id):
            if _holds_all(db, here, thing):
                outcome, thing_id = "already here", here
                break
    if outcome == "copy" and _is_here(db, thing_id):  # and was edited since: a third one
        thing_id = uuid.uuid4().hex
    name = thing.name if outcome == "new" else f"{thing.name} (imported)"
    if outcome == "already here":
        name = line_of(db, thing_id).name
    else:
        insert(db, thing.called(name, thing_id=thing_id))
        if thing.log:
            insert_entries(db, thing_id, (_imported(thing),))
    return ImportedThing(
        id=thing_id, kind=thing.kind, name=name, outcome=outcome, versions=len(thing.versions)
    )


def _is_here(db: sqlite3.Connection, thing_id: str) -> bool:
    return db.execute("SELECT 1 FROM things WHERE id = ?", (thing_id,)).fetchone() is not None


def _holds_all(db: sqlite3.Connection, thing_id: str, thing: BundledThing) -> bool:
    """Return whether a thing here has every version of one in a file."""
    here = {
        row[0]
        for row in db.execute(
            "SELECT v.body FROM versions v JOIN things t ON t.id = v.thing "
            "WHERE t.id = ? AND t.kind = ?",
            (thing_id, thing.kind),
        )
    }
    return all(version.text in here for version in thing.versions) and _logs(db, thing_id, thing)


def _imported(thing: BundledThing) -> BundledEntry:
    """Return the entry that ends what came with a file: what follows it was done here."""
    number = thing.log[-1].number + 1
    return BundledEntry(number=number, about=None, at=now(), kind="imported", mark=None, text="{}")


def _logs(db: sqlite3.Connection, session: str, thing: BundledThing) -> bool:
    """Return whether a session here has every entry of one in a file."""
    here = dict(db.execute("SELECT number, body FROM entries WHERE session = ?", (session,)))
    return all(here.get(one.number) == one.text for one in thing.log)


def _id_of_copy(thing: BundledThing) -> str:
    """Return an id that the same content always gets, so that importing twice is as once."""
    lines = [f"{version.number} {version.text}" for version in thing.versions]
    content = "\n".join([*lines, *log_digest_lines("", thing.log)])
    return uuid.UUID(digest_of(f"{thing.id}\n{content}")).hex


def _insert_version(db: sqlite3.Connection, thing_id: str, version: BundledVersion) -> None:
    db.execute(
        "INSERT INTO versions VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            thing_id,
            version.number,
            version.parent,
            version.ahead,
            version.saved_at or now(),
            version.why,
            version.text,
            seal_of(thing_id, version.number, version.text),
        ),
    )


def _sound(line: KeptLine, version: int, *, text: Any, seal: str, path: Path) -> dict[str, Any]:
    """Return a body as data, if it is still what was written."""
    if not isinstance(text, str) or seal_of(line.id, version, text) != seal:
        raise LibraryError(
            str(path),
            reason=f"version {version} of {line.kind} {line.name!r} was damaged on the disk",
            advice="restore another version of it, or run: tapemark own rescue",
        )
    body: dict[str, Any] = json.loads(text)
    return body


def _read(text: Any) -> object:
    try:
        return json.loads(text)
    except (TypeError, ValueError):
        return None


def _no_such(thing_id: str) -> NotKept:
    return NotKept(f"a thing of id {plain_line(str(thing_id))!r}")
