"""Each mistake in a setup file is told by key, value, what is allowed and what to do."""

import pytest

from tapemark.errors import Problem, SetupError
from tapemark.studio import setup_from_mapping, setup_from_toml

GOOD = """
tapemark = 1
title = "Quillmere Library, reading room"
units = "metric"

[room]
width = "5.4 m"
length = "7 m"
height = "2.75 m"
behind_sitter = "2 m"

[sitter]
name = "Ines"
posture = "seated"
eye_height = "1.2 m"

[sitter.face]
interpupillary = "62 mm"

[sitter.glasses]
lens_width = "52 mm"
lens_height = "37 mm"
bridge = "18 mm"
right = { sphere = "-2.25 D", cylinder = "-0.5 D", axis = "10 deg" }

[camera]
place = { distance = "2 m", height = "1.2 m" }
focal_length = "85 mm"

[backdrop]
distance = "1.5 m"

[[light]]
name = "key"
head = "400 Ws studio head"
modifier = "medium softbox 60x90 cm"
place = { distance = "1.6 m", side = "38 deg camera-left", height = "1.9 m" }

[[light]]
name = "fill"
head = { kind = "flash", energy = "200 Ws" }
modifier = { kind = "reflected umbrella", diameter = "1.1 m" }
place = { distance = "2.1 m", side = "14 deg camera-right", height = "1.55 m" }

[[window]]
name = "north window"
wall = "camera-left"
along = "1 m towards camera"
width = "1.2 m"
height = "1.5 m"
"""

