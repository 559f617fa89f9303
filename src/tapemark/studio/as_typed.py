"""A setup beside the data that somebody typed for it, so that messages can quote them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tapemark.units import as_typed, format_length

if TYPE_CHECKING:
    from tapemark.studio.setup import Setup

__all__ = ["AsTyped", "item_label"]


def item_label(key: str, *, number: int, name: str) -> str:
    """Return how an item of a list is called in messages: ``light[2] "fill"``."""
    return f"{key}[{number}] {as_typed(name)}"


@dataclass(frozen=True, kw_only=True, slots=True)
class AsTyped:
    """A setup with its keys and values as the user finds them in the file.

    Parameters
    ----------
    setup : Setup
        Its parts are valid by themselves.
    numbers : mapping of str to list of int
        For each list (``"light"``) the places of its items in the file, counted from 1.
    data : object
        What was typed; None where the setup came from Python.
    """

    setup: Setup
    numbers: Mapping[str, list[int]]
    data: object

    def key(self, *steps: str | int) -> str:
        """Return a key path: ``("light", 1, "place", "height")`` is ``light[2] "fill" ...``."""
        if len(steps) < 2 or not isinstance(steps[1], int):
            return ".".join(str(step) for step in steps)
        key, index = str(steps[0]), steps[1]
        label = item_label(key, number=self.numbers[key][index], name=self._name(key, index))
        rest = ".".join(str(step) for step in steps[2:])
        return f"{label} {rest}" if rest else label

    def length(self, length_m: float, *steps: str | int) -> str:
        """Return a length as typed under a key, else in the units of the setup."""
        typed = _value_at(self.data, steps) if steps else None
        if isinstance(typed, str):
            return as_typed(typed)
        return format_length(length_m, system=self.setup.units)

    def keyed(self, length_m: float, *steps: str | int) -> str:
        """Return a key with its length: ``room.height "2.7 m"``."""
        return f"{self.key(*steps)} {self.length(length_m, *steps)}"

    def _name(self, key: str, index: int) -> str:
        things: tuple[Any, ...] = getattr(self.setup, f"{key}s")
        return str(things[index].name)


def _value_at(data: object, steps: tuple[str | int, ...]) -> object:
    node: Any = data
    for step in steps:
        try:
            node = node[step]
        except (KeyError, IndexError, TypeError):
            return None
    return node
