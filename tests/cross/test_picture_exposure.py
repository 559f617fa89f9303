"""Light on the face in a picture of clay against `light_at_places`, and rooms whose light is known.

Clay is matt and gives back the same share everywhere, so that a pixel tells the light on its
place. The tracer is asked for the lamps' own light alone where it is about lamps and shadows.
"""

import dataclasses

import numpy as np
import pytest
from tests.cross.light_cases import PLACES
from tests.cross.picture_cases import CASES as CASES_OF_REFLECTIONS
from tests.cross.picture_cases import changed
from tests.cross.picture_compare import FINENESS, inner

from tapemark.analysis import build_scenes, exposure, face_light, light_at_places
from tapemark.geometry import axes_facing, to_world
from tapemark.photometry import polygon_illuminance
from tapemark.rendering import Effort, build_stage, load_tracer, sensor_values
from tapemark.rendering.glasses_layer import GlassesLayer
from tapemark.rendering.looks import looks_of
from tapemark.rendering.parts import LUMINANCE, Material
from tapemark.rendering.stage import CLAY
from tapemark.rendering.view import View, Window, whole_window
from tapemark.services.picture import PictureWanted, take_picture

SIZE = (960, 1200)
PATCH = 3  # pixels each way
STOPS = 0.1
LIT = 0.10  # of the brightest place: darker ones are compared in absolute terms
SHADOW = 0.03
FACING = 0.35  # cosine to the camera of the places looked at
SAMPLES = 64

#: Where the mannequin is drawn more closely than the head of the analyses: lids, nostrils, mouth
#: and the chin below it, whose slopes differ by some 10 degrees.
DRAWN = (
    *("under the brow", "between the brows", "nose side", "beside the nose"),
    *("upper lip", "chin"),
)

CASES = {
    "softbox": {"light.place.side": "40 deg camera-left", "light.place.height": "1.70 m"},
    "turned": {"sitter.turn": "20 deg camera-right"},
    "reflected umbrella": {"light.modifier": "reflected umbrella 110 cm"},
    "shoot-through umbrella": {"light.modifier": "shoot-through umbrella 100 cm"},
    "beauty dish": {"light.modifier": "beauty dish 55 cm", "light.place.height": "1.70 m"},
    "grid": {"light.modifier": {"preset": "medium softbox 60x90 cm", "grid": "40 deg"}},
}


def clay_stage(setup):
    sitter = setup.sitter.model_copy(update={"glasses": None})
    scenes = build_scenes(setup.model_copy(update={"sitter": sitter}))
    tracer = load_tracer("scalar_rgb", origin=scenes[0].pose.origin)
    stage = build_stage(scenes, tracer=tracer, colors={}, clay=True, fineness=FINENESS)
    bodies = tuple(one for one in stage.bodies if one.name.endswith(("skin", "jumper")))
    person = dataclasses.replace(stage.people[0], body=bodies)
    return scenes[0], dataclasses.replace(stage, people=(person,))


def places_of(scene):
    """Return places and normals on the face that the camera sees well, world."""
    x, z = (np.array([row[column] for row in PLACES]) * 1e-3 for column in (1, 2))
    step = 1e-3
    y = scene.head.front_depth(x, z)
    slope_x = scene.head.front_depth(x + step, z) - scene.head.front_depth(x - step, z)
    slope_z = scene.head.front_depth(x, z + step) - scene.head.front_depth(x, z - step)
    local = np.stack([x, y, z], axis=-1)
    normals = np.stack([-slope_x, np.full_like(x, 2.0 * step), -slope_z], axis=-1)
    normals = normals / np.linalg.norm(normals, axis=-1, keepdims=True) @ scene.pose.axes.T
    points = to_world(local, origin=scene.pose.origin, axes=scene.pose.axes)
    towards = scene.camera - points
    facing = (normals * towards).sum(axis=-1) / np.linalg.norm(towards, axis=-1)
    smooth = np.array([not name.startswith(DRAWN) for name, *_ in PLACES])
    return points[smooth & (facing > FACING)], normals[smooth & (facing > FACING)]


