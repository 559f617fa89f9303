"""Lighting ratios, patterns and the height of the key as printed."""

import math

import numpy as np
import pytest

from tapemark.analysis import build_scene, face_light, modelling
from tapemark.photometry import (
    equal_heads_ratio,
    highlight_to_shadow_ratio,
    key_over_fill_stops,
    ratio_from_key_over_fill,
    source_ratio,
)
from tapemark.studio import Camera, Head, Light, Modifier, Place, Room, Setup, Sitter

EYES_M = 1.2
FOOT_M = 0.3048
CLAMSHELL_MOST = 2.0  # key : fill

# SOURCE    [army-ss0510] p. 21; read in excerpts, 2025
# ASSUMES   fill near the camera, so that it reaches both sides; key one side only
# PRINTED   key over fill [stops], lighting ratio (key + fill) : fill
STILL_ROWS = [(1.0, 3.0), (2.0, 5.0)]


@pytest.mark.parametrize(("stops", "ratio"), STILL_ROWS)
def test_still_photographers_ratio(stops, ratio):
    np.testing.assert_allclose(ratio_from_key_over_fill(stops), ratio, rtol=1e-12)
    np.testing.assert_allclose(key_over_fill_stops(ratio), stops, rtol=1e-12)
    np.testing.assert_allclose(highlight_to_shadow_ratio(2.0**stops, fill=1.0), ratio, rtol=1e-12)


# SOURCE    [army-ss0510] p. 21, worked example
# ASSUMES   two equal heads, inverse square law
# PRINTED   fill [ft], key [ft], lighting ratio; whole numbers, exact 2.89 and 4.86
EXAMPLE_ROWS = [(11.0, 8.0, 3.0), (11.0, 5.6, 5.0)]
HALF_A_UNIT = 0.5


@pytest.mark.parametrize(("fill_ft", "key_ft", "ratio"), EXAMPLE_ROWS)
def test_worked_example_with_equal_heads(fill_ft, key_ft, ratio):
    found = equal_heads_ratio(key_ft * FOOT_M, fill_distance_m=fill_ft * FOOT_M)
    np.testing.assert_allclose(found, ratio, rtol=0, atol=HALF_A_UNIT)
    wrong_way = equal_heads_ratio(fill_ft * FOOT_M, fill_distance_m=key_ft * FOOT_M)
    assert wrong_way < ratio - HALF_A_UNIT


# SOURCE    [source-ratio]
# ASSUMES   key and fill each metered alone
# PRINTED   key over fill [stops], lighting ratio key : fill
CINE_ROWS = [(1.0, 2.0), (2.0, 4.0), (3.0, 8.0)]


@pytest.mark.parametrize(("stops", "ratio"), CINE_ROWS)
def test_film_sets_ratio(stops, ratio):
    np.testing.assert_allclose(source_ratio(2.0**stops, fill=1.0), ratio, rtol=1e-12)


def test_film_sets_2_to_1_is_a_still_photographers_3_to_1():
    # SOURCE    [source-ratio]
    assert float(source_ratio(2.0, fill=1.0)) == 2.0
    assert float(highlight_to_shadow_ratio(2.0, fill=1.0)) == 3.0


def portrait(*lights, turn_deg=0.0):
    return Setup(
        room=Room(width_m=8.0, length_m=9.0, height_m=4.0, behind_sitter_m=4.0),
        sitter=Sitter(eye_height_m=EYES_M, turn_deg=turn_deg),
        camera=Camera(place=Place(distance_m=2.0, height_m=EYES_M), focal_length_mm=85.0),
        lights=lights,
    )


def lamp(name, across_deg, up_deg, *, modifier="medium softbox 60x90 cm", power=-2.0):
    """A light 1.5 m from the middle of the face: 25 mm before and 15 mm under the eyes."""
    across, up = math.radians(across_deg), math.radians(up_deg)
    x, y = 1.5 * math.cos(up) * math.sin(across), 1.5 * math.cos(up) * math.cos(across) + 0.025
    return Light(
        name=name,
        head=Head(preset="400 Ws studio head"),
        modifier=Modifier(preset=modifier),
        place=Place(
            distance_m=math.hypot(x, y),
            side_deg=math.degrees(math.atan2(x, y)),
            height_m=EYES_M - 0.015 + 1.5 * math.sin(up),
        ),
        aim="face",
        power_stops=power,
    )


def modelled(*lights, turn_deg=0.0):
    scene = build_scene(portrait(*lights, turn_deg=turn_deg))
    return modelling(scene, light=face_light(scene))


