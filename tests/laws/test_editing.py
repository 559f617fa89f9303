"""Editing: what an edit asks for changes and nothing else, in the person's own units."""

import json
import math
import pickle

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.errors import EditError
from tapemark.services.editing.edits import apply_edits, edit_body, edits_in_words
from tapemark.services.editing.kept import whole_body
from tapemark.services.library.new_setups import blank_setup, demo_setups, setup_summary
from tapemark.studio import setup_from_mapping, setup_from_toml, setup_to_mapping, setup_to_toml
from tapemark.studio.checks_around import NEAREST_BACKDROP_M

CM = 0.01
ROUNDED = 0.0101  # [m]: a move is read back within a centimetre
GEAR = [
    {"add": "light", "body": {"name": "key"}},
    {
        "add": "light",
        "body": {"name": "hair.back", "aim": {"distance": "0.2 m", "height": "1.3 m"}},
    },
    {"add": "light", "body": {"name": "bounce", "aim": "ceiling"}},
    {"add": "panel", "body": {"name": "white"}},
    {"add": "screen", "body": {"name": "laptop"}},
    {"add": "window", "body": {"name": "north"}},
    {"add": "companion", "body": {"name": "Ada, loans"}},
    {
        "add": "circuit",
        "body": {"name": "wall 1", "outlet": {"distance": "1.5 m", "side": "90 deg camera-left"}},
    },
    {"add": "walkway", "body": {"name": "door"}},
    {"add": "backdrop"},
    {"set": "light.key.circuit", "value": "wall 1"},
]
STANDING = (
    "light.key",
    "light.hair.back",
    "light.bounce",
    "panel.white",
    "screen.laptop",
    "camera",
)


def furnished(units):
    return apply_edits(blank_setup(units), GEAR)


SETUPS = {units: furnished(units) for units in ("metric", "us")}
FEWER = settings(max_examples=25)
UNITS = st.sampled_from(sorted(SETUPS))


def thing(setup, name):
    kind, _, own = name.partition(".")
    if not own:
        return getattr(setup, kind)
    listed = {"light": setup.lights, "panel": setup.panels, "screen": setup.screens}[kind]
    return next(one for one in listed if one.name == own)


def spot(setup, name):
    return thing(setup, name).place.position_m


def same_but(before, after, *things):
    """Return whether two setups differ at most in the things named."""
    a, b = setup_to_mapping(before), setup_to_mapping(after)
    for name in things:
        kind, _, own = name.partition(".")
        for one in (a, b):
            if own:
                one[kind] = [part for part in one[kind] if part["name"] != own]
            else:
                one.pop(kind)
    return a == b


@FEWER
@given(UNITS, st.sampled_from(STANDING))
def test_a_move_to_where_a_thing_is_changes_nothing(units, name):
    setup = SETUPS[units]
    x, y, z = (round(one, 3) for one in spot(setup, name))
    assert apply_edits(setup, [{"move": name, "x": x, "y": y, "z": z}]) == setup
    assert edits_in_words(setup, setup) == ""


@FEWER
@given(
    UNITS,
    st.sampled_from(STANDING),
    st.floats(-1.7, 1.7),
    st.floats(0.6, 3.6),
)
def test_a_move_is_read_back_to_the_centimetre_and_changes_nothing_else(units, name, x, y):
    setup = SETUPS[units]
    moved = apply_edits(setup, [{"move": name, "x": x, "y": y}])
    assert math.dist(spot(moved, name)[:2], (x, y)) < ROUNDED
    assert spot(moved, name)[2] == spot(setup, name)[2]
    assert thing(moved, name).aim == thing(setup, name).aim
    assert same_but(setup, moved, name)


@FEWER
@given(UNITS, st.sampled_from(STANDING), st.floats(-1.7, 1.7), st.floats(0.6, 3.6))
def test_there_and_back_is_where_it_was_within_rounding(units, name, x, y):
    setup = SETUPS[units]
    home = spot(setup, name)
    there = apply_edits(setup, [{"move": name, "x": x, "y": y}])
    back = apply_edits(there, [{"move": name, "x": home[0], "y": home[1]}])
    assert math.dist(spot(back, name), home) < ROUNDED


