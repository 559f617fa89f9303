"""Laws of what is advised: sync, powers to dial, distances, and what bounces beside them."""

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
    power_advice,
    setting_findings,
)
from tapemark.cli.report import report_text
from tapemark.photometry import nominal_iso, nominal_shutter_s, stops_between
from tapemark.services.report_json import report_as_plain
from tapemark.studio import Camera, Head, Meter, Modifier, Panel, Room
from tapemark.units import dialled_power, parse_power_stops

HALL = Room(width_m=30.0, length_m=30.0, height_m=8.0, behind_sitter_m=4.0)
LAMP = Head(preset="continuous LED head")


def read(setup):
    """Scene and exposure of a setup."""
    scene = build_scene(setup)
    return scene, exposure(scene, light=face_light(scene))


def with_camera(setup, **values):
    return setup.model_copy(update={"camera": setup.camera.model_copy(update=values)})


def codes(found):
    return {one.code for one in found}


# ---------------------------------------------------------------- sync


@pytest.mark.parametrize(
    ("camera", "expected", "severity"),
    [
        ({"shutter_s": 1 / 200, "sync_s": 1 / 200}, None, None),
        ({"shutter_s": 1 / 250, "sync_s": 1 / 200}, "sync-too-short", "trouble"),
        ({"shutter_s": 1 / 250}, "sync-too-short", "caution"),
        ({"shutter_s": 1 / 1000}, "sync-too-short", "trouble"),
        ({"shutter_s": 1 / 1000, "high_speed_sync": True}, "high-speed-sync", "note"),
    ],
)
def test_shutter_beyond_the_sync_limit_is_called_out(studio, camera, expected, severity):
    values = {"place": studio.place(0.0, 2.0, 1.2), "focal_length_mm": 85.0, **camera}
    setup = studio.setup([studio.light("key", (0.9, 1.5, 1.7))])
    setup = setup.model_copy(update={"camera": Camera(**values)})
    found = [(one.code, one.severity) for one in setting_findings(setup)]
    assert found == ([] if expected is None else [(expected, severity)])


def test_lamps_know_no_sync_limit(studio):
    setup = studio.setup([studio.light("lamp", (0.9, 1.5, 1.7), head=LAMP)])
    assert setting_findings(with_camera(setup, shutter_s=1 / 2000)) == []


def test_high_speed_sync_costs_its_stops(studio):
    setup = studio.setup([studio.light("key", (0.9, 1.5, 1.7))])
    (_, usual), (_, quick) = (
        read(with_camera(setup, **values))
        for values in (
            {"shutter_s": 1 / 200},
            {"shutter_s": 1 / 800, "sync_s": 1 / 200, "high_speed_sync": True},
        )
    )
    lost = stops_between(usual.exposure_lx_s, reference=quick.exposure_lx_s)
    np.testing.assert_allclose(lost, 2.3 + 2.0, atol=1e-9)


def test_going_back_from_high_speed_sync_hides_what_it_promises(studio):
    room = studio.room.model_copy(update={"ambient_lx": 400.0})
    setup = studio.setup([studio.light("key", (0.9, 1.5, 1.7))], room=room)
    limit = {"sync_s": 1 / 200, "high_speed_sync": True}
    scene, quick = read(with_camera(setup, shutter_s=1 / 1000, **limit))
    (note,) = [one for one in exposure_findings(scene, quick) if one.code == "ambient-shows"]
    _, usual = read(with_camera(setup, shutter_s=1 / 200, **limit))
    promised = f"{usual.ambient.stops_under_flash:.1f} stops under"
    assert promised in note.what_to_do


# ---------------------------------------------------------------- what to dial


@given(power_stops=st.floats(-9.0, 0.0), step=st.sampled_from([0.1, 1 / 3, 0.5, 1.0]))
def test_dialled_power_reads_back_within_half_a_step(power_stops, step):
    text = dialled_power(power_stops, step_stops=step)
    assert abs(parse_power_stops(text) - power_stops) <= step / 2 + 0.05 + 1e-9


