"""The log of a session: entries that are only ever added, with the small pictures they came with.

An entry may be about an earlier one, as a reading is about its frame. Nothing here changes or
takes away what was written; a later entry about the same thing counts instead of an earlier one.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tapemark.errors import LibraryError, NotKept
from tapemark.store import library_rows as rows
from tapemark.store.library_bodies import body_text
from tapemark.store.library_bundle_logs import (
    LARGEST_PICTURE,
    LONGEST_KIND,
    LONGEST_MARK,
    MOST_PICTURES,
)
from tapemark.store.library_log_rows import (
    ENTRY_COLUMNS,
    insert_entries,
    picture_seal,
    refuse_unsound_entry,
)
from tapemark.store.library_types import BundledEntry

if TYPE_CHECKING:
    from tapemark.store.library_connections import Connections

__all__ = ["Added", "Entry", "Log"]


_UNANSWERED = """
    FROM entries one WHERE session = ? AND kind = ? AND NOT EXISTS (
        SELECT 1 FROM entries a WHERE a.session = one.session AND a.about = one.number
        AND a.kind = ? AND a.number > coalesce((
            SELECT max(number) FROM entries b WHERE b.session = one.session
            AND b.about = one.number AND b.kind = ?), 0))
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """One entry of a log.

    Attributes
    ----------
    number : int
        Counted from 1 within the session.
    about : int or None
        The earlier entry that it is about.
    at : str
        When, in UTC.
    kind : str
        What it is: ``frame``, ``reading``, ``note``, ...
    mark : str or None
        By which it is known again: no two entries of a session have the same.
    body : dict
        What it says.
    """

    number: int
    about: int | None
    at: str
    kind: str
    mark: str | None
    body: dict[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class Added:
    """An entry, and whether it is new or was there already."""

    entry: Entry
    new: bool


class Log:
    """The log of one session of a library; see `tapemark.store.library.Library.log`.

    Parameters
    ----------
    connections : Connections
        To the library.
    session : str
        Id of the session.
    """

    def __init__(self, connections: Connections, session: str) -> None:
        self._connections = connections
        self.session = session

    def add(
        self,
        kind: str,
        body: Mapping[str, Any],
        *,
        about: int | None = None,
        mark: str | None = None,
        pictures: Mapping[str, bytes] | None = None,
    ) -> Added:
        """Add an entry, whole or not at all; one with a mark that is there is not added again.

        Raises
        ------
        SetupError
            The body is too large or no JSON.
        NotKept
            There is no such session, or no entry that it is about.
        """
        text, shown = body_text(body, name=kind), _checked(pictures or {})
        with self._connections.writing() as db:
            rows.line_of(db, self.session)
            known = None if mark is None else self._one(db, "mark = ?", (mark[:LONGEST_MARK],))
            if known is not None:
                return Added(entry=known, new=False)
            if about is not None and self._one(db, "number = ?", (about,)) is None:
                raise self._no_entry(about)
            (last,) = db.execute(
                "SELECT coalesce(max(number), 0) FROM entries WHERE session = ?", (self.session,)
            ).fetchone()
            entry = BundledEntry(
                number=last + 1,
                about=about,
                at=rows.now(),
                kind=kind[:LONGEST_KIND],
                mark=None if mark is None else mark[:LONGEST_MARK],
                text=text,
                pictures=shown,
            )
            insert_entries(db, self.session, (entry,))
            db.execute("UPDATE things SET changed_at = ? WHERE id = ?", (entry.at, self.session))
        return Added(entry=_entry(entry), new=True)

    def get(self, number: int) -> Entry:
        """Return one entry."""
        with self._connections.reading() as db:
            found = self._one(db, "number = ?", (number,))
        if found is None:
            raise self._no_entry(number)
        return found

    def last(
        self, kind: str, *, about: int | None = None, before: int | None = None, after: int = 0
    ) -> Entry | None:
        """Return the last entry of a kind, see `entries`."""
        found = self.entries((kind,), about=about, before=before, after=after, most=1)
        return found[0] if found else None

    def entries(
        self,
        kinds: Sequence[str] = (),
        *,
        about: int | None = None,
        before: int | None = None,
        after: int = 0,
        most: int | None = None,
    ) -> tuple[Entry, ...]:
        """Return entries, the newest first.

        Parameters
        ----------
        kinds : sequence of str
            Which; all if left out.
        about : int, optional
            Only those about this entry.
        before, after : int
            Only those between these numbers.
        most : int, optional
            How many at most.
        """
        where, values = ["session = ?", "number > ?"], [self.session, after]
        if kinds:
            where.append(f"kind IN ({', '.join('?' * len(kinds))})")
            values += kinds
        for column, sign, value in (("about", "=", about), ("number", "<", before)):
            if value is not None:
                where.append(f"{column} {sign} ?")
                values.append(value)
        query = (
            f"SELECT {ENTRY_COLUMNS} FROM entries WHERE {' AND '.join(where)} "
            "ORDER BY number DESC LIMIT ?"
        )
        with self._connections.reading() as db:
            found = db.execute(query, [*values, -1 if most is None else most]).fetchall()
        return tuple(self._read(row) for row in found)

    def without(
        self, kind: str, answer: str, *, again: str = "", most: int = 1
    ) -> tuple[Entry, ...]:
        """Return entries that nobody has answered, the newest first.

        Parameters
        ----------
        kind : str
            Of the entries asked for.
        answer : str
            Kind of the entry about one of them that answers it.
        again : str
            Kind of an entry about one after which it waits for another answer.
        most : int
            How many at most.
        """
        query = f"SELECT {ENTRY_COLUMNS} {_UNANSWERED} ORDER BY number DESC LIMIT ?"
        with self._connections.reading() as db:
            found = db.execute(query, (self.session, kind, answer, again, most)).fetchall()
        return tuple(self._read(row) for row in found)

    def count_without(self, kind: str, answer: str, *, again: str = "") -> int:
        """Return how many entries nobody has answered, see `without`."""
        with self._connections.reading() as db:
            row = db.execute(
                f"SELECT count(*) {_UNANSWERED}", (self.session, kind, answer, again)
            ).fetchone()
        return int(row[0])

    def counts(self) -> dict[str, int]:
        """Return how many entries there are of each kind; ``last`` is the last number."""
        with self._connections.reading() as db:
            found = db.execute(
                "SELECT kind, count(*), max(number) FROM entries WHERE session = ? GROUP BY kind",
                (self.session,),
            ).fetchall()
        return {
            "last": max((row[2] for row in found), default=0),
            **{row[0]: row[1] for row in found},
        }

    def picture(self, number: int, what: str) -> bytes:
        """Return the newest picture of a kind that came with an entry or with one about it.

        Raises
        ------
        NotKept
            There is none.
        LibraryError
            The disk has changed it.
        """
        query = """
            SELECT p.entry, p.content, p.seal FROM pictures p
            JOIN entries e ON e.session = p.session AND e.number = p.entry
            WHERE p.session = ? AND p.what = ? AND (e.number = ? OR e.about = ?)
            ORDER BY p.entry DESC LIMIT 1
        """
        with self._connections.reading() as db:
            row = db.execute(query, (self.session, what, number, number)).fetchone()
        if row is None:
            raise NotKept(f"picture {what!r} of entry {number}")
        entry, content, seal = row
        if not isinstance(content, bytes) or picture_seal(self.session, entry, content) != seal:
            raise LibraryError(
                str(self._connections.path),
                reason=f"picture {what!r} of entry {entry} was damaged on the disk",
                advice="run: tapemark own rescue",
            )
        return content

    def _one(
        self, db: sqlite3.Connection, where: str, values: tuple[int | str, ...]
    ) -> Entry | None:
        row = db.execute(
            f"SELECT {ENTRY_COLUMNS} FROM entries WHERE session = ? AND {where}",
            (self.session, *values),
        ).fetchone()
        return None if row is None else self._read(row)

    def _read(self, row: Sequence[Any]) -> Entry:
        number, about, at, kind, mark, text, seal = row
        refuse_unsound_entry(self.session, number, text, seal, path=self._connections.path)
        body = json.loads(text)
        return Entry(number=number, about=about, at=at, kind=kind, mark=mark, body=body)

    def _no_entry(self, number: int) -> NotKept:
        return NotKept(f"entry {number} of this session")


def _checked(pictures: Mapping[str, bytes]) -> tuple[tuple[str, bytes], ...]:
    too_large = any(len(one) > LARGEST_PICTURE for one in pictures.values())
    if too_large or len(pictures) > MOST_PICTURES:
        raise ValueError(f"at most {MOST_PICTURES} pictures of {LARGEST_PICTURE} bytes each")
    return tuple(sorted(pictures.items()))


def _entry(one: BundledEntry) -> Entry:
    return Entry(
        number=one.number,
        about=one.about,
        at=one.at,
        kind=one.kind,
        mark=one.mark,
        body=json.loads(one.text),
    )
