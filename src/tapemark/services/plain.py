"""Results as plain data: dictionaries, lists, numbers and text, ready for JSON."""

import dataclasses
import math
from typing import Any

Plain = dict[str, Any]
DIGITS = 4


def as_plain(value: object) -> Any:
    """Return a result dataclass, or a part of one, as plain data.

    Parameters
    ----------
    value : object
        A result of floats, text, tuples and further results; its fields become
        keys, which carry their units.

    Returns
    -------
    object
        Numbers to four decimals; None stands for what has no value.
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: as_plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, tuple | list):
        return [as_plain(one) for one in value]
    if isinstance(value, bool) or value is None or isinstance(value, int | str):
        return value
    if isinstance(value, float):
        return rounded(value)
    raise TypeError(f"{type(value).__name__} cannot be told as plain data")


def rounded(value: float | None, digits: int = DIGITS) -> float | None:
    """Return a number rounded, never ``-0.0``; None for what has no finite value."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, digits) + 0.0
