"""What glass mirrors of a face that is brighter from one side than from another."""

import numpy as np
import pytest
from tests.cross.picture_cases import changed

from tapemark.analysis import build_scenes
from tapemark.rendering.sources import sources_of

MODIFIERS = {
    "gridded box": {"preset": "medium softbox 60x90 cm", "grid": "40 deg"},
    "dish": "beauty dish 55 cm",
    "hollow bowl": {"preset": "reflected umbrella 110 cm", "beam": "60 deg"},
    "bulging bowl": {"preset": "shoot-through umbrella 100 cm", "beam": "60 deg"},
}
SHARE = 0.04  # that the glass gives back [-]
GLASS_M = 0.15 * np.array([[1.0, 0.0, 0.0], [-1.0, 0.2, 0.3]])  # from the middle of the face


def uneven_of(modifier):
    (scene,) = build_scenes(changed({"light.modifier": MODIFIERS[modifier]}))
    (source,) = sources_of(scene, colors={"key": (1.2, 0.9, 1.4)})
    (face,) = source.uneven
    return scene, face


@pytest.mark.parametrize("modifier", MODIFIERS)
def test_is_as_bright_as_from_where_the_glass_is(modifier):
    scene, face = uneven_of(modifier)
    glass = scene.pose.origin + GLASS_M
    marks, points = face.marked().sends_at, face.body.mesh.points
    shown = face.shown(SHARE * marks[:, None], at=np.broadcast_to(glass, (len(points), 2, 3)))
    away = glass - points[:, None]
    away /= np.linalg.norm(away, axis=-1, keepdims=True)
    bright = SHARE * face.emitter.brightness * face.emitter.relative_brightness(away)
    np.testing.assert_allclose(shown, bright[..., None] * (1.2, 0.9, 1.4), rtol=1e-6)
    assert np.ptp(bright, axis=1).max() > 0.01 * bright.max()  # told apart


def test_where_no_mark_shows_there_is_no_light():
    scene, face = uneven_of("gridded box")
    shown = face.shown(np.zeros((2, 3)), at=scene.pose.origin + GLASS_M)
    np.testing.assert_array_equal(shown, 0.0)


def test_its_surface_is_dark_where_it_stands_in_the_room():
    _, face = uneven_of("gridded box")
    assert not face.body.shines
    assert face.marked().shines
