"""How each kind of quantity in the data of a studio is read, written and explained."""

from __future__ import annotations

from collections.abc import Callable

from tapemark import units
from tapemark.studio.quantities import Kind
from tapemark.units import UnitSystem, number_text

__all__ = [
    "ALONG",
    "AMPERES",
    "ANGLE",
    "APERTURE",
    "CHIN",
    "COLOR",
    "COLORS",
    "COUNT",
    "DIOPTRES",
    "DURATION",
    "EFFICACY",
    "ENERGY",
    "ILLUMINANCE",
    "LENGTH",
    "LUMENS",
    "LUMINANCE",
    "MASS",
    "MIRED",
    "NUMBER",
    "POWER",
    "REFLECTANCE",
    "SECONDS",
    "SHARE",
    "SHUTTER",
    "SIDE",
    "SMALL_LENGTH",
    "STOPS",
    "VOLTS",
    "WATTS",
]

COLORS = {"white": 0.8, "light grey": 0.5, "mid grey": 0.2, "dark grey": 0.08, "black": 0.04}
"""Reflectance of a matt surface by its colour; common practice, no published source. [-]"""

_NUMBER = r"[+\-\u2212]?\s*([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+\-]?[0-9]+)?(\s*/\s*[0-9]+)?"


def _share_or_color(text: str) -> float:
    color = " ".join(text.lower().replace("gray", "grey").split())
    return COLORS[color] if color in COLORS else units.parse_fraction(text)


def _alike(write: Callable[[float], str]) -> Callable[[float, UnitSystem], str]:
    def written(value: float, system: UnitSystem) -> str:
        del system  # the same in both systems
        return write(value)

    return written


def _shown(write: Callable[[float], str]) -> Callable[[float, UnitSystem], str]:
    return _alike(lambda value: write(float(f"{value:.4g}")))


def _show_small(length_mm: float, system: UnitSystem) -> str:
    if system == "us":
        return f"{length_mm * units.MM / units.INCH:.2f} in"
    return f"{number_text(round(length_mm, 2))} mm"


def _show_mass(mass_kg: float, system: UnitSystem) -> str:
    if system == "us":
        return f"{mass_kg / units.KILOGRAM_PER_POUND:.3g} lb"
    return f"{mass_kg:.3g} kg"


_METRIC_FIRST = ("{} m", "{} cm", "{} mm", "{} in", "{} ft")
_INCHES_FIRST = ("{} in", "{} ft", "{} m", "{} cm", "{} mm")
_LENGTH_PATTERN = r"^\s*[+\-\u2212.0-9].*(m|in|ft|inch|inches|foot|feet|metres?|meters?|\"|')\s*$"

