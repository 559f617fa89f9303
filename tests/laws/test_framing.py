"""Laws of lens, frame and sharpness: scale, limits, round trips, cures that cure."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.analysis import (
    build_scene,
    build_scenes,
    depth_of_field,
    frame_view,
    framing,
    framing_findings,
    perspective_findings,
    sharpness_findings,
)
from tapemark.analysis.camera_frame import body_boxes, head_marks
from tapemark.geometry import to_world
from tapemark.optics import (
    blur_circle,
    conjugate_distances,
    depth_of_field_limits,
    field_size,
    focal_length_for,
    hyperfocal_distance,
    image_distance,
    magnification,
)
from tapemark.photometry import exact_aperture
from tapemark.studio import Camera, Companion, Place
from tapemark.studio import changed as changed_data

MM = 1e-3

focal_lengths = st.floats(20.0, 300.0)
distances = st.floats(0.9, 8.0)
apertures = st.floats(1.2, 22.0)


def changed(data, **fields):
    return changed_data(data, fields)


def with_camera(setup, **changes):
    return changed(setup, camera=changed(setup.camera, **changes))


def portrait(studio, *lights, **more):
    """A sitter at 2 m from an 85 mm lens, eyes a third from the top."""
    setup = studio.setup(lights, **more)
    return with_camera(setup, aim=Place(distance_m=0.0, height_m=studio.eyes_m - 0.14))


def codes(findings):
    return [one.code for one in findings]


def companion(across_m, back_m=0.0, **more):
    name = more.pop("name", f"at {across_m:g}")
    return Companion(name=name, across_m=across_m, back_m=back_m, eye_height_m=1.2, **more)


# ------------------------------------------------------------------------------ the lens


@given(focal_mm=focal_lengths, at_m=distances, f_number=apertures)
def test_depth_of_field_lies_around_the_focus_and_grows_with_the_f_number(focal_mm, at_m, f_number):
    focal = focal_mm * MM

    def limits(number):
        reach = hyperfocal_distance(focal, f_number=number, circle_m=0.03 * MM)
        return depth_of_field_limits(at_m, focal_length_m=focal, hyperfocal_m=reach)

    wide, narrow = limits(f_number), limits(1.2 * f_number)
    assert focal < narrow[0] < wide[0] < at_m < wide[1]
    assert wide[1] < narrow[1] or narrow[1] == np.inf


@given(focal_mm=focal_lengths, at_m=distances, f_number=apertures)
def test_blur_at_the_limits_is_the_circle_of_confusion(focal_mm, at_m, f_number):
    focal, circle = focal_mm * MM, 0.03 * MM
    reach = hyperfocal_distance(focal, f_number=f_number, circle_m=circle)
    limits = depth_of_field_limits(at_m, focal_length_m=focal, hyperfocal_m=reach)
    finite = limits[np.isfinite(limits)]
    blur = blur_circle(finite, focused_at_m=at_m, focal_length_m=focal, f_number=f_number)
    np.testing.assert_allclose(blur, circle, rtol=1e-6)


@given(focal_mm=focal_lengths, at_m=distances, f_number=apertures, scale=st.floats(0.1, 10.0))
def test_a_lens_of_another_size_draws_the_same_to_scale(focal_mm, at_m, f_number, scale):
    def limits(size):
        focal = size * focal_mm * MM
        reach = hyperfocal_distance(focal, f_number=f_number, circle_m=size * 0.03 * MM)
        return depth_of_field_limits(size * at_m, focal_length_m=focal, hyperfocal_m=reach)

    np.testing.assert_allclose(limits(scale), scale * limits(1.0), rtol=1e-9)


@given(focal_mm=focal_lengths, drawn=st.floats(0.005, 0.9))
def test_conjugates_image_and_lens_go_back_to_each_other(focal_mm, drawn):
    focal = focal_mm * MM
    away, behind = conjugate_distances(drawn, focal_length_m=focal)
    np.testing.assert_allclose(magnification(away, focal_length_m=focal), drawn, rtol=1e-9)
    np.testing.assert_allclose(image_distance(away, focal_length_m=focal), behind, rtol=1e-9)
    np.testing.assert_allclose(focal_length_for(drawn, object_distance_m=away), focal, rtol=1e-9)
    side = field_size(away, focal_length_m=focal, side_m=0.036)
    np.testing.assert_allclose(side * drawn, 0.036, rtol=1e-9)


def test_a_far_object_is_drawn_in_the_focal_plane_and_a_close_one_not_at_all():
    assert image_distance(np.inf, focal_length_m=0.085) == 0.085
    assert np.isnan(image_distance(0.08, focal_length_m=0.085))
    assert np.isnan(magnification(0.085, focal_length_m=0.085))


# ----------------------------------------------------------------------------- the frame


@given(
    shares=st.tuples(st.floats(-1.0, 2.0), st.floats(-1.0, 2.0)),
    depth_m=st.floats(0.1, 9.0),
    camera=st.tuples(st.floats(-1.0, 1.0), st.floats(0.8, 4.0), st.floats(0.5, 2.0)),
)
def test_places_of_the_frame_lead_into_the_room_and_back(studio, shares, depth_m, camera):
    view = frame_view(build_scene(studio.setup([], camera=camera)))
    world = view.world_at(np.array(shares), depth_m=depth_m)
    np.testing.assert_allclose(view.shares(world), shares, atol=1e-9)
    np.testing.assert_allclose(view.depth(world), depth_m, rtol=1e-9)


def test_camera_left_is_left_and_up_is_up_in_the_frame(studio):
    view = frame_view(build_scene(studio.setup([])))
    shares = view.shares(np.array([[0.1, 0.0, 1.2], [0.0, 0.0, 1.3], [0.0, 0.0, 1.2]]))
    assert shares[0, 0] < 0.5
    assert shares[1, 1] < 0.5
    np.testing.assert_allclose(shares[2], 0.5, atol=1e-12)
    assert np.all(np.isnan(view.shares(np.array([0.0, 3.0, 1.2]))))


def test_the_frame_takes_in_what_the_lens_says_at_the_eyes(studio):
    setup = studio.setup([])
    found = framing((build_scene(setup),))
    expected = field_size(2.0, focal_length_m=0.085, side_m=0.036)
    np.testing.assert_allclose(found.frame_height_m, expected, rtol=1e-12)
    np.testing.assert_allclose(found.frame_width_m, expected * 24 / 36, rtol=1e-12)


def test_everybody_sees_the_same_frame(studio):
    setup = studio.setup([], companions=(companion(0.5, 0.4),))
    one, other = (frame_view(scene) for scene in build_scenes(setup))
    assert (one.half_width, one.half_height) == (other.half_width, other.half_height)


@given(
    camera=st.tuples(st.floats(-0.8, 0.8), st.floats(1.2, 3.5), st.floats(0.7, 1.8)),
    turn_deg=st.floats(-60.0, 60.0),
)
def test_boxes_touch_the_silhouette_of_a_body(studio, camera, turn_deg):
    scene = build_scene(studio.setup([], camera=camera, sitter={"turn_deg": turn_deg}))
    view, head = frame_view(scene), scene.body.only("head", "neck", "trunk")
    box = body_boxes(view, head)
    shares = view.shares(head.surface(count=80))
    low, high = shares.min(axis=1), shares.max(axis=1)
    assert np.all(low >= box[:, :2] - 1e-9)
    assert np.all(high <= box[:, 2:] + 1e-9)
    size = box[:, 2:] - box[:, :2]
    np.testing.assert_allclose((high - low) / size, 1.0, atol=0.01)  # 80 points around


def test_boxes_of_what_is_not_wholly_in_front_are_unknown(studio):
    setup = studio.setup([], companions=(companion(0.0, -2.0),))
    _, behind = build_scenes(setup)
    assert np.all(np.isnan(body_boxes(frame_view(behind), behind.body.only("head"))))


# ------------------------------------------------------------------------ framing a sitter


@given(focal_mm=st.floats(40.0, 120.0))
def test_perspective_is_of_the_distance_and_not_of_the_lens(studio, focal_mm):
    def seen(setup):
        scene = build_scene(setup)
        marks = head_marks(scene.head)
        across = marks[[2, 3]][:, None] + np.array([[0.005, 0.0, 0.0], [-0.005, 0.0, 0.0]])
        shares = frame_view(scene).shares(
            to_world(across, origin=scene.pose.origin, axes=scene.pose.axes)
        )
        sizes = np.abs(shares[:, 0, 0] - shares[:, 1, 0])
        return framing((scene,)).perspective.nose_over_ear, sizes[0] / sizes[1]

    plain = studio.setup([])
    stated, drawn = seen(with_camera(plain, focal_length_mm=focal_mm))
    np.testing.assert_allclose(stated, drawn, rtol=1e-9)
    np.testing.assert_allclose(stated, seen(plain)[0], rtol=1e-12)


def test_nearer_cameras_draw_larger_noses_and_far_ones_none(studio):
    ratios = [
        framing((build_scene(studio.setup([], camera=(0.0, y, 1.2))),)).perspective.nose_over_ear
        for y in (0.5, 1.0, 2.0, 4.5)
    ]
    assert ratios == sorted(ratios, reverse=True)
    assert 1.0 < ratios[-1] < 1.03


@given(distance_m=st.floats(0.7, 1.6))
def test_the_matching_lens_draws_the_head_as_large_from_farther_back(studio, distance_m):
    near = studio.setup([], camera=(0.0, distance_m, 1.2))
    seen = framing((build_scene(near),)).perspective
    back = with_camera(
        near,
        place=Place(distance_m=seen.advised_distance_m, height_m=1.2),
        focal_length_mm=seen.matching_focal_length_mm,
    )
    again = framing((build_scene(back),))
    expected = framing((build_scene(near),)).frame_height_m
    np.testing.assert_allclose(again.frame_height_m, expected, rtol=1e-9)


@pytest.mark.parametrize("wish", ["tight head", "head and shoulders", "half length", "full length"])
def test_both_cures_of_a_missed_wish_fulfil_it(studio, wish):
    setup = with_camera(portrait(studio, room=studio.room), framing=wish)
    found = framing((build_scene(setup),))
    by_lens = with_camera(setup, focal_length_mm=found.wish_focal_length_mm)
    assert framing((build_scene(by_lens),)).crop == wish
    by_foot = with_camera(
        setup,
        place=Place(distance_m=found.wish_distance_m, height_m=1.2),
        aim=Place(distance_m=0.0, height_m=1.2),
    )
    assert framing((build_scene(by_foot),)).crop == wish


def test_a_missed_wish_is_found_and_a_met_one_is_not(studio):
    setup = portrait(studio)
    met = framing((build_scene(setup),)).crop
    for wish, expected in ((met, []), ("full length", ["framing-missed"])):
        scene = build_scene(with_camera(setup, framing=wish))
        assert codes(framing_findings(scene, framing((scene,)))) == expected


def test_the_frame_cuts_lower_as_the_camera_goes_back(studio):
    cuts = []
    for distance_m in (0.9, 1.5, 2.2, 3.5, 4.7):
        aim = Place(distance_m=0.0, height_m=1.0)
        setup = with_camera(studio.setup([], camera=(0.0, distance_m, 1.0)), aim=aim)
        cuts.append(framing((build_scene(setup),)).people[0].lower_edge)
    order = ["neck", "shoulders", "chest", "waist", "hips", "lap", "knees", "shins", "feet"]
    places = [order.index(cut) for cut in cuts]
    assert places == sorted(set(places))


def test_a_head_is_as_large_on_the_sensor_as_its_measures_say(studio):
    (person,) = framing((build_scene(studio.setup([])),)).people
    # Crown 115 mm over the eyes, chin 115 mm under them, the crown 75 mm behind the eyes.
    drawn = 115.0 * 85.0 / (2000.0 - 85.0) * (2000.0 / 2075.0 + 2000.0 / (2000.0 - 5.0))
    np.testing.assert_allclose(person.head_mm, drawn, rtol=1e-3)
    np.testing.assert_allclose(person.head_share, person.head_mm / 36.0, rtol=1e-12)


@pytest.mark.parametrize(
    ("aim", "expected"),
    [
        ((0.0, 0.0, 1.06), []),
        ((0.0, 0.0, 0.89), ["head-cut-off"]),
        ((0.0, 0.0, 0.70), ["person-cut-off"]),
        ((0.2, 0.0, 1.06), ["head-cut-off"]),
        ((-0.29, 0.0, 1.06), ["person-cut-off"]),
        ((0.0, 0.0, 0.2), ["person-out-of-frame"]),
        ((2.0, 0.0, 1.2), ["person-out-of-frame"]),
    ],
)
def test_who_is_cut_off_by_which_aim(studio, aim, expected):
    setup = with_camera(studio.setup([]), aim=studio.place(*aim))
    scene = build_scene(setup)
    found = framing_findings(scene, framing((scene,)))
    assert codes(found) == expected
    assert all(one.sitter == "sitter" and one.topic == "background" for one in found)


def test_the_advised_aim_takes_in_what_was_cut(studio):
    low = with_camera(studio.setup([]), aim=studio.place(0.0, 0.0, 0.89))
    (person,) = framing((build_scene(low),)).people
    (over,) = person.head_past
    assert over.edge == "top"
    higher = with_camera(low, aim=studio.place(0.0, 0.0, 0.89 + over.by_m + 0.03))
    assert framing((build_scene(higher),)).people[0].head_past == ()


def test_everybody_must_be_in_the_frame_by_name(studio):
    setup = portrait(
        studio, companions=(companion(0.35, name="Tomas"), companion(-1.5, name="Ada"))
    )
    scenes = build_scenes(setup)
    found = framing_findings(scenes[0], framing(scenes))
    by_name = {one.sitter: one.code for one in found}
    assert by_name["Ada"] == "person-out-of-frame"
    assert by_name["Tomas"] == "person-cut-off"
    assert all(name in one.text for name in ("Ada", "Tomas") for one in found if one.sitter == name)


def test_a_group_fits_after_the_cure(studio):
    setup = studio.setup([], companions=(companion(0.6), companion(-0.6)))
    setup = with_camera(setup, framing="group", orientation="landscape")
    scenes = build_scenes(setup)
    found = framing(scenes)
    assert "framing-missed" in codes(framing_findings(scenes[0], found))
    cured = with_camera(setup, focal_length_mm=found.wish_focal_length_mm)
    assert framing(build_scenes(cured)).crop == "group"


def test_a_camera_that_looks_away_gives_an_answer(studio):
    setup = with_camera(studio.setup([]), aim=studio.place(0.0, 4.0, 1.2))
    scene = build_scene(setup)
    found = framing((scene,))
    assert found.crop == "nobody"
    assert np.isnan(found.frame_height_m)
    assert codes(framing_findings(scene, found)) == ["person-out-of-frame"]
    assert depth_of_field((scene,)) is None
    assert sharpness_findings(scene, None) == []


@pytest.mark.parametrize(
    ("distance_m", "severity"), [(0.5, "trouble"), (1.0, "caution"), (1.4, None), (2.0, None)]
)
def test_a_near_camera_is_found(studio, distance_m, severity):
    scene = build_scene(studio.setup([], camera=(0.0, distance_m, 1.2)))
    found = perspective_findings(scene, framing((scene,)))
    assert [one.severity for one in found] == ([] if severity is None else [severity])
    assert all("1.83 m" in one.what_to_do for one in found)


# --------------------------------------------------------------------------- sharpness


def sharpness(setup):
    scenes = build_scenes(setup)
    return scenes[0], depth_of_field(scenes)


@pytest.mark.parametrize("aperture", [1.4, 2.0, 2.8, 4.0, 5.6])
@pytest.mark.parametrize("turn_deg", [0.0, 35.0, -50.0])
def test_the_advised_aperture_just_holds_eyes_nose_and_ear(studio, aperture, turn_deg):
    setup = studio.setup([], camera=(0.0, 1.5, 1.2), sitter={"turn_deg": turn_deg})
    _, field = sharpness(with_camera(setup, aperture=aperture))
    for share, held in ((1.001, True), (0.999, False)):
        number = share * field.aperture_for_all
        _, again = sharpness(with_camera(setup, aperture=number))
        assert all(one.sharp for one in again.features) is held


def test_sharp_features_are_those_between_the_limits(studio):
    _, field = sharpness(
        with_camera(studio.setup([], camera=(0.4, 1.4, 1.3), sitter={"turn_deg": 25.0}), aperture=4)
    )
    for one in field.features:
        inside = field.near_m <= field.focus_m + one.behind_m <= field.far_m
        assert one.sharp is inside
    assert {one.sharp for one in field.features} == {True, False}


def test_the_nearer_eye_is_in_focus_and_a_turn_takes_the_other_out(studio):
    setup = with_camera(studio.setup([], camera=(0.0, 1.5, 1.2)), aperture=1.8)
    soft = []
    for turn_deg in (0.0, 15.0, 40.0):
        turned = changed(setup, sitter=changed(setup.sitter, turn_deg=turn_deg, gaze="ahead"))
        _, field = sharpness(turned)
        right, left = field.features[:2]
        assert min(right.blur, left.blur) == 0.0
        assert right.behind_m >= left.behind_m  # the right side swings away
        soft.append(right.blur)
    assert soft == sorted(soft)


def test_depth_counts_along_the_axis_of_the_camera(studio):
    straight = studio.setup([], camera=(0.0, 1.5, 1.2))
    aside = studio.setup([], camera=(1.5, 0.0, 1.2), sitter={"gaze": "ahead"})
    (_, ahead), (_, across) = sharpness(straight), sharpness(aside)
    np.testing.assert_allclose(ahead.features[3].behind_m, 0.076, atol=0.002)  # ear behind the iris
    eyes = [one.behind_m for one in across.features[:2]]
    np.testing.assert_allclose(sorted(eyes), (0.0, 0.063), atol=1e-3)


@pytest.mark.parametrize("turn_deg", [-40.0, 40.0])
def test_the_ear_that_counts_is_the_one_towards_the_camera(studio, turn_deg):
    setup = studio.setup([], sitter={"turn_deg": turn_deg, "gaze": "ahead"})
    scene, field = sharpness(setup)
    ears = to_world(head_marks(scene.head)[3:5], origin=scene.pose.origin, axes=scene.pose.axes)
    depths = 2.0 - ears[:, 1]
    np.testing.assert_allclose(field.focus_m + field.features[3].behind_m, depths.min())
    assert depths.max() - depths.min() > 0.05


def test_a_thin_depth_of_field_is_found_and_its_cure_holds(studio):
    setup = studio.setup([], camera=(0.0, 1.5, 1.2))
    for aperture, severity in ((2.0, "caution"), (6.3, "note"), (11.0, None)):
        scene, field = sharpness(with_camera(setup, aperture=aperture))
        found = sharpness_findings(scene, field)
        assert [one.severity for one in found] == ([] if severity is None else [severity])
        assert all("sensor diagonal / 1500" in one.text for one in found)
        for one in found:
            stop = exact_aperture(float(re.search(r"down to f/([0-9.]+)", one.what_to_do)[1]))
            _, again = sharpness(with_camera(setup, aperture=stop))
            assert all(part.sharp for part in again.features)
            _, wider = sharpness(with_camera(setup, aperture=stop / 2 ** (1 / 6) * 0.999))
            assert not all(part.sharp for part in wider.features)


def test_a_stated_circle_is_used_and_named(studio):
    setup = with_camera(studio.setup([]), aperture=2.0)
    scene, wide = sharpness(with_camera(setup, circle_of_confusion_mm=0.06))
    _, narrow = sharpness(with_camera(setup, circle_of_confusion_mm=0.02))
    assert wide.far_m - wide.near_m > narrow.far_m - narrow.near_m
    np.testing.assert_allclose(narrow.aperture_for_all, 3.0 * wide.aperture_for_all, rtol=1e-12)
    assert (wide.circle_mm, wide.circle_from) == (0.06, "stated")
    assert "circle of confusion 0.060 mm, stated" in sharpness_findings(scene, wide)[0].text


def test_a_deep_group_is_told_on_whom_to_focus(studio):
    deep = (companion(0.4, 0.25, name="Tomas"), companion(-0.4, 0.5, name="Ada"))
    setup = with_camera(studio.setup([], companions=deep, camera=(0.0, 3.0, 1.2)), aperture=4.0)
    scene, field = sharpness(setup)
    (found,) = sharpness_findings(scene, field)
    assert found.severity == "trouble"
    assert "Ada" in found.text
    assert found.what_to_do.startswith("Focus on Tomas")
    assert field.aperture_for_better < field.aperture_for_eyes


def test_sensor_and_lens_of_twice_the_size_frame_the_same(studio):
    plain = Camera(place=studio.place(0.0, 2.0, 1.2), focal_length_mm=50.0, sensor="36 x 24 mm")
    views = []
    for camera in (plain, changed(plain, focal_length_mm=100.0, sensor="72 x 48 mm")):
        scene = build_scene(changed(studio.setup([]), camera=camera))
        views.append(framing((scene,)).frame_height_m)
    # The longer lens is drawn out farther: f/s more, 2.5 % here.
    np.testing.assert_allclose(views[1] / views[0], (2.0 - 0.1) / (2.0 - 0.05), rtol=1e-12)
