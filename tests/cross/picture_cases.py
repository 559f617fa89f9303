"""Setups whose pictures are held against the analyses: poses, glasses, lights and rooms.

The room is black but for what a case says: the analyses follow one bounce, a picture all of them.
"""

import tomllib
from typing import Any

from tapemark.studio import Setup, setup_from_mapping

# A softbox of 60 x 90 cm, 1.6 m from a sitter in plain glasses; a camera at eye height.
SETUP = """
tapemark = 1
title = "one light and one pair of glasses"
units = "metric"

[room]
width = "5.4 m"
length = "7.0 m"
height = "2.75 m"
behind_sitter = "2.0 m"
ceiling_reflectance = "0 %"
wall_reflectance = "0 %"
floor_reflectance = "0 %"

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
aperture = "f/22"

[[light]]
name = "key"
head = "400 Ws studio head"
modifier = "medium softbox 60x90 cm"
place = { distance = "1.6 m", side = "25 deg camera-left", height = "1.35 m" }
"""

_COATED = {"sitter.glasses.coating": "anti-reflective"}
_LOW_UMBRELLA = {
    "light.place.side": "20 deg camera-left",
    "light.place.height": "1.45 m",
    "light.place.distance": "1.5 m",
}

#: What each case changes: by key path.
CASES: dict[str, dict[str, Any]] = {
    "straight on": {},
    "turned to the light": {
        "sitter.turn": "25 deg camera-left",
        "light.place.side": "52 deg camera-left",
    },
    "turned away": {
        "sitter.turn": "20 deg camera-right",
        "light.place.side": "35 deg camera-right",
    },
    "turned far": {
        "sitter.turn": "35 deg camera-left",
        "light.place.side": "68 deg camera-left",
        "light.place.height": "1.30 m",
    },
    "chin up": {"sitter.chin": "10 deg up", "light.place.height": "1.75 m"},
    "chin down": {"sitter.chin": "8 deg down", "light.place.height": "1.05 m"},
    "head tipped": {"sitter.tip": "10 deg camera-left"},
    "camera high": {
        "camera.place.height": "1.55 m",
        "light.place.height": "1.10 m",
        "light.place.side": "15 deg camera-left",
    },
    "camera aside": {"camera.place.side": "20 deg camera-right"},
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
        "sitter.glasses.left": {"sphere": "+3.50 D"},
    },
    "no power, steep": {
        "sitter.glasses.base_curve": "8 D",
        "sitter.glasses.right": {"sphere": "0 D"},
        "sitter.glasses.left": {"sphere": "0 D"},
    },
    "flat front": {"sitter.glasses.base_curve": "1 D", "light.place.side": "12 deg camera-left"},
    "coated": _COATED,
    "coated, tinted": {**_COATED, "sitter.glasses.tint_transmission": "60 %"},
    "tinted": {"sitter.glasses.tint_transmission": "50 %"},
    "round": {
        "sitter.glasses.outline": "round",
        "sitter.glasses.lens_width": "46 mm",
        "sitter.glasses.lens_height": "44 mm",
        "sitter.glasses.bridge": "22 mm",
    },
    "rimless": {"sitter.glasses.rim": "none"},
    "half rim": {"sitter.glasses.rim": "half", "light.place.height": "1.15 m"},
    "wrapped": {
        "sitter.glasses.face_form": "12 deg",
        "sitter.glasses.pantoscopic_tilt": "4 deg",
        "light.place.side": "38 deg camera-left",
    },
    "slipped": {"sitter.glasses.slipped": "3 mm"},
    "octagonal box": {"light.modifier": "octagonal box 110 cm"},
    "strip": {"light.modifier": "strip 30x120 cm"},
    "reflected umbrella": {**_LOW_UMBRELLA, "light.modifier": "reflected umbrella 110 cm"},
    "shoot-through umbrella": {**_LOW_UMBRELLA, "light.modifier": "shoot-through umbrella 100 cm"},
    "beauty dish": {**_LOW_UMBRELLA, "light.modifier": "beauty dish 55 cm"},
    "grid": {
        "light.modifier": {"preset": "medium softbox 60x90 cm", "grid": "40 deg"},
        "light.place.side": "18 deg camera-left",
    },
    "flash at the ceiling": {
        "room.ceiling_reflectance": "80 %",
        "light.head": "small camera flash 60 Ws",
        "light.modifier": "bare small flash",
        "light.aim": "ceiling",
        "light.place.distance": "2.0 m",
        "light.place.height": "1.4 m",
        "light.place.side": "10 deg camera-left",
        "sitter.chin": "25 deg up",
    },
}


#: Cases that are also looked at with all of a frame of 2 mm; the last fares worst of all cases.
FRAMED = ("straight on", "turned away", "camera high", "reflected umbrella", "no power, steep")


def setup_of(case: str, *, framed: bool = False) -> Setup:
    """Return the setup of a case."""
    rim = {"sitter.glasses.rim_width": "2 mm"} if framed else {}
    return changed({**CASES[case], **rim})


def changed(changes: dict[str, Any]) -> Setup:
    """Return the plain setup with changes by key path."""
    data = tomllib.loads(SETUP)
    for path, value in changes.items():
        *tables, key = path.split(".")
        place: Any = data
        for name in tables:
            place = place[name][0] if name == "light" else place.setdefault(name, {})
        place[key] = value
    return setup_from_mapping(data)