LENGTH = Kind(
    noun="a length with its unit",
    parse=units.parse_length_m,
    write=lambda value, system: units.write_length_m(value, system=system),
    show=lambda value, system: units.format_length(value, system=system),
    examples=("1.4 m", "4 ft 7 in", "140 cm", "55 in"),
    pattern=_LENGTH_PATTERN,
    spellings=_METRIC_FIRST,
    spellings_us=_INCHES_FIRST,
)
ALONG = Kind(
    noun="a length to one side",
    parse=units.parse_along_m,
    write=lambda value, system: units.write_along_m(value, system=system),
    show=lambda value, system: units.format_length(value, system=system),
    examples=("0.6 m camera-left", "2 ft camera-right", "1 m towards camera", "1 m behind sitter"),
    pattern=rf"^\s*{_NUMBER}.*$",
    spellings=_METRIC_FIRST,
    spellings_us=_INCHES_FIRST,
)
SMALL_LENGTH = Kind(
    noun="a length with its unit",
    parse=units.parse_length_mm,
    write=_alike(units.write_length_mm),
    show=_show_small,
    examples=("52 mm", "2.05 in"),
    pattern=_LENGTH_PATTERN,
    spellings=("{} mm", "{} cm", "{} in"),
    spellings_us=("{} mm", "{} in", "{} cm"),
)
ANGLE = Kind(
    noun="an angle",
    parse=units.parse_angle_deg,
    write=_alike(units.write_angle_deg),
    show=_shown(units.write_angle_deg),
    examples=("8 deg", "8\N{DEGREE SIGN}"),
    pattern=rf"^\s*{_NUMBER}\s*(deg|degrees?|\u00b0)\s*$",
    spellings=("{} deg",),
)
SIDE = Kind(
    noun="an angle and its side",
    parse=units.parse_side_deg,
    write=_alike(units.write_side_deg),
    show=_shown(units.write_side_deg),
    examples=("40 deg camera-left", "40 deg camera-right", "0 deg"),
    pattern=rf"^\s*{_NUMBER}\s*(deg|degrees?|\u00b0).*$",
    spellings=("{} deg camera-left", "{} deg camera-right", "{} deg"),
)
CHIN = Kind(
    noun="an angle up or down",
    parse=units.parse_chin_deg,
    write=_alike(units.write_chin_deg),
    show=_shown(units.write_chin_deg),
    examples=("5 deg up", "5 deg down", "0 deg"),
    pattern=rf"^\s*{_NUMBER}\s*(deg|degrees?|\u00b0).*$",
    spellings=("{} deg up", "{} deg down", "{} deg"),
)
DIOPTRES = Kind(
    noun="a power in dioptres",
    parse=units.parse_dioptres,
    write=_alike(units.write_dioptres),
    show=_shown(units.write_dioptres),
    examples=("-3.25 D", "+2.00 D"),
    pattern=rf"^\s*({_NUMBER}\s*(D|d|dpt|dioptres?|diopters?)|plano)\s*$",
    spellings=("{} D",),
)
POWER = Kind(
    noun="a power setting",
    parse=units.parse_power_stops,
    write=_alike(units.write_power_stops),
    show=_shown(units.write_power_stops),
    examples=("1/4", "full", "1/4 + 0.3", "-2 stops"),
    pattern=r"^\s*(full|1|1\s*/\s*[0-9]+.*|.*%|.*stops?)\s*$",
    spellings=("{} stops", "{} %"),
)
APERTURE = Kind(
    noun="an aperture",
    parse=units.parse_aperture,
    write=_alike(units.write_aperture),
    show=_shown(units.write_aperture),
    examples=("f/8", "f/5.6"),
    pattern=r"^\s*[fF]\s*/?\s*[0-9.]+\s*$",
    spellings=("f/{}",),
)
SHUTTER = Kind(
    noun="a shutter time",
    parse=units.parse_shutter_s,
    write=_alike(units.write_shutter_s),
    show=_shown(units.write_shutter_s),
    examples=("1/160 s", "0.5 s"),
    pattern=rf"^\s*{_NUMBER}\s*(s|sec|seconds?|ms)\s*$",
    spellings=("{} s", "1/{} s", "{} ms"),
)
ENERGY = Kind(
    noun="a flash energy",
    parse=units.parse_energy_j,
    write=_alike(units.write_energy_j),
    show=_shown(units.write_energy_j),
    examples=("400 Ws", "400 J"),
    pattern=rf"^\s*{_NUMBER}\s*(Ws|ws|J|j|joules?)\s*$",
    spellings=("{} Ws",),
)
LUMENS = Kind(
    noun="an amount of light",
    parse=units.parse_lumens,
    write=_alike(units.write_lumens),
    show=_shown(units.write_lumens),
    examples=("6000 lm",),
    pattern=rf"^\s*{_NUMBER}\s*(lm|lumens?)\s*$",
    spellings=("{} lm",),
)
EFFICACY = Kind(
    noun="the light made from energy",
    parse=units.parse_efficacy_lm_per_w,
    write=_alike(units.write_efficacy_lm_per_w),
    show=_shown(units.write_efficacy_lm_per_w),
    examples=("40 lm/W",),
    pattern=rf"^\s*{_NUMBER}\s*(lm/W|lm/w|lm/Ws)\s*$",
    spellings=("{} lm/W",),
)
LUMINANCE = Kind(
    noun="a luminance",
    parse=units.parse_luminance_cd_m2,
    write=_alike(units.write_luminance_cd_m2),
    show=_shown(units.write_luminance_cd_m2),
    examples=("3000 cd/m2",),
    pattern=rf"^\s*{_NUMBER}\s*(cd/m2|cd/m\^2|cd/m\u00b2|nits?)\s*$",
    spellings=("{} cd/m2",),
)
COLOR = Kind(
    noun="a colour temperature",
    parse=units.parse_color_k,
    write=_alike(units.write_color_k),
    show=_shown(units.write_color_k),
    examples=("5500 K",),
    pattern=rf"^\s*{_NUMBER}\s*(K|k|kelvin)\s*$",
    spellings=("{} K",),
)
MASS = Kind(
    noun="a weight",
    parse=units.parse_mass_kg,
    write=lambda value, system: units.write_mass_kg(value, system=system),
    show=_show_mass,
    examples=("3.5 kg", "8 lb"),
    pattern=rf"^\s*{_NUMBER}\s*(kg|g|lbs?|pounds)\s*$",
    spellings=("{} kg", "{} lb"),
    spellings_us=("{} lb", "{} kg"),
)
WATTS = Kind(
    noun="a power drawn from the mains",
    parse=units.parse_watts_w,
    write=_alike(units.write_watts_w),
    show=_shown(units.write_watts_w),
    examples=("300 W",),
    pattern=rf"^\s*{_NUMBER}\s*(W|w|kW|kw|watts?)\s*$",
    spellings=("{} W",),
)
VOLTS = Kind(
    noun="a voltage",
    parse=units.parse_volts_v,
    write=_alike(units.write_volts_v),
    show=_shown(units.write_volts_v),
    examples=("230 V", "120 V"),
    pattern=rf"^\s*{_NUMBER}\s*(V|v|volts?)\s*$",
    spellings=("{} V",),
)
AMPERES = Kind(
    noun="a current",
    parse=units.parse_amperes_a,
    write=_alike(units.write_amperes_a),
    show=_shown(units.write_amperes_a),
    examples=("16 A",),
    pattern=rf"^\s*{_NUMBER}\s*(A|a|amps?|amperes?)\s*$",
    spellings=("{} A",),
)
MIRED = Kind(
    noun="a mired shift",
    parse=units.parse_mired,
    write=_alike(units.write_mired),
    show=_shown(units.write_mired),
    examples=("+159 mired", "-81 mired"),
    pattern=rf"^\s*{_NUMBER}\s*(mireds?|mrd)\s*$",
    spellings=("{} mired",),
)
STOPS = Kind(
    noun="a size in stops",
    parse=units.parse_stops,
    write=_alike(units.write_stops),
    show=_shown(units.write_stops),
    examples=("0.7 stops", "1/3 stop"),
    pattern=rf"^\s*{_NUMBER}\s*stops?\s*$",
    spellings=("{} stops",),
)
DURATION = Kind(
    noun="a time",
    parse=units.parse_duration_s,
    write=_alike(units.write_seconds_s),
    show=lambda value, _system: f"{value / 60:g} min" if value >= 60 else f"{value:g} s",
    examples=("30 min",),
    pattern=rf"^\s*{_NUMBER}\s*(s|sec|seconds?|min)\s*$",
    spellings=("{} min", "{} s"),
)
SECONDS = Kind(
    noun="a time",
    parse=units.parse_seconds_s,
    write=_alike(units.write_seconds_s),
    show=_shown(units.write_seconds_s),
    examples=("2 s",),
    pattern=rf"^\s*{_NUMBER}\s*(s|sec|seconds?|min)\s*$",
    spellings=("{} s",),
)
ILLUMINANCE = Kind(
    noun="an illuminance",
    parse=units.parse_illuminance_lx,
    write=_alike(units.write_illuminance_lx),
    show=_shown(units.write_illuminance_lx),
    examples=("300 lx",),
    pattern=rf"^\s*{_NUMBER}\s*(lx|lux|fc)\s*$",
    spellings=("{} lx",),
)
SHARE = Kind(
    noun="a share or a percentage",
    parse=units.parse_fraction,
    write=lambda value, _system: value,
    show=_alike(number_text),
    examples=("0.8", "80 %"),
    pattern=r"^\s*[0-9.]+\s*%?\s*$",
    bare=True,
)
REFLECTANCE = Kind(
    noun=f"a share, a percentage or a colour ({', '.join(COLORS)})",
    parse=_share_or_color,
    write=lambda value, _system: value,
    show=_alike(number_text),
    examples=("0.8", "80 %", "white"),
    pattern=r"^\s*([0-9.]+\s*%?|white|black|light gr[ae]y|mid gr[ae]y|dark gr[ae]y)\s*$",
    bare=True,
)
NUMBER = Kind(
    noun="a number",
    parse=units.parse_fraction,
    write=lambda value, _system: value,
    show=_alike(number_text),
    examples=("1.5",),
    pattern=r"^\s*[0-9.]+\s*$",
    bare=True,
)
COUNT = Kind(
    noun="a whole number",
    parse=units.parse_fraction,
    write=lambda value, _system: int(value),
    show=_alike(number_text),
    examples=("100",),
    pattern=r"^\s*[0-9]+\s*$",
    bare=True,
    whole=True,
)
