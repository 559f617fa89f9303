"""The head as a surface: even on both sides, of the size it is told, and in the way of light."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.anatomy import head_surface
from tapemark.studio import FaceMeasures

MM = 1e-3
LOOKUP_M = 0.15 * MM  # the relief is looked up between lattice points, good to 0.1 mm
BACK_OF_HEAD_M = 5.0 * MM  # hiding takes the back of the head with the roundness of the front
AVERAGE = head_surface(FaceMeasures())

places = st.tuples(st.floats(-60.0, 60.0), st.floats(-100.0, 90.0))


@given(place=places)
def test_face_is_even_on_both_sides(place):
    x, z = (np.array(part * MM) for part in place)
    right, left = AVERAGE.front_depth(x, z), AVERAGE.front_depth(-x, z)
    np.testing.assert_array_equal(right, left)


@given(place=places, out_mm=st.floats(0.3, 40.0))
def test_inside_is_between_the_face_and_the_back_of_the_head(place, out_mm):
    x, z = (np.array(part * MM) for part in place)
    face, back = AVERAGE.front_depth(x, z), AVERAGE.rear_depth(x, z)
    if not np.isfinite(face):
        return
    assert back < face
    points = np.stack(
        [
            [x, face + out_mm * MM, z],
            [x, face - 0.3 * MM, z],
            [x, 0.5 * (face + back), z],
            [x, back - out_mm * MM - BACK_OF_HEAD_M, z],
        ]
    )
    np.testing.assert_array_equal(AVERAGE.contains(points), [False, True, True, False])


def test_beside_above_and_below_the_head_there_is_nothing():
    away = np.array([[0.2, 0.0, 0.0], [0.0, 0.0, 0.2], [0.0, 0.0, -0.3], [np.nan, 0.0, 0.0]])
    assert not AVERAGE.contains(away).any()
    assert np.isnan(AVERAGE.front_depth(np.array(0.2), np.array(0.0)))


def test_drawn_mesh_lies_on_the_surface_that_hides():
    mesh = AVERAGE.mesh(rows=60, columns=61)[5:-5, 5:-5]
    depth = AVERAGE.front_depth(mesh[..., 0], mesh[..., 2])
    np.testing.assert_allclose(mesh[..., 1], depth, rtol=0, atol=LOOKUP_M)


@pytest.mark.parametrize(
    ("measure", "value", "landmark", "component"),
    [
        ("bizygomatic_mm", 150.0, "right_cheek", 0),
        ("head_length_mm", 215.0, "left_tragion", 1),
        ("face_height_mm", 130.0, "chin", 2),
        ("nose_protrusion_mm", 26.0, "nose_tip", 1),
    ],
)
def test_larger_measure_moves_its_landmark_outwards(measure, value, landmark, component):
    before = np.array(getattr(AVERAGE.landmarks(), landmark))[component]
    larger = head_surface(FaceMeasures(**{measure: value})).landmarks()
    after = np.array(getattr(larger, landmark))[component]
    assert abs(after) > abs(before) + 1.0 * MM


def test_nose_stands_out_between_the_eyes_and_they_lie_back_under_the_brow():
    marks = AVERAGE.landmarks()
    eye_depth = AVERAGE.front_depth(np.array(31.5 * MM), np.array(0.0))
    brow_depth = AVERAGE.front_depth(np.array(28.0 * MM), np.array(19.0 * MM))
    assert marks.nose_tip[1] > marks.subnasale[1] > eye_depth
    assert marks.nose_tip[1] > marks.sellion[1] > eye_depth
    assert brow_depth > eye_depth + 3.0 * MM
    assert abs(eye_depth) < 2.0 * MM  # the eyeball's front is where the corneas are


# ---------------------------------------------------------------- what the head hides

EYES = np.array([[31.5 * MM, 4.0 * MM, 0.0], [-31.5 * MM, 4.0 * MM, 0.0]])  # just before them


def towards(side_deg, up_deg=0.0):
    """Unit vector from the head to that side (sitter's right positive) and up."""
    side, up = np.radians(side_deg), np.radians(up_deg)
    return np.array([np.sin(side) * np.cos(up), np.cos(side) * np.cos(up), np.sin(up)])


@pytest.mark.parametrize("up_deg", [-20.0, 0.0, 20.0])
def test_both_eyes_see_straight_ahead(up_deg):
    assert not AVERAGE.blocks(EYES, towards(0.0, up_deg)).any()


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_nose_hides_the_far_eye_from_the_side_and_the_near_eye_sees_it(side):
    blocked = AVERAGE.blocks(EYES, towards(75.0 * side, -15.0), steps=24)
    near, far = (0, 1) if side > 0 else (1, 0)
    assert not blocked[near]
    assert blocked[far]


def test_nothing_is_seen_through_the_head():
    assert AVERAGE.blocks(EYES, towards(180.0)).all()


def test_brow_shades_the_eye_from_a_light_overhead():
    assert AVERAGE.blocks(EYES, towards(0.0, 80.0), clearance_m=0.001, steps=48).all()
