"""Quantities as text: what is accepted, what is refused, and that writing reads back exactly."""

import math
import sys
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark import units
from tapemark.errors import UnitError

INCH_M, FOOT_M = 0.0254, 0.3048

LENGTHS = [
    ("1.4 m", 1.4),
    ("1.4m", 1.4),
    ("140 cm", 1.4),
    ("52 mm", 0.052),
    ("2.5e1 mm", 0.025),
    ("74 in", 1.8796),
    ('74"', 1.8796),
    ("74 inches", 1.8796),
    ("6 ft", 1.8288),
    ("4 ft 7 in", 1.397),
    ("4ft 7in", 1.397),
    ("4'7\"", 1.397),
    ("4\N{PRIME} 7\N{DOUBLE PRIME}", 1.397),
    ("4 ft 7 1/2 in", 1.4097),
    ("7 1/2 in", 0.1905),
    ("1/2 in", 0.0127),
    ("5'", 1.524),
    ("-0.6 m", -0.6),
    ("\N{MINUS SIGN}0.6 m", -0.6),
    ("1.4\N{NO-BREAK SPACE}m", 1.4),
    ("1.4 metres", 1.4),
]

OTHERS = [
    (units.parse_length_mm, "5.2 cm", 52.0),
    (units.parse_length_mm, "2.5 in", 63.5),
    (units.parse_angle_deg, "20 deg", 20.0),
    (units.parse_angle_deg, "7.5\N{DEGREE SIGN}", 7.5),
    (units.parse_side_deg, "40 deg camera-left", 40.0),
    (units.parse_side_deg, "40\N{DEGREE SIGN} camera right", -40.0),
    (units.parse_side_deg, "0 deg", 0.0),
    (units.parse_side_deg, "180 deg", 180.0),
    (units.parse_chin_deg, "5 deg up", 5.0),
    (units.parse_chin_deg, "5 deg down", -5.0),
    (units.parse_along_m, "2 ft camera-right", -0.6096),
    (units.parse_along_m, "1.2 m towards camera", 1.2),
    (units.parse_along_m, "1.2 m behind sitter", -1.2),
    (units.parse_dioptres, "-3.25 D", -3.25),
    (units.parse_dioptres, "+2.00 D", 2.0),
    (units.parse_dioptres, "plano", 0.0),
    (units.parse_power_stops, "full", 0.0),
    (units.parse_power_stops, "1/1", 0.0),
    (units.parse_power_stops, "1/4", -2.0),
    (units.parse_power_stops, "1/4 + 0.3", -1.7),
    (units.parse_power_stops, "1/64 - 1/2 stop", -6.5),
    (units.parse_power_stops, "50 %", -1.0),
    (units.parse_power_stops, "-2 stops", -2.0),
    (units.parse_aperture, "f/8", 8.0),
    (units.parse_aperture, "F5.6", 5.6),
    (units.parse_shutter_s, "1/160 s", 0.00625),
    (units.parse_shutter_s, "8 ms", 0.008),
    (units.parse_energy_j, "400 Ws", 400.0),
    (units.parse_energy_j, "400 J", 400.0),
    (units.parse_lumens, "6000 lm", 6000.0),
    (units.parse_efficacy_lm_per_w, "40 lm/W", 40.0),
    (units.parse_luminance_cd_m2, "3000 cd/m\N{SUPERSCRIPT TWO}", 3000.0),
    (units.parse_color_k, "5500 K", 5500.0),
    (units.parse_fraction, "80 %", 0.8),
    (units.parse_fraction, "0.35", 0.35),
]

PARSERS = [getattr(units, name) for name in units.__all__ if name.startswith("parse_")]

REFUSED = [
    (units.parse_length_m, "74", "no unit"),
    (units.parse_length_m, "1,4 m", "with a point"),
    (units.parse_length_m, "1.4 furlongs", "not a unit"),
    (units.parse_length_m, "4 ft 7", "4 ft 7 in"),
    (units.parse_length_m, "1/0 m", "1.4 m"),
    (units.parse_length_m, "1e400 m", "too large"),
    (units.parse_length_m, "1e999999999999 m", "1.4 m"),
    (units.parse_length_m, "nan m", "1.4 m"),
    (units.parse_length_m, "inf m", "1.4 m"),
    (units.parse_length_m, "tall", "1.4 m"),
    (units.parse_length_m, "", "leave the key out"),
    (units.parse_length_m, "9" * 5000 + " m", "shortly"),
    (units.parse_side_deg, "40 deg", "camera-left"),
    (units.parse_side_deg, "40 deg left", "not a unit"),
    (units.parse_side_deg, "-40 deg camera-left", "minus sign"),
    (units.parse_chin_deg, "5 deg", "up"),
    (units.parse_aperture, "8", 'like "f/8"'),
    (units.parse_power_stops, "1/0", "1/4"),
    (units.parse_power_stops, "0.25", "1/4"),
    (units.parse_shutter_s, "1/160", "no unit"),
    (units.parse_dioptres, "-3.25", "no unit"),
]


