"""Setups drawn by lot for labelled pictures: people, glasses, lights, cameras, backgrounds.

Every seed is one setup. All of them together are meant to be as unlike one another as portraits
are; about two lenses in five show no light.
"""

import math
from typing import Any

import numpy as np

OUTLINES = (
    *("soft rectangular", "rectangular", "square", "round"),
    *("oval", "pantoscopic", "aviator", "upswept"),
)
HAIR = ("short", "swept", "cropped", "bob", "long", "bun", "curly", "bald")
#: Half the width and height of what shapes the light. [m]
MODIFIERS = {
    "small softbox 40x40 cm": (0.2, 0.2),
    "medium softbox 60x90 cm": (0.3, 0.45),
    "large softbox 90x120 cm": (0.45, 0.6),
    "octagonal box 110 cm": (0.55, 0.55),
    "octagonal box 150 cm": (0.75, 0.75),
    "strip 30x120 cm": (0.15, 0.6),
    "reflected umbrella 110 cm": (0.55, 0.55),
    "shoot-through umbrella 100 cm": (0.5, 0.5),
    "beauty dish 55 cm": (0.28, 0.28),
}
POWERS = ("1/8", "1/16", "1/32")
#: Red, green and blue of what a coating mirrors, of luminance about 1: ghosts are rarely white.
COATINGS: dict[str, tuple[float, float, float]] = {
    "white": (1.0, 1.0, 1.0),
    "green": (0.55, 1.15, 0.85),
    "blue": (0.75, 0.95, 2.2),
    "magenta": (1.6, 0.75, 1.7),
    "amber": (1.5, 0.92, 0.35),
}


def drawn_setup(random: np.random.Generator, *, name: str) -> dict[str, Any]:
    """Return a setup as a mapping, as a setup file would have it."""
    low = bool(random.random() < 0.62)
    distance = random.uniform(1.7, 2.6)
    height = random.uniform(1.12, 1.34)
    turned = random.uniform(-8.0, 8.0)
    return {
        "tapemark": 1,
        "units": "metric",
        "room": {
            "width": "5.4 m",
            "length": "7.0 m",
            "height": "2.75 m",
            "behind_sitter": "2.0 m",
            "wall_reflectance": f"{random.choice([10, 25, 50])} %",
            "ceiling_reflectance": "60 %",
        },
        "sitter": _sitter(random, name=name),
        "camera": {
            "place": {
                "distance": f"{distance:.2f} m",
                "side": f"{abs(turned):.0f} deg {'camera-left' if turned > 0 else 'camera-right'}",
                "height": f"{height:.2f} m",
            },
            "aim": {"distance": "0 m", "height": f"{random.uniform(1.12, 1.2):.2f} m"},
            "focal_length": f"{distance * random.uniform(48, 85):.0f} mm",
            "orientation": "portrait",
            "aperture": "f/8",
        },
        "light": _lights(random, low=low, camera=(distance, turned, height)),
        "backdrop": {
            "distance": "1.2 m",
            "width": "2.7 m",
            "height": "2.5 m",
            "reflectance": float(random.choice([0.05, 0.18, 0.4, 0.85])),
        },
    }


def coating_color(random: np.random.Generator, setup: dict[str, Any]) -> str:
    """Return the colour that the lenses of a setup mirror in."""
    coated = setup["sitter"].get("glasses", {}).get("coating") == "anti-reflective"
    return str(random.choice([*COATINGS, "green", "blue"])) if coated else "white"


def _sitter(random: np.random.Generator, *, name: str) -> dict[str, Any]:
    turn = float(random.choice([0.0, random.uniform(0.0, 12.0), random.uniform(10.0, 28.0)]))
    lids = random.uniform(8.0, 11.5) if random.random() < 0.92 else random.uniform(4.0, 7.0)
    sitter: dict[str, Any] = {
        "name": name,
        "eye_height": "1.20 m",
        "turn": f"{turn:.0f} deg {_side(random)}",
        "tip": f"{abs(random.normal()) * 4:.0f} deg {_side(random)}",
        "chin": f"{abs(random.normal()) * 4:.0f} deg {random.choice(['up', 'down'])}",
        "skin_reflectance": round(float(random.uniform(0.07, 0.55)), 2),
        "age": int(random.integers(18, 76)),
        "look": {"hair": str(random.choice(HAIR))},
        "face": {
            "interpupillary": f"{random.normal(63, 3.4):.1f} mm",
            "head_breadth": f"{random.normal(151, 5):.0f} mm",
            "eye_opening_height": f"{lids:.1f} mm",
        },
    }
    if random.random() < 0.88:
        sitter["glasses"] = _glasses(random)
    return sitter


