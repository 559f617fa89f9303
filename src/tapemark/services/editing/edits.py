"""Editing a setup: changes asked for by a page, applied with the studio's own checks.

An edit is a mapping with one verb.  Things and fields are called as in `edit_paths`; places are
metres in the world frame (x to camera-left, y toward the camera), rounded and written in the
person's own units.

=========================================================== =====================================
edit                                                        what it does
=========================================================== =====================================
``{"set": "light.key.place.height", "value": "1.9 m"}``     a field, as typed; null takes it out
``{"move": "light.key", "x": 1.2, "y": 0.8}``               elsewhere on the floor; z as well
``{"move": "light.key.aim", "x": 0, "y": 0.2}``             what it is aimed at
``{"move": "sitter", "x": 0.1, "y": 0}``                    the stool, while all else stays
``{"raise": "light.key", "z": 1.87}``                       height
``{"turn": "sitter.head", "deg": 12}``                      head, chin, tip, or a light in its place
``{"aim": "light.key", "at": "ceiling"}``                   by word, or x, y and z
``{"add": "light", "body": {}}``                            what is not said is filled in
``{"remove": "light.key"}``                                 a thing, or an optional part of one
``{"rename": "light.key", "name": "main"}``                 its name
=========================================================== =====================================
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tapemark.errors import EditError, Problem, SetupError
from tapemark.services.editing.adding import added, removed, renamed, typed
from tapemark.services.editing.moves import aimed, moved, raised, turned
from tapemark.services.editing.paths import Body, find_named, refused
from tapemark.services.editing.shift import sitter_moved
from tapemark.services.editing.words import edits_in_words
from tapemark.studio import Setup, setup_from_mapping, setup_to_mapping

Edit = Mapping[str, Any]

MOST_EDITS = 200
_Change = Callable[[Setup, Body, Edit], Body]


@dataclass(frozen=True, kw_only=True, eq=False)
class Edited:
    """A setup after edits.

    Attributes
    ----------
    setup : Setup
        Checked.
    body : dict
        The same as data of a setup file, with texts as they were typed.
    """

    setup: Setup
    body: Body


def apply_edits(setup: Setup, edits: Sequence[Edit]) -> Setup:
    """Return a setup after some edits, one after the other.

    Raises
    ------
    EditError
        One of them cannot be made; nothing is changed then.
    """
    return _edited(setup, setup_to_mapping(setup), edits).setup


def edit_body(body: Mapping[str, Any], edits: Sequence[Edit]) -> Edited:
    """Return a setup, kept as the data of its file, after some edits.

    Parameters
    ----------
    body : mapping
        As `setup_to_mapping` returns it, or as it was typed; whatever no edit touches stays so.
    edits : sequence of mapping
        One after the other.

    Raises
    ------
    EditError
        One of them cannot be made.
    SetupError
        The body itself is not a setup.
    """
    return _edited(setup_from_mapping(body), dict(body), edits)


def _edited(setup: Setup, now: Body, edits: Sequence[Edit]) -> Edited:
    if not isinstance(edits, list | tuple) or len(edits) > MOST_EDITS:
        raise refused("edits", "", allowed=f"a list of at most {MOST_EDITS}", advice="send a list")
    for edit in edits:
        new = _CHANGES[_verb(edit)](setup, now, edit)
        if new is not now:
            now, setup = new, _checked(new)
    return Edited(setup=setup, body=now)


def _move(setup: Setup, body: Body, edit: Edit) -> Body:
    """Move something; the sitter takes the whole frame along."""
    named = find_named(edit["move"], setup)
    if named.kind == "sitter" and not named.rest:
        return sitter_moved(setup, body, edit)
    return moved(setup, body, edit)


_CHANGES: dict[str, _Change] = {
    "set": typed,
    "move": _move,
    "raise": raised,
    "turn": turned,
    "aim": aimed,
    "add": added,
    "remove": removed,
    "rename": renamed,
}


def _verb(edit: object) -> str:
    verbs = [one for one in _CHANGES if one in edit] if isinstance(edit, Mapping) else []
    if len(verbs) != 1:
        given = list(edit)[:4] if isinstance(edit, Mapping) else edit
        raise refused("an edit", str(given), allowed=", ".join(_CHANGES), advice="say one of these")
    return verbs[0]


def _checked(body: Body) -> Setup:
    """Return the setup of a changed body; the first problem in one line where it is none."""
    try:
        return setup_from_mapping(body)
    except SetupError as error:
        first, *more = error.problems
    advice = first.advice if not more else f"{first.advice} (and {len(more)} more)"
    raise EditError(Problem(key=first.key, given=first.given, allowed=first.allowed, advice=advice))


__all__ = ["Edit", "Edited", "apply_edits", "edit_body", "edits_in_words"]
