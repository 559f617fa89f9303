"""A photographer lays the plan on the floor with a tape measure."""

import re

import numpy as np
import pytest

POINTS_PER_M = 72 / 0.0254
INK_PT = 0.02  # coordinates are written to a hundredth of a point


def scale_of(drawn):
    """Points on the page for a metre, from the words beside the scale bar."""
    (note,) = [word for word in drawn.words() if word.endswith("on A4")]
    ratio = re.match(r"1:(\d+) on A4", note)
    if ratio:
        return POINTS_PER_M / float(ratio[1])
    part = re.match(r"([\d/]+) in = 1 ft on A4", note)[1]
    top, _, bottom = part.partition("/")
    return POINTS_PER_M * float(top) / float(bottom or 1) / 12


def middle(path):
    """Middle of the box around an outline."""
    points = np.concatenate(path)
    return (points.min(axis=0) + points.max(axis=0)) / 2


def tape_marks(drawn):
    """Middle of each cross of tape on the floor, in the order of the lights."""
    return [
        np.mean([middle(one) for one in map(drawn.points, group)], axis=0)
        for group in drawn.groups("tape mark")
    ]


@pytest.fixture
def plan(library):
    def drawn(**stated):
        found = library.plan(**stated)
        found.points = library.points_of
        return found

    return drawn


@pytest.mark.parametrize("units", ["metric", "us"])
def test_tape_marks_lie_where_the_tape_measure_puts_them(plan, units):
    drawn = plan(units=units)
    key, fill = tape_marks(drawn)
    apart = np.hypot(*(key - fill)) / scale_of(drawn)
    between = np.sqrt(1.5**2 + 2.1**2 - 2 * 1.5 * 2.1 * np.cos(np.deg2rad(30 + 14)))
    assert apart == pytest.approx(between, abs=2 * INK_PT / scale_of(drawn) + 0.002)


def test_the_camera_is_at_the_foot_and_camera_left_on_the_left(plan):
    key, fill = tape_marks(plan())
    (view,) = plan().groups("camera")
    camera = np.mean([middle(plan().points(path)) for path in view.iter() if path.get("d")], axis=0)
    assert key[0] < camera[0] < fill[0]
    assert camera[1] > key[1]


def test_each_light_says_name_tape_distance_side_and_height(plan):
    words = plan().words()
    at = words.index("key")
    assert words[at + 1 : at + 3] == ["1.50 m, 30° camera-left", "1.40 m high"]


def test_us_units_are_used_throughout(plan):
    words = plan(units="us").words()
    at = words.index("key")
    assert words[at + 1 : at + 3] == ["4 ft 11 in, 30° camera-left", "4 ft 7 in high"]
    assert [word for word in words if re.search(r"\d m\b", word)] == []


def test_reference_points_add_two_distances_to_every_stand(plan):
    words = plan(references=True).words()
    x, y = 1.5 * np.sin(np.deg2rad(30)), 1.5 * np.cos(np.deg2rad(30))
    a, b = np.hypot(2.7 - x, 2.0 + y), np.hypot(2.7 + x, 2.0 + y)
    assert f"from A {a:.2f} m, B {b:.2f} m" in words


def test_a_softbox_is_drawn_as_wide_as_it_is(plan):
    drawn = plan(key_height="1.20 m", key_side="0 deg")
    light = drawn.groups("light")[0]
    (body,) = drawn.paths("body", inside=light)
    width, depth = np.ptp(np.concatenate(body), axis=0) / scale_of(drawn)
    np.testing.assert_allclose((width, depth), (0.60, 0.40), atol=0.003)


def test_an_octagonal_box_is_an_octagon_from_below(plan):
    drawn = plan(modifier="octagonal box 110 cm", key_height="2.6 m", key_side="0 deg")
    light = drawn.groups("light")[0]
    (face,) = drawn.paths("face", inside=light)
    assert len(face[0]) == 8


def test_a_wall_far_away_is_broken_off_with_the_way_left(plan, library):
    drawn = plan(more=library.crowded)
    (words,) = [word for word in drawn.words() if word.endswith("farther")]
    (broken,) = drawn.paths("break")
    walls = [drawn.points(path)[0] for path in drawn.groups("walls")[0] if path.get("d")]
    back_wall = min(
        (line for line in walls if len(line) == 2 and np.ptp(line[:, 1]) == 0),
        key=lambda line: -np.ptp(line[:, 0]),
    )
    shown_m = (broken[0][0, 1] - back_wall[0, 1]) / scale_of(drawn)
    left_m = float(re.match(r"wall ([\d.]+) m", words)[1])
    assert shown_m + left_m == pytest.approx(7.0, abs=0.01)


def test_everything_else_in_the_room_is_named(plan, library):
    words = plan(more=library.crowded).words()
    for name in ("white card", "north window", "laptop", "backdrop", "hair", "camera", "Ines"):
        assert name in words


def test_a_bounced_flash_shows_its_patch_on_the_ceiling(plan, library):
    drawn = plan(more=library.crowded)
    (bounce,) = drawn.groups("bounce")
    patches = [drawn.points(path)[0] for path in bounce if path.get("d")]
    low = np.min([patch.min(axis=0) for patch in patches], axis=0)
    high = np.max([patch.max(axis=0) for patch in patches], axis=0)
    light = tape_marks(drawn)[2]
    assert (low - 40 < light).all()
    assert (light < high + 40).all()


def test_the_sitter_turns_as_posed(plan):
    turned = plan(turn="40 deg camera-left").words()
    assert "face 40° camera-left" in turned
