"""The JSON Schema of a setup file, with a description of each key."""

from __future__ import annotations

import inspect
import re
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from tapemark.studio import (
    appearance,
    camera,
    gels,
    glasses,
    lights,
    luminaires,
    place,
    room,
    sitter,
    stands,
    surroundings,
    wiring,
)
from tapemark.studio.base import key_of
from tapemark.studio.fields import field_of, quantity_in
from tapemark.studio.presets import (
    GLASSES_PRESETS,
    HEAD_PRESETS,
    MODIFIER_PRESETS,
    STAND_PRESETS,
    Preset,
)
from tapemark.studio.setup import LISTS, Setup

__all__ = ["described_keys", "json_schema", "tables"]

_PRESETS: dict[str, Mapping[str, Preset]] = {
    "Glasses": GLASSES_PRESETS,
    "Head": HEAD_PRESETS,
    "Modifier": MODIFIER_PRESETS,
    "Gel": gels.GEL_PRESETS,
    "Stand": STAND_PRESETS,
}
_KEYS = {field: key for key, field in LISTS.items()} | {"lumens": "output"}
_UNIT = re.compile(r" \[[^\]]*\]$", re.MULTILINE)  # in a file the value carries the unit
_NAMES = re.compile(r"^([a-z0-9_, ]+) : ")


def tables() -> tuple[type[BaseModel], ...]:
    """Return the model of each table of a setup file, the whole file first."""
    return (
        Setup,
        room.Room,
        sitter.Sitter,
        sitter.FaceMeasures,
        appearance.Appearance,
        glasses.Glasses,
        glasses.Prescription,
        sitter.Companion,
        camera.Camera,
        place.Place,
        place.Spot,
        lights.Light,
        lights.Head,
        luminaires.Luminaire,
        lights.Modifier,
        gels.Gel,
        lights.Meter,
        stands.Stand,
        surroundings.Panel,
        surroundings.Window,
        surroundings.Screen,
        surroundings.Backdrop,
        wiring.Circuit,
        wiring.Walkway,
    )


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema of a setup file.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12. A quantity is described as text, with a pattern that is a
        little looser than what is read, and examples.
    """
    schema = Setup.model_json_schema(by_alias=True)
    definitions: dict[str, Any] = schema["$defs"]
    for model in tables()[1:]:
        _describe(definitions[model.__name__], model)
    for name, presets in _PRESETS.items():
        table = definitions[name]
        table["properties"]["preset"] = {
            "description": "Trade description that gives every value not stated here.",
            "enum": list(presets),
        }
        choice = {"enum": list(presets), "description": "A preset by its trade description."}
        definitions[name] = {"anyOf": [choice, table]}
    _describe(schema, Setup)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _describe(table: dict[str, Any], model: type[BaseModel]) -> None:
    """Put the documentation of a model and of its fields into its schema."""
    table["description"] = inspect.cleandoc(model.__doc__ or "").partition("\n\n")[0]
    for key, text in described_keys(model).items():
        entry = table["properties"].get(key)
        if entry is None:
            continue
        entry.pop("title", None)
        allowed = entry.get("description", "")
        entry["description"] = f"{text} Allowed: {allowed}" if allowed else text
        field = field_of(model, key)
        quantity = None if field is None else quantity_in(field)
        if quantity is not None and entry.get("default") is not None:
            entry["default"] = quantity.kind.write(entry["default"], "metric")


def described_keys(model: type[BaseModel]) -> dict[str, str]:
    """Return the description of each key of a table, those of the data it builds on first."""
    found: dict[str, str] = {}
    for base in reversed(model.__mro__):
        if issubclass(base, BaseModel) and base.__doc__ is not None:
            found |= _parameters(inspect.cleandoc(base.__doc__))
    return found


def _parameters(documentation: str) -> dict[str, str]:
    """Return the description of each key from a numpydoc section of parameters."""
    section = documentation.partition("Parameters\n----------\n")[2].partition("\n\n")[0]
    found: dict[str, str] = {}
    names: list[str] = []
    for line in _UNIT.sub("", section).splitlines():
        match = _NAMES.match(line)
        if match is not None:
            names = [_KEYS.get(name, key_of(name)) for name in match[1].split(", ")]
            continue
        for name in names:
            found[name] = f"{found.get(name, '')} {line.strip()}".strip()
    return found