@FEWER
@given(UNITS, st.floats(0.5, 2.2))
def test_a_raise_changes_the_height_alone(units, z):
    setup = SETUPS[units]
    raised = apply_edits(setup, [{"raise": "light.key", "z": z}])
    assert abs(spot(raised, "light.key")[2] - z) < ROUNDED
    assert spot(raised, "light.key")[:2] == spot(setup, "light.key")[:2]
    assert same_but(setup, raised, "light.key")


@FEWER
@given(UNITS, st.floats(-80.0, 80.0))
def test_a_turn_of_the_head_is_kept_to_half_a_degree(units, deg):
    turned = apply_edits(SETUPS[units], [{"turn": "sitter.head", "deg": deg}])
    assert abs(turned.sitter.turn_deg - deg) <= 0.2501
    assert turned.sitter.turn_deg * 2 == round(turned.sitter.turn_deg * 2)
    assert same_but(SETUPS[units], turned, "sitter")


@FEWER
@given(UNITS, st.floats(-170.0, 170.0))
def test_a_light_turned_away_and_back_is_aimed_at_the_face(units, deg):
    setup = SETUPS[units]
    turned = apply_edits(setup, [{"turn": "light.key", "deg": deg}])
    assert spot(turned, "light.key") == spot(setup, "light.key")
    again = apply_edits(turned, [{"turn": "light.key", "deg": 0}])
    assert again == setup


@FEWER
@given(UNITS, st.floats(-0.3, 0.3), st.floats(-0.5, 0.5))
def test_moving_the_stool_leaves_everything_else_in_its_place_in_the_room(units, x, y):
    setup = SETUPS[units]
    moved = apply_edits(setup, [{"move": "sitter", "x": x, "y": y}])
    dx = setup.room.camera_left_m - moved.room.camera_left_m
    dy = moved.room.behind_sitter_m - setup.room.behind_sitter_m
    assert math.dist((dx, dy), (x, y)) < ROUNDED
    for name in STANDING:
        now = spot(moved, name)
        assert math.dist((now[0] + dx, now[1] + dy, now[2]), spot(setup, name)) < 0.001
    assert moved.sitter == setup.sitter
    if math.hypot(dx, dy) > 0.03:
        assert "stool moved" in edits_in_words(setup, moved)


@FEWER
@given(UNITS, st.sampled_from([*STANDING, "companion.Ada, loans"]), st.floats(-1.7, 1.7))
def test_an_edited_setup_reads_back_from_its_file(units, name, x):
    moved = apply_edits(SETUPS[units], [{"move": name, "x": x, "y": 1.1}])
    assert setup_from_mapping(json.loads(json.dumps(setup_to_mapping(moved)))) == moved
    assert setup_from_toml(setup_to_toml(moved)) == moved


def test_us_setups_are_written_in_inches():
    moved = apply_edits(SETUPS["us"], [{"move": "light.key", "x": 1.03, "y": 0.7, "z": 1.62}])
    place = next(one for one in setup_to_mapping(moved)["light"] if one["name"] == "key")["place"]
    assert place["distance"] == "4 ft 1 in"
    assert place["height"] == "5 ft 4 in"
    shifted = apply_edits(SETUPS["us"], [{"move": "sitter", "x": 0.1, "y": 0.1}])
    assert " m" not in json.dumps(setup_to_mapping(shifted)["camera"]["place"])


def test_typed_text_stays_as_it_was_typed():
    body = setup_to_mapping(SETUPS["metric"]) | {"title": "Friday"}
    body["room"] = {**body["room"], "height": "270 cm"}
    edits = [
        {"set": "light.key.place.height", "value": "74 in"},
        {"set": "light.key.power", "value": "1/4 + 0.3"},
        {"move": "sitter", "x": 0.1, "y": 0.0},
    ]
    edited = edit_body(body, edits)
    key = next(one for one in edited.body["light"] if one["name"] == "key")
    assert key["place"]["height"] == "74 in"
    assert key["power"] == "1/4 + 0.3"
    assert edited.body["room"]["height"] == "270 cm"
    assert setup_from_mapping(edited.body) == edited.setup
    assert edited.setup == apply_edits(setup_from_mapping(body), edits)


