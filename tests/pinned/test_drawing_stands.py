"""An assistant tapes the feet of the stands, booms too, and lays the cables by the plan."""

import numpy as np
import pytest

from tapemark.analysis import rigs
from tapemark.drawing.page import MARGIN_PT
from tapemark.drawing.text_width import text_width

POINTS_PER_M = 72 / 0.0254
ACROSS_M = 0.002  # coordinates are written to a hundredth of a point

BOOM = """
[[light]]
name = "hair"
head = "200 Ws studio head"
modifier = "strip 30x120 cm"
place = { distance = "0.5 m", side = "180 deg", height = "1.9 m" }
power = "1/4"
[light.stand]
preset = "boom on a heavy stand"
"""
BASE = 'base = { distance = "1.5 m", side = "70 deg camera-left" }'
FLOOR = """
[[circuit]]
name = "wall"
voltage = "230 V"
breaker = "16 A"
outlet = { distance = "2.5 m", side = "75 deg camera-left" }
[[walkway]]
name = "door to desk"
start = { distance = "2.6 m", side = "70 deg camera-right" }
end = { distance = "2.6 m", side = "45 deg camera-right" }
width = "0.9 m"
"""
FIXED = BOOM.replace("boom on a heavy stand", "fixed to the building").replace("hair", "rail")


def scale_of(drawn):
    (note,) = [word for word in drawn.words() if word.endswith("on A4")]
    return POINTS_PER_M / float(note.split()[0].partition(":")[2])


def boom_of(library, more):
    return rigs(library.scene(more=more).setup)[2]


def from_key(drawn, rig, *, key):
    """Where something at the foot of a column is on the plan, laid out from the key's tape [pt]."""
    x, y = np.subtract(rig.base_m, key.light.place.position_m[:2])
    return np.array([-x, y]) * scale_of(drawn)


def middle(group, library):
    marks = [library.points_of(path)[0] for path in group if path.get("d")]
    return np.mean([(one.min(axis=0) + one.max(axis=0)) / 2 for one in marks], axis=0)


@pytest.mark.parametrize("more", [BOOM + BASE, BOOM], ids=["described", "assumed"])
def test_the_plan_has_a_tape_cross_at_the_foot_of_a_boom(library, more):
    drawn = library.plan(more=more)
    key, _fill, boom = rigs(library.scene(more=more).setup)
    (mark,) = drawn.groups("column mark")
    apart = middle(mark, library) - middle(drawn.groups("tape mark")[0], library)
    expected = from_key(drawn, boom, key=key)
    np.testing.assert_allclose(apart, expected, atol=ACROSS_M * scale_of(drawn))


def test_the_plan_says_where_the_column_of_a_boom_stands(library):
    words = library.plan(more=BOOM + BASE).words()
    at = words.index("column 1.50 m, 70° camera-left")
    assert words[at + 1] == "carries hair"


def test_reference_points_give_the_distances_of_the_column(library):
    words = library.plan(more=BOOM + BASE, references=True).words()
    x, y = 1.5 * np.sin(np.deg2rad(70)), 1.5 * np.cos(np.deg2rad(70))
    a, b = np.hypot(2.7 - x, 2.0 + y), np.hypot(2.7 + x, 2.0 + y)
    assert words[words.index("carries hair") + 1] == f"from A {a:.2f} m, B {b:.2f} m"


def test_the_arm_goes_from_the_head_over_the_column_to_the_counterweight(library):
    more = BOOM + BASE
    drawn, boom = library.plan(more=more), boom_of(library, more)
    ((arm,),) = drawn.paths("arm")
    foot = middle(drawn.groups("column mark")[0], library)
    head = foot + scale_of(drawn) * np.subtract(boom.head_m[:2], boom.base_m) * (-1, 1)
    near = ACROSS_M * scale_of(drawn)
    np.testing.assert_allclose(arm[:2], (head, foot), atol=near)
    ((block,),) = drawn.paths("counterweight")
    np.testing.assert_allclose(arm[2], (block.min(axis=0) + block.max(axis=0)) / 2, atol=near)
    assert np.hypot(*(arm[2] - foot)) / scale_of(drawn) == pytest.approx(0.7, abs=ACROSS_M)
    assert (arm[2] - foot) @ (head - foot) < 0


def test_the_legs_of_a_stand_reach_as_far_as_described(library):
    drawn = library.plan(more=BOOM + BASE)
    foot = middle(drawn.groups("column mark")[0], library)
    legs = [leg[0] for leg in drawn.paths("leg")]
    own = [leg for leg in legs if np.hypot(*(leg[0] - foot)) < 0.1]
    reach = [np.hypot(*(leg[1] - foot)) / scale_of(drawn) for leg in own]
    assert reach == pytest.approx([0.6, 0.6, 0.6], abs=ACROSS_M)


@pytest.mark.parametrize(("said", "turned"), [("true", 0.0), ("false", 60.0)])
def test_a_leg_points_under_the_load_only_where_that_was_said(library, said, turned):
    drawn = library.plan(more=f"{BOOM}leg_under_load = {said}\n{BASE}")
    ((arm,),) = drawn.paths("arm")
    head, foot = arm[0] - arm[1], arm[1]
    legs = [leg[0] for leg in drawn.paths("leg") if np.hypot(*(leg[0][0] - foot)) < 0.1]
    cosines = [(leg[1] - foot) @ head / np.hypot(*(leg[1] - foot)) for leg in legs]
    nearest = np.degrees(np.arccos(np.clip(max(cosines) / np.hypot(*head), -1, 1)))
    assert nearest == pytest.approx(turned, abs=2.0)


