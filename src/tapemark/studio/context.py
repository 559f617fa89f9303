"""What a reading or a writing knows beside the data: whose units, and whether a person typed it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from tapemark.units import UnitSystem

__all__ = ["data_of", "is_typed", "numbers_of", "reading_context", "system_of"]


class _HasContext(Protocol):
    @property
    def context(self) -> Any: ...


def reading_context(
    data: object, *, system: UnitSystem, numbers: Mapping[str, list[int]] | None = None
) -> dict[str, object]:
    """Return the context for data that a person typed.

    Parameters
    ----------
    data : mapping
        The data as typed, so that messages can quote them.
    system : "metric" or "us"
        In which units to give advice.
    numbers : dict, optional
        For each list (``"light"``) the place of its items in the file, counted from 1, where
        some items were left out.
    """
    return {"typed": True, "data": data, "system": system, "numbers": numbers or {}}


def is_typed(info: _HasContext) -> bool:
    """Return whether the data were typed by a person, so that units are required."""
    return bool(_context(info).get("typed", False))


def system_of(info: _HasContext) -> UnitSystem:
    """Return the units in which the person works."""
    return "us" if _context(info).get("system") == "us" else "metric"


def data_of(info: _HasContext) -> object:
    """Return the data as typed; None where they came from Python."""
    return _context(info).get("data")


def numbers_of(info: _HasContext, *, key: str, count: int) -> list[int]:
    """Return the places in the file, counted from 1, of the items of a list."""
    numbers: list[int] = _context(info).get("numbers", {}).get(key, [])
    return numbers if len(numbers) == count else list(range(1, count + 1))


def _context(info: _HasContext) -> dict[str, Any]:
    return info.context if isinstance(info.context, dict) else {}
