"""Setups at and beyond the edge of sense: a check answers them all, with numbers that mean it."""

import json
import math
import time

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from tapemark.errors import SetupError
from tapemark.services import report_as_plain
from tapemark.studio import GLASSES_PRESETS, MODIFIER_PRESETS, Place, changed

LONGEST_S = 2.0  # a check takes about 15 ms; more than this is no longer the machine's doing
VERDICTS = {"clear", "edge", "veiled"}


def assert_sound(report):
    """Every share is a share, every number a number, and the whole can be written as JSON."""
    assert report.verdict in VERDICTS
    for lens in report.lenses:
        assert lens.verdict in VERDICTS
        for share in (lens.veil, lens.lens_cover):
            assert 0.0 <= share <= 1.0 + 1e-9
        for one in lens.reflections:
            assert 0.0 <= one.veil <= lens.veil + 1e-9
            assert 0.0 < one.lens_cover <= lens.lens_cover + 1e-9
            assert math.isfinite(one.stops_over_skin)
    for sight in report.sights:
        assert 0.0 <= sight.rim_share <= 1.0
        assert 0.0 <= sight.head_share <= 1.0
    for one in report.catchlights:
        assert 0.0 < one.clock <= 12.0
        assert np.all(np.isfinite([*one.offset_mm, one.width_mm, one.height_mm, one.contrast]))
        assert one.visible == (one.hidden_by == "")
    for meter in report.exposure.lights:
        assert math.isfinite(meter.exposure_lx_s)
        assert meter.exposure_lx_s >= 0.0
    for finding in report.findings:
        assert finding.text
        assert finding.what_to_do
        assert finding.severity in {"trouble", "caution", "note"}
    written = json.dumps(report_as_plain(report), allow_nan=False)
    assert {"verdict", "eyes", "exposure", "findings"} <= json.loads(written).keys()


# ---------------------------------------------------------------- nothing there


def codes(report):
    return [finding.code for finding in report.findings]


@pytest.mark.parametrize("glasses", [False, True], ids=["bare eyes", "glasses"])
def test_no_lights_at_all_is_a_finding(studio, glasses):
    report = studio.check(studio.setup([], glasses=studio.worn() if glasses else None))
    assert_sound(report)
    assert report.verdict == "clear"
    assert "no-light-on-face" in codes(report)
    assert codes(report).count("catchlight-missing") == 2
    assert report.found_trouble


def test_lights_that_are_off_do_nothing(studio):
    off = studio.light("key", (0.5, 1.5, 1.3), on=False)
    report = studio.check(studio.setup([off], glasses=studio.worn()))
    assert_sound(report)
    assert report.verdict == "clear"
    assert "no-light-on-face" in codes(report)
    lit = studio.light("fill", (-0.9, 1.4, 1.4))
    alone, with_off = (
        studio.check(studio.setup(lights, glasses=studio.worn())) for lights in ([lit], [lit, off])
    )
    assert studio.lens_numbers(alone) == studio.lens_numbers(with_off)


def test_sitter_without_glasses_has_eyes_and_no_lenses(studio):
    report = studio.check(studio.setup([studio.light("key", (0.8, 1.4, 1.8))]))
    assert_sound(report)
    assert report.lenses == ()
    assert report.outcomes == ()
    assert report.verdict == "clear"
    assert all(one.visible for one in report.catchlights)
    assert {sight.rim_share for sight in report.sights} == {0.0}
    assert not any(code.startswith("lens") for code in codes(report))


# ---------------------------------------------------------------- turned far


@pytest.mark.parametrize(("turn_deg", "far"), [(60.0, "right"), (-60.0, "left")])
def test_nose_hides_the_far_eye_of_a_head_turned_far(studio, turn_deg, far):
    # The face turned to camera-left shows the camera its left side; the right eye goes last.
    lights = [studio.light("key", (0.8, 1.4, 1.7))]
    setup = studio.setup(lights, glasses=studio.worn(), sitter={"turn_deg": turn_deg})
    report = studio.check(setup)
    assert_sound(report)
    hidden = {sight.side: sight.head_share for sight in report.sights}
    near = "left" if far == "right" else "right"
    assert hidden[far] > 0.3
    assert hidden[near] < 0.05
    straight = studio.check(changed(setup, {"sitter": changed(setup.sitter, {"turn_deg": 0.0})}))
    assert max(sight.head_share for sight in straight.sights) < 0.05


