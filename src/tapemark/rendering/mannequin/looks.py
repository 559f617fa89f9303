"""How a mannequin looks where nobody said: hair, eyes, clothes and frame, chosen by the name.

The same name always looks the same.  Skin follows the sitter's stated reflectance along the line
that measured skin follows: darker skin loses most in the blue and least in the red.

References
----------
Mean skin and its spread at 650, 550 and 450 nm [cooksey-2017], taken for red, green and blue.
Hair, eye, cloth and frame colors are drawn by eye.
"""

import hashlib
from dataclasses import dataclass
from typing import get_args

import numpy as np

from tapemark.rendering.mannequin.frame import is_metal
from tapemark.studio import Appearance, Sitter
from tapemark.studio.appearance import (
    ClothesColor,
    EyeColor,
    FrameColor,
    HairColor,
    HairStyle,
)

Color = tuple[float, float, float]
HAIR_STYLES: tuple[HairStyle, ...] = get_args(HairStyle)
_ANY_STYLE: tuple[HairStyle, ...] = ("short", "swept", "bob", "long", "bun", "curly")
USUAL_AGE_YEARS = 38.0  # of a sitter whose age is not stated (assumption)

SKIN_MEAN: Color = (0.556, 0.316, 0.256)
SKIN_SPREAD: Color = (0.072, 0.059, 0.059)
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722])