@given(aperture=st.sampled_from([4.0, 5.6, 8.0]))
def test_dialled_powers_meet_the_aperture_and_keep_the_ratio(studio, aperture):
    lights = [
        studio.light("key", (0.9, 1.5, 1.7)),
        studio.light("fill", (-0.9, 1.9, 1.5), power_stops=-3.0),
    ]
    setup = with_camera(studio.setup(lights), aperture=aperture)
    scene, before = read(setup)
    advice = power_advice(scene, before)
    assert all(one.reachable for one in advice)
    turned = [
        light.model_copy(update={"power_stops": parse_power_stops(one.dial)})
        for light, one in zip(lights, advice, strict=True)
    ]
    _, after = read(setup.model_copy(update={"lights": tuple(turned)}))
    np.testing.assert_allclose(after.stops_over, 0.0, atol=0.05 + 1e-9)  # half a tenth
    np.testing.assert_allclose(
        after.ratio.key_over_fill_stops, before.ratio.key_over_fill_stops, atol=0.1
    )


def test_window_is_left_out_of_what_heads_are_turned_by(studio):
    room = studio.room.model_copy(update={"ambient_lx": 3000.0})
    lights = [studio.light("key", (0.9, 1.5, 1.7))]
    setup = with_camera(studio.setup(lights, room=room), aperture=8.0, shutter_s=1 / 60)
    scene, before = read(setup)
    (one,) = power_advice(scene, before)
    turned = lights[0].model_copy(update={"power_stops": one.wanted_stops})
    _, after = read(setup.model_copy(update={"lights": (turned,)}))
    np.testing.assert_allclose(after.stops_over, 0.0, atol=1e-9)
    bright = with_camera(setup, shutter_s=1.0)
    scene, glaring = read(bright)
    assert power_advice(scene, glaring) == ()
    (off,) = [one for one in exposure_findings(scene, glaring) if one.code == "exposure-off"]
    assert "shutter" in off.what_to_do


def test_head_that_cannot_is_told_how_near_it_would_do(studio):
    weak = studio.light("key", (1.2, 3.0, 1.9), power_stops=-1.0)
    setup = with_camera(studio.setup([weak], room=HALL), aperture=16.0)
    scene, before = read(setup)
    (one,) = power_advice(scene, before)
    assert one.beyond_stops > 0
    assert one.dial is None
    codes_found = codes(exposure_findings(scene, before))
    assert {"exposure-off", "power-out-of-reach"} <= codes_found
    face, center = scene.pose.origin, np.array(weak.place.position_m)
    way = (center - face) / np.linalg.norm(center - face)
    x, y, z = face + one.distance_m * way
    near = studio.light("key", (x, y, z), power_stops=0.0)
    _, after = read(setup.model_copy(update={"lights": (near,)}))
    np.testing.assert_allclose(after.stops_over, 0.0, atol=0.1)  # the aim moves with it a little
    _, lifted = read(
        with_camera(
            setup.model_copy(update={"lights": (weak.model_copy(update={"power_stops": 0.0}),)}),
            iso=one.iso,
        )
    )
    np.testing.assert_allclose(lifted.stops_over, 0.0, atol=1 / 6 + 1e-9)  # thirds of a stop


def test_head_that_is_too_strong_is_sent_back(studio):
    strong = studio.light("key", (0.4, 0.8, 1.4), head=Head(preset="400 Ws studio head"))
    setup = with_camera(studio.setup([strong], room=HALL), aperture=2.0)
    scene, before = read(setup)
    (one,) = power_advice(scene, before)
    assert one.beyond_stops < 0
    assert one.distance_m > one.distance_now_m
    face, center = scene.pose.origin, np.array(strong.place.position_m)
    gone = face + one.distance_m * (center - face) / np.linalg.norm(center - face)
    weakest = studio.light(
        "key", tuple(gone), head=strong.head, power_stops=strong.head.lowest_power_stops
    )
    _, after = read(setup.model_copy(update={"lights": (weakest,)}))
    np.testing.assert_allclose(after.stops_over, 0.0, atol=0.1)  # the aim moves with it a little
    (reach,) = [
        found for found in exposure_findings(scene, before) if found.code == "power-out-of-reach"
    ]
    assert "neutral filter" in reach.what_to_do


