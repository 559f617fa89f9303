"""Laws of light from faces and of exposure: limits, symmetry, scaling, round trips."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.geometry import normalize
from tapemark.photometry import (
    DOME,
    NOMINAL_APERTURES,
    aperture_from_exposure,
    bounced_exposure,
    disc_on_axis_factor,
    exact_aperture,
    exposure_value,
    exposure_value_from_illuminance,
    face_luminance,
    guide_number_m,
    illuminance_from_exposure_value,
    intensity_from_guide_number,
    nominal_aperture,
    patch_illuminance,
    polygon_illuminance,
    rectangle_parallel_factor,
    rectangle_perpendicular_factor,
    required_flash_exposure,
    stops_between,
)

sizes = st.floats(0.05, 3.0)
distances = st.floats(0.2, 6.0)
places = st.tuples(st.floats(-2, 2), st.floats(0.1, 4), st.floats(-2, 2)).map(np.array)
normals = (
    st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1))
    .map(np.array)
    .filter(lambda vector: np.sum(vector * vector) > 0.01)
    .map(normalize)
)
SQUARE = np.array([[-0.5, 0, -0.5], [0.5, 0, -0.5], [0.5, 0, 0.5], [-0.5, 0, 0.5]], dtype=float)


@given(width=sizes, height=sizes, distance=distances)
def test_factors_are_shares_and_know_no_order_of_sides(width, height, distance):
    parallel = rectangle_parallel_factor(width, height_m=height, distance_m=distance)
    swapped = rectangle_parallel_factor(height, height_m=width, distance_m=distance)
    upright = rectangle_perpendicular_factor(width, height_m=height, distance_m=distance)
    np.testing.assert_allclose(parallel, swapped, rtol=1e-12)
    assert 0.0 < parallel < 0.25
    assert 0.0 < upright < 0.25


@given(width=sizes, height=sizes, distance=distances, scale=st.floats(0.1, 10.0))
def test_factors_depend_on_proportions_only(width, height, distance, scale):
    for factor in (rectangle_parallel_factor, rectangle_perpendicular_factor):
        one = factor(width, height_m=height, distance_m=distance)
        other = factor(scale * width, height_m=scale * height, distance_m=scale * distance)
        np.testing.assert_allclose(other, one, rtol=1e-9)


def test_endless_faces_fill_half_the_view():
    endless = {"height_m": 1e7, "distance_m": 1.0}
    np.testing.assert_allclose(rectangle_parallel_factor(1e7, **endless), 0.25, rtol=1e-6)
    np.testing.assert_allclose(rectangle_perpendicular_factor(1e7, **endless), 0.25, rtol=1e-6)
    np.testing.assert_allclose(disc_on_axis_factor(1e7, distance_m=1.0), 1.0, rtol=1e-12)


@given(radius=sizes)
def test_far_away_every_face_follows_the_inverse_square(radius):
    far = 500.0 * radius
    disc = np.pi * disc_on_axis_factor(radius, distance_m=far)
    patch = patch_illuminance(np.pi * radius**2, distance_m=far, cos_emitted=1.0, cos_received=1.0)
    np.testing.assert_allclose(disc, patch, rtol=1e-5)


@given(point=places, normal=normals)
def test_polygon_light_is_at_most_pi_and_splits_into_parts(point, normal):
    whole = polygon_illuminance(SQUARE, point=point, normal=normal)
    left, right = SQUARE.copy(), SQUARE.copy()
    left[[1, 2], 0] = 0.2
    right[[0, 3], 0] = 0.2
    parts = [polygon_illuminance(part, point=point, normal=normal) for part in (left, right)]
    np.testing.assert_allclose(sum(parts), whole, atol=1e-12)
    assert 0.0 <= whole <= np.pi


@given(point=places, normal=normals)
def test_corners_may_run_either_way_and_start_anywhere(point, normal):
    whole = polygon_illuminance(SQUARE, point=point, normal=normal)
    for same in (SQUARE[::-1], np.roll(SQUARE, 1, axis=0)):
        again = polygon_illuminance(same, point=point, normal=normal)
        np.testing.assert_allclose(again, whole, atol=1e-12)


@given(point=places, normal=normals)
def test_front_and_back_of_a_card_get_the_light_between_them(point, normal):
    # The vector of light: what one side gets less what the other gets is its component.
    square_on = np.array(
        [polygon_illuminance(SQUARE, point=point, normal=axis) for axis in np.eye(3)]
    ) - [polygon_illuminance(SQUARE, point=point, normal=-axis) for axis in np.eye(3)]
    one, other = (
        polygon_illuminance(SQUARE, point=point, normal=side) for side in (normal, -normal)
    )
    np.testing.assert_allclose(one - other, square_on @ normal, atol=1e-11)


def test_a_card_square_to_the_horizon_gets_half():
    along_face = polygon_illuminance(SQUARE, point=(0.0, 1.0, 0.0), normal=(0.0, 0.0, 1.0))
    upper_half = SQUARE.copy()
    upper_half[:2, 2] = 0.0
    alone = polygon_illuminance(upper_half, point=(0.0, 1.0, 0.0), normal=(0.0, 0.0, 1.0))
    np.testing.assert_allclose(along_face, alone, rtol=1e-14)
    below = polygon_illuminance(SQUARE, point=(0.0, 1.0, 0.0), normal=(0.0, 1.0, 0.0))
    assert below == 0.0


def test_points_above_and_below_the_horizon_mix_in_one_call():
    points = np.array([[0.0, 1.0, 0.0], [0.0, 1.0, 2.0], [0.0, 1.0, -2.0]])
    together = polygon_illuminance(SQUARE, point=points, normal=(0.0, 0.0, 1.0))
    single = [polygon_illuminance(SQUARE, point=point, normal=(0.0, 0.0, 1.0)) for point in points]
    np.testing.assert_allclose(together, single, rtol=1e-14)
    assert together[1] == 0.0
    assert np.all(together[[0, 2]] > 0.0)


def test_a_patch_gives_nothing_backwards():
    facing = {"distance_m": 2.0, "cos_emitted": np.array([-0.5, 0.5, 0.5])}
    light = patch_illuminance(0.04, **facing, cos_received=np.array([0.5, -0.5, 0.5]))
    np.testing.assert_allclose(light, [0.0, 0.0, 0.0025], rtol=1e-14)


@given(aperture=st.floats(1.0, 32.0), iso=st.floats(50.0, 6400.0))
def test_aperture_and_exposure_are_inverse(aperture, iso):
    for calibration in (250.0, DOME):
        exposure = required_flash_exposure(aperture, iso=iso, calibration=calibration)
        np.testing.assert_allclose(
            aperture_from_exposure(exposure, iso=iso, calibration=calibration), aperture
        )


@given(value=st.floats(-6.0, 20.0))
def test_exposure_value_and_illuminance_are_inverse(value):
    for calibration in (250.0, DOME):
        lux = illuminance_from_exposure_value(value, calibration=calibration)
        back = exposure_value_from_illuminance(lux, calibration=calibration)
        np.testing.assert_allclose(back, value, atol=1e-12)


@given(aperture=st.floats(1.0, 32.0), shutter=st.floats(1e-4, 30.0))
def test_a_stop_of_shutter_is_a_stop_of_aperture(aperture, shutter):
    settings = exposure_value(aperture, shutter_s=shutter)
    np.testing.assert_allclose(exposure_value(aperture, shutter_s=0.5 * shutter), settings + 1.0)
    np.testing.assert_allclose(
        exposure_value(aperture * math.sqrt(2.0), shutter_s=2.0 * shutter), settings, atol=1e-12
    )


@given(guide_number=st.floats(5.0, 200.0), iso=st.floats(50.0, 6400.0))
def test_guide_number_and_intensity_are_inverse(guide_number, iso):
    intensity = intensity_from_guide_number(guide_number, iso=iso)
    np.testing.assert_allclose(guide_number_m(intensity, iso=iso), guide_number)


@given(nominal=st.sampled_from(NOMINAL_APERTURES))
def test_printed_apertures_stand_for_themselves(nominal):
    assert nominal_aperture(exact_aperture(nominal)) == nominal
    assert nominal_aperture(nominal) == nominal


@given(aperture=st.floats(0.6, 60.0))
def test_nominal_aperture_is_at_most_a_sixth_of_a_stop_off(aperture):
    printed = exact_aperture(nominal_aperture(aperture))
    assert abs(2.0 * math.log2(printed / aperture)) <= 1.0 / 6.0 + 1e-12


def test_odd_apertures():
    assert math.isnan(nominal_aperture(math.nan))
    assert nominal_aperture(0.1) == 0.5
    assert nominal_aperture(500.0) == 64.0
    assert exact_aperture(1.75) == 1.75


def test_no_light_is_endlessly_many_stops_down():
    assert stops_between(0.0, reference=3.0) == -math.inf
    np.testing.assert_array_equal(stops_between(np.array([0.0, 6.0]), reference=3.0), [-np.inf, 1])


@pytest.mark.parametrize("area_m2", [0.1, 0.54, 2.0])
def test_all_light_of_a_face_arrives_on_a_dome_around_it(area_m2):
    # A small Lambert face of luminance L sends out pi L A in all.
    luminance = face_luminance(1000.0, efficiency=0.4, area_m2=area_m2)
    np.testing.assert_allclose(np.pi * luminance * area_m2, 400.0, rtol=1e-14)


def test_bounce_is_a_face_of_the_light_it_got():
    spot_m2, distance_m = 0.01, 3.0
    luminance = face_luminance(500.0, efficiency=0.8, area_m2=spot_m2)
    by_patch = luminance * patch_illuminance(
        spot_m2, distance_m=distance_m, cos_emitted=0.6, cos_received=0.9
    )
    closed = bounced_exposure(
        500.0, reflectance=0.8, distance_m=distance_m, cos_emitted=0.6, cos_received=0.9
    )
    np.testing.assert_allclose(by_patch, closed, rtol=1e-14)