@pytest.mark.parametrize("case", CASES)
def test_face_is_lit_as_the_analysis_says(case):
    scene, stage = clay_stage(changed(CASES[case]))
    light = stage.lit_by()
    parts = [*stage.bodies, *light.faces]
    lit = stage.tracer.scene(parts, beams=light.beams)
    places, normals = places_of(scene)
    window = whole_window(scene, size=SIZE)
    theirs = []
    for column, row in np.round(window.pixels(places) - PATCH / 2).astype(int):
        patch = window.part((int(column), int(row), PATCH, PATCH))
        image = stage.tracer.picture(lit, patch, samples=SAMPLES, depth=2, seed=1)
        theirs.append(float(image.mean(axis=(0, 1)) @ LUMINANCE))
    share = float(np.array(CLAY.color) @ LUMINANCE)
    theirs = np.array(theirs) * np.pi / share
    ours = light_at_places(scene, places, normals=normals).sum(axis=0)
    bright = ours > LIT * ours.max()
    assert np.count_nonzero(bright) >= 5
    gaps = np.log2(theirs[bright] / ours[bright])
    np.testing.assert_allclose(np.median(gaps), 0.0, atol=STOPS / 2)
    np.testing.assert_allclose(gaps, 0.0, atol=STOPS)
    np.testing.assert_allclose(theirs[~bright], ours[~bright], atol=SHADOW * ours.max())


def test_two_stops_over_by_the_meter_are_two_stops_over_in_the_picture():
    setup = changed({"room.ambient": "0 lx"})
    wider = setup.model_copy(update={"camera": setup.camera.model_copy(update={"aperture": 11.0})})
    light = np.full((2, 2, 3), 5.0)
    ratio = sensor_values(light, camera=wider.camera) / sensor_values(light, camera=setup.camera)
    readings = [
        exposure(scene, light=face_light(scene)).stops_over
        for one in (setup, wider)
        for scene in build_scenes(one)
    ]
    np.testing.assert_allclose(np.log2(ratio), readings[1] - readings[0], atol=1e-6)
    np.testing.assert_allclose(readings[1] - readings[0], 2.0, atol=1e-6)


def test_what_meters_right_shows_a_white_card_at_one():
    setup = changed({})
    (scene,) = build_scenes(setup)
    reading = exposure(scene, light=face_light(scene))
    card = np.full(3, reading.exposure_lx_s / np.pi)  # matt white in all the light that is metered
    value = sensor_values(card, camera=setup.camera) / 2.0**reading.stops_over
    np.testing.assert_allclose(value, 1.0, rtol=1e-6)


def furnace(stage, *, share, sent):
    """Return parts of a closed room with everything of one share, shining evenly."""
    same = Material(color=(share,) * 3)
    return [
        dataclasses.replace(one, material=same, sends=(sent,) * 3)
        for one in (*stage.room, *stage.bodies)
    ]


@pytest.mark.parametrize("share", [0.2, 0.6])
def test_closed_room_that_shines_evenly_is_as_bright_as_known(share):
    """After each bounce a share more: L (1 + s + s² + ...), the same wherever one looks."""
    scene, stage = clay_stage(changed({}))
    lit = stage.tracer.scene(furnace(stage, share=share, sent=2.0))
    window = whole_window(scene, size=(24, 30))
    image = stage.tracer.picture(lit, window, samples=256, depth=9, seed=3, pinhole=True)
    expected = 2.0 * sum(share**bounce for bounce in range(9))
    np.testing.assert_allclose(image.mean(), expected, rtol=0.01)
    np.testing.assert_allclose(image, expected, rtol=0.25)


def test_lens_in_a_closed_room_mirrors_and_lets_through_what_it_must():
    """Under light from everywhere the front gives back its reflectance of it, by Fresnel."""
    (scene,) = build_scenes(changed({"sitter.glasses.coating": "none"}))
    tracer = load_tracer("scalar_rgb", origin=scene.pose.origin)
    stage = build_stage((scene,), tracer=tracer, colors={}, fineness=FINENESS)
    stage = dataclasses.replace(
        stage, people=(dataclasses.replace(stage.people[0], body=(), frame=()),)
    )
    shining = [dataclasses.replace(one, sends=(3.0,) * 3) for one in stage.room]
    window = whole_window(scene, size=(240, 300))
    layer = GlassesLayer(
        stage, 0, window=window, looks=looks_of(tracer, stage.room), samples=4, fineness=2
    )
    light = dataclasses.replace(stage.lit_by(), room=tuple(shining), faces=(), beams=())
    front = layer.mirrored(light, seed=1, families=("front",))["front"]
    middle = front[inner(layer.sights[0].covered)].mean()
    n = float(scene.lenses.index[0])
    square_on = ((n - 1.0) / (n + 1.0)) ** 2
    np.testing.assert_allclose(middle / 3.0, square_on, rtol=0.05)  # up to 20 degrees off