def test_head_set_lower_than_it_goes_is_called_out(studio):
    for power_stops, called in ((-5.0, False), (-6.0, True)):
        key = studio.light("key", (0.9, 1.5, 1.7), power_stops=power_stops)
        found = setting_findings(studio.setup([key]))
        assert ("power-below-lowest" in codes(found)) is called
        assert ("power-below-lowest" not in codes(found)) or "1/32" in found[0].what_to_do


def test_room_that_ends_too_soon_offers_no_place(studio):
    strong = studio.light("key", (0.4, 0.8, 1.4))
    small = Room(width_m=3.0, length_m=3.0, height_m=2.4, behind_sitter_m=0.5)
    setup = studio.setup([strong], room=small, camera=(0.0, 1.5, 1.2))
    scene, before = read(with_camera(setup, aperture=1.4))
    (one,) = power_advice(scene, before)
    assert one.beyond_stops < 0
    assert one.distance_m is None


def test_light_by_way_of_the_ceiling_is_not_told_to_come_nearer(studio):
    lamp = studio.light("fill", (0.0, 2.0, 1.6), aim="ceiling", modifier="bare small flash")
    scene, before = read(with_camera(studio.setup([lamp]), aperture=22.0))
    (one,) = power_advice(scene, before)
    assert one.beyond_stops > 0
    assert one.distance_m is None
    assert one.iso > scene.setup.camera.iso


def test_well_metered_light_is_held_to_a_third_of_a_stop(studio):
    meter = Meter(aperture=8.0, distance_m=1.5)
    for aperture, called in ((8.0, False), (6.3, True)):
        key = studio.light("key", (0.0, 1.5, 1.2), meter=meter, power_stops=0.0)
        scene, found = read(with_camera(studio.setup([key]), aperture=aperture))
        assert ("exposure-off" in codes(exposure_findings(scene, found))) is called


@pytest.mark.parametrize(("iso", "printed"), [(100.0, 100), (126.0, 125), (160.0, 160), (800, 800)])
def test_iso_speeds_are_printed_ones(iso, printed):
    assert nominal_iso(iso) == printed


@given(shutter_s=st.floats(1 / 8000, 1.0))
def test_printed_shutter_is_no_longer_and_within_a_third_of_a_stop(shutter_s):
    printed = nominal_shutter_s(shutter_s)
    assert printed <= shutter_s * (1.0 + 1e-8)
    assert stops_between(shutter_s, reference=printed) < 0.42  # printed thirds are rounded


# ---------------------------------------------------------------- bounce and room


def test_flag_in_the_way_to_the_ceiling_takes_its_bounce(studio):
    lamp = studio.light("fill", (0.0, 2.4, 1.4), aim="ceiling", modifier="bare small flash")
    flag = Panel(
        name="flag",
        width_m=2.0,
        height_m=2.0,
        place=studio.place(0.0, 2.2, 1.9),
        aim="ceiling",
        reflectance=0.0,
    )
    free, flagged = (
        emitters(studio.setup([lamp], panels=panels))[1 : 2 + len(panels)]
        for panels in ((), (flag,))
    )
    (open_ceiling,), ceiling = free, next(one for one in flagged if one.kind == "ceiling")
    assert ceiling.lit_map.sum() < 0.2 * open_ceiling.lit_map.sum()


def test_thing_beside_the_way_to_the_ceiling_takes_nothing(studio):
    lamp = studio.light("fill", (0.0, 2.4, 1.4), aim="ceiling", modifier="bare small flash")
    aside = Panel(name="flag", width_m=0.5, height_m=0.5, place=studio.place(0.0, 2.4, 0.5))
    maps = [
        next(one for one in emitters(studio.setup([lamp], panels=panels)) if one.kind == "ceiling")
        for panels in ((), (aside,))
    ]
    np.testing.assert_allclose(maps[1].lit_map, maps[0].lit_map, rtol=1e-12)


def test_white_floor_lights_the_face_and_a_wooden_one_is_left_to_the_estimate(studio):
    key = studio.light("key", (0.9, 1.5, 2.0), modifier="shoot-through umbrella 100 cm")
    dome = {}
    for reflectance in (0.2, 0.85):
        room = studio.room.model_copy(update={"floor_reflectance": reflectance})
        scene, found = read(studio.setup([key], room=room))
        floors = [one for one in scene.emitters if one.kind == "floor"]
        assert len(floors) == (reflectance > 0.4)
        dome[reflectance] = found.exposure_lx_s
    assert 1.01 < dome[0.85] / dome[0.2] < 1.5


