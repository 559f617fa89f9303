"""What must hold of a sightline map whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.errors import SetupError
from tapemark.planning import open_heights, sightline_map
from tapemark.planning.sightlines.map_sheet import HARD
from tapemark.planning.sightlines.map_words import heights_text, move_text, reach_text, state_text
from tapemark.services import check_setup, demo_setup_text
from tapemark.studio import changed, setup_from_toml

LENS_COVER = 0.015  # what the scatter of the rays leaves; see tests/cross/test_map_brute_force.py


def library(stem="troubled"):
    return setup_from_toml(demo_setup_text(f"quillmere-{stem}"))


def key_alone(**light):
    setup = library()
    return changed(setup, {"lights": (changed(setup.lights[0], light),)})


def at(distance_m=1.5, side_deg=30.0, height_m=1.4):
    return {"distance_m": distance_m, "side_deg": side_deg, "height_m": height_m}


@pytest.fixture(scope="module")
def troubled():
    return sightline_map(library(), "key")


def test_a_mirrored_setup_has_the_mirrored_map():
    alike = {"right": {"sphere_d": -2.0}, "left": {"sphere_d": -2.0}}
    setup = key_alone()
    glasses = changed(setup.sitter.glasses, alike)
    setup = changed(setup, {"sitter": changed(setup.sitter, {"glasses": glasses})})
    sheet = sightline_map(setup, "key").heights
    for one in (sheet.lens_cover, sheet.veil):
        mirrored = one[:, ::-1, :, ::-1]
        assert np.abs(one - mirrored).max() < 0.06
    assert np.abs(sheet.lens_cover - sheet.lens_cover[:, ::-1, :, ::-1]).max() < 2 * LENS_COVER
    np.testing.assert_array_equal(sheet.brow, sheet.brow[:, ::-1])
    np.testing.assert_array_equal(sheet.pattern, sheet.pattern[:, ::-1])
    np.testing.assert_array_equal(sheet.limits.any(), sheet.limits.any()[:, ::-1])


@settings(max_examples=6, deadline=None)
@given(side=st.floats(-85.0, 85.0), height=st.floats(0.6, 2.2), distance=st.floats(0.9, 2.2))
def test_both_sheets_are_the_same_where_they_meet(side, height, distance):
    place = at(distance_m=distance, side_deg=side, height_m=height)
    found = sightline_map(key_alone(place=place), "key")
    sheets = (found.heights, found.floor)
    covers = []
    for sheet in sheets:
        _, column = sheet.nearest(**place)
        rows = sheet.rows
        along = rows.height_m if sheet is found.heights else rows.distance_m
        wanted = height if sheet is found.heights else distance
        own = sheet.lens_cover[0, :, :, column]
        covers.append([np.interp(wanted, along, lens) for lens in own])
    assert np.abs(np.subtract(*covers)).max() < 0.03


@settings(max_examples=6, deadline=None)
@given(side=st.floats(-70.0, 70.0), height=st.floats(1.0, 2.1))
def test_the_best_place_holds_under_a_whole_check(side, height):
    found = sightline_map(key_alone(place=at(side_deg=side, height_m=height)), "key")
    assert found.best is not None
    report = check_setup(found.moved(found.best))
    assert report.verdict == "clear"
    assert not {"light-in-frame", "light-above-ceiling"} & {one.code for one in report.findings}
    if not found.best.against:
        assert all(
            any(c.visible and c.side == eye for c in report.catchlights)
            for eye in ("right", "left")
        )


def test_a_light_that_is_open_stays_where_it_is():
    found = sightline_map(library("cured"), "key")
    assert found.now.verdict == "clear"
    assert found.best == found.now
    assert move_text(found) == "Leave key where it is: open."
    assert state_text(found.now) == "open"


def test_the_best_place_is_open_in_reach_and_not_next_to_a_closed_one(troubled):
    best, sheet = troubled.best, troubled.heights
    row, side = sheet.nearest(
        side_deg=best.side_deg, distance_m=best.distance_m, height_m=best.height_m
    )
    assert sheet.good[row, side]
    assert not sheet.closed[row - 1 : row + 2, side - 1 : side + 2].any()
    assert best.height_m > troubled.now.height_m
    assert abs(best.side_deg - 30.0) <= 5.0


def test_farther_away_the_same_light_needs_more_power(troubled):
    power = troubled.floor.power_stops
    assert (np.diff(power) > 0).all()
    over = troubled.floor.rows.distance_m[-1] / troubled.floor.rows.distance_m[-2]
    assert power[-1] - power[-2] == pytest.approx(2 * np.log2(over), abs=0.05)


def test_a_dimmer_head_reaches_less_far():
    far = {}
    for stops in (-4.0, 0.0):
        floor = sightline_map(key_alone(power_stops=stops), "key").floor
        far[stops] = int(floor.limits.power.any(axis=1).sum())
    assert far[-4.0] == 0
    assert far[0.0] > 5


def test_a_lower_ceiling_and_a_shorter_stand_leave_less(troubled):
    setup = key_alone(stand={"weight_kg": 3.0, "leg_radius_m": 0.5, "highest_m": 1.6})
    short = sightline_map(setup, "key").heights
    assert short.limits.stand.any()
    lowest = short.rows.height_m[short.limits.stand.all(axis=1)].min()
    assert 1.4 < lowest < 1.65  # the head hangs a little higher than the middle of the face
    assert not troubled.heights.limits.stand[troubled.heights.rows.height_m < 2.0].any()
    room = changed(library().room, {"height_m": 2.4})
    low = changed(key_alone(), {"room": room, "backdrop": None})
    tops = [
        one.rows.height_m[~one.limits.ceiling.all(axis=1)].max()
        for one in (sightline_map(low, "key").heights, troubled.heights)
    ]
    assert tops[1] - tops[0] == pytest.approx(2.75 - 2.4, abs=0.07)


def test_what_stands_before_a_light_hides_its_place(troubled):
    floor = troubled.floor
    behind_fill, side = floor.nearest(side_deg=-15.0, distance_m=2.9, height_m=1.4)
    before, _ = floor.nearest(side_deg=-15.0, distance_m=2.1, height_m=1.4)
    assert floor.limits.blocked[behind_fill, side]
    assert not floor.limits.blocked[before, side]


def test_without_glasses_every_place_is_open():
    setup = library()
    setup = changed(setup, {"sitter": changed(setup.sitter, {"glasses": None})})
    found = sightline_map(setup, "key")
    assert not found.heights.closed.any()
    assert found.heights.lost.any()
    assert found.now.verdict == "clear"


def test_a_light_behind_the_sitter_is_mapped_behind():
    found = sightline_map(key_alone(place=at(side_deg=160.0, height_m=2.0)), "key")
    sides = found.heights.rows.side_deg
    assert (sides.min(), sides.max()) == (90.0, 270.0)
    row, side = found.heights.nearest(side_deg=160.0, distance_m=1.5, height_m=2.0)
    assert sides[side] == pytest.approx(160.0)
    assert not found.heights.veiled[row, side]
    assert found.heights.pattern_at(row, side) in ("rim", "")


def test_open_heights_end_where_the_sheet_turns(troubled):
    heights = {one.side_deg: one for one in open_heights(troubled.heights)}
    sheet = troubled.heights
    for side, one in heights.items():
        _, column = sheet.nearest(side_deg=side, distance_m=1.5, height_m=1.4)
        for row, height in enumerate(sheet.rows.height_m):
            within = any(low < height < high for low, high in one.stretches)
            if one.lowest_m <= height <= one.highest_m:
                assert within == (not sheet.closed[row, column]) or any(
                    min(abs(height - low), abs(height - high)) < 0.06 for low, high in one.stretches
                )
    assert heights_text(heights[30.0], troubled.setup).startswith("open above 1.9")
    assert "ceiling" in reach_text(sheet, troubled.setup)


def test_reasons_name_what_their_masks_hold(troubled):
    sheet = troubled.heights
    row = int(np.argmax(sheet.limits.ceiling.all(axis=1)))
    assert sheet.reasons(row, 90)[0] == "ceiling"
    everything = np.zeros(sheet.rows.shape, dtype=bool)
    for reason in HARD:
        everything |= sheet.where(reason)
    np.testing.assert_array_equal(everything, sheet.limits.any())


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("kye", {}, 'allowed: "key", "fill"'),
        ("key", {"on": False}, "switch it on"),
        ("key", {"aim": "ceiling"}, 'aimed at "ceiling"'),
    ],
)
def test_a_map_that_makes_no_sense_is_refused_with_what_to_do(name, change, says):
    setup = library()
    lights = (changed(setup.lights[0], change), *setup.lights[1:])
    with pytest.raises(SetupError, match=says):
        sightline_map(changed(setup, {"lights": lights}), name)
