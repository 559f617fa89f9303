"""Where the things and the fields of a setup are that an edit names.

A thing is called by its kind and its name, ``light.key`` or ``companion.Ada, loans``, one of which
there is only one by its kind alone: ``camera``, ``sitter``, ``room``, ``backdrop``.  A field is
called as in a setup file, after its thing: ``light.key.place.height``.  Names may hold points and
spaces; the longest name that fits is meant.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from tapemark.errors import EditError, Problem
from tapemark.studio import Setup
from tapemark.studio.setup import LISTS
from tapemark.units import as_typed

Steps = tuple[str | int, ...]
Body = dict[str, Any]

#: Tables of which a setup has one, and single values beside them.
SINGLE = ("camera", "sitter", "room", "backdrop")
PLAIN = ("title", "units")


@dataclass(frozen=True, kw_only=True, slots=True)
class Named:
    """What a path names.

    Attributes
    ----------
    kind : str
        ``light``, ``camera`` and so on: the key of the file.
    name : str
        Its name; empty for what there is only one of.
    steps : tuple of str or int
        Where it is in a setup's mapping.
    rest : tuple of str
        Keys after it.
    """

    kind: str
    name: str
    steps: Steps
    rest: tuple[str, ...] = ()

    @property
    def thing(self) -> str:
        """How it is called: ``light.key``."""
        return f"{self.kind}.{self.name}" if self.name else self.kind


def find_named(path: object, setup: Setup) -> Named:
    """Return what a path names in a setup.

    Raises
    ------
    EditError
        There is no such thing; the nearest name is suggested.
    """
    if not isinstance(path, str) or not path.strip():
        raise refused("an edit", path, allowed=_kinds(), advice="name a thing, like light.key")
    kind, _, rest = path.strip().partition(".")
    if kind in (*SINGLE, *PLAIN):
        return Named(kind=kind, name="", steps=(kind,), rest=_keys(rest))
    if kind not in LISTS:
        close = _near(kind, (*SINGLE, *PLAIN, *LISTS))
        advice = f'did you mean "{close}"?' if close else "name a thing, like light.key"
        raise refused(path, "", allowed=_kinds(), advice=advice)
    names = [one.name for one in getattr(setup, LISTS[kind])]
    found = _longest(rest, names)
    if found is None:
        raise _not_there(kind, rest, names)
    index, name, after = found
    return Named(kind=kind, name=name, steps=(kind, index), rest=_keys(after))


def thing_of(setup: Setup, named: Named) -> Any:
    """Return the part of a setup that is named; None for a backdrop that is not there."""
    if named.kind in LISTS:
        return getattr(setup, LISTS[named.kind])[named.steps[1]]
    return getattr(setup, named.kind)


def with_value(body: Mapping[str, Any], steps: Steps, value: object) -> Body:
    """Return a copy of a mapping with another value at a place; None takes the key out."""
    return dict(_put(dict(body), steps, value))


def value_at(body: Any, steps: Steps) -> Any:
    """Return what a mapping holds at a place; None where there is nothing."""
    for step in steps:
        try:
            body = body[step]
        except (KeyError, IndexError, TypeError):
            return None
    return body


def refused(key: str, given: object, *, allowed: str, advice: str) -> EditError:
    """Return the error that says in one line why an edit cannot be made."""
    shown = "" if given == "" else as_typed(given)
    return EditError(Problem(key=key, given=shown, allowed=allowed, advice=advice))


def _put(node: Any, steps: Steps, value: object) -> Any:
    first, *others = steps
    if isinstance(node, list) and isinstance(first, int):
        copy = list(node)
        copy[first] = _put(node[first], tuple(others), value) if others else value
        return copy
    table = _as_table(node)
    if others:
        table[str(first)] = _put(table.get(str(first)), tuple(others), value)
    elif value is None:
        table.pop(str(first), None)
    else:
        table[str(first)] = value
    return table


def _as_table(node: Any) -> Body:
    """Return a table to put a key into: a preset's name stands for one."""
    if isinstance(node, Mapping):
        return dict(node)
    return {"preset": node} if isinstance(node, str) else {}


def _longest(rest: str, names: list[str]) -> tuple[int, str, str] | None:
    """Return number and name of the longest name that a path begins with, and what follows."""
    for own, held in ((rest, names), (rest.casefold(), [one.casefold() for one in names])):
        fits = [
            (len(name), index)
            for index, name in enumerate(held)
            if own == name or own.startswith(f"{name}.")
        ]
        if fits:
            size, index = max(fits)
            return index, names[index], rest[size + 1 :]
    return None


def _not_there(kind: str, rest: str, names: list[str]) -> EditError:
    asked = rest.partition(".")[0] or rest
    allowed = ", ".join(as_typed(one) for one in names) or f"there is no {kind} yet"
    if not rest:
        return refused(kind, "", allowed=allowed, advice=f"say which {kind}, like {kind}.NAME")
    close = _near(asked, names)
    advice = f"there is no {kind} of that name"
    advice += f'; did you mean "{close}"?' if close else "; add it, or name another"
    return refused(kind, asked, allowed=allowed, advice=advice)


def _near(word: str, choices: Iterable[str]) -> str | None:
    by_plain = {one.casefold(): one for one in choices}
    close = get_close_matches(word[:80].casefold(), by_plain, n=1, cutoff=0.5)
    return by_plain[close[0]] if close else None


def _keys(rest: str) -> tuple[str, ...]:
    return tuple(rest.split(".")) if rest else ()


def _kinds() -> str:
    return ", ".join((*SINGLE, *(f"{kind}.NAME" for kind in LISTS), *PLAIN))
