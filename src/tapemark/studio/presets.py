"""Presets by trade description: glasses, modifiers and heads, each with what it assumes.

Sizes of modifiers are what the trade calls them by. Everything else here is common practice
without a published source, unless the assumption names one.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

__all__ = [
    "GLASSES_PRESETS",
    "HEAD_PRESETS",
    "MODIFIER_PRESETS",
    "STAND_PRESETS",
    "Preset",
    "nearest",
]


@dataclass(frozen=True, kw_only=True, slots=True)
class Preset:
    """Values for the fields of one thing, and what they assume.

    Parameters
    ----------
    values : mapping
        By field name, in the unit of the field.
    assumptions : str
        What is assumed and how far real things spread.
    """

    values: Mapping[str, object]
    assumptions: str


def nearest(word: str, choices: Iterable[str]) -> str | None:
    """Return the choice that looks most like a mistyped word, or None."""
    names = {choice.lower(): choice for choice in choices}
    close = difflib.get_close_matches(word[:80].lower(), names, n=1, cutoff=0.6)
    return names[close[0]] if close else None


_FIT = (
    "Tilt 8°, usually 5 to 15°; face form ±3°; vertex distance 8 to 15 mm; base curve from the "
    "prescription, ±1 D."
)
_HALF_STOP = "Light passed on: ±0.5 stop; state efficiency where you have metered yours."


def _eyes(sphere_d: float, cylinder_d: float = 0.0, axis_deg: float = 180.0) -> dict[str, object]:
    right = {"sphere_d": sphere_d, "cylinder_d": cylinder_d, "axis_deg": axis_deg}
    mirrored = axis_deg if axis_deg in (90.0, 180.0) else 180.0 - axis_deg
    return {"right": right, "left": {**right, "axis_deg": mirrored}}


GLASSES_PRESETS: dict[str, Preset] = {
    "thin reading glasses": Preset(
        values={
            "lens_width_mm": 50.0,
            "lens_height_mm": 30.0,
            "bridge_mm": 18.0,
            "outline": "rectangular",
            "material": "standard plastic",
            "rim": "full",
            "rim_width_mm": 2.0,
            "vertex_distance_mm": 14.0,
            **_eyes(2.0),
        },
        assumptions=f"Ready-made, +2.00 D in both eyes (+1 to +3 D), uncoated. {_FIT}",
    ),
    "strong short-sighted, small frame": Preset(
        values={
            "lens_width_mm": 46.0,
            "lens_height_mm": 34.0,
            "bridge_mm": 20.0,
            "outline": "oval",
            "material": "plastic 1.67",
            "coating": "anti-reflective",
            "rim": "full",
            "rim_width_mm": 3.0,
            "vertex_distance_mm": 12.0,
            **_eyes(-6.0, -0.75, 175.0),
        },
        assumptions=f"-6.00 D (-5 to -8 D), high-index, coated: 1 % per surface. {_FIT}",
    ),
    "mild short-sighted, medium frame": Preset(
        values={
            "lens_width_mm": 51.0,
            "lens_height_mm": 36.0,
            "bridge_mm": 18.0,
            "outline": "soft rectangular",
            "material": "standard plastic",
            "coating": "anti-reflective",
            "rim": "full",
            "rim_width_mm": 2.5,
            **_eyes(-2.0, -0.5),
        },
        assumptions=f"-2.00 D (-1 to -3 D), coated: 1 % per surface. {_FIT}",
    ),
    "everyday progressive": Preset(
        values={
            "lens_width_mm": 53.0,
            "lens_height_mm": 38.0,
            "bridge_mm": 18.0,
            "outline": "soft rectangular",
            "material": "plastic 1.60",
            "coating": "anti-reflective",
            "rim": "full",
            "rim_width_mm": 2.5,
            "pupil_height_mm": 23.0,
            **_eyes(0.5, -0.5, 90.0),
        },
        assumptions=(
            "+0.50 D for distance (-2 to +2 D). The addition is taken to be on the back surface; "
            f"older lenses carry it on the front, which steepens the lower half. {_FIT}"
        ),
    ),
    "large fashion frame, plano": Preset(
        values={
            "lens_width_mm": 57.0,
            "lens_height_mm": 50.0,
            "bridge_mm": 17.0,
            "outline": "square",
            "material": "standard plastic",
            "rim": "full",
            "rim_width_mm": 4.0,
            "pupil_height_mm": 29.0,
            **_eyes(0.0),
        },
        assumptions=f"No prescription, uncoated, base curve near 6 D (4 to 6 D). {_FIT}",
    ),
    "strong long-sighted": Preset(
        values={
            "lens_width_mm": 49.0,
            "lens_height_mm": 34.0,
            "bridge_mm": 19.0,
            "outline": "oval",
            "material": "standard plastic",
            "coating": "anti-reflective",
            "rim": "full",
            "rim_width_mm": 2.5,
            "vertex_distance_mm": 12.0,
            **_eyes(4.0, -0.5),
        },
        assumptions=(
            "+4.00 D (+3 to +6 D), not aspheric; an aspheric lens is flatter by 3 D or more. "
            + _FIT
        ),
    ),
    "sport wrap": Preset(
        values={
            "lens_width_mm": 64.0,
            "lens_height_mm": 38.0,
            "bridge_mm": 17.0,
            "outline": "aviator",
            "base_curve_d": 8.0,
            "material": "polycarbonate",
            "rim": "half",
            "rim_width_mm": 3.0,
            "pantoscopic_tilt_deg": 10.0,
            "face_form_deg": 18.0,
            "vertex_distance_mm": 12.0,
            **_eyes(0.0),
        },
        assumptions="Base curve 8 D (6 to 10 D), face form 18° (12 to 25°), tilt 10°, no tint.",
    ),
    "rimless, light prescription": Preset(
        values={
            "lens_width_mm": 52.0,
            "lens_height_mm": 33.0,
            "bridge_mm": 18.0,
            "outline": "soft rectangular",
            "material": "plastic 1.60",
            "coating": "anti-reflective",
            "rim": "none",
            "rim_width_mm": 0.0,
            **_eyes(-1.0, -0.25),
        },
        assumptions=f"-1.00 D (-2 to +1 D), coated: 1 % per surface. {_FIT}",
    ),
    "round wire frame, short-sighted": Preset(
        values={
            "lens_width_mm": 47.0,
            "lens_height_mm": 45.0,
            "bridge_mm": 21.0,
            "outline": "round",
            "material": "plastic 1.60",
            "coating": "anti-reflective",
            "rim": "full",
            "rim_width_mm": 1.2,
            "face_form_deg": 3.0,
            **_eyes(-3.5, -0.5),
        },
        assumptions=f"-3.50 D (-2.5 to -5 D), coated: 1 % per surface; face form 3°. {_FIT}",
    ),
    "heavy acetate rectangular": Preset(
        values={
            "lens_width_mm": 52.0,
            "lens_height_mm": 38.0,
            "bridge_mm": 19.0,
            "outline": "rectangular",
            "material": "standard plastic",
            "coating": "anti-reflective",
            "rim": "full",
            "rim_width_mm": 5.5,
            **_eyes(-1.5, -0.5),
        },
        assumptions=f"-1.50 D (-3 to +1 D), coated: 1 % per surface. {_FIT}",
    ),
    "half-rim office frame": Preset(
        values={
            "lens_width_mm": 54.0,
            "lens_height_mm": 32.0,
            "bridge_mm": 17.0,
            "outline": "rectangular",
            "material": "standard plastic",
            "rim": "half",
            "rim_width_mm": 2.0,
            **_eyes(1.0, -0.5, 90.0),
        },
        assumptions=f"+1.00 D (0 to +2 D), uncoated. {_FIT}",
    ),
    "cat-eye, mild short-sighted": Preset(
        values={
            "lens_width_mm": 53.0,
            "lens_height_mm": 40.0,
            "bridge_mm": 16.0,
            "outline": "upswept",
            "material": "standard plastic",
            "coating": "anti-reflective",
            "rim": "full",
            "rim_width_mm": 4.0,
            **_eyes(-1.75, -0.25),
        },
        assumptions=f"-1.75 D (-1 to -3 D), coated: 1 % per surface. {_FIT}",
    ),
}


def _box(width_m: float, height_m: float, depth_m: float) -> dict[str, object]:
    return {"kind": "softbox", "width_m": width_m, "height_m": height_m, "depth_m": depth_m}


def _round(kind: str, diameter_m: float, **more: float) -> dict[str, object]:
    return {"kind": kind, "diameter_m": diameter_m, **more}


MODIFIER_PRESETS: dict[str, Preset] = {
    "small softbox 40x40 cm": Preset(
        values=_box(0.4, 0.4, 0.25), assumptions=f"Double diffusion, flat front. {_HALF_STOP}"
    ),
    "medium softbox 60x90 cm": Preset(
        values=_box(0.6, 0.9, 0.4),
        assumptions=f"Double diffusion, flat front, set upright. {_HALF_STOP}",
    ),
    "large softbox 90x120 cm": Preset(
        values=_box(0.9, 1.2, 0.55),
        assumptions=f"Double diffusion, flat front, set upright. {_HALF_STOP}",
    ),
    "strip 30x120 cm": Preset(
        values={**_box(0.3, 1.2, 0.35), "kind": "strip"},
        assumptions=f"Double diffusion, no grid, set upright. {_HALF_STOP}",
    ),
    "octagonal box 110 cm": Preset(
        values=_round("octagonal box", 1.1, depth_m=0.4),
        assumptions=f"Across flats, double diffusion, flat front. {_HALF_STOP}",
    ),
    "octagonal box 150 cm": Preset(
        values=_round("octagonal box", 1.5, depth_m=0.55),
        assumptions=f"Across flats, double diffusion, flat front. {_HALF_STOP}",
    ),
    "reflected umbrella 110 cm": Preset(
        values=_round("reflected umbrella", 1.1, depth_m=0.22),
        assumptions=(
            "White inside, opaque back, evenly lit; 110 cm along the curve is nearer to 95 cm "
            f"across: measure yours. {_HALF_STOP}"
        ),
    ),
    "shoot-through umbrella 100 cm": Preset(
        values=_round("shoot-through umbrella", 1.0, depth_m=0.2),
        assumptions=f"White translucent cap, evenly lit; spills to the back as well. {_HALF_STOP}",
    ),
    "beauty dish 55 cm": Preset(
        values=_round("beauty dish", 0.55, depth_m=0.2, beam_deg=90.0),
        assumptions=f"White inside, deflector in place, no sock or grid. {_HALF_STOP}",
    ),
    "reflector dish 18 cm": Preset(
        values=_round("reflector dish", 0.18, depth_m=0.13, beam_deg=65.0),
        assumptions=f"Metal dish, 65° beam (50 to 80°), no grid. {_HALF_STOP}",
    ),
    "bare small flash": Preset(
        values={
            "kind": "bare",
            "width_m": 0.07,
            "height_m": 0.045,
            "depth_m": 0.1,
            "beam_deg": 70.0,
        },
        assumptions=f"Zoom for a 24 mm lens, 70° beam (45 to 80°). {_HALF_STOP}",
    ),
    "LED panel 30x30 cm": Preset(
        values={
            "kind": "bare",
            "width_m": 0.3,
            "height_m": 0.3,
            "depth_m": 0.05,
            "beam_deg": 110.0,
            "efficiency": 1.0,
        },
        assumptions="Bare panel, evenly lit, 110° beam (90 to 120°).",
    ),
}

_EFFICACY = "40 lm/W: the middle of 15 to 50, so 0.3 stop up and 1.4 stops down."


def _flash(energy_j: float, weight_kg: float, modelling_lamp_w: float) -> dict[str, object]:
    return {
        "kind": "flash",
        "energy_j": energy_j,
        "lowest_power_stops": -5.0,
        "weight_kg": weight_kg,
        "modelling_lamp_w": modelling_lamp_w,
    }


_STUDIO = f"Down to 1/32 in tenths; an LED modelling lamp. {_EFFICACY}"

HEAD_PRESETS: dict[str, Preset] = {
    "200 Ws studio head": Preset(values=_flash(200.0, 1.8, 20.0), assumptions=_STUDIO),
    "400 Ws studio head": Preset(values=_flash(400.0, 2.5, 30.0), assumptions=_STUDIO),
    "600 Ws studio head": Preset(values=_flash(600.0, 3.0, 30.0), assumptions=_STUDIO),
    "1000 Ws studio head": Preset(values=_flash(1000.0, 3.5, 30.0), assumptions=_STUDIO),
    "small camera flash 60 Ws": Preset(
        values={
            "kind": "flash",
            "energy_j": 60.0,
            "power_step_stops": 1 / 3,
            "mains_w": 0.0,
            "weight_kg": 0.5,
        },
        assumptions=f"Battery flash at full power, 50 to 75 Ws; down to 1/128 in thirds. "
        f"{_EFFICACY}",
    ),
    "continuous LED panel": Preset(
        values={"kind": "continuous", "lumens": 4000.0, "mains_w": 50.0, "weight_kg": 1.5},
        assumptions="4000 lm leave the panel; panels of this size give 1500 to 8000 lm for 30 to "
        "100 W.",
    ),
    "continuous LED head": Preset(
        values={"kind": "continuous", "lumens": 12000.0, "mains_w": 150.0, "weight_kg": 2.5},
        assumptions="12000 lm leave the lamp without a modifier; such heads give 6000 to 25000 lm "
        "for 80 to 300 W.",
    ),
    "halogen lamp head 650 W": Preset(
        values={
            "kind": "continuous",
            "lamp": "halogen",
            "lumens": 16000.0,
            "mains_w": 650.0,
            "weight_kg": 2.0,
            "color_k": 3200.0,
        },
        assumptions="3200 K, 25 lm/W (20 to 27): 16000 lm leave the lamp; it gets hot.",
    ),
}

STAND_PRESETS: dict[str, Preset] = {
    "light stand": Preset(
        values={"kind": "stand", "weight_kg": 2.0, "leg_radius_m": 0.5, "highest_m": 2.6},
        assumptions="Three legs spread to 0.5 m (0.4 to 0.6 m), 2 kg (1 to 3 kg), up to 2.6 m.",
    ),
    "heavy stand": Preset(
        values={"kind": "stand", "weight_kg": 6.0, "leg_radius_m": 0.6, "highest_m": 3.2},
        assumptions="Three legs spread to 0.6 m (0.5 to 0.7 m), 6 kg (4 to 9 kg), up to 3.2 m.",
    ),
    "boom on a heavy stand": Preset(
        values={
            "kind": "boom",
            "weight_kg": 6.0,
            "leg_radius_m": 0.6,
            "highest_m": 3.2,
            "boom_out_m": 1.5,
            "boom_weight_kg": 2.5,
            "counterweight_kg": 7.0,
            "counterweight_out_m": 0.7,
        },
        assumptions="Arm reaching 1.5 m, 2.5 kg; counterweight 7 kg at 0.7 m; measure yours.",
    ),
    "fixed to the building": Preset(
        values={"kind": "fixed", "highest_m": 8.0},
        assumptions="Ceiling rail or wall arm, put up by somebody qualified; not looked at here.",
    ),
}
