"""Angles, sides and directions along a wall, read from and written to text."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction

from tapemark.errors import UnitError
from tapemark.units.lengths import UnitSystem, parse_length_m, write_length_m
from tapemark.units.text import as_typed, number_text, read_float, read_with_unit, tidy

__all__ = [
    "format_angle",
    "format_side",
    "parse_along_m",
    "parse_angle_deg",
    "parse_chin_deg",
    "parse_side_deg",
    "write_along_m",
    "write_angle_deg",
    "write_chin_deg",
    "write_side_deg",
]

_UNITS_DEG = {
    "deg": Fraction(1),
    "\u00b0": Fraction(1),
    "degree": Fraction(1),
    "degrees": Fraction(1),
}
_SIDES = {"camera-left": 1, "camera left": 1, "camera-right": -1, "camera right": -1}
_CHIN = {"up": 1, "down": -1}
_ALONG = {
    **_SIDES,
    "towards camera": 1,
    "toward camera": 1,
    "in front": 1,
    "behind sitter": -1,
    "behind": -1,
}


def parse_angle_deg(text: str) -> float:
    """Return an angle typed with its unit. [deg]

    Examples
    --------
    >>> parse_angle_deg("20 deg"), parse_angle_deg("7.5°")
    (20.0, 7.5)
    """
    value = read_with_unit(text, units=_UNITS_DEG, noun="an angle", example="20 deg")
    return read_float(value, given=text, allowed="an angle")


def parse_side_deg(text: str) -> float:
    """Return an angle to one side, camera-left positive. [deg]

    Examples
    --------
    >>> parse_side_deg("40 deg camera-left"), parse_side_deg("40 deg camera-right")
    (40.0, -40.0)
    """
    allowed = 'an angle and its side, like "40 deg camera-left" or "40 deg camera-right"'
    value, stated = _signed(text, words=_SIDES, parse=parse_angle_deg, allowed=allowed)
    if not stated and value % 180 != 0:
        raise UnitError(
            as_typed(text),
            allowed=allowed,
            advice=f'say which side: "{number_text(abs(value))} deg camera-left" '
            f'or "{number_text(abs(value))} deg camera-right", as the camera sees it',
        )
    return value


def parse_chin_deg(text: str) -> float:
    """Return how far the chin is up; down is negative. [deg]

    Examples
    --------
    >>> parse_chin_deg("5 deg down")
    -5.0
    """
    allowed = 'an angle and its direction, like "5 deg up" or "5 deg down"'
    value, stated = _signed(text, words=_CHIN, parse=parse_angle_deg, allowed=allowed)
    if not stated and value != 0:
        raise UnitError(
            as_typed(text),
            allowed=allowed,
            advice=f'say which way: "{number_text(abs(value))} deg up" '
            f'or "{number_text(abs(value))} deg down"',
        )
    return value


def parse_along_m(text: str) -> float:
    """Return a place along a wall, counted from level with the sitter. [m]

    Notes
    -----
    Positive is camera-left on the walls in front and behind, and towards the camera on the
    walls at the sides.

    Examples
    --------
    >>> parse_along_m("0.6 m camera-right"), parse_along_m("1 m towards camera")
    (-0.6, 1.0)
    """
    allowed = (
        'a length and its side: "0.6 m camera-left" or "0.6 m camera-right" on the walls in front '
        'and behind, "1 m towards camera" or "1 m behind sitter" on the side walls'
    )
    value, _ = _signed(text, words=_ALONG, parse=parse_length_m, allowed=allowed)
    return value


def format_angle(angle_deg: float) -> str:
    """Return an angle to be read by people, in whole degrees.

    Examples
    --------
    >>> format_angle(12.4)
    '12\N{DEGREE SIGN}'
    """
    return f"{angle_deg:.0f}\N{DEGREE SIGN}".replace("-0\N{DEGREE SIGN}", "0\N{DEGREE SIGN}")


def format_side(side_deg: float) -> str:
    """Return an angle to one side to be read by people.

    Examples
    --------
    >>> format_side(-40.2)
    '40\N{DEGREE SIGN} camera-right'
    """
    whole = round(abs(side_deg))
    if whole in (0, 180):
        return format_angle(whole)
    return f"{format_angle(whole)} camera-{'left' if side_deg > 0 else 'right'}"


def write_angle_deg(angle_deg: float, *, system: UnitSystem = "metric") -> str:
    """Return an angle for a file, exact to the last bit of the float."""
    del system  # degrees in both systems
    return f"{number_text(angle_deg)} deg"


def write_side_deg(side_deg: float, *, system: UnitSystem = "metric") -> str:
    """Return an angle to one side for a file, exact to the last bit of the float."""
    text = write_angle_deg(abs(side_deg), system=system)
    return text if side_deg == 0 else f"{text} camera-{'left' if side_deg > 0 else 'right'}"


def write_chin_deg(chin_deg: float, *, system: UnitSystem = "metric") -> str:
    """Return how far the chin is up or down for a file, exact to the last bit of the float."""
    text = write_angle_deg(abs(chin_deg), system=system)
    return text if chin_deg == 0 else f"{text} {'up' if chin_deg > 0 else 'down'}"


def write_along_m(along_m: float, *, system: UnitSystem) -> str:
    """Return a place along a wall for a file, exact to the last bit of the float."""
    return write_length_m(along_m, system=system)


def _signed(
    text: str, *, words: dict[str, int], parse: Callable[[str], float], allowed: str
) -> tuple[float, bool]:
    plain = tidy(text)
    pattern = "|".join(sorted((re.escape(word) for word in words), key=len, reverse=True))
    match = re.fullmatch(rf"(?P<amount>.*?)[\s,]*(?P<word>{pattern})", plain, re.IGNORECASE)
    if match is None:
        return parse(plain), False
    value = parse(match["amount"])
    if math.copysign(1.0, value) < 0:
        raise UnitError(as_typed(text), allowed=allowed, advice="leave out the minus sign")
    return value * words[match["word"].lower()], True
