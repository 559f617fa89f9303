"""Where a light shows in a lens pair: our traced lattice against a path tracer's picture.

The tracer (see path_tracer) gets the two lenses as closed solids, one lit rectangle and the
camera, and nothing else of ours. Each pixel of its pictures says how bright it is and which
place of the lens it looks at; our lattice is read at that place. A pixel belongs to a region
if at least half of it is lit.

Rim and head stay out of it: the frame is given a rim without width, and pixels that our head
hides or half hides are not compared. Lenses are uncoated, so that the tracer's own reflectance
is the one to meet, and the softbox is then far above our threshold of visibility.
"""

import functools
import tomllib
from dataclasses import dataclass

import numpy as np
import pytest
from tests.cross.path_tracer import (
    Light,
    build_tracer_scene,
    lens_solid,
    load_tracer,
    take_picture,
)

from tapemark.analysis import build_scene, cover_map, face_light, view_lenses
from tapemark.geometry import FloatArray
from tapemark.studio import setup_from_mapping

LEAST_OVERLAP = 0.97  # intersection over union; what is missing is mostly border pixels
BRIGHTNESS_TOLERANCE_STOPS = 0.05
LEAST_PIXELS = 1000  # below this the pixels along its border decide about a region
LEAST_SHARE_COMPARED = 0.9  # of what the picture shows; the rest is behind our head
THINNEST_EDGE_M = 0.5e-3
LATTICE = {"columns": 140, "rows": 98}
PIXELS_ACROSS, SAMPLES = 180, 9
WHOLE_PIXELS_ACROSS, WHOLE_SAMPLES = 80, 256
FAMILIES = ("front", "back", "through")

# The key is a 60 x 90 cm softbox 1.6 m from the sitter, aimed at the face.
SETUP = """
tapemark = 1
title = "one softbox and two lenses"
units = "metric"
room = { width = "5.4 m", length = "7.0 m", height = "2.75 m", behind_sitter = "2.0 m" }

[sitter]
eye_height = "1.20 m"

[sitter.glasses]
lens_width = "52 mm"
lens_height = "37 mm"
bridge = "18 mm"
outline = "soft rectangular"
coating = "none"
rim = "full"
rim_width = "0 mm"
index = 1.498
pantoscopic_tilt = "8 deg"
face_form = "5 deg"
right = { sphere = "-2.25 D", cylinder = "-0.50 D", axis = "10 deg" }
left = { sphere = "-2.00 D" }

[camera]
place = { distance = "2.0 m", side = "0 deg", height = "1.20 m" }
focal_length = "85 mm"

[[light]]
name = "key"
head = "400 Ws studio head"
modifier = "medium softbox 60x90 cm"
place = { distance = "1.6 m", side = "25 deg camera-left", height = "1.35 m" }
"""

# What each case changes: by key path.
CASES: dict[str, dict[str, object]] = {
    "straight on": {},
    "face turned to the light": {
        "sitter.turn": "25 deg camera-left",
        "light.place.side": "52 deg camera-left",
    },
    "face turned away, light near the camera": {
        "sitter.turn": "25 deg camera-right",
        "light.place.side": "40 deg camera-right",
    },
    "camera off axis and high": {
        "camera.place.side": "25 deg camera-right",
        "camera.place.height": "1.55 m",
        "light.place.height": "1.20 m",
    },
    "toric": {
        "sitter.glasses.right": {"sphere": "-1.00 D", "cylinder": "-4.00 D", "axis": "30 deg"},
        "sitter.glasses.left": {"sphere": "+2.00 D", "cylinder": "-3.00 D", "axis": "115 deg"},
    },
    "strong minus": {
        "sitter.glasses.index": 1.67,
        "sitter.glasses.right": {"sphere": "-8.00 D"},
        "sitter.glasses.left": {"sphere": "-6.50 D"},
        "light.place.side": "15 deg camera-left",
    },
    "plus": {
        "sitter.glasses.index": 1.6,
        "sitter.glasses.right": {"sphere": "+4.00 D"},
        "sitter.glasses.left": {"sphere": "+3.50 D", "cylinder": "-0.50 D", "axis": "90 deg"},
    },
}
every_case = pytest.mark.parametrize("case", CASES)
every_family = pytest.mark.parametrize("family", FAMILIES)


