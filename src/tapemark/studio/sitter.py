"""The sitter: posture, eye height, which way the face points, and face measures."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, StrictBool

from tapemark.studio.appearance import Appearance
from tapemark.studio.base import Data, Name
from tapemark.studio.glasses import Glasses
from tapemark.studio.kinds import along, chin, count, length, share, side, small_length

__all__ = ["Companion", "FaceMeasures", "Sitter"]

SEATED_EYE_OVER_BODY = 0.4586  # [-] of body height, above the seat; [ansur-ii-2012], both sexes
SEATED_EYE_OVER_SEAT_M = 0.776  # [m] above the seat; [ansur-ii-2012], mean of men and women
EYE_BELOW_CROWN_M = 0.111  # [m] crown to eye; [ansur-ii-2012], mean of men and women
STANDING_EYE_M = 1.581  # [m] barefoot, derived; [ansur-ii-2012], mean of men and women
SHOE_HEEL_M = 0.025  # [m] assumed for somebody standing; from memory, not verified


class FaceMeasures(Data):
    """Measures of a face and head; defaults are means over adult women and men.

    Parameters
    ----------
    interpupillary_mm : float
        Between the pupils, looking far; spread 3.8 (standard deviation). [mm]
    head_breadth_mm : float
        Greatest breadth of the head above the ears; spread 6.3. [mm]
    head_length_mm : float
        Brow to back of the head; spread 8.7. [mm]
    face_height_mm : float
        Chin to the root of the nose; spread 8. [mm]
    nose_protrusion_mm : float
        Tip of the nose in front of its base on the lip; spread 2.7. [mm]
    bizygomatic_mm : float
        Between the cheek bones; spread 7.4. [mm]
    eye_opening_width_mm : float
        Opening between the lids, corner to corner; spread 1.5. [mm]
    eye_opening_height_mm : float
        Opening between the lids, looking ahead; spread 1.2. [mm]
    iris_mm : float
        Visible diameter of the iris; spread 0.4. [mm]
    cornea_radius_mm : float
        Radius of the front of the eye; spread 0.2. [mm]

    References
    ----------
    [ansur-ii-2012] head and face; [dodgson-2004] interpupillary; [read-2006] eye opening;
    [rufer-2005] iris; [millodot] cornea; [ansur88] nose, rounded.
    """

    interpupillary_mm: Annotated[float, small_length(40.0, 85.0)] = 63.0
    head_breadth_mm: Annotated[float, small_length(110.0, 200.0)] = 151.0
    head_length_mm: Annotated[float, small_length(140.0, 250.0)] = 195.0
    face_height_mm: Annotated[float, small_length(80.0, 160.0)] = 118.0
    nose_protrusion_mm: Annotated[float, small_length(8.0, 35.0)] = 20.0
    bizygomatic_mm: Annotated[float, small_length(100.0, 175.0)] = 138.0
    eye_opening_width_mm: Annotated[float, small_length(18.0, 36.0)] = 27.1
    eye_opening_height_mm: Annotated[float, small_length(3.0, 16.0)] = 9.7
    iris_mm: Annotated[float, small_length(9.0, 14.0)] = 11.7
    cornea_radius_mm: Annotated[float, small_length(6.5, 9.5)] = 7.8


def _default_eye_height(data: dict[str, Any]) -> float:
    body_m: float | None = data.get("body_height_m")
    if data["posture"] == "standing":
        barefoot_m = STANDING_EYE_M if body_m is None else body_m - EYE_BELOW_CROWN_M
        return barefoot_m + SHOE_HEEL_M
    above_m = SEATED_EYE_OVER_SEAT_M if body_m is None else SEATED_EYE_OVER_BODY * body_m
    return float(data["seat_height_m"]) + above_m


class Sitter(Data):
    """The person in front of the camera.

    Parameters
    ----------
    name : str
        For labels.
    posture : "seated" or "standing"
        How they pose.
    seat_height_m : float
        Height of the stool; used only to guess the eye height. [m]
    body_height_m : float, optional
        Body height, used only to guess the eye height. [m]
    eye_height_m : float
        Eyes above the floor as posed; if not stated, from body height and seat. [m]
    turn_deg : float
        Face turned from the camera mark, camera-left positive. [deg]
    chin_deg : float
        Chin up (positive) or down. [deg]
    tip_deg : float
        Top of the head tipped to camera-left (positive) or camera-right. [deg]
    gaze : "camera" or "ahead"
        Where the eyes look: into the lens, or where the nose points.
    face : FaceMeasures
        Measures of the face.
    skin_reflectance : float
        Share of the light that the skin gives back. [-]
    age_years : int, optional
        For the size of the pupil. [years]
    pupil_mm : float, optional
        Diameter of the pupil, if known. [mm]
    glasses : Glasses, optional
        What they wear.
    light_sensitive : bool
        Whether bright light is hard on them.
    photosensitive : bool
        Whether flashing light may bring on a seizure.
    look : Appearance, optional
        Hair, eyes and clothes, for the rendered picture only.

    Notes
    -----
    An eye height that is not stated is an assumption: ±0.07 m without the body height, ±0.04 m
    with it [ansur-ii-2012]. The default skin reflectance is the mean of [cooksey-2017], where
    half of the people lie between 0.34 and 0.40, and 90 % between 0.22 and 0.44.
    """

    name: Name = "sitter"
    posture: Literal["seated", "standing"] = "seated"
    seat_height_m: Annotated[float, length(0.2, 1.0)] = 0.45
    body_height_m: Annotated[float, length(0.8, 2.3)] | None = None
    eye_height_m: Annotated[float, length(0.3, 2.3, usual=(0.7, 2.1))] = Field(
        default_factory=_default_eye_height
    )
    turn_deg: Annotated[float, side(90.0)] = 0.0
    chin_deg: Annotated[float, chin(45.0)] = 0.0
    tip_deg: Annotated[float, side(45.0)] = 0.0
    gaze: Literal["camera", "ahead"] = "camera"
    face: FaceMeasures = Field(default_factory=FaceMeasures)
    skin_reflectance: Annotated[float, share(0.02, 0.8)] = 0.36
    age_years: Annotated[int, count(3, 120)] | None = None
    pupil_mm: Annotated[float, small_length(1.5, 9.0)] | None = None
    glasses: Glasses | None = None
    light_sensitive: StrictBool = False
    photosensitive: StrictBool = False
    look: Appearance | None = None

    @property
    def mark_m(self) -> tuple[float, float]:
        """Where they sit or stand on the floor, world frame. [m]"""
        return 0.0, 0.0

    @property
    def eye_height_guessed(self) -> bool:
        """Whether the eye height was not stated."""
        return "eye_height_m" not in self.model_fields_set


class Companion(Sitter):
    """Another person in the frame, beside or behind the sitter.

    Parameters
    ----------
    across_m : float
        From the sitter mark, camera-left positive. [m]
    back_m : float
        Behind the sitter mark; negative in front of it. [m]
    """

    across_m: Annotated[float, along(-10.0, 10.0)]
    back_m: Annotated[float, length(-3.0, 10.0)] = 0.0

    @property
    def mark_m(self) -> tuple[float, float]:
        """Where they sit or stand on the floor, world frame. [m]"""
        return self.across_m, -self.back_m
