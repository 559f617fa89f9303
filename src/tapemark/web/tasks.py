"""What the app's processes compute: from data as JSON has them to parts of an answer.

Every task is called with ``tell``, to say how far it is, and returns a mapping of names to what
JSON can hold. A setup comes as the mapping that the library keeps.
"""

import functools
import importlib
import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from tapemark.studio import Setup, setup_from_mapping

Plain = dict[str, Any]
Tell = Callable[[str], None]


def ready(*, tell: Tell) -> Plain:
    """Load what the first view needs, so that nobody waits for it; return nothing."""
    importlib.import_module("tapemark.services.live.view")
    importlib.import_module("tapemark.services.live.drawings")
    del tell
    return {}


def ready_for_long(*, tell: Tell) -> Plain:
    """Load what maps, moves and pictures need; return nothing."""
    importlib.import_module("tapemark.planning")
    importlib.import_module("tapemark.web.picture.tasks").ready(tell=tell)
    return ready(tell=tell)


def view(
    *,
    tell: Tell,
    setup: Plain,
    detail: str,
    edits: Sequence[Mapping[str, Any]] = (),
    whole: Plain | None = None,
    drawings: Sequence[str] = ("plan", "side", "view"),
    known: Sequence[str] = (),
) -> Plain:
    """Return ``view``: a setup with edits on it, or a whole other one, as the app shows it."""
    del tell
    shown = _shown(_edited(setup, edits, whole), detail=detail, drawings=drawings, known=known)
    return {"view": shown}


def take(
    *,
    tell: Tell,
    setup: Plain,
    edits: Sequence[Mapping[str, Any]] = (),
    whole: Plain | None = None,
) -> Plain:
    """Return ``body`` and ``words`` of a setup after edits."""
    from tapemark.services.editing.edits import edit_body, edits_in_words
    from tapemark.services.editing.kept import whole_body

    del tell
    before = _setup(json.dumps(setup))
    if whole is None:
        edited = edit_body(setup, edits)
        body, after = edited.body, edited.setup
    else:
        after = setup_from_mapping(whole, name="the set")
        body = whole_body(setup, before, whole)
    return {"body": body, "words": edits_in_words(before, after)}


def moves(*, tell: Tell, setup: Plain, keep: Sequence[str]) -> Plain:
    """Return ``moves``: the smallest changes that clear the lenses."""
    from tapemark.services.live.view import live_moves

    return {"moves": live_moves(_setup(json.dumps(setup)), keep=keep, tell=tell)}


def sightlines(*, tell: Tell, setup: Plain, light: str) -> Plain:
    """Return the sightline map of a light as layers of the drawings, with its best place."""
    from tapemark.services.live.view import live_map

    tell(f"mapping the places for {light}")
    found = live_map(_setup(json.dumps(setup)), light)
    return {name: value for name, value in found.items() if name != "light"}


def _edited(setup: Plain, edits: Sequence[Mapping[str, Any]], whole: Plain | None) -> Setup:
    if whole is not None:
        return _setup(json.dumps(whole))
    before = _setup(json.dumps(setup))
    if not edits:
        return before
    from tapemark.services.editing.edits import apply_edits

    return apply_edits(before, edits)


def _shown(setup: Setup, *, detail: str, drawings: Sequence[str], known: Sequence[str]) -> Plain:
    from tapemark.services.live.view import EVERYTHING, live_view, live_view_as_plain

    if detail == "full":
        return live_view_as_plain(live_view(setup))
    wants = EVERYTHING & {"numbers", *drawings}
    return live_view_as_plain(live_view(setup, detail="drag", wants=wants), known=set(known))


@functools.lru_cache(maxsize=16)
def _setup(text: str) -> Setup:
    """Return a setup; the one that is being dragged is read once."""
    return setup_from_mapping(json.loads(text), name="the set")
