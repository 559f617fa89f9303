"""The photographer sees the frame before the first test shot."""

import numpy as np
import pytest

from tapemark.analysis import frame_view
from tapemark.drawing.camera_drawing import camera_view_drawing
from tapemark.drawing.sitter_picture import Shown

BARE = {"glasses": ""}


def pictures(drawn):
    """The two groups of the page: both eyes enlarged, then the whole frame."""
    return drawn.groups("picture")


def frame_box(drawn):
    """Left, top, width and height of the whole frame on the page [pt]."""
    frames = [
        one
        for one in drawn.root.iter("{http://www.w3.org/2000/svg}rect")
        if one.get("fill") == "none"
    ]
    return [float(frames[0].get(key)) for key in ("x", "y", "width", "height")]


def pupils(drawn, number):
    """Middles of the pupils in a picture, the sitter's right first [pt]."""
    found = drawn.paths("pupil", inside=pictures(drawn)[number])
    return [(path[0].min(axis=0) + path[0].max(axis=0)) / 2 for path in found]


def widths(drawn, name):
    """Widths of what is drawn under a name in the enlarged picture [pt]."""
    found = drawn.paths(name, inside=pictures(drawn)[0])
    return [float(np.ptp(path[0][:, 0])) for path in found]


def test_eyes_lie_where_a_pinhole_camera_puts_them(library):
    drawn = library.camera(**BARE)
    left, top, width, height = frame_box(drawn)
    # 85 mm on a 24 x 36 mm frame, eyes 63 mm apart at 2 m and about 3 mm behind the corneas;
    # focused on them, the lens stands 85 * 2003 / (2003 - 85) mm in front of the sensor.
    step_pt = width / 24 * 85 * 63 / (2000 + 3 - 85)
    right_eye, left_eye = pupils(drawn, 1)
    assert left_eye[0] - right_eye[0] == pytest.approx(step_pt, rel=0.03)
    middle = (right_eye + left_eye) / 2
    np.testing.assert_allclose(middle, (left + width / 2, top + height / 2), atol=1.0)


def test_the_frame_has_the_sensors_shape(library):
    _, _, width, height = frame_box(library.camera())
    assert width / height == pytest.approx(24 / 36, abs=0.002)
    _, _, width, height = frame_box(library.camera(orientation="landscape"))
    assert width / height == pytest.approx(36 / 24, abs=0.002)


@pytest.mark.parametrize(("sphere", "smaller"), [("-6.00 D", True), ("+5.00 D", False)])
def test_eyes_look_smaller_through_minus_and_larger_through_plus(library, sphere, smaller):
    def glasses(power):
        return (
            '[sitter.glasses]\nlens_width = "52 mm"\nlens_height = "40 mm"\nbridge = "18 mm"\n'
            f'outline = "oval"\nright = {{ sphere = "{power}" }}\nleft = {{ sphere = "{power}" }}'
        )

    plain = widths(library.camera(glasses=glasses("plano")), "opening")
    powered = widths(library.camera(glasses=glasses(sphere)), "opening")
    assert all((now < before) == smaller for now, before in zip(powered, plain, strict=True))
    assert abs(powered[0] / plain[0] - 1) > 0.05


def test_reflections_fall_inside_the_lenses(library):
    drawn = library.camera()
    for side in ("right", "left"):
        (group,) = [
            one for one in pictures(drawn)[0].iter() if one.get("class") == f"reflections {side}"
        ]
        reflected = [library.points_of(path) for path in group.iter() if path.get("d")]
        lens = drawn.groups("rim")[("right", "left").index(side)]
        edge = np.concatenate(
            [p for path in lens.iter() if path.get("d") for p in library.points_of(path)]
        )
        points = np.concatenate([part for path in reflected for part in path])
        assert (points.min(axis=0) > edge.min(axis=0)).all()
        assert (points.max(axis=0) < edge.max(axis=0)).all()


def test_a_reflection_is_drawn_where_the_camera_sees_it(library):
    scene, shown, drawn = library.scene(), library.shown(), library.camera()
    left, top, width, height = frame_box(drawn)
    view = frame_view(scene)
    outline = max(shown["outlines"], key=lambda one: len(one.polygons[0]))
    plane = view(np.array(outline.polygons[0]))
    expected = plane * width / (2 * view.half_width) + (left + width / 2, top + height / 2)
    small = pictures(drawn)[1]
    found = [
        library.points_of(path)[0]
        for group in small.iter()
        if group.get("class") == f"reflection {outline.surface}"
        for path in group
    ]
    gaps = [
        np.abs(ring.mean(axis=0) - expected.mean(axis=0)).max()
        for ring in found
        if len(ring) == len(expected)
    ]
    assert min(gaps) < 0.02


def test_front_and_back_reflections_differ_in_hatching_and_edge(library):
    drawn = library.camera()
    for surface, dashed in (("front", False), ("back", True)):
        group = next(
            one for one in pictures(drawn)[0].iter() if one.get("class") == f"reflection {surface}"
        )
        fills = [path.get("fill") for path in group]
        assert any(fill.startswith(f"url(#{surface}-") for fill in fills)
        assert any(path.get("stroke-dasharray") for path in group) == dashed


def test_troubled_says_veiled_with_its_sign_and_names_the_light(library):
    drawn = library.camera()
    assert "veiled" in drawn.words()
    assert drawn.groups("sign veiled")
    assert {"key", "fill"} <= set(drawn.words())


def test_cured_says_clear_for_both_eyes(library):
    drawn = library.camera(**library.cured)
    assert drawn.words().count("clear") == 2
    assert len(drawn.groups("sign clear")) == 2
    assert drawn.groups("sign veiled") == []


def test_catchlights_lie_on_the_iris_by_the_clock(library):
    drawn = library.camera(**BARE)
    irises = drawn.paths("iris", inside=pictures(drawn)[0])
    groups = [one for one in pictures(drawn)[0].iter() if one.get("class") == "catchlight"]
    lights = [library.points_of(path)[0].mean(axis=0) for group in groups for path in group]
    seen = [one for one in library.shown(**BARE)["catchlights"] if one.visible]
    assert len(lights) == len(seen) > 0
    for one, at in zip(seen, lights, strict=True):
        iris = irises[0 if one.side == "right" else 1][0]
        middle_x = (iris[:, 0].min() + iris[:, 0].max()) / 2
        assert np.sign(at[0] - middle_x) == np.sign(one.offset_mm[0])
        assert iris[:, 0].min() < at[0] < iris[:, 0].max()


def test_without_glasses_there_is_no_frame_and_no_verdict(library):
    drawn = library.camera(**BARE)
    assert drawn.groups("rim") == []
    assert drawn.words().count("no glasses") == 2


def test_a_rim_holds_each_lens_twice_for_both_pictures(library):
    assert len(library.camera().groups("rim")) == 4


@pytest.mark.parametrize(
    ("turn", "cut"), [("40 deg camera-left", [True, False]), ("40 deg camera-right", [False, True])]
)
def test_a_turned_head_hides_part_of_the_far_rim_and_none_of_the_near(library, turn, cut):
    for picture in pictures(library.camera(turn=turn)):
        rims = [one for one in picture.iter() if one.get("class") == "rim"]
        assert [one.get("clip-path") is not None for one in rims] == cut  # right rim, left rim


def test_a_dark_room_is_drawn_too(library):
    scene = library.scene()
    dark = scene.setup.model_copy(update={"lights": ()})
    from tapemark.analysis import build_scene

    svg = camera_view_drawing(
        build_scene(dark), shown=Shown(lenses=(), catchlights=(), outlines=())
    )
    assert "no catchlight" in svg
