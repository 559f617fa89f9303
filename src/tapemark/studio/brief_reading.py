"""Reading briefs: TOML text or a mapping in, a checked `Brief` or all problems together out."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from pydantic import ValidationError

from tapemark.errors import Problem, SetupError
from tapemark.studio.brief import Brief
from tapemark.studio.context import reading_context
from tapemark.studio.explaining import explain
from tapemark.studio.reading import LONGEST_TEXT, syntax_problem
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
    if len(text) > LONGEST_TEXT:
        problem = Problem(
            key="the file",
            given=f"{len(text)} characters",
            allowed=f"at most {LONGEST_TEXT} characters",
            advice="check that this is a brief",
        )
        raise SetupError((problem,), name=name)
    try:
        mapping = tomllib.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError) as error:
        raise SetupError((syntax_problem(text, error),), name=name) from None
    return brief_from_mapping(mapping, name=name)


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
