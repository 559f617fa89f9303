"""What the library hands out: kept things, their lines in a list, their versions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = [
    "KINDS",
    "BundledEntry",
    "ImportReport",
    "ImportedThing",
    "Kept",
    "KeptLine",
    "VersionLine",
    "known_kind",
]

KINDS = ("setup", "room", "gear", "glasses", "sitter", "session")
"""What can be kept."""


@dataclass(frozen=True, kw_only=True, slots=True)
class KeptLine:
    """One line of a list of kept things.

    Parameters
    ----------
    id : str
        Never changes.
    kind : str
        One of `KINDS`.
    name : str
        What the person calls it; two things may have the same name.
    revision : int
        Counts every change, also an undo; what a window names when it saves.
    version : int
        Number of the version that is current.
    changed_at : str
        When, in UTC: ``2026-05-04T09:30:00.000000Z``.
    binned : bool
        Whether it lies in the bin.
    """

    id: str
    kind: str
    name: str
    revision: int
    version: int
    changed_at: str
    binned: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Kept(KeptLine):
    """A kept thing with its body.

    Parameters
    ----------
    body : dict
        What a file of that kind would hold, fit for JSON: values as typed, with their units.
    can_undo, can_redo : bool
        Whether there is a version before it, and one that was undone.
    """

    body: dict[str, Any]
    can_undo: bool
    can_redo: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class VersionLine:
    """One version of a kept thing.

    Parameters
    ----------
    number : int
        Counted from 1 within the thing.
    parent : int, optional
        The version that it was made from; None for the first.
    saved_at : str
        When, in UTC.
    why : str
        What was done, in words; may be empty.
    current : bool
        Whether it is the one shown now.
    """

    number: int
    parent: int | None
    saved_at: str
    why: str
    current: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class BundledEntry:
    """One entry of a session's log as it is taken along, with its pictures.

    Parameters
    ----------
    number, about, at, kind, mark
        As of `tapemark.store.library_log.Entry`.
    text : str
        Its body as kept text.
    pictures : tuple of pairs
        What each picture is, and the JPEG.
    """

    number: int
    about: int | None
    at: str
    kind: str
    mark: str | None
    text: str
    pictures: tuple[tuple[str, bytes], ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class ImportedThing:
    """What became of one thing of an imported file.

    Parameters
    ----------
    id : str
        Its id in this library.
    kind : str
        One of `KINDS`.
    name : str
        Its name in this library.
    outcome : "new", "copy" or "already here"
        Added; added beside a different one of the same id; or nothing to do.
    versions : int
        How many versions it came with.
    """

    id: str
    kind: str
    name: str
    outcome: str
    versions: int


@dataclass(frozen=True, kw_only=True, slots=True)
class ImportReport:
    """What came with an imported file.

    Parameters
    ----------
    things : tuple of ImportedThing
        Every thing of the file.
    """

    things: tuple[ImportedThing, ...]

    def count(self, outcome: str) -> int:
        """Return how many things had an outcome."""
        return sum(1 for thing in self.things if thing.outcome == outcome)

    @property
    def text(self) -> str:
        """The report in one line."""
        copies = self.count("copy")
        parts = [f"{self.count('new')} new"]
        if copies:
            parts.append(f"{copies} kept beside a different one of yours, as a copy")
        parts.append(f"{self.count('already here')} already here")
        return ", ".join(parts)


def known_kind(kind: str) -> str:
    """Return a kind of thing, if it is one."""
    if kind not in KINDS:
        raise ValueError(f"{kind!r} is no kind of thing to keep; kinds are {', '.join(KINDS)}")
    return kind
