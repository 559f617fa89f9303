"""Catchlights as the camera sees them: size, place on the clock, what hides them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.studio import Modifier, changed

MM = 1e-3
CORNEA_MM = 7.8
SIZE_TOLERANCE_MM = 0.02
SIDES = ("right", "left")


def of(report, *, side, source="key"):
    return next(one for one in report.catchlights if (one.side, one.source) == (side, source))


def square(size_m):
    return Modifier(kind="softbox", width_m=size_m, height_m=size_m)


# ---------------------------------------------------------------- size


def straight_up(studio, *, width_m, distance_m, up_deg=8.0):
    """A square light above the camera, so that neither hides the other."""
    up = math.radians(up_deg)
    height_m = studio.eyes_m + distance_m * math.sin(up)
    where = (0.0, distance_m * math.cos(up), height_m)
    return studio.setup([studio.light("key", where, modifier=square(width_m))])


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("width_m", "distance_m"), [(0.3, 1.0), (0.2, 1.5), (0.6, 2.4)])
def test_size_is_that_of_a_convex_mirror(studio, side, width_m, distance_m):
    # The mirror's image, seen from where the light is: W (R/2)/(D + R/2), D from the cornea.
    setup = straight_up(studio, width_m=width_m, distance_m=distance_m)
    one = of(studio.check(setup), side=side)
    half_mm = CORNEA_MM / 2
    expected_mm = 1e3 * width_m * half_mm / (1e3 * distance_m + half_mm)
    np.testing.assert_allclose(one.width_mm, expected_mm, rtol=0, atol=SIZE_TOLERANCE_MM)
    np.testing.assert_allclose(one.height_mm, expected_mm, rtol=0, atol=SIZE_TOLERANCE_MM)


def mirrored_half_width_mm(half_width_mm, distance_mm, *, camera_mm):
    """How far from its middle a ball of the cornea's radius shows a place, by bisection.

    Both on one axis, lengths from the vertex: where the normal halves the angle between the
    paths to the light and to the camera.
    """
    low, high = 0.0, math.pi / 4
    for _ in range(60):
        around = 0.5 * (low + high)
        x, y = CORNEA_MM * math.sin(around), CORNEA_MM * (math.cos(around) - 1.0)
        to_light = math.atan2(half_width_mm - x, distance_mm - y)
        to_camera = math.atan2(-x, camera_mm - y)
        low, high = (around, high) if to_light + to_camera > 2.0 * around else (low, around)
    return CORNEA_MM * math.sin(low)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("width_m", "distance_m"), [(0.6, 1.3), (1.2, 2.4), (1.0, 1.1)])
def test_large_light_is_shown_smaller_than_the_formula_says(studio, side, width_m, distance_m):
    # Far off its axis a ball shows less than the formula for a small light: 3 % at 24 degrees.
    setup = straight_up(studio, width_m=width_m, distance_m=distance_m)
    one = of(studio.check(setup), side=side)
    half_mm = mirrored_half_width_mm(500.0 * width_m, 1e3 * distance_m, camera_mm=2000.0)
    np.testing.assert_allclose(one.width_mm, 2.0 * half_mm, rtol=0, atol=SIZE_TOLERANCE_MM)


def test_upright_softbox_gives_an_upright_catchlight(studio):
    one = of(studio.check(studio.setup([studio.light("key", (0.0, 1.4, 1.6))])), side="right")
    np.testing.assert_allclose(one.height_mm / one.width_mm, 1.5, rtol=0.05)


@given(stretch=st.floats(1.3, 3.0))
def test_larger_light_and_nearer_light_make_a_larger_catchlight(studio, stretch):
    def width(size_m, distance_m):
        light = studio.light("key", (0.3, distance_m, 1.5), modifier=square(size_m))
        return of(studio.check(studio.setup([light])), side="left").width_mm

    middle = width(0.4, 1.5)
    assert width(0.4 * stretch, 1.5) > middle > width(0.4, 1.5 * stretch)


# ---------------------------------------------------------------- clock


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("glasses", [False, True], ids=["bare eyes", "glasses"])
@pytest.mark.parametrize(
    ("where", "first_hour", "last_hour"),
    [
        ((0.9, 1.3, 1.9), 10.0, 11.0),  # up and to camera-left
        ((-0.9, 1.3, 1.9), 1.0, 2.0),  # up and to camera-right
        ((0.0, 1.5, 1.8), 11.9, 12.1),  # straight above; just after 12 is 0.1
        ((1.2, 1.2, 1.2), 8.8, 9.2),  # level, camera-left
        ((-1.2, 1.2, 1.2), 2.8, 3.2),  # level, camera-right
        ((0.0, 1.2, 0.7), 5.9, 6.1),  # below
    ],
)
def test_clock_says_where_the_light_is_as_seen_from_the_camera(
    studio, side, glasses, where, first_hour, last_hour
):
    worn = studio.worn() if glasses else None
    lights = [studio.light("key", where, modifier=square(0.4))]
    clock = of(studio.check(studio.setup(lights, glasses=worn)), side=side).clock
    assert first_hour <= clock <= last_hour or first_hour <= clock + 12.0 <= last_hour


def test_clock_runs_from_above_nothing_to_twelve(studio):
    hours = []
    for turn in range(0, 360, 30):
        around = math.radians(turn)
        where = (-0.6 * math.sin(around), 1.5, 1.2 + 0.45 * math.cos(around))
        light = studio.light("key", where, modifier=square(0.2))
        hours.append(of(studio.check(studio.setup([light])), side="right").clock)
    assert all(0.0 < hour <= 12.0 for hour in hours)
    steps = np.diff(np.unwrap(np.array(hours) * math.pi / 6.0))
    assert np.all(steps > 0.0)  # clockwise as the camera sees it


def test_image_moves_half_of_what_a_flat_mirror_would_show(studio):
    # On a ball the mirror point halves the angle between light and camera: at angle a from the
    # gaze it lies R sin(a/2) from the middle, here from a camera straight ahead.
    angle = math.radians(40.0)
    where = (2.0 * math.sin(angle), 2.0 * math.cos(angle), studio.eyes_m)
    setup = studio.setup([studio.light("key", where, modifier=square(0.2))])
    across_mm = of(studio.check(setup), side="right").offset_mm[0]
    expected_mm = -CORNEA_MM * math.sin(angle / 2)
    # 0.1 mm: the eye stands 31.5 mm beside the middle from which the angle is counted, 0.9
    # degrees nearer to the light.
    np.testing.assert_allclose(across_mm, expected_mm, rtol=0, atol=0.1)


# ---------------------------------------------------------------- what hides it


@pytest.mark.parametrize("side", SIDES)
def test_light_at_a_portrait_height_is_seen_in_both_eyes(studio, side):
    one = of(studio.check(studio.setup([studio.light("key", (0.8, 1.4, 1.8))])), side=side)
    assert one.visible
    assert one.hidden_by == ""


@pytest.mark.parametrize("side", SIDES)
def test_very_high_light_is_hidden_by_lid_or_brow(studio, side):
    high = [studio.light("key", (0.3, 0.7, 2.6), modifier=square(0.4))]
    report = studio.check(studio.setup(high))
    one = of(report, side=side)
    assert (one.visible, one.hidden_by) in {(False, "lid"), (False, "head")}
    assert "catchlight-missing" in {finding.code for finding in report.findings}


def test_raising_a_light_loses_the_catchlight_once_and_for_all(studio):
    seen = []
    for height_m in np.arange(1.2, 2.9, 0.1):
        light = studio.light("key", (0.2, 0.9, float(height_m)), modifier=square(0.3))
        seen.append(of(studio.check(studio.setup([light])), side="left").visible)
    assert seen[0]
    assert not seen[-1]
    assert sorted(seen, reverse=True) == seen


def test_light_beside_the_head_falls_off_the_iris(studio):
    # 105 degrees from the gaze: mirrored 7.8 sin(52.5) = 6.2 mm from the middle, on the white.
    light = studio.light("key", (1.5, -0.4, 1.2), modifier=square(0.2))
    report = studio.check(studio.setup([light]))
    assert not any(one.visible for one in report.catchlights)


def test_light_behind_the_sitter_makes_no_catchlight(studio):
    report = studio.check(studio.setup([studio.light("key", (0.6, -1.5, 1.8))]))
    assert not any(one.visible for one in report.catchlights)


def test_back_of_one_light_hides_the_catchlight_of_another(studio):
    key = studio.light("key", (0.3, 2.2, 1.5), modifier=square(0.3))
    other = studio.light(
        "other",
        (0.15, 1.1, 1.35),
        modifier="large softbox 90x120 cm",
        aim=studio.place(0.3, 3.0, 1.6),
        power_stops=-10.0,
    )
    alone, together = studio.setup([key]), studio.setup([key, other])
    assert of(studio.check(alone), side="right").visible
    hidden = of(studio.check(together), side="right")
    assert (hidden.visible, hidden.hidden_by) == (False, "something in front")


def test_dim_light_beside_a_bright_one_is_too_faint_to_count(studio):
    bright = studio.light("key", (0.8, 1.4, 1.7), power_stops=0.0)
    dim = studio.light("dim", (-0.8, 1.4, 1.7), power_stops=-12.0)
    report = studio.check(studio.setup([bright, dim]))
    for side in SIDES:
        faint = of(report, side=side, source="dim")
        assert (faint.visible, faint.hidden_by) == (False, "too faint")


# ---------------------------------------------------------------- with a lens before the eye


def test_flat_lens_leaves_a_catchlight_alone_and_a_strong_minus_lens_makes_it_smaller(studio):
    # A thin lens of power P shows the light at 1/(1/u - P) instead of u, and as much smaller;
    # the eye's ball, its centre d behind the lens, mirrors that. P is the mean of -6.00 and
    # -6.75, d 12 mm to the cornea and 7.8 mm to its centre.
    light = studio.light("key", (0.5, 1.5, 1.5), modifier=square(0.5))
    bare = of(studio.check(studio.setup([light])), side="right")
    plano = studio.worn("large fashion frame, plano")
    flat = of(studio.check(studio.setup([light], glasses=plano)), side="right")
    np.testing.assert_allclose(flat.offset_mm, bare.offset_mm, rtol=0, atol=0.05)
    np.testing.assert_allclose(flat.width_mm, bare.width_mm, rtol=0, atol=SIZE_TOLERANCE_MM)
    minus = studio.worn("strong short-sighted, small frame")
    small = of(studio.check(studio.setup([light], glasses=minus)), side="right")
    to_lens_m, to_center_m = math.dist((0.5, 1.5, 1.5), (0.03, 0.0, 1.2)), 0.0198
    image_m = 1.0 / (1.0 / to_lens_m + 6.375)
    share = image_m / to_lens_m * (to_lens_m + to_center_m) / (image_m + to_center_m)
    # 4 %: thick lens, tilt and the one correction by which the mirror point is found.
    np.testing.assert_allclose(small.width_mm / bare.width_mm, share, rtol=0.04)


def test_rim_in_the_way_of_the_light_hides_the_catchlight(studio):
    # Slipped by 8 mm, the upper rim stands between the eye and a light 17 degrees up. Slipped
    # farther, the light comes over the rim, until the rim stands before the eye itself.
    light = studio.light("key", (0.3, 1.4, 1.75), modifier=square(0.3))
    seated = studio.worn("heavy acetate rectangular")
    seen = {}
    for slipped_mm in (0.0, 8.0, 16.0):
        worn = changed(seated, {"slipped_mm": slipped_mm})
        report = studio.check(studio.setup([light], glasses=worn))
        codes = {finding.code for finding in report.findings}
        seen[slipped_mm] = (of(report, side="right").hidden_by, "rim-over-eye" in codes)
    assert seen == {0.0: ("", False), 8.0: ("rim", False), 16.0: ("rim", True)}
