"""What wearers of glasses are like: lens powers, frames, how they sit, and build.

Every mean and spread has a default with its source, or a named assumption.

References
----------
Powers of the short-sighted [leipzig-refraction], of the long-sighted [clinic-refraction]; share
with a cylinder [gutenberg-refraction]; base curves [base-curve-choice]; frame sizes
[frame-size-guides]; coatings [zeiss-coating]; tilt [masaryk-spectacle-technique]; vertex distance
[gka-model-eye]; body and face measures and their correlations [ansur-ii-2012], nose [ansur88].
"""

from __future__ import annotations

from typing import Annotated, TypeAlias

from pydantic import Field

from tapemark.studio.base import Data
from tapemark.studio.glasses_facts import Outline
from tapemark.studio.kinds import angle, dioptres, length, share, small_length

__all__ = ["MEN", "WOMEN", "Build", "Fit", "Frames", "OutlineShare", "Refraction"]

_Share: TypeAlias = Annotated[float, share(0.0, 1.0)]


class OutlineShare(Data):
    """How many frames have one outline.

    Parameters
    ----------
    outline : str
        Shape of the lens.
    share : float
        Share of the frames. [-]
    """

    outline: Outline
    share: _Share


class Refraction(Data):
    """How strong the lenses are, in spherical equivalents.

    Parameters
    ----------
    short_sighted_d, short_sighted_spread_d : float
        Mean and standard deviation of the short-sighted, who reach from -0.5 D downwards in a
        gamma distribution. [D]
    long_sighted_d, long_sighted_spread_d : float
        The same of the long-sighted, from +0.5 D upwards. [D]
    addition_d : float
        What reading glasses add to the eyes' own need. [D]
    astigmatic : float
        Share with a cylinder of more than 0.5 D. [-]
    cylinder_d, cylinder_spread_d : float
        Mean and standard deviation of theirs, as minus cylinder, gamma too. [D]
    between_eyes_d : float
        Spread of the difference between both eyes. [D]
    base_curve_spread_d : float
        Spread of the front curve around what the prescription lets one expect. [D]
    """

    short_sighted_d: Annotated[float, dioptres(-10.0, -0.6)] = -2.62
    short_sighted_spread_d: Annotated[float, dioptres(0.1, 6.0)] = 2.49
    long_sighted_d: Annotated[float, dioptres(0.6, 8.0)] = 1.04
    long_sighted_spread_d: Annotated[float, dioptres(0.1, 4.0)] = 0.9
    addition_d: Annotated[float, dioptres(0.5, 4.0)] = 2.0
    astigmatic: _Share = 0.323
    cylinder_d: Annotated[float, dioptres(-6.0, -0.6)] = -1.36
    cylinder_spread_d: Annotated[float, dioptres(0.1, 3.0)] = 0.82
    between_eyes_d: Annotated[float, dioptres(0.0, 3.0)] = 0.5
    base_curve_spread_d: Annotated[float, dioptres(0.0, 3.0)] = 0.5


_OUTLINES: tuple[tuple[Outline, float], ...] = (
    ("rectangular", 0.16),
    ("soft rectangular", 0.36),
    ("square", 0.1),
    ("round", 0.1),
    ("oval", 0.08),
    ("pantoscopic", 0.1),
    ("aviator", 0.04),
    ("upswept", 0.06),
)


def _usual_outlines() -> tuple[OutlineShare, ...]:
    return tuple(OutlineShare(outline=name, share=part) for name, part in _OUTLINES)


class Frames(Data):
    """Frame sizes and rims.

    Parameters
    ----------
    women_width_mm, men_width_mm : float
        Mean boxed lens width A. [mm]
    width_spread_mm : float
        Its standard deviation within each sex. [mm]
    width_follows_face : float
        Correlation of the lens width with the width of the face, 0 to 1. [-]
    height_mm, height_spread_mm : float
        Boxed lens height B of anything but round lenses, which are almost as high as wide. [mm]
    bridge_mm, bridge_spread_mm : float
        Between the lenses. [mm]
    outlines : tuple of OutlineShare
        Which shapes; whatever is not named does not occur.
    half_rim, rimless : float
        Shares; the rest have a full rim. [-]
    rim_width_mm, rim_width_spread_mm : float
        Of full and half rims. [mm]
    coating_reflectance : float
        Median of what a coated surface gives back; half to twice that in 19 of 20. [-]
    """

    women_width_mm: Annotated[float, small_length(40.0, 64.0)] = 51.0
    men_width_mm: Annotated[float, small_length(40.0, 64.0)] = 53.5
    width_spread_mm: Annotated[float, small_length(0.0, 6.0)] = 2.5
    width_follows_face: _Share = 0.4
    height_mm: Annotated[float, small_length(22.0, 55.0)] = 37.0
    height_spread_mm: Annotated[float, small_length(0.0, 10.0)] = 5.0
    bridge_mm: Annotated[float, small_length(10.0, 26.0)] = 18.0
    bridge_spread_mm: Annotated[float, small_length(0.0, 4.0)] = 1.5
    outlines: tuple[OutlineShare, ...] = Field(
        default_factory=_usual_outlines,
        validation_alias="outline",
        serialization_alias="outline",
        max_length=20,
    )
    half_rim: _Share = 0.1
    rimless: _Share = 0.12
    rim_width_mm: Annotated[float, small_length(0.0, 10.0)] = 2.7
    rim_width_spread_mm: Annotated[float, small_length(0.0, 3.0)] = 0.8
    coating_reflectance: Annotated[float, share(0.001, 0.05)] = 0.01