HAIR_COLORS: dict[HairColor, Color] = {
    "black": (0.016, 0.013, 0.012),
    "dark brown": (0.040, 0.025, 0.017),
    "brown": (0.085, 0.047, 0.027),
    "fair": (0.30, 0.20, 0.105),
    "red": (0.19, 0.066, 0.024),
    "grey": (0.33, 0.32, 0.31),
    "white": (0.62, 0.60, 0.57),
}
EYE_COLORS: dict[EyeColor, Color] = {
    "brown": (0.062, 0.030, 0.014),
    "hazel": (0.095, 0.062, 0.024),
    "green": (0.085, 0.105, 0.055),
    "blue": (0.085, 0.135, 0.195),
    "grey": (0.12, 0.14, 0.15),
}
CLOTHES_COLORS: dict[ClothesColor, Color] = {
    "white": (0.68, 0.67, 0.64),
    "stone": (0.145, 0.135, 0.120),
    "grey": (0.075, 0.077, 0.080),
    "black": (0.022, 0.022, 0.024),
    "navy": (0.042, 0.062, 0.105),
    "teal": (0.060, 0.110, 0.095),
    "red": (0.200, 0.052, 0.045),
    "ochre": (0.235, 0.150, 0.048),
    "plum": (0.085, 0.060, 0.095),
}
_ANY_CLOTHES: tuple[ClothesColor, ...] = ("stone", "navy", "teal", "red", "ochre", "plum")
_PLASTIC: tuple[FrameColor, ...] = ("black", "brown", "blue", "red")
_METAL: tuple[FrameColor, ...] = ("silver", "gold", "gunmetal")
FRAME_COLORS: dict[FrameColor, Color] = {
    "black": (0.020, 0.018, 0.018),
    "brown": (0.075, 0.030, 0.014),
    "blue": (0.022, 0.034, 0.060),
    "red": (0.120, 0.020, 0.024),
    "silver": (0.55, 0.53, 0.50),
    "gold": (0.62, 0.46, 0.26),
    "gunmetal": (0.16, 0.16, 0.17),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Look:
    """What a mannequin looks like; reflectances for red, green and blue. [-]

    Attributes
    ----------
    hair : str
        Style, one of `HAIR_STYLES`.
    hair_color, brow_color, eye_color, cloth_color : tuple of three floats
        Of hair and brows, the middle of the iris, and the jumper.
    skin_color : tuple of three floats
        Mean of the face.
    frame_color : tuple of three floats
        Of the frame of the glasses.
    metal_frame : bool
        Whether it shines like bare metal.
    collar : bool
        Whether a shirt collar shows over the jumper.
    age_years : float
        For color and depth of folds. [years]
    build : tuple of three floats
        Lips thin to full, nose narrow to broad, jaw pointed to square, each -1 to 1. [-]
    seed : int
        For everything irregular.
    """

    hair: HairStyle
    hair_color: Color
    brow_color: Color
    eye_color: Color
    cloth_color: Color
    skin_color: Color
    frame_color: Color
    metal_frame: bool
    collar: bool
    age_years: float
    seed: int
    build: tuple[float, float, float] = (0.0, 0.0, 0.0)


def look_of(sitter: Sitter) -> Look:
    """Return the look of a sitter: stated where it can be stated, else chosen by the name."""
    seed = int.from_bytes(hashlib.sha256(sitter.name.encode()).digest()[:4], "big")
    chance = np.random.default_rng(seed)
    stated = Appearance() if sitter.look is None else sitter.look
    age = USUAL_AGE_YEARS if sitter.age_years is None else float(sitter.age_years)
    # Every choice is drawn, so that stating one of them leaves the others as they are.
    style = _ANY_STYLE[int(chance.integers(len(_ANY_STYLE)))]
    hair_color = _hair_color(chance, stated, skin=sitter.skin_reflectance, age_years=age)
    eye = _eye_color(chance, skin=sitter.skin_reflectance)
    clothes = _ANY_CLOTHES[int(chance.integers(len(_ANY_CLOTHES)))]
    frame = stated.frame_color or _frame_color(chance, sitter)
    collar = bool(chance.random() < 0.4)
    lips, nose, jaw = chance.uniform(-1.0, 1.0, 3).tolist()
    return Look(
        hair=stated.hair or style,
        hair_color=hair_color,
        brow_color=_brow_color(hair_color),
        eye_color=EYE_COLORS[stated.eye_color or eye],
        cloth_color=CLOTHES_COLORS[stated.clothes or clothes],
        skin_color=skin_color(sitter.skin_reflectance),
        frame_color=FRAME_COLORS[frame],
        metal_frame=frame in _METAL,
        collar=collar if stated.collar is None else stated.collar,
        age_years=age,
        seed=seed,
        build=(lips, nose, jaw),
    )


def skin_color(reflectance: float) -> Color:
    """Return the color of skin of a luminous reflectance, for red, green and blue. [-]

    Parameters
    ----------
    reflectance : float
        Share of the light given back, weighted as the eye sees it. [-]

    Notes
    -----
    The measured mean, each channel made weaker or stronger by its own measured spread, in
    proportion; so it passes through the mean and keeps the luminance asked for.

    References
    ----------
    [cooksey-2017]
    """
    mean = np.array(SKIN_MEAN)
    rate = np.array(SKIN_SPREAD) / mean
    low, high = -12.0, 12.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if _LUMINANCE @ np.minimum(mean * np.exp(middle * rate), 0.95) < reflectance:
            low = middle
        else:
            high = middle
    red, green, blue = np.minimum(mean * np.exp(low * rate), 0.95).tolist()
    return red, green, blue


def _hair_color(
    chance: np.random.Generator, stated: Appearance, *, skin: float, age_years: float
) -> Color:
    dark: tuple[HairColor, ...] = ("black", "dark brown")
    any_color: tuple[HairColor, ...] = ("black", "dark brown", "brown", "brown", "fair", "red")
    choice = dark if skin < 0.28 else any_color
    color = np.array(HAIR_COLORS[choice[int(chance.integers(len(choice)))]])
    grey = np.array(HAIR_COLORS["grey" if age_years < 72 else "white"])
    share = float(np.clip((age_years - 42.0 - 8.0 * chance.random()) / 26.0, 0.0, 1.0))
    if stated.hair_color is not None:
        return HAIR_COLORS[stated.hair_color]
    red, green, blue = (color + (grey - color) * share).tolist()
    return red, green, blue


def _brow_color(hair: Color) -> Color:
    """Return the color of brows: a little darker than the hair, never white."""
    red, green, blue = (
        0.62 * np.array(hair) if max(hair) < 0.31 else np.array((0.17, 0.145, 0.125))
    ).tolist()
    return red, green, blue


def _eye_color(chance: np.random.Generator, *, skin: float) -> EyeColor:
    mixed: tuple[EyeColor, ...] = ("brown", "brown", "hazel", "green", "blue", "grey")
    names: tuple[EyeColor, ...] = ("brown",) if skin < 0.26 else mixed
    return names[int(chance.integers(len(names)))]


def _frame_color(chance: np.random.Generator, sitter: Sitter) -> FrameColor:
    drawn = int(chance.integers(12))
    metal = sitter.glasses is not None and is_metal(sitter.glasses)
    choice = _METAL if metal else _PLASTIC
    return choice[drawn % len(choice)]
