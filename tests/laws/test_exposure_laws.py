"""Laws of the readings at the sitter: what adds up, what carries over, what can be dialled."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.analysis import (
    build_scene,
    emitters,
    exposure,
    exposure_findings,
    face_light,
    head_output,
    setting_findings,
)
from tapemark.analysis.uncertainty import SPREADS, Spread, added, joined
from tapemark.photometry import (
    DOME,
    FLAT,
    aperture_from_exposure,
    exact_aperture,
    polygon_illuminance,
    rectangle_parallel_factor,
    stops_between,
)
from tapemark.studio import (
    Camera,
    Gel,
    Head,
    Light,
    Meter,
    Modifier,
    Panel,
    Place,
    Room,
    Window,
)

HALL = Room(width_m=30.0, length_m=30.0, height_m=8.0, behind_sitter_m=4.0)
LAMP = Head(preset="continuous LED head")
MODIFIERS = (
    "small softbox 40x40 cm",
    "strip 30x120 cm",
    "octagonal box 110 cm",
    "reflected umbrella 110 cm",
    "shoot-through umbrella 100 cm",
    "beauty dish 55 cm",
    "reflector dish 18 cm",
    "bare small flash",
)
CAMERA = Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0)


def read(setup):
    """Scene and exposure of a setup."""
    scene = build_scene(setup)
    return scene, exposure(scene, light=face_light(scene))


def with_camera(setup, **values):
    return setup.model_copy(update={"camera": setup.camera.model_copy(update=values)})


def codes(found):
    return {one.code for one in found}


def flash(modifier, *, head=None, **more):
    """A light 2 m before the sitter at eye level."""
    shaped = Modifier(preset=modifier) if isinstance(modifier, str) else modifier
    return Light(
        name="key",
        head=head or Head(preset="400 Ws studio head"),
        modifier=shaped,
        place=Place(distance_m=2.0, height_m=1.2),
        **more,
    )


def on_axis(studio, light, distance_m):
    """What a receptor on the axis, turned to the light, receives [lx·s]."""
    (source,) = emitters(studio.setup([light]))
    out = source.face.axes[:, 1]
    return float(source.exposure_at(source.face.center + distance_m * out, normal=-out))


# ---------------------------------------------------------------- what adds up


@pytest.mark.parametrize("modifier", MODIFIERS)
def test_far_away_light_follows_the_inverse_square(studio, modifier):
    near, far = (on_axis(studio, flash(modifier), at) for at in (8.0, 16.0))
    np.testing.assert_allclose(stops_between(near, reference=far), 2.0, rtol=0, atol=0.03)


@pytest.mark.parametrize("modifier", MODIFIERS)
def test_near_by_light_falls_slower_than_the_inverse_square(studio, modifier):
    near, far = (on_axis(studio, flash(modifier), at) for at in (0.5, 1.0))
    assert 0.0 < stops_between(near, reference=far) < 2.0 + 1e-9


def test_readings_add_up_and_two_equal_lights_are_a_stop_more(studio):
    left, right = studio.light("left", (0.9, 1.5, 1.7)), studio.light("right", (-0.9, 1.5, 1.7))
    (_, one), (_, other), (_, both) = (
        read(studio.setup(lights)) for lights in ([left], [right], [left, right])
    )
    np.testing.assert_allclose(both.exposure_lx_s, one.exposure_lx_s + other.exposure_lx_s)
    np.testing.assert_allclose(2.0 * np.log2(both.aperture / one.aperture), 1.0, atol=1e-9)
    np.testing.assert_allclose(both.ratio.highlight_to_shadow, 2.0, rtol=1e-9)


@given(
    width=st.floats(0.1, 1.0),
    height=st.floats(0.1, 1.0),
    apart=st.floats(0.5, 3.0),
    aside=st.floats(-1.0, 1.0),
)
def test_two_faces_light_each_other_alike(width, height, apart, aside):
    def square(w, h, at):
        corners = np.array([(-w, 0, -h), (w, 0, -h), (w, 0, h), (-w, 0, h)]) / 2
        return corners + np.array(at)

    def lit_mean(source, receiver, normal):
        steps = (np.arange(40) + 0.5) / 40
        across, up = np.meshgrid(steps, steps)
        start, along, high = receiver[0], receiver[1] - receiver[0], receiver[3] - receiver[0]
        places = start + across[..., None] * along + up[..., None] * high
        return polygon_illuminance(source, point=places, normal=normal).mean()

    first = square(width, 0.4, (0.0, 0.0, 0.0))
    second = square(0.3, height, (aside, apart, 0.2))
    ahead = np.array([0.0, 1.0, 0.0])
    there = lit_mean(first, second, -ahead) * 0.3 * height
    back = lit_mean(second, first, ahead) * width * 0.4
    np.testing.assert_allclose(there, back, rtol=1e-3)


def test_flat_and_dome_differ_by_their_constants_where_the_light_is_beside_the_camera(studio):
    (_, found) = read(studio.setup([studio.light("key", (0.0, 3.0, studio.eyes_m))]))
    (key,) = [one for one in found.lights if one.name == "key"]
    np.testing.assert_allclose(
        2.0 * np.log2(key.flat_aperture / key.aperture), np.log2(DOME / FLAT), atol=1e-9
    )


# ---------------------------------------------------------------- the user's own reading


@given(
    modifier=st.sampled_from(MODIFIERS),
    aperture=st.sampled_from([2.8, 5.6, 8.0, 11.0]),
    distance_m=st.floats(0.4, 4.0),
    power_stops=st.floats(-6.0, 0.0),
    iso=st.sampled_from([100, 400]),
    receptor=st.sampled_from(["flat", "dome"]),
)
def test_own_reading_comes_back(studio, modifier, aperture, distance_m, power_stops, iso, receptor):
    meter = Meter(
        aperture=aperture,
        distance_m=distance_m,
        power_stops=power_stops,
        iso=iso,
        receptor=receptor,
    )
    light = flash(modifier, meter=meter, power_stops=power_stops)
    got = aperture_from_exposure(
        on_axis(studio, light, distance_m),
        iso=float(iso),
        calibration=FLAT if receptor == "flat" else DOME,
    )
    np.testing.assert_allclose(got, exact_aperture(aperture), rtol=1e-9)


@given(distance_m=st.floats(0.3, 3.0))
def test_own_reading_carries_to_twice_the_distance_as_its_face_demands(studio, distance_m):
    light = flash(
        "medium softbox 60x90 cm", meter=Meter(aperture=8.0, distance_m=distance_m, receptor="flat")
    )
    near, far = (on_axis(studio, light, at) for at in (distance_m, 2.0 * distance_m))
    factors = [
        rectangle_parallel_factor(0.3, height_m=0.45, distance_m=at)
        for at in (distance_m, 2.0 * distance_m)
    ]
    np.testing.assert_allclose(far / near, factors[1] / factors[0], rtol=1e-9)
    assert far / near > 0.25  # less than two stops: nearer than the inverse square says


@given(
    power_stops=st.floats(-7.0, 0.0),
    taken_at=st.floats(-7.0, 0.0),
)
def test_own_reading_carries_to_other_powers(studio, power_stops, taken_at):
    meter = Meter(aperture=8.0, distance_m=1.5, power_stops=taken_at)
    light, same = (
        flash("octagonal box 110 cm", meter=meter, power_stops=power)
        for power in (power_stops, taken_at)
    )
    stops = stops_between(on_axis(studio, light, 1.5), reference=on_axis(studio, same, 1.5))
    np.testing.assert_allclose(stops, power_stops - taken_at, atol=1e-9)


@pytest.mark.parametrize("taken_with", MODIFIERS)
@pytest.mark.parametrize("modifier", ["small softbox 40x40 cm", "beauty dish 55 cm"])
def test_own_reading_carries_to_another_modifier_through_the_light_of_the_head(
    studio, taken_with, modifier
):
    # A reading that the estimate itself would give must lead back to the estimate.
    estimated = flash(taken_with)
    received = on_axis(studio, estimated, 1.5)
    n = float(aperture_from_exposure(received, iso=100.0, calibration=FLAT))
    meter = Meter(aperture=n, distance_m=1.5, receptor="flat", modifier=estimated.modifier)
    carried, direct = flash(modifier, meter=meter), flash(modifier)
    np.testing.assert_allclose(
        on_axis(studio, carried, 1.0), on_axis(studio, direct, 1.0), rtol=1e-9
    )
    known = head_output(carried, camera=CAMERA)
    same = taken_with == modifier
    assert known.known_by == ("own reading" if same else "own reading carried over")
    assert known.spread == SPREADS[known.known_by]


def test_lux_reading_of_a_lamp_comes_back_in_lux(studio):
    meter = Meter(illuminance_lx=900.0, distance_m=1.3)
    lamp = flash("octagonal box 110 cm", head=LAMP, meter=meter)
    np.testing.assert_allclose(on_axis(studio, lamp, 1.3) / CAMERA.shutter_s, 900.0, rtol=1e-9)


def test_what_is_metered_is_known_better_than_what_is_guessed(studio):
    guess = flash("medium softbox 60x90 cm")
    own = flash("medium softbox 60x90 cm", meter=Meter(aperture=8.0, distance_m=1.5))
    spreads = [read(studio.setup([light]))[1].spread for light in (guess, own)]
    assert spreads[0].text() == "+0.6 to -1.5 stops"
    assert spreads[1].text() == "±0.2 stops"


@given(
    amounts=st.lists(st.floats(0.1, 100.0), min_size=1, max_size=5),
    low=st.floats(-2.0, 0.0),
    high=st.floats(0.0, 2.0),
)
def test_spread_of_a_sum_lies_between_those_of_its_parts(amounts, low, high):
    parts = [
        (amount, Spread(low_stops=low / (number + 1), high_stops=high / (number + 1)))
        for number, amount in enumerate(amounts)
    ]
    total = added(parts)
    assert low - 1e-9 <= total.low_stops <= low / len(parts) + 1e-9
    assert high / len(parts) - 1e-9 <= total.high_stops <= high + 1e-9
    alone = joined(parts[0][1])
    np.testing.assert_allclose((alone.low_stops, alone.high_stops), (low, high), atol=1e-12)


# ---------------------------------------------------------------- guide numbers


@pytest.mark.parametrize("beam_deg", [45.0, 70.0, 100.0])
def test_own_reflector_has_the_guide_number_on_its_axis(studio, beam_deg):
    head = Head(kind="flash", guide_number_m=40.0, guide_number_beam_deg=beam_deg)
    reflector = Modifier(kind="bare", width_m=0.07, height_m=0.045, beam_deg=beam_deg)
    received = on_axis(studio, flash(reflector, head=head), 5.0)
    np.testing.assert_allclose(aperture_from_exposure(received, iso=100.0), 8.0, rtol=1e-3)


def test_guide_number_at_another_iso_is_the_same_flash(studio):
    one, other = (
        flash(
            "octagonal box 110 cm",
            head=Head(kind="flash", guide_number_m=number, guide_number_iso=iso),
        )
        for number, iso in ((30.0, 100), (60.0, 400))
    )
    np.testing.assert_allclose(on_axis(studio, one, 2.0), on_axis(studio, other, 2.0), rtol=1e-12)


# ---------------------------------------------------------------- grids, gels, steady light


@given(grid_deg=st.floats(10.0, 60.0), turned=st.floats(0.0, 1.0))
def test_grid_takes_nothing_on_the_axis_and_everything_beyond_its_angle(studio, grid_deg, turned):
    plain = {"kind": "reflector dish", "diameter_m": 0.05}
    free, cut = (
        emitters(studio.setup([flash(Modifier(**plain, **more))]))[0]
        for more in ({}, {"grid_deg": grid_deg})
    )
    out, aside = free.face.axes[:, 1], free.face.axes[:, 0]

    def share(angle):
        way = math.cos(angle) * out + math.sin(angle) * aside
        place = free.face.center + 8.0 * way
        return cut.exposure_at(place, normal=-way) / free.exposure_at(place, normal=-way)

    half = math.radians(grid_deg / 2)
    np.testing.assert_allclose(share(0.0), 1.0, atol=0.05)
    assert share(half + 0.02) == pytest.approx(0.0, abs=0.01)
    angle = turned * half
    expected = max(1.0 - math.tan(angle) / math.tan(half), 0.0)
    np.testing.assert_allclose(share(angle), expected, atol=0.05)


def test_lens_sees_the_grid_too(studio):
    plain = {"kind": "softbox", "width_m": 0.6, "height_m": 0.9}
    box = emitters(studio.setup([flash(Modifier(**plain, grid_deg=40.0))]))[0]
    middle, out = box.face.center[None], box.face.axes[None, :, 1]
    aside = math.cos(0.5) * out + math.sin(0.5) * box.face.axes[None, :, 0]
    seen = [
        float(box.brightness_at(middle, -way, from_front=np.array([True]))[0])
        for way in (out, aside)
    ]
    assert seen[0] == pytest.approx(box.brightness)
    assert seen[1] == 0.0


def test_grid_cuts_the_far_edge_of_a_near_softbox(studio):
    plain = {"kind": "softbox", "width_m": 0.6, "height_m": 0.9}
    free, cut = (flash(Modifier(**plain, **more)) for more in ({}, {"grid_deg": 40.0}))
    shares = [on_axis(studio, cut, at) / on_axis(studio, free, at) for at in (0.5, 1.0, 4.0, 30.0)]
    assert shares == sorted(shares)
    assert shares[0] < 0.5
    np.testing.assert_allclose(shares[-1], 1.0, atol=0.05)


@given(loss=st.floats(0.0, 4.0))
def test_stated_loss_of_a_grid_or_gel_is_taken_off(studio, loss):
    plain = {"kind": "beauty dish", "diameter_m": 0.55, "grid_deg": 30.0}
    free = on_axis(studio, flash(Modifier(**plain)), 2.0)
    grid = on_axis(studio, flash(Modifier(**plain, grid_loss_stops=loss)), 2.0)
    gel = on_axis(studio, flash(Modifier(**plain), gel=Gel(name="g", loss_stops=loss)), 2.0)
    np.testing.assert_allclose(
        stops_between(np.array([grid, gel]), reference=free), [-loss, -loss], atol=1e-9
    )


def test_coloured_gel_loses_by_what_the_eye_sees_of_its_light(studio):
    free = on_axis(studio, flash("beauty dish 55 cm"), 2.0)
    losses = []
    for color in ((1.0, 1.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)):
        red, green, blue = color
        gel = Gel(name="g", red=red, green=green, blue=blue)
        losses.append(on_axis(studio, flash("beauty dish 55 cm", gel=gel), 2.0) / free)
    np.testing.assert_allclose(losses[0], 1.0, rtol=1e-12)
    np.testing.assert_allclose(sum(losses[1:]), 1.0, rtol=1e-12)
    assert losses[3] < losses[1] < losses[2]


def test_grid_that_nobody_metered_is_asked_for(studio):
    plain = {"kind": "softbox", "width_m": 0.6, "height_m": 0.9, "grid_deg": 40.0}
    for more, asked in (({}, True), ({"grid_loss_stops": 0.7}, False)):
        setup = studio.setup([flash(Modifier(**plain, **more))])
        assert ("grid-loss-unknown" in codes(setting_findings(setup))) is asked


@given(stops=st.floats(-3.0, 0.0))
def test_shutter_decides_steady_light_and_leaves_flash(studio, stops):
    lights = [
        studio.light("key", (0.9, 1.5, 1.7)),
        studio.light("lamp", (-0.9, 1.5, 1.7), head=LAMP),
    ]
    setup = studio.setup(lights)
    (_, long), (_, short) = (
        read(with_camera(setup, shutter_s=(1 / 30) * 2.0**by)) for by in (0.0, stops)
    )
    key, lamp = (
        stops_between(after.exposure_lx_s, reference=before.exposure_lx_s)
        for before, after in zip(long.lights, short.lights, strict=True)
    )
    np.testing.assert_allclose([key, lamp], [0.0, stops], atol=1e-9)
    np.testing.assert_allclose(
        short.ambient.stops_under_flash - long.ambient.stops_under_flash, -stops, atol=1e-9
    )
    np.testing.assert_allclose(
        short.lights[1].illuminance_lx, long.lights[1].illuminance_lx, rtol=1e-9
    )


@given(ambient_lx=st.floats(1.0, 5000.0))
def test_room_lamps_count_as_metered(studio, ambient_lx):
    room = studio.room.model_copy(update={"ambient_lx": ambient_lx})
    setup = studio.setup([studio.light("key", (0.9, 1.5, 1.7))], room=room)
    (_, dark), (_, lit) = (read(one) for one in (studio.setup(setup.lights), setup))
    added_lx_s = ambient_lx * setup.camera.shutter_s
    np.testing.assert_allclose(lit.exposure_lx_s - dark.exposure_lx_s, added_lx_s, rtol=1e-6)
    np.testing.assert_allclose(lit.ambient.share, added_lx_s / lit.exposure_lx_s, rtol=1e-9)
    assert lit.ambient.sources == ("room lamps",)


def test_shutter_that_is_offered_hides_the_window(studio):
    window = Window(
        name="window",
        wall="camera-left",
        along_m=1.0,
        width_m=1.5,
        height_m=1.5,
        luminance_cd_m2=3000.0,
    )
    setup = studio.setup([studio.light("key", (0.9, 1.5, 1.7))], windows=(window,))
    slow = with_camera(setup, shutter_s=1 / 15)
    scene, found = read(slow)
    assert "ambient-shows" in codes(exposure_findings(scene, found))
    wanted = found.ambient.shutter_s
    assert wanted is not None
    assert wanted >= slow.camera.sync_s
    quick = with_camera(setup, shutter_s=wanted)
    scene, after = read(quick)
    assert after.ambient.stops_under_flash >= 5.0
    assert "ambient-shows" not in codes(exposure_findings(scene, after))


def test_window_too_bright_for_any_shutter_is_not_promised_one(studio):
    window = Window(
        name="window",
        wall="camera-left",
        along_m=1.0,
        width_m=3.0,
        height_m=2.0,
        luminance_cd_m2=20_000.0,
    )
    setup = studio.setup([studio.light("key", (0.9, 1.5, 1.7))], windows=(window,))
    scene, found = read(setup)
    assert found.ambient.stops_under_flash < 4.0
    assert found.ambient.shutter_s is None
    (note,) = [one for one in exposure_findings(scene, found) if one.code == "ambient-shows"]
    assert "blind" in note.what_to_do
    assert note.text.startswith("window")


def test_card_lit_by_a_window_is_steady_and_by_both_it_is_mixed(studio):
    card = Panel(name="card", width_m=0.8, height_m=1.0, place=studio.place(-0.6, 0.7, 1.2))
    window = Window(name="window", wall="camera-left", along_m=1.0, width_m=1.5, height_m=1.5)
    key = studio.light("key", (0.9, 1.5, 1.7))
    off = key.model_copy(update={"on": False})
    shares = []
    for lights, windows in (([off], (window,)), ([key], (window,)), ([key], ())):
        _, found = read(studio.setup(lights, windows=windows, panels=(card,)))
        (own,) = [one for one in found.lights if one.name == "card"]
        shares.append(own.steady_share)
        steady = found.ambient.exposure_lx_s
        assert (steady > 0) is bool(windows)
        if windows:
            (lit,) = [one for one in found.lights if one.name == "window"]
            expected = lit.exposure_lx_s + own.steady_share * own.exposure_lx_s
            np.testing.assert_allclose(steady, expected, rtol=1e-9)
    assert shares[0] == pytest.approx(1.0)
    assert 0.0 < shares[1] < 1.0
    assert shares[2] == 0.0


def test_spread_of_a_metered_key_and_a_guessed_fill_is_between_theirs(studio):
    key = studio.light("key", (0.9, 1.5, 1.7), meter=Meter(aperture=5.6, distance_m=1.5))
    fill = studio.light("fill", (-0.9, 1.9, 1.5))
    (_, both), (_, one), (_, other) = (
        read(studio.setup(lights)) for lights in ([key, fill], [key], [fill])
    )
    assert one.spread.high_stops < both.spread.high_stops < other.spread.high_stops
    assert one.spread.low_stops > both.spread.low_stops > other.spread.low_stops
