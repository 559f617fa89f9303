"""How far may the sitter lean?  Curves over the side view, to one scale."""

import numpy as np
import pytest

from tapemark.analysis import aperture_text, falloff
from tapemark.photometry import exact_aperture

SVG = "{http://www.w3.org/2000/svg}"
POINTS_PER_M = 72 / 0.0254


def found_in(library, **stated):
    return falloff(library.scene(**stated))


def heights(drawn):
    """Page height of each f-number written at the lattice [pt]."""
    (group,) = drawn.groups("apertures")
    texts = [(one.text, float(one.get("y")) - 3.2) for one in group.iter(f"{SVG}text")]
    return {float(text.removeprefix("f/")): y for text, y in texts}


def points_per_stop(drawn):
    known = sorted(heights(drawn).items())
    (low, y_low), (high, y_high) = known[0], known[-1]
    stops = round(2 * np.log2(high / low))
    return (y_low - y_high) / stops


def height_of(drawn, aperture):
    """Where an f-number lies, from the nominal f/8 or f/5.6 of the lattice [pt]."""
    known = heights(drawn)
    nominal = 8.0 if 8.0 in known else 5.6
    stops = 2 * np.log2(aperture / exact_aperture(nominal))
    return known[nominal] - stops * points_per_stop(drawn)


def scale_of(drawn):
    """Points on the page for a metre, from the heading."""
    (detail,) = [word for word in drawn.words() if "nobody there" in word]
    return POINTS_PER_M / float(detail.rpartition("1:")[2])


def x_of_face(drawn):
    """Page place of the upright line at the face [pt]."""
    (marks,) = drawn.groups("marks")
    return float(drawn.runs(marks)[0][0, 0])


@pytest.fixture
def distance(library):
    def drawn(**stated):
        return library.distance(**stated), found_in(library, **stated)

    return drawn


@pytest.mark.parametrize(
    "stated", [{}, {"key_height": "2.10 m", "fill_side": "50 deg camera-right"}]
)
def test_the_curve_lies_at_its_apertures_and_distances(distance, stated):
    drawn, found = distance(**stated)
    run = drawn.paths("together")[0][0]
    x = x_of_face(drawn) + np.array(found.places_m) * scale_of(drawn)
    assert run[0, 0] == pytest.approx(x[0], abs=0.5)
    assert run[-1, 0] == pytest.approx(x[-1], abs=0.5)
    for number in (0, 20, 60, 90, len(x) - 1):
        expected = height_of(drawn, found.together.apertures[number])
        assert np.interp(x[number], run[:, 0], run[:, 1]) == pytest.approx(expected, abs=0.6)


def test_whole_stops_are_written_and_thirds_have_a_line(distance):
    drawn, _ = distance()
    (group,) = drawn.groups("apertures")
    known = sorted(heights(drawn))
    assert {5.6, 8.0, 11.0} <= set(known)
    lines = drawn.runs(group)
    assert len(lines) == 3 * (len(known) - 1) + 1
    gaps = np.diff(sorted(one[0, 1] for one in lines))
    np.testing.assert_allclose(gaps, points_per_stop(drawn) / 3, atol=0.02)


def test_each_light_has_its_own_dash_and_its_name_at_the_end(library):
    drawn = library.distance()
    lights = [one for one in drawn.root.iter(f"{SVG}path") if one.get("class") == "light"]
    dashes = [one.get("stroke-dasharray") for one in lights]
    assert len(set(dashes)) == len(dashes) == 2
    assert {one.get("stroke") for one in lights} == {"#16233b"}
    assert {"key", "fill", "together"} <= set(drawn.words())


def test_the_camera_s_setting_is_a_level_line(distance):
    drawn, found = distance()
    line = drawn.paths("set")[0][0]
    assert line[0, 1] == line[-1, 1] == pytest.approx(height_of(drawn, found.set_to), abs=0.6)
    assert f"camera set to {aperture_text(found.set_to)}" in drawn.words()


