"""Groups, gels, meter readings, stands and circuits: what is read, and what is refused."""

import math

import pytest

from tapemark.errors import SetupError
from tapemark.studio import Setup, setup_from_mapping, setup_from_toml
from tapemark.units import format_mass, parse_mass_kg, write_mass_kg

TEXT = """
[room]
width = "5.4 m"
length = "7 m"
height = "2.75 m"
behind_sitter = "2 m"
[sitter]
name = "Ines"
eye_height = "1.2 m"
[camera]
place = { distance = "3 m", height = "1.2 m" }
focal_length = "85 mm"
[[companion]]
name = "Tom"
across = "0.6 m camera-right"
back = "0.3 m"
eye_height = "1.25 m"
glasses = "sport wrap"
[[light]]
name = "key"
head = { kind = "flash" }
modifier = "medium softbox 60x90 cm"
place = { distance = "1.6 m", side = "40 deg camera-left", height = "1.9 m" }
meter = { aperture = "f/8", distance = "1.5 m", power = "1/4" }
gel = { name = "blue", red = 0.1, green = 0.2, blue = 0.9 }
stand = "light stand"
circuit = "wall"
[[circuit]]
name = "wall"
voltage = "230 V"
breaker = "16 A"
"""


def read(*changes: tuple[str, str]) -> Setup:
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return setup_from_toml(text)


def problem_of(*changes: tuple[str, str]) -> str:
    with pytest.raises(SetupError) as refused:
        read(*changes)
    (problem,) = refused.value.problems
    return f"{problem.key} | {problem.given} | {problem.allowed} | {problem.advice}"


def test_people_are_the_sitter_and_the_companions_in_their_places():
    setup = read()
    assert [person.name for person in setup.people] == ["Ines", "Tom"]
    assert (setup.companions[0].across_m, setup.companions[0].back_m) == (-0.6, 0.3)
    assert setup.companions[0].glasses.face_form_deg == 18.0


def test_head_without_energy_is_known_by_its_meter_reading():
    (light,) = read().lights
    assert light.meter.power_stops == -2.0
    assert light.head.energy_j is None
    assert not light.head.known


REFUSED = {
    "companion inside the sitter": (
        ('across = "0.6 m camera-right"\nback = "0.3 m"', 'across = "0.05 m camera-right"'),
        ('companion[1] "Tom" across', "0.20 m apart", "inside the sitter"),
    ),
    "companion outside the room": (
        ('back = "0.3 m"', 'back = "2.6 m"'),
        ('companion[1] "Tom" back', '"2.6 m"', "-5.00 m and 2.00 m"),
    ),
    "two people of one name": (
        ('name = "Tom"', 'name = "ines"'),
        ("companion[1]", "a name of its own for each person"),
    ),
    "companion too tall for a stool": (
        ('eye_height = "1.25 m"', 'eye_height = "1.9 m"'),
        ('companion[1] "Tom" eye_height', '"1.9 m"', "0.70 m to 1.50 m"),
    ),
    "light on a circuit that is not there": (
        ('circuit = "wall"', 'circuit = "wal"'),
        ('light[1] "key" circuit', '"wal"', 'did you mean "wall"?'),
    ),
    "flash of which nothing is known": (
        ('meter = { aperture = "f/8", distance = "1.5 m", power = "1/4" }\n', ""),
        ('light[1] "key" head.energy', "400 Ws"),
    ),
    "reading in lux for a flash": (
        ('aperture = "f/8", distance', 'illuminance = "800 lx", distance'),
        ('light[1] "key" meter.illuminance', "the aperture for a flash"),
    ),
    "reading that says nothing": (
        ('aperture = "f/8", distance', "distance"),
        ('light[1] "key" meter.aperture', "f/8"),
    ),
    "gel with one share missing": (
        ("green = 0.2, ", ""),
        ('light[1] "key" gel.green', "all three of red, green and blue"),
    ),
    "gel that passes nothing": (
        ("red = 0.1, green = 0.2, blue = 0.9", "red = 0, green = 0, blue = 0"),
        ('light[1] "key" gel.red', "at least one share above 0"),
    ),
    "stand that is no preset": (
        ('stand = "light stand"', 'stand = "light stnd"'),
        ('light[1] "key" stand', 'did you mean "light stand"?'),
    ),
    "weight without a unit": (
        ('stand = "light stand"', "stand = { ballast = 7 }"),
        ('light[1] "key" stand.ballast', '"7 kg" (15.4 lb) or "7 lb" (3.18 kg)'),
    ),
    "photometric file of another kind": (
        ('head = { kind = "flash" }', 'head = { kind = "flash", photometric_file = "lamp.pdf" }'),
        ('light[1] "key" head.photometric_file', '".ies" or ".ldt"'),
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_mistake_is_told_by_key_value_allowed_and_advice(case):
    change, words = REFUSED[case]
    told = problem_of(change)
    for word in words:
        assert word in told


def test_two_circuits_need_two_names():
    told = problem_of(
        (
            'breaker = "16 A"\n',
            'breaker = "16 A"\n[[circuit]]\nname = "wall"\nvoltage = "230 V"\nbreaker = "10 A"\n',
        )
    )
    assert "circuit[2]" in told
    assert "a name of its own for each circuit" in told


@pytest.mark.parametrize("stated", ["3.5 kg", "15 lb", "350 g"])
def test_weight_is_written_as_it_was_read(stated):
    mass_kg = parse_mass_kg(stated)
    for system in ("metric", "us"):
        assert parse_mass_kg(write_mass_kg(mass_kg, system=system)) == mass_kg
    assert math.isclose(parse_mass_kg("1 lb"), 0.45359237, rel_tol=1e-15)
    assert format_mass(7.0, system="metric") == "7 kg"


def test_json_of_the_same_shape_is_read_alike():
    setup = read()
    assert setup_from_mapping(_as_json(setup)) == setup


def _as_json(setup: Setup) -> dict:
    from tapemark.studio import setup_to_mapping

    return setup_to_mapping(setup)