def finite(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def assert_number_or_refused(parse: Callable[[str], float], text: str) -> None:
    try:
        value = parse(text)
    except UnitError as error:
        advice = error.advice
    else:
        advice = "none needed"
        assert math.isfinite(value)
    assert advice


@pytest.mark.parametrize(("text", "length_m"), LENGTHS)
def test_lengths_are_read_in_both_systems(text, length_m):
    assert units.parse_length_m(text) == length_m


@pytest.mark.parametrize(("parse", "text", "value"), OTHERS)
def test_other_quantities_are_read(parse, text, value):
    assert parse(text) == value


@pytest.mark.parametrize(("parse", "text", "advice"), REFUSED)
def test_refused_text_says_what_was_given_and_what_to_do(parse, text, advice):
    with pytest.raises(UnitError) as caught:
        parse(text)
    assert advice in caught.value.advice
    assert caught.value.allowed
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize("system", ["metric", "us"])
@given(value=finite(-1e6, 1e6))
def test_written_length_reads_back_as_the_same_float(system, value):
    assert units.parse_length_m(units.write_length_m(value, system=system)) == value
    assert units.parse_length_mm(units.write_length_mm(value, system=system)) == value
    assert units.parse_along_m(units.write_along_m(value, system=system)) == value


@given(inches=st.integers(0, 400), eighths=st.integers(0, 7))
def test_whole_and_eighth_inches_stay_in_inches(inches, eighths):
    text = f"{inches} {eighths}/8 in" if eighths else f"{inches} in"
    written = units.write_length_m(units.parse_length_m(text), system="us")
    assert written.endswith(("in", "ft"))


@given(value=finite(-1e6, 1e6))
def test_written_angles_and_powers_read_back_as_the_same_float(value):
    assert units.parse_angle_deg(units.write_angle_deg(value)) == value
    assert units.parse_side_deg(units.write_side_deg(value)) == value
    assert units.parse_chin_deg(units.write_chin_deg(value)) == value
    assert units.parse_dioptres(units.write_dioptres(value)) == value
    assert units.parse_power_stops(units.write_power_stops(value)) == value


@given(value=finite(sys.float_info.min, 1e6))
def test_written_light_quantities_read_back_as_the_same_float(value):
    assert units.parse_shutter_s(units.write_shutter_s(value)) == value
    assert units.parse_energy_j(units.write_energy_j(value)) == value
    assert units.parse_lumens(units.write_lumens(value)) == value
    assert units.parse_efficacy_lm_per_w(units.write_efficacy_lm_per_w(value)) == value
    assert units.parse_luminance_cd_m2(units.write_luminance_cd_m2(value)) == value
    assert units.parse_color_k(units.write_color_k(value)) == value


@given(number=st.integers(1, 8000))
def test_shutter_fractions_stay_fractions(number):
    assert units.write_shutter_s(units.parse_shutter_s(f"1/{number} s")) in (
        f"1/{number} s",
        f"{units.number_text(1 / number)} s",
    )


@given(value=finite(0.7, 128.0))
def test_written_aperture_reads_back_as_the_same_float(value):
    assert units.parse_aperture(units.write_aperture(value)) == value


@pytest.mark.parametrize("parse", PARSERS)
@given(text=st.text(max_size=80))
def test_any_text_gives_a_number_or_a_unit_error(parse, text):
    assert_number_or_refused(parse, text)


@pytest.mark.parametrize("parse", PARSERS)
@given(text=st.from_regex(r"[-+]?[0-9]{0,12}[./e]?[0-9]{0,12} ?[a-zA-Z/'\"%]{0,6}", fullmatch=True))
def test_number_like_text_gives_a_number_or_a_unit_error(parse, text):
    assert_number_or_refused(parse, text)


@given(length_m=finite(-30.0, 30.0))
def test_length_shown_to_people_is_within_half_its_last_place(length_m):
    metric = units.parse_length_m(units.format_length(length_m, system="metric"))
    inches = units.parse_length_m(units.format_length(length_m, system="us"))
    assert abs(metric - length_m) <= 0.005 * (1 + 1e-9)
    assert abs(inches - length_m) <= 0.5 * INCH_M * (1 + 1e-9)


@given(side_deg=finite(-180.0, 180.0))
def test_side_shown_to_people_names_the_side(side_deg):
    shown = units.parse_side_deg(units.format_side(side_deg))
    assert abs(abs(shown) - abs(side_deg)) <= 0.5
    assert shown in (0.0, 180.0) or math.copysign(1, shown) == math.copysign(1, side_deg)


def test_constants_are_those_of_the_parsers():
    assert units.parse_length_m("1 in") == units.INCH == INCH_M
    assert units.parse_length_m("1 ft") == units.FOOT == FOOT_M
    assert units.parse_length_m("1 mm") == units.MM
