"""What a sightline map and moves say in words agrees with their sheets, the room and a check."""

import re
import warnings

import numpy as np
import pytest

from tapemark.analysis import light_face
from tapemark.analysis.frame_clearance import light_parts
from tapemark.drawing import map_drawing
from tapemark.errors import SetupError
from tapemark.planning import judge, open_heights, sightline_map
from tapemark.planning.moves.single import light_moves
from tapemark.planning.moves.words import also_found
from tapemark.planning.moves.words import move_text as words_of
from tapemark.planning.reach import UNDER_CEILING_M, light_reach
from tapemark.planning.sightlines.map_words import (
    heights_text,
    move_text,
    place_text,
    reach_text,
    state_text,
)
from tapemark.studio import changed, setup_from_toml, setup_to_mapping
from tapemark.units import format_mark, parse_length_m

ROOM = '{ width = "5.4 m", length = "7 m", height = "2.75 m", behind_sitter = "2 m" }'
CAMERA = '{ place = { distance = "2 m", height = "1.20 m" }, focal_length = "85 mm" }'
GLASSES = '{ preset = "mild short-sighted, medium frame" }'
BOX = "medium softbox 60x90 cm"
NEAR = '{ distance = "1.5 m", side = "25 deg camera-left", height = "1.35 m" }'
US_ROOM = '{ width = "16 ft", length = "22 ft", height = "9 ft", behind_sitter = "6 ft" }'
US_PLACE = '{ distance = "5 ft", side = "25 deg camera-left", height = "4 ft 6 in" }'
METRES = re.compile(r"\d m\b")


def setup_of(*, room=ROOM, place=NEAR, aim='"face"', modifier=BOX, camera=CAMERA, more=""):
    """A sitter in mild glasses and one light."""
    return setup_from_toml(
        f'{more}\nroom = {room}\nsitter = {{ name = "Ann", eye_height = "1.20 m", '
        f"glasses = {GLASSES} }}\ncamera = {camera}\n"
        f'light = [{{ name = "key", head = "400 Ws studio head", modifier = "{modifier}", '
        f'place = {place}, aim = {aim}, power = "1/8" }}]\n'
    )


@pytest.fixture(scope="module")
def us():
    return setup_of(room=US_ROOM, place=US_PLACE, more='units = "us"')


@pytest.fixture(scope="module")
def tiny():
    room = '{ width = "2 m", length = "3.2 m", height = "2.1 m", behind_sitter = "0.6 m" }'
    place = '{ distance = "1.0 m", side = "20 deg camera-left", height = "1.3 m" }'
    camera = '{ place = { distance = "2 m", height = "1.20 m" }, focal_length = "50 mm" }'
    return setup_of(room=room, place=place, camera=camera)


@pytest.mark.parametrize(
    ("length_m", "told"),
    [(1.86055, "6 ft 1 1/4 in"), (1.8542, "6 ft 1 in"), (0.0127, "1/2 in"), (1.8288, "6 ft")],
)
def test_a_us_mark_is_told_to_the_quarter_inch_and_reads_back(length_m, told):
    assert format_mark(length_m, system="us") == told
    assert parse_length_m(told) == pytest.approx(length_m, abs=1e-9)


def test_a_us_move_lands_on_what_it_says(us):
    up = next(one for one in light_moves(us, us.lights[0]) if one.toward == "up")
    after = up.after(us, 77)
    said = words_of(up, 77, before=us, after=after)
    assert said == "raise key 19 1/4 in, to 6 ft 1 1/4 in"
    assert after.lights[0].place.height_m == parse_length_m("6 ft 1 1/4 in")
    assert setup_to_mapping(after)["light"][0]["place"]["height"] == "6 ft 1.25 in"


