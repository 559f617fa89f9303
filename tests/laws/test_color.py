"""Laws of mixed colour: what lies between, what adds nothing, and which gel cures what."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.analysis import build_scene
from tapemark.analysis.color import MEAN_WILL_DO_MIRED, light_color, mixture
from tapemark.analysis.color_findings import SEEN_MIRED, SHEETS, color_findings, nearest_gel
from tapemark.analysis.exposure import ROOM_LAMPS, exposure
from tapemark.analysis.face_light import face_light
from tapemark.cli.report_light import _color
from tapemark.photometry import (
    black_body_xyz,
    chromaticity,
    color_temperature,
    glow_srgb,
    kelvin_from_mired,
    mired_from_kelvin,
    mired_shift,
    shifted_color_k,
)
from tapemark.studio import GEL_PRESETS, Gel, Head, Panel, Place, Room, Screen, Window

MIRED = 1.0
ROUNDING = 0.02 * MIRED  # the library's table of black bodies
KELVIN = st.floats(1500.0, 20_000.0)
AMOUNT = st.floats(0.01, 100.0)
TUNGSTEN = Head(kind="continuous", lumens=200_000.0, color_k=3200.0)


def in_mired(amounts):
    return float(mired_from_kelvin(mixture(amounts)[0]))


def seen(setup, **more):
    """Scene, its colours and the findings about them."""
    scene = build_scene(setup)
    color = light_color(scene, reading=exposure(scene, light=face_light(scene)), **more)
    return scene, color, {one.code: one for one in color_findings(scene, color)}


def lamps(ambient_lx, color_k=3000.0):
    room = {"width_m": 8.0, "length_m": 9.0, "height_m": 3.0, "behind_sitter_m": 4.0}
    return Room(**room, ambient_lx=ambient_lx, ambient_color_k=color_k)


def key_and_fill(studio, *, key=None, fill=None, **more):
    return studio.setup(
        [
            studio.light("key", (1.0, 1.2, 1.8), **(key or {})),
            studio.light("fill", (-0.8, 1.8, 1.4), **{"power_stops": -3.0, **(fill or {})}),
        ],
        **more,
    )


@settings(max_examples=30)
@given(st.dictionaries(KELVIN, AMOUNT, min_size=1, max_size=4))
def test_a_mixture_lies_between_its_lights(amounts):
    mixed = in_mired(amounts)
    limits = mired_from_kelvin(np.array(list(amounts)))
    assert limits.min() - ROUNDING <= mixed <= limits.max() + ROUNDING


@settings(max_examples=30)
@given(KELVIN, AMOUNT)
def test_one_light_keeps_its_colour(color_k, amount):
    assert mixture({color_k: amount}) == pytest.approx((color_k, 0.0), rel=1e-12)
    found_k, duv = color_temperature(black_body_xyz(color_k))
    np.testing.assert_allclose(1e6 / found_k, 1e6 / color_k, rtol=0, atol=ROUNDING)
    np.testing.assert_allclose(duv, 0.0, rtol=0, atol=1e-5)


@settings(max_examples=30)
@given(st.dictionaries(KELVIN, AMOUNT, min_size=2, max_size=4), st.floats(1e-3, 1e3))
def test_order_and_amount_altogether_do_not_count(amounts, scale):
    turned = dict(reversed([(color_k, scale * one) for color_k, one in amounts.items()]))
    np.testing.assert_allclose(in_mired(turned), in_mired(amounts), rtol=1e-6)


@given(st.dictionaries(KELVIN, AMOUNT, min_size=1, max_size=3), st.floats(21_000.0, 39_000.0))
def test_adding_nothing_changes_nothing(amounts, color_k):
    assert mixture({**amounts, color_k: 0.0}) == mixture(amounts)


@settings(max_examples=30)
@given(KELVIN, KELVIN, st.floats(0.02, 0.9))
def test_more_of_the_warmer_light_is_warmer(first_k, second_k, share):
    warm, cool = sorted((first_k, second_k))
    if mired_shift(cool, to_k=warm) < 10.0:
        return
    less = in_mired({warm: share, cool: 1.0 - share})
    more = in_mired({warm: share + 0.1, cool: 0.9 - share})
    assert more > less - 2.5 * MIRED  # the most by which the mean and the mixture differ


@settings(max_examples=30)
@given(st.floats(2000.0, 12_000.0), st.floats(2000.0, 12_000.0), st.floats(0.0, 0.5))
def test_the_mean_stands_in_only_where_it_is_within_two_mired(first_k, second_k, share):
    if share * abs(mired_shift(first_k, to_k=second_k)) >= MEAN_WILL_DO_MIRED:
        return
    light = (1.0 - share) * black_body_xyz(first_k) + share * black_body_xyz(second_k)
    proper_k, _ = color_temperature(light)
    amounts = {first_k: 1.0 - share, second_k: share} if first_k != second_k else {first_k: 1.0}
    np.testing.assert_allclose(in_mired(amounts), 1e6 / proper_k, rtol=0, atol=2 * MIRED)


@given(KELVIN, st.floats(-40.0, 300.0), st.floats(-5.0, 300.0))
def test_gels_on_one_another_add_their_shifts(color_k, first, second):
    one_by_one = shifted_color_k(shifted_color_k(color_k, shift_mired=first), shift_mired=second)
    np.testing.assert_allclose(
        one_by_one, shifted_color_k(color_k, shift_mired=first + second), rtol=1e-9
    )


@given(KELVIN, KELVIN)
def test_a_shift_leads_where_it_says(from_k, to_k):
    reached = shifted_color_k(from_k, shift_mired=mired_shift(from_k, to_k=to_k))
    np.testing.assert_allclose(reached, to_k, rtol=1e-9)
    np.testing.assert_allclose(kelvin_from_mired(mired_from_kelvin(from_k)), from_k, rtol=1e-12)


def test_a_filter_bluer_than_any_leaves_no_temperature():
    assert np.isnan(shifted_color_k(10_000.0, shift_mired=-131.0))


def test_a_deep_colour_has_no_temperature():
    far_off = np.array([[0.18, 0.07, 0.95], [0.36, 0.72, 0.12], [np.nan, 1.0, 1.0]])
    color_k, duv = color_temperature(far_off)
    assert np.isnan(color_k).all()
    assert np.isnan(duv[2])


def test_glow_is_the_colour_that_passes():
    assert glow_srgb((0.5, 0.5, 0.5)) == pytest.approx((1.0, 1.0, 1.0))
    red, green, blue = glow_srgb((0.8, 0.02, 0.0))
    assert (red, blue) == (pytest.approx(1.0), 0.0)
    assert 0.0 < green < 0.25
    assert glow_srgb((0.4, 0.01, 0.0)) == pytest.approx((red, green, blue))


@given(st.floats(-150.0, 160.0))
def test_the_nearest_sheet_is_the_nearest(wanted):
    shifts = [0.0, *(GEL_PRESETS[name].values["shift_mired"] for name in SHEETS)]
    best = nearest_gel(wanted)
    left = wanted if best is None else best.left_mired
    np.testing.assert_allclose(abs(left), min(abs(wanted - one) for one in shifts), atol=1e-9)


# ---------------------------------------------------------------- scenes


def test_lights_of_one_colour_have_that_colour_and_load_nothing(studio, monkeypatch):
    monkeypatch.setattr(chromaticity, "_library", lambda: pytest.fail("library asked"))
    _, color, found = seen(key_and_fill(studio))
    assert color.key == "key"
    assert color.face.color_k == pytest.approx(5500.0)
    assert color.shadow_from_lit_mired == pytest.approx(0.0)
    assert found == {}


def test_a_trace_of_another_colour_loads_nothing(studio, monkeypatch):
    monkeypatch.setattr(chromaticity, "_library", lambda: pytest.fail("library asked"))
    _, color, found = seen(key_and_fill(studio, room=lamps(20.0)))
    assert 0.0 < color.face.mired_from_white < MEAN_WILL_DO_MIRED
    assert found == {}


def test_the_library_leaves_no_warnings_and_no_stand_ins():
    code = """
