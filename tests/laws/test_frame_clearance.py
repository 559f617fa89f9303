"""Laws of what stands near the frame: symmetry, the gap at the thing, what hides it, cures."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.analysis import (
    build_scene,
    clearance_findings,
    depth_of_field,
    frame_clearances,
    frame_view,
    framing,
    framing_findings,
    perspective_findings,
    sharpness_findings,
)
from tapemark.studio import Backdrop, Companion, Modifier, Panel, Place, Screen, Spot, Stand
from tapemark.studio import changed as changed_data

OTHER_EDGE = {"camera-left": "camera-right", "camera-right": "camera-left"}


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


def clearances(setup):
    return {one.name: one for one in frame_clearances(build_scene(setup))}


def gear(studio, side):
    """A key, a boomed hair light, a panel and a strip, mirrored by `side`."""
    boom = Stand(kind="boom", boom_out_m=1.0)
    lights = [
        studio.light("key", (side * 0.8, 0.9, 1.6)),
        studio.light("hair", (side * 0.3, -0.7, 1.9), modifier="strip 30x120 cm", stand=boom),
        studio.light("back", (-side * 0.6, -0.9, 1.1), modifier="reflected umbrella 110 cm"),
    ]
    panel = Panel(
        name="panel",
        width_m=0.6,
        height_m=0.9,
        place=studio.place(-side * 0.5, 0.6, 0.9),
    )
    return portrait(studio, *lights, panels=(panel,))


def test_a_mirrored_set_clears_by_the_same_at_the_other_edge(studio):
    one, other = clearances(gear(studio, 1.0)), clearances(gear(studio, -1.0))
    assert set(one) == {"key", "hair", "back", "panel"}
    for name, found in one.items():
        mirrored = dataclasses.replace(
            other[name], edge=OTHER_EDGE.get(other[name].edge, other[name].edge)
        )
        assert found.part == mirrored.part
        assert found.edge == mirrored.edge
        np.testing.assert_allclose(found.gap, mirrored.gap, atol=1e-9)
        np.testing.assert_allclose(found.gap_m, mirrored.gap_m, atol=1e-9)


@given(across_m=st.floats(0.4, 2.0), depth_m=st.floats(0.4, 1.8), height_m=st.floats(1.0, 1.4))
def test_the_gap_beside_the_frame_is_measured_at_the_thing(studio, across_m, depth_m, height_m):
    """A screen square to the camera: its edge against the frame's edge at that depth."""
    place = studio.place(across_m, 2.0 - depth_m, height_m)
    ahead = studio.place(across_m, 2.0 - depth_m + 5.0, height_m)
    screen = Screen(name="screen", width_m=0.4, height_m=0.3, place=place, aim=ahead)
    setup = portrait(studio, screens=(screen,))
    setup = with_camera(setup, aim=studio.place(0.0, 0.0, 1.2))
    view = frame_view(build_scene(setup))
    expected = across_m - 0.2 - view.half_width * depth_m
    found = clearances(setup)["screen"]
    np.testing.assert_allclose(found.gap_m, expected, atol=1e-6)
    np.testing.assert_allclose(found.gap * view.field_m(depth_m)[0], found.gap_m, atol=1e-6)
    assert found.edge == "camera-left"
    assert found.in_frame is (expected < 0)


@given(
    height_m=st.floats(0.2, 2.4).filter(lambda one: abs(one - 1.2) > 0.3),
    depth_m=st.floats(0.4, 1.8),
)
def test_the_gap_above_and_below_the_frame_is_measured_at_the_thing(studio, height_m, depth_m):
    ahead = studio.place(0.0, 2.0 - depth_m + 5.0, height_m)
    place = studio.place(0.0, 2.0 - depth_m, height_m)
    screen = Screen(name="screen", width_m=1.5, height_m=0.3, place=place, aim=ahead)
    setup = with_camera(portrait(studio, screens=(screen,)), aim=studio.place(0.0, 0.0, 1.2))
    view = frame_view(build_scene(setup))
    found = clearances(setup)["screen"]
    expected = abs(height_m - 1.2) - 0.15 - view.half_height * depth_m
    np.testing.assert_allclose(found.gap_m, expected, atol=1e-6)
    np.testing.assert_allclose(found.gap * view.field_m(depth_m)[0], expected, atol=1e-6)
    assert found.edge == ("top" if height_m > 1.2 else "bottom")


@pytest.mark.parametrize(
    ("where", "edge"),
    [
        ((0.3, 0.5, 1.2), "camera-left"),
        ((-0.3, 0.5, 1.2), "camera-right"),
    ],
)
def test_moving_by_what_is_said_frees_the_frame(studio, where, edge):
    setup = portrait(studio, studio.light("key", where))
    found = clearances(setup)["key"]
    assert found.in_frame
    assert found.edge == edge
    x, y, z = where
    way = 1.0 if edge == "camera-left" else -1.0
    aim = studio.place(x, y + 5.0, z)  # square to the camera, so that it keeps its shape
    still = portrait(studio, studio.light("key", where, aim=aim))
    shift = abs(clearances(still)["key"].gap_m)
    moved_aim = studio.place(x + way * shift * 1.001, y + 5.0, z)
    moved = studio.light("key", (x + way * shift * 1.001, y, z), aim=moved_aim)
    assert not clearances(portrait(studio, moved))["key"].in_frame