# What is replaced, by what; then parts of: the key, the value, what is allowed, what to do.
CASES = {
    "wrong key": (
        'height = "2.75 m"\nbehind',
        'hieght = "2.75 m"\nbehind',
        ("room.hieght", '"2.75 m"', "width, length, height", 'did you mean "height"?'),
    ),
    "wrong key at the top": (
        "[backdrop]",
        "[backdorp]",
        ("backdorp", "a table", "room, sitter, camera", 'did you mean "backdrop"?'),
    ),
    "wrong key in a light": (
        'head = "400 Ws studio head"',
        'head = "400 Ws studio head"\npowre = "1/4"',
        ('light[1] "key" powre', '"1/4"', "name, head, modifier", 'did you mean "power"?'),
    ),
    "key of another program": (
        'name = "Ines"',
        'name = "Ines"\nzodiac = "ram"',
        ("sitter.zodiac", '"ram"', "posture", "take it out"),
    ),
    "unit in the key": (
        'eye_height = "1.2 m"',
        "eye_height_m = 1.2",
        ("sitter.eye_height_m", "1.2", "eye_height", "put the unit into the value"),
    ),
    "length without unit": (
        'height = "1.9 m"',
        "height = 74",
        ('light[1] "key" place.height', "74", "with its unit", 'write "74 cm" (2 ft 5 in) or "74'),
    ),
    "length without unit, as text": (
        'height = "1.9 m"',
        'height = "1.9"',
        ('light[1] "key" place.height', '"1.9"', "with its unit", 'write "1.9 m" (6 ft 3 in)'),
    ),
    "small length without unit": (
        'lens_width = "52 mm"',
        "lens_width = 52",
        ("sitter.glasses.lens_width", "52", "30 mm to 70 mm", 'has no unit; write "52 mm"'),
    ),
    "power of a lens without unit": (
        'sphere = "-2.25 D"',
        "sphere = -2.25",
        ("sitter.glasses.right.sphere", "-2.25", "dioptres", 'has no unit; write "-2.25 D"'),
    ),
    "side without unit": (
        'side = "38 deg camera-left"',
        "side = 38",
        ('light[1] "key" place.side', "38", "its side", '"38 deg camera-left" or "38 deg camera-r'),
    ),
    "side without a side": (
        'side = "38 deg camera-left"',
        'side = "38 deg"',
        ('light[1] "key" place.side', '"38 deg"', "its side", 'say which side: "38 deg'),
    ),
    "aperture without f": (
        'focal_length = "85 mm"',
        'focal_length = "85 mm"\naperture = 8',
        ("camera.aperture", "8", "f/0.7 to f/128", 'write "f/8"'),
    ),
    "shutter without unit": (
        'focal_length = "85 mm"',
        'focal_length = "85 mm"\nshutter = "1/160"',
        ("camera.shutter", '"1/160"', "shutter time", 'like "1/160 s"'),
    ),
    "decimal comma": (
        'eye_height = "1.2 m"',
        'eye_height = "1,2 m"',
        ("sitter.eye_height", '"1,2 m"', "with its unit", "with a point"),
    ),
    "wrong kind of unit": (
        'eye_height = "1.2 m"',
        'eye_height = "1.2 deg"',
        ("sitter.eye_height", '"1.2 deg"', "a length", '"deg" is not a unit known here'),
    ),
    "impossible room": (
        'width = "5.4 m"',
        'width = "-5.4 m"',
        ("room.width", '"-5.4 m"', "1.00 m to 60.00 m", "check the number"),
    ),
    "axis beyond half a turn": (
        'axis = "10 deg"',
        'axis = "190 deg"',
        ("sitter.glasses.right.axis", '"190 deg"', "0 deg to 180 deg", "check the number"),
    ),
    "cylinder beyond any lens": (
        'cylinder = "-0.5 D"',
        'cylinder = "-50 D"',
        ("sitter.glasses.right.cylinder", '"-50 D"', "-10.00 D to +10.00 D", "check the number"),
    ),
    "lens too wide": (
        'lens_width = "52 mm"',
        'lens_width = "52 cm"',
        ("sitter.glasses.lens_width", '"52 cm"', "30 mm to 70 mm", "check the number and its unit"),
    ),
    "pupil above the lens": (
        'bridge = "18 mm"',
        'bridge = "18 mm"\npupil_height = "40 mm"',
        ("sitter.glasses.pupil_height", "40 mm", "37 mm, inside the lens box", "measure from the"),
    ),
    "coating without a coating": (
        'bridge = "18 mm"',
        'bridge = "18 mm"\ncoating_reflectance = 0.005',
        ("sitter.glasses.coating_reflectance", 'with coating "none"', "anti-ref", "take coating"),
    ),
    "look that contradicts the prescription": (
        'bridge = "18 mm"',
        'bridge = "18 mm"\nlook_through = "larger"',
        ("sitter.glasses.look_through", 'right.sphere "-2.5 D"', "minus lens", "take look_through"),
    ),
    "glasses without a size": (
        'lens_height = "37 mm"',
        "",
        ("sitter.glasses.lens_height", "(not given)", "a length", 'add lens_height = "36 mm"'),
    ),
    "word that is not one of the set": (
        'posture = "seated"',
        'posture = "sitting"',
        ("sitter.posture", '"sitting"', '"seated" or "standing"', "did you mean"),
    ),
    "unknown preset": (
        'modifier = "medium softbox 60x90 cm"',
        'modifier = "medium softbox"',
        ('light[1] "key" modifier', '"medium softbox"', '"beauty dish 55 cm"', "60x90 cm"),
    ),
    "unknown preset in a table": (
        'modifier = "medium softbox 60x90 cm"',
        'modifier = { preset = "medium softbox" }',
        ('light[1] "key" modifier.preset', '"medium softbox"', '"beauty dish', "60x90 cm"),
    ),
    "unknown aim": (
        'head = "400 Ws studio head"',
        'head = "400 Ws studio head"\naim = "faec"',
        ('light[1] "key" aim', '"faec"', '"wall behind"', 'did you mean "face"?'),
    ),
    "half a place to aim at": (
        'head = "400 Ws studio head"',
        'head = "400 Ws studio head"\naim = { distance = "1 m" }',
        ('light[1] "key" aim.height', "(not given)", "a length", "add height ="),
    ),
    "unknown sensor": (
        'focal_length = "85 mm"',
        'focal_length = "85 mm"\nsensor = "fullframe"',
        ("camera.sensor", '"fullframe"', '"36 x 24 mm"', 'did you mean "full frame"?'),
    ),
    "power above full": (
        'head = "400 Ws studio head"',
        'head = "400 Ws studio head"\npower = "1 stop"',
        ('light[1] "key" power', '"1 stop"', "1/4096 to full", "check the number"),
    ),
    "head without energy": (
        ', energy = "200 Ws"',
        "",
        ('light[2] "fill" head.energy', "(not given)", '"400 Ws"', 'add energy = "400 Ws"'),
    ),
    "size of the wrong shape": (
        'diameter = "1.1 m"',
        'diameter = "1.1 m", width = "1 m"',
        ('light[2] "fill" modifier.width', '"1 m"', "diameter for kind", "take width out"),
    ),
    "missing table": (
        '[camera]\nplace = { distance = "2 m", height = "1.2 m" }\nfocal_length = "85 mm"',
        "",
        ("camera", "(not given)", "focal_length", "add a table [camera] with place, focal_length"),
    ),
    "missing key": (
        'focal_length = "85 mm"',
        "",
        ("camera.focal_length", "(not given)", "4 mm to 1200 mm", 'add focal_length = "52 mm"'),
    ),
    "one bracket where two belong": (
        '[[window]]\nname = "north window"',
        '[window]\nname = "north window"',
        ("window", "a table", "[[window]]", "two brackets"),
    ),
    "list where a table belongs": (
        "[backdrop]",
        "[[backdrop]]",
        ("backdrop", "a list of 1", "a table with distance", "[backdrop]"),
    ),
    "switch in quotes": (
        'head = "400 Ws studio head"',
        'head = "400 Ws studio head"\non = "yes"',
        ('light[1] "key" on', '"yes"', "true or false", "without quotes"),
    ),
    "whole number with a fraction": (
        'focal_length = "85 mm"',
        'focal_length = "85 mm"\niso = 99.5',
        ("camera.iso", "99.5", "a whole number", "write 100"),
    ),
    "not finite": (
        'focal_length = "85 mm"',
        'focal_length = "85 mm"\niso = nan',
        ("camera.iso", "nan", "a whole number", "write 100"),
    ),
    "very large": (
        'behind_sitter = "2 m"',
        f'behind_sitter = "2 m"\nwall_reflectance = {"9" * 400}',
        ("room.wall_reflectance", "a very large whole number", "0 to 1", "write 0.8"),
    ),
    "empty name": (
        'name = "key"',
        'name = ""',
        ("light[1] name", '""', "1 to 60", "give it a name"),
    ),
    "very long name": (
        'name = "key"',
        f'name = "{"k" * 300}"',
        ("name", '"kkkk', "at most 60 characters", "make it shorter"),
    ),
    "control character in a name": (
        'name = "key"',
        r'name = "k\u001bey"',
        ("name", r'"k\u001bey"', "printable", "control characters"),
    ),
    "version of tomorrow": (
        "tapemark = 1",
        "tapemark = 2",
        ("tapemark", "2", "1, the version", "bring tapemark up to date"),
    ),
    # Between two parts: both keys are named.
    "light in the wall": (
        'distance = "1.6 m"',
        'distance = "4.5 m"',
        ('light[1] "key" place.distance', '"4.5 m" at place.side 38°', "to that side",
         "inside the wall on camera-left; move it in, or check room.camera_left"),
    ),
    "light in the wall behind": (
        'distance = "1.6 m", side = "38 deg camera-left"',
        'distance = "2.4 m", side = "180 deg"',
        ('light[1] "key" place.distance', 'room.behind_sitter "2 m"', "at most 2.00 m",
         "0.40 m inside the wall behind the sitter"),
    ),
    "light above the ceiling": (
        'height = "1.9 m"',
        'height = "2.9 m"',
        ('light[1] "key" place.height', '"2.9 m", with room.height "2.75 m"', "0 to 2.75 m",
         "above the ceiling"),
    ),
    "light below the floor": (
        'height = "1.9 m"',
        'height = "-0.2 m"',
        ('light[1] "key" place.height', '"-0.2 m"', "from 0.00 m", "check the number"),
    ),
    "light in the head": (
        'distance = "1.6 m", side = "38 deg camera-left", height = "1.9 m"',
        'distance = "0.1 m", side = "38 deg camera-left", height = "1.3 m"',
        ('light[1] "key" place.distance', 'with sitter.eye_height "1.2 m"', "0.25 m from the eyes",
         "inside the sitter's head"),
    ),
    "camera in the sitter": (
        'place = { distance = "2 m", height = "1.2 m" }',
        'place = { distance = "0.2 m", height = "1.2 m" }',
        ("camera.place.distance", '"0.2 m" at place.height "1.2 m", with sitter.eye_height "1.2 m"',
         "0.30 m from the eyes", "inside the sitter"),
    ),
    "camera in the body": (
        'place = { distance = "2 m", height = "1.2 m" }',
        'place = { distance = "20 cm", height = "50 cm" }',
        ("camera.place.distance", '"20 cm" at place.height "50 cm"', "outside the body",
         "inside the sitter"),
    ),
    "camera outside the room": (
        'place = { distance = "2 m", height = "1.2 m" }',
        'place = { distance = "6 m", height = "1.2 m" }',
        ("camera.place.distance", 'with room.length "7 m"', "at most 5.00 m",
         "1.00 m inside the wall behind the camera"),
    ),
    "sitter outside the room": (
        'behind_sitter = "2 m"',
        'behind_sitter = "8 m"',
        ("room.behind_sitter", '"8 m", with room.length "7 m"', "less than room.length",
         "the sitter would be outside"),
    ),
    "eyes too high for a seat": (
        'eye_height = "1.2 m"',
        'eye_height = "1.7 m"',
        ("sitter.eye_height", '"1.7 m", with sitter.posture "seated"', "0.70 m to 1.50 m",
         "change sitter.posture"),
    ),
    "backdrop behind the wall": (
        '[backdrop]\ndistance = "1.5 m"',
        '[backdrop]\ndistance = "2.5 m"',
        ("backdrop.distance", '"2.5 m", with room.behind_sitter "2 m"', "0.20 m to 2.00 m",
         "between the sitter and the wall"),
    ),
    "backdrop wider than the room": (
        '[backdrop]\ndistance = "1.5 m"',
        '[backdrop]\ndistance = "1.5 m"\nwidth = "6 m"',
        ("backdrop.width", '"6 m", with room.width "5.4 m"', "at most 5.40 m", "that fits"),
    ),
    "backdrop higher than the room": (
        '[backdrop]\ndistance = "1.5 m"',
        '[backdrop]\ndistance = "1.5 m"\nheight = "3 m"',
        ("backdrop.height", '"3 m", with room.height "2.75 m"', "at most 2.75 m", "that hangs"),
    ),
    "aim at no backdrop": (
        '[backdrop]\ndistance = "1.5 m"\n\n[[light]]\nname = "key"',
        '[[light]]\nname = "key"\naim = "backdrop"',
        ('light[1] "key" aim', "without a [backdrop]", '"wall behind"', "add [backdrop]"),
    ),
    "aim at itself": (
        'head = "400 Ws studio head"',
        'head = "400 Ws studio head"\n'
        'aim = { distance = "1.6 m", side = "38 deg camera-left", height = "1.9 m" }',
        ('light[1] "key" aim', 'light[1] "key" place', "away from its place", "points at"),
    ),
    "window beside its wall": (
        'along = "1 m towards camera"',
        'along = "4.8 m towards camera"',
        ('window[1] "north window" along', 'with room.length "7 m"', "-2.00 m and 5.00", "middle"),
    ),
    "side that the wall does not have": (
        'along = "1 m towards camera"',
        'along = "1 m camera-left"',
        ('window[1] "north window" along', '"1 m camera-left", with wall "camera-left"',
         '"towards camera"', 'like "1 m towards camera"'),
    ),
    "window through the ceiling": (
        'height = "1.5 m"\n',
        'height = "1.5 m"\nsill = "1.5 m"\n',
        ('window[1] "north window" height', 'above sill "1.5 m", with room.height "2.75 m"',
         "at most 1.25 m", "check the sill"),
    ),
    "two of one name": (
        'name = "fill"',
        'name = "Key"',
        ("light[2] name", '"Key", also light[1] name', "of its own", "another name"),
    ),
}  # fmt: skip


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(SetupError) as caught:
        setup_from_toml(text, name="friday.toml")
    assert str(caught.value).startswith("friday.toml: ")
    return caught.value.problems


