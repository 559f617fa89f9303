"""Masses, mains power, filters and illuminance, read from and written to text."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from tapemark.units.lengths import UnitSystem
from tapemark.units.text import number_text, read_float, read_with_unit

__all__ = [
    "KILOGRAM_PER_POUND",
    "format_mass",
    "parse_amperes_a",
    "parse_duration_s",
    "parse_illuminance_lx",
    "parse_mass_kg",
    "parse_mired",
    "parse_seconds_s",
    "parse_stops",
    "parse_volts_v",
    "parse_watts_w",
    "write_amperes_a",
    "write_illuminance_lx",
    "write_mass_kg",
    "write_mired",
    "write_seconds_s",
    "write_stops",
    "write_volts_v",
    "write_watts_w",
]

KILOGRAM_PER_POUND = 0.45359237  # [kg/lb], exact by definition

_ONE = Fraction(1)
_POUND = Fraction("0.45359237")
_MASS = {"kg": _ONE, "g": Fraction(1, 1000), "lb": _POUND, "lbs": _POUND, "pounds": _POUND}
_WATTS = {"w": _ONE, "watt": _ONE, "watts": _ONE, "kw": Fraction(1000)}
_VOLTS = dict.fromkeys(("V", "v", "volt", "volts"), _ONE)
_AMPERES = dict.fromkeys(("A", "a", "amp", "amps", "ampere", "amperes"), _ONE)
_MIRED = dict.fromkeys(("mired", "mireds", "mrd", "mk-1"), _ONE)
_STOPS = dict.fromkeys(("stops", "stop"), _ONE)
_SECONDS = {"s": _ONE, "sec": _ONE, "second": _ONE, "seconds": _ONE, "min": Fraction(60)}
_LUX = {"lx": _ONE, "lux": _ONE, "fc": Fraction("10.763910416709722")}


def parse_mass_kg(text: str) -> float:
    """Return a mass, which people call a weight. [kg]

    Examples
    --------
    >>> parse_mass_kg("3.5 kg"), round(parse_mass_kg("15 lb"), 2)
    (3.5, 6.8)
    """
    return _read(text, units=_MASS, noun="a weight", example="3.5 kg")


def parse_watts_w(text: str) -> float:
    """Return an electrical power, as on the nameplate. [W]"""
    return _read(text, units=_WATTS, noun="a power drawn", example="300 W")


def parse_volts_v(text: str) -> float:
    """Return a mains voltage. [V]"""
    return _read(text, units=_VOLTS, noun="a voltage", example="230 V")


def parse_amperes_a(text: str) -> float:
    """Return a current. [A]"""
    return _read(text, units=_AMPERES, noun="a current", example="16 A")


def parse_mired(text: str) -> float:
    """Return the shift of a filter, warmer positive. [mired]

    Examples
    --------
    >>> parse_mired("+159 mired")
    159.0
    """
    return _read(text, units=_MIRED, noun="a mired shift", example="+159 mired")


def parse_stops(text: str) -> float:
    """Return a size in stops. [stops]

    Examples
    --------
    >>> parse_stops("2/3 stop"), parse_stops("0.1 stops")
    (0.6666666666666666, 0.1)
    """
    return _read(text, units=_STOPS, noun="a size in stops", example="0.7 stops")


def parse_seconds_s(text: str) -> float:
    """Return a time. [s]"""
    return _read(text, units=_SECONDS, noun="a time", example="2 s")


def parse_duration_s(text: str) -> float:
    """Return a time that is planned with, of minutes. [s]"""
    return _read(text, units=_SECONDS, noun="a time", example="30 min")


def parse_illuminance_lx(text: str) -> float:
    """Return an illuminance, in lux or foot-candles. [lx]

    Examples
    --------
    >>> parse_illuminance_lx("300 lx"), round(parse_illuminance_lx("30 fc"), 1)
    (300.0, 322.9)
    """
    return _read(text, units=_LUX, noun="an illuminance", example="300 lx")


def format_mass(mass_kg: float, *, system: UnitSystem) -> str:
    """Return a mass to be read by people: half kilograms or whole pounds.

    Examples
    --------
    >>> format_mass(6.8, system="metric"), format_mass(6.8, system="us")
    ('7 kg', '15 lb')
    """
    if system == "us":
        return f"{mass_kg / KILOGRAM_PER_POUND:.0f} lb"
    return f"{round(2 * mass_kg) / 2:g} kg"


def write_mass_kg(mass_kg: float, *, system: UnitSystem = "metric") -> str:
    """Return a mass for a file, exact to the last bit of the float."""
    if system == "us":
        text = f"{number_text(round(mass_kg / KILOGRAM_PER_POUND, 2))} lb"
        if parse_mass_kg(text) == mass_kg:
            return text
    return f"{number_text(mass_kg)} kg"


def write_watts_w(power_w: float, *, system: UnitSystem = "metric") -> str:
    """Return an electrical power for a file, exact to the last bit of the float."""
    del system  # watts in both systems
    return f"{number_text(power_w)} W"


def write_volts_v(voltage_v: float, *, system: UnitSystem = "metric") -> str:
    """Return a voltage for a file, exact to the last bit of the float."""
    del system  # volts in both systems
    return f"{number_text(voltage_v)} V"


def write_amperes_a(current_a: float, *, system: UnitSystem = "metric") -> str:
    """Return a current for a file, exact to the last bit of the float."""
    del system  # amperes in both systems
    return f"{number_text(current_a)} A"


def write_mired(shift_mired: float, *, system: UnitSystem = "metric") -> str:
    """Return the shift of a filter for a file, with its sign, exact to the last bit."""
    del system  # mired in both systems
    return f"{'+' if shift_mired > 0 else ''}{number_text(shift_mired)} mired"


def write_stops(size_stops: float, *, system: UnitSystem = "metric") -> str:
    """Return a size in stops for a file, exact to the last bit of the float."""
    del system  # stops in both systems
    return f"{number_text(size_stops)} stops"


def write_seconds_s(time_s: float, *, system: UnitSystem = "metric") -> str:
    """Return a time for a file, exact to the last bit of the float."""
    del system  # seconds in both systems
    return f"{number_text(time_s)} s"


def write_illuminance_lx(illuminance_lx: float, *, system: UnitSystem = "metric") -> str:
    """Return an illuminance for a file, exact to the last bit of the float."""
    del system  # lux in both systems
    return f"{number_text(illuminance_lx)} lx"


def _read(text: str, *, units: Mapping[str, Fraction], noun: str, example: str) -> float:
    value = read_with_unit(text, units=units, noun=noun, example=example)
    return read_float(value, given=text, allowed=noun)
