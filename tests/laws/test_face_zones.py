"""Laws of the zones of light on a face."""

import numpy as np
import pytest

from tapemark.analysis import (
    build_scene,
    face_light,
    face_zones,
    key_light,
    modelling,
)
from tapemark.analysis.face_points import CHEEK, FOREHEAD, mirrored, named_places

KEY = (1.0, 1.25, 1.95)


def looked_at(setup):
    """Scene, zones and modelling of a setup."""
    scene = build_scene(setup)
    light = face_light(scene)
    return scene, face_zones(scene, light=light), modelling(scene, light=light)


def faces(studio, *, side=1.0, power_stops=-2.0, sitter=None):
    x, y, z = KEY
    lights = [
        studio.light("key", (side * x, y, z), power_stops=power_stops),
        studio.light("fill", (-side * 0.7, 2.2, 1.5), power_stops=power_stops - 1.5),
    ]
    return studio.setup(lights, sitter=sitter)


def near(scene, zones, places, field):
    """Mean of a field over named places of the skin, from the nearest of the grid."""
    skin = named_places(scene.head, places).in_world(scene.pose).points
    away = np.linalg.norm(zones.points[:, :, None, :] - skin, axis=-1)
    away[np.isnan(field)] = np.inf
    nearest = [np.unravel_index(np.argmin(away[..., k]), field.shape) for k in range(len(skin))]
    return np.array([field[one] for one in nearest])


@pytest.mark.parametrize("turn_deg", [0.0, 20.0])
def test_zones_agree_with_the_readings_on_cheeks_and_forehead(studio, turn_deg):
    scene, zones, model = looked_at(faces(studio, sitter={"turn_deg": turn_deg}))
    for places, reading in (
        (CHEEK, model.right_cheek),
        (mirrored(CHEEK), model.left_cheek),
        (FOREHEAD, model.forehead),
    ):
        mean = np.log2(np.mean(2.0 ** near(scene, zones, places, zones.stops)))
        # Nearest places of the grid lie up to 3 mm off, within shadow edges.
        assert mean == pytest.approx(reading.stops_from_key, abs=0.25)


def test_zero_is_the_key_metered_square_on(studio):
    setup = faces(studio)
    scene, zones, _ = looked_at(setup)
    key = key_light(scene, light=face_light(scene))
    assert zones.key == key.name
    assert zones.key_exposure_lx_s == key.exposure_lx_s


def test_turning_all_power_up_changes_no_zone(studio):
    _, dim, _ = looked_at(faces(studio, power_stops=-4.0))
    _, full, _ = looked_at(faces(studio, power_stops=-1.0))
    np.testing.assert_allclose(dim.stops, full.stops, atol=1e-9)
    np.testing.assert_allclose(dim.key_seen, full.key_seen)
    np.testing.assert_allclose(dim.shine_stops, full.shine_stops, atol=1e-9)
    assert full.key_aperture == pytest.approx(dim.key_aperture * 2.0**1.5)


def test_mirrored_setups_give_mirrored_zones(studio):
    _, one, _ = looked_at(faces(studio))
    _, other, _ = looked_at(faces(studio, side=-1.0))
    # Single paths that graze the nose may fall either way.
    for field in ("stops", "key_seen", "shine_stops"):
        gap = np.abs(getattr(one, field) - getattr(other, field)[:, ::-1])
        assert np.nanmedian(gap) < 1e-9
        assert np.nanpercentile(gap, 98) < 0.1


def test_the_key_is_seen_in_full_where_it_is_faced_and_not_behind_the_nose(studio):
    scene, zones, model = looked_at(faces(studio))
    assert model.pattern == "loop"
    assert near(scene, zones, CHEEK, zones.key_seen).min() > 0.9
    beside_nose = ((-14.0, -48.0), (-16.0, -49.0))
    assert near(scene, zones, beside_nose, zones.key_seen).max() < 0.5
    assert ((zones.key_seen >= 0) | np.isnan(zones.key_seen)).all()
    assert np.nanmax(zones.key_seen) <= 1.0


def test_where_the_key_is_not_seen_only_the_fill_is_left(studio):
    x, y, z = KEY
    alone = studio.setup([studio.light("key", (x, y, z))])
    _, zones, _ = looked_at(alone)
    dark = zones.key_seen == 0.0
    assert dark.any()
    assert np.median(zones.stops[dark]) < -5.0  # what the room's surfaces send back is not followed


def test_places_turned_from_the_camera_are_left_out(studio):
    _, zones, _ = looked_at(faces(studio, sitter={"turn_deg": 60.0}))
    columns = zones.stops.shape[1]
    assert (
        np.isnan(zones.stops[:, : columns // 6]).all()
        != np.isnan(zones.stops[:, -columns // 6 :]).all()
    )


def test_in_the_dark_there_are_no_zones(studio):
    scene = build_scene(studio.setup([studio.light("key", KEY, on=False)]))
    assert face_zones(scene, light=face_light(scene)) is None


def test_eyes_lose_light_to_a_high_key(studio):
    _, low, _ = looked_at(studio.setup([studio.light("key", (0.0, 1.8, 1.5))]))
    _, high, _ = looked_at(studio.setup([studio.light("key", (0.0, 0.7, 2.5))]))
    assert min(low.eye_stops) > -0.6
    assert max(high.eye_stops) < min(low.eye_stops) - 0.3
