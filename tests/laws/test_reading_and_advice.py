"""What the meter reads, and whether the advice of a finding is possible."""

import numpy as np
import pytest

from tapemark.anatomy import predicted_base_curve_d
from tapemark.errors import SetupError
from tapemark.studio import Glasses, Panel, Prescription


def test_lights_from_behind_do_not_count_at_the_face(studio):
    key = studio.light("key", (0.9, 1.5, 1.8))
    rims = [
        studio.light(name, (x, -1.2, 1.9), modifier="strip 30x120 cm")
        for name, x in (("rim left", 1.4), ("rim right", -1.4))
    ]
    alone, all_three = (
        studio.check(studio.setup(lights)).exposure for lights in ([key], [key, *rims])
    )
    np.testing.assert_allclose(all_three.aperture, alone.aperture, rtol=1e-12)
    assert all_three.ratio is None
    assert [one.aperture for one in all_three.lights[1:]] == [None, None]


def test_light_and_its_own_bounce_are_no_key_and_fill(studio):
    fill = studio.light("fill", (0.0, 2.4, 1.5), aim="ceiling", modifier="bare small flash")
    assert studio.check(studio.setup([fill])).exposure.ratio is None


def test_lights_at_full_power_are_not_asked_for_more(studio):
    weak = studio.light("key", (1.5, 4.0, 1.8), power_stops=0.0, modifier="strip 30x120 cm")
    report = studio.check(studio.setup([weak]))
    (finding,) = [one for one in report.findings if one.code == "exposure-off"]
    assert report.exposure.stops_over < -1.0
    assert "Turn the lights up" not in finding.what_to_do
    assert "nearer" in finding.what_to_do


@pytest.mark.parametrize(
    ("height_m", "word", "step_m"), [(0.7, "Lower", -0.1), (1.45, "Raise", 0.1)]
)
def test_following_the_advice_clears_the_lens_more(studio, height_m, word, step_m):
    def lenses(at_m):
        low = studio.light("key", (0.1, 1.2, at_m))
        return studio.check(studio.setup([low], glasses=studio.worn()))

    before, after = lenses(height_m), lenses(height_m + step_m)
    advice = [one.what_to_do for one in before.findings if one.code.startswith("lens-")]
    assert advice
    assert all(text.startswith(f"{word} key") for text in advice)
    assert sum(one.lens_cover for one in after.lenses) < sum(
        one.lens_cover for one in before.lenses
    )


def test_flag_before_the_key_takes_its_light_its_catchlight_and_its_reading(studio):
    key = studio.light("key", (0.8, 1.4, 1.7))
    flag = Panel(
        name="flag", width_m=1.6, height_m=1.6, place=studio.place(0.5, 0.9, 1.5), reflectance=0.0
    )
    report = studio.check(studio.setup([key], panels=(flag,)))
    assert report.exposure.aperture is None
    assert not any(one.visible for one in report.catchlights)
    codes = {one.code for one in report.findings}
    assert {"no-light-on-face", "catchlight-missing"} <= codes


def test_light_that_is_off_still_stands_in_the_way(studio):
    lit = studio.light("key", (0.8, 1.4, 1.7))
    off = studio.light("spare", (0.5, 0.9, 1.5), modifier="octagonal box 150 cm", on=False)
    alone, behind = (studio.check(studio.setup(lights)) for lights in ([lit], [lit, off]))
    assert behind.exposure.lights[0].exposure_lx_s < 0.2 * alone.exposure.lights[0].exposure_lx_s


def test_light_between_camera_and_eyes_is_trouble(studio):
    key, plate = studio.light("key", (0.8, 1.4, 1.7)), studio.light("plate", (0.0, 1.0, 1.2))
    codes = {one.code for one in studio.check(studio.setup([key, plate])).findings}
    assert "camera-blocked" in codes
    assert "camera-blocked" not in {one.code for one in studio.check(studio.setup([key])).findings}


@pytest.mark.parametrize("sphere_d", [8.0, 12.0, 16.0, 20.0, 25.0, -12.0, -20.0, -30.0])
def test_strong_lens_is_answered_in_numbers_or_refused_in_words(studio, sphere_d):
    card = Prescription(sphere_d=sphere_d)
    glasses = studio.worn("large fashion frame, plano", right=card, left=card)
    setup = studio.setup([studio.light("key", (0.6, 1.4, 1.4))], glasses=glasses)
    if sphere_d <= -20.0:  # the back would have to be steeper than half a ball
        with pytest.raises(SetupError, match="sphere"):
            studio.check(setup)
        return
    numbers = [(one.veil, one.lens_cover) for one in studio.check(setup).lenses]
    assert np.isfinite(numbers).all()


def test_aperture_on_the_ring_is_its_exact_value(studio):
    # f/11 on the ring is the fourth power of the root of two times 2.83: 11.31.
    key = studio.light("key", (0.9, 1.5, 1.8))
    setup = studio.setup([key])
    camera = setup.camera.model_copy(update={"aperture": 11.0})
    report = studio.check(setup.model_copy(update={"camera": camera}))
    expected = 2.0 * np.log2(report.exposure.aperture / 2.0**3.5)
    np.testing.assert_allclose(report.exposure.stops_over, expected, atol=1e-9)


def test_no_blank_is_predicted_steeper_than_any_made():
    strong = Prescription(sphere_d=20.0)
    glasses = Glasses(preset="strong long-sighted", right=strong, left=strong)
    assert predicted_base_curve_d(glasses, prescription=strong) == 12.0
