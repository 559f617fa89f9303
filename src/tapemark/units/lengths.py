"""Lengths: metric and US customary, read from and written to text."""

from __future__ import annotations

import re
from fractions import Fraction
from math import ceil, floor
from typing import Literal

from tapemark.errors import UnitError
from tapemark.units.text import (
    as_typed,
    number_text,
    read_float,
    read_fraction,
    read_with_unit,
    tidy,
)

__all__ = [
    "FOOT",
    "INCH",
    "MARK_STEP_M",
    "MM",
    "UnitSystem",
    "fine_m",
    "format_length",
    "format_mark",
    "marked_m",
    "parse_length_m",
    "parse_length_mm",
    "write_length_m",
    "write_length_mm",
]

UnitSystem = Literal["metric", "us"]

MM = 1e-3  # metres in a millimetre, exact by definition
INCH = 0.0254  # metres in an inch, exact by definition (international inch)
FOOT = 0.3048  # metres in a foot, exact by definition (12 inches)
#: To what places are told by which something is set: what a tape measure is read to. [m]
MARK_STEP_M: dict[UnitSystem, float] = {"metric": 0.01, "us": INCH / 4}

_INCH = Fraction(254, 10_000)
_UNITS_M = {
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "mm": Fraction(1, 1000),
    "in": _INCH,
    "ft": 12 * _INCH,
    '"': _INCH,
    "'": 12 * _INCH,
    "inch": _INCH,
    "inches": _INCH,
    "foot": 12 * _INCH,
    "feet": 12 * _INCH,
    "metre": Fraction(1),
    "metres": Fraction(1),
    "meter": Fraction(1),
    "meters": Fraction(1),
}
_FEET_AND_INCHES = re.compile(
    r"(?P<sign>[+-]?)(?P<feet>\d+)\s*(?:ft|feet|foot|')\s*"
    r"(?P<inches>\d+(?:\.\d+)?)?(?P<part>\s+\d+/\d+|(?<!\d)\d+/\d+)?\s*(?:in|inches|inch|\")",
    re.IGNORECASE,
)
_INCHES_AND_PART = re.compile(
    r"(?P<sign>[+-]?)(?P<inches>\d+)\s+(?P<part>\d+/\d+)\s*(?:in|inches|inch|\")", re.IGNORECASE
)
_EXAMPLE = '1.4 m" or "4 ft 7 in'


def parse_length_m(text: str) -> float:
    r"""Return a length typed with its unit. [m]

    Parameters
    ----------
    text : str
        Such as ``"1.4 m"``, ``"140 cm"``, ``"74 in"``, ``"4 ft 7 in"``, ``"4'7\""``.

    Returns
    -------
    float
        The float nearest the length typed. [m]

    Raises
    ------
    UnitError
        If it has no unit, another kind of unit, or cannot be read.

    Examples
    --------
    >>> parse_length_m("4 ft 7 in")
    1.397
    >>> parse_length_m("140 cm")
    1.4
    """
    return read_float(_exact_length(text), given=text, allowed="a length")


def parse_length_mm(text: str) -> float:
    """Return a small length typed with its unit. [mm]

    Examples
    --------
    >>> parse_length_mm("52 mm")
    52.0
    """
    return read_float(1000 * _exact_length(text, example="52 mm"), given=text, allowed="a length")


def format_length(length_m: float, *, system: UnitSystem) -> str:
    """Return a room-sized length to be read by people: centimetres or whole inches.

    Examples
    --------
    >>> format_length(1.397, system="us")
    '4 ft 7 in'
    >>> format_length(1.4, system="metric")
    '1.40 m'
    """
    if system == "metric":
        return f"{length_m:.2f} m"
    inches = round(abs(length_m) / INCH)
    sign = "-" if length_m < 0 and inches else ""
    feet, rest = divmod(inches, 12)
    if not feet:
        return f"{sign}{rest} in"
    return f"{sign}{feet} ft {rest} in" if rest else f"{sign}{feet} ft"