import sys
from tapemark.photometry import black_body_xyz, color_temperature
color_temperature(black_body_xyz(5500.0) + black_body_xyz(3200.0))
for name, module in sys.modules.items():
    if name.partition(".")[0] in ("scipy", "matplotlib", "cycler", "mpl_toolkits"):
        assert "Mock" not in type(module).__name__, name
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, text=True)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_bounce_and_a_panel_carry_the_colour_of_what_lights_them(studio):
    warm = studio.light("fill", (-1.0, 1.6, 1.4), head=TUNGSTEN, aim="ceiling", power_stops=0.0)
    card = Panel(name="card", width_m=1.0, height_m=1.0, place=studio.place(-0.7, 0.4, 1.2))
    key = studio.light("key", (1.0, 1.2, 1.8))
    _, color, _ = seen(studio.setup([key, warm], panels=(card,)))
    shares = {one.name: one.face_share for one in color.sources}
    assert set(shares) == {"key", "fill"}  # neither ceiling nor card is a source of its own
    assert shares["fill"] > 0.0
    np.testing.assert_allclose(sum(shares.values()), 1.0, rtol=1e-12)


def test_tungsten_fill_is_told_and_its_sheet_cures_it(studio):
    warm = {"fill": {"head": TUNGSTEN, "power_stops": -1.0}, "camera": (0.0, 2.0, 1.2)}
    _, color, found = seen(key_and_fill(studio, key={"power_stops": -3.0}, **warm))
    finding = found["mixed-color-on-face"]
    assert color.shadow_from_lit_mired > SEEN_MIRED
    assert finding.topic == "exposure"
    assert "warmer than the lit side" in finding.text
    assert "Put full CTB" in finding.what_to_do
    assert "on fill" in finding.what_to_do
    warm["fill"]["gel"] = Gel(preset="full CTB")
    _, cured, left = seen(key_and_fill(studio, key={"power_stops": -3.0}, **warm))
    assert abs(cured.shadow_from_lit_mired) < 1.0
    assert left == {}


