"""Laws of lens powers: round trips, monotonic rules, limits."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tapemark.optics import (
    LEAST_BASE_CURVE_D,
    back_curvature,
    back_mirror_power_d,
    back_surface_power_d,
    back_vertex_power_d,
    center_thickness_m,
    front_curvature,
    front_mirror_power_d,
    front_power_d,
    front_radius_m,
    spherical_equivalent_d,
    transpose_prescription,
    vogel_base_curve,
)

powers = st.floats(-20.0, 15.0)
bases = st.floats(0.25, 12.0)
indices = st.floats(1.48, 1.9)
thicknesses = st.floats(0.8e-3, 8e-3)


@given(power=powers, base=bases, index=indices, thickness=thicknesses)
def test_prescription_survives_the_round_trip(power, base, index, thickness):
    front = front_power_d(base, index=index)
    lens = {"front_power_d": front, "center_thickness_m": thickness, "index": index}
    back = back_surface_power_d(power, **lens)
    np.testing.assert_allclose(
        back_vertex_power_d(**lens, back_surface_power_d=back), power, atol=1e-12
    )


@given(base=bases, index=indices)
def test_radius_curvature_and_power_of_the_front_agree(base, index):
    np.testing.assert_allclose(front_curvature(base) * front_radius_m(base), 1.0, rtol=1e-14)
    np.testing.assert_allclose(
        front_power_d(base, index=index), (index - 1.0) / front_radius_m(base), rtol=1e-14
    )


def test_flat_front_has_no_power_and_an_endless_radius():
    assert front_radius_m(0.0) == np.inf
    assert front_curvature(0.0) == 0.0
    assert front_power_d(0.0, index=1.6) == 0.0
    np.testing.assert_array_equal(front_radius_m(np.array([0.0, 5.3])), [np.inf, 0.1])


@given(index=indices, base=bases)
def test_thin_plano_lens_is_equally_curved_on_both_sides(index, base):
    front = front_power_d(base, index=index)
    back = back_surface_power_d(0.0, front_power_d=front, center_thickness_m=0.0, index=index)
    np.testing.assert_allclose(back_curvature(back, index=index), front_curvature(base), rtol=1e-12)


@given(index=indices, base=bases)
def test_thin_plano_lens_mirrors_alike_in_front_and_back(index, base):
    curvature = front_curvature(base)
    back = back_mirror_power_d(
        front_curvature=curvature,
        back_curvature=curvature,
        center_thickness_m=0.0,
        index=index,
    )
    np.testing.assert_allclose(back, front_mirror_power_d(curvature), rtol=1e-12)


@given(sphere=powers, cylinder=st.floats(-6.0, 6.0), axis=st.integers(1, 180))
def test_transposing_twice_changes_nothing_and_keeps_the_mean(sphere, cylinder, axis):
    once = transpose_prescription(sphere, cylinder_d=cylinder, axis_deg=float(axis))
    twice = transpose_prescription(once[0], cylinder_d=once[1], axis_deg=once[2])
    np.testing.assert_allclose(twice, (sphere, cylinder, axis), atol=1e-12)
    np.testing.assert_allclose(
        spherical_equivalent_d(once[0], cylinder_d=once[1]),
        spherical_equivalent_d(sphere, cylinder_d=cylinder),
        atol=1e-12,
    )
    assert 0.0 < once[2] <= 180.0


@given(low=powers, high=powers)
def test_more_plus_means_a_steeper_front(low, high):
    low, high = sorted((low, high))
    assert LEAST_BASE_CURVE_D <= vogel_base_curve(low) <= vogel_base_curve(high)


@given(low=powers, high=powers, index=indices, diameter=st.floats(0.03, 0.08))
def test_more_plus_means_a_thicker_centre(low, high, index, diameter):
    low, high = sorted((low, high))
    thin, thick = (
        center_thickness_m(power, index=index, diameter_m=diameter) for power in (low, high)
    )
    assert 1.2e-3 <= thin <= thick


def test_minus_lenses_are_as_thin_as_laboratories_make_them():
    thickness = center_thickness_m(-4.0, index=np.array([1.498, 1.54, 1.60, 1.74]), diameter_m=0.05)
    np.testing.assert_allclose(thickness, [2.0e-3, 1.4e-3, 1.2e-3, 1.2e-3], rtol=1e-12)
