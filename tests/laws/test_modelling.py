"""Laws of light on a face, whatever the numbers."""

import dataclasses
import math

import numpy as np
import pytest

from tapemark.analysis import (
    build_scene,
    face_light,
    face_light_map,
    light_at_places,
    modelling,
    modelling_findings,
)
from tapemark.analysis.face_points import CHEEK, FOREHEAD, named_places
from tapemark.analysis.sheen import film_brightness
from tapemark.analysis.source_patches import COARSE_PAIRS
from tapemark.anatomy import head_surface
from tapemark.geometry import normalize
from tapemark.photometry import key_over_fill_stops, source_ratio
from tapemark.studio import FaceMeasures, Modifier, Panel

SMALL = Modifier(kind="reflector dish", diameter_m=0.18)
LARGE = Modifier(kind="octagonal box", diameter_m=1.2)


def around(studio, across_deg, up_deg, *, distance_m=1.5):
    across, up = math.radians(across_deg), math.radians(up_deg)
    flat = distance_m * math.cos(up)
    height = studio.eyes_m + distance_m * math.sin(up)
    return (flat * math.sin(across), flat * math.cos(across), height)


def scene_of(studio, *lights, **more):
    return build_scene(studio.setup(lights, **more))


def modelled(scene):
    return modelling(scene, light=face_light(scene))


def skin(scene, places=CHEEK + FOREHEAD):
    return named_places(scene.head, places).in_world(scene.pose)


@pytest.mark.parametrize(("across_deg", "up_deg"), [(12.0, 50.0), (33.0, 35.0), (47.0, 28.0)])
def test_mirrored_setup_gives_the_mirrored_face(studio, across_deg, up_deg):
    found = []
    for sign in (1.0, -1.0):
        key = studio.light("key", around(studio, sign * across_deg, up_deg))
        fill = studio.light("fill", (-sign * 0.8, 1.6, 1.3), power_stops=-4.0)
        found.append(modelled(scene_of(studio, key, fill, glasses=studio.worn())))
    one, other = found
    assert (one.pattern, one.key_side, other.key_side) == (other.pattern, "right", "left")
    np.testing.assert_allclose(one.azimuth_deg, -other.azimuth_deg)
    np.testing.assert_allclose(one.right_cheek.exposure_lx_s, other.left_cheek.exposure_lx_s)
    np.testing.assert_allclose(one.left_cheek.exposure_lx_s, other.right_cheek.exposure_lx_s)
    np.testing.assert_allclose(one.nose.falls_deg, -other.nose.falls_deg)
    assert one.nose.length_mm == pytest.approx(other.nose.length_mm)
    for eye, twin in zip(one.eyes, other.eyes[::-1], strict=True):
        np.testing.assert_allclose(
            [eye.head_share, eye.rim_share], [twin.head_share, twin.rim_share], atol=1e-6
        )


@pytest.mark.parametrize("turn_deg", [-50.0, 20.0, 60.0])
@pytest.mark.parametrize(("across_deg", "up_deg"), [(0.0, 40.0), (30.0, 35.0), (45.0, 30.0)])
def test_face_that_turns_with_its_light_keeps_the_pattern(studio, turn_deg, across_deg, up_deg):
    still = studio.light("key", around(studio, across_deg, up_deg))
    turned = studio.light("key", around(studio, across_deg + turn_deg, up_deg))
    one = modelled(scene_of(studio, still))
    other = modelled(scene_of(studio, turned, sitter={"turn_deg": turn_deg}))
    assert one.pattern == other.pattern
    np.testing.assert_allclose(one.azimuth_deg, other.azimuth_deg, atol=1e-6)
    np.testing.assert_allclose(
        one.left_cheek.exposure_lx_s, other.left_cheek.exposure_lx_s, rtol=1e-3
    )


def test_lights_add_up(studio):
    key = studio.light("key", around(studio, 40.0, 35.0))
    fill = studio.light("fill", around(studio, -20.0, 5.0), power_stops=-3.0)
    both, one, other = (scene_of(studio, *lights) for lights in ((key, fill), (key,), (fill,)))
    places = skin(both)
    total = light_at_places(both, places.points, normals=places.normals)
    alone = [light_at_places(s, places.points, normals=places.normals)[0] for s in (one, other)]
    np.testing.assert_allclose(total, alone, rtol=1e-9)
    np.testing.assert_allclose(
        modelled(both).right_cheek.exposure_lx_s,
        modelled(one).right_cheek.exposure_lx_s + modelled(other).right_cheek.exposure_lx_s,
    )


