"""Laws of frames, vectors and rays in the room."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tapemark.geometry import (
    angle_between,
    axes_facing,
    cross,
    dot,
    intersect_plane,
    intersect_sphere,
    join_components,
    length,
    normalize,
    rotation_from_yaw_pitch_roll,
    split_components,
    stacked,
    to_local,
    to_world,
    turn_to_local,
    turn_to_world,
)

DEGREE = np.pi / 180.0
angles = st.floats(-np.pi, np.pi)
vectors = arrays(np.float64, 3, elements=st.floats(-5.0, 5.0))
long_vectors = vectors.filter(lambda vector: np.sum(vector * vector) > 1e-4)


def assert_right_handed_axes(axes):
    identity = np.broadcast_to(np.eye(3), axes.shape)
    np.testing.assert_allclose(np.swapaxes(axes, -1, -2) @ axes, identity, atol=1e-14)
    np.testing.assert_allclose(np.linalg.det(axes), 1.0, atol=1e-13)


@given(yaw=angles, pitch=angles, roll=angles)
def test_head_axes_are_square_and_right_handed(yaw, pitch, roll):
    assert_right_handed_axes(rotation_from_yaw_pitch_roll(yaw, pitch=pitch, roll=roll))


@pytest.mark.parametrize(
    ("pose", "axis", "expected"),
    [
        ({"yaw": 30.0}, 1, (0.5, np.sqrt(0.75), 0.0)),  # nose swings to camera-left, +x
        ({"pitch": 30.0}, 1, (0.0, np.sqrt(0.75), 0.5)),  # nose rises with the chin
        ({"roll": 30.0}, 2, (0.5, 0.0, np.sqrt(0.75))),  # top of the head goes camera-left
        ({"yaw": 90.0, "pitch": 30.0}, 1, (np.sqrt(0.75), 0.0, 0.5)),
        ({"yaw": 90.0, "roll": 30.0}, 2, (0.0, -0.5, np.sqrt(0.75))),  # about the turned nose
        ({"yaw": 90.0}, 0, (0.0, -1.0, 0.0)),  # right ear then points away from the camera
    ],
)
def test_head_turns_the_way_the_words_say(pose, axis, expected):
    turned = {"yaw": 0.0, "pitch": 0.0, "roll": 0.0} | pose
    axes = rotation_from_yaw_pitch_roll(
        turned["yaw"] * DEGREE, pitch=turned["pitch"] * DEGREE, roll=turned["roll"] * DEGREE
    )
    np.testing.assert_allclose(axes[:, axis], expected, atol=1e-15)


def test_many_poses_at_once_are_the_single_ones():
    yaw, pitch, roll = np.array([0.1, -0.4]), np.array([0.2, 0.3]), np.array([-0.1, 0.5])
    stack = rotation_from_yaw_pitch_roll(yaw, pitch=pitch, roll=roll)
    assert stack.shape == (2, 3, 3)
    for row in range(2):
        one = rotation_from_yaw_pitch_roll(yaw[row], pitch=pitch[row], roll=roll[row])
        np.testing.assert_array_equal(stack[row], one)
    assert rotation_from_yaw_pitch_roll(yaw[:0], pitch=0.0, roll=0.0).shape == (0, 3, 3)
    lost = rotation_from_yaw_pitch_roll(np.nan, pitch=0.0, roll=0.0)
    assert np.all(np.isnan(lost[:, 1][:2]))


@given(point=vectors, origin=vectors, yaw=angles, pitch=angles, roll=angles)
def test_there_and_back_is_where_we_started(point, origin, yaw, pitch, roll):
    axes = rotation_from_yaw_pitch_roll(yaw, pitch=pitch, roll=roll)
    world = to_world(point, origin=origin, axes=axes)
    np.testing.assert_allclose(to_local(world, origin=origin, axes=axes), point, atol=1e-13)
    turned = turn_to_world(point, axes=axes)
    np.testing.assert_allclose(turn_to_local(turned, axes=axes), point, atol=1e-13)
    np.testing.assert_allclose(length(turned), length(point), atol=1e-13)


def test_a_stack_of_frames_moves_each_its_own_points():
    axes = rotation_from_yaw_pitch_roll(np.array([0.3, -0.8]), pitch=0.2, roll=-0.1)
    points = np.random.default_rng(4).normal(size=(2, 5, 3))
    origins = np.array([[[1.0, 2.0, 3.0]], [[-4.0, 0.5, 0.1]]])
    world = to_world(points, origin=origins, axes=axes[:, None])
    for frame in range(2):
        one = to_world(points[frame], origin=origins[frame, 0], axes=axes[frame])
        np.testing.assert_allclose(world[frame], one, rtol=1e-14)
        np.testing.assert_allclose(
            one, points[frame] @ axes[frame].T + origins[frame, 0], atol=1e-14
        )


@given(direction=long_vectors)
def test_face_points_where_it_is_told_and_stands_upright(direction):
    axes = axes_facing(direction)
    assert_right_handed_axes(axes)
    np.testing.assert_allclose(axes[:, 1], normalize(direction), atol=1e-14)
    np.testing.assert_allclose(axes[2, 0], 0.0, atol=1e-14)  # x is level
    assert axes[2, 2] >= -1e-14  # z leans upwards


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_face_that_points_straight_up_or_down_keeps_its_x(sign):
    axes = axes_facing((0.0, 0.0, 2.5 * sign))
    np.testing.assert_array_equal(axes[:, 0], (1.0, 0.0, 0.0))
    assert_right_handed_axes(axes)


def test_faces_in_any_leading_shape():
    directions = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, -1.0], [1.0, 1.0, 1.0], [2.0, -1.0, 0.3]])
    flat = axes_facing(directions)
    block = axes_facing(directions.reshape(2, 2, 3))
    np.testing.assert_array_equal(block.reshape(4, 3, 3), flat)
    for row in range(4):
        np.testing.assert_array_equal(axes_facing(directions[row]), flat[row])
    np.testing.assert_array_equal(flat[0], np.eye(3))
    assert np.all(np.isnan(axes_facing((0.0, 0.0, 0.0))[:, 1]))
    assert axes_facing(np.empty((0, 3))).shape == (0, 3, 3)


def test_another_upright_is_followed():
    axes = axes_facing((0.0, 1.0, 0.0), up=(2.0, 0.0, 0.0))
    np.testing.assert_allclose(axes[:, 2], (1.0, 0.0, 0.0), atol=1e-15)
    assert_right_handed_axes(axes_facing((3.0, 0.0, 0.0), up=(1.0, 0.0, 0.0)))


@given(first=long_vectors, second=long_vectors, stretch=st.floats(0.1, 10.0))
def test_angles_do_not_depend_on_length_or_order(first, second, stretch):
    angle = angle_between(first, second)
    np.testing.assert_allclose(angle_between(second, stretch * first), angle, atol=1e-7)
    np.testing.assert_allclose(angle + angle_between(first, -second), np.pi, atol=1e-7)


@pytest.mark.parametrize("angle", [1e-12, 1e-8, 1e-4, 1.0, np.pi - 1e-8])
def test_small_and_straight_angles_keep_their_digits(angle):
    turned = np.array([np.cos(angle), np.sin(angle), 0.0])
    ours = angle_between(np.array([1.0, 0.0, 0.0]), turned)
    np.testing.assert_allclose(ours, angle, rtol=1e-14)


@given(first=vectors, second=vectors)
def test_cross_product_is_square_to_both(first, second):
    product = cross(first, second)
    np.testing.assert_allclose([dot(product, first), dot(product, second)], 0.0, atol=1e-11)
    np.testing.assert_allclose(product, np.cross(first, second), atol=1e-12)
    np.testing.assert_array_equal(join_components(*split_components(first)), first)


def test_stacking_keeps_each_vector():
    first, second = np.random.default_rng(6).normal(size=(2, 4, 5, 3))
    both = stacked([first, second])
    np.testing.assert_array_equal(both, np.stack([first, second]))


@given(origin=vectors, target=vectors, normal=long_vectors)
def test_a_ray_to_a_point_of_the_plane_arrives_there(origin, target, normal):
    assume(length(target - origin) > 0.01)
    ray = normalize(target - origin)
    assume(abs(dot(ray, normalize(normal))) > 0.01)
    distance = intersect_plane(origin, ray, point=target, normal=normal)
    np.testing.assert_allclose(origin + distance * ray, target, atol=1e-11)
    assert np.isnan(intersect_plane(origin, -ray, point=target, normal=normal))


def test_a_plane_alongside_is_missed():
    along = intersect_plane(
        np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0]), point=(0, 0, 0), normal=(0, 1, 0)
    )
    assert np.isnan(along)


@given(origin=vectors, target=vectors, radius=st.floats(0.05, 2.0))
def test_crossings_of_a_sphere_lie_on_it(origin, target, radius):
    assume(length(target - origin) > 0.01)
    ray = normalize(target - origin)
    center = np.array([0.4, 0.5, 0.6])
    near, far = intersect_sphere(origin, ray, center=center, radius=radius)
    closest = length(cross(center - origin, ray))
    assume(abs(closest - radius) > 1e-6)
    assert np.isnan(near) == np.isnan(far) == (closest > radius)
    if closest < radius:
        assert near < far
        for distance in (near, far):
            np.testing.assert_allclose(length(origin + distance * ray - center), radius, atol=1e-11)
