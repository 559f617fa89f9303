"""Light sent back by ceilings and walls, and what leaves both sides of an umbrella."""

import numpy as np
import pytest

from tapemark.analysis import build_scene, emitters
from tapemark.analysis.emitter import face_cells
from tapemark.geometry import join_components
from tapemark.studio import Modifier, Room

HALL = Room(width_m=12.0, length_m=15.0, height_m=3.5, behind_sitter_m=5.0)


def bounced(studio, *lights, room=None):
    setup = studio.setup(lights, room=room or studio.room)
    return [one for one in emitters(setup) if one.kind in ("ceiling", "wall")]


def test_lights_on_one_ceiling_add_up_in_any_order(studio):
    weak = studio.light("weak", (1.0, 1.5, 1.6), aim="ceiling", power_stops=-5.0)
    strong = studio.light("strong", (-1.0, 1.5, 1.6), aim="ceiling", power_stops=0.0)
    (one,), (other,) = bounced(studio, weak, strong), bounced(studio, strong, weak)
    assert one.fed_by == ("weak", "strong")
    np.testing.assert_allclose(one.lit_map, other.lit_map, rtol=1e-12)
    (alone,) = bounced(studio, strong)
    place = np.array([0.0, 0.0, studio.eyes_m])
    up = np.array([0.0, 0.0, 1.0])
    assert one.exposure_at(place, normal=up) > alone.exposure_at(place, normal=up)


@pytest.mark.parametrize(
    ("modifier", "height_m"),
    [
        ("reflector dish 18 cm", 1.6),
        ("reflector dish 18 cm", 2.4),
        ("medium softbox 60x90 cm", 1.6),
    ],
)
@pytest.mark.parametrize("room", [None, HALL])
def test_ceiling_gives_back_no_more_than_the_light_sends(studio, modifier, height_m, room):
    lamp = studio.light("fill", (0.0, 2.0, height_m), aim="ceiling", modifier=modifier)
    setup = studio.setup([lamp], room=room or studio.room)
    _lamp, ceiling = emitters(setup)
    _, cell_m2 = face_cells(ceiling.face, count=ceiling.lit_map.shape[0])
    given_back = np.pi * ceiling.lit_map.sum() * cell_m2
    sent = 400.0 * 40.0 * 2.0**lamp.power_stops * lamp.modifier.assumed_efficiency
    share = given_back / (sent * setup.room.ceiling_reflectance)
    assert 0.7 < share < 1.03  # the rest goes to walls; 3 %: cells and 24-cornered discs


@pytest.mark.parametrize("efficiency", [0.2, 0.4, 0.6, 0.95])
def test_umbrella_sends_no_more_than_its_head_gives(studio, efficiency):
    umbrella = Modifier(kind="shoot-through umbrella", diameter_m=1.0, efficiency=efficiency)
    lamp = studio.light("key", (0.8, 1.5, 1.7), modifier=umbrella)
    (light,) = emitters(studio.setup([lamp]))
    bowl_m2 = np.pi * ((light.face.diameter_m / 2) ** 2 + light.face.depth_m**2)
    sent = np.pi * bowl_m2 * (light.brightness + light.back_brightness)
    assert sent <= 400.0 * 40.0 * 2.0**lamp.power_stops * (1.0 + 1e-9)


def test_tint_dims_what_the_back_mirrors_twice(studio):
    at = (0.7, 1.3, 1.45)
    lit = [studio.light("key", at)]
    stops = {}
    for tint in (1.0, 0.5):
        glasses = studio.worn("large fashion frame, plano", tint_transmission=tint)
        report = studio.check(studio.setup(lit, glasses=glasses))
        stops[tint] = {one.surface: one.stops_over_skin for one in report.lenses[0].reflections}
    np.testing.assert_allclose(stops[1.0]["back"] - stops[0.5]["back"], 2.0, atol=1e-9)
    np.testing.assert_allclose(stops[1.0]["front"], stops[0.5]["front"], atol=1e-9)


def test_ray_towards_the_ceiling_sees_both_lights(studio):
    # What a lens would show of the ceiling is one brightness, that of all lights on it.
    lights = [
        studio.light(name, (x, 1.5, 1.6), aim="ceiling") for name, x in (("a", 0.5), ("b", -0.5))
    ]
    scene = build_scene(studio.setup(lights))
    (ceiling,) = [one for one in scene.emitters if one.kind == "ceiling"]
    middle = ceiling.shining_middle()
    up = join_components(np.array([0.0]), np.array([0.0]), np.array([1.0]))
    seen = ceiling.brightness_at(middle[None, :], up, from_front=np.array([True]))
    (alone,) = bounced(studio, lights[0])
    assert seen[0] > alone.brightness_at(middle[None, :], up, from_front=np.array([True]))[0]