def test_shares_of_what_feeds_a_panel_add_up(studio):
    lights = [studio.light("key", (0.9, 1.5, 1.7)), studio.light("fill", (-0.9, 1.5, 1.7))]
    card = Panel(name="card", width_m=0.8, height_m=1.0, place=studio.place(-0.6, 0.7, 1.0))
    (panel,) = [
        one for one in emitters(studio.setup(lights, panels=(card,))) if one.kind == "panel"
    ]
    assert panel.fed_by == ("key", "fill")
    np.testing.assert_allclose(sum(panel.fed_shares), 1.0, rtol=1e-12)
    assert min(panel.fed_shares) >= 0.0


def test_estimate_of_the_room_grows_with_its_walls_and_is_in_no_reading(studio):
    key = studio.light("key", (0.9, 1.5, 1.7))
    found = []
    for level in (0.0, 0.2, 0.5, 0.8):
        room = Room(
            width_m=5.0,
            length_m=6.0,
            height_m=2.8,
            behind_sitter_m=2.0,
            wall_reflectance=level,
            ceiling_reflectance=level,
            floor_reflectance=min(level, 0.35),
        )
        found.append(read(studio.setup([key], room=room))[1])
    amounts = [one.room.exposure_lx_s for one in found]
    assert amounts[0] == 0.0
    assert amounts == sorted(amounts)
    np.testing.assert_allclose([one.aperture for one in found], found[0].aperture, rtol=1e-12)
    assert found[-1].aperture_with_room > found[-1].aperture


def test_estimate_of_the_room_counts_an_aimed_light_from_where_it_meets_the_room(studio):
    lamp = studio.light("fill", (0.0, 2.0, 1.6), aim="ceiling", modifier="bare small flash")
    amounts = {}
    for ceiling in (0.0, 0.4, 0.8):
        room = studio.room.model_copy(update={"ceiling_reflectance": ceiling})
        found = read(studio.setup([lamp], room=room))[1].room
        lift = found.reflectance / (1.0 - found.reflectance)
        amounts[ceiling] = found.exposure_lx_s / lift
    assert amounts[0.0] == 0.0
    np.testing.assert_allclose(amounts[0.8], 2.0 * amounts[0.4], rtol=1e-9)


# ---------------------------------------------------------------- what is told


def test_report_tells_both_receptors_how_each_light_is_known_and_the_rest(studio):
    key = studio.light(
        "key with a name that goes on",
        (0.9, 1.5, 1.7),
        meter=Meter(aperture=8.0, distance_m=1.5, modifier=Modifier(preset="beauty dish 55 cm")),
    )
    lamp = studio.light("lamp", (-0.9, 1.5, 1.7), head=LAMP)
    room = studio.room.model_copy(update={"ambient_lx": 20.0})
    report = studio.check(studio.setup([key, lamp], room=room))
    plain = report_as_plain(report)["exposure"]
    first, second = plain["lights"]
    assert first["known_by"] == "own reading carried over"
    assert first["spread_stops"] == [-0.7, 0.7]
    assert first["dial"] == "1/4"
    assert first["flat_aperture"] > first["aperture"]
    assert second["steady_share"] == 1.0
    assert second["illuminance_lx"] > 0
    assert plain["ambient"]["sources"] == ["lamp", "room lamps"]
    assert plain["room_estimate"]["aperture_with_it"] > plain["aperture"]
    assert [one["name"] for one in plain["powers"]] == [first["name"], "lamp"]
    text = report_text(report, color=False)
    assert max(map(len, text.splitlines())) <= 112  # the long name takes 8 of them
    for told in ("own reading carried over ±0.7", "flat f/", "with the room", "steady light"):
        assert told in text


def test_dark_setup_has_no_numbers_to_tell(studio):
    off = studio.light("key", (0.9, 1.5, 1.7), on=False)
    plain = report_as_plain(studio.check(studio.setup([off])))["exposure"]
    assert plain["aperture"] is None
    assert plain["room_estimate"]["share"] is None
    assert plain["powers"] == []
    assert plain["lights"][0]["known_by"] == "off"