def test_room_to_lean_is_drawn_to_scale_and_written(distance):
    drawn, found = distance()
    (group,) = drawn.groups("depths")
    runs = [path[0] for path in drawn.paths("depth", inside=group)]
    words = [one.text for one in group.iter(f"{SVG}text")]
    face, scale = x_of_face(drawn), scale_of(drawn)
    for run, depth in zip(runs, found.depths, strict=True):
        assert face - run[0, 0] == pytest.approx(depth.back_m * scale, abs=0.05)
        assert run[-1, 0] - face == pytest.approx(depth.forward_m * scale, abs=0.05)
        assert f"{100 * depth.back_m:.0f} cm" in words
        assert f"{100 * depth.forward_m:.0f} cm" in words
    assert {"±1/3 stop", "±1/2 stop"} <= set(words)


def test_bands_on_the_chart_end_where_the_curve_leaves_the_limit(distance):
    drawn, found = distance()
    (group,) = drawn.groups("useful depth")
    run = drawn.paths("together")[0][0]
    at_face = np.interp(x_of_face(drawn), run[:, 0], run[:, 1])
    for band, depth in zip(group.findall(f"{SVG}rect"), found.depths, strict=True):
        left = float(band.get("x"))
        for x in (left, left + float(band.get("width"))):
            off = abs(np.interp(x, run[:, 0], run[:, 1]) - at_face)
            assert off == pytest.approx(depth.stops * points_per_stop(drawn), abs=0.6)


def test_the_side_view_stands_under_the_curve_to_the_same_scale(library):
    more = '[backdrop]\ndistance = "1.5 m"\nwidth = "2.7 m"\nheight = "2.4 m"'
    drawn = library.distance(more=more)
    face, scale = x_of_face(drawn), scale_of(drawn)
    (view,) = drawn.groups("side view")
    (backdrop,) = drawn.groups("backdrop")
    points = np.concatenate(drawn.runs(backdrop))
    # Seen from the side its front edge lies at 1.5 m behind the eyes, 1.52 m behind the meter.
    assert points[:, 0].max() == pytest.approx(face - 1.52 * scale, abs=1.0)
    (camera,) = drawn.groups("camera")
    lens = np.concatenate(drawn.runs(camera))[:, 0]
    assert lens.min() < face + 1.98 * scale + 0.5 < lens.max()
    way = drawn.paths("way of the meter", inside=view)[0][0]
    run = drawn.paths("together")[0][0]
    np.testing.assert_allclose(way[[0, -1], 0], run[[0, -1], 0], atol=0.05)


def test_readings_along_the_way_are_those_of_the_analysis(distance):
    more = '[backdrop]\ndistance = "1.5 m"\nwidth = "2.7 m"\nheight = "2.4 m"'
    drawn, found = distance(more=more)
    words = drawn.words()
    backdrop = found.marks[0]
    text = f"{aperture_text(backdrop.aperture)}, {abs(backdrop.stops):.1f} stops under"
    assert f"backdrop: {text}" in words
    assert text in words
    assert f"at the face {aperture_text(found.aperture)}" in words
    assert f"ears: {aperture_text(found.marks[1].aperture)}, 0.1 stops under" in words


def test_the_us_page_says_inches_and_feet(library):
    words = library.distance(units="us").words()
    assert "ft from the face" in words
    assert any(word.endswith(" in") for word in words)
    assert not any(word.endswith(" cm") for word in words)


def test_a_camera_to_the_side_has_its_own_line(distance):
    drawn, found = distance(camera_side="40 deg camera-left")
    assert found.towards[0] > 0.5
    run = drawn.paths("together")[0][0]
    x = x_of_face(drawn) + np.array(found.places_m[-1]) * scale_of(drawn)
    assert run[-1, 0] == pytest.approx(float(x), abs=0.5)
