"""A sample of the wearers of a described population, as arrays.

Everything about a wearer that does not depend on the setup is drawn once, from a seed, so that
setups are compared before the same people.
"""

from dataclasses import dataclass, fields

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.walk_ins.wearer_glasses import draw_glasses, normal
from tapemark.studio import Build, Population

LEAST_OPENING_MM = 5.0  # nobody is photographed with eyes closed more
#: Eyes and their spread between people: opening [read-2006], iris [rufer-2005], cornea
#: [millodot] with the spread of the reports that it agrees with.
OPENING_WIDTH_MM, OPENING_HEIGHT_MM = (27.1, 1.5), (9.7, 1.2)
IRIS_MM, CORNEA_MM = (11.71, 0.42), (7.8, 0.2)
SKIN_RANGE = (0.05, 0.6)
#: Correlation of the width of the face with the breadth of the head (assumption).
FACE_WITH_HEAD = 0.7


@dataclass(frozen=True, kw_only=True, eq=False)
class Wearers:
    """A sample of wearers; every attribute is an array over them, (n,) unless said.

    Attributes
    ----------
    woman : bool array
        Sex, which the measures follow.
    age_years : int array
        Age. [years]
    seated_eye_m, standing_eye_m : arrays
        Eyes over the seat; over the floor, barefoot. [m]
    across_m, back_m : arrays
        Head beside (camera-left positive) and behind the mark. [m]
    turn_deg, chin_deg, tip_deg : arrays
        Head against the pose of the setup. [deg]
    interpupillary_mm, bizygomatic_mm, head_breadth_mm, head_length_mm, face_height_mm,
    nose_protrusion_mm, opening_width_mm, opening_height_mm, iris_mm, cornea_mm : arrays
        Face measures. [mm]
    skin_reflectance : array
        Share of light given back. [-]
    kind, outline, rim : int arrays
        Number of the kind of lens in `LENS_KINDS`, of the outline in `OUTLINE_SHAPES`, of the
        rim in `RIMS`.
    coated : bool array
        Whether the lenses are coated.
    coating_reflectance : array
        Of one surface, used where coated. [-]
    lens_width_mm, lens_height_mm, bridge_mm, rim_width_mm : arrays
        Boxed frame. [mm]
    pupil_height_mm, vertex_distance_mm : arrays
        Fit. [mm]
    pantoscopic_tilt_deg, face_form_deg : arrays
        Fit. [deg]
    index : array
        Refractive index. [-]
    base_shift_d : array
        Front curve over what the prescription lets one expect. [D]
    sphere_d, cylinder_d, axis_deg : (n, 2) arrays
        Lenses, right and left. [D], [deg]
    """

    woman: np.ndarray
    age_years: np.ndarray
    seated_eye_m: FloatArray
    standing_eye_m: FloatArray
    across_m: FloatArray
    back_m: FloatArray
    turn_deg: FloatArray
    chin_deg: FloatArray
    tip_deg: FloatArray
    interpupillary_mm: FloatArray
    bizygomatic_mm: FloatArray
    head_breadth_mm: FloatArray
    head_length_mm: FloatArray
    face_height_mm: FloatArray
    nose_protrusion_mm: FloatArray
    opening_width_mm: FloatArray
    opening_height_mm: FloatArray
    iris_mm: FloatArray
    cornea_mm: FloatArray
    skin_reflectance: FloatArray
    kind: np.ndarray
    outline: np.ndarray
    rim: np.ndarray
    coated: np.ndarray
    coating_reflectance: FloatArray
    lens_width_mm: FloatArray
    lens_height_mm: FloatArray
    bridge_mm: FloatArray
    rim_width_mm: FloatArray
    pupil_height_mm: FloatArray
    vertex_distance_mm: FloatArray
    pantoscopic_tilt_deg: FloatArray
    face_form_deg: FloatArray
    index: FloatArray
    base_shift_d: FloatArray
    sphere_d: FloatArray
    cylinder_d: FloatArray
    axis_deg: FloatArray

    def __len__(self) -> int:
        """Return how many they are."""
        return len(self.woman)

    def only(self, chosen: slice | np.ndarray) -> "Wearers":
        """Return some of them, by slice, numbers or mask."""
        return Wearers(**{one.name: getattr(self, one.name)[chosen] for one in fields(self)})

    @property
    def spherical_equivalent_d(self) -> FloatArray:
        """Mean power of the lenses, right and left, (n, 2). [D]"""
        return self.sphere_d + self.cylinder_d / 2


