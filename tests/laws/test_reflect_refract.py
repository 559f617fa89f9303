"""Laws of mirror reflection and refraction: length, plane, reversal, energy."""

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tapemark.geometry import angle_between, cross, dot, normalize
from tapemark.optics import (
    brewster_angle,
    fresnel_reflectance,
    normal_reflectance,
    reflect,
    refract,
    surface_reflectance,
    unpolarised_reflectance,
)

ROUNDING = 1e-13

vectors = arrays(np.float64, 3, elements=st.floats(-1.0, 1.0)).filter(
    lambda vector: np.sum(vector * vector) > 1e-4
)
units = vectors.map(normalize)
indices = st.floats(1.0, 2.0)
cosines = st.floats(0.0, 1.0)


@given(direction=units, normal=units)
def test_mirror_keeps_length_and_angle_and_is_its_own_inverse(direction, normal):
    mirrored = reflect(direction, normal=normal)
    np.testing.assert_allclose(dot(mirrored, mirrored), 1.0, rtol=ROUNDING)
    np.testing.assert_allclose(dot(mirrored, normal), -dot(direction, normal), atol=ROUNDING)
    np.testing.assert_allclose(reflect(mirrored, normal=normal), direction, atol=ROUNDING)


@given(direction=units, normal=units)
def test_either_side_of_the_normal_serves(direction, normal):
    np.testing.assert_allclose(
        reflect(direction, normal=-normal), reflect(direction, normal=normal), atol=ROUNDING
    )
    one = refract(direction, normal=normal, index_from=1.1, index_to=1.6)
    other = refract(direction, normal=-normal, index_from=1.1, index_to=1.6)
    np.testing.assert_allclose(one, other, atol=ROUNDING)


@given(direction=units, normal=units, index_from=indices, index_to=indices)
def test_refraction_obeys_snell_and_stays_in_the_plane(direction, normal, index_from, index_to):
    bent = refract(direction, normal=normal, index_from=index_from, index_to=index_to)
    if np.any(np.isnan(bent)):
        sine = np.sqrt(1.0 - dot(direction, normal) ** 2)
        assert index_from * sine > index_to * (1.0 - ROUNDING)
        return
    before, after = cross(direction, normal), cross(bent, normal)
    np.testing.assert_allclose(index_from * before, index_to * after, atol=ROUNDING)
    np.testing.assert_allclose(dot(bent, bent), 1.0, rtol=ROUNDING)
    assert dot(bent, normal) * dot(direction, normal) >= 0.0


@given(direction=units, normal=units, index_from=indices, index_to=indices)
def test_light_can_travel_back_the_way_it_came(direction, normal, index_from, index_to):
    bent = refract(direction, normal=normal, index_from=index_from, index_to=index_to)
    # Near total reflection a rounding of the sine becomes its square root in the cosine.
    assume(not np.any(np.isnan(bent)) and abs(dot(bent, normal)) > 1e-3)
    assume(abs(dot(direction, normal)) > 1e-3)
    returned = refract(-bent, normal=normal, index_from=index_to, index_to=index_from)
    np.testing.assert_allclose(returned, -direction, atol=1e-11)


@given(direction=units, normal=units, index=indices)
def test_equal_indices_do_not_bend(direction, normal, index):
    bent = refract(direction, normal=normal, index_from=index, index_to=index)
    np.testing.assert_allclose(
        bent, direction, atol=1e-7 if abs(dot(bent, normal)) < 1e-6 else 1e-9
    )


@given(normal=units, index=indices)
def test_square_on_goes_straight_through(normal, index):
    bent = refract(-normal, normal=normal, index_from=1.0, index_to=index)
    np.testing.assert_allclose(angle_between(bent, -normal), 0.0, atol=1e-12)


def test_beyond_the_critical_angle_nothing_gets_out():
    critical = np.arcsin(1.0 / 1.5)
    angles = critical + np.array([-1e-6, 1e-6])
    rays = np.stack((np.sin(angles), np.cos(angles), np.zeros(2)), axis=-1)
    out = refract(rays, normal=np.array([0.0, 1.0, 0.0]), index_from=1.5, index_to=1.0)
    assert np.all(np.isfinite(out[0]))
    assert np.all(np.isnan(out[1]))


@given(cosine=cosines, index_from=indices, index_to=indices)
def test_reflected_share_lies_between_nothing_and_all(cosine, index_from, index_to):
    across, within = fresnel_reflectance(cosine, index_from=index_from, index_to=index_to)
    assert 0.0 <= within <= across + ROUNDING
    assert across <= 1.0 + ROUNDING


@given(cosine=st.floats(0.001, 1.0), index=st.floats(1.01, 2.0))
def test_reflected_and_transmitted_light_add_up(cosine, index):
    # The transmitted share by the transmission coefficients, which the kernel does not use.
    cosine_inside = np.sqrt(1.0 - (1.0 - cosine**2) / index**2)
    t_across = 2.0 * cosine / (cosine + index * cosine_inside)
    t_within = 2.0 * cosine / (index * cosine + cosine_inside)
    through = index * cosine_inside / cosine * np.array([t_across, t_within]) ** 2
    reflected = np.array(fresnel_reflectance(cosine, index_from=1.0, index_to=index))
    np.testing.assert_allclose(reflected + through, 1.0, rtol=ROUNDING)


@given(incidence=st.floats(0.0, 1.5), index=st.floats(1.0, 2.0))
def test_a_surface_reflects_the_same_from_both_sides(incidence, index):
    inside = np.arcsin(np.sin(incidence) / index)
    outer = fresnel_reflectance(np.cos(incidence), index_from=1.0, index_to=index)
    inner = fresnel_reflectance(np.cos(inside), index_from=index, index_to=1.0)
    np.testing.assert_allclose(inner, outer, rtol=1e-9, atol=1e-12)


@given(index=st.floats(1.0, 2.0))
def test_limits_square_on_grazing_and_at_brewster(index):
    square_on = fresnel_reflectance(1.0, index_from=1.0, index_to=index)
    np.testing.assert_allclose(square_on, normal_reflectance(index), rtol=1e-9, atol=1e-30)
    np.testing.assert_allclose(fresnel_reflectance(0.0, index_from=1.0, index_to=index), 1.0)
    _, within = fresnel_reflectance(np.cos(brewster_angle(index)), index_from=1.0, index_to=index)
    np.testing.assert_allclose(within, 0.0, atol=1e-25)


@given(cosine=cosines, coating=st.floats(0.0, 0.04), index=st.floats(1.49, 1.9))
def test_coating_reflects_no_more_than_the_bare_surface(cosine, coating, index):
    bare = surface_reflectance(cosine, index=index, coating_reflectance=None)
    coated = surface_reflectance(
        cosine, index=index, coating_reflectance=min(coating, float(normal_reflectance(index)))
    )
    assert 0.0 <= coated <= bare * (1.0 + ROUNDING)
    assert bare == unpolarised_reflectance(cosine, index_from=1.0, index_to=index)


def test_coating_has_its_own_value_square_on_and_all_at_total_reflection():
    np.testing.assert_allclose(
        surface_reflectance(1.0, index=1.6, coating_reflectance=0.01), 0.01, rtol=1e-12
    )
    trapped = surface_reflectance(0.3, index=1.0, index_from=1.6, coating_reflectance=0.01)
    assert trapped == 1.0
