"""Catchlights in a picture against those the analyses predict.

The picture traces the camera's ray through the lens, to the cornea, back through the lens and into
the room. Each lit pixel is followed to its place on the cornea by a tracing of its own, and the
middle of a catchlight is measured there as `Catchlight.offset_mm` is.
"""

import dataclasses

import numpy as np
import pytest
from tests.cross.picture_cases import changed
from tests.cross.picture_compare import cornea_points, stage_of

from tapemark.analysis import catchlights, face_light
from tapemark.rendering.parts import LUMINANCE

APART_MM = 0.3
MOST_HIDDEN = 0.85  # of its width: what a lid cuts has no middle to compare

#: What each case changes; the key stands where nothing of it is behind a lid.
CASES = {
    "straight on": {"light.place.side": "30 deg camera-left", "light.place.height": "1.40 m"},
    "low": {"light.place.side": "15 deg camera-right", "light.place.height": "1.15 m"},
    "turned": {
        "sitter.turn": "25 deg camera-left",
        "light.place.side": "40 deg camera-left",
        "light.place.height": "1.40 m",
    },
    "strong minus": {
        "sitter.glasses.index": 1.67,
        "sitter.glasses.right": {"sphere": "-8.00 D"},
        "sitter.glasses.left": {"sphere": "-6.50 D"},
        "light.place.side": "30 deg camera-left",
    },
    "plus": {
        "sitter.glasses.right": {"sphere": "+4.00 D"},
        "sitter.glasses.left": {"sphere": "+3.50 D"},
        "light.place.side": "25 deg camera-right",
    },
    "umbrella": {
        "light.modifier": "reflected umbrella 110 cm",
        "light.place.side": "20 deg camera-left",
        "light.place.height": "1.40 m",
    },
}


def pictured_offsets_mm(scene, layer, image):
    """Return the middle of what shines on each cornea, right and up from the iris [mm]."""
    found = []
    for index in (0, 1):
        places = cornea_points(scene, layer, index)
        iris = scene.eyes.iris_center[index]
        near = np.linalg.norm(places - iris, axis=-1) < scene.eyes.iris_diameter_m
        lit = np.where(near, image @ LUMINANCE, 0.0)
        shown = lit > 0.3 * lit.max()
        point = np.average(places[shown], axis=0, weights=lit[shown])
        view = iris - scene.camera
        distance = np.linalg.norm(view)
        view = view / distance
        right = np.cross(view, (0.0, 0.0, 1.0))
        right /= np.linalg.norm(right)
        ray = point - scene.camera
        ray = ray * distance / (ray @ view)
        found.append((ray @ right * 1e3, ray @ np.cross(right, view) * 1e3))
    return np.array(found)


@pytest.mark.parametrize("glasses", [True, False], ids=["glasses", "no glasses"])
@pytest.mark.parametrize("case", CASES)
def test_catchlights_are_where_the_picture_shows_them(case, glasses):
    setup = changed(CASES[case])
    if not glasses:
        sitter = setup.sitter.model_copy(update={"glasses": None})
        setup = setup.model_copy(update={"sitter": sitter})
    scene, stage, layer = stage_of(setup)
    light = stage.lit_by()
    light = dataclasses.replace(light, room=())
    image = layer.mirrored(light, seed=1, families=("cornea",))["cornea"].astype(float)
    predicted = {one.side: one for one in catchlights(scene, light=face_light(scene))}
    ours = np.array([predicted[side].offset_mm for side in ("right", "left")])
    np.testing.assert_allclose(pictured_offsets_mm(scene, layer, image), ours, atol=APART_MM)
