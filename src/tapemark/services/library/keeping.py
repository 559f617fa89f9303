"""Own things kept: checked before they are written, merged where two windows edit one thing."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapemark.errors import EditedElsewhere, LibraryError, SetupError
from tapemark.services.library.merging import Clash, MergeResult, Side, merge_bodies
from tapemark.services.library.own_parts import insert_part, part_of_setup
from tapemark.store import KINDS, ImportReport, Kept, Library
from tapemark.store.library_bodies import plain_line
from tapemark.store.library_rescue import RescueReport, rescue
from tapemark.store.user_folders import library_path
from tapemark.studio import (
    PARTS,
    Setup,
    part_from_mapping,
    part_to_mapping,
    setup_from_mapping,
    setup_to_mapping,
)

__all__ = [
    "KINDS",
    "Clash",
    "Library",
    "MergeResult",
    "Merged",
    "RescueReport",
    "Side",
    "checked_body",
    "export_fitting",
    "free_name",
    "import_bytes",
    "import_file",
    "insert_part",
    "keep",
    "keep_both",
    "library_path",
    "merge",
    "merge_bodies",
    "open_setup",
    "part_of_setup",
    "rename",
    "rescue",
    "save",
]

_MOST_TRIES = 8  # of a merge while other windows keep saving


@dataclass(frozen=True, kw_only=True, slots=True)
class Merged:
    """What came of putting an edit together with another window's.

    Parameters
    ----------
    kept : Kept, optional
        The thing with both edits; None where they clash and nothing was written.
    current : Kept
        The thing as it is in the library now.
    clashes : tuple of Clash
        What the two set differently.
    unsound : str
        Why the two cannot be had together though each is possible alone; empty if they can.
    """

    kept: Kept | None
    current: Kept
    clashes: tuple[Clash, ...]
    unsound: str = ""


def checked_body(kind: str, body: Mapping[str, Any], *, name: str = "") -> dict[str, Any]:
    """Return a body as it is kept, after reading it as what it is to be.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    body : mapping
        Of the shape of a file; a session is any table.
    name : str
        What it is called, for messages.

    Raises
    ------
    SetupError
        With every problem found.
    """
    if kind == "setup":
        return setup_to_mapping(setup_from_mapping(body, name=name or "setup"))
    if kind in PARTS:
        return part_to_mapping(part_from_mapping(kind, body, name=name))
    return dict(body)


def free_name(library: Library, kind: str, name: str, *, but: str = "") -> str:
    """Return a name that no other thing of a kind has: itself, or with a number.

    Parameters
    ----------
    library : Library
        The library.
    kind : str
        One of `KINDS`.
    name : str
        The name wanted; case does not tell two names apart.
    but : str
        Id of the thing that the name is for.
    """
    wanted = plain_line(name, otherwise=f"unnamed {kind}")
    like = library.names_like(kind, wanted)
    taken = {one.name.casefold() for one in like if one.id != but and not one.binned}
    numbered = (f"{wanted} ({number})" for number in itertools.count(2))
    return next(one for one in itertools.chain((wanted,), numbered) if one.casefold() not in taken)


def keep(library: Library, kind: str, *, name: str, body: Mapping[str, Any], why: str = "") -> Kept:
    """Keep a new thing under a name that no other of its kind has."""
    checked = checked_body(kind, body, name=name)
    return library.add(kind, name=free_name(library, kind, name), body=checked, why=why)


def save(
    library: Library,
    thing_id: str,
    body: Mapping[str, Any],
    *,
    base_revision: int,
    why: str = "",
) -> Kept:
    """Keep what a thing is now, after reading it; an edit that changes nothing keeps nothing.

    Raises
    ------
    SetupError
        It is not valid.
    EditedElsewhere
        Another window changed it meanwhile: `merge`, or `keep_both`.
    """
    now = library.get(thing_id)
    checked = checked_body(now.kind, body, name=now.name)
    return library.save(thing_id, checked, base_revision=base_revision, why=why)


def merge(
    library: Library,
    thing_id: str,
    body: Mapping[str, Any],
    *,
    base_revision: int,
    why: str = "",
    prefer: Side | None = None,
) -> Merged:
    """Put an edit together with what other windows saved since, and keep the result.

    Parameters
    ----------
    library : Library
        The library.
    thing_id : str
        Which thing.
    body : mapping
        What this window made of it.
    base_revision : int
        The revision that this window started from.
    why : str
        What was done.
    prefer : "mine" or "theirs", optional
        Whose value to take where they clash; without it a clash keeps nothing.
    """
    base = library.body_at(thing_id, base_revision)
    for _ in range(_MOST_TRIES):
        now = library.get(thing_id)
        mine = checked_body(now.kind, body, name=now.name)
        result = merge_bodies(base, mine, now.body, prefer=prefer or "mine")
        unsound = _unsound(now, result.body)
        if unsound or (result.clashes and prefer is None):
            return Merged(kept=None, current=now, clashes=result.clashes, unsound=unsound)
        try:
            kept = library.save(
                thing_id, result.body, base_revision=now.revision, why=why or "merged"
            )
        except EditedElsewhere:
            continue
        return Merged(kept=kept, current=kept, clashes=result.clashes)
    raise EditedElsewhere(library.get(thing_id))


def keep_both(library: Library, thing_id: str, body: Mapping[str, Any]) -> Kept:
    """Keep an edit as a thing of its own, beside the one that another window changed."""
    now = library.get(thing_id)
    return keep(
        library, now.kind, name=f"{now.name} (mine)", body=body, why=f"kept beside {now.name}"
    )


def rename(library: Library, thing_id: str, name: str) -> Kept:
    """Give a thing a name that no other of its kind has."""
    now = library.get(thing_id)
    return library.rename(thing_id, free_name(library, now.kind, name, but=thing_id))


def open_setup(library: Library, thing_id: str) -> Setup:
    """Return a kept setup as data of a studio."""
    now = library.get(thing_id)
    return setup_from_mapping(now.body, name=now.name)


def import_file(library: Library, path: Path) -> ImportReport:
    """Take in an exported file, whole or not at all, after reading all it holds."""
    return library.import_file(path, check=_check)


def import_bytes(library: Library, raw: bytes, *, name: str = "import") -> ImportReport:
    """Take in the bytes of an exported file, whole or not at all, after reading all it holds."""
    return library.import_bytes(raw, name=name, check=_check)


def export_fitting(library: Library, ids: Sequence[str] | None = None) -> tuple[str, bool]:
    """Return things as the text of one file, and whether the pictures of sessions fitted in.

    Raises
    ------
    LibraryError
        It would be too large even without them.
    """
    try:
        return library.export_text(ids), True
    except LibraryError:
        return library.export_text(ids, pictures=False), False


def _check(kind: str, name: str, body: dict[str, Any]) -> None:
    checked_body(kind, body, name=name)


def _unsound(now: Kept, body: Mapping[str, Any]) -> str:
    """Return why a merged body cannot be read, or nothing."""
    try:
        checked_body(now.kind, body, name=now.name)
    except SetupError as error:
        first = error.problems[0]
        return f"{first.key}: {first.given} (allowed: {first.allowed}); {first.advice}"
    return ""