@dataclass(frozen=True, kw_only=True, eq=False)
class Compared:
    """Ours and the tracer's for one family of paths; both lenses side by side, by pixel.

    Attributes
    ----------
    ours, theirs : bool arrays
        Pixels that are at least half lit.
    our_brightness, their_brightness : arrays
        Luminance over that of the light; ours as if every pixel were lit. [-]
    on_lens : bool array
        Pixels that lie wholly on the front of a lens.
    open_to_us : bool array
        Of these, pixels that our head does not hide.
    """

    ours: np.ndarray
    theirs: np.ndarray
    our_brightness: FloatArray
    their_brightness: FloatArray
    on_lens: np.ndarray
    open_to_us: np.ndarray


def setup_of(case):
    data = tomllib.loads(SETUP)
    for path, value in CASES[case].items():
        *tables, key = path.split(".")
        place = data
        for name in tables:
            place = place[name][0] if name == "light" else place[name]
        place[key] = value
    return setup_from_mapping(data)


@functools.cache
def our_view(case):
    """Return our scene, view of the lenses, and shares of the key by surface and lens."""
    scene = build_scene(setup_of(case))
    view = view_lenses(scene, scene.lenses, **LATTICE)
    return scene, view, cover_map(scene, view, light=face_light(scene)).shares["key"]


def lights_of(scene, family):
    """Return what shines: the softbox, or the irises where the lens is looked through."""
    if family != "through":
        key, eye_height_m = scene.setup.lights[0], scene.setup.sitter.eye_height_m
        size = {"width": key.modifier.width_m, "height": key.modifier.height_m}
        face = np.array([0.0, 0.0, eye_height_m])
        return (Light(center=np.array(key.place.position_m), target=face, **size),)
    eyes = scene.eyes
    return tuple(
        Light(
            center=eyes.iris_center[index],
            target=eyes.iris_center[index] + eyes.gaze_axes[index, :, 1],
            width=eyes.iris_diameter_m,
            height=eyes.iris_diameter_m,
            disc=True,
        )
        for index in (0, 1)
    )


def pictures(scene, family, *, columns, samples, sides=(0, 1)):
    """Return the tracer's pictures of the right (0) and the left lens (1)."""
    tracer = load_tracer()
    lenses = scene.lenses
    traced = build_tracer_scene(tracer, lenses, family=family, lights=lights_of(scene, family))
    sized = {"columns": columns, "samples": samples}
    return [
        take_picture(
            tracer, traced, lenses, index=index, camera=scene.camera, family=family, **sized
        )
        for index in sides
    ]


def read_lattice(field, view, picture):
    """Return a field of our lattice at the places that the pixels look at, bilinear."""
    rows, columns = field.shape
    column = np.interp(picture.x, view.x, np.arange(columns)).clip(0, columns - 1.001)
    row = np.interp(picture.z, view.z, np.arange(rows)).clip(0, rows - 1.001)
    left, low = column.astype(int), row.astype(int)
    across, up = column - left, row - low
    lower = field[low, left] * (1 - across) + field[low, left + 1] * across
    upper = field[low + 1, left] * (1 - across) + field[low + 1, left + 1] * across
    return lower * (1 - up) + upper * up


def our_picture(case, family, picture, *, index):
    """Return our share and brightness of each pixel, and whether our head leaves it open."""
    _, view, shares = our_view(case)
    if family == "through":
        share = 0.5 + view.iris[index] / (view.x[1] - view.x[0])
        weight = view.through_weight[index]
    else:
        share = shares[FAMILIES.index(family), index]
        weight = view.reflected[family].weight[index]
    is_open = (view.solid_angle[index] > 0) & (view.reflected["front"].weight[index] > 0)
    fields = (share.clip(0, 1), weight, is_open.astype(float))
    return [read_lattice(np.nan_to_num(field), view, picture) for field in fields]


