"""Looking up what belongs where: the table, the field, the quantity or the words at a key."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from tapemark.studio.quantities import Quantity

__all__ = [
    "field_of",
    "keys_of",
    "quantity_in",
    "required_keys",
    "table_at",
    "table_in",
    "words_in",
]


def table_at(model: type[BaseModel], steps: list[str]) -> type[BaseModel] | None:
    """Return the table at the end of a path of keys, or None."""
    table: type[BaseModel] | None = model
    for step in steps:
        field = None if table is None else field_of(table, step)
        table = None if field is None else table_in(field.annotation)
    return table


def field_of(model: type[BaseModel], key: str) -> FieldInfo | None:
    """Return the field of a table by its key or its name, or None."""
    for name, field in model.model_fields.items():
        if key in (field.validation_alias, name):
            return field
    return None


def keys_of(model: type[BaseModel]) -> list[str]:
    """Return the keys of a table."""
    return [str(field.validation_alias) for field in model.model_fields.values()]


def required_keys(model: type[BaseModel]) -> list[str]:
    """Return the keys that a table must have."""
    return [
        str(field.validation_alias) for field in model.model_fields.values() if field.is_required()
    ]


def table_in(annotation: Any) -> type[BaseModel] | None:
    """Return the first table that an annotation allows, or None."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (table_in(part) for part in get_args(annotation) if not isinstance(part, str))
    return next((model for model in found if model is not None), None)


def quantity_in(field: FieldInfo) -> Quantity | None:
    """Return the quantity that a field holds, or None."""
    return _first_quantity(field.metadata) or _first_quantity(get_args(field.annotation))


def words_in(annotation: Any) -> list[str]:
    """Return the words that an annotation allows."""
    words: list[str] = []
    for part in get_args(annotation):
        words += [part] if isinstance(part, str) else words_in(part)
    return words


def _first_quantity(parts: Iterable[Any]) -> Quantity | None:
    for part in parts:
        found = part if isinstance(part, Quantity) else _first_quantity(get_args(part))
        if found is not None:
            return found
    return None