def _glasses(random: np.random.Generator) -> dict[str, Any]:
    sphere = float(random.uniform(-6.0, 3.5))
    cylinder = float(random.choice([0.0, 0.0, random.uniform(-1.5, 0.0)]))
    glasses: dict[str, Any] = {
        "lens_width": f"{random.uniform(45, 57):.0f} mm",
        "lens_height": f"{random.uniform(32, 46):.0f} mm",
        "bridge": f"{random.uniform(15, 22):.0f} mm",
        "outline": str(random.choice(OUTLINES)),
        "pantoscopic_tilt": f"{random.uniform(3, 14):.0f} deg",
        "face_form": f"{random.uniform(1, 8):.0f} deg",
        "rim": str(random.choice(["full", "full", "full", "half", "none"])),
        "rim_width": f"{random.uniform(1.2, 4.5):.1f} mm",
    }
    for eye, other in (("right", 0.0), ("left", float(random.uniform(-0.5, 0.5)))):
        own = {"sphere": f"{sphere + other:+.2f} D"}
        if cylinder:
            own |= {"cylinder": f"{cylinder:+.2f} D", "axis": f"{random.integers(1, 180)} deg"}
        glasses[eye] = own
    if random.random() < 0.5:
        glasses["coating"] = "anti-reflective"
        glasses["coating_reflectance"] = round(float(random.uniform(0.005, 0.022)), 4)
    if random.random() < 0.1:
        glasses["tint_transmission"] = round(float(random.uniform(0.7, 0.93)), 2)
    return glasses


def _lights(
    random: np.random.Generator, *, low: bool, camera: tuple[float, float, float]
) -> list[dict[str, Any]]:
    """Return one to three lights: near the camera and low, or high and wide."""
    count = int(random.choice([1, 2, 3], p=[0.4, 0.42, 0.18]))
    sign, lights = float(random.choice([-1.0, 1.0])), []
    for number, name in enumerate(("key", "fill", "third")[:count]):
        if name == "third" and random.random() < 0.5:
            lights.append(_background_light(random))
            continue
        near = low and (number == 0 or random.random() < 0.5)
        modifier = str(random.choice(list(MODIFIERS)))
        place = _place(random, near=near)
        while _in_the_way(place, MODIFIERS[modifier], camera=camera, sign=sign):
            place = _place(random, near=near)
        distance, out, height = place
        side = "camera-left" if sign > 0 else "camera-right"
        lights.append(
            {
                "name": name,
                "head": "400 Ws studio head",
                "modifier": modifier,
                "place": {
                    "distance": f"{distance:.2f} m",
                    "side": f"{out:.0f} deg {side}",
                    "height": f"{height:.2f} m",
                },
                "aim": "face",
                "power": "1/8" if number == 0 else str(random.choice(POWERS)),
            }
        )
        sign = -sign
    return lights


def _place(random: np.random.Generator, *, near: bool) -> tuple[float, float, float]:
    """Return distance [m], angle [deg] and height [m] of a light."""
    distance = random.uniform(1.2, 2.9) if near else random.uniform(1.2, 2.2)
    out = random.uniform(4, 38) if near else random.uniform(36, 58)
    height = random.uniform(1.15, 1.65) if near else random.uniform(1.95, 2.35)
    return distance, out, height


def _in_the_way(
    place: tuple[float, float, float],
    halves: tuple[float, float],
    *,
    camera: tuple[float, float, float],
    sign: float,
) -> bool:
    """Return whether a light would stand between the camera and the sitter.

    The camera is given by distance [m], angle to camera-left [deg] and height [m].
    """
    distance, out, height = place
    away, turned, level = camera
    angle = math.radians(sign * out - turned)
    nearer = 1.0 - distance * math.cos(angle) / away
    if nearer <= 0.0:
        return False
    above = height - (1.2 + (level - 1.2) * (1.0 - nearer))
    beside = abs(distance * math.sin(angle)) - halves[0]
    return beside < 0.05 + 0.45 * nearer and abs(above) - halves[1] < 0.05 + 0.55 * nearer


def _background_light(random: np.random.Generator) -> dict[str, Any]:
    return {
        "name": "background light",
        "head": "400 Ws studio head",
        "modifier": "reflector dish 18 cm",
        "place": {
            "distance": "0.6 m",
            "side": f"{random.uniform(110, 130):.0f} deg {_side(random)}",
            "height": "0.9 m",
        },
        "aim": "backdrop",
        "power": str(random.choice(POWERS)),
    }


def _side(random: np.random.Generator) -> str:
    return str(random.choice(["camera-left", "camera-right"]))