@functools.cache
def compared(case, family):
    scene, _, _ = our_view(case)
    theirs = pictures(scene, family, columns=PIXELS_ACROSS, samples=SAMPLES)
    ours = [our_picture(case, family, picture, index=i) for i, picture in enumerate(theirs)]
    share, weight, is_open = (np.hstack(field) for field in zip(*ours, strict=True))
    brightness = np.hstack([picture.brightness for picture in theirs])
    on_lens = np.hstack([picture.on_front for picture in theirs])
    # Half of the brightness that the lit pixels around have in the tracer's own picture.
    fully_lit = np.percentile(brightness[brightness > 0], 75) if brightness.any() else 1.0
    return Compared(
        ours=share >= 0.5,
        theirs=brightness >= 0.5 * fully_lit,
        our_brightness=weight,
        their_brightness=brightness,
        on_lens=on_lens,
        open_to_us=on_lens & (is_open > 0.999),
    )


def overlap(ours, theirs):
    """Return intersection over union of two regions."""
    return np.count_nonzero(ours & theirs) / np.count_nonzero(ours | theirs)


def inner(region):
    """Return the pixels of a region whose eight neighbours belong to it as well."""
    padded = np.pad(region, 1)
    rows, columns = region.shape
    shifted = [padded[i : i + rows, j : j + columns] for i in range(3) for j in range(3)]
    return np.logical_and.reduce(shifted)


@every_case
def test_lenses_are_closed_solids_with_an_edge(case):
    scene, _, _ = our_view(case)
    for index in (0, 1):
        solid = lens_solid(scene.lenses, index=index)
        through = solid["front"].points - solid["back"].points
        thickness_m = through @ scene.lenses.optical_axes[index][:, 1]
        assert thickness_m.min() > THINNEST_EDGE_M


@every_family
@every_case
def test_picture_shows_enough_to_compare(case, family):
    both = compared(case, family)
    shown = both.theirs & both.on_lens
    assert np.count_nonzero(shown) >= LEAST_PIXELS
    assert np.count_nonzero(shown & both.open_to_us) >= LEAST_SHARE_COMPARED * shown.sum()


@every_family
@every_case
def test_region_is_the_one_in_the_picture(case, family):
    both = compared(case, family)
    found = overlap(both.ours & both.open_to_us, both.theirs & both.open_to_us)
    assert found >= LEAST_OVERLAP


@every_case
def test_front_and_back_together_are_the_region_in_the_picture(case):
    front, back = compared(case, "front"), compared(case, "back")
    shown = front.open_to_us & back.open_to_us
    found = overlap((front.ours | back.ours) & shown, (front.theirs | back.theirs) & shown)
    assert found >= LEAST_OVERLAP


@every_family
@every_case
def test_brightness_is_the_one_in_the_picture(case, family):
    both = compared(case, family)
    region = inner(both.ours & both.theirs & both.open_to_us)
    ours, theirs = both.our_brightness[region], both.their_brightness[region]
    gap_stops = np.log2(theirs.mean() / ours.mean())
    assert abs(gap_stops) <= BRIGHTNESS_TOLERANCE_STOPS
    if family == "front":  # the others carry the noise of lots drawn at the front surface
        each_stops = np.log2(theirs / ours)
        np.testing.assert_allclose(each_stops, 0, rtol=0, atol=BRIGHTNESS_TOLERANCE_STOPS)


@pytest.mark.parametrize("case", ["straight on", "toric"])
def test_whole_lens_sends_its_light_where_both_surfaces_say(case):
    """All paths of a clear solid: nearly all light in our two regions, and as much as we say."""
    scene, _, _ = our_view(case)
    sized = {"columns": WHOLE_PIXELS_ACROSS, "samples": WHOLE_SAMPLES}
    (picture,) = pictures(scene, "whole", **sized, sides=(0,))
    expected = np.zeros(picture.on_front.shape)
    for family in ("front", "back"):
        share, weight, _ = our_picture(case, family, picture, index=0)
        expected += share * weight
    found = np.where(picture.on_front, picture.brightness, 0.0)
    expected = np.where(picture.on_front, expected, 0.0)
    assert found[expected > 0].sum() >= LEAST_OVERLAP * found.sum()
    gap_stops = np.log2(found.sum() / expected.sum())
    assert abs(gap_stops) <= BRIGHTNESS_TOLERANCE_STOPS