def test_room_lamps_are_told_with_what_to_do(studio):
    setup = key_and_fill(studio, fill={"on": False}, room=lamps(3000.0))
    _, color, found = seen(setup)
    advice = found["mixed-color-on-face"].what_to_do
    assert color.shadow_side.leading == ROOM_LAMPS
    assert "Switch the room lamps off" in advice
    assert "full CTO" in advice
    assert "3000 K" in advice
    assert "fill" not in advice  # it is off


def test_a_faint_shadow_side_shows_no_colour(studio):
    _, color, found = seen(key_and_fill(studio, fill={"on": False}, room=lamps(200.0)))
    assert color.shadow_from_lit_mired > 100.0
    assert found == {}


@pytest.mark.parametrize(("white_k", "word"), [(3200.0, "cooler"), (9000.0, "warmer")])
def test_a_white_balance_beside_the_light_is_told(studio, white_k, word):
    setup = key_and_fill(studio)
    camera = type(setup.camera)(**{**dict(setup.camera), "white_balance_k": white_k})
    _, color, found = seen(type(setup)(**{**dict(setup), "camera": camera}))
    assert color.white_balance_stated
    assert list(found) == ["white-balance-off"]
    assert word in found["white-balance-off"].text
    assert "5500 K" in found["white-balance-off"].what_to_do


def test_a_gelled_key_sets_the_white_balance_and_leaves_the_fill_behind(studio):
    _, color, found = seen(key_and_fill(studio, key={"gel": Gel(preset="full CTO")}))
    assert color.key == "key"
    assert color.white_balance_k == pytest.approx(shifted_color_k(5500.0, shift_mired=137.0))
    assert "Put full CTO" in found["mixed-color-on-face"].what_to_do
    assert "cooler" in found["mixed-color-on-face"].text


def test_the_background_is_held_against_the_face(studio):
    kicker = studio.light("glow", (1.0, -0.8, 1.0), gel=Gel(preset="half CTO"), aim="wall behind")
    setup = studio.setup([studio.light("key", (1.0, 1.2, 1.8)), kicker])
    _, color, found = seen(setup, background={"key": 2.0, "glow": 300.0})
    assert 70.0 < color.background_from_face_mired < 82.0
    assert found["background-color"].severity == "note"
    assert "take the half CTO off glow" in found["background-color"].what_to_do
    window = Window(name="north", wall="camera-right", width_m=1.5, height_m=1.5, color_k=9000.0)
    setup = studio.setup([studio.light("key", (1.0, 1.2, 1.8))], windows=(window,))
    _, color, found = seen(setup, background={"key": 20.0, "north": 200.0})
    assert found["background-color"].severity == "caution"
    assert "CTO" in found["background-color"].what_to_do
    assert "cooler than the face" in found["background-color"].text


def test_a_black_background_has_no_colour(studio):
    window = Window(name="north", wall="camera-right", width_m=1.5, height_m=1.5, color_k=9000.0)
    setup = studio.setup([studio.light("key", (1.0, 1.2, 1.8))], windows=(window,))
    _, color, found = seen(setup, background={"north": 0.01})
    assert color.background_from_face_mired < -SEEN_MIRED
    assert found == {}


def test_deep_colours_stay_out_of_the_mixture(studio):
    red = studio.light("red", (-1.0, 0.5, 1.4), gel=Gel(preset="red"), power_stops=0.0)
    _, color, found = seen(studio.setup([studio.light("key", (1.0, 1.2, 1.8)), red]))
    source = next(one for one in color.sources if one.name == "red")
    assert source.color_k is None
    assert source.glow[0] == pytest.approx(1.0)
    assert color.face.color_k == pytest.approx(5500.0)
    assert list(found) == ["deep-color-on-face"]


