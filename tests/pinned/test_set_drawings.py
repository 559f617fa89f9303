"""The drawings of the screen: where things are, what they are called, no colours of their own."""

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tapemark.drawing.png import svg_to_png
from tapemark.drawing.set_screen.style import SET_CSS, set_page
from tapemark.drawing.set_screen.svg import SetSheet
from tapemark.services.editing.edits import apply_edits
from tapemark.services.library.new_setups import blank_setup, demo_setups
from tapemark.services.live.view import live_map, live_view

TROUBLED, CURED = (one.setup for one in demo_setups())
NASTY = "a<b> & \"c\" 'd'"
SETUPS = {
    "troubled": TROUBLED,
    "cured": CURED,
    "empty": blank_setup("us"),
    "everything": apply_edits(
        TROUBLED,
        [
            {"add": "window"},
            {"add": "panel"},
            {"add": "screen"},
            {"add": "companion", "body": {"name": NASTY}},
            {"rename": "light.key", "name": NASTY + "."},
            {"aim": "light.fill", "at": "ceiling"},
            {"set": "sitter.posture", "value": "standing"},
            {"turn": "sitter.head", "deg": 40},
        ],
    ),
}
LEAST_HALF_TARGET_MM = 22 * 6  # 44 px where a pixel is 6 mm of the room
PLACED = {
    "plan": lambda x, y, _z: (-1000 * x, 1000 * y),
    "side": lambda _x, y, z: (1000 * y, -1000 * z),
}


def drawn(setup):
    return live_view(setup, detail="drag", wants={"plan", "side", "view"}).drawings


def parsed(svg):
    return ET.fromstring(f"<svg>{svg}</svg>")


def things(root):
    return [one for one in root.iter("g") if "thing" in one.get("class", "").split()]


@pytest.mark.parametrize("name", SETUPS)
@pytest.mark.parametrize("view", ["plan", "side"])
def test_every_thing_can_be_taken_hold_of(name, view):
    found = things(parsed(drawn(SETUPS[name])[view]["svg"]))
    assert {"camera", "sitter"} <= {one.get("data-thing") for one in found}
    for one in found:
        assert one.get("tabindex") == "0"
        assert one.get("role") == "button"
        assert one.get("aria-label")
        hit = next(part for part in one.iter("circle") if part.get("class") == "hit")
        assert float(hit.get("r")) >= LEAST_HALF_TARGET_MM
        place = [float(one.get(f"data-{axis}")) for axis in "xyz"]
        page = PLACED[view](*place)
        away = abs(float(hit.get("cx")) - page[0]) + abs(float(hit.get("cy")) - page[1])
        assert away < 80


@pytest.mark.parametrize("name", SETUPS)
def test_every_light_is_on_both_drawings(name):
    setup = SETUPS[name]
    wanted = {f"light.{one.name}" for one in setup.lights}
    for view in ("plan", "side"):
        root = parsed(drawn(setup)[view]["svg"])
        held = {one.get("data-thing") for one in things(root)}
        assert wanted <= held
        labels = {one.get("data-of") for one in root.iter("g") if one.get("data-of")}
        assert wanted <= labels


@pytest.mark.parametrize("name", SETUPS)
def test_colours_and_sizes_of_type_are_left_to_the_page(name):
    for view in drawn(SETUPS[name]).values():
        root = parsed(view["svg"])
        for one in root.iter():
            assert not {"fill", "stroke", "style", "font-size", "opacity"} & set(one.keys())
        known = set(re.findall(r"\.([a-z-]+)", SET_CSS))
        shapes = {"path", "circle", "text"}
        used = {
            word
            for one in root.iter()
            if one.tag in shapes
            for word in one.get("class", "").split()
        }
        assert used - known <= {"full", "half", "none", "beside", "front"}


def test_plan_and_elevation_keep_the_orientation_of_the_printed_ones():
    plan = parsed(drawn(TROUBLED)["plan"]["svg"])
    key = next(one for one in things(plan) if one.get("data-thing") == "light.key")
    assert float(key.get("data-x")) == 0.75  # to camera-left
    hit = next(one for one in key.iter("circle"))
    assert float(hit.get("cx")) == -750  # on the left of the page
    side = parsed(drawn(TROUBLED)["side"]["svg"])
    camera = next(one for one in things(side) if one.get("data-thing") == "camera")
    assert float(next(one for one in camera.iter("circle")).get("cx")) == 2000


