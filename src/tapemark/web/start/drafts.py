"""Briefs as the library keeps them: the answers, and the plans that were found for them."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tapemark.errors import EditedElsewhere, NotKept
from tapemark.services.library.keeping import keep
from tapemark.web.start.brief import Answers

if TYPE_CHECKING:
    from tapemark.store import Kept, Library

BRIEF = "brief"
LOOKED_AT = 40  # sessions, the last changed first
_TRIES = 8

Body = dict[str, Any]


def draft_name(answers: Answers) -> str:
    """Return what a brief is called in lists."""
    return f"Brief: {answers.get('title') or answers.get('name') or 'untitled'}"


def last_draft(library: "Library") -> "Kept | None":
    """Return the brief that was worked on last and led to no setup yet."""
    for line in library.kept("session", most=LOOKED_AT):
        kept = library.get(line.id)
        if kept.body.get("what") == BRIEF:
            return None if kept.body.get("taken") else kept
    return None


def get_draft(library: "Library", thing_id: str) -> "Kept":
    """Return a brief.

    Raises
    ------
    NotKept
        There is none of that id.
    """
    kept = library.get(thing_id)
    if kept.kind != "session" or kept.body.get("what") != BRIEF:
        raise NotKept(f"a brief of id {thing_id[:40]!r}")
    return kept


def keep_draft(library: "Library", answers: Answers, *, thing_id: str = "") -> "Kept":
    """Keep answers, in a new brief or in one that is there; plans for other answers go."""
    if not thing_id:
        body = {"what": BRIEF, "answers": answers}
        return keep(library, "session", name=draft_name(answers), body=body, why="begun")

    def changed(body: Body) -> Body:
        if body.get("answers") == answers:
            return body
        return {"what": BRIEF, "answers": answers}

    kept = change(library, thing_id, changed, why="answers")
    name = draft_name(answers)
    return kept if kept.name == name else library.rename(thing_id, name)


def keep_plans(library: "Library", thing_id: str, plans: Mapping[str, Any]) -> "Kept":
    """Keep the plans that were found for a brief."""
    return change(library, thing_id, lambda body: body | {"plans": dict(plans)}, why="plans")


def mark_taken(library: "Library", thing_id: str, setup_id: str) -> "Kept":
    """Keep that a plan of a brief became a setup."""
    return change(library, thing_id, lambda body: body | {"taken": setup_id}, why="plan chosen")


def change(library: "Library", thing_id: str, make: Any, *, why: str) -> "Kept":
    """Keep what a function makes of the body of a brief, whoever else writes meanwhile."""
    for _ in range(_TRIES):
        now = get_draft(library, thing_id)
        try:
            return library.save(thing_id, make(dict(now.body)), base_revision=now.revision, why=why)
        except EditedElsewhere:
            continue
    raise EditedElsewhere(get_draft(library, thing_id))
