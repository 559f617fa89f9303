"""The library's portrait day as drawings, parsed."""

import re
from functools import lru_cache
from types import SimpleNamespace
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tapemark.analysis import (
    build_scene,
    catchlights,
    cover_map,
    exposure,
    face_light,
    face_zones,
    falloff,
    lens_glare,
    modelling,
    reflection_outlines,
    view_lenses,
)
from tapemark.drawing import (
    Shown,
    camera_view_drawing,
    corner_references,
    elevation_drawing,
    face_light_drawing,
    falloff_drawing,
    plan_drawing,
)
from tapemark.studio import setup_from_toml

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d*\.?\d+")
TOKEN = re.compile(r"[Mlz]|-?\d*\.?\d+")

SETUP = """
tapemark = 1
title = "{title}"
units = "{units}"
[room]
width = "5.4 m"
length = "7.0 m"
height = "2.75 m"
behind_sitter = "2.0 m"
[sitter]
name = "{sitter}"
posture = "{posture}"
eye_height = "{eyes}"
turn = "{turn}"
chin = "{chin}"
{glasses}
[camera]
place = {{ distance = "2.0 m", side = "{camera_side}", height = "{eyes}" }}
focal_length = "85 mm"
orientation = "{orientation}"
[[light]]
name = "{key_name}"
head = "400 Ws studio head"
modifier = "{modifier}"
place = {{ distance = "1.5 m", side = "{key_side}", height = "{key_height}" }}
power = "1/8"
[[light]]
name = "fill"
head = "200 Ws studio head"
modifier = "reflected umbrella 110 cm"
place = {{ distance = "2.1 m", side = "{fill_side}", height = "{fill_height}" }}
power = "1/4"
{more}
"""
DEFAULTS = {
    "title": "Quillmere Library, reading room",
    "units": "metric",
    "sitter": "Ines",
    "posture": "seated",
    "eyes": "1.20 m",
    "turn": "0 deg",
    "chin": "0 deg",
    "glasses": '[sitter.glasses]\npreset = "mild short-sighted, medium frame"\ncoating = "none"',
    "camera_side": "0 deg",
    "orientation": "portrait",
    "key_name": "key",
    "modifier": "medium softbox 60x90 cm",
    "key_side": "30 deg camera-left",
    "key_height": "1.40 m",
    "fill_side": "14 deg camera-right",
    "fill_height": "1.40 m",
    "more": "",
}
CURED = {
    "key_side": "38 deg camera-left",
    "key_height": "2.10 m",
    "fill_side": "50 deg camera-right",
    "fill_height": "2.05 m",
}
CROWDED = """
[[light]]
name = "ceiling bounce"
head = "small camera flash 60 Ws"
modifier = "bare small flash"
place = { distance = "2.4 m", side = "60 deg camera-right", height = "1.5 m" }
aim = "ceiling"
[[light]]
name = "hair"
head = "200 Ws studio head"
modifier = "strip 30x120 cm"
place = { distance = "1.2 m", side = "150 deg camera-left", height = "1.9 m" }
power = "1/4"
[[panel]]
name = "white card"
width = "0.6 m"
height = "0.9 m"
place = { distance = "0.9 m", side = "70 deg camera-right", height = "1.1 m" }
[[window]]
name = "north window"
wall = "camera-left"
along = "1.0 m towards camera"
width = "1.2 m"
height = "1.3 m"
[[screen]]
name = "laptop"
width = "0.33 m"
height = "0.21 m"
place = { distance = "1.7 m", side = "25 deg camera-right", height = "0.9 m" }
[backdrop]
distance = "1.5 m"
width = "2.7 m"
height = "2.4 m"
"""


class Drawn:
    """A drawing, parsed."""

    def __init__(self, svg):
        self.svg = svg
        self.root = ET.fromstring(svg)

    def texts(self):
        """Text elements with their string."""
        return [(one, one.text or "") for one in self.root.iter(f"{SVG}text")]

    def words(self):
        """All text of the page."""
        return [text for _element, text in self.texts()]

    def groups(self, name):
        """Groups drawn under a name."""
        return [one for one in self.root.iter(f"{SVG}g") if one.get("class") == name]

    def paths(self, name, *, inside=None):
        """Outlines drawn under a name, each a list of (n, 2) arrays [pt]."""
        top = self.root if inside is None else inside
        return [points_of(one) for one in top.iter(f"{SVG}path") if one.get("class") == name]

    def runs(self, group):
        """First outline of each path in a group, (n, 2) arrays [pt]."""
        return [points_of(one)[0] for one in group.iter(f"{SVG}path")]

    @property
    def size(self):
        """Width and height of the page [pt]."""
        return [float(part) for part in self.root.get("viewBox").split()[2:]]


def points_of(path):
    """Outlines of a path written as M, l and z."""
    outlines, numbers, mode = [], [], ""
    for token in TOKEN.findall(path.get("d")):
        if token in "Mlz":
            mode = token
            continue
        numbers.append(float(token))
        if len(numbers) == 2:
            if mode == "M":
                outlines.append([np.array(numbers)])
            else:
                outlines[-1].append(outlines[-1][-1] + numbers)
            numbers = []
    return [np.array(outline) for outline in outlines]


@lru_cache(maxsize=64)
def scene_of(**stated):
    text = SETUP.format(**{**DEFAULTS, **stated})
    return build_scene(setup_from_toml(text, name="story.toml"))


@lru_cache(maxsize=64)
def shown_in(**stated):
    scene = scene_of(**stated)
    light = face_light(scene)
    found = {"catchlights": catchlights(scene, light=light), "lenses": (), "outlines": ()}
    if scene.lenses is not None:
        view = view_lenses(scene, scene.lenses, columns=61, rows=45)
        cover = cover_map(scene, view, light=light)
        found["lenses"] = lens_glare(view, cover)
        found["outlines"] = reflection_outlines(scene.lenses, view, cover)
    return found


@lru_cache(maxsize=64)
def plan_of(*, references=False, **stated):
    scene = scene_of(**stated)
    marks = corner_references(scene.setup) if references else ()
    return Drawn(plan_drawing(scene, references=marks))


@lru_cache(maxsize=64)
def elevation_of(*, seen_from="camera-left", **stated):
    lenses = shown_in(**stated)["lenses"]
    return Drawn(elevation_drawing(scene_of(**stated), lenses=lenses, seen_from=seen_from))


@lru_cache(maxsize=64)
def camera_of(**stated):
    return Drawn(camera_view_drawing(scene_of(**stated), shown=Shown(**shown_in(**stated))))


@lru_cache(maxsize=64)
def lit_face_in(**stated):
    scene = scene_of(**stated)
    light = face_light(scene)
    return {
        "zones": face_zones(scene, light=light),
        "modelling": modelling(scene, light=light),
        "exposure": exposure(scene, light=light),
    }


@lru_cache(maxsize=64)
def face_of(**stated):
    return Drawn(face_light_drawing(scene_of(**stated), **lit_face_in(**stated)))


@lru_cache(maxsize=64)
def distance_of(**stated):
    scene = scene_of(**stated)
    return Drawn(falloff_drawing(scene, falloff(scene)))


@pytest.fixture(scope="session")
def library():
    """Scenes and drawings of the library's portrait day; keywords change the setup file."""
    return SimpleNamespace(
        scene=scene_of,
        shown=shown_in,
        plan=plan_of,
        elevation=elevation_of,
        camera=camera_of,
        lit_face=lit_face_in,
        face=face_of,
        distance=distance_of,
        cured=CURED,
        crowded=CROWDED,
        points_of=points_of,
    )