def test_boxes_hold_the_room():
    found = drawn(TROUBLED)
    left, top, wide, high = found["plan"]["box"]
    assert left < -2.7 < 2.7 < left + wide
    assert top < -2.0 < 5.0 < top + high
    _, top, _, high = found["side"]["box"]
    assert top < -2.75 < 0.0 < top + high
    _, _, wide, high = found["view"]["box"]
    assert abs(wide / high - 24 / 36) < 0.01


def test_a_large_room_is_shown_around_the_things_only():
    hall = apply_edits(
        TROUBLED,
        [{"set": "room.width", "value": "30 m"}, {"set": "room.camera_left", "value": "15 m"}],
    )
    left, _, wide, _ = drawn(hall)["plan"]["box"]
    assert wide < 6.0
    assert left < -0.75


def test_verdicts_are_told_apart_by_shape():
    marks = {}
    for setup in (TROUBLED, CURED):
        for one in parsed(drawn(setup)["plan"]["svg"]).iter("g"):
            if one.get("class", "").startswith("verdict"):
                marks[one.get("class").split()[1]] = [part.get("class") for part in one]
    assert marks == {"veiled": ["ring", "bar"], "clear": ["ring", "dot"]}


def test_lights_that_veil_and_their_rays_are_marked():
    troubled, cured = (drawn(one)["plan"]["svg"] for one in (TROUBLED, CURED))
    assert "light lit veils" in troubled
    assert "ray over" in troubled
    assert "veils" not in cured
    assert "class='ray" not in cured


def test_the_view_shows_reflections_catchlights_and_shadows():
    svg = drawn(TROUBLED)["view"]["svg"]
    for name in ("reflection front over", "reflection back", "catchlight", "shade", "rim full"):
        assert f"class='{name}" in svg
    assert " over'" not in drawn(CURED)["view"]["svg"]
    assert "iris" in drawn(blank_setup())["view"]["svg"]


def test_shadows_follow_the_key():
    """A key from camera-left leaves the other cheek in shade, and the other way round."""

    def shade_x(side):
        edits = [
            {"move": "light.key", "x": side * 1.3, "y": 0.7, "z": 1.8},
            {"set": "light.fill.on", "value": False},
        ]
        svg = drawn(apply_edits(TROUBLED, edits))["view"]["svg"]
        data = re.search(r"class='shade' d='M(-?\d+)", svg)
        return int(data[1])

    assert shade_x(1.0) > 0 > shade_x(-1.0)


def test_rounded_outlines_keep_to_their_corners():
    """SVG mirrors each corner from the last; rounding must not add up on the way round."""
    corner = np.random.default_rng(3).integers(-4000, 4000, (40, 2)).astype(float)
    sheet = SetSheet()
    sheet.blob([corner], "shape")
    start, first, rest = re.fullmatch(
        r"M(.*)q(.*)t(.*)z", parsed(sheet.to_text())[0].get("d")
    ).groups()
    numbers = [np.array(re.findall(r"-?\d+", one), dtype=float) for one in (start, first, rest)]
    at = numbers[0] + numbers[1][2:]
    control = numbers[0] + numbers[1][:2]
    found = [control]
    for step in numbers[2].reshape(-1, 2):
        control, at = 2 * at - control, at + step
        found.append(control)
    np.testing.assert_allclose(np.array(found), corner, atol=1.01)
    np.testing.assert_allclose(at, numbers[0])


def test_the_map_lies_in_the_same_units():
    found = live_map(TROUBLED, "key")
    root = parsed(found["svg"])
    names = {one.get("class") for one in root.iter() if one.get("class")}
    assert {"map", "closed", "veiled", "limit", "best-place"} <= names
    assert {one.get("id") for one in root.iter("pattern")} == {
        "set-closed",
        "set-veiled",
        "set-lost",
    }
    side = parsed(found["side_svg"])
    assert [one.get("class") for one in side.iter("path") if one.get("class") == "bar"] == ["bar"]


@pytest.mark.parametrize("dark", [False, True])
def test_a_fragment_can_be_looked_at_alone(dark):
    for name, one in drawn(TROUBLED).items():
        kind, units = ("view", 1.0) if name == "view" else ("set", 1000.0)
        page = set_page(one["svg"], one["box"], kind=kind, units_per_box=units, dark=dark)
        assert "var(" not in page
        assert svg_to_png(page, width_px=200).startswith(b"\x89PNG")
