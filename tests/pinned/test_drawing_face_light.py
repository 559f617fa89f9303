"""The photographer reads zones, shadows and readings off a face before the first test shot."""

import numpy as np
import pytest

from tapemark.analysis import aperture_text, frame_view
from tapemark.analysis.face_points import CHEEK, mirrored, named_places
from tapemark.analysis.finding import percent, stops_text
from tapemark.drawing import face_light_drawing
from tapemark.drawing.face_light.zone_bands import ZONE_EDGES, ZONE_STOPS, zone_color, zone_name
from tapemark.drawing.labels import within
from tapemark.photometry import FLAT, aperture_from_exposure

SVG = "{http://www.w3.org/2000/svg}"
BARE = {"glasses": ""}
LOOP = {"key_side": "38 deg camera-left", "key_height": "2.10 m"}
SHORT = {
    "turn": "25 deg camera-right",
    "modifier": "beauty dish 55 cm",
    "key_side": "75 deg camera-right",
    "key_height": "2.15 m",
    "fill_side": "20 deg camera-left",
    "more": "",
}
SPLIT = {"modifier": "strip 30x120 cm", "key_side": "85 deg camera-left", "key_height": "1.30 m"}


def marks_of(drawn):
    """Middles of the signs where readings apply [pt]."""
    circles = [group.findall(f"{SVG}circle")[-1] for group in drawn.groups("reading")]
    return np.array([[float(one.get("cx")), float(one.get("cy"))] for one in circles])


def zones_of(drawn):
    """Outlines of each zone by name."""
    groups = [one for one in drawn.root.iter(f"{SVG}g") if one.get("class", "")[:5] == "zone "]
    groups = [one for one in groups if one.get("class") != "zone key"]
    return {one.get("class").removeprefix("zone "): one for one in groups}


def pupils(drawn):
    """Middles of the pupils on the page, the sitter's right first [pt]."""
    return [(path[0].min(axis=0) + path[0].max(axis=0)) / 2 for path in drawn.paths("pupil")]


def on_page(library, drawn, places, **stated):
    """Where places of the skin lie on the page, by scale and place of the two pupils [pt]."""
    scene = library.scene(**stated)
    view = frame_view(scene, target=scene.pose.origin)
    eyes = view(scene.eyes.iris_center)
    right, left = pupils(drawn)
    scale = (left[0] - right[0]) / (eyes[1, 0] - eyes[0, 0])
    skin = named_places(scene.head, places).in_world(scene.pose).points
    return (view(skin).mean(axis=0) - eyes[0]) * scale + right


def test_the_pattern_is_said_with_the_side_that_is_lit(library):
    assert "Loop" in library.face(**LOOP).words()
    assert "Rembrandt, short lighting" in library.face(**SHORT).words()
    assert "Split" in library.face(**SPLIT).words()
    assert "No named pattern" in library.face().words()


def test_the_ratio_is_said_in_both_conventions(library):
    ratio = library.lit_face(**LOOP)["modelling"].ratio
    words = library.face(**LOOP).words()
    for value, convention in (
        (f"{ratio.highlight_to_shadow:.1f} : 1", "highlight : shadow, (key + fill) : fill"),
        (f"{ratio.key_to_fill:.1f} : 1", "key : fill, each metered alone"),
        (f"+{ratio.key_over_fill_stops:.1f}", "stops, key against fill"),
    ):
        assert words[words.index(convention) - 1] == value


def test_readings_are_those_of_the_analysis(library):
    found, words = library.lit_face(**LOOP), library.face(**LOOP).words()
    model = found["modelling"]
    for name, reading in (
        ("forehead", model.forehead),
        ("right cheek", model.right_cheek),
        ("left cheek", model.left_cheek),
    ):
        aperture = aperture_from_exposure(reading.exposure_lx_s, iso=100, calibration=FLAT)
        text = words[words.index(name) + 1]
        assert text.startswith(f"{aperture_text(float(aperture))}, ")
        way = "over" if reading.stops_from_key > 0 else "under"
        assert text.endswith(f"{stops_text(reading.stops_from_key)} {way}")


def test_signs_lie_on_the_cheeks(library):
    drawn = library.face(**BARE, **LOOP)
    marks = marks_of(drawn)
    assert len(marks) == 3
    for number, places in ((1, CHEEK), (2, mirrored(CHEEK))):
        expected = on_page(library, drawn, places, **BARE, **LOOP)
        np.testing.assert_allclose(marks[number], expected, atol=2.0)


def test_each_eye_says_what_brow_and_rim_take(library):
    stated = {**LOOP, "key_height": "2.40 m"}
    words = library.face(**stated).words()
    for shade in library.lit_face(**stated)["modelling"].eyes:
        at = words.index(f"{shade.side} eye")
        assert words[at + 2] == f"brow, nose take {percent(shade.head_share)}"
        assert words[at + 3] == f"rim takes {percent(shade.rim_share)}"


def test_zones_are_named_and_toned_by_their_stops(library):
    drawn = library.face(**SPLIT)
    zones = zones_of(drawn)
    assert {"0", "\N{MINUS SIGN}1", "\N{MINUS SIGN}2"} <= set(zones)
    for stops in ZONE_STOPS:
        if zone_name(stops) in zones:
            (path,) = zones[zone_name(stops)].findall(f"{SVG}path")
            assert path.get("fill") == zone_color(stops)
    assert zone_name(-1.5) == "\N{MINUS SIGN}1½"
    assert zone_name(0.5) == "+½"
    middles = np.array(ZONE_STOPS)
    assert (np.array(ZONE_EDGES) < middles[:-1]).all()
    assert (np.array(ZONE_EDGES) > middles[1:]).all()