def format_mark(length_m: float, *, system: UnitSystem) -> str:
    """Return a length by which something is set: centimetres or quarters of an inch.

    Examples
    --------
    >>> format_mark(1.86055, system="us")
    '6 ft 1 1/4 in'
    >>> format_mark(1.4, system="metric")
    '1.40 m'
    """
    if system == "metric":
        return format_length(length_m, system=system)
    whole, quarters = divmod(round(4 * abs(length_m) / INCH), 4)
    sign = "-" if length_m < 0 and (whole or quarters) else ""
    feet, rest = divmod(whole, 12)
    part = {0: "", 1: "1/4", 2: "1/2", 3: "3/4"}[quarters]
    inches = " ".join(one for one in (str(rest) if rest else "", part) if one)
    if not feet:
        return f"{sign}{inches or 0} in"
    return f"{sign}{feet} ft {inches} in" if inches else f"{sign}{feet} ft"


def marked_m(
    length_m: float, *, system: UnitSystem, way: Literal["near", "up", "down"] = "near"
) -> float:
    """Return the length that `format_mark` tells: the nearest one, or the next up or down. [m]

    Examples
    --------
    >>> marked_m(1.8543, system="us", way="up")
    1.86055
    """
    step = MARK_STEP_M[system]
    if way == "near":
        steps = round(length_m / step)
    else:
        steps = ceil(length_m / step - 1e-6) if way == "up" else floor(length_m / step + 1e-6)
    return round(steps * step, 5)


def fine_m(length_m: float, *, system: UnitSystem) -> float:
    """Return a length to a tenth of a millimetre or a hundredth of an inch, fit for a file. [m]

    Examples
    --------
    >>> fine_m(1.234567, system="metric"), fine_m(1.234567, system="us")
    (1.2346, 1.234694)
    """
    if system == "metric":
        return round(length_m, 4)
    return round(round(length_m / INCH, 2) * INCH, 6)


def write_length_m(length_m: float, *, system: UnitSystem) -> str:
    """Return a length for a file, exact to the last bit of the float.

    Notes
    -----
    US text is used only where it reads back as the same float, else metric is written.

    Examples
    --------
    >>> write_length_m(1.8796, system="us")
    '6 ft 2 in'
    >>> write_length_m(1.8796, system="metric")
    '1.8796 m'
    """
    if system == "us":
        for digits in range(4):
            text = _feet_and_inches(length_m, digits=digits)
            if parse_length_m(text) == length_m:
                return text
    return f"{number_text(length_m)} m"


def write_length_mm(length_mm: float, *, system: UnitSystem = "metric") -> str:
    """Return a small length for a file; opticians write millimetres everywhere. [mm]"""
    del system  # both systems write lens sizes in millimetres
    return f"{number_text(length_mm)} mm"


def _exact_length(text: str, *, example: str = _EXAMPLE) -> Fraction:
    plain = tidy(text)
    match = _FEET_AND_INCHES.fullmatch(plain) or _INCHES_AND_PART.fullmatch(plain)
    if match is None:
        return read_with_unit(text, units=_UNITS_M, noun="a length", example=example)
    parts = match.groupdict()
    part = read_fraction(parts["part"]) if parts["part"] else Fraction(0)
    if part is None or (parts["inches"] is None and parts["part"] is None):
        raise UnitError(
            as_typed(text),
            allowed="a length in feet and inches",
            advice='write it like "4 ft 7 in"',
        )
    inches = Fraction(parts["inches"] or 0) + part
    size = (12 * Fraction(parts.get("feet") or 0) + inches) * _INCH
    return -size if parts["sign"] == "-" else size


def _feet_and_inches(length_m: float, *, digits: int) -> str:
    inches = round(abs(length_m) / INCH, digits)
    sign = "-" if length_m < 0 else ""
    if inches < 36:
        return f"{sign}{number_text(inches)} in"
    feet = int(inches // 12)
    rest = round(inches - 12 * feet, digits)
    return f"{sign}{feet} ft {number_text(rest)} in" if rest else f"{sign}{feet} ft"
