"""Which glasses the wearers of a population wear.

Named assumptions, for which no numbers were found: which frame goes with which kind of lens,
which index with which power, how ready-made reading glasses look, the axis of the cylinder.
"""

from typing import Any

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.studio import LENS_KINDS, OUTLINE_SHAPES, PROGRESSIVE_FROM_YEARS, Population

RIMS = ("full", "half", "none")
OUTLINES = tuple(OUTLINE_SHAPES)
NEAR_PLANO_D = 0.5  # weaker eyes count as neither short- nor long-sighted
STRONGEST_D = (-18.0, 9.0)  # stronger lenses are no ordinary glasses any more
#: Up to which spherical equivalent [D] which index is usual.
INDEX_STEPS: tuple[tuple[float, float], ...] = (
    (2.5, 1.498),
    (5.0, 1.6),
    (8.0, 1.67),
    (99.0, 1.74),
)
#: From which power [D] lenses are made how small: width and height at most. [mm]
MADE_SMALL: tuple[tuple[float, tuple[float, float]], ...] = (
    (6.0, (49.0, 38.0)),
    (10.0, (45.0, 32.0)),
)
READING_HEIGHT_MM, READING_WIDTH_MM = (29.0, 3.0), (50.0, 2.0)
PROGRESSIVE_LEAST_HEIGHT_MM = 30.0
SPORT_MM, SPORT_BASE_D, SPORT_FORM_DEG, SPORT_INDEX = (64.0, 38.0), 8.0, 18.0, 1.586
WIDTH_RANGE_MM, HEIGHT_RANGE_MM, BRIDGE_RANGE_MM = (40.0, 66.0), (22.0, 56.0), (12.0, 25.0)
ROUND_HEIGHT_SHARE = 0.95
COATING_LOG_SPREAD = 0.35  # half to twice the median in 19 of 20
TILT_RANGE_DEG, FORM_RANGE_DEG = (-2.0, 20.0), (-5.0, 30.0)
VERTEX_RANGE_MM = (8.0, 20.0)
MOST_SPREADS = 3.5
WITH_THE_RULE = ((50, 0.75), (200, 0.35))  # up to which age, which share has a level axis
AXIS_SPREAD_DEG = 20.0


def draw_glasses(
    population: Population,
    random: np.random.Generator,
    *,
    age: np.ndarray,
    woman: np.ndarray,
    band: np.ndarray,
    wide_face: FloatArray,
) -> dict[str, Any]:
    """Return the glasses of wearers, by the names of `Wearers`.

    Parameters
    ----------
    population : Population
        Shares and spreads.
    random : Generator
        Where chance comes from.
    age : (n,) int array
        Ages. [years]
    woman : (n,) bool array
        Sex.
    band : (n,) int array
        Number of the age band.
    wide_face : (n,) array
        Width of the face over the mean, in standard deviations. [-]
    """
    kind = _kinds(population, random, age)
    names = np.array(LENS_KINDS)[kind]
    lenses = _lenses(population, random, names=names, age=age, band=band)
    frame = _frames(population, random, names=names, woman=woman, wide_face=wide_face)
    power = np.abs(lenses["sphere_d"] + lenses["cylinder_d"] / 2).max(axis=1)
    for least, most in MADE_SMALL:
        for key, size in zip(("lens_width_mm", "lens_height_mm"), most, strict=True):
            frame[key] = np.where(power > least, np.minimum(frame[key], size), frame[key])
    frames, fit = population.frames, population.fit
    sport = names == "sport wrap"
    bare = np.isin(names, ("reading", "no prescription", "sport wrap"))
    count = len(kind)
    form = fit.face_form_deg + fit.face_form_spread_deg * normal(random, count)
    tilt = fit.pantoscopic_tilt_deg + fit.pantoscopic_tilt_spread_deg * normal(random, count)
    vertex = fit.vertex_distance_mm + fit.vertex_distance_spread_mm * normal(random, count)
    above = fit.pupil_above_middle_mm + fit.pupil_above_middle_spread_mm * normal(random, count)
    half = frame["lens_height_mm"] / 2
    return {
        **lenses,
        **frame,
        "kind": kind,
        "coated": (random.random(count) < population.coated) & ~bare,
        "coating_reflectance": frames.coating_reflectance
        * np.exp(COATING_LOG_SPREAD * normal(random, count)),
        "pupil_height_mm": half + np.clip(above, -half + 3.0, half - 3.0),
        "vertex_distance_mm": np.clip(vertex, *VERTEX_RANGE_MM),
        "pantoscopic_tilt_deg": np.clip(tilt, *TILT_RANGE_DEG),
        "face_form_deg": np.clip(
            np.where(sport, form - fit.face_form_deg + SPORT_FORM_DEG, form), *FORM_RANGE_DEG
        ),
    }


