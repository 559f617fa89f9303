"""Power, exposure, light and lens quantities, read from and written to text."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from tapemark.errors import UnitError
from tapemark.units.lengths import UnitSystem
from tapemark.units.text import (
    as_typed,
    number_text,
    read_float,
    read_fraction,
    read_with_unit,
    tidy,
)

__all__ = [
    "dialled_power",
    "parse_aperture",
    "parse_color_k",
    "parse_dioptres",
    "parse_efficacy_lm_per_w",
    "parse_energy_j",
    "parse_fraction",
    "parse_lumens",
    "parse_luminance_cd_m2",
    "parse_power_stops",
    "parse_shutter_s",
    "write_aperture",
    "write_color_k",
    "write_dioptres",
    "write_efficacy_lm_per_w",
    "write_energy_j",
    "write_lumens",
    "write_luminance_cd_m2",
    "write_power_stops",
    "write_shutter_s",
]

_ONE = Fraction(1)
_DIOPTRES = dict.fromkeys(("D", "dpt", "d", "dioptre", "dioptres", "diopter", "diopters"), _ONE)
_SECONDS = {"s": _ONE, "sec": _ONE, "second": _ONE, "seconds": _ONE, "ms": Fraction(1, 1000)}
_JOULES = dict.fromkeys(("Ws", "J", "ws", "w s", "j", "joule", "joules"), _ONE)
_LUMENS = dict.fromkeys(("lm", "lumen", "lumens"), _ONE)
_EFFICACY = dict.fromkeys(("lm/W", "lm/w", "lm s/j", "lm/ws"), _ONE)
_LUMINANCE = dict.fromkeys(("cd/m2", "cd/m^2", "nit", "nits"), _ONE)
_KELVIN = dict.fromkeys(("K", "k", "kelvin"), _ONE)

_POWER_ALLOWED = '"full", "1/4", "1/4 + 0.3", "50 %" or "-2 stops"'
_POWER = re.compile(r"1\s*/\s*(\d{1,6})(?:\s*([+-])\s*(\d+(?:\.\d+)?|\d+/\d+)(?:\s*stops?)?)?")


def parse_dioptres(text: str) -> float:
    """Return a lens power. [D]

    Examples
    --------
    >>> parse_dioptres("-3.25 D"), parse_dioptres("plano")
    (-3.25, 0.0)
    """
    if tidy(text).lower() in ("plano", "pl"):
        return 0.0
    value = read_with_unit(text, units=_DIOPTRES, noun="a lens power", example="-3.25 D")
    return read_float(value, given=text, allowed="a lens power")


def parse_power_stops(text: str) -> float:
    """Return the power of a light, counted from its full power. [stops]

    Returns
    -------
    float
        0 at full power, negative below. [stops]

    Examples
    --------
    >>> parse_power_stops("full"), parse_power_stops("1/4"), parse_power_stops("1/4 + 0.3")
    (0.0, -2.0, -1.7)
    """
    plain = tidy(text).lower()
    if plain in ("full", "full power", "1", "1/1"):
        return 0.0
    if (match := _POWER.fullmatch(plain)) is not None:
        return _stops_of_part(match, text)
    if plain.endswith("%"):
        share = read_fraction(plain[:-1])
        if share is not None and 0 < share <= 100:
            return math.log2(share / 100)
    elif plain.endswith(("stop", "stops")):
        value = read_fraction(plain.removesuffix("s").removesuffix("stop"))
        if value is not None:
            return read_float(value, given=text, allowed=_POWER_ALLOWED)
    raise UnitError(as_typed(text), allowed=_POWER_ALLOWED, advice='write it like "1/4"')


def parse_aperture(text: str) -> float:
    """Return the f-number of an aperture. [-]

    Examples
    --------
    >>> parse_aperture("f/8"), parse_aperture("f5.6")
    (8.0, 5.6)
    """
    match = re.fullmatch(r"[fF]\s*/?\s*(\d+(?:\.\d+)?)", tidy(text))
    if match is None:
        number = read_fraction(tidy(text))
        wanted = f"f/{number_text(float(number))}" if number and 0 < number < 1000 else "f/8"
        raise UnitError(as_typed(text), allowed="an f-number", advice=f'write it like "{wanted}"')
    return read_float(Fraction(match[1]), given=text, allowed="an f-number")


def parse_shutter_s(text: str) -> float:
    """Return a shutter time. [s]

    Examples
    --------
    >>> parse_shutter_s("1/160 s")
    0.00625
    """
    value = read_with_unit(text, units=_SECONDS, noun="a shutter time", example="1/160 s")
    return read_float(value, given=text, allowed="a shutter time")


def parse_energy_j(text: str) -> float:
    """Return the stored energy of a flash head. [J]

    Examples
    --------
    >>> parse_energy_j("400 Ws")
    400.0
    """
    value = read_with_unit(text, units=_JOULES, noun="a flash energy", example="400 Ws")
    return read_float(value, given=text, allowed="a flash energy")


def parse_lumens(text: str) -> float:
    """Return the light given off by a continuous light. [lm]"""
    value = read_with_unit(text, units=_LUMENS, noun="an amount of light", example="6000 lm")
    return read_float(value, given=text, allowed="an amount of light")


def parse_efficacy_lm_per_w(text: str) -> float:
    """Return the light made from each unit of energy. [lm/W, the same as lm s/J]"""
    value = read_with_unit(text, units=_EFFICACY, noun="an efficacy", example="40 lm/W")
    return read_float(value, given=text, allowed="an efficacy")


def parse_luminance_cd_m2(text: str) -> float:
    """Return the brightness of a surface. [cd/m^2]"""
    value = read_with_unit(text, units=_LUMINANCE, noun="a luminance", example="3000 cd/m2")
    return read_float(value, given=text, allowed="a luminance")


def parse_color_k(text: str) -> float:
    """Return a colour temperature. [K]"""
    value = read_with_unit(text, units=_KELVIN, noun="a colour temperature", example="5500 K")
    return read_float(value, given=text, allowed="a colour temperature")


def parse_fraction(text: str) -> float:
    """Return a share typed as a number or in per cent. [-]

    Examples
    --------
    >>> parse_fraction("80 %"), parse_fraction("0.35")
    (0.8, 0.35)
    """
    plain = tidy(text)
    value = read_fraction(plain.removesuffix("%"))
    if value is None:
        raise UnitError(
            as_typed(text), allowed="a share from 0 to 1, or in %", advice='write it like "80 %"'
        )
    return read_float(value / (100 if plain.endswith("%") else 1), given=text, allowed="a share")


def write_dioptres(power_d: float, *, system: UnitSystem = "metric") -> str:
    """Return a lens power for a file, with its sign, exact to the last bit of the float."""
    del system  # dioptres in both systems
    text = f"{power_d:+.2f}"
    if float(text) != power_d:
        text = ("+" if power_d > 0 else "") + number_text(power_d)
    return "0 D" if power_d == 0 else f"{text} D"


def write_power_stops(power_stops: float, *, system: UnitSystem = "metric") -> str:
    """Return a power setting for a file, exact to the last bit of the float.

    Examples
    --------
    >>> write_power_stops(-2.0), write_power_stops(-1.7), write_power_stops(-1.75)
    ('1/4', '1/4 + 0.3', '-1.75 stops')
    """
    del system  # stops in both systems
    if power_stops == 0:
        return "full"
    if -12 <= power_stops < 0 and power_stops == int(power_stops):
        return f"1/{2 ** int(-power_stops)}"
    if -12 <= power_stops < 0 and round(power_stops, 1) == power_stops:
        return dialled_power(power_stops)  # in tenths, as heads show it
    return f"{number_text(power_stops)} stops"


def dialled_power(power_stops: float, *, step_stops: float = 0.1) -> str:
    """Return a power as photographers dial it, to the nearest step of the head.

    Parameters
    ----------
    power_stops : float
        Power, counted from full power: 0 or less. [stops]
    step_stops : float
        Step in which the head is set, above 0. [stops]

    Returns
    -------
    str
        The next lower whole stop as a fraction, and tenths of a stop above it.

    Examples
    --------
    >>> dialled_power(0.0), dialled_power(-2.0), dialled_power(-1.7)
    ('full', '1/4', '1/4 + 0.3')
    >>> dialled_power(-1.62, step_stops=1 / 3)
    '1/4 + 0.3'
    """
    tenths = round(10 * round(power_stops / step_stops) * step_stops)
    whole, more = divmod(tenths, 10)
    part = "full" if whole >= 0 else f"1/{2**-whole}"
    return part if more == 0 else f"{part} + {more / 10:.1f}"


def write_aperture(aperture: float, *, system: UnitSystem = "metric") -> str:
    """Return an f-number for a file, exact to the last bit of the float."""
    del system  # the same in both systems
    return f"f/{number_text(aperture)}"


def write_shutter_s(shutter_s: float, *, system: UnitSystem = "metric") -> str:
    """Return a shutter time for a file, exact to the last bit of the float."""
    del system  # seconds in both systems
    if 1e-6 < shutter_s <= 0.5:
        text = f"1/{round(1 / shutter_s)} s"
        if parse_shutter_s(text) == shutter_s:
            return text
    return f"{number_text(shutter_s)} s"


def write_energy_j(energy_j: float, *, system: UnitSystem = "metric") -> str:
    """Return a flash energy for a file, exact to the last bit of the float."""
    del system  # watt seconds in both systems
    return f"{number_text(energy_j)} Ws"


def write_lumens(lumens: float, *, system: UnitSystem = "metric") -> str:
    """Return an amount of light for a file, exact to the last bit of the float."""
    del system  # lumens in both systems
    return f"{number_text(lumens)} lm"


def write_efficacy_lm_per_w(efficacy_lm_per_w: float, *, system: UnitSystem = "metric") -> str:
    """Return an efficacy for a file, exact to the last bit of the float."""
    del system  # the same in both systems
    return f"{number_text(efficacy_lm_per_w)} lm/W"


def write_luminance_cd_m2(luminance_cd_m2: float, *, system: UnitSystem = "metric") -> str:
    """Return a luminance for a file, exact to the last bit of the float."""
    del system  # the same in both systems
    return f"{number_text(luminance_cd_m2)} cd/m2"


def write_color_k(color_k: float, *, system: UnitSystem = "metric") -> str:
    """Return a colour temperature for a file, exact to the last bit of the float."""
    del system  # kelvin in both systems
    return f"{number_text(color_k)} K"


def _stops_of_part(match: re.Match[str], text: str) -> float:
    divisor, sign, extra = match.groups()
    if int(divisor) == 0:
        raise UnitError(as_typed(text), allowed=_POWER_ALLOWED, advice='write it like "1/4"')
    more = read_fraction(extra) if extra else Fraction(0)
    more = -(more or Fraction(0)) if sign == "-" else (more or Fraction(0))
    whole = int(divisor).bit_length() - 1
    if 2**whole == int(divisor):
        return float(more - whole)
    return float(more) - math.log2(int(divisor))