def test_a_whole_setup_taken_over_keeps_the_words_of_what_it_leaves():
    before = edit_body(
        setup_to_mapping(SETUPS["metric"]), [{"set": "light.key.power", "value": "1/8 + 0.5"}]
    )
    after = apply_edits(before.setup, [{"raise": "light.bounce", "z": 1.62}])
    taken = whole_body(before.body, before.setup, setup_to_mapping(after))
    assert taken["light"][0]["power"] == "1/8 + 0.5"
    assert setup_from_mapping(taken) == after
    typed = edit_body(before.body, [{"set": "light.bounce.power", "value": "1/4 + 0.5"}])
    assert whole_body(before.body, before.setup, typed.body) == typed.body


def test_nothing_given_is_changed():
    body = setup_to_mapping(SETUPS["metric"])
    before = json.dumps(body)
    edit_body(body, [{"move": "light.key", "x": 1.0, "y": 1.0}, {"remove": "light.bounce"}])
    assert json.dumps(body) == before


def test_null_takes_an_optional_field_out():
    setup = apply_edits(SETUPS["metric"], [{"set": "light.key.stand.highest", "value": "3 m"}])
    assert setup.lights[0].stand.highest_m == 3.0
    gone = apply_edits(setup, [{"set": "light.key.stand", "value": None}])
    assert gone.lights[0].stand is None
    assert gone == SETUPS["metric"]


def test_what_a_boom_stands_on_goes_along():
    boom = {
        "kind": "boom",
        "boom_out": "0.8 m",
        "base": {"distance": "2 m", "side": "60 deg camera-left"},
    }
    setup = apply_edits(SETUPS["metric"], [{"set": "light.key.stand", "value": boom}])
    x, y, _ = spot(setup, "light.key")
    moved = apply_edits(setup, [{"move": "light.key", "x": x - 0.2, "y": y + 0.3}])
    before, after = (one.lights[0].stand.base.position_m for one in (setup, moved))
    assert math.dist((after[0] - before[0], after[1] - before[1]), (-0.2, 0.3)) < 2 * ROUNDED


def test_other_things_move_along_what_they_are_fixed_to():
    setup = SETUPS["metric"]
    moved = apply_edits(
        setup,
        [
            {"move": "companion.Ada, loans", "x": -0.7, "y": 0.2},
            {"move": "window.north", "x": 9.0, "y": 0.5},
            {"move": "backdrop", "x": 1.0, "y": -1.3},
            {"move": "walkway.door", "x": 0.0, "y": 3.1},
            {"move": "walkway.door.start", "x": 1.5, "y": 3.0},
            {"move": "circuit.wall 1", "x": -1.0, "y": 0.4},
            {"move": "light.hair.back.aim", "x": 0.3, "y": 0.4, "z": 1.0},
        ],
    )
    one = moved.companions[0]
    assert (one.across_m, one.back_m) == (-0.7, -0.2)
    assert moved.windows[0].along_m == 0.5
    assert moved.backdrop.distance_m == 1.3
    assert math.dist(moved.walkways[0].start.position_m, (1.5, 3.0)) < ROUNDED
    assert abs(moved.walkways[0].end.position_m[1] - 3.1) < ROUNDED
    assert math.dist(moved.circuits[0].outlet.position_m, (-1.0, 0.4)) < ROUNDED
    assert math.dist(moved.lights[1].aim.position_m, (0.3, 0.4, 1.0)) < ROUNDED


@given(st.floats(-20.0, 20.0), UNITS, st.floats(1.0, 4.0))
def test_a_backdrop_that_is_dragged_on_stays_between_sitter_and_wall(y, system, behind):
    room = [
        {"set": "units", "value": system},
        {"set": "backdrop.distance", "value": "0.5 m"},
        {"set": "room.behind_sitter", "value": f"{behind:.3f} m"},
    ]
    setup = apply_edits(next(iter(demo_setups())).setup, room)
    moved = apply_edits(setup, [{"move": "backdrop", "x": 3.0, "y": y}])
    far = moved.backdrop.distance_m
    assert NEAREST_BACKDROP_M <= far <= moved.room.behind_sitter_m
    if NEAREST_BACKDROP_M < -y < behind:
        assert abs(far + y) <= 2 * ROUNDED


def test_a_renamed_circuit_keeps_its_lights():
    renamed = apply_edits(SETUPS["us"], [{"rename": "circuit.wall 1", "name": "stage"}])
    assert renamed.lights[0].circuit == "stage"
    gone = apply_edits(renamed, [{"remove": "circuit.stage"}])
    assert gone.lights[0].circuit is None