def test_shadows_only_take_light_away(studio):
    scene = scene_of(studio, studio.light("key", around(studio, 70.0, 20.0)))
    places = skin(scene, CHEEK + FOREHEAD + tuple((-x, z) for x, z in CHEEK))
    free = scene.emitters[0].exposure_at(places.points, normal=places.normals)
    found = light_at_places(scene, places.points, normals=places.normals)[0]
    assert (found <= free + 1e-12).all()
    assert (found >= 0.0).all()
    assert found[10:].sum() < 0.5 * free[10:].sum()  # the nose stands before the far cheek
    np.testing.assert_allclose(found[:5], free[:5])  # nothing before the near one


def test_raising_a_light_lengthens_the_noses_shadow(studio):
    lengths = [
        modelled(scene_of(studio, studio.light("key", around(studio, 10.0, up), modifier=SMALL)))
        for up in (30.0, 40.0, 50.0, 58.0)
    ]
    ends = [one.nose.over_lip_mm for one in lengths]
    assert ends == sorted(ends, reverse=True)
    assert ends[0] - ends[-1] > 8.0
    long = [one.nose.length_mm for one in lengths]
    assert long == sorted(long)


def test_smaller_or_farther_light_has_the_sharper_edge(studio):
    def edge(modifier, distance_m=1.5):
        where = around(studio, 20.0, 42.0, distance_m=distance_m)
        key = studio.light("key", where, modifier=modifier)
        hall = studio.room.model_copy(update={"height_m": 5.0})
        found = modelled(scene_of(studio, key, room=hall)).nose
        return found.edge_mm, found.edge_formula_mm

    small, large, far = edge(SMALL), edge(LARGE), edge(LARGE, distance_m=3.0)
    assert small[0] < far[0] < large[0]
    assert small[1] < far[1] < large[1]


def test_panel_in_between_takes_the_light(studio):
    key = studio.light("key", around(studio, 30.0, 30.0))
    between = studio.place(*around(studio, 30.0, 30.0, distance_m=0.9))
    flag = Panel(name="flag", place=between, width_m=1.0, height_m=1.0, reflectance=0.02)
    free, shut = scene_of(studio, key), scene_of(studio, key, panels=(flag,))
    places = skin(free)
    lit, dark = (light_at_places(s, places.points, normals=places.normals) for s in (free, shut))
    assert lit[0].min() > 0
    np.testing.assert_allclose(dark[0], 0.0)


def test_face_away_from_all_light_reads_nothing(studio):
    scene = scene_of(studio, studio.light("key", (0.0, -1.5, 1.6)))
    found = modelled(scene)
    assert (found.pattern, found.key) == ("rim", "key")
    assert found.right_cheek.exposure_lx_s == found.forehead.exposure_lx_s == 0.0
    assert found.right_cheek.stops_from_key is None
    assert found.highlight_to_shadow is None


def test_setup_in_the_dark_has_no_key(studio):
    for lights in ((), (studio.light("key", (0.5, 1.0, 1.6), on=False),)):
        scene = scene_of(studio, *lights)
        found = modelled(scene)
        assert (found.key, found.pattern, found.ratio, found.nose) == (None, "none", None, None)
        assert modelling_findings(scene, found) == []


def test_room_lamps_fill_both_cheeks_alike(studio):
    key = studio.light("key", around(studio, 45.0, 30.0))
    dark, lit = studio.room, studio.room.model_copy(update={"ambient_lx": 2000.0})
    one, other = (modelled(scene_of(studio, key, room=room)) for room in (dark, lit))
    added = 2000.0 / 160.0  # lx times the shutter
    for side in ("right_cheek", "left_cheek", "forehead"):
        more = getattr(other, side).exposure_lx_s - getattr(one, side).exposure_lx_s
        np.testing.assert_allclose(more, added)
    assert (one.ratio, other.ratio.fill) == (None, "room lamps")


def test_map_of_the_face_agrees_with_the_readings(studio):
    key = studio.light("key", around(studio, 35.0, 30.0))
    scene = scene_of(studio, key)
    found = face_light_map(scene, rows=21, columns=17)
    kept = np.isfinite(found.exposures[0])
    assert 0.5 < kept.mean() < 1.0
    assert found.names == ("key",)
    assert ((found.seen_shares[0, kept] >= 0) & (found.seen_shares[0, kept] <= 1)).all()
    again = light_at_places(
        scene, found.points[kept], normals=found.normals[kept], pairs=COARSE_PAIRS
    )
    np.testing.assert_allclose(found.exposures[0, kept], again[0])


