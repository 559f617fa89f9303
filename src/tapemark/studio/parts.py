"""Parts of a studio by themselves: a room, a sitter, a pair of glasses, a piece of gear.

A part has the shape that it has in a setup file or, for gear, in a brief, and two keys more:
``units`` for the units that its person works in, and for gear ``what`` it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from tapemark.errors import Problem, SetupError
from tapemark.studio.base import Data
from tapemark.studio.brief import BackgroundGear, HeadGear, ModifierGear, PanelGear, StandGear
from tapemark.studio.context import reading_context
from tapemark.studio.explaining import explain
from tapemark.studio.glasses import Glasses
from tapemark.studio.room import Room
from tapemark.studio.sitter import Sitter
from tapemark.units import UnitSystem, as_typed

__all__ = ["GEAR", "PARTS", "Part", "part_from_mapping", "part_to_mapping"]

GEAR: dict[str, type[Data]] = {
    "head": HeadGear,
    "modifier": ModifierGear,
    "stand": StandGear,
    "panel": PanelGear,
    "backdrop": BackgroundGear,
}
"""What a piece of gear can be."""

PARTS: dict[str, type[Data] | None] = {
    "room": Room,
    "gear": None,  # says itself what it is
    "glasses": Glasses,
    "sitter": Sitter,
}
"""Kinds of parts."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """A part of a studio by itself.

    Parameters
    ----------
    kind : str
        One of `PARTS`.
    thing : Room, Sitter, Glasses, HeadGear, ModifierGear, StandGear, PanelGear, BackgroundGear
        The data.
    units : "metric" or "us"
        In which units to show and write it.
    """

    kind: str
    thing: Data
    units: UnitSystem


def part_from_mapping(kind: str, mapping: Mapping[str, object], *, name: str = "") -> Part:
    """Read a part from data of the shape it has in a file, such as parsed JSON.

    Parameters
    ----------
    kind : str
        One of `PARTS`.
    mapping : mapping
        Keys and values as in a file, values with their units.
    name : str
        What it is called, for messages.

    Raises
    ------
    SetupError
        With every problem found.
    """
    values = dict(mapping)
    called = name or kind
    units = _units(values.pop("units", "metric"), name=called)
    model = PARTS[kind] or _gear_model(values.pop("what", None), name=called)
    context = reading_context(values, system=units)
    try:
        thing = model.model_validate(values, by_alias=True, by_name=False, context=context)
        return Part(kind=kind, thing=thing, units=units)
    except ValidationError as error:
        problems = _explained(error, model=model, data=values, system=units)
    raise SetupError(tuple(problems), name=called)


def part_to_mapping(part: Part) -> dict[str, Any]:
    """Return a part as data, fit for JSON: what was stated, in its units; reads back as equal."""
    mapping: dict[str, Any] = part.thing.model_dump(
        mode="json", by_alias=True, exclude_unset=True, context={"system": part.units}
    )
    if part.kind == "gear":
        what = next(key for key, model in GEAR.items() if type(part.thing) is model)
        mapping = {"what": what, **mapping}
    return mapping if part.units == "metric" else {"units": part.units, **mapping}


def _units(value: object, *, name: str) -> UnitSystem:
    if value == "metric":
        return "metric"
    if value == "us":
        return "us"
    problem = Problem(
        key="units",
        given=as_typed(value) if isinstance(value, str) else str(type(value).__name__),
        allowed='"metric" or "us"',
        advice='write units = "metric"',
    )
    raise SetupError((problem,), name=name)


def _gear_model(what: object, *, name: str) -> type[Data]:
    model = GEAR.get(what) if isinstance(what, str) else None
    if model is not None:
        return model
    problem = Problem(
        key="what",
        given=as_typed(what) if isinstance(what, str) else "",
        allowed=", ".join(f'"{key}"' for key in GEAR),
        advice='say what piece of gear it is, such as what = "head"',
    )
    raise SetupError((problem,), name=name)


def _explained(
    error: ValidationError, *, model: type[Data], data: dict[str, object], system: UnitSystem
) -> list[Problem]:
    try:
        return explain(error, model=model, data=data, system=system)
    except UnicodeEncodeError:  # half a character, such as "\ud800" in JSON, in a key or a value
        problem = Problem(
            key="a value",
            given="a broken character",
            allowed="Unicode text",
            advice="type it again",
        )
        return [problem]
