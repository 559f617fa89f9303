"""What can be changed in a figure of the guide, and its value as it was sent."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from tapemark.errors import TapemarkError
from tapemark.units import (
    INCH,
    UnitSystem,
    as_typed,
    format_length,
    format_side,
)

LONGEST = 24  # letters of a value that is read


@dataclass(frozen=True, kw_only=True, slots=True)
class Knob:
    """One thing that can be changed, between two ends.

    Attributes
    ----------
    key, label : str
        Its name in addresses, and on the page.
    kind : str
        ``length`` [m], ``side`` (camera-left positive) [deg], ``curve`` [D] or ``choice``.
    low, high, start : float
        Its ends, and where it begins; of a choice the number of the option.
    step : float
        From one value to the next; lengths in US units go by whole inches.
    options : tuple of str
        Of a choice.
    ends : tuple of two str
        What its ends mean, for sliders that need it.
    """

    key: str
    label: str
    kind: Literal["length", "side", "curve", "choice"]
    low: float = 0.0
    high: float = 1.0
    start: float = 0.0
    step: float = 1.0
    options: tuple[str, ...] = ()
    ends: tuple[str, str] = ("", "")

    def words(self, value: float, *, system: UnitSystem) -> str:
        """Return a value as one reads it."""
        if self.kind == "length":
            return format_length(value, system=system)
        if self.kind == "side":
            return "straight" if abs(value) < 0.5 else format_side(value)
        if self.kind == "curve":
            return f"base {value:g}" if value > self.low else f"base {value:g}, almost flat"
        return self.options[round(value)]

    def ticks(self, system: UnitSystem) -> tuple[float, float, float]:
        """Return the least, the most and the step of a slider."""
        if self.kind != "length" or system == "metric":
            return self.low, self.high, self.step
        low, high = math.ceil(self.low / INCH - 1e-9), math.floor(self.high / INCH + 1e-9)
        return round(low * INCH, 4), round(high * INCH, 4), INCH


def read_knobs(
    knobs: tuple[Knob, ...], given: Mapping[str, str], *, system: UnitSystem
) -> dict[str, float]:
    """Return the values of all knobs: as they were sent, else where they begin.

    Raises
    ------
    TapemarkError
        A value is no number, or lies beyond the ends.
    """
    return {one.key: _read(one, given.get(one.key), system=system) for one in knobs}


def _read(knob: Knob, text: str | None, *, system: UnitSystem) -> float:
    low, high, step = knob.ticks(system)
    if text is None or not text.strip():
        return min(max(low + round((knob.start - low) / step) * step, low), high)
    try:
        value = float(text) if len(text) <= LONGEST else math.nan
    except ValueError:
        value = math.nan
    slack = 0.51 * step  # a slider's own arithmetic
    if not low - slack <= value <= high + slack:
        allowed = ", ".join(
            knob.words(one, system=system)
            for one in (range(len(knob.options)) if knob.options else (low, high))
        )
        raise TapemarkError(
            f"{knob.label}: {as_typed(text[:40])} is none of its values ({allowed}). "
            "Use the slider, or open the guide anew."
        )
    snapped = low + round((value - low) / step) * step
    return round(min(max(snapped, low), high), 6) + 0.0
