"""Laws of safety: what steadies, what adds up, what mirrors, and when it keeps quiet."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.analysis import build_scene, safety, safety_findings
from tapemark.analysis.cables import crosses, floor_distance_m
from tapemark.analysis.circuits import ASSUMED_CIRCUITS, circuit_loads
from tapemark.analysis.flash_rate import flashes_in_1_s
from tapemark.analysis.rigs import rigs
from tapemark.analysis.stands import stand_balances
from tapemark.geometry import ballast_for_angle, support_margin, tipping_angle, tipping_force
from tapemark.studio import (
    Circuit,
    Companion,
    Gel,
    Glasses,
    Head,
    Modifier,
    Spot,
    Stand,
    Walkway,
    Window,
)

STAND = Stand(weight_kg=3.5, leg_radius_m=0.55)
BOOM = Stand(preset="boom on a heavy stand")
HALOGEN = Head(kind="continuous", lamp="halogen", lumens=16_000.0, mains_w=650.0)

lengths = st.floats(0.2, 2.0)
angles = st.floats(-math.pi, math.pi)


def balance(studio, stand, where=(0.9, 1.2, 2.0), **more):
    setup = studio.setup([studio.light("key", where, stand=stand, **more)])
    (found,) = stand_balances(rigs(setup))
    return found


def codes(setup):
    scene = build_scene(setup)
    return [one.code for one in safety_findings(scene, safety(scene))]


# ---------------------------------------------------------------- standing


@given(x=lengths, y=lengths, radius=lengths, turn=angles, legs=st.integers(3, 5))
def test_turning_stand_and_load_together_changes_nothing(x, y, radius, turn, legs):
    still = support_margin(np.array([x, y]), leg_radius=radius, legs=legs, leg_turn=0.2)
    c, s = math.cos(turn), math.sin(turn)
    turned = support_margin(
        np.array([c * x - s * y, s * x + c * y]), leg_radius=radius, legs=legs, leg_turn=0.2 + turn
    )
    np.testing.assert_allclose(turned, still, rtol=0, atol=1e-12)
    next_leg = support_margin(
        np.array([x, y]), leg_radius=radius, legs=legs, leg_turn=0.2 + 2.0 * math.pi / legs
    )
    np.testing.assert_allclose(next_leg, still, rtol=0, atol=1e-12)


@given(x=lengths, radius=lengths, height=lengths, scale=st.floats(0.1, 10.0))
def test_larger_stand_of_the_same_shape_tips_at_the_same_tilt(x, radius, height, scale):
    def tilt(size):
        point = np.array([0.3 * size * x, 0.1 * size])
        margin = support_margin(point, leg_radius=size * radius, legs=3, leg_turn=0.7)
        return tipping_angle(margin, height=size * height)

    np.testing.assert_allclose(tilt(scale), tilt(1.0), rtol=0, atol=1e-12)


@given(margin=lengths, mass=lengths, height=lengths, scale=st.floats(0.1, 10.0))
def test_push_grows_with_weight_and_falls_with_height(margin, mass, height, scale):
    push = tipping_force(np.array(margin), mass_kg=mass, height=height)
    heavier = tipping_force(np.array(margin), mass_kg=scale * mass, height=height)
    higher = tipping_force(np.array(margin), mass_kg=mass, height=scale * height)
    np.testing.assert_allclose([heavier, higher], [scale * push, push / scale], rtol=1e-12)


@given(angle=st.floats(0.05, 0.3), more=st.floats(1.01, 2.0))
def test_steeper_floor_asks_for_more_ballast(angle, more):
    def needed(tilt):
        return ballast_for_angle(
            np.array(0.04),
            mass_kg=8.0,
            height=1.5,
            angle=tilt,
            ballast_margin=0.275,
            ballast_height=0.3,
        )

    assert needed(more * angle) > needed(angle) or needed(angle) == np.inf


@given(less=st.floats(0.0, 20.0), more=st.floats(0.1, 30.0), legs=st.integers(3, 5))
def test_more_ballast_on_the_column_never_tips_earlier(studio, less, more, legs):
    light, heavy = (
        balance(studio, Stand(weight_kg=3.0, leg_radius_m=0.5, legs=legs, ballast_kg=hung))
        for hung in (less, less + more)
    )
    assert heavy.weakest_deg > light.weakest_deg
    assert heavy.push_n > light.push_n
    assert heavy.hung_adds_deg > light.hung_adds_deg


@given(height=st.floats(1.0, 2.6), legs=st.integers(3, 5), modifier=st.sampled_from([0.6, 1.5]))
def test_leg_under_the_load_never_tips_earlier(studio, height, legs, modifier):
    shape = Modifier(kind="octagonal box", diameter_m=modifier)
    beside, under = (
        balance(
            studio,
            Stand(weight_kg=3.0, leg_radius_m=0.6, legs=legs, leg_under_load=turned),
            (0.9, 1.2, height),
            modifier=shape,
        )
        for turned in (False, True)
    )
    assert under.weakest_deg > beside.weakest_deg
    np.testing.assert_allclose(under.weakest_deg, beside.weakest_leg_under_deg, rtol=1e-12)
    assert beside.weakest_deg == beside.between_legs_deg < beside.over_leg_deg


@given(out=st.floats(0.05, 0.55))
def test_bag_farther_out_on_the_loaded_leg_helps_less(studio, out):
    def adds(where):
        stand = STAND.model_copy(
            update={"leg_under_load": True, "ballast_kg": 8.0, "ballast_out_m": where}
        )
        return balance(studio, stand).hung_adds_deg

    assert adds(out) < adds(out - 0.05)
    np.testing.assert_allclose(adds(0.55), 0.0, rtol=0, atol=1e-9)  # at the foot


@pytest.mark.parametrize("stand", [STAND, BOOM])
def test_mirrored_setup_stands_the_same(studio, stand):
    left, right = (balance(studio, stand, (side * 0.9, 1.2, 2.0)) for side in (1, -1))
    for field in ("weakest_deg", "push_n", "lean_m", "over_leg_deg"):
        np.testing.assert_allclose(getattr(left, field), getattr(right, field), rtol=1e-9)


def test_light_raised_on_the_same_stand_tips_earlier(studio):
    low, high = (balance(studio, STAND, (0.9, 1.2, height)) for height in (1.2, 2.2))
    assert high.weakest_deg < low.weakest_deg


def test_what_is_fixed_to_the_building_does_not_tip(studio):
    fixed = studio.setup([studio.light("top", (0.0, 1.5, 2.4), stand=Stand(kind="fixed"))])
    assert stand_balances(rigs(fixed)) == ()


def test_boom_reaches_over_the_sitter_from_behind_the_head(studio):
    hair = studio.light("hair", (0.1, -0.2, 2.2), stand=BOOM)
    (rig,) = rigs(studio.setup([hair]))
    reach = math.dist(rig.head_m[:2], rig.base_m)
    np.testing.assert_allclose(reach, BOOM.boom_out_m, rtol=1e-12)
    assert math.hypot(*rig.base_m) > math.hypot(*rig.head_m[:2])


# ---------------------------------------------------------------- over people


def over(studio, where, stand, **more):
    setup = studio.setup([studio.light("hair", where, stand=stand)], **more)
    return safety(build_scene(setup)).overhead


def test_light_over_the_sitter_is_seen_wherever_it_hangs_from(studio):
    for stand, held in ((BOOM, "boom"), (None, "unknown"), (Stand(kind="fixed"), "fixed")):
        (found,) = over(studio, (0.0, -0.3, 2.2), stand)
        assert (found.what, found.held_by, found.person) == ("light", held, "sitter")
    assert over(studio, (0.0, -1.5, 2.2), STAND) == ()
    low = studio.light("low", (0.0, 0.4, 0.7), modifier="bare small flash", stand=STAND)
    assert safety(build_scene(studio.setup([low]))).overhead == ()  # before the knees


def test_arm_that_passes_over_somebody_is_seen(studio):
    across = BOOM.model_copy(update={"base": Spot(distance_m=1.1, side_deg=90.0)})
    (found,) = over(studio, (-1.2, 0.0, 2.2), across)
    assert found.what == "arm"
    np.testing.assert_allclose(found.aside_m, 0.0, rtol=0, atol=0.02)


def test_companions_are_looked_after_too(studio):
    friend = Companion(name="Bo", across_m=1.2, back_m=0.1, eye_height_m=1.3)
    (found,) = over(studio, (1.2, -0.4, 2.3), BOOM, companions=(friend,))
    assert found.person == "Bo"


# ---------------------------------------------------------------- mains


def test_each_light_adds_to_its_circuit(studio):
    places = [(1.0, 1.0, 1.8), (-1.0, 1.0, 1.8), (1.0, -1.0, 1.8)]
    lights = [studio.light(f"lamp {n}", where, head=HALOGEN) for n, where in enumerate(places)]
    shares = [circuit_loads(studio.setup(lights[:count]))[0].breaker_share for count in (1, 2, 3)]
    np.testing.assert_allclose(shares, shares[0] * np.array([1.0, 2.0, 3.0]), rtol=1e-12)


def test_lights_that_are_off_or_on_a_battery_draw_nothing(studio):
    off = studio.light("off", (1.0, 1.0, 1.8), head=HALOGEN, on=False)
    battery = studio.light("small", (-1.0, 1.0, 1.8), head=Head(preset="small camera flash 60 Ws"))
    (load,) = circuit_loads(studio.setup([off, battery]))
    assert (load.power_w, load.current_a, load.lights, load.unknown) == (0.0, 0.0, (), ())


@pytest.mark.parametrize("units", ["metric", "us"])
def test_assumed_circuit_follows_the_units_and_speaks_only_when_over(studio, units):
    one = studio.light("key", (1.0, 1.0, 1.8), modifier="beauty dish 55 cm", head=HALOGEN)
    quiet = studio.setup([one], units=units)
    (load,) = circuit_loads(quiet)
    assert load.voltage_v == ASSUMED_CIRCUITS[units].voltage_v
    assert "circuit-over" not in codes(quiet)
    hot = HALOGEN.model_copy(update={"mains_w": 3500.0})
    assert "circuit-over" in codes(quiet.model_copy(update={"lights": (_with(one, head=hot),)}))


def test_lights_are_counted_on_the_circuit_they_name(studio):
    circuits = tuple(Circuit(name=name, voltage_v=230.0, breaker_a=16.0) for name in "AB")
    lights = [
        studio.light("key", (1.0, 1.0, 1.8), head=HALOGEN, circuit="B"),
        studio.light("fill", (-1.0, 1.0, 1.8), head=HALOGEN),
    ]
    found = safety(build_scene(studio.setup(lights, circuits=circuits)))
    assert [load.lights for load in found.circuits] == [(), ("key",)]
    assert found.without_circuit == ("fill",)
    (alone,) = circuit_loads(studio.setup([lights[1]], circuits=circuits[:1]))
    assert alone.lights == ("fill",)


# ---------------------------------------------------------------- flashes


@given(interval=st.floats(0.02, 5.0), longer=st.floats(1.0, 10.0))
def test_longer_intervals_never_flash_more_often(interval, longer):
    assert flashes_in_1_s(longer * interval) <= flashes_in_1_s(interval)
    times = interval * np.arange(200)
    assert np.sum(times < 1.0 - 1e-9) == flashes_in_1_s(interval)


def test_bursts_are_called_out_and_worst_for_who_is_photosensitive(studio):
    plain = studio.setup([studio.light("key", (1.0, 1.0, 1.8))])
    burst = plain.model_copy(
        update={"camera": plain.camera.model_copy(update={"frame_interval_s": 0.2})}
    )
    assert "flash-too-fast" not in codes(plain)
    assert "flash-too-fast" in codes(burst)
    at_risk = burst.model_copy(
        update={"sitter": burst.sitter.model_copy(update={"photosensitive": True})}
    )
    scene = build_scene(at_risk)
    severities = {one.code: one.severity for one in safety_findings(scene, safety(scene))}
    assert severities["flash-too-fast"] == "trouble"
    assert severities["photosensitive"] == "trouble"
    steady = _with(at_risk.lights[0], head=Head(preset="continuous LED head"))
    assert codes(at_risk.model_copy(update={"lights": (steady,)})) == []


def test_only_hard_flash_that_shines_into_the_face_is_too_close(studio):
    def close(where, modifier, **more):
        setup = studio.setup([studio.light("flash", where, modifier=modifier, **more)])
        return safety(build_scene(setup)).flashes.close

    (found,) = close((0.0, 0.6, studio.eyes_m), "bare small flash")
    np.testing.assert_allclose(found.distance_m, 0.6, rtol=1e-9)
    assert close((0.0, 0.6, studio.eyes_m), "medium softbox 60x90 cm") == ()
    assert close((0.0, 1.6, studio.eyes_m), "bare small flash") == ()
    assert close((0.0, -0.6, studio.eyes_m), "bare small flash") == ()  # behind the head
    assert close((0.0, 0.6, studio.eyes_m), "bare small flash", aim="wall behind camera") == ()


# ---------------------------------------------------------------- floor and heat

points = st.tuples(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0))
AREA = ((-1.0, -0.5), (1.5, -0.5), (1.5, 0.8), (-1.0, 0.8))


@given(start=points, end=points)
def test_line_crosses_an_area_where_points_along_it_lie_inside(start, end):
    along = np.linspace(0.0, 1.0, 4001)[:, None]
    path = np.array(start) * (1.0 - along) + np.array(end) * along
    clear = np.max(
        np.minimum(
            np.minimum(path[:, 0] + 1.0, 1.5 - path[:, 0]),
            np.minimum(path[:, 1] + 0.5, 0.8 - path[:, 1]),
        )
    )
    if abs(clear) > 0.003:  # nearer than the points are to each other it may go either way
        assert crosses(start, end, corners=AREA) == (clear > 0.0)
    assert crosses(start, end, corners=AREA) == crosses(end, start, corners=AREA)


def test_line_that_only_passes_or_touches_an_area_does_not_cross_it():
    assert not crosses((-0.5, -2.6), (2.5, 0.4), corners=AREA)  # past a corner
    assert not crosses((-2.0, 0.8), (2.0, 0.8), corners=AREA)  # along a side
    assert crosses((-0.5, 0.1), (0.5, 0.2), corners=AREA)  # all of it inside


@given(point=points, start=points, end=points)
def test_distance_from_a_way_is_that_of_its_nearest_point(point, start, end):
    along = np.linspace(0.0, 1.0, 2001)[:, None]
    path = np.array(start) * (1.0 - along) + np.array(end) * along
    nearest = np.hypot(*(path - point).T).min()
    np.testing.assert_allclose(floor_distance_m(point, start, end), nearest, rtol=0, atol=0.005)


def test_cable_across_a_walkway_is_called_out_and_one_beside_it_is_not(studio):
    key = studio.light("key", (1.5, 1.0, 1.8))
    way = Walkway(
        name="door to desk",
        start=Spot(distance_m=4.0, side_deg=53.0),
        end=Spot(distance_m=4.0, side_deg=127.0),
    )

    def found(outlet_side_deg, light=key):
        outlet = Spot(distance_m=4.0, side_deg=outlet_side_deg)
        circuit = Circuit(name="A", voltage_v=230.0, breaker_a=16.0, outlet=outlet)
        setup = studio.setup([light], circuits=(circuit,), walkways=(way,))
        return codes(setup)

    assert "cable-in-walkway" in found(90.0)
    assert "cable-in-walkway" not in found(20.0)
    assert "cable-before-camera" in found(-60.0)
    battery = _with(key, head=Head(preset="small camera flash 60 Ws"))
    assert "cable-in-walkway" not in found(90.0, light=battery)
    inside = studio.light("key", (2.8, 0.0, 1.8))
    assert "stand-in-walkway" in found(20.0, light=inside)


def test_only_hot_lamps_care_about_gels_cloth_and_the_ceiling(studio):
    def near(head, **more):
        (light,) = [studio.light("key", (1.0, 1.0, 1.8), **{"head": head, **more})]
        return [one.near for one in safety(build_scene(studio.setup([light]))).hot]

    dish = "reflector dish 18 cm"
    assert near(HALOGEN, modifier=dish) == []
    assert near(HALOGEN) == [("cloth",)]
    assert near(HALOGEN, modifier=dish, gel=Gel(preset="full warming")) == [("gel",)]
    high = studio.place(1.0, 1.0, 2.7)
    assert near(HALOGEN, modifier=dish, place=high) == [("ceiling",)]
    assert near(Head(preset="continuous LED head")) == []
    assert near(HALOGEN, on=False) == []
    for power_w, found in ((60.0, []), (250.0, [("cloth",)])):
        flash = {"kind": "flash", "energy_j": 400.0, "lamp": "halogen"}
        assert near(Head(**flash, modelling_lamp_w=power_w)) == found


# ---------------------------------------------------------------- lenses that darken


def test_daylight_at_the_face_decides_whether_lenses_darken(studio):
    glasses = Glasses(preset="thin reading glasses", photochromic=True)

    def found(luminance, wall="behind camera", along_m=0.0):
        window = Window(
            name="bay",
            wall=wall,
            along_m=along_m,
            width_m=1.5,
            height_m=1.6,
            luminance_cd_m2=luminance,
        )
        setup = studio.setup([], glasses=glasses, windows=(window,))
        return safety(build_scene(setup)).darkening[0]

    dim, bright = found(2_000.0), found(20_000.0)
    np.testing.assert_allclose(bright.window_lx, 10.0 * dim.window_lx, rtol=1e-9)
    assert (dim.darken, bright.darken) == (False, True)
    assert found(20_000.0, wall="behind sitter").window_lx == 0.0
    assert found(20_000.0, wall="camera-left", along_m=1.0).darken  # it lights the lens aslant
    clear = studio.setup([], glasses=Glasses(preset="thin reading glasses"))
    assert safety(build_scene(clear)).darkening == ()


# ---------------------------------------------------------------- what is said


def _with(light, **changes):
    return light.model_copy(update=changes)


def test_usual_setup_on_stands_nobody_described_is_quiet(studio):
    lights = [
        studio.light("key", (1.0, 1.2, 1.9)),
        studio.light("fill", (-1.0, 1.6, 1.7), modifier="reflected umbrella 110 cm"),
        studio.light("background", (1.2, -1.5, 1.2), modifier="reflector dish 18 cm"),
    ]
    assert codes(studio.setup(lights)) == []


def test_light_that_no_usual_stand_carries_gets_one_note_for_all(studio):
    heavy = Head(preset="1000 Ws studio head")
    lights = [
        studio.light(name, (side, 1.2, 2.2), modifier="octagonal box 150 cm", head=heavy)
        for name, side in (("key", 1.0), ("fill", -1.0))
    ]
    assert codes(studio.setup(lights)) == ["stand-not-described"]


def test_described_stands_are_held_to_what_they_are(studio):
    high = studio.light("key", (1.0, 1.2, 2.7), stand=STAND)
    assert "stand-too-short" in codes(studio.setup([high]))
    unsteady = studio.light("key", (1.0, 1.2, 2.0), modifier="octagonal box 150 cm", stand=STAND)
    assert codes(studio.setup([unsteady])) == ["stand-unsteady"]
    bagged = STAND.model_copy(update={"ballast_kg": 25.0})
    assert codes(studio.setup([_with(unsteady, stand=bagged)])) == []
    bare = BOOM.model_copy(update={"counterweight_kg": 0.0})
    scene = build_scene(studio.setup([_with(unsteady, stand=bare)]))
    (said,) = safety_findings(scene, safety(scene))
    assert (said.code, said.severity) == ("stand-falls", "trouble")
    assert "counterweight" in said.what_to_do


def test_every_finding_about_safety_says_what_to_do_and_who_decides(studio):
    lights = [
        studio.light("key", (1.0, 1.0, 2.9), head=HALOGEN, stand=STAND, circuit="A"),
        studio.light("hair", (0.0, -0.3, 2.2), stand=BOOM, circuit="A"),
        studio.light("flash", (0.0, 0.6, 1.2), modifier="bare small flash"),
    ]
    outlet = Spot(distance_m=2.0, side_deg=-90.0)
    circuits = (
        Circuit(name="A", voltage_v=120.0, breaker_a=5.0, outlet=outlet),
        Circuit(name="B", voltage_v=120.0, breaker_a=15.0),
    )
    walkway = Walkway(name="way", start=Spot(distance_m=1.0, side_deg=-90.0), end=outlet)
    setup = studio.setup(
        lights,
        circuits=circuits,
        walkways=(walkway,),
        sitter={"photosensitive": True, "light_sensitive": True},
    )
    fast = setup.camera.model_copy(update={"frame_interval_s": 0.1})
    scene = build_scene(setup.model_copy(update={"camera": fast}))
    said = safety_findings(scene, safety(scene))
    assert {one.topic for one in said} == {"safety"}
    assert len({one.code for one in said}) >= 9
    for one in said:
        assert any(word in one.what_to_do for word in ("decide", "qualified", "no count")), one.code
        assert not any(word in one.text for word in ("safe", "certif"))
