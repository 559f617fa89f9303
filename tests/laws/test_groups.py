"""Several people in one setup: each is checked as if they were the sitter, and named."""

import math

import numpy as np
import pytest

from tapemark.services import check_setup, report_as_plain
from tapemark.studio import Setup, setup_from_mapping

GLASSES = {"preset": "mild short-sighted, medium frame"}


def place(x: float, y: float, height: str) -> dict:
    side = math.degrees(math.atan2(x, y))
    way = "camera-left" if side >= 0 else "camera-right"
    return {
        "distance": f"{math.hypot(x, y)!r} m",
        "side": f"{abs(side)!r} deg {way}",
        "height": height,
    }


def room(dx: float = 0.0, dy: float = 0.0) -> dict:
    return {
        "width": "8 m",
        "length": "9 m",
        "height": "3 m",
        "camera_left": f"{4.0 - dx!r} m",
        "behind_sitter": f"{3.0 + dy!r} m",
    }


def setup_around(dx: float = 0.0, dy: float = 0.0, **more: object) -> Setup:
    """Return the same room, camera and light, told from a mark that lies elsewhere."""
    aim = place(0.3 - dx, 0.0 - dy, "1.2 m")
    light = {
        "name": "key",
        "head": "400 Ws studio head",
        "modifier": "medium softbox 60x90 cm",
        "place": place(1.2 - dx, 1.6 - dy, "1.5 m"),
        "aim": aim,
        "power": "1/8",
    }
    camera = {
        "place": place(0.2 - dx, 2.6 - dy, "1.25 m"),
        "aim": aim,
        "focal_length": "70 mm",
    }
    return setup_from_mapping({"room": room(dx, dy), "camera": camera, "light": [light], **more})


@pytest.fixture(scope="module")
def pair():
    companion = {
        "name": "Tom",
        "across": "0.6 m camera-left",
        "back": "0.3 m",
        "eye_height": "1.3 m",
        "turn": "8 deg camera-right",
        "glasses": GLASSES,
    }
    return check_setup(setup_around(companion=[companion]))


@pytest.fixture(scope="module")
def alone():
    """The companion told as the only sitter, with everything counted from their mark."""
    sitter = {
        "name": "Tom",
        "eye_height": "1.3 m",
        "turn": "8 deg camera-right",
        "glasses": GLASSES,
    }
    return check_setup(setup_around(0.6, -0.3, sitter=sitter))


def test_companion_is_checked_like_a_sitter_at_their_mark(pair, alone):
    tom, same = pair.people[1], alone.people[0]
    for lens, other in zip(tom.lenses, same.lenses, strict=True):
        assert lens.verdict == other.verdict
        np.testing.assert_allclose(lens.lens_cover, other.lens_cover, rtol=0, atol=1e-6)
        np.testing.assert_allclose(lens.veil, other.veil, rtol=0, atol=1e-6)
    assert [one.source for one in tom.catchlights] == [one.source for one in same.catchlights]
    for one, other in zip(tom.catchlights, same.catchlights, strict=True):
        np.testing.assert_allclose(one.offset_mm, other.offset_mm, rtol=0, atol=1e-6)
    np.testing.assert_allclose(tom.exposure.aperture, same.exposure.aperture, rtol=1e-6)


def test_findings_name_whom_they_are_about(pair):
    about = {finding.sitter for finding in pair.findings}
    assert "Tom" in about
    assert all(finding.sitter in finding.text for finding in pair.findings)


def test_a_single_sitter_is_not_named_in_every_finding(alone):
    assert all(not finding.sitter for finding in alone.findings)


def test_verdict_is_the_worst_of_all(pair):
    order = ("veiled", "edge", "clear")
    assert pair.verdict == min((one.verdict for one in pair.people), key=order.index)


def test_json_has_everybody(pair):
    plain = report_as_plain(pair)
    assert [one["name"] for one in plain["people"]] == ["sitter", "Tom"]
    assert plain["eyes"] == plain["people"][0]["eyes"]
    assert {"left", "right"} == set(plain["people"][1]["eyes"])


def test_who_stands_in_the_light_takes_it():
    """Somebody on the line from the light to the face, a head taller, shades it."""
    in_the_way = {
        "name": "Tom",
        "across": "0.3 m camera-left",
        "back": "-0.4 m",
        "posture": "standing",
        "eye_height": "1.6 m",
    }
    free = check_setup(setup_around(sitter={"eye_height": "1.2 m"}))
    shaded = check_setup(setup_around(sitter={"eye_height": "1.2 m"}, companion=[in_the_way]))
    assert shaded.exposure.exposure_lx_s < 0.5 * free.exposure.exposure_lx_s


def test_who_stands_before_the_camera_is_named():
    in_the_way = {
        "name": "Tom",
        "across": "0.1 m camera-left",
        "back": "-1 m",
        "posture": "standing",
        "eye_height": "1.5 m",
    }
    report = check_setup(setup_around(companion=[in_the_way]))
    blocked = [one for one in report.findings if one.code == "camera-blocked"]
    assert [one.sitter for one in blocked] == ["sitter"]
    assert "Tom stands between" in blocked[0].text


def test_who_stands_between_light_and_lens_hides_the_reflection():
    sitter = {"eye_height": "1.2 m", "glasses": "thin reading glasses"}
    in_the_way = {
        "name": "Tom",
        "across": "0.62 m camera-left",
        "back": "-0.8 m",
        "posture": "standing",
        "eye_height": "1.6 m",
    }
    free = check_setup(setup_around(sitter=sitter))
    hidden = check_setup(setup_around(sitter=sitter, companion=[in_the_way]))
    assert free.lenses[0].lens_cover > 0.05
    assert hidden.lenses[0].lens_cover < free.lenses[0].lens_cover / 2
