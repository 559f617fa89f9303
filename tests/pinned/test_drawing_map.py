"""A photographer reads where a light may stand, and where it should go, off one page."""

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tapemark.drawing import map_drawing
from tapemark.drawing.style import LEAST_TEXT_PT, WARM
from tapemark.planning import sightline_map
from tapemark.services import demo_setup_text
from tapemark.studio import changed, setup_from_toml

SVG = "{http://www.w3.org/2000/svg}"


def mapped(stem="troubled", light="key", **changes):
    setup = changed(setup_from_toml(demo_setup_text(f"quillmere-{stem}")), changes)
    return sightline_map(setup, light)


class Page:
    """A drawn map, parsed."""

    def __init__(self, found, **more):
        self.root = ET.fromstring(map_drawing(found, **more))
        self.texts = [(one.text or "", one) for one in self.root.iter(f"{SVG}text")]
        self.words = [text for text, _ in self.texts]

    def groups(self, name):
        return [one for one in self.root.iter(f"{SVG}g") if one.get("class") == name]

    def place_of(self, text):
        (found,) = [one for told, one in self.texts if told == text]
        return float(found.get("x")), float(found.get("y"))

    def middle(self, group):
        (path,) = [one for one in group.iter(f"{SVG}path")][:1]
        start, *steps = re.findall(r"-?\d*\.?\d+", path.get("d").replace("z", ""))
        numbers = np.array([float(start), *map(float, steps)]).reshape(-1, 2)
        points = np.cumsum(numbers, axis=0)
        return (points.min(axis=0) + points.max(axis=0)) / 2


@pytest.fixture(scope="module")
def troubled():
    return Page(mapped(), still_shown=("fill",))


def test_the_answer_is_the_first_thing_read(troubled):
    answer = [one for text, one in troubled.texts if text and text.startswith("Key: raise 5")]
    assert len(answer) == 1
    sizes = sorted(float(one.get("font-size")) for _, one in troubled.texts)
    assert float(answer[0].get("font-size")) == sizes[-2]  # second to the heading alone
    assert any(text.startswith("Now closed, over the eye") for text in troubled.words)
    assert "The lenses also show fill: map that too." in troubled.words


def test_no_text_is_smaller_than_nine_points(troubled):
    assert min(float(one.get("font-size")) for _, one in troubled.texts) >= LEAST_TEXT_PT


def test_regions_carry_their_names(troubled):
    for name in ("open", "closed: over an eye", "closed: on a lens", "in the ceiling"):
        assert name in troubled.words
    legend = ["open", "closed: over an eye", "closed: on a lens", "out of reach"]
    assert set(legend) <= set(troubled.words)


def test_warm_is_kept_for_trouble(troubled):
    cured = Page(mapped("cured"))
    text = ET.tostring(cured.root, encoding="unicode")
    assert WARM not in text
    assert WARM in ET.tostring(troubled.root, encoding="unicode")


def test_the_light_goes_up_from_where_it_is_to_where_it_should_be(troubled):
    (now, _), (best,) = troubled.groups("light now"), troubled.groups("light best")
    assert troubled.middle(best)[1] < troubled.middle(now)[1] - 20.0
    assert abs(troubled.middle(best)[0] - troubled.middle(now)[0]) < 30.0


def test_camera_left_is_on_the_right_as_the_sitter_sees_it(troubled):
    right, _ = troubled.place_of("\N{LEFTWARDS ARROW} camera-right")
    left, _ = troubled.place_of("camera-left \N{RIGHTWARDS ARROW}")
    assert right < left
    now, _ = troubled.groups("light now")
    zero = float(next(one for text, one in troubled.texts if text == "0\N{DEGREE SIGN}").get("x"))
    assert troubled.middle(now)[0] > zero


def test_a_light_is_drawn_as_large_as_it_looks_from_the_nose(troubled):
    # The fill's opening is 1.1 m wide at 2.5 m: 24.8 degrees; on the ruler 30 degrees are known.
    (others, _) = troubled.groups("others")
    path = next(iter(others.iter(f"{SVG}path")))
    start, *steps = re.findall(r"-?\d*\.?\d+", path.get("d").replace("z", ""))
    x = np.cumsum(np.array([float(start), *map(float, steps)]).reshape(-1, 2), axis=0)[:, 0]
    ticks = [
        float(
            next(one for text, one in troubled.texts if text == f"{side}\N{DEGREE SIGN}").get("x")
        )
        for side in (0, 90)
    ]
    points_per_deg = abs(ticks[1] - ticks[0]) / 90.0
    wide_deg = 2 * np.rad2deg(np.arctan(0.55 / 2.5))
    assert np.ptp(x) / points_per_deg == pytest.approx(wide_deg, abs=0.7)


@pytest.mark.parametrize(("units", "heights"), [("metric", "2.00 m"), ("us", "6 ft")])
def test_heights_are_in_the_users_units(units, heights):
    page = Page(mapped(units=units))
    assert heights in page.words
    ruler = [text for text in page.words if text and re.fullmatch(r"\d.*( m| ft| in)", text)]
    wrong = " ft" if units == "metric" else " m"
    assert not [text for text in ruler if text.endswith(wrong)]


def test_labels_do_not_leave_the_page(troubled):
    for text, one in troubled.texts:
        x, y = float(one.get("x")), float(one.get("y"))
        assert 0.0 < x < 595.28, text
        assert 0.0 < y < 841.89, text


def test_screen_readers_are_told_the_answer(troubled):
    assert troubled.root.find(f"{SVG}title").text.startswith("Sightline map of key")
    assert "raise" in troubled.root.find(f"{SVG}desc").text


def test_a_wide_far_light_and_a_group_find_room_on_the_page():
    tom = {"name": "Tom", "across_m": 0.6, "back_m": 0.2, "eye_height_m": 1.55}
    tom |= {"posture": "standing", "glasses": {"preset": "everyday progressive"}}
    page = Page(mapped(light="fill", companions=(tom,)))
    assert "camera" in page.words
    assert any("floor" in text for text in page.words if text)
