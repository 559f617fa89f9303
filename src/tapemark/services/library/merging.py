"""Two edits of one thing put together: three-way, field by field, lights matched by name."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

__all__ = ["Clash", "MergeResult", "Side", "merge_bodies"]

Side = Literal["mine", "theirs"]


class _Missing:
    """Stands for a field that is not there."""


_MISSING = _Missing()


@dataclass(frozen=True, kw_only=True, slots=True)
class Clash:
    """A field that two edits set differently.

    Parameters
    ----------
    path : str
        Where, with names of lights and companions: ``light.key.place.height``.
    base, mine, theirs : object
        The value before, and what each edit made of it; None where it is not there.
    """

    path: str
    base: Any
    mine: Any
    theirs: Any

    @property
    def text(self) -> str:
        """The clash in one line."""
        shown = [
            "taken out" if value is None else value if isinstance(value, str) else _short(value)
            for value in (self.mine, self.theirs)
        ]
        was = "" if self.base is None else f", before {_short(self.base)}"
        where = self.path.replace(".", " ") or "the whole"
        return f"{where}: here {shown[0]}, there {shown[1]}{was}"


@dataclass(frozen=True, kw_only=True, slots=True)
class MergeResult:
    """Two edits of one thing put together.

    Parameters
    ----------
    body : dict
        With every change of both; where they clash, the preferred one's.
    clashes : tuple of Clash
        Where they clash; empty if both went in whole.
    """

    body: dict[str, Any]
    clashes: tuple[Clash, ...]


def merge_bodies(
    base: Mapping[str, Any],
    mine: Mapping[str, Any],
    theirs: Mapping[str, Any],
    *,
    prefer: Side = "mine",
) -> MergeResult:
    """Put two edits of one body together.

    Parameters
    ----------
    base : mapping
        What both started from.
    mine, theirs : mapping
        What each made of it.
    prefer : "mine" or "theirs"
        Whose value stands in the body where they clash.

    Notes
    -----
    A field that only one of them changed takes that change. Items of a list are matched by their
    names; one that was renamed in place is followed. A list without names is one field.

    Examples
    --------
    >>> both = merge_bodies({"iso": 100, "f": 8}, {"iso": 200, "f": 8}, {"iso": 100, "f": 4})
    >>> both.body, both.clashes
    ({'iso': 200, 'f': 4}, ())
    """
    merging = _Merging(prefer=prefer)
    body = merging.tables(dict(base), dict(mine), dict(theirs), path=())
    return MergeResult(body=body, clashes=tuple(merging.clashes))


@dataclass(slots=True)
class _Merging:
    """One merge under way."""

    prefer: Side
    clashes: list[Clash] = field(default_factory=list)

    def values(self, base: Any, mine: Any, theirs: Any, *, path: tuple[str, ...]) -> Any:
        """Merge whatever stands in one place."""
        if _same(mine, theirs) or _same(theirs, base):
            return mine
        if _same(mine, base):
            return theirs
        if isinstance(mine, dict) and isinstance(theirs, dict):
            return self.tables(base if isinstance(base, dict) else {}, mine, theirs, path=path)
        if _named(mine) and _named(theirs) and (base is _MISSING or _named(base)):
            return self.lists([] if base is _MISSING else base, mine, theirs, path=path)
        return self.clash(base, mine, theirs, path=path)

    def tables(
        self,
        base: dict[str, Any],
        mine: dict[str, Any],
        theirs: dict[str, Any],
        *,
        path: tuple[str, ...],
    ) -> dict[str, Any]:
        """Merge tables key by key."""
        merged = {}
        for key in dict.fromkeys((*mine, *theirs, *base)):
            value = self.values(
                base.get(key, _MISSING),
                mine.get(key, _MISSING),
                theirs.get(key, _MISSING),
                path=(*path, key),
            )
            if value is not _MISSING:
                merged[key] = value
        return merged

    def lists(
        self, base: list[Any], mine: list[Any], theirs: list[Any], *, path: tuple[str, ...]
    ) -> list[Any]:
        """Merge lists item by item, matched by the names that the items had before."""
        before = {item["name"]: item for item in base}
        ours, others = _by_old_name(base, mine), _by_old_name(base, theirs)
        merged = []
        for name in _order(list(before), list(ours), list(others)):
            value = self.values(
                before.get(name, _MISSING),
                ours.get(name, _MISSING),
                others.get(name, _MISSING),
                path=(*path, name),
            )
            if value is not _MISSING:
                merged.append(value)
        return merged

    def clash(self, base: Any, mine: Any, theirs: Any, *, path: tuple[str, ...]) -> Any:
        """Note a clash and take the preferred value."""
        shown = [None if value is _MISSING else value for value in (base, mine, theirs)]
        self.clashes.append(
            Clash(path=".".join(path), base=shown[0], mine=shown[1], theirs=shown[2])
        )
        return mine if self.prefer == "mine" else theirs


def _same(one: Any, other: Any) -> bool:
    """Return whether two values are the same as JSON: 1 is not true."""
    if one is _MISSING or other is _MISSING:
        return one is other
    return json.dumps(one, sort_keys=True) == json.dumps(other, sort_keys=True)


def _named(value: Any) -> bool:
    """Return whether a value is a list of things, each with a name of its own."""
    if not isinstance(value, list):
        return False
    names = [item.get("name") if isinstance(item, dict) else None for item in value]
    return all(isinstance(name, str) for name in names) and len(set(names)) == len(names)


def _by_old_name(base: Sequence[Any], edited: Sequence[Any]) -> dict[str, Any]:
    """Return edited items by the names they had; one renamed in its place keeps its old name."""
    old, new = [item["name"] for item in base], [item["name"] for item in edited]
    renamed = {}
    if len(old) == len(new):
        renamed = {
            after: before
            for before, after in zip(old, new, strict=True)
            if before not in new and after not in old
        }
    return {renamed.get(item["name"], item["name"]): item for item in edited}


def _order(base: list[str], mine: list[str], theirs: list[str]) -> list[str]:
    """Return all names in the order of whoever changed it, what only the other added at the end."""
    common = [name for name in base if name in mine]
    moved = common != [name for name in mine if name in base]
    first, second = (mine, theirs) if moved else (theirs, mine)
    return list(dict.fromkeys((*first, *second, *base)))


def _short(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else f"{text[:57]}..."
