"""What a photo leaves open about a sitter, and how far each of it may be off.

Head, camera, glasses and lights are described by some two dozen numbers.  Each has a value as
written and a spread about it; the fit works with them in units of that spread.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from tapemark.anatomy import HeadPose, LensGuess, LensStack, lens_stack
from tapemark.anatomy.lens import predicted_base_curve_d
from tapemark.geometry import FloatArray, rotation_from_yaw_pitch_roll
from tapemark.photo.matching.result import Estimate, LearnedGlasses
from tapemark.studio import Glasses, Light, Sitter

HEAD = ("across_m", "forward_m", "height_m", "yaw_deg", "pitch_deg", "roll_deg")
AIM = ("pan_deg", "tilt_deg", "zoom")
#: How far both lenses are read aside of where they are: the frame of a turned head is seen aside
#: of the eyes, which the reading does not follow all the way. [mm]
OUTLINES_SPREAD_MM = 4.0
GLASSES = (
    *("interpupillary_mm", "lens_width_mm", "lens_height_mm", "bridge_mm", "pupil_height_mm"),
    *("pantoscopic_tilt_deg", "face_form_deg", "base_curve_d", "base_apart_d"),
    *("vertex_distance_mm", "slipped_mm"),
)
PLACE = ("height_m", "side_deg", "distance_m")

#: How far people sit from how they were told to: on their mark and as turned. [m], [deg]
HEAD_SPREAD = {
    "across_m": 0.04,
    "forward_m": 0.06,
    "height_m": 0.03,
    "yaw_deg": 5.0,
    "pitch_deg": 4.0,
    "roll_deg": 4.0,
}
GUESSED_HEIGHT_SPREAD_M = 0.07  # of an eye height that was not stated [ansur-ii-2012]
AIM_SPREAD_DEG = 5.0  # a camera is aimed anew for every frame
#: Of glasses: where stated, and where not. [mm], [deg], [D]
GLASSES_SPREAD = {
    "interpupillary_mm": (1.0, 3.8),
    "lens_width_mm": (0.7, 3.0),
    "lens_height_mm": (0.7, 4.0),
    "bridge_mm": (0.7, 2.0),
    "pupil_height_mm": (1.0, 2.0),
    "pantoscopic_tilt_deg": (2.0, 3.5),
    "face_form_deg": (2.0, 3.0),
    "base_curve_d": (0.3, 1.0),
    "base_apart_d": (0.15, 0.3),
    "vertex_distance_mm": (1.0, 2.0),
    "slipped_mm": (1.0, 1.5),
}
#: How far a stand is from where its tape mark says. [m], [deg], [m]
PLACE_SPREAD = {"height_m": 0.03, "side_deg": 2.0, "distance_m": 0.05}
LEAST_LEARNED_SHARE = 0.5  # of the spread of what is stated: glasses are put on anew


@dataclass(frozen=True, kw_only=True, eq=False)
class Unknowns:
    """Numbers that are to be fitted.

    Attributes
    ----------
    names : tuple of str
        Of head, aim and glasses; then of each light as ``key: height_m``.
    mean, spread : (n,) arrays
        As written, and a standard deviation, in the unit of the name.
    person : Sitter
        Whose face it is.
    glasses : Glasses
        As written.
    """

    names: tuple[str, ...]
    mean: FloatArray
    spread: FloatArray
    person: Sitter
    glasses: Glasses
    _at: Mapping[str, int] = field(init=False)

    def __post_init__(self) -> None:
        """Remember at which place each name is."""
        object.__setattr__(self, "_at", {name: place for place, name in enumerate(self.names)})

    def at(self, name: str) -> int:
        """Return the place of a number."""
        return self._at[name]

    def value(self, fit: FloatArray, name: str) -> float:
        """Return a number of a fit (n,), in the unit of its name."""
        place = self._at[name]
        return float(self.mean[place] + self.spread[place] * fit[place])

    def estimate(self, fit: FloatArray, covariance: FloatArray, name: str) -> Estimate:
        """Return a number of a fit with its spread."""
        place = self._at[name]
        spread = float(self.spread[place] * np.sqrt(max(covariance[place, place], 0.0)))
        return Estimate(value=self.value(fit, name), spread=spread)

    def pose(self, fit: FloatArray) -> HeadPose:
        """Return the head of a fit in the world."""
        across, forward, height, yaw, pitch, roll = (self.value(fit, name) for name in HEAD)
        axes = rotation_from_yaw_pitch_roll(
            np.deg2rad(yaw), pitch=np.deg2rad(pitch), roll=np.deg2rad(roll)
        )
        return HeadPose(origin=np.array([across, forward, height]), axes=axes)

    def sitter(self, fit: FloatArray) -> Sitter:
        """Return the person with the pupils of a fit, not checked anew."""
        apart = self.value(fit, "interpupillary_mm")
        face = self.person.face.model_copy(update={"interpupillary_mm": apart})
        return self.person.model_copy(update={"face": face})

    def lenses(self, fit: FloatArray, *, pose: HeadPose) -> LensStack:
        """Return the pair of lenses of a fit in the world."""
        sizes = ("lens_width_mm", "lens_height_mm", "bridge_mm", "pupil_height_mm")
        sits = ("vertex_distance_mm", "slipped_mm")
        glasses = self.glasses.model_copy(
            update={name: self.value(fit, name) for name in (*sizes, *sits)}
        )
        base, apart = (self.value(fit, name) for name in ("base_curve_d", "base_apart_d"))
        shift = base - self.mean[self.at("base_curve_d")]
        guesses = tuple(
            LensGuess(
                base_curve_shift_d=float(shift + sign * apart / 2),
                pantoscopic_tilt_deg=self.value(fit, "pantoscopic_tilt_deg"),
                face_form_deg=self.value(fit, "face_form_deg"),
            )
            for sign in (1.0, -1.0)
        )
        both = lens_stack(glasses, sitter=self.sitter(fit), pose=pose, guesses=guesses)
        return own_of_each(both)


def own_of_each(both: LensStack) -> LensStack:
    """Return the right lens of the first pair and the left lens of the second."""
    kept = np.array([0, 3])
    arrays = (
        *("outward", "optical_origin", "optical_axes", "boxed_origin", "boxed_axes"),
        *("front_curvature", "back_curvature_a", "back_curvature_b", "back_axis"),
        *("thickness_m", "index"),
    )
    return LensStack(
        **{name: getattr(both, name)[kept] for name in arrays},
        coating_reflectance=both.coating_reflectance,
        tint_transmission=both.tint_transmission,
        half_width=both.half_width,
        half_height=both.half_height,
        outline_shape=both.outline_shape,
    )


def unknowns_of(
    person: Sitter,
    *,
    glasses: Glasses,
    lights: tuple[Light, ...],
    focal_spread: float,
    learned: LearnedGlasses | None = None,
) -> Unknowns:
    """Return what is open about a person in a photo.

    Parameters
    ----------
    person, glasses : Sitter, Glasses
        As written.
    lights : tuple of Light
        Those that may show.
    focal_spread : float
        How exactly the frame is known. [-]
    learned : LearnedGlasses, optional
        What an earlier frame taught about these glasses.
    """
    found = dict(zip(HEAD, _head(person), strict=True))
    found |= {"pan_deg": (0.0, AIM_SPREAD_DEG), "tilt_deg": (0.0, AIM_SPREAD_DEG)}
    found["zoom"] = (0.0, focal_spread)
    found["outlines_mm"] = (0.0, OUTLINES_SPREAD_MM)
    found |= _glasses(person, glasses) | _learned(learned)
    for light in lights:
        written = (light.place.height_m, light.place.side_deg, light.place.distance_m)
        for name, value in zip(PLACE, written, strict=True):
            found[f"{light.name}: {name}"] = (value, PLACE_SPREAD[name])
    return Unknowns(
        names=tuple(found),
        mean=np.array([value for value, _ in found.values()]),
        spread=np.array([spread for _, spread in found.values()]),
        person=person,
        glasses=glasses,
    )


def _head(person: Sitter) -> list[tuple[float, float]]:
    values = (
        *person.mark_m,
        person.eye_height_m,
        *(person.turn_deg, person.chin_deg, person.tip_deg),
    )
    spreads = dict(HEAD_SPREAD)
    if person.eye_height_guessed:
        spreads["height_m"] = GUESSED_HEIGHT_SPREAD_M
    return list(zip(values, spreads.values(), strict=True))


def _glasses(person: Sitter, glasses: Glasses) -> dict[str, tuple[float, float]]:
    pair = (glasses.assumed_right, glasses.assumed_left)
    bases = [predicted_base_curve_d(glasses, prescription=one) for one in pair]
    values = {
        "interpupillary_mm": person.face.interpupillary_mm,
        "pupil_height_mm": glasses.assumed_pupil_height_mm,
        "base_curve_d": sum(bases) / 2,
        "base_apart_d": 0.0,
    }
    stated = set(glasses.model_fields_set)
    if "interpupillary_mm" in person.face.model_fields_set:
        stated.add("interpupillary_mm")
    if "base_curve" in glasses.guessed:
        stated.discard("base_curve_d")
    return {
        name: (
            float(values[name] if name in values else getattr(glasses, name)),
            GLASSES_SPREAD[name][0 if name in stated else 1],
        )
        for name in GLASSES
    }


def _learned(learned: LearnedGlasses | None) -> dict[str, tuple[float, float]]:
    if learned is None:
        return {}
    found = {}
    for name in LearnedGlasses.__slots__:
        one: Estimate = getattr(learned, name)
        least = LEAST_LEARNED_SHARE * GLASSES_SPREAD[name][0]
        found[name] = (one.value, max(one.spread, least))
    return found