def test_room_lamps_are_as_bright_as_metered():
    """In a black room the ceiling alone: a dome reads L (solid angle + L's pull to the camera)/2.

    The solid angle of a rectangle h above a point, by its four corners: the sum of
    atan(a b / (h sqrt(a² + b² + h²))), signed.
    """
    setup = changed({"room.ambient": "400 lx"})
    (scene,) = build_scenes(setup)
    tracer = load_tracer("scalar_rgb", origin=scene.pose.origin)
    stage = build_stage((scene,), tracer=tracer, colors={}, fineness=FINENESS)
    (lamps,) = (one for one in stage.sources if one.name == "room lamps")
    place = scene.pose.origin + 0.02 * scene.pose.axes[:, 1]
    corners = lamps.faces[0].mesh.points
    height = corners[0, 2] - place[2]
    sides = [np.unique(np.round(corners[:, axis] - place[axis], 9)) for axis in (0, 1)]
    angle = sum(
        (-1) ** (i + j) * np.arctan2(a * b, height * np.sqrt(a * a + b * b + height**2))
        for i, a in enumerate(sides[0])
        for j, b in enumerate(sides[1])
    )
    towards = (scene.camera - place) / np.linalg.norm(scene.camera - place)
    pull = polygon_illuminance(corners, point=place, normal=towards) - polygon_illuminance(
        corners, point=place, normal=-towards
    )
    reading = float(lamps.faces[0].sends[1] * (angle + pull) / 2.0)
    np.testing.assert_allclose(reading, 400.0 * setup.camera.shutter_s, rtol=0.03)


WHOLE = {
    "softbox": {"sitter.glasses.coating": "none"},
    "umbrella": {"light.modifier": "reflected umbrella 110 cm"},
    "bounce": CASES_OF_REFLECTIONS["flash at the ceiling"],
}
WHOLE_SIZE = (320, 400)
LOOKED_AT = Effort(
    samples=8, each_pass=8, layer_samples=1, guide_samples=4, fineness=0.6, fine_denoise=True
)


@pytest.mark.parametrize("case", WHOLE)
def test_face_in_the_whole_picture_is_exposed_as_the_analysis_says(case):
    """All of it: room, bounce, skin with its sheen, denoising and the camera's settings."""
    setup = changed(WHOLE[case])
    sitter = setup.sitter.model_copy(update={"glasses": None})
    setup = setup.model_copy(update={"sitter": sitter})
    (scene,) = build_scenes(setup)
    taken = take_picture(setup, PictureWanted(size=WHOLE_SIZE, effort=LOOKED_AT))
    places, normals = places_of(scene)
    window = whole_window(scene, size=taken.values.shape[1::-1])
    theirs = np.array(
        [
            taken.values[row : row + PATCH, column : column + PATCH].mean(axis=(0, 1)) @ LUMINANCE
            for column, row in np.round(window.pixels(places) - PATCH / 2).astype(int)
        ]
    )
    light = light_at_places(scene, places, normals=normals).sum(axis=0)
    bright = light * scene.sitter.skin_reflectance / np.pi
    ours = sensor_values(bright, camera=setup.camera)
    gap = np.log2(theirs.mean() / ours.mean())
    np.testing.assert_allclose(gap, 0.0, atol=STOPS)


@pytest.mark.parametrize("wall", ["behind sitter", "camera-left", "camera-right"])
@pytest.mark.parametrize("sill", ["0.30 m", "0.75 m"])
def test_a_window_is_as_bright_all_over_as_it_was_said_to_be(wall, sill):
    """Radiance is kept along a ray: a window of so many cd/m² is seen with them."""
    pane = {"name": "pane", "wall": wall, "width": "1.2 m", "height": "1.1 m", "sill": sill}
    setup = changed({"window": [pane | {"luminance": "3000 cd/m2"}]})
    setup = setup.model_copy(update={"backdrop": None, "lights": ()})
    scenes = build_scenes(setup)
    (face,) = [one.face for one in scenes[0].emitters if one.kind == "window"]
    tracer = load_tracer("scalar_rgb", origin=scenes[0].pose.origin)
    stage = build_stage(scenes, tracer=tracer, colors={}, fineness=FINENESS)
    light = stage.lit_by()
    lit = tracer.scene([*stage.room, *light.faces], beams=light.beams)
    ahead = face.axes[:, 1]
    view = View(
        position=face.center + 1.5 * ahead,
        axes=axes_facing(-ahead),
        half_width=0.25,
        aperture_m=0.0,
        focus_m=1.5,
    )
    window = Window(view=view, whole_size=(90, 90), left=0, top=0, columns=90, rows=90)
    image = tracer.picture(lit, window, samples=4, depth=1, seed=3) @ LUMINANCE
    np.testing.assert_allclose(image, 3000.0 * setup.camera.shutter_s, rtol=1e-3)