def _kinds(population: Population, random: np.random.Generator, age: np.ndarray) -> np.ndarray:
    number = [LENS_KINDS.index(one.kind) for one in population.kinds]
    chance = random.random(len(age))
    kind = np.zeros(len(age), dtype=int)
    for old in (False, True):
        parts = np.array([one.from_45 if old else one.under_45 for one in population.kinds])
        chosen = (age >= PROGRESSIVE_FROM_YEARS) == old
        steps = np.cumsum(parts / parts.sum())
        at = np.minimum(np.searchsorted(steps, chance[chosen], side="right"), len(steps) - 1)
        kind[chosen] = np.array(number)[at]
    return kind


def _lenses(
    population: Population,
    random: np.random.Generator,
    *,
    names: np.ndarray,
    age: np.ndarray,
    band: np.ndarray,
) -> dict[str, FloatArray]:
    refraction, count = population.refraction, len(age)
    far = _far_need_d(population, random, band)
    between = refraction.between_eyes_d * normal(random, count)
    mean = np.stack([far - between / 2, far + between / 2], axis=1)
    mean = np.where((names == "reading")[:, None], far[:, None] + refraction.addition_d, mean)
    level = np.isin(names, ("no prescription", "sport wrap"))[:, None]
    ready_made = (names == "reading")[:, None]
    cylinder = np.where(level | ready_made, 0.0, _cylinders(population, random, count))
    mean = np.clip(np.where(level, 0.0, mean), *STRONGEST_D)
    sphere = _quarter(mean - cylinder / 2)
    shift = refraction.base_curve_spread_d * normal(random, count)
    sport = names == "sport wrap"
    return {
        "sphere_d": sphere,
        "cylinder_d": cylinder,
        "axis_deg": _axes(random, age),
        "base_shift_d": shift,
        "index": np.where(sport, SPORT_INDEX, _index(sphere + cylinder / 2)),
    }


def _far_need_d(
    population: Population, random: np.random.Generator, band: np.ndarray
) -> FloatArray:
    """Return the spherical equivalent that wearers need for looking far, (n,) [D]."""
    refraction, count = population.refraction, len(band)
    short = np.array([one.short_sighted for one in population.ages])[band]
    long = np.array([one.long_sighted for one in population.ages])[band]
    chance = random.random(count)
    minus = _gamma(
        random, -refraction.short_sighted_d - NEAR_PLANO_D, refraction.short_sighted_spread_d, count
    )
    plus = _gamma(
        random, refraction.long_sighted_d - NEAR_PLANO_D, refraction.long_sighted_spread_d, count
    )
    weak = random.uniform(-NEAR_PLANO_D, NEAR_PLANO_D, count)
    return np.where(
        chance < short,
        -NEAR_PLANO_D - minus,
        np.where(chance < short + long, NEAR_PLANO_D + plus, weak),
    )


def _cylinders(population: Population, random: np.random.Generator, count: int) -> FloatArray:
    """Return minus cylinders of both lenses, alike in size, (n, 2) [D]."""
    refraction = population.refraction
    strong = random.random(count) < refraction.astigmatic
    beyond = _gamma(
        random, -refraction.cylinder_d - NEAR_PLANO_D, refraction.cylinder_spread_d, count
    )
    size = np.where(strong, NEAR_PLANO_D + beyond, random.uniform(0.0, NEAR_PLANO_D, count))
    uneven = 1.0 + 0.2 * normal(random, count)
    return -_quarter(np.clip(np.stack([size, size * uneven], axis=1), 0.0, 6.0))


