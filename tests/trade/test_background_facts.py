"""What every portrait photographer knows about backgrounds: the model must know it too.

Common practice, no published source, except where a test names one. Common to all: seated
sitter, eyes 1.20 m up, face to the camera; camera straight on, 2.4 m away, head and shoulders;
an 85 mm lens on the full frame; a backdrop 2.7 m wide and 2.4 m high.
"""

import math

import pytest

from tapemark.analysis import build_scene
from tapemark.analysis.backdrop_light import backdrop_light
from tapemark.analysis.background import background
from tapemark.analysis.background_findings import (
    background_findings,
    flare_findings,
    glow_findings,
    spill_findings,
)
from tapemark.analysis.exposure import exposure
from tapemark.analysis.face_light import face_light
from tapemark.analysis.flare import flares
from tapemark.analysis.spill import glows, spills
from tapemark.studio import Backdrop, Camera, Gel, Head, Light, Modifier, Place, Room, Setup, Sitter

HEAD = Head(preset="400 Ws studio head")
ROOM = Room(width_m=7.0, length_m=12.0, height_m=3.0, behind_sitter_m=5.5)
BOX, DISH = "medium softbox 60x90 cm", "reflector dish 18 cm"
PAPER, GREY = 0.9, 0.18
DEEP_BLUE = Gel(name="deep blue", red=0.02, green=0.05, blue=0.6)


def at(x_m, y_m, height_m):
    side_deg = math.degrees(math.atan2(x_m, y_m))
    return Place(distance_m=math.hypot(x_m, y_m), side_deg=side_deg, height_m=height_m)


def light(name, where, modifier=BOX, *, grid_deg=None, **more):
    values = {"power_stops": -3.0, **more}
    shaped = Modifier(preset=modifier, grid_deg=grid_deg)
    return Light(name=name, head=HEAD, modifier=shaped, place=at(*where), **values)


def key(**more):
    """A softbox up at 45 degrees: 0.9 m to camera-left and in front, 0.7 m over the eyes."""
    return light("key", (0.9, 0.9, 1.9), **more)


class Shot:
    """A metered setup: the camera is set to what the meter reads at the face."""

    def __init__(self, lights, *, gap_m, reflectance=GREY, look=None):
        hung = Backdrop(distance_m=gap_m, reflectance=reflectance, look=look)
        aperture = 8.0
        for _ in range(2):
            camera = Camera(place=at(0.0, 2.4, 1.2), focal_length_mm=85.0, aperture=aperture)
            setup = Setup(
                room=ROOM,
                sitter=Sitter(eye_height_m=1.2),
                camera=camera,
                backdrop=hung,
                lights=tuple(lights),
            )
            self.scene = build_scene(setup)
            self.reading = exposure(self.scene, light=face_light(self.scene))
            aperture = self.reading.aperture
        self.light = backdrop_light(self.scene)
        self.seen = background(self.scene, light=self.light, reading=self.reading)

    def findings(self):
        scene, own = self.scene, spills(self.scene, light=self.light, reading=self.reading)
        shining = flares(scene, light=self.light, reading=self.reading)
        found = [
            *background_findings(scene, self.seen, light=self.light, spilled=own),
            *glow_findings(scene, glows(scene, light=self.light), light=self.light),
            *flare_findings(scene, shining),
            *spill_findings(scene, own),
        ]
        return {one.code: one for one in found}


def test_close_to_the_wall_a_hard_key_throws_a_shadow_beside_the_head():
    hard = light("key", (0.7, 1.0, 1.45), DISH)
    found = Shot([hard], gap_m=0.4).findings()["background-shadow"]
    assert found.severity == "caution"
    assert "camera-right" in found.text
    assert "forward" in found.what_to_do


@pytest.mark.parametrize("gap_m", [3.0, 4.0])
def test_three_metres_off_the_background_no_shadow_is_left(gap_m):
    # Distances: [background-distance], 3 to 4 m preferred.
    assert Shot([light("key", (0.7, 1.0, 1.45), DISH)], gap_m=gap_m).seen.shadows == ()
    assert Shot([key()], gap_m=gap_m).seen.shadows == ()


def test_a_high_key_drops_the_shadow_below_the_frame():
    low = Shot([light("key", (0.5, 1.0, 1.35), DISH)], gap_m=0.8)
    high = Shot([light("key", (0.5, 1.0, 2.4), DISH)], gap_m=0.8)
    assert sum(one.share for one in high.seen.shadows) < 0.5 * sum(
        one.share for one in low.seen.shadows
    )


