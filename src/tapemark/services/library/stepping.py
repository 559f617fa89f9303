"""Undo and redo of a kept thing, with what was undone in words."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from tapemark.store import Kept, Library

Way = Literal["undo", "redo"]

_LEAD = {"undo": "undone", "redo": "done again"}
_AT_END = {"undo": "nothing to undo", "redo": "nothing to do again"}
_CHANGED = re.compile(r"^(.*?),? now (.+), was (.+)$")
_CALLED = re.compile(r"^(.+) is now called (.+)$")


@dataclass(frozen=True, kw_only=True, slots=True)
class Stepped:
    """A kept thing after one step back or forward.

    Attributes
    ----------
    kept : Kept
        As it is now.
    words : str
        What the step was: ``undone: key, 12 cm up``.
    """

    kept: Kept
    words: str


def step(library: Library, thing_id: str, way: Way, *, base_revision: int) -> Stepped:
    """Undo or redo one change, and say which.

    Raises
    ------
    NotKept
        There is no such thing.
    EditedElsewhere
        It has changed since the revision the person saw.
    """
    before = library.get(thing_id)
    act: Callable[[str, int], Kept] = library.undo if way == "undo" else library.redo
    kept = act(thing_id, base_revision)
    if kept.version == before.version:
        return Stepped(kept=kept, words=_AT_END[way])
    crossed = before.version if way == "undo" else kept.version
    why = next((one.why for one in library.versions(thing_id) if one.number == crossed), "")
    said = step_text(why)
    return Stepped(kept=kept, words=f"{_LEAD[way]}: {said}" if said else _LEAD[way])


def step_text(why: str) -> str:
    """Return what a change was, without how things stood when it was made.

    Examples
    --------
    >>> step_text("key: 12 cm up, now 1.52 m high; fill: power now 1/4, was 1/8")
    'key, 12 cm up; fill, power from 1/8 to 1/4'
    """
    return "; ".join(_one_change(part) for part in why.split("; ") if part)


def _one_change(part: str) -> str:
    part = part.replace(": ", ", ", 1)
    if (changed := _CHANGED.match(part)) is not None:
        what, now, was = changed.groups()
        return f"{what} from {was} to {now}"
    if (called := _CALLED.match(part)) is not None:
        was, now = called.groups()
        return f"{was} renamed {now}"
    return part.partition(", now ")[0]
