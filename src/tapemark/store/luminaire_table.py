"""What IES and EULUMDAT files have in common: the limits of a lamp's table, and its reading."""

import math

from tapemark.store.numbered_text import NumberedText

MOST_ANGLES = 721
MOST_INTENSITIES = 261_000
BRIGHTEST_CD = 1e9
LARGEST_OPENING_M = 20.0
MOST_LUMENS = 1e8
MOST_WATTS = 1e6
LONGEST_NAME = 60  # characters


def read_vertical(text: NumberedText, *, count: int) -> tuple[float, ...]:
    """Return the angles from the axis: from 0 or 90 on, up to 180 at most. [deg]"""
    angles = text.rising("vertical angle", count=count, low=0.0, high=180.0)
    if angles[0] not in (0.0, 90.0):
        raise text.refused(f"vertical angles from {angles[0]:g}", allowed="from 0 or 90 on")
    return angles


def read_intensities(
    text: NumberedText, *, rows: int, each: int, scale: float
) -> tuple[tuple[float, ...], ...]:
    """Return the intensities of a table, a row for each horizontal angle. [cd]"""
    high = BRIGHTEST_CD / max(scale, 1.0)
    table = []
    for row in range(1, rows + 1):
        what = f"an intensity of horizontal angle {row} of {rows}"
        values = (text.number(what, low=0.0, high=high) for _ in range(each))
        table.append(tuple(value * scale for value in values))
    if not any(value > 0.0 for row_of_values in table for value in row_of_values):
        raise text.refused("an intensity of 0 everywhere", allowed="at least one above 0")
    return tuple(table)


def check_size(text: NumberedText, *, rows: int, each: int) -> None:
    """Refuse a table with more intensities than a file may hold."""
    if rows * each > MOST_INTENSITIES:
        found = f"{rows} x {each} intensities"
        raise text.refused(found, allowed=f"at most {MOST_INTENSITIES}")


def label(text: str) -> str:
    """Return a text of a file as the name of a lamp."""
    shown = "".join(sign if sign.isprintable() else " " for sign in text)
    return " ".join(shown.split())[:LONGEST_NAME].strip() or "lamp"


def positive_or_none(value: float) -> float | None:
    """Return a value, or None where a file writes 0 or less for what it does not know."""
    return value if value > 0.0 and math.isfinite(value) else None