def test_a_large_soft_key_blurs_the_shadow_that_a_small_one_draws():
    fill = light("fill", (-0.2, 2.4, 1.6), power_stops=-4.0)
    place = (0.35, 1.0, 1.45)
    soft = Shot([light("key", place, "large softbox 90x120 cm"), fill], gap_m=1.2).seen.shadows
    hard = Shot([light("key", place, DISH), fill], gap_m=1.2).seen.shadows
    assert hard[0].edge_m < 0.3
    assert not soft or soft[0].edge_m > 4.0 * hard[0].edge_m
    assert sum(one.depth_stops for one in soft[:1]) < hard[0].depth_stops - 0.5


def test_white_paper_metered_like_the_face_comes_out_in_the_240s():
    # [white-background-level]: light on the background equal to the key.
    washes = [
        light(name, (x, -1.2, 1.3), aim=at(-0.3 * x, -3.0, 1.3), power_stops=-2.4)
        for name, x in (("left", 1.9), ("right", -1.9))
    ]
    shot = Shot([key(), *washes], gap_m=3.0, reflectance=PAPER)
    level = shot.seen.mean.level / 2.0**shot.seen.mean.stops_over_key
    assert level == pytest.approx(PAPER, rel=1e-9)
    assert -0.6 < shot.seen.mean.stops_over_key < 0.6
    assert shot.seen.mean.srgb > 200


def test_white_paper_far_behind_the_sitter_and_unlit_is_grey():
    found = Shot([key()], gap_m=2.5, reflectance=PAPER, look="white").findings()
    assert "background-grey" in found
    assert "light on the background" in found["background-grey"].what_to_do


def test_two_lights_from_both_sides_are_evener_than_one():
    def wash(name, x):
        return light(name, (x, -1.0, 1.3), aim="backdrop", power_stops=-2.0)

    one = Shot([key(), wash("left", 1.6)], gap_m=2.5).seen.evenness_stops
    two = Shot([key(), wash("left", 1.6), wash("right", -1.6)], gap_m=2.5).seen.evenness_stops
    assert two < 0.6 * one


def test_a_grey_background_gets_darker_with_distance_from_a_near_key():
    tones = [Shot([key()], gap_m=gap).seen.mean.stops_over_key for gap in (0.8, 2.0, 4.5)]
    assert tones[0] > tones[1] + 0.8
    assert tones[1] > tones[2] + 1.0
    # and the nearer the key, the faster it falls.
    near = light("key", (0.45, 0.45, 1.55))
    assert Shot([near], gap_m=2.0).seen.mean.stops_over_key < tones[1] - 0.8


def test_a_dark_background_far_away_stays_black():
    assert Shot([key()], gap_m=4.8, reflectance=0.05, look="black").findings() == {}
    close = Shot([key()], gap_m=0.8, reflectance=GREY, look="black").findings()
    assert set(close) == {"background-not-black"}


def test_colour_is_deep_only_where_the_key_does_not_reach():
    def glow(gap_m, power_stops):
        return light(
            "glow",
            (0.9, -gap_m + 0.9, 1.0),
            DISH,
            aim=at(0.3, -gap_m, 1.45),
            gel=DEEP_BLUE,
            power_stops=power_stops,
        )

    pale = Shot([key(), glow(1.2, -5.0)], gap_m=1.2)
    deep = Shot([key(), glow(4.5, -1.0)], gap_m=4.5)
    assert "glow-pale" in pale.findings()
    assert "glow-pale" not in deep.findings()
    assert glows(deep.scene, light=deep.light)[0].leading_share > 0.2


def test_a_grid_keeps_a_side_light_off_the_background():
    open_light = Shot([light("key", (1.3, 0.5, 1.6), DISH)], gap_m=1.5)
    gridded = Shot([light("key", (1.3, 0.5, 1.6), DISH, grid_deg=30.0)], gap_m=1.5)
    assert gridded.seen.mean.stops_over_key < open_light.seen.mean.stops_over_key - 2.0


def test_a_hair_light_just_over_the_frame_flares_and_a_grid_cures_it():
    hair = (0.3, -0.9, 2.3)
    bare = Shot([key(), light("hair", hair, DISH)], gap_m=3.0).findings()
    assert "flare" in bare
    assert "top" in bare["flare"].text
    cured = Shot([key(), light("hair", hair, DISH, grid_deg=30.0)], gap_m=3.0).findings()
    assert "flare" not in cured


def test_a_rim_light_too_far_round_touches_the_nose():
    behind = light("rim", (0.9, -1.2, 1.6), DISH, power_stops=-2.0)
    beside = light("rim", (1.4, -0.15, 1.25), DISH, power_stops=-1.0)
    assert "rim-on-nose" not in Shot([key(), behind], gap_m=3.0).findings()
    found = Shot([key(), beside], gap_m=3.0).findings()
    assert "farther behind" in found["rim-on-nose"].what_to_do


def test_a_sound_portrait_has_nothing_said_about_its_background():
    assert (
        Shot([key(), light("fill", (-0.3, 2.3, 1.5), power_stops=-4.0)], gap_m=2.5).findings() == {}
    )