@pytest.mark.parametrize("toward", ["up", "camera-left", "away"])
def test_every_place_a_move_ends_at_is_the_printed_one(toward):
    odd = '{ distance = "1.5037 m", side = "25.03 deg camera-left", height = "1.3716 m" }'
    setup = setup_of(place=odd)
    move = next(one for one in light_moves(setup, setup.lights[0]) if one.toward == toward)
    for steps in (1, 2, 7):
        after = move.after(setup, steps)
        changed_m = {"up": "height_m", "camera-left": "side_deg", "away": "distance_m"}[toward]
        value = getattr(after.lights[0].place, changed_m)
        was = getattr(setup.lights[0].place, changed_m)
        assert round(value, 1 if toward == "camera-left" else 2) == value
        assert value - was == pytest.approx(move.amount(steps), abs=0.5 * move.step + 1e-9)


@pytest.mark.parametrize("toward", ["up", "away", "camera-right"])
def test_us_setups_stay_in_feet_and_inches(us, toward):
    for move in light_moves(us, us.lights[0]):
        if move.toward == toward:
            assert not METRES.search(str(setup_to_mapping(move.after(us, 5))["light"]))


def test_a_us_map_names_a_place_that_is_open_as_printed(us):
    found = sightline_map(us, "key")
    high = re.search(r"camera-left, (.*) high", place_text(found.best, us)).group(1)
    assert parse_length_m(high) == pytest.approx(found.best.height_m, abs=1e-9)
    by = re.search(r"raise (.*?) in", move_text(found)).group(0).removeprefix("raise ")
    rise = found.best.height_m - found.now.height_m
    assert parse_length_m(by) == pytest.approx(rise, abs=1e-9)
    assert judge(found.moved(found.best)).verdict == "clear"
    assert not METRES.search(str(setup_to_mapping(found.moved(found.best))["light"]))


def test_open_heights_respect_walls_and_the_picture(tiny):
    found = sightline_map(tiny, "key")
    told = {one.side_deg: heights_text(one, tiny) for one in open_heights(found.heights)}
    assert found.best is None
    assert told[75.0] == told[60.0] == "beyond the wall"
    assert all("open" not in text for text in told.values()), told


def test_open_heights_tell_where_an_eye_loses_the_light():
    setup = setup_of()
    sheet = sightline_map(setup, "key").heights
    _, column = sheet.nearest(side_deg=75.0, distance_m=1.5, height_m=1.5)
    assert sheet.lost[sheet.free[:, column], column].all()
    (one,) = open_heights(sheet, (75.0,))
    assert heights_text(one, setup).endswith("but no catchlight in one eye")
    (aside,) = open_heights(sheet, (30.0,))
    assert "catchlight" not in heights_text(aside, setup)


def test_map_and_moves_keep_the_same_air_under_the_ceiling():
    setup = setup_of()
    found = sightline_map(setup, "key")
    told = re.search(r"to ([\d.]+) m \(ceiling\)", reach_text(found.heights, setup)).group(1)
    highest = float(told)

    def top_m(height_m):
        light = raised(height_m).lights[0]
        parts = light_parts(light, light_face(light, setup), setup)
        return max(float(points[:, 2].max()) for name, points in parts if name == "body")

    def raised(height_m):
        light = setup.lights[0]
        return changed(
            setup,
            {"lights": (changed(light, {"place": changed(light.place, {"height_m": height_m})}),)},
        )

    limit = setup.room.height_m - UNDER_CEILING_M
    assert top_m(highest) <= limit + 1e-6
    assert top_m(highest + 0.03) > limit
    reaches = light_reach("key", setup)
    assert reaches(raised(highest))
    assert not reaches(raised(highest + 0.03))


@pytest.mark.parametrize(
    ("side", "out"), [("30 deg camera-left", "0.5 m"), ("170 deg camera-left", "1.3 m")]
)
def test_a_light_that_does_not_light_the_face_is_refused_in_one_line(side, out):
    place = f'{{ distance = "1 m", side = "{side}", height = "1.8 m" }}'
    aim = f'{{ distance = "{out}", side = "{side}", height = "2.75 m" }}'
    setup = setup_of(place=place, aim=aim, modifier="reflector dish 18 cm")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(SetupError, match="lights the face directly") as caught:
            sightline_map(setup, "key")
    assert 'aim = "face"' in str(caught.value)


