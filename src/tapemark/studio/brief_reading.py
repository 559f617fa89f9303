"""Reading briefs: TOML text or a mapping in, a checked `Brief` or all problems together out."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError

from tapemark.errors import SetupError
from tapemark.studio.brief import Brief
from tapemark.studio.context import reading_context
from tapemark.studio.explaining import explain
from tapemark.studio.reading import mapping_from_toml
from tapemark.units import UnitSystem

__all__ = ["brief_from_mapping", "brief_from_toml"]


def brief_from_toml(text: str, *, name: str = "brief") -> Brief:
    """Read a brief from TOML text.

    Parameters
    ----------
    text : str
        The text of a brief.
    name : str
        Name of the file, for messages.

    Raises
    ------
    SetupError
        With every problem found, each with its key, value, what is allowed and what to do.
    """
    return brief_from_mapping(mapping_from_toml(text, name=name, kind="brief"), name=name)


def brief_from_mapping(mapping: Mapping[str, object], *, name: str = "brief") -> Brief:
    """Read a brief from data of the same shape as a file, such as parsed JSON.

    Parameters
    ----------
    mapping : mapping
        Keys and values as in a file, values with their units.
    name : str
        Name of the file, for messages.

    Raises
    ------
    SetupError
        With every problem found.
    """
    system: UnitSystem = "us" if mapping.get("units") == "us" else "metric"
    context = reading_context(mapping, system=system)
    try:
        return Brief.model_validate(mapping, by_alias=True, by_name=False, context=context)
    except ValidationError as error:
        problems = explain(error, model=Brief, data=mapping, system=system)
    raise SetupError(tuple(problems), name=name)