REFUSED = [
    ({"move": "light.kye", "x": 1, "y": 1}, 'did you mean "key"?'),
    ({"move": "lgiht.key", "x": 1, "y": 1}, 'did you mean "light"?'),
    ({"move": "light.key", "x": 9, "y": 1}, "inside the wall"),
    ({"move": "sitter", "x": 9, "y": 0}, "outside the room"),
    ({"move": "room", "x": 1, "y": 1}, "no place on the floor"),
    ({"move": "light.key", "x": "left", "y": 1}, "a number of metres"),
    ({"move": "light.key", "x": float("nan"), "y": 1}, "a number of metres"),
    ({"raise": "light.key", "z": 2.65}, "touch the ceiling"),
    ({"raise": "light.key", "z": 0.1}, "touch the floor"),
    ({"raise": "light.key"}, "say z"),
    ({"turn": "sitter.body", "deg": 10}, "turn the head"),
    ({"turn": "sitter.head", "deg": 120}, "check the number"),
    ({"aim": "light.key", "at": "floor"}, "say one of these"),
    ({"set": "light.key.place.height", "value": 1.9}, "has no unit"),
    ({"set": "light.key.placement", "value": "1.9 m"}, 'did you mean "place"?'),
    ({"set": "camera.aperture", "value": None, "move": "camera"}, "say one of these"),
    ({"set": "room.width"}, "say value"),
    ({"add": "chair"}, "say what to add"),
    ({"add": "backdrop"}, "there is one already"),
    ({"remove": "camera"}, "a setup needs it"),
    ({"rename": "light.key", "name": "white"}, "another name"),
    ({"rename": "light.key", "name": ""}, "say name"),
    ("move", "say one of these"),
    ({"move": 3}, "name a thing"),
]


@pytest.mark.parametrize(("edit", "words"), REFUSED, ids=lambda one: str(one)[:40])
def test_what_cannot_be_is_refused_in_one_line(edit, words):
    with pytest.raises(EditError) as caught:
        apply_edits(SETUPS["metric"], [edit])
    text = str(caught.value)
    assert words in text
    assert "\n" not in text
    assert "allowed: " in text
    assert str(pickle.loads(pickle.dumps(caught.value))) == text


def test_a_stated_stand_ends_a_raise_and_an_assumed_one_does_not():
    low = apply_edits(SETUPS["metric"], [{"set": "light.key.stand.highest", "value": "1.9 m"}])
    with pytest.raises(EditError, match="its stand reaches no higher"):
        apply_edits(low, [{"raise": "light.key", "z": 2.2}])
    assert apply_edits(SETUPS["metric"], [{"raise": "light.key", "z": 2.2}]).lights[0].stand is None


WORDS = [
    ([{"raise": "light.key", "z": 1.99}], "key: 9 cm up, now 1.99 m high"),
    ([{"turn": "sitter.head", "deg": -12}], "sitter: head turned to 12° camera-right"),
    ([{"set": "light.key.power", "value": "1/4"}], "key: power now 1/4, was 1/8"),
    ([{"set": "light.key.on", "value": False}], "key off"),
    ([{"rename": "light.key", "name": "main"}], "key is now called main"),
    ([{"remove": "panel.white"}], "panel white taken away"),
    ([{"aim": "light.key", "at": "ceiling"}], "key: aimed at the ceiling"),
    ([{"set": "camera.aperture", "value": "f/5.6"}], "camera: aperture now f/5.6, was f/8"),
    (
        [{"move": "sitter", "x": 0.1, "y": -0.2}],
        "sitter: stool moved 10 cm to camera-left and 20 cm towards the background",
    ),
]


@pytest.mark.parametrize(("edits", "words"), WORDS, ids=lambda one: str(one)[:40])
def test_changes_are_told_in_plain_words(edits, words):
    setup = SETUPS["metric"]
    assert edits_in_words(setup, apply_edits(setup, edits)) == words


def test_setups_to_begin_with():
    for units in ("metric", "us"):
        blank = blank_setup(units)
        assert blank.units == units
        assert not blank.lights
        assert "no light yet" in setup_summary(blank)
    troubled, cured = demo_setups()
    assert troubled.title != cured.title
    assert setup_summary(troubled.setup).startswith("Ines, with glasses · 2 lights · 85 mm")
