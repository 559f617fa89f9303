"""Laws of outlines and flat faces: the drawn line is the zero of the margin."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.geometry import (
    almond_margin,
    almond_points,
    disc_margin,
    disc_points,
    rectangle_margin,
    rectangle_points,
    regular_polygon_margin,
    regular_polygon_points,
    superellipse_margin,
    superellipse_points,
)

MM = 1e-3
half_widths = st.floats(20 * MM, 32 * MM)
half_heights = st.floats(13 * MM, 30 * MM)
exponents = st.floats(2.0, 8.0)
tapers = st.floats(-0.3, 0.3)


def area(outline):
    """Return the signed area of a polygon, positive from x towards z. [m2]"""
    after = np.roll(outline, -1, axis=0)
    return 0.5 * np.sum(outline[:, 0] * after[:, 1] - after[:, 0] * outline[:, 1])


@given(half_width=half_widths, half_height=half_heights, exponent=exponents, taper=tapers)
def test_lens_outline_is_where_its_margin_is_zero(half_width, half_height, exponent, taper):
    shape = {"half_width": half_width, "half_height": half_height, "exponent": exponent}
    outline = superellipse_points(240, **shape, taper=taper)
    np.testing.assert_allclose(superellipse_margin(outline, **shape, taper=taper), 0.0, atol=1e-12)
    assert np.all(superellipse_margin(0.99 * outline, **shape, taper=taper) > 0.0)
    assert np.all(superellipse_margin(1.01 * outline, **shape, taper=taper) < 0.0)
    assert area(outline) > 0.0


@given(half_width=half_widths, half_height=half_heights, exponent=exponents, taper=tapers)
def test_lens_outline_fills_its_boxed_rectangle(half_width, half_height, exponent, taper):
    outline = superellipse_points(
        4000,
        half_width=half_width,
        half_height=half_height,
        exponent=exponent,
        taper=taper,
    )
    np.testing.assert_allclose(np.max(outline, axis=0), (half_width, half_height), rtol=1e-4)
    np.testing.assert_allclose(np.min(outline, axis=0), (-half_width, -half_height), rtol=1e-4)


def test_positive_taper_is_wider_above_than_below():
    shape = {"half_width": 25 * MM, "half_height": 18 * MM, "exponent": 3.0, "taper": 0.2}
    above, below = np.array([22.0, 10.0]) * MM, np.array([22.0, -10.0]) * MM
    assert superellipse_margin(above, **shape) > superellipse_margin(below, **shape)


@given(radius=st.floats(15 * MM, 30 * MM), x=st.floats(-0.05, 0.05), z=st.floats(-0.05, 0.05))
def test_round_lens_margin_is_the_true_distance(radius, x, z):
    ours = superellipse_margin(
        np.array([x, z]), half_width=radius, half_height=radius, exponent=2.0
    )
    np.testing.assert_allclose(ours, radius - np.hypot(x, z), atol=1e-12)


@pytest.mark.parametrize("exponent", [2.0, 2.6, 4.0])
@pytest.mark.parametrize("taper", [0.0, 0.15])
def test_margin_is_near_the_true_distance_close_to_the_outline(exponent, taper):
    shape = {"half_width": 26 * MM, "half_height": 19 * MM, "exponent": exponent}
    outline = superellipse_points(4000, **shape, taper=taper)
    inside = 0.97 * superellipse_points(60, **shape, taper=taper)
    distance = np.min(
        np.hypot(*np.moveaxis(inside[:, None, :] - outline[None, :, :], -1, 0)), axis=1
    )
    ours = superellipse_margin(inside, **shape, taper=taper)
    np.testing.assert_allclose(ours, distance, rtol=0, atol=0.08 * MM)


def test_middle_of_the_lens_has_a_margin_of_its_own():
    ours = superellipse_margin(
        np.zeros(2), half_width=26 * MM, half_height=19 * MM, exponent=3.0, taper=0.1
    )
    assert 0.0 < ours <= 26 * MM


@given(
    half_width=st.floats(11 * MM, 16 * MM),
    upper=st.floats(2 * MM, 8 * MM),
    lower=st.floats(1 * MM, 6 * MM),
)
def test_eye_opening_is_where_its_margin_is_zero(half_width, upper, lower):
    shape = {"half_width": half_width, "upper_height": upper, "lower_height": lower}
    outline = almond_points(80, **shape)
    np.testing.assert_allclose(almond_margin(outline, **shape), 0.0, atol=1e-15)
    np.testing.assert_allclose(
        [np.max(outline[:, 0]), np.max(outline[:, 1]), np.min(outline[:, 1])],
        [half_width, upper, -lower],
        rtol=1e-12,
    )
    assert almond_margin(np.array([0.0, 0.5 * (upper - lower)]), **shape) > 0.0
    assert area(outline) > 0.0


def test_distance_to_the_nearer_lid_is_exact():
    shape = {"half_width": 13.5 * MM, "upper_height": 6 * MM, "lower_height": 3.7 * MM}
    inside = 0.5 * almond_points(24, **shape)
    outline = almond_points(20_000, **shape)
    distance = np.min(
        np.hypot(*np.moveaxis(inside[:, None, :] - outline[None, :, :], -1, 0)), axis=1
    )
    np.testing.assert_allclose(almond_margin(inside, **shape), distance, rtol=0, atol=0.001 * MM)


@pytest.mark.parametrize("sides", [3, 4, 6, 8])
def test_regular_polygon_has_its_corners_on_the_edge_and_a_flat_top(sides):
    corners = regular_polygon_points(diameter=0.9, sides=sides)
    np.testing.assert_allclose(
        regular_polygon_margin(corners, diameter=0.9, sides=sides), 0.0, atol=1e-15
    )
    np.testing.assert_allclose(np.max(corners[:, 1]), 0.45, rtol=1e-14)
    assert np.count_nonzero(np.isclose(corners[:, 1], 0.45)) == 2
    assert regular_polygon_margin(np.zeros(2), diameter=0.9, sides=sides) == 0.45
    assert area(corners) > 0.0


@given(x=st.floats(-1.0, 1.0), z=st.floats(-1.0, 1.0))
def test_square_is_a_polygon_of_four_sides(x, z):
    point = np.array([x, z])
    np.testing.assert_allclose(
        rectangle_margin(point, width=1.2, height=1.2),
        regular_polygon_margin(point, diameter=1.2, sides=4),
        atol=1e-15,
    )


def test_rectangle_and_disc_have_their_outline_on_the_edge():
    corners = rectangle_points(width=0.6, height=0.9)
    np.testing.assert_allclose(rectangle_margin(corners, width=0.6, height=0.9), 0.0, atol=1e-15)
    np.testing.assert_allclose(area(corners), 0.54, rtol=1e-14)
    rim = disc_points(64, diameter=0.9)
    np.testing.assert_allclose(disc_margin(rim, diameter=0.9), 0.0, atol=1e-15)
    assert area(rim) > 0.0
    np.testing.assert_allclose(
        rectangle_margin(np.array([0.25, 0.1]), width=0.6, height=0.9), 0.05, rtol=1e-12
    )