def sample_wearers(population: Population, *, count: int, seed: int) -> Wearers:
    """Return wearers drawn from a population; the same seed draws the same ones.

    Parameters
    ----------
    population : Population
        Shares and spreads.
    count : int
        How many. [-]
    seed : int
        Of the random numbers.

    Notes
    -----
    The first `m` of a larger sample are not the sample of `m`: every property is drawn for all
    wearers in one go.
    """
    random = np.random.default_rng(seed)
    band = random.choice(len(population.ages), size=count, p=_wearing(population))
    low = np.array([one.from_years for one in population.ages])[band]
    high = np.array([one.to_years for one in population.ages])[band]
    age = random.integers(low, high + 1)
    woman = random.random(count) < population.women
    build = _builds(population, woman, random)
    poses = population.poses
    jitter = {
        "across_m": poses.place_m,
        "back_m": poses.place_m,
        "turn_deg": poses.turn_deg,
        "chin_deg": poses.chin_deg,
        "tip_deg": poses.tip_deg,
    }
    eyes = {
        "opening_width_mm": OPENING_WIDTH_MM,
        "opening_height_mm": OPENING_HEIGHT_MM,
        "iris_mm": IRIS_MM,
        "cornea_mm": CORNEA_MM,
    }
    drawn = {name: spread * normal(random, count) for name, spread in jitter.items()}
    drawn |= {name: mean + spread * normal(random, count) for name, (mean, spread) in eyes.items()}
    drawn["opening_height_mm"] = np.maximum(drawn["opening_height_mm"], LEAST_OPENING_MM)
    skin = population.skin_reflectance
    skin_drawn = skin + population.skin_reflectance_spread * normal(random, count)
    glasses = draw_glasses(
        population,
        random,
        age=age,
        woman=woman,
        band=band,
        wide_face=(build["bizygomatic_mm"] - _of(population, woman, "bizygomatic_mm"))
        / np.maximum(_of(population, woman, "bizygomatic_spread_mm"), 1e-9),
    )
    return Wearers(
        woman=woman,
        age_years=age,
        skin_reflectance=np.clip(skin_drawn, *SKIN_RANGE),
        **build,
        **drawn,
        **glasses,
    )


def _wearing(population: Population) -> FloatArray:
    """Return the share of each age band among the wearers."""
    parts = np.array([band.people * band.glasses for band in population.ages])
    return np.asarray(parts / parts.sum(), dtype=np.float64)


def _of(population: Population, woman: np.ndarray, name: str) -> FloatArray:
    """Return a value of the build of each wearer's sex."""
    women, men = getattr(population.women_build, name), getattr(population.men_build, name)
    return np.asarray(np.where(woman, women, men))


def _builds(
    population: Population, woman: np.ndarray, random: np.random.Generator
) -> dict[str, FloatArray]:
    """Return body and face measures that go together as they do in people."""
    count = len(woman)
    names = (
        "seated_eye",
        "standing_eye",
        "interpupillary",
        "bizygomatic",
        "head_breadth",
        "head_length",
        "face_height",
        "nose_protrusion",
    )
    white = np.stack([normal(random, count) for _ in names])
    together = white.copy()
    for sex, build in ((woman, population.women_build), (~woman, population.men_build)):
        together[:2, sex] = _sitting_standing(build) @ white[:2, sex]
        together[2:5, sex] = _face(build) @ white[2:5, sex]
    units = ["_m" if name.endswith("eye") else "_mm" for name in names]
    return {
        name + unit: _of(population, woman, name + unit)
        + _of(population, woman, f"{name}_spread{unit}") * own
        for name, unit, own in zip(names, units, together, strict=True)
    }


def _sitting_standing(build: Build) -> FloatArray:
    both = build.seated_with_standing
    matrix = np.array([[1.0, both], [both, 1.0]]) + 1e-12 * np.eye(2)
    return np.asarray(np.linalg.cholesky(matrix), dtype=np.float64)


def _face(build: Build) -> FloatArray:
    """Return the root of the correlations of eyes, face width and head breadth.

    Face and head go together by `FACE_WITH_HEAD`, or as near to it as the two correlations
    that are stated allow.
    """
    face, head = build.eyes_with_face, build.eyes_with_head
    room = np.sqrt((1.0 - face**2) * (1.0 - head**2))
    third = np.clip(FACE_WITH_HEAD, face * head - room, face * head + room)
    matrix = np.array([[1.0, face, head], [face, 1.0, third], [head, third, 1.0]])
    return np.asarray(np.linalg.cholesky(matrix + 1e-9 * np.eye(3)), dtype=np.float64)