# SOURCE    [oneslide-butterfly], [portraitlighting-patterns], [larsen-split]
# ASSUMES   a key alone, angles from the nose; a medium softbox at 1.5 m, which no page names
# PRINTED   pattern, azimuth [deg], elevation [deg]: the printed limits, and a round middle.
#           Loop is printed to 50 deg round and Rembrandt from "about 45": where both hold, the
#           printed shadow decides, and only one of the two can be asked for here.
PATTERN_ROWS = [
    *(("butterfly", 0.0, up) for up in (25.0, 45.0, 70.0)),
    *(("loop", across, up) for across, up in ((20.0, 25.0), (30.0, 30.0), (20.0, 45.0))),
    *(("Rembrandt", 45.0, up) for up in (30.0, 45.0)),
    *(("split", 90.0, up) for up in (0.0, 10.0)),
]


@pytest.mark.parametrize(("pattern", "across_deg", "up_deg"), PATTERN_ROWS)
def test_pattern_at_the_printed_angles(pattern, across_deg, up_deg):
    found = modelled(lamp("key", across_deg, up_deg))
    assert found.pattern == pattern, found.because
    np.testing.assert_allclose(
        [found.azimuth_deg, found.elevation_deg], [across_deg, up_deg], atol=0.05
    )


def test_rembrandts_triangle_is_about_as_wide_as_the_eye():
    # SOURCE    [rembrandt-triangle] "no wider than the eye", "as long as the nose"
    # ASSUMES   eye 27.1 mm [read-2006]; nose 51.5 mm from sellion to subnasale on our head
    # PRINTED   eye 27.1 mm; grid of 5 mm on the cheek, one place either side counts
    found = modelled(lamp("key", 45.0, 40.0)).shadow_cheek
    assert found.triangle
    assert 10.0 <= found.triangle_width_mm <= 27.1 + 5.0
    assert 10.0 <= found.triangle_length_mm <= 51.5


def test_clamshell_with_a_ratio_of_2_to_1():
    # SOURCE    [howtofilm-clamshell]
    # PRINTED   key about 45 degrees down from over the eyeline, fill below, at most 2:1
    found = modelled(lamp("key", 0.0, 45.0), lamp("low fill", 0.0, -35.0, power=-3.0))
    assert found.pattern == "clamshell"
    assert found.ratio.fill == "low fill"
    np.testing.assert_allclose(found.ratio.key_to_fill, CLAMSHELL_MOST, rtol=0.05)


# SOURCE    [army-ss0510] p. 23
# PRINTED   broad: the key lights the side of the face turned towards the camera; short: away
SIDE_ROWS = [(40.0, "short"), (-40.0, "broad")]


@pytest.mark.parametrize(("from_nose_deg", "side"), SIDE_ROWS)
def test_broad_and_short(from_nose_deg, side):
    # The face turned 30 degrees to camera-left shows the camera its own left side.
    turned = modelled(lamp("key", 30.0 + from_nose_deg, 30.0), turn_deg=30.0)
    assert turned.face_side == side
    assert modelled(lamp("key", from_nose_deg, 30.0)).face_side == "neither"


def test_rim_lights_a_profile_from_behind():
    # SOURCE    [army-ss0510] p. 23: key behind the sitter, face turned 90 degrees
    assert modelled(lamp("key", 120.0, 20.0), turn_deg=85.0).pattern == "rim"


def test_key_start_position_is_a_loop_or_a_rembrandt():
    # SOURCE    [navedtra-14209] p. 201, also [army-ss0510] p. 27
    # ASSUMES   4 ft along the floor or straight; either way, face to the camera
    # PRINTED   4 ft away, 2 ft above the eyes, 45 degrees from the lens axis
    for along_floor_ft in (4.0, math.sqrt(4.0**2 - 2.0**2)):
        place = Place(
            distance_m=along_floor_ft * FOOT_M, side_deg=45.0, height_m=EYES_M + 2.0 * FOOT_M
        )
        found = modelled(lamp("key", 0.0, 0.0).model_copy(update={"place": place}))
        assert found.pattern in ("loop", "Rembrandt"), found.because
        assert 26.0 < found.elevation_deg < 33.0


def test_key_is_right_where_the_noses_shadow_meets_the_lip():
    # SOURCE    [navedtra-14209] p. 201, [army-ss0510] p. 28
    # ASSUMES   a small light straight in front; shadow followed in steps of 2.5 mm
    # PRINTED   the nose's shadow just reaches the top edge of the upper lip
    height = modelled(lamp("key", 0.0, 30.0)).lip_elevation_deg
    at, lower, higher = (
        modelled(lamp("key", 0.0, height + more, modifier="reflector dish 18 cm")).nose
        for more in (0.0, -12.0, 10.0)
    )
    np.testing.assert_allclose(at.over_lip_mm, 0.0, atol=2.5)
    assert not lower.crosses_lip
    assert higher.crosses_lip
