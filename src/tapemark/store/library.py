"""The library of own things: one file, every version kept, undo and redo without limit.

Versions of a thing form a tree. Undo goes to the parent, redo to the child most recently left,
and a save after an undo grows a new branch; nothing is ever taken away. Each change, an undo
included, counts the revision up by one. A window names the revision it knows; where the version
has moved on since, it is told instead of writing over it.
"""

from __future__ import annotations

import json
import sqlite3
import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from tapemark.errors import EditedElsewhere, LibraryError, NotKept
from tapemark.store import library_rows as rows
from tapemark.store.library_bodies import body_text, folded, plain_line, seal_of
from tapemark.store.library_bundle import (
    LARGEST_BUNDLE,
    BundledThing,
    BundledVersion,
    bundle_text,
    read_bundle,
    read_bundle_file,
    too_large,
)
from tapemark.store.library_connections import Connections
from tapemark.store.library_log import Log
from tapemark.store.library_opening import prepare
from tapemark.store.library_practice import Practice
from tapemark.store.library_schema import STEPS, Step
from tapemark.store.library_types import (
    ImportReport,
    Kept,
    KeptLine,
    VersionLine,
    known_kind,
)
from tapemark.store.result_files import write_results
from tapemark.store.user_folders import library_path

__all__ = ["Library"]

MOST_WORDS = 12  # of a search

Check = Callable[[str, str, dict[str, Any]], object]
"""Raises where a body of a kind and name cannot be read."""