def test_profile_shows_one_lens(studio):
    lights = [studio.light("key", (1.2, 1.0, 1.5))]
    setup = studio.setup(lights, glasses=studio.worn(), sitter={"turn_deg": 90.0})
    report = studio.check(setup)
    assert_sound(report)
    assert {sight.side: sight.head_share > 0.9 for sight in report.sights}["right"]


# ---------------------------------------------------------------- odd places


@pytest.mark.parametrize(
    "camera",
    [(0.0, -2.0, 1.3), (2.0, 0.0, 1.2), (0.0, 0.5, 2.8), (0.0, 0.6, 0.3), (0.0, 0.35, 1.2)],
    ids=["behind", "beside", "above", "below", "at the nose"],
)
def test_camera_in_an_odd_place(studio, camera):
    lights = [studio.light("key", (0.9, 1.3, 1.6)), studio.light("back", (0.4, -1.2, 1.9))]
    for glasses in (None, studio.worn(), studio.worn("sport wrap", face_form_deg=18.0)):
        assert_sound(studio.check(studio.setup(lights, glasses=glasses, camera=camera)))


@pytest.mark.parametrize("aim", ["face", "ceiling", "wall behind", "wall behind camera"])
@pytest.mark.parametrize(
    "where",
    [(0.0, -1.5, 1.2), (0.0, 0.0, 2.9), (0.02, 1.99, 1.2), (0.0, 0.3, 1.2), (3.9, 4.9, 0.0)],
    ids=["behind", "overhead", "in the camera", "at the nose", "in the corner"],
)
def test_light_in_an_odd_place(studio, where, aim):
    for modifier in MODIFIER_PRESETS:
        setup = studio.setup(
            [studio.light("key", where, modifier=modifier, aim=aim)], glasses=studio.worn()
        )
        assert_sound(studio.check(setup))


# ---------------------------------------------------------------- anything that may be said

place = st.builds(
    Place,
    distance_m=st.floats(0.3, 3.5),
    side_deg=st.floats(-180.0, 180.0),
    height_m=st.floats(0.1, 2.9),
)
aims = st.one_of(
    place,
    st.sampled_from(["face", "ceiling", "wall behind", "wall camera-left", "wall behind camera"]),
)
lamps = st.lists(
    st.tuples(
        place,
        st.sampled_from(sorted(MODIFIER_PRESETS)),
        aims,
        st.floats(-12.0, 0.0),
        st.booleans(),
    ),
    max_size=4,
)
fits = st.fixed_dictionaries(
    {
        "pantoscopic_tilt_deg": st.floats(-10.0, 30.0),
        "face_form_deg": st.floats(-10.0, 35.0),
        "vertex_distance_mm": st.floats(6.0, 25.0),
        "slipped_mm": st.floats(0.0, 20.0),
        "base_curve_d": st.floats(0.0, 10.0),
        "coating": st.sampled_from(["none", "anti-reflective"]),
    }
)
poses = st.fixed_dictionaries(
    {
        "turn_deg": st.floats(-90.0, 90.0),
        "chin_deg": st.floats(-45.0, 45.0),
        "tip_deg": st.floats(-45.0, 45.0),
        "gaze": st.sampled_from(["camera", "ahead"]),
    }
)


@settings(max_examples=150)
@given(
    camera=place,
    lights=lamps,
    preset=st.sampled_from([None, *sorted(GLASSES_PRESETS)]),
    fit=fits,
    pose=poses,
)
@example(
    camera=Place(distance_m=0.5, side_deg=180.0, height_m=1.2),
    lights=[],
    preset="sport wrap",
    fit={"face_form_deg": 35.0, "pantoscopic_tilt_deg": 30.0},
    pose={"turn_deg": 90.0, "chin_deg": 45.0, "tip_deg": -45.0, "gaze": "camera"},
)
def test_any_setup_that_is_accepted_is_answered(studio, camera, lights, preset, fit, pose):
    try:
        setup = studio.setup(
            [
                studio.light(
                    f"light {number}",
                    (1.0, 1.0, 1.0),
                    modifier=modifier,
                    place=where,
                    aim=aim,
                    power_stops=power,
                    on=on,
                )
                for number, (where, modifier, aim, power, on) in enumerate(lights)
            ],
            glasses=None if preset is None else studio.worn(preset, **fit),
            sitter=pose,
        )
        setup = changed(setup, {"camera": changed(setup.camera, {"place": camera})})
    except (SetupError, ValueError):
        assume(False)
    started = time.monotonic()
    report = studio.check(setup)
    assert time.monotonic() - started < LONGEST_S
    assert_sound(report)
