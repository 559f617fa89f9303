"""Laws of light on the background, of its cures, of and of flare."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.analysis import build_scene
from tapemark.analysis.backdrop_light import backdrop_light
from tapemark.analysis.background import (
    NO_LIGHT_STOPS,
    background,
    clear_gap_m,
    picture_levels,
)
from tapemark.analysis.background_findings import (
    BLACK_MOST_LEVEL,
    STRAY_PART,
    WHITE_LEAST_LEVEL,
    background_findings,
    flare_findings,
    glow_findings,
    spill_findings,
)
from tapemark.analysis.exposure import exposure
from tapemark.analysis.face_light import face_light
from tapemark.analysis.flare import flares
from tapemark.analysis.hue import hue_word
from tapemark.analysis.spill import cutting_flag, cutting_grid_deg, glows, spills
from tapemark.cli.report_around import _background
from tapemark.studio import (
    Backdrop,
    Camera,
    Companion,
    Gel,
    Head,
    Light,
    Modifier,
    Panel,
    Place,
    Room,
    Setup,
    Sitter,
    Window,
)

HEAD = Head(preset="400 Ws studio head")
ROOM = Room(width_m=8.0, length_m=14.0, height_m=3.2, behind_sitter_m=6.0)
BOX = Modifier(preset="medium softbox 60x90 cm")
DISH = Modifier(preset="reflector dish 18 cm")
SMALL = Modifier(kind="bare", diameter_m=0.02, beam_deg=170.0)
WHITE = {"reflectance": 0.9, "width_m": 6.0, "height_m": 3.0}


def at(x_m, y_m, height_m):
    side_deg = math.degrees(math.atan2(x_m, y_m))
    return Place(distance_m=math.hypot(x_m, y_m), side_deg=side_deg, height_m=height_m)


def light(name, where, modifier=BOX, **more):
    values = {"power_stops": -3.0, **more}
    return Light(name=name, head=HEAD, modifier=modifier, place=at(*where), **values)


KEY = light("key", (0.9, 1.1, 1.8))


def portrait(lights=(KEY,), *, gap_m=2.0, backdrop=None, camera=(0.0, 2.5, 1.2), **more):
    hung = {"distance_m": gap_m, "width_m": 6.0, "height_m": 3.0, **(backdrop or {})}
    values = {
        "room": ROOM,
        "sitter": Sitter(eye_height_m=1.2),
        "camera": Camera(place=at(*camera), focal_length_mm=70.0),
        "backdrop": Backdrop(**hung),
        "lights": tuple(lights),
        **more,
    }
    return Setup(**values)


class Seen:
    """A setup with everything about its background worked out."""

    def __init__(self, setup):
        self.scene = build_scene(setup)
        self.light = backdrop_light(self.scene)
        self.reading = exposure(self.scene, light=face_light(self.scene))
        self.result = background(self.scene, light=self.light, reading=self.reading)
        self.spills = spills(self.scene, light=self.light, reading=self.reading)

    def findings(self):
        shining = flares(self.scene, light=self.light, reading=self.reading)
        coloured = glows(self.scene, light=self.light)
        return [
            *background_findings(self.scene, self.result, light=self.light, spilled=self.spills),
            *glow_findings(self.scene, coloured, light=self.light),
            *flare_findings(self.scene, shining),
            *spill_findings(self.scene, self.spills),
        ]

    def codes(self):
        return [one.code for one in self.findings()]

    def flares(self):
        return flares(self.scene, light=self.light, reading=self.reading)

    def from_light(self, name):
        return self.light.received[self.light.names.index(name)]


# Amounts of light


@given(st.floats(0.1, 3.0))
@settings(max_examples=4)
def test_a_stop_more_power_is_a_stop_more_on_the_background(stops):
    before = Seen(portrait([light("key", (0.9, 1.1, 1.8), power_stops=-3.0)])).result
    after = Seen(portrait([light("key", (0.9, 1.1, 1.8), power_stops=-3.0 + stops)])).result
    np.testing.assert_allclose(np.log2(after.mean.level / before.mean.level), stops, atol=1e-9)
    # The face gains as much: the background keeps its place under the key.
    np.testing.assert_allclose(after.mean.stops_over_key, before.mean.stops_over_key, atol=1e-9)
    np.testing.assert_allclose(after.evenness_stops, before.evenness_stops, atol=1e-9)


@given(st.floats(0.6, 1.3))
@settings(max_examples=4)
def test_a_small_light_square_to_a_place_follows_the_inverse_square(near_m):
    place = Seen(portrait()).light.places
    index = int(np.argmin(np.hypot(place[:, 0] - 0.6, place[:, 2] - 1.9)))
    x, y, z = place[index]
    amounts = []
    for away in (near_m, 2.0 * near_m):
        lamp = light("lamp", (x, y + away, z), SMALL, aim=at(x, y, z))
        seen = Seen(portrait([lamp])).light
        free = seen.free[0][np.linalg.norm(seen.places - (x, y, z), axis=1) < 1e-9]
        amounts.append(float(free[0]))
    np.testing.assert_allclose(np.log2(amounts[0] / amounts[1]), 2.0, atol=0.01)


def test_lights_add_and_the_room_lamps_add_less_than_a_dome_reads():
    fill = light("fill", (-0.4, 2.2, 1.5))
    both = Seen(portrait([KEY, fill])).light
    dim = Room(**{**ROOM.model_dump(), "ambient_lx": 200.0})
    lamps = Seen(portrait([KEY, fill], room=dim)).light
    added = (lamps.total - both.total) / (200.0 / 160.0)
    np.testing.assert_allclose(added, lamps.free[-1] / (200.0 / 160.0), rtol=1e-9)
    assert 0.4 < added.min() <= added.max() < 0.8  # a wall gets light from one side alone
    assert lamps.names[-1] == "room lamps"
    np.testing.assert_allclose(both.total, both.received[:2].sum(axis=0), rtol=1e-12)
    assert both.received[:2].min(axis=1).max() > 0.0


def test_a_mirrored_setup_gives_the_mirrored_map():
    pair = [light("left", (1.0, 1.1, 1.7)), light("right", (-1.0, 1.1, 1.7))]
    seen = Seen(portrait(pair, gap_m=1.0))
    grid = seen.light.grid(seen.light.total)
    np.testing.assert_allclose(grid, grid[:, ::-1], rtol=1e-7)
    one, other = Seen(portrait(pair[:1], gap_m=1.0)), Seen(portrait(pair[1:], gap_m=1.0))
    left, right = (each.light.grid(each.light.total) for each in (one, other))
    np.testing.assert_allclose(left, right[:, ::-1], rtol=1e-7)
    assert not np.allclose(left, left[:, ::-1], equal_nan=True, rtol=0.05)


def test_without_light_nothing_breaks():
    dark = Seen(portrait([]))
    assert dark.reading.aperture is None
    assert dark.result.mean.stops_over_key is None
    assert dark.result.brightest.srgb == 0
    assert dark.result.evenness_stops == 0.0
    assert dark.codes() == []
    away = Seen(portrait([light("key", (0.0, -3.0, 1.2), aim="wall behind")]))
    assert away.from_light("key").max() == 0.0


def test_a_light_behind_a_wide_panel_gives_nothing():
    wall = Panel(name="flag", width_m=5, height_m=3, place=at(0, -1.0, 1.5), reflectance=0.0)
    seen = Seen(portrait(panels=(wall,)))
    assert len(seen.light.places) == 0 or seen.from_light("key").max() == 0.0
    blocked = Panel(
        name="flag",
        width_m=3,
        height_m=3,
        place=at(0.7, 0.8, 1.5),
        reflectance=0.0,
        aim=KEY.place,
    )
    shaded = Seen(portrait([KEY], panels=(blocked,)))
    assert shaded.from_light("key").sum() < 0.2 * Seen(portrait()).from_light("key").sum()


def test_a_camera_that_sees_no_background_gives_none():
    turned = Camera(place=at(0.0, 2.5, 1.2), aim=at(0.0, 6.0, 1.2), focal_length_mm=70.0)
    seen = Seen(Setup(**{**dict(portrait()), "camera": turned}))
    assert seen.result is None
    assert "background-shadow" not in seen.codes()


# Shadows


def test_moving_the_sitter_away_pushes_the_shadow_out_of_sight():
    hard = light("key", (0.8, 1.4, 1.75), DISH)
    shares = []
    for gap in (0.5, 1.0, 2.0, 3.5):
        seen = Seen(portrait([hard], gap_m=gap))
        shares.append(sum(one.share for one in seen.result.shadows))
    assert shares[0] > 0.05
    assert shares[-1] == 0.0
    assert min(shares[:2]) > max(shares[2:])


@given(st.floats(0.9, 1.8), st.floats(1.2, 2.0))
@settings(max_examples=4)
def test_the_gap_that_is_named_clears_the_shadow(side_m, height_m):
    hard = light("key", (side_m, 1.2, height_m), DISH)
    near = Seen(portrait([hard], gap_m=0.6))
    gap = clear_gap_m(near.scene, light=near.light, name="key")
    assert near.result.shadows
    if gap is None:
        return
    assert gap > 0.6
    far = Seen(portrait([hard], gap_m=gap))
    assert sum(one.share for one in far.result.shadows) <= 0.02


def test_the_shadow_falls_on_the_other_side_of_the_light():
    for sign, side in ((1.0, "camera-right"), (-1.0, "camera-left")):
        seen = Seen(portrait([light("key", (sign * 1.3, 1.2, 1.5), DISH)], gap_m=0.6))
        assert seen.result.shadows[0].side == side
        assert seen.result.shadows[0].light == "key"
    low = Seen(portrait([light("key", (0.0, 1.2, 0.4), DISH)], gap_m=0.6))
    assert low.result.shadows[0].side == "above"


def test_light_on_the_background_fills_the_shadow():
    hard = light("key", (1.3, 1.2, 1.5), DISH)
    bare = Seen(portrait([hard], gap_m=0.8)).result.shadows[0]
    wash = light("wash", (-1.6, 0.2, 1.6), BOX, aim="backdrop", power_stops=-2.0)
    filled = Seen(portrait([hard, wash], gap_m=0.8)).result.shadows
    assert bare.depth_stops > 5.0
    assert all(one.depth_stops < bare.depth_stops - 1.0 for one in filled if one.light == "key")


def test_more_people_never_make_the_background_lighter():
    alone = Seen(portrait(gap_m=1.0))
    friend = Companion(name="friend", across_m=-0.6, back_m=0.1, eye_height_m=1.3)
    pair = Seen(portrait(gap_m=1.0, companions=(friend,)))
    one, two = (each.light.grid(each.light.total) for each in (alone, pair))
    both = ~np.isnan(one) & ~np.isnan(two)
    assert np.isnan(two).sum() > np.isnan(one).sum()
    assert np.all(two[both] <= one[both] + 1e-9)


# Wishes and cures


def lit_white(power_stops, *, key_gap=2.6):
    """A white backdrop with a light from each side."""
    sides = [
        light(name, (x, -0.9, 1.3), BOX, aim=at(-0.25 * x, -key_gap, 1.3), power_stops=power_stops)
        for name, x in (("left wash", 1.9), ("right wash", -1.9))
    ]
    backdrop = {**WHITE, "look": "white"}
    return portrait(
        [light("key", (0.7, 1.2, 1.7)), *sides],
        gap_m=key_gap,
        backdrop=backdrop,
        camera=(0.0, 3.2, 1.2),
    )


def metered(setup):
    """The same setup with the camera set to what the meter reads at the face."""
    aperture = Seen(setup).reading.aperture
    camera = Camera(**{**setup.camera.model_dump(), "aperture": aperture})
    return Setup(**{**dict(setup), "camera": camera})


def test_white_goes_from_grey_over_clean_to_overblown():
    verdicts = []
    for power in (-6.5, -3.5, 0.0):
        codes = Seen(metered(lit_white(power))).codes()
        verdicts.append([one for one in codes if one.startswith("background-")])
    assert verdicts[0] == ["background-grey"]
    assert verdicts[-1] == ["background-overblown"]
    between = [
        power
        for power in (-5.0, -4.0, -3.0, -2.0)
        if not [
            one for one in Seen(metered(lit_white(float(power)))).codes() if "background" in one
        ]
    ]
    assert between  # some power gives clean white


def test_the_named_change_of_power_makes_white_clean():
    grey = Seen(metered(lit_white(-6.0)))
    (finding,) = [one for one in grey.findings() if one.code == "background-grey"]
    words = finding.what_to_do
    assert words.startswith("Turn left wash and right wash up by ")
    stops = float(words.removeprefix("Turn left wash and right wash up by ").split()[0])
    cured = Seen(metered(lit_white(-6.0 + stops)))
    assert not [one for one in cured.codes() if one.startswith("background-")]


def test_black_asks_for_what_keeps_the_key_off():
    near = Seen(metered(portrait(gap_m=1.0, backdrop={"look": "black"})))
    (finding,) = near.findings()
    assert finding.code == "background-not-black"
    assert "key" in finding.text
    far_wall = {"look": "black", "reflectance": 0.04}
    far = Seen(metered(portrait([light("key", (0.8, 0.6, 1.7))], gap_m=5.0, backdrop=far_wall)))
    assert far.codes() == []


def pushed_back(setup, gap_m):
    """The same setup, sitter, lights and camera moved so far forward from the background."""
    room = Room(**{**setup.room.model_dump(), "length_m": 30.0, "behind_sitter_m": 16.0})
    hung = Backdrop(**{**setup.backdrop.model_dump(exclude_none=True), "distance_m": gap_m})
    return Setup(**{**dict(setup), "backdrop": hung, "room": room})


@pytest.mark.parametrize("modifier", [BOX, DISH])
@pytest.mark.parametrize("reflectance", [0.04, 0.07])
@pytest.mark.parametrize("fill", [-9.0, -5.0])
def test_the_distance_named_for_black_makes_it_black(modifier, reflectance, fill):
    lights = [
        light("key", (0.0, 1.2, 1.8), modifier),
        light("fill", (-0.4, 2.0, 1.5), power_stops=fill),
    ]
    black = {"look": "black", "reflectance": reflectance, "width_m": 7.6, "height_m": 3.1}
    near = metered(portrait(lights, gap_m=1.0, backdrop=black))
    seen = Seen(near)
    (finding,) = [one for one in seen.findings() if one.code == "background-not-black"]
    assert "forward to about " in finding.what_to_do
    gap_m = float(finding.what_to_do.split("forward to about ")[1].split()[0])
    cured = Seen(pushed_back(near, gap_m))
    assert cured.codes() == []
    assert -1.0 < np.log2(cured.result.mean.level / BLACK_MOST_LEVEL) < -0.1  # nor far beyond


def test_no_finding_tells_of_no_stops():
    told = []
    for step in range(-8, 9):
        level = 2.0 ** (step / 80.0)
        setup = portrait(gap_m=2.0, backdrop={"look": "black"})
        mean = Seen(setup).result.mean.level
        aperture = setup.camera.aperture * math.sqrt(mean / (0.01 * level))
        camera = Camera(**{**setup.camera.model_dump(), "aperture": aperture})
        seen = Seen(Setup(**{**dict(setup), "camera": camera}))
        told += [one.text for one in seen.findings() if one.code == "background-not-black"]
    assert 0 < len(told) < 17
    assert not [text for text in told if "0.0 stops" in text]


def test_a_glow_as_bright_as_other_light_is_told_without_a_number():
    seen = Seen(portrait([KEY, light("glow", (0.9, -1.0, 1.2), DISH, gel=Gel(preset="red"))]))
    (glow,) = glows(seen.scene, light=seen.light) or (None,)
    level = replace(glow, stops_over_others=0.04)
    (finding,) = glow_findings(seen.scene, (level,), light=seen.light)
    assert "only as bright as other light" in finding.text
    under = replace(glow, stops_over_others=-0.3)
    (finding,) = glow_findings(seen.scene, (under,), light=seen.light)
    assert "only 0.3 stops under other light" in finding.text


def test_the_caution_about_grey_ends_where_the_report_does():
    seen = Seen(metered(lit_white(-6.0)))
    (finding,) = [one for one in seen.findings() if one.code == "background-grey"]
    assert f"down to sRGB {seen.result.darkest.srgb}." in finding.text


def test_light_to_put_on_a_grey_background_is_told_in_stops():
    seen = Seen(metered(portrait(gap_m=2.0, backdrop={**WHITE, "look": "white"})))
    (finding,) = [one for one in seen.findings() if one.code == "background-grey"]
    words = finding.what_to_do
    assert words.startswith("Put a light on the background")
    stops = float(words.split("up by ")[1].split()[0])
    levels = picture_levels(seen.scene, seen.light)
    dark = np.quantile(levels * 2.0**stops, STRAY_PART)
    assert WHITE_LEAST_LEVEL <= dark < WHITE_LEAST_LEVEL * 2.0**0.1


def test_a_glow_has_its_colours_name_and_value():
    blue = Gel(name="deep blue", red=0.01, green=0.03, blue=0.7)
    lamp = light("glow", (0.9, -1.0, 1.2), DISH, aim=at(0.4, -2.0, 1.5), gel=blue)
    seen = Seen(portrait([KEY, lamp]))
    (glow,) = glows(seen.scene, light=seen.light)
    assert (glow.color, glow.gel) == ("blue", "deep blue")
    assert glow.srgb[2] == 255 > glow.srgb[1] > glow.srgb[0]
    line = " ".join(" ".join(told(seen, glow)).split())
    assert "glow of glow with its gel, deep blue: " in line
    assert f"{glow.width_m:.2f} m by {glow.height_m:.2f} m" in line
    assert "stops over other light" in line
    assert f"blue (sRGB {glow.srgb[0]} {glow.srgb[1]} 255)" in line


@given(st.tuples(*[st.floats(0.0, 1.0)] * 3))
def test_every_colour_has_a_name_whatever_its_brightness(srgb):
    word = hue_word(srgb)
    assert word
    if max(srgb) > 0.1:
        assert hue_word(tuple(one / max(srgb) for one in srgb)) == word


@pytest.mark.parametrize(
    ("srgb", "word"),
    [
        ((1, 0, 0), "red"),
        ((1, 1, 0), "yellow"),
        ((0, 1, 0), "green"),
        ((0, 1, 1), "cyan"),
        ((0, 0, 1), "blue"),
        ((1, 0, 1), "magenta"),
        ((1, 0.5, 0), "orange"),
        ((1, 1, 1), "nearly white"),
    ],
)
def test_the_corners_of_srgb_have_their_names(srgb, word):
    assert hue_word(srgb) == word


def test_backdrops_of_one_light_differ_by_how_they_come_out():
    lines = []
    for reflectance in (0.04, 0.18, 0.9):
        seen = Seen(metered(portrait(backdrop={"reflectance": reflectance})))
        lines.append(" ".join(" ".join(told(seen)).split()))
    light_on, comes_out = zip(*(line.split("; comes out at sRGB ") for line in lines), strict=True)
    assert len(set(light_on)) == 1
    assert "incident" in light_on[0]
    srgb = [int(one.split(",")[0]) for one in comes_out]
    assert srgb[0] + 30 < srgb[1] < srgb[2] - 30


def told(seen, *glow):
    """What the report says of the background."""
    return list(_background(seen.result, glow, "metric"))


def test_as_seen_wants_the_reading_of_the_face():
    dim = Seen(metered(portrait(gap_m=3.0, backdrop={"look": "as seen"})))
    assert "background-dark" in dim.codes()
    over = dim.result.mean.stops_over_key
    np.testing.assert_allclose(
        over, np.log2(dim.result.mean.level / dim.light.reflectance), atol=1e-9
    )


def test_the_flag_that_is_named_cuts_what_it_says():
    key = light("key", (1.2, 0.9, 1.7), DISH)
    seen = Seen(portrait([key], gap_m=2.5))
    flag = cutting_flag(seen.scene, light=seen.light, name="key")
    x, y, z = flag.middle_m
    panel = Panel(
        name="flag",
        width_m=flag.width_m,
        height_m=flag.height_m,
        place=at(x, y, z),
        aim=key.place,
        reflectance=0.0,
    )
    flagged = Seen(portrait([key], gap_m=2.5, panels=(panel,)))
    left = flagged.from_light("key").sum() / seen.from_light("key").sum()
    np.testing.assert_allclose(1.0 - left, flag.cuts_share, atol=0.06)
    assert flag.cuts_share > 0.3
    assert min(face_light(flagged.scene).free_shares[:1]) == 1.0  # the face keeps its light


def test_a_light_that_no_panel_can_flag_is_no_trouble():
    gel = Gel(preset="red")
    lamp = light("background", (0.9, -1.0, 1.2), DISH, aim=at(0.4, -2.0, 1.5), power_stops=-1.0)
    fill = light("fill", (-0.8, 1.4, 1.3), gel=gel, power_stops=-2.0)
    seen = Seen(portrait([KEY, lamp, fill]))
    assert cutting_flag(seen.scene, light=seen.light, name="background") is None
    assert "glow-pale" in seen.codes()


def test_the_grid_that_is_named_keeps_a_light_off_and_the_head_lit():
    side = light("side", (1.9, 0.35, 1.3), DISH)
    seen = Seen(portrait([KEY, side], gap_m=3.0))
    grid = cutting_grid_deg(seen.scene, light=seen.light, name="side")
    assert grid is not None
    gridded = Modifier(**{**DISH.model_dump(exclude_none=True), "grid_deg": grid})
    cured = Seen(portrait([KEY, light("side", (1.9, 0.35, 1.3), gridded)], gap_m=3.0))
    assert cured.from_light("side").sum() < 0.01 * seen.from_light("side").sum()
    assert face_light(cured.scene).at_eyes[0] > 0.0


def test_rim_light_on_the_nose_is_told_only_from_the_side():
    behind = Seen(portrait([KEY, light("rim", (0.6, -1.4, 1.4), DISH)]))
    beside = Seen(portrait([KEY, light("rim", (1.5, -0.12, 1.25), DISH, power_stops=-1.0)]))
    assert "rim-on-nose" not in behind.codes()
    assert "rim-on-nose" in beside.codes()
    rim = next(one for one in behind.spills if one.light == "rim")
    assert rim.face_stops == NO_LIGHT_STOPS
    assert next(one for one in behind.spills if one.light == "key").face_stops is None


def test_a_gel_only_counts_as_colour_over_other_light():
    gel = Gel(name="blue", red=0.05, green=0.1, blue=0.8)
    glow = light("glow", (0.9, -1.0, 1.2), DISH, aim=at(0.4, -2.0, 1.5), gel=gel)
    pale = Seen(portrait([KEY, glow]))
    strong = Light(**{**dict(glow), "power_stops": 0.0})
    deep = Seen(portrait([light("key", (0.6, 0.7, 1.8), power_stops=-6.0), strong]))
    assert glows(deep.scene, light=deep.light)[0].stops_over_others > 1.0
    assert "glow-pale" not in deep.codes()
    assert (
        glows(pale.scene, light=pale.light)[0].stops_over_others
        < glows(deep.scene, light=deep.light)[0].stops_over_others
    )
    warm = Light(**{**dict(strong), "gel": Gel(preset="full warming")})
    assert glows(Seen(portrait([KEY, warm])).scene, light=deep.light) == ()


# Flare


def hair(where, **more):
    return light("hair", where, DISH, power_stops=-2.0, **more)


def test_only_what_faces_the_lens_flares():
    assert [one.source for one in Seen(portrait([KEY, hair((0.4, -1.2, 2.3))])).flares()] == [
        "hair"
    ]
    assert Seen(portrait([KEY])).flares() == ()
    turned = hair((0.4, -1.2, 2.3), aim="backdrop")
    assert Seen(portrait([KEY, turned])).flares() == ()
    behind_head = hair((0.0, -0.8, 1.15))
    assert Seen(portrait([KEY, behind_head])).flares() == ()


def test_flare_fades_with_the_angle_outside_the_frame():
    veils = []
    for side in (1.2, 1.8, 2.6):
        found = Seen(portrait([KEY, hair((side, -1.0, 2.2))])).flares()
        veils.append(found[0].veil if found else 0.0)
    assert veils[0] > veils[1] >= veils[2]


def test_a_grid_as_named_ends_the_flare():
    seen = Seen(portrait([KEY, hair((0.8, -1.1, 2.2))]))
    (flare,) = seen.flares()
    assert flare.edge == "top" or flare.edge == "camera-left"
    assert flare.grid_deg is not None
    gridded = Modifier(**{**DISH.model_dump(exclude_none=True), "grid_deg": flare.grid_deg})
    lamp = light("hair", (0.8, -1.1, 2.2), gridded, power_stops=-2.0)
    assert Seen(portrait([KEY, lamp])).flares() == ()


def test_a_flag_as_named_ends_the_flare():
    where = np.array([1.3, -0.8, 2.4])
    seen = Seen(portrait([KEY, hair(tuple(where))]))
    (flare,) = seen.flares()
    assert flare.flag_m is not None
    camera = seen.scene.camera
    middle = camera + 0.5 * (where - camera) / np.linalg.norm(where - camera)
    flag = Panel(
        name="flag",
        width_m=flare.flag_m[0],
        height_m=flare.flag_m[1],
        place=at(*middle),
        aim=at(*where),
        reflectance=0.0,
    )
    assert Seen(portrait([KEY, hair(tuple(where))], panels=(flag,))).flares() == ()


def test_a_window_behind_the_sitter_flares_and_a_backdrop_hides_it():
    window = Window(
        name="window",
        wall="behind sitter",
        along_m=1.2,
        sill_m=0.9,
        width_m=1.5,
        height_m=1.5,
        luminance_cd_m2=200_000.0,
    )
    bare = Setup(**{**dict(portrait()), "windows": (window,), "backdrop": None})
    assert [one.source for one in Seen(bare).flares()] == ["window"]
    hung = Setup(**{**dict(portrait()), "windows": (window,)})
    assert Seen(hung).flares() == ()
