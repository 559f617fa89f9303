"""The score of practice: for each drill which parts of the first answer were right."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING

from tapemark.store import library_rows as rows

if TYPE_CHECKING:
    from tapemark.store.library_connections import Connections

__all__ = ["Practice", "PracticeScore", "Practised"]

PARTS = 4
LARGEST = 2**53
LONGEST_BASE = 200
PRACTICE_COLUMNS = "base, seed, number, at, place, light, surface, move"


@dataclass(frozen=True, kw_only=True, slots=True)
class Practised:
    """A drill that was answered.

    Attributes
    ----------
    base : str
        What the drills were made from: empty for the demo's room, else the id of a setup.
    seed, number : int
        Which drill.
    at : str
        When, in UTC.
    place, light, surface, move : bool
        Which parts were right: where it shows, which light, which surface, which move.
    """

    base: str
    seed: int
    number: int
    at: str
    place: bool
    light: bool
    surface: bool
    move: bool

    @property
    def points(self) -> int:
        """How many parts were right, of `PARTS`."""
        return sum((self.place, self.light, self.surface, self.move))


@dataclass(frozen=True, kw_only=True, slots=True)
class PracticeScore:
    """What all answers come to.

    Attributes
    ----------
    drills : int
        How many were answered.
    place, light, surface, move : int
        In how many of them each part was right.
    """

    drills: int
    place: int
    light: int
    surface: int
    move: int


class Practice:
    """The answers to drills that a library keeps; see `tapemark.store.library.Library.practice`.

    Parameters
    ----------
    connections : Connections
        To the library.
    """

    def __init__(self, connections: Connections) -> None:
        self._connections = connections

    def keep(
        self,
        *,
        base: str,
        seed: int,
        number: int,
        place: bool,
        light: bool,
        surface: bool,
        move: bool,
    ) -> Practised:
        """Keep an answer, and return what counts: the first answer to that drill."""
        if not (0 <= seed < LARGEST and 0 < number < LARGEST and len(base) <= LONGEST_BASE):
            raise ValueError("no such drill")
        found = Practised(
            base=base,
            seed=seed,
            number=number,
            at=rows.now(),
            place=place,
            light=light,
            surface=surface,
            move=move,
        )
        with self._connections.writing() as db:
            insert_practice(db, [found])
            (row,) = db.execute(
                f"SELECT {PRACTICE_COLUMNS} FROM practice "
                "WHERE base = ? AND seed = ? AND number = ?",
                (base, seed, number),
            ).fetchall()
        return practised(row)

    def answered(self, *, base: str, seed: int) -> tuple[Practised, ...]:
        """Return the answers to one round of drills, in their order."""
        with self._connections.reading() as db:
            found = db.execute(
                f"SELECT {PRACTICE_COLUMNS} FROM practice "
                "WHERE base = ? AND seed = ? ORDER BY number",
                (base, seed),
            ).fetchall()
        return tuple(practised(row) for row in found)

    def latest(self) -> Practised | None:
        """Return the answer given last; None where there is none."""
        with self._connections.reading() as db:
            found = db.execute(
                f"SELECT {PRACTICE_COLUMNS} FROM practice ORDER BY at DESC, rowid DESC LIMIT 1",
            ).fetchall()
        return practised(found[0]) if found else None

    def score(self, *, last: int = -1) -> PracticeScore:
        """Return what the last answers come to; all, if not said how many."""
        with self._connections.reading() as db:
            (row,) = db.execute(
                "SELECT count(*), total(place), total(light), total(surface), total(move) FROM "
                "(SELECT * FROM practice ORDER BY at DESC, seed DESC, number DESC LIMIT ?)",
                (last,),
            ).fetchall()
        drills, place, light, surface, move = (int(one) for one in row)
        return PracticeScore(drills=drills, place=place, light=light, surface=surface, move=move)


def insert_practice(db: sqlite3.Connection, found: Iterable[Practised]) -> None:
    """Write answers, but for those to drills that were answered before."""
    db.executemany(
        f"INSERT OR IGNORE INTO practice ({PRACTICE_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        [astuple(one) for one in found],
    )


def practised(row: tuple[str, int, int, str, int, int, int, int]) -> Practised:
    """Return an answer from its row."""
    base, seed, number, at, *right = row
    place, light, surface, move = (bool(one) for one in right)
    return Practised(
        base=base,
        seed=seed,
        number=number,
        at=at,
        place=place,
        light=light,
        surface=surface,
        move=move,
    )