def test_a_deep_colour_is_named_where_it_leads(studio):
    glow = studio.light("glow", (1.0, -0.8, 1.0), gel=Gel(preset="red"), aim="wall behind")
    warm = studio.light("fill", (-0.8, 1.8, 1.4), head=TUNGSTEN, power_stops=-6.0)
    setup = studio.setup([studio.light("key", (1.0, 1.2, 1.8)), warm, glow])
    _, color, found = seen(setup, background={"key": 10.0, "fill": 10.0, "glow": 60.0})
    back = color.background
    assert (back.leading, back.off_key) == ("glow", "fill")
    assert back.leading_share == pytest.approx(0.75)
    assert back.off_key_share == pytest.approx(0.125)
    assert back.deep_share == pytest.approx(0.75)
    assert back.exposure_lx_s == pytest.approx(20.0)
    assert "background-color" not in found  # red hides that the rest is warmer
    _, color, found = seen(setup, background={"key": 40.0, "fill": 60.0, "glow": 5.0})
    assert color.background.leading == "fill"
    assert color.background.deep_share == pytest.approx(5.0 / 105.0)
    assert "background-color" in found


def test_without_deep_colours_all_light_is_in_the_mixture(studio):
    _, color, _ = seen(key_and_fill(studio, fill={"head": TUNGSTEN}))
    assert color.face.deep_share == 0.0
    assert color.face.leading == color.face.off_key == "fill"
    assert color.face.leading_share == color.face.off_key_share


def test_a_deep_fill_is_told_on_the_face_and_its_shadow_side(studio):
    setup = key_and_fill(studio, fill={"gel": Gel(preset="red")})
    sides = {"lit_side": {"key": 9.0, "fill": 1.0}, "shadow_side": {"key": 0.3, "fill": 0.7}}
    _, color, found = seen(setup, **sides)
    note = found["deep-color-on-face"]
    fill = next(one for one in color.sources if one.name == "fill")
    assert fill.shadow_share == pytest.approx(0.7)
    assert color.shadow_to_lit == pytest.approx(0.1)
    assert note.severity == "note"
    assert "of the light on the face, 70 % on its shadow side" in note.text
    lines = " ".join(" ".join(_color(color)).split())
    assert lines.startswith("fill with its gel, red, gives ")
    assert lines.endswith("% of the light on the face, 70 % on its shadow side")


def test_a_faint_deep_colour_in_black_shadow_is_no_note(studio):
    setup = key_and_fill(studio, fill={"gel": Gel(preset="red"), "power_stops": -9.0})
    faint = {"lit_side": {"key": 99.0}, "shadow_side": {"fill": 0.5}}
    assert "deep-color-on-face" not in seen(setup, **faint)[2]
    bright = {"lit_side": {"key": 99.0}, "shadow_side": {"fill": 20.0}}
    assert "deep-color-on-face" in seen(setup, **bright)[2]


@settings(max_examples=25)
@given(power_stops=st.floats(-9.0, 0.0))
def test_the_report_tells_a_colour_only_where_it_is_off(studio, power_stops):
    fill = {"head": TUNGSTEN, "power_stops": power_stops}
    _, color, _ = seen(key_and_fill(studio, fill=fill))
    lines = list(_color(color))
    assert bool(lines) == (abs(color.face.mired_from_white) >= 5.0)
    assert not [one for one in lines if " 0 mired" in one]


def test_nothing_but_deep_colours_or_dark_is_no_mixture(studio):
    red = studio.light("red", (-1.0, 0.5, 1.4), gel=Gel(preset="red"))
    _, color, found = seen(studio.setup([red]))
    assert (color.face, color.key) == (None, "")
    assert list(found) == ["deep-color-on-face"]
    _, color, found = seen(studio.setup([studio.light("key", (1.0, 1.2, 1.8), on=False)]))
    assert (color.face, found) == (None, {})


def test_sides_of_the_face_may_be_measured(studio):
    setup = key_and_fill(studio, fill={"head": TUNGSTEN})
    _, color, _ = seen(setup, lit_side={"key": 9.0, "fill": 1.0}, shadow_side={"fill": 4.0})
    assert color.shadow_side.color_k == pytest.approx(3200.0)
    assert 5000.0 < color.lit_side.color_k < 5300.0


def test_a_screen_is_dimmed_not_gelled(studio):
    bright = Screen(
        name="laptop",
        width_m=1.0,
        height_m=1.0,
        place=Place(distance_m=0.6, height_m=1.2),
        color_k=12_000.0,
        luminance_cd_m2=1000.0,
    )
    setup = key_and_fill(studio, key={"power_stops": -4.0}, fill={"on": False}, screens=(bright,))
    _, color, found = seen(setup)
    assert color.shadow_side.leading == "laptop"
    assert found["mixed-color-on-face"].what_to_do.startswith("Dim laptop")
