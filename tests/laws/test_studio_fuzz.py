"""Whatever a setup file holds, it is read or refused with reasons; nothing else escapes."""

import datetime
import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.errors import SetupError
from tapemark.studio import setup_from_mapping, setup_from_toml, setup_to_toml

TEXT = """
tapemark = 1
title = "Quillmere Library"
units = "us"
[room]
width = "17 ft 9 in"
length = "23 ft"
height = "9 ft"
ceiling_reflectance = "white"
[sitter]
posture = "standing"
eye_height = "5 ft 3 in"
turn = "20 deg camera-left"
chin = "5 deg down"
age = 43
[sitter.face]
interpupillary = "62 mm"
[sitter.glasses]
preset = "thin reading glasses"
base_curve = "6 D"
look_through = "larger"
[camera]
place = { distance = "2 m", side = "5 deg camera-right", height = "1.6 m" }
aim = "face"
focal_length = "85 mm"
sensor = "36 x 24 mm"
aperture = "f/8"
shutter = "1/160 s"
iso = 100
[[light]]
name = "key"
head = "400 Ws studio head"
modifier = { kind = "softbox", width = "60 cm", height = "90 cm" }
place = { distance = "1.6 m", side = "38 deg camera-left", height = "74 in" }
aim = { distance = "0 m", height = "1.6 m" }
power = "1/4 + 0.3"
[[light]]
name = "hair"
head = { kind = "continuous", output = "5000 lm", color = "5500 K" }
modifier = "reflector dish 18 cm"
place = { distance = "1 m", side = "150 deg camera-right", height = "2.2 m" }
aim = "backdrop"
on = false
[[panel]]
name = "white card"
width = "60 cm"
height = "90 cm"
place = { distance = "0.6 m", height = "0.8 m" }
[[window]]
name = "north window"
wall = "camera-left"
along = "1 m towards camera"
width = "1.2 m"
height = "1.5 m"
luminance = "3000 cd/m2"
[[screen]]
name = "laptop"
width = "30 cm"
height = "20 cm"
place = { distance = "2.2 m", side = "40 deg camera-right", height = "1 m" }
[backdrop]
distance = "1.2 m"
reflectance = 0.2
"""
LINES = TEXT.splitlines()

MARKS = st.sampled_from(list("[]{}\"'=,.\n#-+ /\\0129aef\x00\x1b\u2028\ud800\N{DEGREE SIGN}"))
WEIRD = st.one_of(
    st.none(),
    st.booleans(),
    st.floats(),
    st.integers(),
    st.integers(-(10**400), 10**400),
    st.text(max_size=12),
    st.text(MARKS, max_size=12),
    st.sampled_from(["nan m", "inf m", "1e999 m", "-1 m", "99999 m", "f/0", "1/0", "0 D", "74"]),
    st.just(datetime.date(2024, 1, 1)),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
    st.binary(max_size=3),
)


def read_or_refused(text: str) -> None:
    try:
        setup = setup_from_toml(text)
    except SetupError as error:
        refused = error
    else:
        assert setup_from_toml(setup_to_toml(setup)) == setup
        return
    assert_well_told(refused)


def assert_well_told(error: SetupError) -> None:
    assert error.problems
    for problem in error.problems:
        assert problem.key
        assert problem.advice
        for part in (problem.key, problem.given, problem.allowed, problem.advice):
            assert part.isprintable()


def paths_of(node: object, path: tuple = ()) -> list[tuple]:
    children = (
        node.items()
        if isinstance(node, dict)
        else enumerate(node)
        if isinstance(node, list)
        else ()
    )
    found = [path] if path else []
    for key, child in children:
        found += paths_of(child, (*path, key))
    return found


PATHS = paths_of(tomllib.loads(TEXT))


def test_the_text_to_start_from_is_read():
    assert setup_from_toml(TEXT).title == "Quillmere Library"


@settings(max_examples=300)
@given(
    edits=st.lists(
        st.tuples(st.integers(0, len(TEXT)), st.integers(0, 4), st.text(MARKS, max_size=4)),
        min_size=1,
        max_size=4,
    )
)
def test_files_with_characters_changed(edits):
    text = TEXT
    for at, length, new in edits:
        text = text[:at] + new + text[at + length :]
    read_or_refused(text)


@settings(max_examples=200)
@given(
    lines=st.lists(st.sampled_from(LINES), max_size=12),
    order=st.permutations(range(4)),
)
def test_files_with_lines_mixed_up(lines, order):
    quarter = len(LINES) // 4 + 1
    parts = [LINES[quarter * at : quarter * (at + 1)] for at in order]
    read_or_refused("\n".join(lines + [line for part in parts for line in part]))


@settings(max_examples=500)
@given(changes=st.lists(st.tuples(st.sampled_from(PATHS), WEIRD), min_size=1, max_size=4))
def test_data_with_values_changed(changes):
    data = tomllib.loads(TEXT)
    for path, value in changes:
        node = data
        for step in path[:-1]:
            node = node[step] if isinstance(node, dict | list) and _has(node, step) else None
        if isinstance(node, dict | list) and _has(node, path[-1]):
            node[path[-1]] = value
    read_or_refused_data(data)


@settings(max_examples=200)
@given(
    path=st.sampled_from(PATHS),
    key=st.text(MARKS, max_size=8) | st.text(max_size=8) | st.none() | st.integers(),
    new=WEIRD,
)
def test_data_with_keys_added(path, key, new):
    data = tomllib.loads(TEXT)
    node = data
    for step in path:
        if isinstance(node[step], dict):
            node = node[step]
        elif isinstance(node[step], list):
            node = node[step][0]
            break
    node[key] = new
    read_or_refused_data(data)


@given(text=st.text(max_size=200))
def test_any_text_at_all(text):
    read_or_refused(text)


def _has(node: dict | list, step: object) -> bool:
    return step in node if isinstance(node, dict) else step in range(len(node))


def read_or_refused_data(data: dict) -> None:
    try:
        setup_from_mapping(data)
    except SetupError as error:
        refused = error
    else:
        return
    assert_well_told(refused)
