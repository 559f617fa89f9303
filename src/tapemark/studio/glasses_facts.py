"""What is known and what is assumed about glasses: outlines, materials, coatings, looks."""

from __future__ import annotations

from typing import Literal

__all__ = [
    "ASSUMED_COATING_REFLECTANCE",
    "LOOK_THROUGH_D",
    "MATERIAL_INDEX",
    "OUTLINE_SHAPES",
    "PUPIL_ABOVE_MIDDLE_MM",
    "Material",
    "Outline",
]

Outline = Literal[
    "rectangular",
    "soft rectangular",
    "square",
    "round",
    "oval",
    "pantoscopic",
    "aviator",
    "upswept",
]
Material = Literal[
    "standard plastic",
    "crown glass",
    "polycarbonate",
    "plastic 1.60",
    "plastic 1.67",
    "plastic 1.74",
]

OUTLINE_SHAPES: dict[Outline, tuple[float, float]] = {
    "rectangular": (6.0, 0.04),
    "soft rectangular": (4.0, 0.06),
    "square": (5.0, 0.05),
    "round": (2.0, 0.0),
    "oval": (2.3, 0.0),
    "pantoscopic": (2.6, 0.12),
    "aviator": (2.8, 0.25),
    "upswept": (3.2, 0.2),
}
"""Squareness (superellipse exponent) and taper (wider above) of each outline, drawn by eye. [-]"""

MATERIAL_INDEX: dict[Material, float] = {
    "standard plastic": 1.498,
    "crown glass": 1.523,
    "polycarbonate": 1.586,
    "plastic 1.60": 1.6,
    "plastic 1.67": 1.67,
    "plastic 1.74": 1.74,
}
"""Refractive index, helium d line. [-] [wilson-2012] for the first, trade names for the others."""

ASSUMED_COATING_REFLECTANCE = (
    0.01  # [-] per surface; [zeiss-coating], "high-quality"; 0.005 to 0.025
)
PUPIL_ABOVE_MIDDLE_MM = 3.0  # [mm] above the middle of the lens box; from memory, not verified

# What a look through the lens tells: nominal sphere and its spread either way [D]; common
# practice, no published source.
LOOK_THROUGH_D: dict[tuple[str | None, str | None], tuple[float, float]] = {
    ("smaller", "thick"): (-4.0, 2.0),
    ("smaller", "thin"): (-2.0, 1.0),
    ("smaller", None): (-3.0, 2.0),
    ("larger", None): (3.0, 1.5),
    ("larger", "thin"): (3.0, 1.5),
    ("larger", "thick"): (3.0, 1.5),
    ("unchanged", None): (0.0, 0.75),
    ("unchanged", "thin"): (0.0, 0.75),
    ("unchanged", "thick"): (0.0, 1.0),
    (None, "thick"): (-4.0, 2.0),
    (None, "thin"): (0.0, 2.0),
    (None, None): (0.0, 3.0),
}