def changed(*changes: tuple[str, str]) -> str:
    text = GOOD
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


def test_the_file_without_mistakes_is_read():
    assert setup_from_toml(GOOD).sitter.name == "Ines"


@pytest.mark.parametrize("case", CASES)
def test_mistake_is_told_by_key_value_allowed_and_advice(case):
    old, new, (key, given, allowed, advice) = CASES[case]
    (problem,) = problems_of(changed((old, new)))
    assert key in problem.key
    assert given in problem.given
    assert allowed in problem.allowed
    assert advice in problem.advice


@pytest.mark.parametrize("case", CASES)
def test_message_shows_every_part_and_stays_short(case):
    old, new, _ = CASES[case]
    with pytest.raises(SetupError) as caught:
        setup_from_toml(changed((old, new)))
    (problem,) = caught.value.problems
    for part in (problem.key, problem.given, problem.allowed, problem.advice):
        assert part
        assert part in str(caught.value)
    assert str(caught.value).isprintable() or "\n" in str(caught.value)
    assert len(str(caught.value)) < 1000


def test_advice_for_a_bare_number_comes_in_the_units_of_the_person():
    metric = changed(('height = "1.9 m"', "height = 74"))
    us = metric.replace('units = "metric"', 'units = "us"')
    assert 'write "74 in" (1.88 m)' in problems_of(us)[0].advice
    assert problems_of(metric)[0].advice.index("74 cm") < problems_of(metric)[0].advice.index(
        "74 in"
    )
    assert "39 ft 4 in" in problems_of(us)[0].allowed