@pytest.mark.parametrize("seen_from", ["camera-left", "camera-right"])
def test_the_elevation_has_the_column_at_its_foot_and_the_arm_at_the_head(library, seen_from):
    more = BOOM + BASE
    drawn = library.elevation(more=more, seen_from=seen_from)
    boom, scale = boom_of(library, more), scale_of(drawn)
    heights = [library.points_of(group.find("./"))[0] for group in drawn.groups("height")]
    hair = max(heights, key=lambda run: np.ptp(run[:, 1]))
    floor, sign = hair[:, 1].max(), 1 if seen_from == "camera-left" else -1
    origin = hair[0, 0] - sign * boom.light.place.position_m[1] * scale
    ((arm,),) = drawn.paths("arm")
    head, top = ((origin + sign * y * scale, floor - z * scale) for y, z in heights_of(boom))
    np.testing.assert_allclose(arm[:2], (head, top), atol=ACROSS_M * scale)
    columns = [column[0] for column in drawn.paths("column")]
    assert min(abs(column[0, 0] - top[0]) for column in columns) < ACROSS_M * scale


def heights_of(boom):
    """Places (y, z) of the head and of the top of the column."""
    return (boom.head_m[1:], (boom.base_m[1], boom.head_m[2]))


def test_an_arm_rises_from_the_highest_its_column_reaches(library):
    drawn = library.elevation(more=f'{BOOM}highest = "1.5 m"\n{BASE}')
    ((arm,),) = drawn.paths("arm")
    floor = max(
        library.points_of(group.find("./"))[0][:, 1].max() for group in drawn.groups("height")
    )
    assert (floor - arm[1, 1]) / scale_of(drawn) == pytest.approx(1.5, abs=ACROSS_M)
    assert arm[0, 1] < arm[1, 1] < arm[2, 1]


def test_what_is_fixed_to_the_building_has_no_legs(library):
    two, three = library.plan().paths("leg"), library.plan(more=FIXED + FLOOR).paths("leg")
    assert len(two) == len(three) == 2 * 3
    assert len(library.elevation(more=FIXED + FLOOR).paths("column")) == 2


def test_stands_under_their_heads_have_neither_arm_nor_column_mark(library):
    drawn = library.plan()
    assert drawn.paths("arm") == []
    assert drawn.groups("column mark") == []


def test_cables_go_straight_from_the_columns_to_the_outlet(library):
    more = BOOM + BASE + FLOOR
    drawn = library.plan(more=more)
    (sign,) = drawn.groups("outlet")
    ring = next(iter(sign))
    outlet = np.array([float(ring.get("cx")), float(ring.get("cy"))])
    runs = [run[0] for run in drawn.paths("cable")]
    near = ACROSS_M * scale_of(drawn)
    assert all(np.hypot(*(run[1] - outlet)) < near for run in runs)
    foot = middle(drawn.groups("column mark")[0], library)
    assert min(np.hypot(*(run[0] - foot)) for run in runs) < near
    assert "wall" in drawn.words()


def test_lights_without_an_outlet_have_no_cable(library):
    more = (BOOM + BASE + FLOOR).replace("outlet =", "#")
    drawn = library.plan(more=more)
    assert drawn.paths("cable") == []
    assert drawn.groups("outlet") == []


def test_a_walkway_is_a_named_band_as_wide_as_described(library):
    drawn = library.plan(more=BOOM + BASE + FLOOR)
    (way,) = drawn.groups("walkway")
    (corners,) = drawn.paths("band", inside=way)[0]
    sides = np.hypot(*np.diff(np.vstack([corners, corners[:1]]), axis=0).T) / scale_of(drawn)
    long = 2 * 2.6 * np.sin(np.deg2rad(12.5))
    assert sorted(sides[sides > 0.1]) == pytest.approx(sorted([0.9, 0.9, long, long]), abs=0.003)
    assert "door to desk" in drawn.words()


def test_far_feet_and_outlets_are_on_the_page(library):
    far = BASE.replace("1.5 m", "2.6 m").replace("70 deg camera-left", "110 deg camera-right")
    more = (BOOM + far + FLOOR).replace("2.5 m", "4.4 m").replace("75 deg", "10 deg")
    drawn = library.plan(more=more)
    wide, high = drawn.size
    foot = middle(drawn.groups("column mark")[0], library)
    ring = next(iter(drawn.groups("outlet")[0]))
    walls = np.concatenate(
        [library.points_of(one)[0] for one in drawn.groups("walls")[0] if one.get("d")]
    )
    for place in (foot, np.array([float(ring.get("cx")), float(ring.get("cy"))])):
        assert (walls.min(axis=0) < place).all()
        assert (place < walls.max(axis=0)).all()
        assert (place < (wide, high)).all()


def test_the_note_on_tape_ends_on_the_page_of_an_upright_plan(library):
    far = BASE.replace("1.5 m", "4.4 m").replace("70 deg", "10 deg")
    drawn = library.plan(more=BOOM + far)
    (note,) = [one for one, text in drawn.texts() if text.startswith("Tape crosses")]
    wide, high = drawn.size
    assert high > wide
    size = float(note.get("font-size"))
    assert float(note.get("x")) + text_width(note.text, size_pt=size) < wide - MARGIN_PT
