"""Laws of convex mirrors and of the pupil."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tapemark.optics import (
    catchlight_size,
    convex_image_distance,
    convex_magnification,
    keratometer_radius,
    pupil_diameter,
    purkinje_image_depth,
    radius_from_magnification,
)

distances = st.floats(0.05, 20.0)
radii = st.floats(0.005, 1.0)
MM = 1e-3


@given(distance=distances, radius=radii)
def test_radius_comes_back_from_the_magnification(distance, radius):
    m = convex_magnification(distance, radius_m=radius)
    np.testing.assert_allclose(
        radius_from_magnification(m, object_distance_m=distance), radius, rtol=1e-12
    )
    np.testing.assert_allclose(
        keratometer_radius(m, distance_to_image_m=distance + 0.5 * radius), radius, rtol=1e-12
    )


@given(distance=distances, radius=radii)
def test_image_is_upright_small_and_less_than_half_a_radius_deep(distance, radius):
    image = convex_image_distance(distance, radius_m=radius)
    m = convex_magnification(distance, radius_m=radius)
    np.testing.assert_allclose(m, -image / distance, rtol=1e-12)
    assert 0.0 < m < 1.0
    assert -0.5 * radius < image < 0.0


@given(width=st.floats(0.1, 2.0), distance=distances, radius=radii)
def test_catchlight_grows_with_the_light_and_shrinks_with_distance(width, distance, radius):
    size = catchlight_size(width, distance_m=distance, corneal_radius_m=radius)
    wider = catchlight_size(2.0 * width, distance_m=distance, corneal_radius_m=radius)
    farther = catchlight_size(width, distance_m=2.0 * distance, corneal_radius_m=radius)
    np.testing.assert_allclose(wider, 2.0 * size, rtol=1e-12)
    assert farther < size


@given(radius=radii)
def test_light_from_afar_is_shown_at_half_the_radius(radius):
    np.testing.assert_allclose(purkinje_image_depth(radius), 0.5 * radius, rtol=1e-15)
    np.testing.assert_allclose(
        purkinje_image_depth(radius, distance_m=1e9), 0.5 * radius, rtol=1e-6
    )


@given(dim=st.floats(0.01, 1e4), bright=st.floats(0.01, 1e4), age=st.floats(18.0, 83.0))
def test_pupil_closes_in_brighter_light_and_stays_an_eye(dim, bright, age):
    dim, bright = sorted((dim, bright))
    open_wide, closed = (pupil_diameter(level, age_years=age) for level in (dim, bright))
    assert 1.5 * MM < closed <= open_wide < 8.5 * MM
