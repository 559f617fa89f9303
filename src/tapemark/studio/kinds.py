"""The kinds of quantity that the data of a studio use, as annotations of fields."""

from __future__ import annotations

from tapemark.studio import spelling
from tapemark.studio.quantities import Quantity

__all__ = [
    "along",
    "amperes",
    "angle",
    "aperture",
    "chin",
    "color_temperature",
    "count",
    "dioptres",
    "duration",
    "efficacy",
    "energy",
    "illuminance",
    "length",
    "lumens",
    "luminance",
    "mass",
    "mired",
    "number",
    "power",
    "reflectance_or_color",
    "seconds",
    "share",
    "shutter",
    "side",
    "small_length",
    "stops",
    "volts",
    "watts",
]


def length(low_m: float, high_m: float, *, usual: tuple[float, float] | None = None) -> Quantity:
    """Return the annotation of a length of the size of a room. [m]"""
    return Quantity(kind=spelling.LENGTH, low=low_m, high=high_m, usual=usual)


def small_length(
    low_mm: float, high_mm: float, *, usual: tuple[float, float] | None = None
) -> Quantity:
    """Return the annotation of a length of the size of a face. [mm]"""
    return Quantity(kind=spelling.SMALL_LENGTH, low=low_mm, high=high_mm, usual=usual)


def along(low_m: float, high_m: float) -> Quantity:
    """Return the annotation of a place along a wall. [m]"""
    return Quantity(kind=spelling.ALONG, low=low_m, high=high_m)


def angle(low_deg: float, high_deg: float) -> Quantity:
    """Return the annotation of an angle. [deg]"""
    return Quantity(kind=spelling.ANGLE, low=low_deg, high=high_deg)


def side(limit_deg: float) -> Quantity:
    """Return the annotation of an angle to either side, camera-left positive. [deg]"""
    return Quantity(kind=spelling.SIDE, low=-limit_deg, high=limit_deg)


def chin(limit_deg: float) -> Quantity:
    """Return the annotation of an angle up or down, up positive. [deg]"""
    return Quantity(kind=spelling.CHIN, low=-limit_deg, high=limit_deg)


def dioptres(low_d: float, high_d: float) -> Quantity:
    """Return the annotation of a lens power or a base curve. [D]"""
    return Quantity(kind=spelling.DIOPTRES, low=low_d, high=high_d)


def power(low_stops: float, high_stops: float) -> Quantity:
    """Return the annotation of a power counted from full power. [stops]"""
    return Quantity(kind=spelling.POWER, low=low_stops, high=high_stops)


def aperture(low: float, high: float) -> Quantity:
    """Return the annotation of an f-number. [-]"""
    return Quantity(kind=spelling.APERTURE, low=low, high=high)


def shutter(low_s: float, high_s: float) -> Quantity:
    """Return the annotation of a shutter time. [s]"""
    return Quantity(kind=spelling.SHUTTER, low=low_s, high=high_s)


def energy(low_j: float, high_j: float) -> Quantity:
    """Return the annotation of a flash energy. [J]"""
    return Quantity(kind=spelling.ENERGY, low=low_j, high=high_j)


def lumens(low: float, high: float) -> Quantity:
    """Return the annotation of an amount of light. [lm]"""
    return Quantity(kind=spelling.LUMENS, low=low, high=high)


def efficacy(low_lm_per_w: float, high_lm_per_w: float) -> Quantity:
    """Return the annotation of the light made from energy. [lm/W]"""
    return Quantity(kind=spelling.EFFICACY, low=low_lm_per_w, high=high_lm_per_w)


def luminance(low_cd_m2: float, high_cd_m2: float) -> Quantity:
    """Return the annotation of the brightness of a surface. [cd/m^2]"""
    return Quantity(kind=spelling.LUMINANCE, low=low_cd_m2, high=high_cd_m2)


def color_temperature(low_k: float, high_k: float) -> Quantity:
    """Return the annotation of a colour temperature. [K]"""
    return Quantity(kind=spelling.COLOR, low=low_k, high=high_k)


def share(low: float, high: float) -> Quantity:
    """Return the annotation of a share. [-]"""
    return Quantity(kind=spelling.SHARE, low=low, high=high)


def reflectance_or_color(low: float, high: float) -> Quantity:
    """Return the annotation of the share that a surface throws back; a colour will do. [-]"""
    return Quantity(kind=spelling.REFLECTANCE, low=low, high=high)


def number(low: float, high: float) -> Quantity:
    """Return the annotation of a plain ratio such as a refractive index. [-]"""
    return Quantity(kind=spelling.NUMBER, low=low, high=high)


def count(low: int, high: int) -> Quantity:
    """Return the annotation of a whole number, such as an ISO speed."""
    return Quantity(kind=spelling.COUNT, low=low, high=high)


def mass(low_kg: float, high_kg: float) -> Quantity:
    """Return the annotation of a weight. [kg]"""
    return Quantity(kind=spelling.MASS, low=low_kg, high=high_kg)


def watts(low_w: float, high_w: float) -> Quantity:
    """Return the annotation of a power drawn from the mains. [W]"""
    return Quantity(kind=spelling.WATTS, low=low_w, high=high_w)


def volts(low_v: float, high_v: float) -> Quantity:
    """Return the annotation of a mains voltage. [V]"""
    return Quantity(kind=spelling.VOLTS, low=low_v, high=high_v)


def amperes(low_a: float, high_a: float) -> Quantity:
    """Return the annotation of a current. [A]"""
    return Quantity(kind=spelling.AMPERES, low=low_a, high=high_a)


def mired(low_mired: float, high_mired: float) -> Quantity:
    """Return the annotation of the shift of a filter. [mired]"""
    return Quantity(kind=spelling.MIRED, low=low_mired, high=high_mired)


def stops(low_stops: float, high_stops: float) -> Quantity:
    """Return the annotation of a size in stops. [stops]"""
    return Quantity(kind=spelling.STOPS, low=low_stops, high=high_stops)


def seconds(low_s: float, high_s: float) -> Quantity:
    """Return the annotation of a time of seconds. [s]"""
    return Quantity(kind=spelling.SECONDS, low=low_s, high=high_s)


def duration(low_s: float, high_s: float) -> Quantity:
    """Return the annotation of a time of minutes. [s]"""
    return Quantity(kind=spelling.DURATION, low=low_s, high=high_s)


def illuminance(low_lx: float, high_lx: float) -> Quantity:
    """Return the annotation of an illuminance. [lx]"""
    return Quantity(kind=spelling.ILLUMINANCE, low=low_lx, high=high_lx)