@pytest.fixture(scope="module")
def behind():
    place = '{ distance = "1.5 m", side = "150 deg camera-left", height = "1.6 m" }'
    return sightline_map(setup_of(place=place), "key")


def test_a_light_behind_the_sitter_is_asked_for_no_catchlight(behind):
    assert not behind.heights.lost.any()
    assert "catchlight" not in state_text(behind.now)
    assert behind.now.height_m == 1.6


def test_a_light_behind_the_sitter_has_open_heights(behind):
    sides = [one.side_deg for one in open_heights(behind.heights)]
    assert sides == [
        105.0,
        120.0,
        135.0,
        150.0,
        165.0,
        180.0,
        -165.0,
        -150.0,
        -135.0,
        -120.0,
        -105.0,
    ]


def test_out_of_the_picture_keeps_a_step_from_its_edge(behind):
    sheet = behind.heights
    row, side = sheet.nearest(side_deg=behind.best.side_deg, distance_m=1.5, height_m=1.6)
    assert not sheet.limits.frame[row, side - 1 : side + 2].any()
    assert behind.best.height_m == 1.6


def test_a_place_that_takes_an_only_catchlight_is_least_bad():
    low = '{ width = "5.4 m", length = "7 m", height = "2.05 m", behind_sitter = "2 m" }'
    near = '{ distance = "1.2 m", side = "15 deg camera-left", height = "1.3 m" }'
    octa = setup_of(room=low, place=near, modifier="octagonal box 110 cm")
    found = sightline_map(octa, "key")
    assert found.best is not None
    assert "catchlight" in found.best.against
    assert found.least_bad
    assert "least bad" in move_text(found)
    assert not sightline_map(setup_of(), "key").least_bad


def test_in_a_group_a_closed_place_names_whose_lens(tiny):
    friend = (
        'companion = [{ name = "Tom", across = "0.55 m camera-right", back = "0.2 m", '
        'eye_height = "1.25 m", glasses = { preset = "everyday progressive" } }]'
    )
    pair = sightline_map(setup_of(more=friend), "key")
    assert re.search(r"over the eye of (Ann|Tom) \(", state_text(pair.now))
    assert pair.now.whose in ("Ann", "Tom")
    alone = sightline_map(setup_of(), "key")
    assert "Ann" not in state_text(alone.now)


def test_moves_lead_with_what_else_a_check_finds(tiny):
    lines = also_found(judge(tiny, guesses=False))
    assert any("key is in the frame" in one for one in lines)
    assert not any("veiled" in one for one in lines)
    assert also_found(judge(setup_of(), guesses=False)) == ()
    assert np.ndim(lines) == 1


def test_the_floor_shows_companions_and_a_light_stays_under_the_ceiling_line():
    others = "".join(
        f'{{ name = "{name}", across = "0.55 m {side}", back = "0.2 m", eye_height = "1.25 m", '
        f"glasses = {GLASSES} }}, "
        for name, side in (("Tom", "camera-right"), ("Uli", "camera-left"))
    )
    found = sightline_map(setup_of(more=f"companion = [{others}]"), "key")
    text = map_drawing(found)
    assert ">Tom<" in text
    assert ">Uli<" in text
    assert found.best is not None
    best = re.search(r'"light best"><path d="M([\d.]+) ([\d.]+)', text)
    top = re.search(r'"map heights"[^>]*>.*?<rect[^>]*y="([\d.]+)"', text, re.DOTALL)
    assert best is not None
    assert top is not None
    assert float(best.group(2)) >= float(top.group(1)) + 3.0