def test_all_mistakes_are_told_together_in_the_order_of_the_file():
    text = changed(
        ('height = "2.75 m"\nbehind', 'hieght = "2.75 m"\nbehind'),
        ('posture = "seated"', 'posture = "lying"'),
        ('focal_length = "85 mm"', "focal_length = 85"),
        ('name = "fill"', 'nmae = "fill"'),
    )
    assert [problem.key for problem in problems_of(text)] == [
        "room.hieght",
        "sitter.posture",
        "camera.focal_length",
        "light[2] nmae",
    ]


def test_mistakes_between_the_valid_parts_are_told_with_the_others():
    text = changed(
        ('name = "key"\nhead = "400 Ws studio head"', 'name = "key"\nhead = "no such head"'),
        ('distance = "2.1 m"', 'distance = "9 m"'),
        ("[[window]]", 'zodiac = "ram"\n[[window]]'),
    )
    keys = [problem.key for problem in problems_of(text)]
    assert keys == [
        'light[1] "key" head',
        'light[2] "fill" zodiac',
        'light[2] "fill" place.distance',
    ]


def test_head_must_be_below_the_ceiling():
    text = changed(
        ('height = "2.75 m"', 'height = "2 m"'),
        ('posture = "seated"', 'posture = "standing"'),
        ('eye_height = "1.2 m"', 'eye_height = "1.95 m"'),
    )
    problem = problems_of(text)[0]
    assert problem.key == "sitter.eye_height"
    assert problem.given == '"1.95 m", with room.height "2 m"'
    assert problem.allowed == "at most 1.89 m in this room"


