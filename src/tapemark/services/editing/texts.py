"""Lengths and angles as an edit writes them: rounded, in the person's own units."""

from fractions import Fraction
from math import atan2, cos, degrees, hypot, radians, sin

from tapemark.units import (
    INCH,
    UnitSystem,
    number_text,
    parse_length_m,
    write_length_m,
    write_side_deg,
)

SAME_M = 0.002  # a place this near is the same place: pages tell places to the millimetre
SAME_DEG = 0.05
_OFF_M = 0.007  # most that rounding a side may shift a thing
_SIDE_STEPS_DEG = (0.5, 0.1, 0.05, 0.01)
_HALF_INCH = Fraction(127, 10_000)
_HUNDREDTH_INCH = Fraction(254, 1_000_000)
_QUARTERS = {0: "", 1: " 1/4", 2: " 1/2", 3: " 3/4"}


def rounded_length(length_m: float, *, system: UnitSystem) -> str:
    """Return a length as text, to the centimetre or the half inch.

    Examples
    --------
    >>> rounded_length(1.8737, system="metric"), rounded_length(1.8737, system="us")
    ('1.87 m', '6 ft 2 in')
    """
    if system == "metric":
        return write_length_m(round(length_m, 2) + 0.0, system="metric")
    return _written(round(length_m / float(_HALF_INCH)) * _HALF_INCH)


def fine_length(length_m: float, *, system: UnitSystem) -> str:
    """Return a length as text, to a tenth of a millimetre or a hundredth of an inch.

    For what stays where it is while it is counted from elsewhere.
    """
    if system == "metric":
        return write_length_m(round(length_m, 4) + 0.0, system="metric")
    return _written(round(length_m / float(_HUNDREDTH_INCH)) * _HUNDREDTH_INCH)


def rounded_side(side_deg: float, *, distance_m: float) -> str:
    """Return a side as text, to half a degree, or finer where that would shift a far thing.

    Examples
    --------
    >>> rounded_side(30.2, distance_m=1.5), rounded_side(-30.2, distance_m=3.0)
    ('30 deg camera-left', '30.2 deg camera-right')
    """
    step = next(
        (one for one in _SIDE_STEPS_DEG if distance_m * radians(one / 2) <= _OFF_M),
        _SIDE_STEPS_DEG[-1],
    )
    side = round(round(side_deg / step) * step, 2) + 0.0
    return write_side_deg(180.0 if side == -180.0 else side)


def rounded_turn(turn_deg: float) -> float:
    """Return a turn to half a degree. [deg]"""
    return round(2 * turn_deg) / 2 + 0.0


def polar(x_m: float, y_m: float) -> tuple[float, float]:
    """Return distance [m] and side [deg] of a place on the floor."""
    return hypot(x_m, y_m), degrees(atan2(x_m, y_m))


def floor_place(distance_m: float, side_deg: float) -> tuple[float, float]:
    """Return the place on the floor, world frame, at a distance [m] and side [deg]. [m]"""
    return distance_m * sin(radians(side_deg)), distance_m * cos(radians(side_deg))


def amount(length_m: float, *, system: UnitSystem) -> str:
    """Return how far something moves, as people say it: ``18 cm``, ``7 1/4 in``.

    Examples
    --------
    >>> amount(0.18, system="metric"), amount(0.18415, system="us"), amount(1.2, system="metric")
    ('18 cm', '7 1/4 in', '1.20 m')
    """
    if system == "metric":
        return f"{length_m * 100:.0f} cm" if length_m < 0.995 else f"{length_m:.2f} m"
    whole, quarters = divmod(round(4 * length_m / INCH), 4)
    part = f"{whole or ''}{_QUARTERS[quarters]}".strip()
    return f"{part or '0'} in"


def turn_text(turn_deg: float) -> str:
    """Return a turn to be read by people: ``12.5° camera-left``."""
    size = number_text(round(abs(turn_deg), 1))
    if size == "0":
        return "straight ahead"
    return f"{size}\N{DEGREE SIGN} {'camera-left' if turn_deg > 0 else 'camera-right'}"


def _written(exact_m: Fraction) -> str:
    text = write_length_m(float(exact_m), system="us")
    if not text.endswith(" m"):
        return text
    inches = number_text(float(exact_m * 10_000 / 254))
    typed = f"{inches} in"
    return typed if abs(parse_length_m(typed) - float(exact_m)) < 1e-6 else text
