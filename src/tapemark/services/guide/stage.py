"""The set that every figure of the guide begins from, with one light in it."""

from typing import Any

from tapemark.studio import Setup, setup_from_mapping
from tapemark.units import UnitSystem

EYES_M, CAMERA_M = 1.20, 2.0  # height of the eyes, and how far the camera stands
CEILING_M = 2.75
LIGHT = "light"
GLASSES: dict[str, Any] = {
    "name": "glasses",
    "lens_width": "52 mm",
    "lens_height": "37 mm",
    "bridge": "18 mm",
    "outline": "soft rectangular",
    "pantoscopic_tilt": "8 deg",
    "coating": "none",
    "rim": "full",
    "right": {"sphere": "-2.25 D"},
    "left": {"sphere": "-2.00 D"},
}


def stage(
    *,
    system: UnitSystem,
    distance_m: float,
    side_deg: float,
    height_m: float,
    modifier: str = "medium softbox 60x90 cm",
    head: str = "400 Ws studio head",
    power: str = "1/4",
    aim: str = "face",
    turn_deg: float = 0.0,
    base_curve_d: float | None = None,
) -> Setup:
    """Return a small room with somebody who wears glasses, a camera and one light.

    Parameters
    ----------
    system : "metric" or "us"
        For numbers in words.
    distance_m, side_deg, height_m : float
        Where the light stands; camera-left is positive. [m], [deg], [m]
    modifier, head, power, aim : str
        As in a setup file.
    turn_deg : float
        Face turned to camera-left. [deg]
    base_curve_d : float, optional
        Of the lenses; without it what is usual for their power. [D]
    """
    curve = {} if base_curve_d is None else {"base_curve": f"{base_curve_d:g} D"}
    return setup_from_mapping(
        {
            "tapemark": 1,
            "title": "A figure of the guide",
            "units": system,
            "room": {
                "width": "4.2 m",
                "length": "4.7 m",
                "height": f"{CEILING_M} m",
                "behind_sitter": "1.1 m",
                "ceiling_reflectance": 0.8,
                "wall_reflectance": 0.25,
            },
            "sitter": {
                "name": "sitter",
                "eye_height": f"{EYES_M} m",
                "turn": _turned(turn_deg),
                "glasses": {**GLASSES, **curve},
            },
            "camera": {
                "place": {"distance": f"{CAMERA_M} m", "side": "0 deg", "height": f"{EYES_M} m"},
                "aim": {"distance": "0 m", "height": f"{EYES_M - 0.1:.2f} m"},
                "focal_length": "85 mm",
                "aperture": "f/8",
            },
            "light": [
                {
                    "name": LIGHT,
                    "head": head,
                    "modifier": modifier,
                    "place": {
                        "distance": f"{distance_m:.4f} m",
                        "side": _turned(side_deg),
                        "height": f"{height_m:.4f} m",
                    },
                    "aim": aim,
                    "power": power,
                }
            ],
        },
        name="the guide",
    )


def _turned(turn_deg: float) -> str:
    if abs(turn_deg) < 1e-9:
        return "0 deg"
    return f"{abs(turn_deg):g} deg camera-{'left' if turn_deg > 0 else 'right'}"