def test_eyes_must_be_behind_the_lenses():
    wide = changed(('interpupillary = "62 mm"', 'interpupillary = "85 mm"'))
    narrow = wide.replace('lens_width = "52 mm"', 'lens_width = "32 mm"')
    (problem,) = problems_of(narrow)
    assert problem.key == "sitter.face.interpupillary"
    assert "sitter.glasses.lens_width 32 mm" in problem.given
    assert "behind its lens" in problem.allowed


@pytest.mark.parametrize(
    ("text", "place", "line"),
    [
        ("[room]\nwidth = 5.4 m\n", "line 2, column 13", '"width = 5.4 m"'),
        ("[room]\nwidth = five\n", "line 2, column 9", '"width = five"'),
        ("[room\n", "line 1, column 6", '"[room"'),
        ('title = "a', "line 1, column 11", '"title = "a"'),
        ("a = 1\na = 2\n", "line 2, column 6", '"a = 2"'),
        ("a = [", "line 1, column 6", '"a = ["'),
        ("\x00", "line 1, column 1", '"\\u0000"'),
    ],
)
def test_malformed_toml_is_told_by_line_and_column(text, place, line):
    (problem,) = problems_of(text)
    assert problem.key == place
    assert problem.given == line
    assert "TOML" in problem.allowed


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "9" * 10_000,
        "a = 2024-13-45",
        "a = 0x" + "f" * 10_000,
        "x" * 600_000,
        "",
        "\ufeff" + GOOD.replace("[room]", "[rom]"),
        "a" + ".a" * 5000 + " = 1",
        'a = "\ud800"',
    ],
)
def test_strange_files_are_refused_without_a_traceback(text):
    for problem in problems_of(text):
        assert problem.key
        assert problem.advice
        str(problem.text).encode("utf-8")


@pytest.mark.parametrize(
    "data",
    [None, [], "text", 3, {"room": None}, {3: "x"}, {"room": {None: 1}}, {"light": [[], None, 3]}],
)
def test_strange_data_are_refused_without_a_traceback(data):
    with pytest.raises(SetupError) as caught:
        setup_from_mapping(data)
    assert caught.value.problems


def test_nothing_is_the_same_as_not_stated():
    data = {
        "room": {"width": "5 m", "length": "6 m", "height": "2.5 m", "behind_sitter": None},
        "camera": {"place": {"distance": "2 m", "height": "1.2 m"}, "focal_length": "85 mm"},
        "backdrop": None,
    }
    setup = setup_from_mapping(data)
    assert setup.backdrop is None
    assert setup.room.behind_sitter_m == 1.5