def test_larger_and_darker_faces_are_taken_as_they_are(studio):
    measures = FaceMeasures(nose_protrusion_mm=28.0)
    key = studio.light("key", around(studio, 20.0, 40.0), modifier=SMALL)
    usual = modelled(scene_of(studio, key))
    long_nose = modelled(scene_of(studio, key, sitter={"face": measures}))
    assert long_nose.nose.length_mm > usual.nose.length_mm + 3.0
    assert long_nose.lip_elevation_deg < usual.lip_elevation_deg
    dark = modelled(scene_of(studio, key, sitter={"skin_reflectance": 0.1}))
    for one, other in zip(dark.sheen, usual.sheen, strict=True):
        assert one.stops_over_skin >= other.stops_over_skin


def test_film_on_skin_gives_back_less_than_it_gets():
    # All directions of the camera together, for light from several sides.
    rng = np.random.default_rng(7)
    out = normalize(rng.normal(size=(40_000, 3)))
    out[:, 2] = np.abs(out[:, 2])
    up = np.array([0.0, 0.0, 1.0])
    for tilt_deg in (0.0, 40.0, 75.0):
        tilt = math.radians(tilt_deg)
        towards = np.array([math.sin(tilt), 0.0, math.cos(tilt)])
        seen = film_brightness(
            np.ones(len(out)), towards_light=towards, towards_camera=out, normal=up
        )
        given_back = float((seen * out[:, 2]).mean()) * 2.0 * math.pi
        assert 0.015 < given_back < 0.4


def test_film_on_skin_does_not_mind_which_way_the_light_goes():
    rng = np.random.default_rng(3)
    here, there = (normalize(np.add(rng.normal(size=(50, 3)), (0.0, 0.0, 2.0))) for _ in range(2))
    up = np.array([0.0, 0.0, 1.0])
    one = film_brightness(np.ones(50), towards_light=here, towards_camera=there, normal=up)
    other = film_brightness(np.ones(50), towards_light=there, towards_camera=here, normal=up)
    np.testing.assert_allclose(one, other, rtol=1e-12)


def test_fast_look_past_the_head_agrees_with_the_slow_one():
    head = head_surface(FaceMeasures())
    rng = np.random.default_rng(5)
    x, z = rng.uniform(-0.05, 0.05, 400), rng.uniform(-0.09, 0.06, 400)
    starts = np.stack([x, head.front_depth(x, z) + 0.0005, z], axis=-1)
    directions = normalize(np.add(rng.normal(size=(400, 3)), (0.0, 0.8, 0.0)))
    fast = head.hides(starts, directions, steps=60)
    slow = head.blocks(starts, directions, clearance_m=0.002, reach_m=0.16, steps=200)
    assert 0.1 < slow.mean() < 0.6
    assert (fast != slow).mean() < 0.01
    assert (head.hides(starts, directions) != slow).mean() < 0.02
    nothing = head.hides(np.full((2, 3), np.nan), directions[:2])
    assert nothing.tolist() == [False, False]
    assert head.hides(starts[:0], directions[:0]).shape == (0,)


def test_ratios_without_fill_or_light():
    with np.errstate(all="raise"):
        assert source_ratio(1.0, fill=0.0) == np.inf
        assert np.isnan(source_ratio(0.0, fill=0.0))
        assert key_over_fill_stops(1.0) == -np.inf
        assert np.isnan(key_over_fill_stops(0.5))
    rows = np.array([[1.0, 2.0], [3.0, 4.0]])
    np.testing.assert_allclose(source_ratio(rows, fill=rows), 1.0)
    assert np.isnan(source_ratio(np.nan, fill=1.0))


def test_findings_are_about_modelling_and_never_trouble(studio):
    steep = studio.light("key", around(studio, 0.0, 70.0), modifier=SMALL)
    scene = scene_of(studio, steep)
    found = modelling_findings(scene, modelled(scene))
    assert {"eyes-shaded", "nose-shadow-long"} <= {one.code for one in found}
    assert {one.topic for one in found} == {"modelling"}
    assert all(one.severity != "trouble" and "key" in one.text + one.what_to_do for one in found)


def test_scene_can_be_asked_again_with_other_neighbours(studio):
    scene = scene_of(studio, studio.light("key", around(studio, 0.0, 10.0)))
    places = skin(scene)
    lit = light_at_places(scene, places.points, normals=places.normals)
    before = dataclasses.replace(scene.body, centers=np.add(scene.body.centers, (0.0, 0.7, 0.15)))
    shut = dataclasses.replace(scene, neighbours=(before,))
    dark = light_at_places(shut, places.points, normals=places.normals)
    assert dark.sum() < 0.5 * lit.sum()