def bare(studio, name, where, **more):
    return studio.light(name, where, modifier="bare small flash", **more)


def test_what_stands_behind_the_sitter_is_hidden_and_beside_them_it_shows(studio):
    for across_m, hidden in ((0.0, True), (0.26, False)):
        light = bare(studio, "back", (across_m, -0.8, 0.9))
        setup = portrait(studio, light)
        found = clearances(setup)["back"]
        assert found.in_frame
        assert found.hidden is hidden
        scene = build_scene(setup)
        said = clearance_findings(scene, frame_clearances(scene))
        assert codes(said) == ([] if hidden else ["light-in-frame"])


def test_a_companion_hides_too(studio):
    light = bare(studio, "back", (0.42, -1.5, 0.9))
    alone = with_camera(studio.setup([light]), orientation="landscape")
    beside = changed(alone, companions=(companion(0.3),))
    assert not clearances(alone)["back"].hidden
    assert clearances(beside)["back"].hidden


def test_a_light_behind_the_backdrop_is_hidden_and_one_beside_it_is_a_caution(studio):
    light = bare(studio, "back", (0.4, -2.0, 1.2))
    for backdrop, severities in (
        (None, ["trouble"]),
        (Backdrop(distance_m=2.5), ["trouble"]),
        (Backdrop(distance_m=1.5), []),
        (Backdrop(distance_m=2.5, width_m=0.5), ["caution"]),
    ):
        setup = with_camera(studio.setup([light], backdrop=backdrop), orientation="landscape")
        scene = build_scene(setup)
        said = clearance_findings(scene, frame_clearances(scene))
        assert [one.severity for one in said] == severities


def test_a_boom_keeps_the_column_out_of_the_frame(studio):
    where = (0.0, -0.3, 2.05)
    stood = clearances(portrait(studio, bare(studio, "hair", (0.3, -0.3, 2.05))))["hair"]
    aside = Stand(kind="boom", base=Spot(distance_m=1.5, side_deg=100.0))
    behind = Stand(kind="boom", boom_out_m=1.5)
    hung = clearances(portrait(studio, bare(studio, "hair", where, stand=aside)))["hair"]
    poking = clearances(portrait(studio, bare(studio, "hair", where, stand=behind)))["hair"]
    fixed = clearances(portrait(studio, bare(studio, "hair", where, stand=Stand(kind="fixed"))))
    assert stood.part == "stand"
    assert not stood.hidden
    assert fixed["hair"].edge == "top"
    assert not fixed["hair"].in_frame
    assert not hung.in_frame
    assert poking.part == "stand"  # its column looks over the head from behind
    assert poking.in_frame
    assert not poking.hidden


def test_a_light_half_beside_the_camera_is_cut_off_in_front_of_it(studio):
    box = Modifier(kind="strip", width_m=0.3, height_m=1.2)
    aim = studio.place(0.0, 2.0, 1.2)
    setup = portrait(studio, studio.light("side", (0.8, 2.0, 1.2), modifier=box, aim=aim))
    found = clearances(setup)["side"]
    assert np.isfinite(found.gap)
    assert found.gap > 0.0
    behind = portrait(studio, studio.light("far", (0.4, 3.2, 1.6)))
    assert clearances(behind) == {}


def test_a_panel_that_passes_close_before_the_camera_is_in_the_frame(studio):
    # From 1 m in front of the camera, outside the frame, to behind it on the other side.
    panel = Panel(
        name="panel",
        width_m=1.7,
        height_m=0.6,
        place=studio.place(0.05, 1.75, 1.2),
        aim=studio.place(0.05 + 1.5, 1.75 + 0.9, 1.2),
    )
    found = clearances(portrait(studio, panels=(panel,)))["panel"]
    assert found.in_frame
    assert found.part == "body"


def test_nothing_about_gives_nothing(studio):
    assert frame_clearances(build_scene(portrait(studio))) == ()


def test_a_near_miss_is_a_note_and_a_sound_set_gives_no_finding(studio):
    setup = portrait(studio, studio.light("key", (1.2, 0.9, 1.7)))
    scene = build_scene(setup)
    frame = framing((scene,))
    assert framing_findings(scene, frame) == []
    assert perspective_findings(scene, frame) == []
    assert sharpness_findings(scene, depth_of_field((scene,))) == []
    gaps = frame_clearances(scene)
    assert clearance_findings(scene, gaps) == []
    close = (dataclasses.replace(gaps[0], gap=0.01, gap_m=0.005),)
    assert [(one.code, one.severity) for one in clearance_findings(scene, close)] == [
        ("near-frame-edge", "note")
    ]


@given(focal_mm=st.floats(35.0, 200.0))
def test_longer_lenses_clear_by_more(studio, focal_mm):
    setup = portrait(studio, studio.light("key", (0.9, 0.8, 1.5)))
    one, other = (
        clearances(with_camera(setup, focal_length_mm=factor * focal_mm))["key"].gap_m
        for factor in (1.0, 1.1)
    )
    assert other > one