def _axes(random: np.random.Generator, age: np.ndarray) -> FloatArray:
    """Return the axes of the cylinders, left mirrored to right, (n, 2) [deg]."""
    level = np.select([age < until for until, _ in WITH_THE_RULE], [p for _, p in WITH_THE_RULE])
    middle = np.where(random.random(len(age)) < level, 0.0, 90.0)
    right = middle + AXIS_SPREAD_DEG * normal(random, len(age))
    return np.stack([right % 180.0, -right % 180.0], axis=1)


def _frames(
    population: Population,
    random: np.random.Generator,
    *,
    names: np.ndarray,
    woman: np.ndarray,
    wide_face: FloatArray,
) -> dict[str, Any]:
    frames, count = population.frames, len(names)
    parts = np.array([one.share for one in frames.outlines])
    outline = np.array([OUTLINES.index(one.outline) for one in frames.outlines])[
        random.choice(len(parts), size=count, p=parts / parts.sum())
    ]
    sport, reading = names == "sport wrap", names == "reading"
    outline = np.where(sport, OUTLINES.index("aviator"), outline)
    follows = frames.width_follows_face
    own = follows * wide_face + np.sqrt(1.0 - follows**2) * normal(random, count)
    width = np.where(woman, frames.women_width_mm, frames.men_width_mm)
    width = width + frames.width_spread_mm * own
    height = frames.height_mm + frames.height_spread_mm * normal(random, count)
    round_one = outline == OUTLINES.index("round")
    height = np.where(round_one, ROUND_HEIGHT_SHARE * (width - 3.0), height)
    width = np.where(round_one, width - 3.0, width)
    small = [
        mean + spread * normal(random, count)
        for mean, spread in (READING_WIDTH_MM, READING_HEIGHT_MM)
    ]
    width, height = np.where(reading, small[0], width), np.where(reading, small[1], height)
    least = np.where(names == "progressive", PROGRESSIVE_LEAST_HEIGHT_MM, HEIGHT_RANGE_MM[0])
    height = np.maximum(height, least)
    rim = np.select([random.random(count) < frames.half_rim + frames.rimless], [1], default=0)
    rimless = random.random(count) * (frames.half_rim + frames.rimless) < frames.rimless
    rim = np.where((rim == 1) & rimless, 2, rim)
    rim_width = frames.rim_width_mm + frames.rim_width_spread_mm * normal(random, count)
    bridge = frames.bridge_mm + frames.bridge_spread_mm * normal(random, count)
    return {
        "outline": outline,
        "lens_width_mm": np.where(sport, SPORT_MM[0], np.clip(width, *WIDTH_RANGE_MM)),
        "lens_height_mm": np.where(sport, SPORT_MM[1], np.clip(height, *HEIGHT_RANGE_MM)),
        "bridge_mm": np.clip(bridge, *BRIDGE_RANGE_MM),
        "rim": np.where(sport, 1, rim),
        "rim_width_mm": np.clip(rim_width, 1.0, 6.0),
    }


def _index(mean_d: FloatArray) -> FloatArray:
    strongest = np.abs(mean_d).max(axis=1)
    return np.select([strongest <= upto for upto, _ in INDEX_STEPS], [n for _, n in INDEX_STEPS])


def _gamma(random: np.random.Generator, mean: float, spread: float, count: int) -> FloatArray:
    """Return gamma-distributed numbers of a mean and standard deviation."""
    return random.gamma((mean / spread) ** 2, spread**2 / mean, count)


def _quarter(power_d: FloatArray) -> FloatArray:
    """Return powers in the steps in which lenses are made [D]."""
    return np.round(4.0 * power_d) / 4.0


def normal(random: np.random.Generator, count: int) -> FloatArray:
    """Return normally distributed numbers, cut off at 3.5 standard deviations."""
    return np.clip(random.standard_normal(count), -MOST_SPREADS, MOST_SPREADS)
