"""What all data of a studio share: frozen, checked, keys without units."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    AliasGenerator,
    BaseModel,
    ConfigDict,
    StringConstraints,
    model_validator,
)
from pydantic_core import PydanticCustomError

from tapemark.errors import Problem
from tapemark.studio.presets import Preset, nearest
from tapemark.units import is_shown

__all__ = [
    "Data",
    "Name",
    "Title",
    "from_preset",
    "key_of",
    "known_preset",
    "preset_or_table",
    "refuse",
]

_UNIT_SUFFIX = re.compile(r"_(?:m|mm|deg|d|s|j|k|kg|w|v|a|lx|mired|stops|years|cd_m2|lm_per_w)$")
LONGEST_NAME = 60  # characters; fits a label of a drawing
LONGEST_TITLE = 200  # characters


def key_of(field_name: str) -> str:
    """Return the key of a file for a field: its name without the unit.

    Examples
    --------
    >>> key_of("lens_width_mm"), key_of("iso")
    ('lens_width', 'iso')
    """
    return _UNIT_SUFFIX.sub("", field_name)


class Data(BaseModel):
    """Frozen, checked data of a studio.

    Fields carry their unit in their name (``height_m``); the key of a file does not
    (``height``), for there the value carries it. A field that was not stated keeps its default,
    and `model_fields_set` tells the stated ones.
    """

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        defer_build=True,  # built when first used, each model once: starting stays quick
        alias_generator=AliasGenerator(validation_alias=key_of, serialization_alias=key_of),
        validate_by_name=True,
        validate_by_alias=False,
    )

    @model_validator(mode="before")
    @classmethod
    def _nothing_is_not_stated(cls, value: Any) -> Any:
        if not isinstance(value, dict) or None not in value.values():
            return value
        return {key: item for key, item in value.items() if item is not None}


def refuse(problems: list[Problem] | tuple[Problem, ...]) -> PydanticCustomError:
    """Return the error that carries problems found by a check over several fields.

    Parameters
    ----------
    problems : list of Problem
        Their keys are relative to the data being checked.
    """
    texts = "; ".join(f"{problem.key}: {problem.advice}" for problem in problems)
    return PydanticCustomError("problems", "{texts}", {"texts": texts, "problems": tuple(problems)})


def from_preset(
    presets: Mapping[str, Preset], field: str, *, otherwise: Any = None
) -> Callable[[dict[str, Any]], Any]:
    """Return a default that a preset named in the same table may give.

    Parameters
    ----------
    presets : mapping of str to Preset
        All presets of that kind of thing.
    field : str
        The field to look up.
    otherwise : object
        The default without a preset.
    """

    def default(data: dict[str, Any]) -> Any:
        preset = presets.get(data.get("preset") or "")
        return otherwise if preset is None else preset.values.get(field, otherwise)

    return default


def preset_or_table(value: Any) -> Any:
    """Return the table for a thing that was given by the name of its preset alone."""
    return {"preset": value} if isinstance(value, str) else value


def known_preset(presets: Mapping[str, Preset]) -> Callable[[str | None], str | None]:
    """Return the check that a preset exists."""

    def check(value: str | None) -> str | None:
        if value is None or value in presets:
            return value
        close = nearest(value, presets)
        allowed = ", ".join(f'"{name}"' for name in presets)
        advice = f'did you mean "{close}"?' if close else "write one of these, or leave it out"
        raise PydanticCustomError(
            "preset", "{advice} (allowed: {allowed})", {"allowed": allowed, "advice": advice}
        )

    return check


def _check_text(value: str) -> str:
    if not is_shown(value):
        raise PydanticCustomError(
            "text",
            "{advice}",
            {"allowed": "printable characters", "advice": "take out the control characters"},
        )
    return value


def _check_name(value: str) -> str:
    if not value or value != value.strip():
        raise PydanticCustomError(
            "text",
            "{advice}",
            {
                "allowed": f"1 to {LONGEST_NAME} printable characters",
                "advice": "give it a name" if not value.strip() else "take out the outer spaces",
            },
        )
    return _check_text(value)


Name = Annotated[
    str, StringConstraints(strict=True, max_length=LONGEST_NAME), AfterValidator(_check_name)
]
Title = Annotated[
    str, StringConstraints(strict=True, max_length=LONGEST_TITLE), AfterValidator(_check_text)
]
