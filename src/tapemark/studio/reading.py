"""Reading setups: TOML text or a mapping in, a checked `Setup` or all problems together out."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from tapemark.errors import Problem, SetupError
from tapemark.studio.aims import without_branches
from tapemark.studio.context import reading_context
from tapemark.studio.explaining import explain
from tapemark.studio.setup import LISTS, Setup
from tapemark.units import UnitSystem, as_typed

__all__ = ["setup_from_mapping", "setup_from_toml"]

LONGEST_TEXT = 500_000  # characters; a setup with a hundred lights has some 30,000
_POSITION = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")


def setup_from_toml(text: str, *, name: str = "setup") -> Setup:
    """Read a setup from TOML text.

    Parameters
    ----------
    text : str
        The text of a setup file.
    name : str
        Name of the file, for messages.

    Returns
    -------
    Setup
        Checked.

    Raises
    ------
    SetupError
        With every problem found, each with its key, value, what is allowed and what to do.
    """
    return setup_from_mapping(mapping_from_toml(text, name=name, kind="setup file"), name=name)


def mapping_from_toml(text: str, *, name: str, kind: str) -> dict[str, Any]:
    """Return what a TOML text holds.

    Parameters
    ----------
    text : str
        The text of a file.
    name : str
        Name of the file, for messages.
    kind : str
        What it should be, for messages: ``setup file``.

    Raises
    ------
    SetupError
        Where the text is too long or no TOML.
    """
    if len(text) > LONGEST_TEXT:
        problem = Problem(
            key="the file",
            given=f"{len(text)} characters",
            allowed=f"at most {LONGEST_TEXT} characters",
            advice=f"check that this is a {kind}",
        )
        raise SetupError((problem,), name=name)
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError) as error:
        raise SetupError((syntax_problem(text, error),), name=name) from None


def setup_from_mapping(mapping: Mapping[str, object], *, name: str = "setup") -> Setup:
    """Read a setup from data of the same shape as a file, such as parsed JSON.

    Parameters
    ----------
    mapping : mapping
        Keys and values as in a file, values with their units.
    name : str
        Name of the file, for messages.

    Returns
    -------
    Setup
        Checked.

    Raises
    ------
    SetupError
        With every problem found.
    """
    system: UnitSystem = "metric"
    if isinstance(mapping, Mapping):
        mapping = dict(mapping)
        system = "us" if mapping.get("units") == "us" else "metric"
    try:
        return _validated(mapping, system=system, numbers={})
    except ValidationError as error:
        problems = _all_problems(mapping, error, system=system)
    raise SetupError(tuple(problems), name=name)


def _all_problems(
    mapping: Mapping[str, object], error: ValidationError, *, system: UnitSystem
) -> list[Problem]:
    try:
        problems = explain(error, model=Setup, data=mapping, system=system)
        return problems + _problems_of_the_rest(mapping, error, system=system)
    except UnicodeEncodeError:  # half a character, such as "\ud800" in JSON, in a key or a value
        problem = Problem(
            key="the file",
            given="a broken character",
            allowed="Unicode text",
            advice="save it again as UTF-8 text",
        )
        return [problem]


def _validated(mapping: object, *, system: UnitSystem, numbers: dict[str, list[int]]) -> Setup:
    context = reading_context(mapping, system=system, numbers=numbers)
    return Setup.model_validate(mapping, by_alias=True, by_name=False, context=context)


def _problems_of_the_rest(
    mapping: Mapping[str, object], error: ValidationError, *, system: UnitSystem
) -> list[Problem]:
    """Return what is wrong between the valid parts, so that all is reported at once."""
    errors = error.errors(include_url=False, include_context=False, include_input=False)
    found = [(details["loc"], details["type"]) for details in errors]
    if not isinstance(mapping, dict) or any(not steps for steps, _ in found):
        return []
    rest: dict[str, Any] = dict(mapping)
    numbers: dict[str, list[int]] = {}
    for key in LISTS:
        if isinstance(rest.get(key), list):
            rest[key] = list(rest[key])
            numbers[key] = list(range(1, len(rest[key]) + 1))
    unknown = [step for step, kind in found if kind == "extra_forbidden"]
    for steps in unknown:
        rest = _without(rest, without_branches(steps))
    faulty = [step for step, kind in found if kind != "extra_forbidden"]
    if not all(_take_part_out(rest, numbers, steps) for steps in faulty):
        return []
    try:
        _validated(rest, system=system, numbers=numbers)
    except ValidationError as second:
        return explain(second, model=Setup, data=rest, system=system, numbers=numbers)
    return []


def _without(node: Any, steps: list[int | str]) -> Any:
    """Return a copy of nested data without the key at the end of a path."""
    first, *others = steps
    if not others:
        return {key: value for key, value in node.items() if key != first}
    copy: Any = list(node) if isinstance(node, list) else dict(node)
    copy[first] = _without(copy[first], others)
    return copy


def _take_part_out(
    rest: dict[str, Any], numbers: dict[str, list[int]], steps: tuple[int | str, ...]
) -> bool:
    """Take a faulty part out of a mapping; return whether the rest still makes sense."""
    first = str(steps[0])
    if first in LISTS:
        if len(steps) == 1 or not isinstance(steps[1], int):
            rest.pop(first, None)
        elif steps[1] + 1 in numbers[first]:
            at = numbers[first].index(steps[1] + 1)
            del numbers[first][at], rest[first][at]
        return True
    if first in ("title", "units", "tapemark"):
        rest.pop(first, None)
        return True
    return False


def syntax_problem(text: str, error: Exception) -> Problem:
    message = "brackets are nested too deeply" if isinstance(error, RecursionError) else str(error)
    match = _POSITION.search(message)
    lines = text.splitlines() or [""]
    if match is None:
        return Problem(
            key="the file", given="", allowed="TOML", advice=f"check the writing: {message}"
        )
    line, column = int(match[1] or len(lines)), int(match[2] or len(lines[-1]) + 1)
    shown = lines[line - 1] if line <= len(lines) else ""
    reason = message[: match.start()].strip()
    return Problem(
        key=f"line {line}, column {column}",
        given=as_typed(shown, longest=100),
        allowed='TOML: lines like key = "value", tables like [room]',
        advice=f'{reason[:1].lower()}{reason[1:]}; a value with a unit stands in quotes: "1.4 m"',
    )