@pytest.mark.parametrize("stated", [SPLIT, SHORT])
def test_skin_lies_in_the_zone_of_its_stops(library, stated):
    stated = {**stated, **BARE}
    drawn, zones = library.face(**stated), library.lit_face(**stated)["zones"]
    scene = library.scene(**stated)
    view = frame_view(scene, target=scene.pose.origin)
    eyes, (right, left) = view(scene.eyes.iris_center), pupils(drawn)
    scale = (left[0] - right[0]) / (eyes[1, 0] - eyes[0, 0])
    # The middle of the face, where no skin hides other skin.
    middle = np.abs(np.arange(zones.stops.shape[1]) - zones.stops.shape[1] // 2) < 15
    points, stops = zones.points[4:-10:3, middle][:, ::3], zones.stops[4:-10:3, middle][:, ::3]
    page = (view(points) - eyes[0]) * scale + right
    shown = np.full(stops.shape, -1)
    for number, value in enumerate(ZONE_STOPS):
        if zone_name(value) not in zones_of(drawn):
            continue
        (path,) = zones_of(drawn)[zone_name(value)].findall(f"{SVG}path")
        for k in np.ndindex(stops.shape):
            x, y = page[k]
            hits = [
                within(ring, np.array([x]), np.array([y]))[0, 0] for ring in library.points_of(path)
            ]
            if sum(hits) % 2:
                shown[k] = number
    meant = np.searchsorted(-np.array(ZONE_EDGES), -stops)
    gap = np.abs(shown - meant)
    assert np.mean(gap == 0) > 0.75  # tones are evened out a little over an edge
    assert np.mean(gap <= 1) > 0.95


def test_the_core_of_the_shadow_is_hatched_on_the_side_away_from_the_key(library):
    drawn = library.face(**SPLIT, **BARE)
    (core,) = drawn.groups("core shadow")
    hatched, edged = core.findall(f"{SVG}path")
    assert hatched.get("fill") == "url(#core)"
    assert edged.get("stroke") is not None
    ring = max(library.points_of(hatched), key=len)
    middle = np.mean([one[0] for one in pupils(drawn)])
    assert ring[:, 0].mean() > middle + 20.0  # the key stands camera-left
    (soft,) = drawn.groups("soft edge")
    dots = np.concatenate(library.points_of(soft.find(f"{SVG}path")))
    assert dots[:, 0].min() < ring[:, 0].min()


def test_the_nose_shadow_falls_the_way_and_as_far_as_the_analysis_says(library):
    drawn = library.face(**LOOP, **BARE)
    nose = library.lit_face(**LOOP, **BARE)["modelling"].nose
    (group,) = drawn.groups("nose shadow")
    assert drawn.paths("outline", inside=group)
    way = drawn.paths("way", inside=group)[0][0]
    run = way[-1] - way[0]
    scene = library.scene(**LOOP, **BARE)
    right, left = pupils(drawn)
    per_mm = (left[0] - right[0]) / scene.sitter.face.interpupillary_mm
    assert np.hypot(*run) == pytest.approx(nose.length_mm * per_mm, rel=0.15)
    # On the page the sitter's right is to the left, and down is down.
    assert np.degrees(np.arctan2(-run[0], run[1])) == pytest.approx(nose.falls_deg, abs=12.0)
    assert f"nose shadow {nose.length_mm:.0f} mm" in drawn.words()


def test_a_nose_shadow_without_an_end_says_so(library):
    drawn = library.face(**SHORT)
    assert library.lit_face(**SHORT)["modelling"].nose.length_mm is None
    assert "runs into the cheek's" in drawn.words()
    assert drawn.paths("outline", inside=drawn.groups("nose shadow")[0]) == []


def test_shine_is_ringed_where_it_is_more_than_low(library):
    for stated in (SHORT, LOOP):
        drawn, model = library.face(**stated), library.lit_face(**stated)["modelling"]
        shining = [one for one in model.sheen if one.risk != "low"]
        named = [word for word in drawn.words() if word.endswith(" shines")]
        assert len(named) <= len(shining)
        assert len(drawn.groups("shine")) == len(named)
    assert named == []


def test_diagrams_show_the_angles_from_the_face(library):
    model = library.lit_face(**SHORT)["modelling"]
    drawn = library.face(**SHORT)
    assert f"{abs(round(model.azimuth_deg))}°" in drawn.words()
    assert f"{round(model.elevation_deg)}° up" in drawn.words()
    (above,) = drawn.groups("from above")
    bar = drawn.paths("key", inside=above)[0][0].mean(axis=0)
    way = drawn.paths("to the face", inside=above)[0][0]
    # 75 degrees camera-right of the camera, which is at the foot: right and a little down.
    start = way[1] - (way[0] - way[1]) * 26.0 / (64.0 - 26.0)
    angle = np.degrees(np.arctan2(*(bar - start)))
    assert angle == pytest.approx(76.0, abs=2.0)


def test_lengths_are_in_the_users_units(library):
    words = library.face(units="us", **LOOP).words()
    nose = library.lit_face(**LOOP)["modelling"].nose
    assert f"nose shadow {nose.length_mm / 25.4:.1f} in" in words


def test_a_group_page_names_the_person(library):
    companion = '[[companion]]\nname = "Tom"\nacross = "0.5 m camera-right"\neye_height = "1.3 m"'
    assert library.face(more=companion).words()[1].endswith("·  Ines")


def test_a_face_in_the_dark_says_so(library):
    scene = library.scene()
    found = library.lit_face()
    svg = face_light_drawing(
        scene, zones=None, modelling=found["modelling"], exposure=found["exposure"]
    )
    assert "no light on the face" in svg
    assert "core shadow" not in svg
