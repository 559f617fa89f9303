"""What the meter reads, and whether the advice of a finding is possible."""

import numpy as np

from tapemark.anatomy import predicted_base_curve_d
from tapemark.studio import Glasses, Prescription


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


def test_advice_for_a_low_light_does_not_lead_through_the_eyes(studio):
    low = studio.light("low", (0.2, 1.6, 0.9))
    report = studio.check(studio.setup([low], glasses=studio.worn()))
    texts = [one.what_to_do for one in report.findings if one.code.startswith("lens-")]
    assert texts
    assert all("well above the eyes" in text for text in texts)


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
