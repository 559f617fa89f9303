"""What can still be read of a damaged library, in a new one; the damaged file is set aside."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tapemark.errors import DamagedLibrary, FileError, WriteError
from tapemark.store import library_rows as rows
from tapemark.store.library_bodies import plain_line, seal_of
from tapemark.store.library_bundle import BundledThing, BundledVersion
from tapemark.store.library_connections import Connections
from tapemark.store.library_log_rows import entry_seal, picture_seal
from tapemark.store.library_opening import answering, connect, prepare
from tapemark.store.library_practice import (
    PRACTICE_COLUMNS,
    Practised,
    insert_practice,
    practised,
)
from tapemark.store.library_types import KINDS, BundledEntry

__all__ = ["RescueReport", "rescue"]

_BESIDE = ("", "-wal", "-shm")  # endings of the files of one library
_MOST_MISSES = 1_000  # in a row, in steps that grow, until the end is taken to be reached
_LAST_ROW = 2**62


@dataclass(frozen=True, kw_only=True, slots=True)
class RescueReport:
    """What came of a rescue.

    Parameters
    ----------
    aside : Path, optional
        Where the damaged file is now; None where nothing was damaged and nothing was done.
    things, versions : int
        How many could be kept.
    """

    aside: Path | None
    things: int
    versions: int


def rescue(path: Path) -> RescueReport:
    """Set a damaged library aside and keep in a new one all that can be read.

    Parameters
    ----------
    path : Path
        The file of the library.

    Raises
    ------
    LibraryError
        It is of another program or of a newer tapemark: there is nothing to rescue.
    FileError
        There is no such file, or it cannot be moved.

    Notes
    -----
    Rows are read one by one, so that a damaged page costs the rows on it and no more, and at
    most a few beside a long damaged stretch; a body counts only if it is what was written.
    """
    if not path.exists():
        raise FileError(str(path), reason="is not there", advice="there is nothing to rescue")
    if _is_whole(path):
        return RescueReport(aside=None, things=0, versions=0)
    aside = _set_aside(path)
    found, answers = _readable(aside)
    prepare(path)
    connections = Connections(path)
    try:
        with connections.writing() as db:
            for thing in found:
                rows.insert(db, thing)
            insert_practice(db, answers)
    finally:
        connections.close()
    return RescueReport(
        aside=aside, things=len(found), versions=sum(len(one.versions) for one in found)
    )


def _is_whole(path: Path) -> bool:
    """Look closer than at every start: at each entry of each table and index."""
    try:
        prepare(path)
        with answering(path), closing(connect(path)) as db:
            if db.execute("PRAGMA integrity_check(1)").fetchone()[0] != "ok":
                return False
            if db.execute("PRAGMA foreign_key_check").fetchone() is not None:
                return False
            db.execute("SELECT * FROM things").fetchall()  # raises where a text is none any more
            return _logs_are_whole(db) and all(
                isinstance(text, str) and seal_of(thing_id, number, text) == seal
                for thing_id, number, text, seal, *_ in db.execute(
                    "SELECT thing, number, body, seal, saved_at, why FROM versions"
                )
            )
    except DamagedLibrary:
        return False


def _logs_are_whole(db: sqlite3.Connection) -> bool:
    entries = db.execute("SELECT session, number, body, seal, at, kind, mark FROM entries")
    if any(entry_seal(one[0], one[1], str(one[2])) != one[3] for one in entries):
        return False
    pictures = db.execute("SELECT session, entry, content, seal FROM pictures")
    return all(picture_seal(*one[:3]) == one[3] for one in pictures)


def _set_aside(path: Path) -> Path:
    """Move a library, with what lies beside it, to a name that is free."""
    stamp = datetime.now().astimezone().strftime("%Y-%m-%d %H.%M.%S")
    aside, number = path.with_name(f"{path.stem} damaged {stamp}.sqlite"), 2
    while aside.exists():
        aside = path.with_name(f"{path.stem} damaged {stamp} ({number}).sqlite")
        number += 1
    try:
        for ending in reversed(_BESIDE):
            part = Path(f"{path}{ending}")
            if part.exists():
                part.rename(Path(f"{aside}{ending}"))
    except OSError as error:
        raise WriteError(
            str(path),
            reason=f"cannot be set aside ({error.strerror or error})",
            advice="check that you may write its folder",
        ) from None
    return aside


def _readable(aside: Path) -> tuple[list[BundledThing], list[Practised]]:
    """Return what can be read of a copy, so that the file set aside stays as it is."""
    with TemporaryDirectory(prefix="tapemark-") as folder:
        copy = Path(folder) / "copy.sqlite"
        for ending in _BESIDE:
            if Path(f"{aside}{ending}").exists():
                shutil.copyfile(f"{aside}{ending}", f"{copy}{ending}")
        with closing(sqlite3.connect(copy, isolation_level=None)) as db:
            db.text_factory = lambda raw: raw.decode(errors="replace")
            return _things(db), list(_practice(db))


def _practice(db: sqlite3.Connection) -> Iterator[Practised]:
    """Give the answers to drills that are ones still."""
    for base, seed, number, at, *right in _rows(db, "practice", PRACTICE_COLUMNS):
        counts = isinstance(seed, int) and isinstance(number, int) and number > 0
        if counts and isinstance(base, str) and all(one in (0, 1) for one in right):
            place, light, surface, move = (int(one) for one in right)
            yield practised((base, seed, number, str(at), place, light, surface, move))


def _things(db: sqlite3.Connection) -> list[BundledThing]:
    heads: dict[str, tuple[str, str, object, bool]] = {}
    columns = "id, kind, name, version, binned"
    for thing_id, kind, name, version, binned in _rows(db, "things", columns):
        if isinstance(thing_id, str) and kind in KINDS:
            heads[thing_id] = (kind, plain_line(str(name), otherwise=kind), version, bool(binned))
    versions: dict[str, dict[int, BundledVersion]] = {}
    columns = "thing, number, parent, ahead, saved_at, why, body, seal"
    for thing_id, number, parent, ahead, saved_at, why, text, seal in _rows(
        db, "versions", columns
    ):
        if not isinstance(thing_id, str) or not isinstance(number, int) or number < 1:
            continue
        if isinstance(text, str) and seal_of(thing_id, number, text) == seal:
            links = [link if isinstance(link, int) else None for link in (parent, ahead)]
            one = BundledVersion(number, links[0], links[1], str(saved_at), str(why), text)
            versions.setdefault(thing_id, {})[number] = one
    logs = _logs(db)
    return [
        replace(_thing(thing_id, heads.get(thing_id), found), log=logs.get(thing_id, ()))
        for thing_id, found in versions.items()
        if thing_id in heads or _is_setup(found)
    ]


def _logs(db: sqlite3.Connection) -> dict[str, tuple[BundledEntry, ...]]:
    """Return the log of each session, as far as it is what was written."""
    pictures: dict[tuple[str, int], dict[str, bytes]] = {}
    for session, entry, what, content, seal in _rows(
        db, "pictures", "session, entry, what, content, seal"
    ):
        if isinstance(content, bytes) and picture_seal(str(session), entry, content) == seal:
            pictures.setdefault((session, entry), {})[str(what)] = content
    found: dict[str, dict[int, BundledEntry]] = {}
    columns = "session, number, about, at, kind, mark, body, seal"
    for session, number, about, at, kind, mark, text, seal in _rows(db, "entries", columns):
        if not isinstance(text, str) or not isinstance(number, int) or number < 1:
            continue
        if entry_seal(str(session), number, text) == seal:
            found.setdefault(str(session), {})[number] = BundledEntry(
                number=number,
                about=about if isinstance(about, int) else None,
                at=str(at),
                kind=str(kind),
                mark=mark if isinstance(mark, str) else None,
                text=text,
                pictures=tuple(sorted(pictures.get((session, number), {}).items())),
            )
    return {session: _mended_log(each) for session, each in found.items()}


def _mended_log(found: dict[int, BundledEntry]) -> tuple[BundledEntry, ...]:
    """Return a log in order; what an entry was about is left out where that is lost."""
    marks: set[str | None] = {None}
    mended = []
    for number in sorted(found):
        one = found[number]
        mark = None if one.mark in marks else one.mark
        marks.add(mark)
        mended.append(replace(one, about=_left(one.about, found, below=number), mark=mark))
    return tuple(mended)


def _thing(
    thing_id: str,
    head: tuple[str, str, object, bool] | None,
    found: dict[int, BundledVersion],
) -> BundledThing:
    """Return a thing of the versions that are left, its tree mended where some are lost."""
    kind, name, version, binned = head or ("setup", "rescued setup", 0, False)
    mended = tuple(
        replace(
            found[number],
            parent=_left(found[number].parent, found, below=number),
            ahead=_left(found[number].ahead, found),
        )
        for number in sorted(found)
    )
    return BundledThing(
        id=thing_id,
        kind=kind,
        name=name,
        binned=binned,
        version=version if isinstance(version, int) and version in found else max(found),
        versions=mended,
    )


def _left(link: int | None, found: Mapping[int, object], *, below: int | None = None) -> int | None:
    """Return a link of the tree if what it leads to is left, and lies below a number."""
    if link is None or link not in found or (below is not None and link >= below):
        return None
    return link


def _is_setup(found: dict[int, BundledVersion]) -> bool:
    return "tapemark" in json.loads(found[max(found)].text)


def _rows(db: sqlite3.Connection, table: str, columns: str) -> Iterator[tuple[Any, ...]]:
    """Give every row that can be read, one by one, stepping over those that cannot."""
    query = f"SELECT rowid, {columns} FROM {table} WHERE rowid > ? ORDER BY rowid LIMIT 1"
    last, misses = 0, 0
    while misses < _MOST_MISSES and last < _LAST_ROW:
        try:
            row = db.execute(query, (last,)).fetchone()
        except UnicodeDecodeError:  # not even what it complains of can be read
            return
        except sqlite3.Error as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_CORRUPT:
                return  # there is no such table, or no database at all
            last, misses = last + 1 + misses // 50, misses + 1
            continue
        if row is None:
            return
        last, misses = max(last + 1, row[0]), 0
        yield row[1:]
