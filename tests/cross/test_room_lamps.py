"""The room's own lamps on the backdrop: the analysis's sides of a room against the path tracer.

Source: two ways of our own to the same light. The analysis takes every side of the room as evenly
bright and solves for the six of them; the tracer follows paths of eight segments through the same
room, backdrop included. A dome at the sitter, turned to the camera, is set to the same reading in
both, so that only the ratio of dome to backdrop is compared.
"""

import numpy as np
import pytest

from tapemark.analysis import backdrop_light, build_scenes
from tapemark.analysis.room_lamps import lamp_shares
from tapemark.geometry import axes_facing
from tapemark.rendering import build_stage, load_tracer
from tapemark.rendering.parts import LUMINANCE
from tapemark.rendering.view import View, Window
from tapemark.services import demo_setup_text
from tapemark.services.demo import DEMO_STEMS
from tapemark.studio import setup_from_toml

STOP = 1.0
AMBIENT_LX = 400.0
#: Reflectance of walls, floor and ceiling.
CASES = {"demo": None, "light room": (0.7, 0.4, 0.85), "dark room": (0.05, 0.05, 0.05)}


def lit_room(shares, *, sizes=None):
    """Return the demo's reading room under its lamps, its sides of other reflectances."""
    setup = setup_from_toml(demo_setup_text(DEMO_STEMS[0]), name="demo")
    change = {"ambient_lx": AMBIENT_LX, **(sizes or {})}
    if shares is not None:
        names = ("wall_reflectance", "floor_reflectance", "ceiling_reflectance")
        change |= dict(zip(names, shares, strict=True))
    return setup.model_copy(update={"room": setup.room.model_copy(update=change)})


def traced_backdrop(setup, places):
    """Return the illuminance on places of the backdrop by the tracer [lx·s]."""
    scene = build_scenes(setup)[0]
    tracer = load_tracer("scalar_rgb", origin=scene.pose.origin)
    stage = build_stage((scene,), tracer=tracer, colors={}, clay=False, fineness=0.5)
    light = stage.lit_by(("room lamps",))
    lit = stage.tracer.scene([*light.room, *light.faces])
    found = []
    for place in places:
        camera = place + np.array([0.0, 0.2, 0.0])
        axes = axes_facing(np.array([0.0, -1.0, 0.0]), up=np.array([0.0, 0.0, 1.0]))
        view = View(position=camera, axes=axes, half_width=0.2, aperture_m=0.0, focus_m=1.0)
        window = Window(view=view, whole_size=(8, 8), left=0, top=0, columns=8, rows=8)
        image = tracer.picture(lit, window, samples=64, depth=8, seed=1, pinhole=True)
        found.append(float(image.mean(axis=(0, 1)) @ LUMINANCE))
    backdrop = next(one for one in stage.room if one.name == "backdrop")
    share = float(np.array(backdrop.material.color) @ LUMINANCE)
    return np.array(found) * np.pi / share


@pytest.mark.parametrize("case", CASES)
def test_room_lamps_light_the_backdrop_as_the_tracer_finds(case):
    setup = lit_room(CASES[case])
    scene = build_scenes(setup)[0]
    behind = backdrop_light(scene)
    few = np.linspace(0, len(behind.places) - 1, 7).astype(int)
    ours = behind.free[-1][few]
    theirs = traced_backdrop(setup, behind.places[few])
    gaps = np.log2(ours / theirs)
    np.testing.assert_allclose(np.median(gaps), 0.0, atol=0.1 * STOP)
    np.testing.assert_allclose(gaps, 0.0, atol=0.2 * STOP)


def test_under_a_wide_ceiling_alone_a_wall_gets_half_of_what_the_dome_reads():
    """Dome: L times 2 pi / 2; wall: L times pi / 2. The room is black and very wide."""
    wide = {"width_m": 800.0, "length_m": 800.0, "behind_sitter_m": 400.0}
    scene = build_scenes(lit_room((0.0, 0.0, 0.0), sizes=wide))[0]
    place = np.array([[0.0, -1.0, float(scene.pose.origin[2])]])
    share = lamp_shares(scene, place, normal=np.array([0.0, 1.0, 0.0]))
    np.testing.assert_allclose(share, 0.5, atol=0.01)
