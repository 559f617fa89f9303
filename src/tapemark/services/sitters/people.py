"""Who is kept, who is in setups, and in which setups somebody sat."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tapemark.errors import NotKept, TapemarkError
from tapemark.services.library.keeping import Library, keep
from tapemark.services.library.own_parts import part_of_setup
from tapemark.store import Kept, KeptLine
from tapemark.studio import Sitter, setup_from_mapping
from tapemark.studio.parts import part_from_mapping

MOST_SETUPS = 300
MOST_PEOPLE = 300


@dataclass(frozen=True, kw_only=True, slots=True)
class KeptPerson:
    """Somebody who is kept.

    Attributes
    ----------
    id, name : str
        Of the kept sitter.
    sitter : Sitter
        As kept.
    setups : tuple of KeptLine
        In which they sat, the last changed first.
    """

    id: str
    name: str
    sitter: Sitter
    setups: tuple[KeptLine, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PersonInSetup:
    """Somebody who sat, but is not kept.

    Attributes
    ----------
    name : str
        As the setup has it.
    setup : KeptLine
        The last one that they sat in.
    """

    name: str
    setup: KeptLine


def same_person(one: str, other: str) -> bool:
    """Return whether two names are of one person: the same up to a comma, whatever the case.

    Examples
    --------
    >>> same_person("Ines, reader services", "ines")
    True
    """
    first, second = (name.partition(",")[0].strip().casefold() for name in (one, other))
    return bool(first) and first == second


def people(library: Library) -> tuple[tuple[KeptPerson, ...], tuple[PersonInSetup, ...]]:
    """Return who is kept, and who only sat, each by name."""
    sat = list(_sat(library))
    kept = [_person(library, line, sat) for line in library.kept("sitter", most=MOST_PEOPLE)]
    found = [one for one in kept if one is not None]
    others: dict[str, PersonInSetup] = {}
    for name, line in sat:
        known = any(same_person(name, one.sitter.name) for one in found)
        if not known and name.casefold() != "sitter":
            others.setdefault(name.casefold(), PersonInSetup(name=name, setup=line))
    return (
        tuple(sorted(found, key=lambda one: one.name.casefold())),
        tuple(sorted(others.values(), key=lambda one: one.name.casefold())),
    )


def person(library: Library, thing_id: str) -> tuple[Kept, KeptPerson]:
    """Return somebody who is kept.

    Raises
    ------
    NotKept
        There is nobody of this id.
    """
    kept = library.get(thing_id)
    if kept.kind != "sitter":
        raise NotKept(f"a sitter of id {thing_id[:40]!r}")
    sitter = sitter_of(kept.body, name=kept.name)
    setups = tuple(line for name, line in _sat(library) if same_person(name, sitter.name))
    return kept, KeptPerson(
        id=kept.id, name=kept.name, sitter=sitter, setups=tuple(dict.fromkeys(setups))
    )


def keep_person(library: Library, setup_id: str, name: str) -> Kept:
    """Keep somebody of a setup, with their glasses, to come back to.

    Raises
    ------
    NotKept, SetupError
        There is no such setup, or nobody of this name in it.
    """
    kept = library.get(setup_id)
    if kept.kind != "setup":
        raise NotKept(f"a setup of id {setup_id[:40]!r}")
    setup = setup_from_mapping(kept.body, name=kept.name)
    body = part_of_setup(setup, "sitter", person=name)
    return keep(library, "sitter", name=name, body=body, why=f"from {kept.name}")


def sitter_of(body: dict[str, Any], *, name: str) -> Sitter:
    """Return a kept body as a sitter."""
    thing = part_from_mapping("sitter", body, name=name).thing
    assert isinstance(thing, Sitter)
    return thing


def _person(library: Library, line: KeptLine, sat: list[tuple[str, KeptLine]]) -> KeptPerson | None:
    try:
        sitter = sitter_of(library.get(line.id).body, name=line.name)
    except TapemarkError:
        return None
    setups = (own for name, own in sat if same_person(name, sitter.name))
    return KeptPerson(
        id=line.id, name=line.name, sitter=sitter, setups=tuple(dict.fromkeys(setups))
    )


def _sat(library: Library) -> Iterator[tuple[str, KeptLine]]:
    """Yield everybody in the setups that are kept, the last changed first.

    Names are read from what is kept as it stands: to read hundreds of setups whole would take
    seconds.
    """
    for line in library.kept("setup", most=MOST_SETUPS):
        try:
            body = library.get(line.id).body
        except TapemarkError:
            continue
        for one in (body.get("sitter"), *_listed(body.get("companion"))):
            name = one.get("name") if isinstance(one, dict) else None
            if isinstance(name, str) and name.strip():
                yield name, line


def _listed(value: object) -> list[Any]:
    return value if isinstance(value, list) else []
