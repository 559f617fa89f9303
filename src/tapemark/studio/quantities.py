"""Quantities as fields: text with a unit in, a float in the unit of the field's name out.

A `Quantity` stands in the annotation of a field. From a file it takes text with a unit and
refuses a bare number with advice on what to write; from Python it takes the plain number in the
unit that the field's name carries.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import PydanticCustomError, core_schema

from tapemark.errors import UnitError
from tapemark.studio.context import is_typed, system_of
from tapemark.units import UnitSystem, number_text

__all__ = ["Kind", "Quantity"]

_SHORT = 40  # letters of a text whose number is remembered: a dragged set is read again and again


@dataclass(frozen=True, kw_only=True, slots=True)
class Kind:
    """How one kind of quantity is read, written and explained.

    Parameters
    ----------
    noun : str
        What it is, with its article ("a length").
    parse : callable
        Text to number.
    write : callable
        Number to text that reads back as the same number.
    show : callable
        Number to rounded text, for messages.
    examples : tuple of str
        Good values, for messages and for the schema.
    pattern : str
        Regular expression for the schema; looser than `parse`.
    spellings : tuple of str
        Ways to complete a bare number, most likely first, such as ``"{} cm"``.
    spellings_us : tuple of str
        The same for somebody who works in feet and inches.
    bare : bool
        Whether a bare number is right, as for a ratio.
    whole : bool
        Whether only whole numbers are right.
    """

    noun: str
    parse: Callable[[str], float]
    write: Callable[[float, UnitSystem], str | float]
    show: Callable[[float, UnitSystem], str]
    examples: tuple[str, ...]
    pattern: str
    spellings: tuple[str, ...] = ()
    spellings_us: tuple[str, ...] = ()
    bare: bool = False
    whole: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Quantity:
    """The annotation of a field that holds a quantity.

    Parameters
    ----------
    kind : Kind
        How it is read and written.
    low, high : float
        Allowed range, both ends included, in the unit of the field.
    usual : tuple of float, optional
        Narrower range used only to guess which unit a bare number was meant in.
    """

    kind: Kind
    low: float
    high: float
    usual: tuple[float, float] | None = None

    def validate(self, value: Any, info: ValidationInfo) -> float:
        """Return the number for a value from a file or from Python."""
        system = system_of(info)
        if isinstance(value, str):
            number = self._read(value, system)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            if is_typed(info) and not self.kind.bare:
                raise self._refuse(system, advice=self.unit_advice(value, system))
            number = self._plain(value, system)
        else:
            raise self._refuse(system, advice=f"write {self.example(system)}")
        if not self.low <= number <= self.high:
            raise self._refuse(system, advice="check the number and its unit")
        return int(number) if self.kind.whole else number + 0.0

    def allowed(self, system: UnitSystem) -> str:
        """Return the allowed range in words."""
        low, high = (self.kind.show(end, system) for end in (self.low, self.high))
        return f"{self.kind.noun} from {low} to {high}"

    @property
    def examples(self) -> tuple[str, ...]:
        """Return good values as typed, of whole numbers those within the range."""
        if not self.kind.whole or self.low <= self.kind.parse(self.kind.examples[0]) <= self.high:
            return self.kind.examples
        return (f"{self.low:.0f}",)

    def example(self, system: UnitSystem) -> str:
        """Return a good value as it is typed."""
        wanted = self.examples
        quoted = [text if self.kind.bare else f'"{text}"' for text in wanted[:2]]
        return " or ".join(reversed(quoted) if system == "us" else quoted)

    def _whole_example(self, given: float) -> str:
        """Return a whole number to write: the usual one, or the nearest where that is too much."""
        if self.examples == self.kind.examples:
            return self.examples[0]
        return f"{min(max(given, self.low), self.high):.0f}"

    def unit_advice(self, value: float, system: UnitSystem) -> str:
        """Return what to write instead of a bare number."""
        low, high = self.usual or (self.low, self.high)
        spellings = self.kind.spellings
        if system == "us":
            spellings = self.kind.spellings_us or spellings
        choices = []
        for spelling in spellings:
            text = spelling.format(_short(value))
            try:
                number = self.kind.parse(text)
            except UnitError:
                continue
            if low <= number <= high:
                choices.append((text, number))
        if not choices:
            return f"{_short(value)} has no unit; write it like {self.example(system)}"
        words = [self._with_equal(text, number) for text, number in choices[:2]]
        return f"{_short(value)} has no unit; write {' or '.join(words)}"

    def _with_equal(self, text: str, number: float) -> str:
        if not self.kind.spellings_us:
            return f'"{text}"'
        other: UnitSystem = "us" if text.endswith(("m", "kg")) else "metric"
        return f'"{text}" ({self.kind.show(number, other)})'

    def _read(self, text: str, system: UnitSystem) -> float:
        try:
            return _parsed(self.kind.parse, text) if len(text) <= _SHORT else self.kind.parse(text)
        except UnitError as error:
            number = _bare_number(text)
            if number is not None and not self.kind.bare and self.kind.spellings:
                raise self._refuse(system, advice=self.unit_advice(number, system)) from None
            raise self._refuse(system, advice=error.advice) from None

    def _plain(self, value: float, system: UnitSystem) -> float:
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self._refuse(system, advice=f"write {self.example(system)}")
        if self.kind.whole and number != int(number):
            raise self._refuse(system, advice=f"write {self._whole_example(number)}")
        return number

    def _refuse(self, system: UnitSystem, *, advice: str) -> PydanticCustomError:
        context = {"allowed": self.allowed(system), "advice": advice}
        return PydanticCustomError("quantity", "{advice} (allowed: {allowed})", context)

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Tell pydantic how to read and write the field."""
        return core_schema.with_info_plain_validator_function(
            self.validate,
            serialization=core_schema.plain_serializer_function_ser_schema(
                self._serialize, info_arg=True, when_used="json"
            ),
        )

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Describe the field as it is typed in a file."""
        text: JsonSchemaValue = {
            "type": "string",
            "description": f"{self.allowed('metric')}.",
            "pattern": self.kind.pattern,
            "examples": list(self.examples),
        }
        if not self.kind.bare:
            return text
        number: JsonSchemaValue = {"type": "integer" if self.kind.whole else "number"}
        number |= {"minimum": self.low, "maximum": self.high}
        examples = [self.kind.parse(example) for example in self.examples]
        number |= {"description": text["description"], "examples": examples}
        return number if self.kind.whole else {"anyOf": [number, text]}

    def _serialize(self, value: float, info: core_schema.SerializationInfo) -> str | float:
        return self.kind.write(value, system_of(info))


@lru_cache(maxsize=4096)
def _parsed(parse: Callable[[str], float], text: str) -> float:
    return parse(text)


def _bare_number(text: str) -> float | None:
    try:
        number = float(text[:40])
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def _short(value: float) -> str:
    try:
        text = number_text(value)
    except OverflowError:
        return "a number so large"
    return text if len(text) <= 24 else f"{float(value):g}"
