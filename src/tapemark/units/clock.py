"""Times of day and spans of time as an appointment book has them."""

from __future__ import annotations

import re

from tapemark.errors import UnitError
from tapemark.units.text import as_typed, tidy

__all__ = ["format_clock", "format_span", "parse_clock_s"]

MINUTE, HOUR = 60, 3600  # seconds
_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})(?:\s*[:.h]\s*(?P<minute>\d{2}))?\s*(?:(?P<half>[ap])\.?m\.?|h)?",
    re.IGNORECASE,
)


def parse_clock_s(text: str) -> int:
    """Return a time of day, counted from midnight. [s]

    Raises
    ------
    UnitError
        If it cannot be read as a time of day.

    Examples
    --------
    >>> parse_clock_s("9:40"), parse_clock_s("2.15 pm"), parse_clock_s("14h15")
    (34800, 51300, 51300)
    """
    match = _CLOCK.fullmatch(tidy(text))
    hour, minute = (-1, 0) if match is None else (int(match["hour"]), int(match["minute"] or 0))
    if match is not None and match["half"]:
        hour = hour % 12 + 12 * (match["half"].lower() == "p") if 1 <= hour <= 12 else -1
    if not 0 <= hour < 24 or minute >= 60:
        raise UnitError(
            as_typed(text), allowed="a time from 0:00 to 23:59", advice='write it like "9:40"'
        )
    return HOUR * hour + MINUTE * minute


def format_clock(clock_s: float) -> str:
    """Return a time of day to the minute, the seconds cut off; past midnight it says so.

    Examples
    --------
    >>> format_clock(34859), format_clock(86400 + 300)
    ('9:40', '0:05 (+1 day)')
    """
    days, rest = divmod(int(clock_s), 24 * HOUR)
    text = f"{rest // HOUR}:{rest % HOUR // MINUTE:02d}"
    return text if days == 0 else f"{text} (+{days} day{'s' if days > 1 else ''})"


def format_span(span_s: float) -> str:
    """Return a span of time as one says it.

    Examples
    --------
    >>> format_span(45), format_span(80), format_span(600), format_span(5400)
    ('45 s', '1 min 20 s', '10 min', '1 h 30 min')
    """
    whole = round(span_s)
    if whole >= HOUR:
        hours, minutes = divmod(round(whole / MINUTE), 60)
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    minutes, seconds = divmod(whole, MINUTE)
    parts = [f"{minutes} min"] if minutes else []
    return " ".join([*parts, f"{seconds} s"] if seconds or not parts else parts)
