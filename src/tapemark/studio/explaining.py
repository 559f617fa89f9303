"""Turning what the validation found into problems that a photographer can put right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from tapemark.errors import Problem
from tapemark.studio.aims import without_branches
from tapemark.studio.as_typed import item_label
from tapemark.studio.base import key_of
from tapemark.studio.fields import (
    field_of,
    keys_of,
    quantity_in,
    required_keys,
    table_at,
    table_in,
    words_in,
)
from tapemark.studio.presets import nearest
from tapemark.studio.quantities import Quantity
from tapemark.units import UnitSystem, as_typed

__all__ = ["explain"]

_NOT_GIVEN = "(not given)"
_ECHOES = ("default_factory_not_called",)  # follows from another problem that is reported itself


def explain(
    error: ValidationError,
    *,
    model: type[BaseModel],
    data: object,
    system: UnitSystem = "metric",
    numbers: Mapping[str, list[int]] | None = None,
) -> list[Problem]:
    """Return the problems behind a validation error, in the order found.

    Parameters
    ----------
    error : ValidationError
        What the validation raised.
    model : type
        The model that was validated.
    data : object
        What was validated.
    system : "metric" or "us"
        In which units to give advice.
    numbers : mapping of str to list of int, optional
        Places in the file of list items, counted from 1, where some were left out.
    """
    problems: list[Problem] = []
    found = [item for item in error.errors(include_url=False) if item["type"] not in _ECHOES]
    mistyped = _mistyped(found, model)
    for details in found:
        steps = without_branches(details["loc"])
        if details["type"] == "missing" and tuple(steps) in mistyped:
            continue
        path = _path(steps, data, numbers or {})
        context = details.get("ctx", {})
        if details["type"] == "problems":
            problems += [_placed(problem, path) for problem in context["problems"]]
            continue
        where = _Where(model=model, steps=steps, path=path, system=system)
        maker = _MAKERS.get(details["type"], _other)
        problems.append(maker(where, details["input"], {"advice": details["msg"], **context}))
    return problems


def _mistyped(found: Sequence[ErrorDetails], model: type[BaseModel]) -> set[tuple[Any, ...]]:
    """Return the places of required keys that are there under a mistyped name."""
    places = set()
    for details in found:
        if details["type"] == "extra_forbidden":
            *outer, key = without_branches(details["loc"])
            table = table_at(model, [str(step) for step in outer if not isinstance(step, int)])
            meant = None if table is None else _meant(str(key), keys=keys_of(table))
            places.add((*outer, meant))
    return places


class _Where:
    """A place in the data: its path for people, and the field that belongs there."""

    def __init__(
        self, *, model: type[BaseModel], steps: list[Any], path: str, system: UnitSystem
    ) -> None:
        self.steps = [step for step in steps if not isinstance(step, int)]
        self.path = path
        self.system = system
        self.table = table_at(model, self.steps[:-1])
        self.key = self.steps[-1] if self.steps else ""
        self.field = None if self.table is None else field_of(self.table, self.key)

    def problem(self, value: object, allowed: str, advice: str) -> Problem:
        """Return the problem with a value at this place."""
        return Problem(
            key=self.path or "the file", given=as_typed(value), allowed=allowed, advice=advice
        )

    def quantity(self) -> Quantity | None:
        """Return the quantity that belongs here, if it is one."""
        return None if self.field is None else quantity_in(self.field)

    def inner(self) -> type[BaseModel] | None:
        """Return the table that belongs here, if it is one."""
        return None if self.field is None else table_in(self.field.annotation)

    def words(self) -> list[str]:
        """Return the words that are allowed here, if there is a set of them."""
        return [] if self.field is None else words_in(self.field.annotation)

    def allowed(self) -> str:
        """Return what is allowed here."""
        quantity, inner, words = self.quantity(), self.inner(), self.words()
        if quantity is not None:
            return quantity.allowed(self.system)
        if inner is not None:
            return f"a table with {', '.join(keys_of(inner))}"
        return " or ".join(f'"{word}"' for word in words) if words else "text in quotes"

    def example(self) -> str:
        """Return a good value as it is typed."""
        quantity, inner, words = self.quantity(), self.inner(), self.words()
        if quantity is not None:
            return quantity.example(self.system)
        if inner is not None:
            return "{ " + ", ".join(f"{key} = ..." for key in required_keys(inner)) + " }"
        return f'"{words[0]}"' if words else '"..."'


def _other(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    return where.problem(value, context.get("allowed", where.allowed()), context["advice"])


def _missing(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    del value, context  # what was found is the table around the gap
    inner = where.inner()
    if inner is not None and len(where.steps) == 1:
        keys = ", ".join(required_keys(inner) or keys_of(inner))
        advice = f"add a table [{where.key}] with {keys}"
    else:
        advice = f"add {where.key} = {where.example()}"
    return Problem(key=where.path, given=_NOT_GIVEN, allowed=where.allowed(), advice=advice)


def _unknown(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    del context  # says no more than the kind of the error
    keys = [] if where.table is None else keys_of(where.table)
    return where.problem(
        value, f"the keys {', '.join(keys)}", _key_advice(str(where.key), keys=keys)
    )


def _not_a_word(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    del context  # the field knows the words
    words = where.words()
    close = nearest(value, words) if isinstance(value, str) else None
    advice = f'did you mean "{close}"?' if close else f"write {where.example()}"
    return where.problem(value, where.allowed(), advice)


def _not_a_table(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    del context  # names the Python class only
    if not where.steps:
        return where.problem(value, "tables such as [room], [sitter], [camera]", "write a setup")
    advice = f"write {where.key} = {where.example()}, or its keys below [{'.'.join(where.steps)}]"
    return where.problem(value, where.allowed(), advice)


def _not_a_list(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    del context  # says no more than the kind of the error
    advice = f"start each {where.key} with [[{where.key}]], with two brackets on each side"
    return where.problem(value, f"a list of tables [[{where.key}]]", advice)


def _too_long(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    most = context.get("max_length")
    unit = "characters" if isinstance(value, str) else "entries"
    return where.problem(value, f"at most {most} {unit}", "make it shorter")


def _not_text(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    del context  # says no more than the kind of the error
    return where.problem(value, "text in quotes", f'write {where.key} = "..."')


def _not_a_switch(where: _Where, value: object, context: Mapping[str, Any]) -> Problem:
    del context  # says no more than the kind of the error
    return where.problem(value, "true or false", f"write {where.key} = true, without quotes")


_MAKERS = {
    "missing": _missing,
    "extra_forbidden": _unknown,
    "literal_error": _not_a_word,
    "model_type": _not_a_table,
    "model_attributes_type": _not_a_table,
    "tuple_type": _not_a_list,
    "too_long": _too_long,
    "string_too_long": _too_long,
    "string_type": _not_text,
    "string_unicode": _not_text,
    "bool_type": _not_a_switch,
}


def _path(steps: list[Any], data: object, numbers: Mapping[str, list[int]]) -> str:
    """Return the key path as the user finds it: ``light[2] "fill" place.height``."""
    text, node, join = "", data, ""
    for step in steps:
        if isinstance(step, int) and isinstance(node, list | tuple):
            node = node[step] if step < len(node) else None
            text = _item_path(text, step, node, numbers)
            join = " "
            continue
        if text and not isinstance(node, Mapping):
            break  # a preset named in place of its table: the user never typed the inner key
        text = f"{text}{join}{as_typed_key(step)}"
        node = node.get(step) if isinstance(node, Mapping) else None
        join = "."
    return text


def as_typed_key(step: object) -> str:
    """Return a key as it stands in a file, quoted where it has to be."""
    key = str(step)
    return key if key.replace("_", "a").replace("-", "a").isalnum() else as_typed(key)


def _item_path(text: str, step: int, node: object, numbers: Mapping[str, list[int]]) -> str:
    listed = numbers.get(text, [])
    number = listed[step] if step < len(listed) else step + 1
    name = node.get("name") if isinstance(node, Mapping) else getattr(node, "name", None)
    if isinstance(name, str) and name:
        return item_label(text, number=number, name=name)
    return f"{text}[{number}]"


def _placed(problem: Problem, path: str) -> Problem:
    join = "" if not path else (" " if path.endswith(("]", '"')) else ".")
    return Problem(
        key=f"{path}{join}{problem.key}",
        given=problem.given or _NOT_GIVEN,
        allowed=problem.allowed,
        advice=problem.advice,
    )


def _key_advice(key: str, *, keys: list[str]) -> str:
    if key_of(key) in keys:
        return f"write {key_of(key)}, and put the unit into the value"
    meant = _meant(key, keys=keys)
    return f'did you mean "{meant}"?' if meant else "take it out, or look it up in the list of keys"


def _meant(key: str, *, keys: list[str]) -> str | None:
    return key_of(key) if key_of(key) in keys else nearest(key, keys)