class Fit(Data):
    """How glasses sit.

    Parameters
    ----------
    pantoscopic_tilt_deg, pantoscopic_tilt_spread_deg : float
        Lower rim nearer to the cheek: positive. [deg]
    face_form_deg, face_form_spread_deg : float
        Outer ends swept back: positive; sport wraps have 18 degrees. [deg]
    vertex_distance_mm, vertex_distance_spread_mm : float
        Back of the lens to the eye. [mm]
    pupil_above_middle_mm, pupil_above_middle_spread_mm : float
        Pupil over the middle of the lens box, and how differently people wear them. [mm]
    """

    pantoscopic_tilt_deg: Annotated[float, angle(-5.0, 25.0)] = 9.0
    pantoscopic_tilt_spread_deg: Annotated[float, angle(0.0, 8.0)] = 2.5
    face_form_deg: Annotated[float, angle(-5.0, 25.0)] = 5.0
    face_form_spread_deg: Annotated[float, angle(0.0, 8.0)] = 2.5
    vertex_distance_mm: Annotated[float, small_length(6.0, 25.0)] = 13.0
    vertex_distance_spread_mm: Annotated[float, small_length(0.0, 5.0)] = 1.5
    pupil_above_middle_mm: Annotated[float, small_length(-5.0, 12.0)] = 3.0
    pupil_above_middle_spread_mm: Annotated[float, small_length(0.0, 5.0)] = 1.5


class Build(Data):
    """Body and face measures of one sex, means and spreads, and what goes together.

    Parameters
    ----------
    seated_eye_m, seated_eye_spread_m : float
        Eyes above the seat. [m]
    standing_eye_m, standing_eye_spread_m : float
        Eyes above the floor, barefoot. [m]
    interpupillary_mm, interpupillary_spread_mm : float
        Between the pupils. [mm]
    bizygomatic_mm, bizygomatic_spread_mm : float
        Between the cheek bones. [mm]
    head_breadth_mm, head_breadth_spread_mm : float
        Breadth of the head. [mm]
    head_length_mm, head_length_spread_mm : float
        Brow to the back of the head. [mm]
    face_height_mm, face_height_spread_mm : float
        Chin to the root of the nose. [mm]
    nose_protrusion_mm, nose_protrusion_spread_mm : float
        Tip of the nose in front of its base. [mm]
    eyes_with_face : float
        Correlation of the distance between the pupils with the width of the face. [-]
    eyes_with_head : float
        The same with the breadth of the head. [-]
    seated_with_standing : float
        Correlation of both eye heights. [-]
    """

    seated_eye_m: Annotated[float, length(0.4, 1.0)]
    seated_eye_spread_m: Annotated[float, length(0.0, 0.2)]
    standing_eye_m: Annotated[float, length(0.9, 2.0)]
    standing_eye_spread_m: Annotated[float, length(0.0, 0.2)]
    interpupillary_mm: Annotated[float, small_length(50.0, 75.0)]
    interpupillary_spread_mm: Annotated[float, small_length(0.0, 6.0)]
    bizygomatic_mm: Annotated[float, small_length(115.0, 160.0)]
    bizygomatic_spread_mm: Annotated[float, small_length(0.0, 10.0)]
    head_breadth_mm: Annotated[float, small_length(125.0, 180.0)]
    head_breadth_spread_mm: Annotated[float, small_length(0.0, 10.0)]
    head_length_mm: Annotated[float, small_length(160.0, 230.0)]
    head_length_spread_mm: Annotated[float, small_length(0.0, 12.0)]
    face_height_mm: Annotated[float, small_length(95.0, 145.0)]
    face_height_spread_mm: Annotated[float, small_length(0.0, 10.0)]
    nose_protrusion_mm: Annotated[float, small_length(12.0, 28.0)]
    nose_protrusion_spread_mm: Annotated[float, small_length(0.0, 4.0)]
    eyes_with_face: _Share
    eyes_with_head: _Share
    seated_with_standing: _Share


WOMEN: dict[str, float] = {
    "seated_eye_m": 0.7477,
    "seated_eye_spread_m": 0.0304,
    "standing_eye_m": 1.5195,
    "standing_eye_spread_m": 0.0617,
    "interpupillary_mm": 61.7,
    "interpupillary_spread_mm": 3.6,
    "bizygomatic_mm": 133.8,
    "bizygomatic_spread_mm": 5.6,
    "head_breadth_mm": 147.8,
    "head_breadth_spread_mm": 5.2,
    "head_length_mm": 189.8,
    "head_length_spread_mm": 7.5,
    "face_height_mm": 113.1,
    "face_height_spread_mm": 6.1,
    "nose_protrusion_mm": 18.2,
    "nose_protrusion_spread_mm": 2.3,
    "eyes_with_face": 0.48,
    "eyes_with_head": 0.28,
    "seated_with_standing": 0.74,
}
MEN: dict[str, float] = {
    "seated_eye_m": 0.8045,
    "seated_eye_spread_m": 0.0332,
    "standing_eye_m": 1.6424,
    "standing_eye_spread_m": 0.0665,
    "interpupillary_mm": 64.0,
    "interpupillary_spread_mm": 3.4,
    "bizygomatic_mm": 142.6,
    "bizygomatic_spread_mm": 6.2,
    "head_breadth_mm": 154.3,
    "head_breadth_spread_mm": 5.5,
    "head_length_mm": 199.5,
    "head_length_spread_mm": 7.0,
    "face_height_mm": 122.6,
    "face_height_spread_mm": 6.7,
    "nose_protrusion_mm": 20.0,
    "nose_protrusion_spread_mm": 2.3,
    "eyes_with_face": 0.44,
    "eyes_with_head": 0.31,
    "seated_with_standing": 0.76,
}
