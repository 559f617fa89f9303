"""Laws of the lens surfaces: points lie on them, normals are theirs, limits hold."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tapemark.geometry import dot, normalize
from tapemark.optics import (
    intersect_spherical,
    intersect_toric,
    spherical_normal,
    toric_normal,
)

ON_SURFACE_M = 2e-15

places = st.floats(-0.025, 0.025)
curvatures = st.floats(-10.0, 18.0)
toric_curvatures = st.floats(1.0, 16.0)
angles = st.floats(0.0, np.pi)
starts = st.tuples(st.floats(-1.5, 1.5), st.floats(0.6, 3.0), st.floats(-1.0, 1.0)).map(np.array)
aims = st.tuples(places, st.just(0.0), places).map(np.array)


def torus_by_turning(point, *, curvature_a, curvature_b, axis_angle):
    """Return how far a point lies from the torus, measured as (R_h - z)^2 + x^2 is."""
    cosine, sine = np.cos(axis_angle), np.sin(axis_angle)
    u = point[0] * cosine + point[2] * sine
    v = point[2] * cosine - point[0] * sine
    depth = -point[1]
    sag = 1.0 / curvature_b - np.sqrt(1.0 / curvature_b**2 - v * v)
    return np.hypot(1.0 / curvature_a - depth, u) - (1.0 / curvature_a - sag)


@given(start=starts, aim=aims, curvature=curvatures, vertex_y=st.floats(-0.005, 0.0))
def test_a_ray_ends_on_the_sphere_on_the_side_of_its_vertex(start, aim, curvature, vertex_y):
    ray = normalize(aim - start)
    point = start + intersect_spherical(start, ray, curvature=curvature, vertex_y=vertex_y) * ray
    assume(not np.any(np.isnan(point)))
    height = point[1] - vertex_y
    # c (x^2 + y^2 + z^2) + 2 y = 0, as a length
    gap = 0.5 * curvature * (point[0] ** 2 + height**2 + point[2] ** 2) + height
    np.testing.assert_allclose(gap, 0.0, atol=10.0 * ON_SURFACE_M)
    assert 1.0 + curvature * height >= -1e-12


@given(start=starts, aim=aims)
def test_a_plane_is_met_at_its_height(start, aim):
    ray = normalize(aim - start)
    distance = intersect_spherical(start, ray, curvature=0.0, vertex_y=-0.003)
    np.testing.assert_allclose(start[1] + distance * ray[1], -0.003, atol=ON_SURFACE_M)
    almost = intersect_spherical(start, ray, curvature=1e-12, vertex_y=-0.003)
    np.testing.assert_allclose(almost, distance, atol=1e-12)


@given(start=starts, aim=aims, curvature=curvatures)
def test_a_line_meets_the_same_point_from_either_side(start, aim, curvature):
    ray = normalize(aim - start)
    one = start + intersect_spherical(start, ray, curvature=curvature) * ray
    assume(not np.any(np.isnan(one)))
    far = start + 5.0 * ray
    other = far - intersect_spherical(far, -ray, curvature=curvature) * ray
    np.testing.assert_allclose(other, one, atol=1e-12)


@given(start=starts, aim=aims, curvature=curvatures)
def test_spherical_normal_points_from_the_centre(start, aim, curvature):
    assume(abs(curvature) > 1e-3)
    ray = normalize(aim - start)
    point = start + intersect_spherical(start, ray, curvature=curvature) * ray
    assume(not np.any(np.isnan(point)))
    normal = spherical_normal(point, curvature=curvature)
    center = np.array([0.0, -1.0 / curvature, 0.0])
    np.testing.assert_allclose(normal, (point - center) * curvature, atol=1e-12)
    np.testing.assert_allclose(dot(normal, normal), 1.0, atol=1e-12)
    assert normal[1] >= -1e-12


@given(start=starts, aim=aims, a=toric_curvatures, b=toric_curvatures, angle=angles)
def test_a_ray_ends_on_the_torus(start, aim, a, b, angle):
    ray = normalize(aim - start)
    shape = {"curvature_a": a, "curvature_b": b, "axis_angle": angle}
    point = start + intersect_toric(start, ray, **shape) * ray
    assume(not np.any(np.isnan(point)))
    np.testing.assert_allclose(torus_by_turning(point, **shape), 0.0, atol=1e-14)


@given(start=starts, aim=aims, a=toric_curvatures, b=toric_curvatures, angle=angles)
def test_toric_normal_is_square_to_the_surface(start, aim, a, b, angle):
    shape = {"curvature_a": a, "curvature_b": b, "axis_angle": angle}
    ray = normalize(aim - start)
    point = start + intersect_toric(start, ray, **shape) * ray
    assume(not np.any(np.isnan(point)))
    normal = toric_normal(point, **shape)
    step = 1e-6
    for shift in ((step, 0.0, 0.0), (0.0, 0.0, step)):
        nearby = point + np.array(shift)
        down = np.array([0.0, -1.0, 0.0])
        # The line through the middle of the surface point's own plane, moved a micrometre.
        nearby = nearby + intersect_toric(nearby, down, **shape) * down
        tangent = (nearby - point) / step
        assert abs(dot(tangent, normal)) < 2e-4
    np.testing.assert_allclose(dot(normal, normal), 1.0, rtol=1e-13)
    assert normal[1] > 0.0


@given(start=starts, aim=aims, curvature=st.floats(0.0, 16.0), angle=angles)
def test_equal_curvatures_are_a_sphere(start, aim, curvature, angle):
    ray = normalize(aim - start)
    shape = {"curvature_a": curvature, "curvature_b": curvature, "axis_angle": angle}
    distance = intersect_spherical(start, ray, curvature=curvature, vertex_y=-0.002)
    assume(not np.isnan(distance))
    toric = intersect_toric(start, ray, **shape, vertex_y=-0.002)
    np.testing.assert_allclose(toric, distance, atol=2e-14)
    point = start + distance * ray
    np.testing.assert_allclose(
        toric_normal(point, **shape, vertex_y=-0.002),
        spherical_normal(point, curvature=curvature, vertex_y=-0.002),
        atol=1e-13,
    )


@given(start=starts, aim=aims, a=toric_curvatures, b=toric_curvatures, angle=angles)
def test_half_a_turn_of_the_axis_changes_nothing(start, aim, a, b, angle):
    ray = normalize(aim - start)
    one, other = (
        intersect_toric(start, ray, curvature_a=a, curvature_b=b, axis_angle=turned)
        for turned in (angle, angle + np.pi)
    )
    np.testing.assert_allclose(one, other, atol=1e-14)


@given(start=starts, aim=aims, a=toric_curvatures, b=toric_curvatures, angle=angles)
def test_left_and_right_are_mirror_images(start, aim, a, b, angle):
    flip = np.array([-1.0, 1.0, 1.0])
    ray = normalize(aim - start)
    one = intersect_toric(start, ray, curvature_a=a, curvature_b=b, axis_angle=angle)
    other = intersect_toric(
        start * flip, ray * flip, curvature_a=a, curvature_b=b, axis_angle=np.pi - angle
    )
    np.testing.assert_allclose(one, other, atol=1e-14)


@given(start=starts, aim=aims, curvature=curvatures, scale=st.floats(0.1, 10.0))
def test_everything_scales_together(start, aim, curvature, scale):
    ray = normalize(aim - start)
    one = intersect_spherical(start, ray, curvature=curvature)
    other = intersect_spherical(start * scale, ray, curvature=curvature / scale)
    np.testing.assert_allclose(other, one * scale, rtol=1e-10, atol=1e-12)


def test_many_lenses_are_traced_at_once():
    rng = np.random.default_rng(5)
    aim_points = rng.uniform(-0.02, 0.02, (2, 50, 3)) * (1.0, 0.0, 1.0)
    start = np.array([0.1, 2.0, 0.3])
    rays = normalize(aim_points - start)
    curvature = np.array([[4.0], [9.0]])
    both = intersect_spherical(start, rays, curvature=curvature)
    for lens in range(2):
        np.testing.assert_array_equal(
            both[lens], intersect_spherical(start, rays[lens], curvature=curvature[lens, 0])
        )


@pytest.mark.parametrize(
    ("start", "ray", "curvature"),
    [
        ((0.0, 2.0, 0.5), (0.0, -1.0, 0.0), 8.0),  # passes outside a dome of radius 125 mm
        ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0), 0.0),  # runs along the plane
    ],
)
def test_a_miss_is_not_a_number(start, ray, curvature):
    missed = intersect_spherical(np.array(start), np.array(ray), curvature=curvature)
    assert np.isnan(missed)
    toric = {"curvature_a": curvature, "curvature_b": curvature, "axis_angle": 0.2}
    assert np.isnan(intersect_toric(np.array(start), np.array(ray), **toric))
