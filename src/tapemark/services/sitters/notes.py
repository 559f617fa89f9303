"""Private notes on somebody: kept apart from the setups, and gone for good when they are erased."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tapemark.errors import TapemarkError
from tapemark.services.library.keeping import Library, keep
from tapemark.store import Kept
from tapemark.units.text import JOINERS

NOTES = "sitter notes"
WISHES = ("", "on", "off", "both")
LONGEST_NOTES = 4_000
LOOKED_AT = 2_000  # sessions


@dataclass(frozen=True, kw_only=True, slots=True)
class Notes:
    """What was noted of somebody.

    Attributes
    ----------
    id : str
        Of the kept notes; empty where there are none.
    revision : int
        Of the kept notes.
    glasses : str
        What they want: ``on``, ``off``, ``both``; empty where nobody asked.
    text : str
        In one's own words.
    """

    id: str = ""
    revision: int = 0
    glasses: str = ""
    text: str = ""


def notes_of(library: Library, sitter_id: str) -> Notes:
    """Return the notes on a kept sitter; empty ones where there are none."""
    found = _kept(library, sitter_id)
    if found is None:
        return Notes()
    wish, text = found.body.get("glasses"), found.body.get("text")
    return Notes(
        id=found.id,
        revision=found.revision,
        glasses=wish if isinstance(wish, str) and wish in WISHES else "",
        text=text[:LONGEST_NOTES] if isinstance(text, str) else "",
    )


def keep_notes(
    library: Library, sitter_id: str, *, name: str, glasses: str, text: str, revision: int
) -> None:
    """Keep notes on a sitter, in place of those that were shown.

    Raises
    ------
    TapemarkError
        They are too long, or no such wish is known.
    EditedElsewhere
        They were changed meanwhile.
    """
    said = "".join(
        letter if letter.isprintable() or letter == "\n" or letter in JOINERS else " "
        for letter in "\n".join(text.strip().splitlines())
    )
    if len(said) > LONGEST_NOTES:
        raise TapemarkError(
            f"The notes have {len(said)} letters; {LONGEST_NOTES} fit. Shorten them."
        )
    if glasses not in WISHES:
        raise TapemarkError(f"{glasses[:20]!r} is no answer here: choose on, off or both.")
    found = _kept(library, sitter_id)
    body = {"what": NOTES, "sitter": sitter_id, "glasses": glasses, "text": said}
    if found is None:
        if glasses or said:
            keep(library, "session", name=f"Notes on {name}", body=body, why="noted")
        return
    library.save(found.id, body, base_revision=revision, why="noted")


def erase_notes(library: Library, sitter_id: str) -> bool:
    """Erase the notes on a sitter with all their versions; return whether there were any."""
    found = _kept(library, sitter_id)
    if found is None:
        return False
    erase_for_good(library, found.id)
    return True


def erase_for_good(library: Library, thing_id: str) -> None:
    """Erase a thing with all its versions, without a stay in the bin."""
    if not library.get(thing_id).binned:
        library.bin(thing_id)
    library.erase(thing_id)


def _kept(library: Library, sitter_id: str) -> Kept | None:
    for binned in (False, True):
        for line in library.kept("session", most=LOOKED_AT, binned=binned):
            kept = library.get(line.id)
            body: dict[str, Any] = kept.body
            if body.get("what") == NOTES and body.get("sitter") == sitter_id:
                return kept
    return None
