"""Glasses: boxed size, prescription, coating and fit, with what can be assumed where unknown."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, StrictBool, model_validator

from tapemark.errors import Problem
from tapemark.studio.base import Data, Name, from_preset, known_preset, preset_or_table, refuse
from tapemark.studio.glasses_facts import (
    ASSUMED_COATING_REFLECTANCE,
    LOOK_THROUGH_D,
    MATERIAL_INDEX,
    OUTLINE_SHAPES,
    PUPIL_ABOVE_MIDDLE_MM,
    Material,
    Outline,
)
from tapemark.studio.kinds import angle, dioptres, number, share, small_length
from tapemark.studio.presets import GLASSES_PRESETS

__all__ = ["Glasses", "Prescription"]


class Prescription(Data):
    """What one lens is ground to, as on the optician's card.

    Parameters
    ----------
    sphere_d : float
        Sphere. [D]
    cylinder_d : float
        Cylinder; minus or plus form. [D]
    axis_deg : float
        Axis of the cylinder, 0 to 180, as on the card. [deg]
    """

    sphere_d: Annotated[float, dioptres(-30.0, 25.0)]
    cylinder_d: Annotated[float, dioptres(-10.0, 10.0)] = 0.0
    axis_deg: Annotated[float, angle(0.0, 180.0)] = 180.0

    @property
    def spherical_equivalent_d(self) -> float:
        """Sphere plus half the cylinder. [D]"""
        return self.sphere_d + self.cylinder_d / 2


def _preset(field: str, otherwise: Any = None) -> Any:
    return Field(default_factory=from_preset(GLASSES_PRESETS, field, otherwise=otherwise))


def _preset_eye(field: str) -> Any:
    values = from_preset(GLASSES_PRESETS, field)

    def default(data: dict[str, Any]) -> Prescription | None:
        seen = data.get("look_through") is not None or data.get("edge") is not None
        stated = None if seen else values(data)
        return None if stated is None else Prescription(**stated)

    return Field(default_factory=default)


class Glasses(Data):
    """A pair of glasses as worn.

    Parameters
    ----------
    name : str
        For labels.
    preset : str, optional
        Trade description that gives every value not stated here.
    lens_width_mm : float
        Boxed width A: the 52 of "52-18" on the temple. [mm]
    lens_height_mm : float
        Boxed height B; rarely printed, so measure it. [mm]
    bridge_mm : float
        Between the lenses, DBL: the 18 of "52-18". [mm]
    outline : str
        Shape of the lens.
    base_curve_d : float, optional
        Front curve as opticians label it (n = 1.530), if known. [D]
    look_through : "smaller", "larger" or "unchanged", optional
        How the sitter's eyes look through the lens, where no prescription is known.
    edge : "thick" or "thin", optional
        How the edge of the lens looks.
    right : Prescription, optional
        Lens of the sitter's own right eye.
    left : Prescription, optional
        Lens of the sitter's own left eye.
    material : str
        Lens material.
    index : float, optional
        Refractive index, where it is known better than by material. [-]
    coating : "none" or "anti-reflective"
        Coating of both surfaces.
    coating_reflectance : float, optional
        Share of light that one coated surface gives back at right angles. [-]
    pantoscopic_tilt_deg : float
        Lower rim nearer to the cheek: positive. [deg]
    face_form_deg : float
        Outer ends of the frame swept back: positive. [deg]
    vertex_distance_mm : float
        Back of the lens to the front of the eye. [mm]
    pupil_height_mm : float, optional
        Pupil above the bottom of the lens box. [mm]
    rim : "full", "half" or "none"
        Where the rim goes; half leaves the lower edge free.
    rim_width_mm : float
        Width of the rim seen from the front. [mm]
    slipped_mm : float
        How far the glasses sit down the nose. [mm]
    tint_transmission : float
        Share of light that a tint lets through. [-]
    photochromic : bool
        Whether the lenses darken in daylight.
    """

    name: Name = "glasses"
    preset: Annotated[str | None, AfterValidator(known_preset(GLASSES_PRESETS))] = None
    lens_width_mm: Annotated[float, small_length(30.0, 70.0)] = _preset("lens_width_mm")
    lens_height_mm: Annotated[float, small_length(18.0, 65.0)] = _preset("lens_height_mm")
    bridge_mm: Annotated[float, small_length(8.0, 32.0)] = _preset("bridge_mm")
    outline: Outline = _preset("outline", "soft rectangular")
    base_curve_d: Annotated[float, dioptres(0.0, 12.0)] | None = _preset("base_curve_d")
    look_through: Literal["smaller", "larger", "unchanged"] | None = None
    edge: Literal["thick", "thin"] | None = None
    right: Prescription | None = _preset_eye("right")
    left: Prescription | None = _preset_eye("left")
    material: Material = _preset("material", "standard plastic")
    index: Annotated[float, number(1.4, 2.0)] | None = None
    coating: Literal["none", "anti-reflective"] = _preset("coating", "none")
    coating_reflectance: Annotated[float, share(0.0, 0.1)] | None = None
    pantoscopic_tilt_deg: Annotated[float, angle(-10.0, 30.0)] = _preset(
        "pantoscopic_tilt_deg", 8.0
    )
    face_form_deg: Annotated[float, angle(-10.0, 35.0)] = _preset("face_form_deg", 5.0)
    vertex_distance_mm: Annotated[float, small_length(4.0, 35.0)] = _preset(
        "vertex_distance_mm", 13.0
    )
    pupil_height_mm: Annotated[float, small_length(1.0, 60.0)] | None = _preset("pupil_height_mm")
    rim: Literal["full", "half", "none"] = _preset("rim", "full")
    rim_width_mm: Annotated[float, small_length(0.0, 15.0)] = _preset("rim_width_mm", 2.5)
    slipped_mm: Annotated[float, small_length(0.0, 25.0)] = 0.0
    tint_transmission: Annotated[float, share(0.02, 1.0)] = 1.0
    photochromic: StrictBool = False

    @property
    def guessed(self) -> frozenset[str]:
        """Which of ``base_curve``, ``pantoscopic_tilt``, ``face_form`` were not stated."""
        optical = {
            "base_curve": self.base_curve_d if "base_curve_d" in self.model_fields_set else None,
            "pantoscopic_tilt": "pantoscopic_tilt_deg" in self.model_fields_set or None,
            "face_form": "face_form_deg" in self.model_fields_set or None,
        }
        return frozenset(name for name, stated in optical.items() if stated is None)

    @property
    def assumed_right(self) -> Prescription:
        """The right lens: stated, else like the left, else preset or the look-through answer."""
        return self._assumed("right", "left")

    @property
    def assumed_left(self) -> Prescription:
        """The left lens: stated, else like the right, else preset or the look-through answer."""
        return self._assumed("left", "right")

    @property
    def prescription_guessed(self) -> bool:
        """Whether neither prescription was stated."""
        return self._stated("right") is None and self._stated("left") is None

    @property
    def prescription_spread_d(self) -> float:
        """How far the assumed spheres may be off, either way; 0 where stated. [D]"""
        if not self.prescription_guessed:
            return 0.0
        if self.right is not None:
            return 1.5  # typical of the ranges that the presets name
        return LOOK_THROUGH_D[self.look_through, self.edge][1]

    @property
    def refractive_index(self) -> float:
        """Index as stated, else that of the material. [-]"""
        return MATERIAL_INDEX[self.material] if self.index is None else self.index

    @property
    def assumed_coating_reflectance(self) -> float | None:
        """Reflectance of one coated surface at right angles; None for a bare lens. [-]"""
        if self.coating == "none":
            return None
        stated = self.coating_reflectance
        return ASSUMED_COATING_REFLECTANCE if stated is None else stated

    @property
    def assumed_pupil_height_mm(self) -> float:
        """Pupil above the bottom of the box: stated, else 3 mm above the middle. [mm]"""
        if self.pupil_height_mm is not None:
            return self.pupil_height_mm
        return self.lens_height_mm / 2 + PUPIL_ABOVE_MIDDLE_MM

    @property
    def outline_shape(self) -> tuple[float, float]:
        """Squareness (superellipse exponent) and taper of the outline. [-]"""
        return OUTLINE_SHAPES[self.outline]

    @property
    def assumptions(self) -> str:
        """What the preset assumes, or nothing."""
        return "" if self.preset is None else GLASSES_PRESETS[self.preset].assumptions

    def _stated(self, eye: Literal["right", "left"]) -> Prescription | None:
        if eye not in self.model_fields_set:
            return None
        return self.right if eye == "right" else self.left

    def _assumed(
        self, eye: Literal["right", "left"], other: Literal["right", "left"]
    ) -> Prescription:
        preset = self.right if eye == "right" else self.left
        found = self._stated(eye) or self._stated(other) or preset
        if found is not None:
            return found
        return Prescription(sphere_d=LOOK_THROUGH_D[self.look_through, self.edge][0])

    @model_validator(mode="before")
    @classmethod
    def _from_preset_name(cls, value: Any) -> Any:
        return preset_or_table(value)

    @model_validator(mode="after")
    def _check(self) -> Glasses:
        problems = _missing_sizes(self) or _impossible(self)
        if problems:
            raise refuse(problems)
        return self


def _missing_sizes(glasses: Glasses) -> list[Problem]:
    presets = ", ".join(f'"{name}"' for name in GLASSES_PRESETS)
    examples = {"lens_width": "52 mm", "lens_height": "36 mm", "bridge": "18 mm"}
    return [
        Problem(
            key=key,
            given="",
            allowed="a length such as " + f'"{example}"',
            advice=f'add {key} = "{example}", or a preset: {presets}',
        )
        for key, example in examples.items()
        if getattr(glasses, f"{key}_mm") is None
    ]


def _impossible(glasses: Glasses) -> list[Problem]:
    problems = []
    pupil_mm, height_mm = glasses.pupil_height_mm, glasses.lens_height_mm
    if pupil_mm is not None and not 0 < pupil_mm < height_mm:
        problems.append(
            Problem(
                key="pupil_height",
                given=f'"{pupil_mm:g} mm", with lens_height "{height_mm:g} mm"',
                allowed=f"0 to {height_mm:g} mm, inside the lens box",
                advice="measure from the bottom of the lens to the pupil, or leave it out",
            )
        )
    seen = {"smaller": -1, "larger": 1}.get(glasses.look_through or "", 0)
    for eye, stated in (("right", glasses.right), ("left", glasses.left)):
        sphere_d = 0.0 if stated is None else stated.spherical_equivalent_d
        if seen * sphere_d < 0:
            problems.append(
                Problem(
                    key="look_through",
                    given=f'"{glasses.look_through}", with {eye}.sphere "{sphere_d:+g} D"',
                    allowed='"smaller" with a minus lens, "larger" with a plus lens',
                    advice="take look_through out: the prescription says more",
                )
            )
    if glasses.coating_reflectance is not None and glasses.coating == "none":
        problems.append(
            Problem(
                key="coating_reflectance",
                given=f'{glasses.coating_reflectance:g}, with coating "none"',
                allowed='only with coating = "anti-reflective"',
                advice='write coating = "anti-reflective", or take coating_reflectance out',
            )
        )
    return problems