class Library:
    """A library that is open; safe to share between threads.

    Open it with `Library.open`, close it with `close` or a ``with`` block.
    """

    def __init__(self, path: Path, *, upgrade_copy: Path | None) -> None:
        self.path = path
        self.upgrade_copy = upgrade_copy
        self._connections = Connections(path)

    @classmethod
    def open(cls, path: Path | None = None, *, steps: Sequence[Step] = STEPS) -> Library:
        """Open a library, which is made if it is not there.

        Parameters
        ----------
        path : Path, optional
            Its file; the one of this user if left out.
        steps : sequence of Step
            The steps that lead to the newest tables.

        Raises
        ------
        LibraryError
            It is damaged, of another program or of a newer tapemark; it is not touched.
        FileError
            It cannot be opened or made.
        """
        file = library_path() if path is None else Path(path)
        return cls(file, upgrade_copy=prepare(file, steps=steps))

    def close(self) -> None:
        """Close it; what was acknowledged is on the disk already."""
        self._connections.close()

    def __enter__(self) -> Library:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # -------------------------------------------------------------- looking

    def get(self, thing_id: str) -> Kept:
        """Return a thing with its body.

        Raises
        ------
        NotKept
            There is none of that id.
        LibraryError
            The disk has changed its body.
        """
        with self._connections.reading() as db:
            return rows.kept_of(db, thing_id, path=self.path)

    def kept(
        self,
        kind: str | None = None,
        search: str = "",
        *,
        binned: bool = False,
        most: int | None = None,
    ) -> tuple[KeptLine, ...]:
        """Return the things of a kind, the last changed first.

        Parameters
        ----------
        kind : str, optional
            One of `KINDS`; all kinds if left out.
        search : str
            Words that must all be in the name, or in names and titles within the body; case and
            accents do not count.
        binned : bool
            Those in the bin instead.
        most : int, optional
            How many to return at most.
        """
        where: list[str] = ["binned = ?"]
        values: list[str | bool] = [binned]
        if kind is not None:
            where.append("kind = ?")
            values.append(known_kind(kind))
        for word in folded(plain_line(search)).split()[:MOST_WORDS]:
            where.append("instr(words, ?)")
            values.append(word)
        query = f"SELECT {rows.COLUMNS} FROM things WHERE {' AND '.join(where)}"
        with self._connections.reading() as db:
            found = db.execute(
                f"{query} ORDER BY changed_at DESC, rowid DESC LIMIT ?",
                [*values, -1 if most is None else most],
            ).fetchall()
        return tuple(rows.line_from(row) for row in found)

    def names_like(self, kind: str, name: str) -> tuple[KeptLine, ...]:
        """Return the things of a kind whose names begin with a name, whatever the case."""
        begins = f"\n{folded(name)}"
        query = f"SELECT {rows.COLUMNS} FROM things WHERE kind = ? AND substr(words, 1, ?) = ?"
        with self._connections.reading() as db:
            found = db.execute(query, (kind, len(begins), begins)).fetchall()
        return tuple(rows.line_from(row) for row in found)

    def versions(self, thing_id: str) -> tuple[VersionLine, ...]:
        """Return every version of a thing, the oldest first."""
        with self._connections.reading() as db:
            current = rows.line_of(db, thing_id).version
            found = db.execute(
                "SELECT number, parent, saved_at, why FROM versions WHERE thing = ? "
                "ORDER BY number",
                (thing_id,),
            ).fetchall()
        return tuple(
            VersionLine(
                number=number, parent=parent, saved_at=at, why=why, current=number == current
            )
            for number, parent, at, why in found
        )

    def version_body(self, thing_id: str, version: int) -> dict[str, Any]:
        """Return the body of one version of a thing."""
        with self._connections.reading() as db:
            return rows.body_of(db, rows.line_of(db, thing_id), version, path=self.path)

    def body_at(self, thing_id: str, revision: int) -> dict[str, Any]:
        """Return the body of a thing as a window at that revision knows it."""
        with self._connections.reading() as db:
            line = rows.line_of(db, thing_id)
            version = rows.version_at(db, thing_id, revision)
            if version is None:
                raise NotKept(f"revision {revision} of {line.kind} {line.name!r}")
            return rows.body_of(db, line, version, path=self.path)

    def log(self, session_id: str) -> Log:
        """Return the log of a session, to read it and add to it.

        Raises
        ------
        NotKept
            There is no session of that id.
        """
        with self._connections.reading() as db:
            if rows.line_of(db, session_id).kind != "session":
                raise NotKept(f"a session of id {session_id[:40]!r}")
        return Log(self._connections, session_id)

    @property
    def practice(self) -> Practice:
        """The answers to drills."""
        return Practice(self._connections)

    # -------------------------------------------------------------- changing

    def add(self, kind: str, *, name: str, body: Mapping[str, Any], why: str = "") -> Kept:
        """Keep a new thing, at revision and version 1."""
        line = plain_line(name, otherwise=f"unnamed {known_kind(kind)}")
        text = body_text(body, name=line)
        thing = BundledThing(
            id=uuid.uuid4().hex,
            kind=kind,
            name=line,
            binned=False,
            version=1,
            versions=(BundledVersion(1, None, None, rows.now(), plain_line(why), text),),
        )
        with self._connections.writing() as db:
            rows.insert(db, thing)
            return rows.kept_of(db, thing.id, path=self.path)

    def save(
        self, thing_id: str, body: Mapping[str, Any], *, base_revision: int, why: str = ""
    ) -> Kept:
        """Keep a new version of a thing; the same body again changes nothing.

        Parameters
        ----------
        thing_id : str
            Which thing.
        body : mapping
            What it is now.
        base_revision : int
            The revision that the edit was made on.
        why : str
            What was done, for the list of versions.

        Raises
        ------
        EditedElsewhere
            The thing has another version by now; nothing was written.
        """
        with self._connections.writing() as db:
            line = rows.line_of(db, thing_id)
            text = body_text(body, name=line.name)
            (seal,) = db.execute(
                "SELECT seal FROM versions WHERE thing = ? AND number = ?",
                (thing_id, line.version),
            ).fetchone()
            if seal != seal_of(thing_id, line.version, text):
                self._refuse_stale(db, line, base_revision)
                rows.grow(db, line, text=text, why=why)
            return rows.kept_of(db, thing_id, path=self.path)

    def undo(self, thing_id: str, base_revision: int) -> Kept:
        """Go back to the version that the current one was made from, if there is one."""
        with self._connections.writing() as db:
            line = rows.line_of(db, thing_id)
            self._refuse_stale(db, line, base_revision)
            parent = rows.neighbour(db, line, "parent")
            if parent is not None:
                db.execute(
                    "UPDATE versions SET ahead = ? WHERE thing = ? AND number = ?",
                    (line.version, thing_id, parent),
                )
                rows.go_to(db, line, parent)
            return rows.kept_of(db, thing_id, path=self.path)

    def redo(self, thing_id: str, base_revision: int) -> Kept:
        """Go forward to the version most recently undone, if there is one."""
        with self._connections.writing() as db:
            line = rows.line_of(db, thing_id)
            self._refuse_stale(db, line, base_revision)
            ahead = rows.neighbour(db, line, "ahead")
            if ahead is not None:
                rows.go_to(db, line, ahead)
            return rows.kept_of(db, thing_id, path=self.path)

    def restore(self, thing_id: str, version: int, base_revision: int) -> Kept:
        """Make an older version the current one, as a new version that can be undone."""
        with self._connections.writing() as db:
            line = rows.line_of(db, thing_id)
            self._refuse_stale(db, line, base_revision)
            body = rows.body_of(db, line, version, path=self.path)
            if version != line.version:
                text = body_text(body, name=line.name)
                rows.grow(db, line, text=text, why=f"version {version} again")
            return rows.kept_of(db, thing_id, path=self.path)

    def rename(self, thing_id: str, name: str) -> Kept:
        """Give a thing another name; its versions stay as they are."""
        with self._connections.writing() as db:
            line = rows.line_of(db, thing_id)
            tidy = plain_line(name, otherwise=f"unnamed {line.kind}")
            if tidy != line.name:
                db.execute("UPDATE things SET name = ? WHERE id = ?", (tidy, thing_id))
                rows.go_to(db, line, line.version)
            return rows.kept_of(db, thing_id, path=self.path)

    def duplicate(self, thing_id: str, *, name: str | None = None) -> Kept:
        """Keep a copy of a thing as it is now, under a new id."""
        with self._connections.writing() as db:
            one = rows.bundled(db, thing_id, all_versions=False, path=self.path)
            called = f"{one.name} (copy)" if name is None else plain_line(name)
            why = plain_line(f"copy of {one.name}")
            (only,) = one.versions
            begun = replace(only, saved_at=rows.now(), why=why)
            copy = replace(one, binned=False, versions=(begun,))
            made = copy.called(called or f"unnamed {one.kind}", thing_id=uuid.uuid4().hex)
            rows.insert(db, made)
            return rows.kept_of(db, made.id, path=self.path)

    def bin(self, thing_id: str) -> Kept:
        """Put a thing into the bin; nothing of it is lost."""
        return self._set_binned(thing_id, binned=True)

    def unbin(self, thing_id: str) -> Kept:
        """Take a thing out of the bin."""
        return self._set_binned(thing_id, binned=False)

    def erase(self, thing_id: str) -> None:
        """Delete a thing in the bin with all its versions, for good."""
        with self._connections.writing() as db:
            line = rows.line_of(db, thing_id)
            if not line.binned:
                raise LibraryError(
                    f"{line.kind} {line.name!r}",
                    reason="is not in the bin",
                    advice="put it there first",
                )
            db.execute("PRAGMA secure_delete = ON")
            db.execute("DELETE FROM things WHERE id = ?", (thing_id,))

    # -------------------------------------------------------------- taking along

    def export_text(
        self,
        ids: Iterable[str] | None = None,
        *,
        all_versions: bool = True,
        pictures: bool = True,
    ) -> str:
        """Return things as the text of one file that any tapemark can import.

        Parameters
        ----------
        ids : iterable of str, optional
            Which things; all, with those in the bin, if left out.
        all_versions : bool
            Every version, or only the current one.
        pictures : bool
            With the small pictures in the logs of sessions.
        """
        with self._connections.reading() as db:
            if ids is None:
                chosen = [row[0] for row in db.execute("SELECT id FROM things ORDER BY rowid")]
            else:
                chosen = list(dict.fromkeys(ids))
            size = rows.bytes_of(db, chosen, all_versions=all_versions, pictures=pictures)
            if size > LARGEST_BUNDLE:
                raise too_large()  # before all of it is in memory
            things = [
                rows.bundled(db, one, all_versions=all_versions, pictures=pictures, path=self.path)
                for one in chosen
            ]
        return bundle_text(things, at=rows.now())

    def export_file(
        self,
        path: Path,
        *,
        ids: Iterable[str] | None = None,
        all_versions: bool = True,
        pictures: bool = True,
    ) -> Path:
        """Write things into one file, see `export_text`; it is there whole or not at all."""
        text = self.export_text(ids, all_versions=all_versions, pictures=pictures)
        (written,) = write_results(path.parent, {path.name: text})
        return written

    def import_file(self, path: Path, *, check: Check | None = None) -> ImportReport:
        """Take in what a file of `export_file` holds, all of it or nothing.

        Parameters
        ----------
        path : Path
            The file; it is never trusted.
        check : callable, optional
            Called with kind, name and current body of each thing before anything is written.

        Returns
        -------
        ImportReport
            A thing of an id that is here with other content becomes a copy beside it.

        Raises
        ------
        FileError
            The file cannot be read or is damaged; nothing was written.
        """
        return self._take_in(read_bundle_file(path), check=check)

    def import_bytes(
        self, raw: bytes, *, name: str = "import", check: Check | None = None
    ) -> ImportReport:
        """Take in the bytes of an exported file, see `import_file`."""
        return self._take_in(read_bundle(raw, name=name), check=check)

    def _take_in(self, things: Sequence[BundledThing], *, check: Check | None) -> ImportReport:
        if check is not None:
            for thing in things:
                check(thing.kind, thing.name, json.loads(thing.current.text))
        with self._connections.writing() as db:
            return ImportReport(things=tuple(rows.take_in(db, thing) for thing in things))

    def _set_binned(self, thing_id: str, *, binned: bool) -> Kept:
        with self._connections.writing() as db:
            line = rows.line_of(db, thing_id)
            if line.binned != binned:
                db.execute("UPDATE things SET binned = ? WHERE id = ?", (binned, thing_id))
                rows.go_to(db, line, line.version)
            return rows.kept_of(db, thing_id, path=self.path)

    def _refuse_stale(self, db: sqlite3.Connection, line: KeptLine, revision: int) -> None:
        """Refuse a change made on another version than the current one."""
        if rows.version_at(db, line.id, revision) != line.version:
            raise EditedElsewhere(rows.kept_of(db, line.id, path=self.path))
