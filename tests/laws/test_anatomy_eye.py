"""The eye opening, iris, pupil and cornea lie as the measures of the sitter say."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tapemark.anatomy import HeadPose, eyes, head_pose, opening_margin, opening_outline
from tapemark.optics import purkinje_image_depth
from tapemark.studio import FaceMeasures, Sitter

MM = 1e-3
HEAD = HeadPose(origin=np.zeros(3), axes=np.eye(3))
OUTWARD = (1.0, -1.0)
ROTATION_CENTER_M = 13.3 * MM

faces = st.builds(
    FaceMeasures,
    interpupillary_mm=st.floats(52.0, 76.0),
    eye_opening_width_mm=st.floats(23.0, 32.0),
    eye_opening_height_mm=st.floats(7.3, 12.1),  # two spreads either way [read-2006]
    iris_mm=st.floats(10.5, 12.9),
    cornea_radius_mm=st.floats(7.2, 8.6),
)


def looking_ahead(face):
    return eyes(Sitter(face=face, gaze="ahead"), pose=HEAD, looks_at=None)


@given(face=faces)
@pytest.mark.parametrize("outward", OUTWARD)
def test_opening_is_as_wide_and_high_as_measured(outward, face):
    both = looking_ahead(face)
    outline = opening_outline(eyes=both, outward=outward, count=400)
    width, height = np.ptp(outline, axis=0)
    np.testing.assert_allclose(width, face.eye_opening_width_mm * MM, rtol=0, atol=1e-3 * MM)
    np.testing.assert_allclose(height, face.eye_opening_height_mm * MM, rtol=0, atol=1e-3 * MM)


@given(face=faces)
@pytest.mark.parametrize("outward", OUTWARD)
def test_margin_is_nothing_on_the_outline_and_positive_over_the_pupil(outward, face):
    both = looking_ahead(face)
    outline = opening_outline(eyes=both, outward=outward)
    on_it = opening_margin(outline[:, 0], outline[:, 1], eyes=both, outward=outward)
    np.testing.assert_allclose(on_it, 0.0, rtol=0, atol=1e-12)
    assert opening_margin(np.zeros(1), np.zeros(1), eyes=both, outward=outward)[0] > 0.0


@given(face=faces)
def test_lower_lid_touches_the_iris_and_upper_lid_covers_its_top(face):
    # Common in portraits and in print; here the height of the opening decides how much.
    both = looking_ahead(face)
    assume(both.opening_height_m >= both.iris_diameter_m / 1.24)  # narrower: both lids come in
    outline = opening_outline(eyes=both, outward=1.0, count=400)
    iris = both.iris_diameter_m / 2
    np.testing.assert_allclose(outline[:, 1].min(), -iris, rtol=0, atol=1e-3 * MM)
    covered = iris - outline[:, 1].max()
    np.testing.assert_allclose(
        covered, both.iris_diameter_m - both.opening_height_m, rtol=0, atol=1e-3 * MM
    )


def test_pupil_of_a_nearly_closed_eye_stays_between_the_lids():
    both = looking_ahead(FaceMeasures(eye_opening_height_mm=4.0))
    outline = opening_outline(eyes=both, outward=1.0, count=400)
    assert outline[:, 1].min() < 0.0 < outline[:, 1].max()


def test_upper_lid_of_the_average_eye_covers_two_millimetres_of_iris():
    both = looking_ahead(FaceMeasures())
    top = opening_outline(eyes=both, outward=1.0)[:, 1].max()
    np.testing.assert_allclose(both.iris_diameter_m / 2 - top, 2.0 * MM, rtol=0, atol=0.1 * MM)


@given(face=faces)
def test_inner_corner_is_farther_from_the_pupil_than_the_outer(face):
    # SOURCE    [gka-model-eye] corners 15.5 mm towards the nose, 12.0 mm outwards
    # ASSUMES   widths in proportion, for an opening of 27.5 mm there
    both = looking_ahead(face)
    for outward in OUTWARD:
        towards_temple = opening_outline(eyes=both, outward=outward, count=400)[:, 0] * outward
        outer, inner = towards_temple.max(), -towards_temple.min()
        np.testing.assert_allclose(outer / inner, 12.0 / 15.5, rtol=1e-6)


@given(face=faces)
def test_parts_of_the_eye_lie_behind_one_another(face):
    both = looking_ahead(face)
    half = face.interpupillary_mm / 2 * MM
    vertex = both.cornea_center + both.cornea_radius_m * both.gaze
    np.testing.assert_allclose(vertex, [[half, 0, 0], [-half, 0, 0]], rtol=0, atol=1e-12)
    depth_of_iris = -both.iris_center[:, 1]
    # SOURCE    [millodot] front of the lens, where the iris rests, 3.6 mm behind the vertex;
    #           seen through the cornea nearer: 3.05 mm for the average eye
    np.testing.assert_allclose(depth_of_iris, 3.05 * MM, rtol=0, atol=1e-12)
    # The image of a far light lies deeper than iris and lids, so that neither is behind it.
    assert depth_of_iris[0] < purkinje_image_depth(both.cornea_radius_m)
    assert both.pupil_diameter_m < both.iris_diameter_m < both.opening_width_m


@given(
    x=st.floats(-2.0, 2.0),
    y=st.floats(0.8, 4.0),
    z=st.floats(0.4, 2.4),
    turn_deg=st.floats(-60.0, 60.0),
    chin_deg=st.floats(-20.0, 20.0),
)
def test_eyes_that_look_at_the_camera_turn_about_their_own_centres(x, y, z, turn_deg, chin_deg):
    sitter = Sitter(eye_height_m=1.2, turn_deg=turn_deg, chin_deg=chin_deg)
    pose, camera = head_pose(sitter), np.array([x, y, z])
    ahead = eyes(sitter, pose=pose, looks_at=None)
    looking = eyes(sitter, pose=pose, looks_at=camera)
    pivot = ahead.cornea_center + (ahead.cornea_radius_m - ROTATION_CENTER_M) * ahead.gaze
    towards = camera - pivot
    towards /= np.linalg.norm(towards, axis=-1, keepdims=True)
    np.testing.assert_allclose(looking.gaze, towards, rtol=0, atol=1e-12)
    for name in ("cornea_center", "iris_center"):
        before = np.linalg.norm(getattr(ahead, name) - pivot, axis=-1)
        after = np.linalg.norm(getattr(looking, name) - pivot, axis=-1)
        np.testing.assert_allclose(after, before, rtol=0, atol=1e-12, err_msg=name)
    np.testing.assert_array_equal(looking.opening_center, ahead.opening_center)


def test_right_eye_is_at_camera_left_when_the_sitter_faces_the_camera():
    sitter = Sitter(eye_height_m=1.2)
    both = eyes(sitter, pose=head_pose(sitter), looks_at=None)
    np.testing.assert_allclose(both.opening_center[:, 0], [31.5 * MM, -31.5 * MM], atol=1e-12)
    np.testing.assert_allclose(both.opening_center[:, 2], 1.2, atol=1e-12)
    np.testing.assert_allclose(both.gaze, [[0, 1, 0], [0, 1, 0]], atol=1e-12)


def test_pupil_is_as_stated_and_otherwise_closes_with_age():
    def pupil(**known):
        sitter = Sitter(**known)
        return eyes(sitter, pose=HEAD, looks_at=None).pupil_diameter_m

    assert math.isclose(pupil(pupil_mm=5.0, age_years=70), 5.0 * MM)
    assert pupil(age_years=20) > pupil(age_years=45) > pupil(age_years=80) > 1.5 * MM
