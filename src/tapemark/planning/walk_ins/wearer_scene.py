"""One wearer of a sample before a setup, as the full check sees them.

The lights stay where the setup has them and point where it points them: at the face of the
sitter in the file, not at the wearer's.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import (
    Catchlight,
    Emitter,
    LensGlare,
    Scene,
    catchlights,
    face_light,
    shown_lenses,
)
from tapemark.anatomy import LensGuess, body_of, eyes, head_pose, head_surface, lens_stack
from tapemark.planning.walk_ins.wearer_faces import eye_heights_m
from tapemark.planning.walk_ins.wearer_glasses import OUTLINES, RIMS, SPORT_BASE_D
from tapemark.planning.walk_ins.wearers import Wearers
from tapemark.studio import (
    LENS_KINDS,
    Companion,
    FaceMeasures,
    Glasses,
    Population,
    Prescription,
    Setup,
)


@dataclass(frozen=True, kw_only=True, slots=True)
class CloseLook:
    """What the full check finds on one wearer.

    Attributes
    ----------
    lenses : tuple of LensGlare
        Right and left lens.
    catchlights : tuple of Catchlight
        Of both eyes.
    """

    lenses: tuple[LensGlare, ...]
    catchlights: tuple[Catchlight, ...]


def look_closely(scene: Scene) -> CloseLook:
    """Return what the lenses and eyes of a wearer show, worked out as in a check."""
    light = face_light(scene)
    lenses = shown_lenses(scene, light=light)
    return CloseLook(lenses=lenses, catchlights=catchlights(scene, light=light))


def wearer_scene(
    setup: Setup,
    wearers: Wearers,
    number: int,
    *,
    population: Population,
    sending: tuple[Emitter, ...],
) -> Scene:
    """Return the scene about one wearer before a setup.

    Parameters
    ----------
    setup : Setup
        As it stands.
    wearers : Wearers
        The sample.
    number : int
        Which of them, from 0.
    population : Population
        Whether the stool is set for each.
    sending : tuple of Emitter
        What sends light in the setup.
    """
    person = wearer_as_sitter(setup, wearers, number, population=population)
    assert person.glasses is not None
    pose, camera = head_pose(person), np.array(setup.camera.place.position_m)
    guess = LensGuess(base_curve_shift_d=float(wearers.base_shift_d[number]))
    return Scene(
        setup=setup,
        sitter=person,
        camera=camera,
        pose=pose,
        head=head_surface(person.face),
        eyes=eyes(person, pose=pose, looks_at=camera if person.gaze == "camera" else None),
        lenses=lens_stack(person.glasses, sitter=person, pose=pose, guesses=(guess,)),
        emitters=sending,
        body=body_of(person, pose=pose),
    )


def wearer_as_sitter(
    setup: Setup, wearers: Wearers, number: int, *, population: Population
) -> Companion:
    """Return one wearer as a person of a setup, on or near its mark."""
    one, sitter = wearers.only(np.array([number])), setup.sitter
    value = {name: float(getattr(one, name)[0]) for name in ("across_m", "back_m")}
    turned = {
        name: float(getattr(sitter, name) + getattr(one, name)[0])
        for name in ("turn_deg", "chin_deg", "tip_deg")
    }
    return Companion(
        name=f"wearer {number + 1}",
        posture=sitter.posture,
        eye_height_m=float(eye_heights_m(sitter, one, population=population)[0]),
        gaze=sitter.gaze,
        age_years=int(one.age_years[0]),
        skin_reflectance=float(one.skin_reflectance[0]),
        face=_face(one),
        glasses=_glasses(one),
        **value,
        **turned,
    )


def _face(one: Wearers) -> FaceMeasures:
    names = (
        "interpupillary",
        "head_breadth",
        "head_length",
        "face_height",
        "nose_protrusion",
        "bizygomatic",
    )
    same = {f"{name}_mm": float(getattr(one, f"{name}_mm")[0]) for name in names}
    return FaceMeasures(
        eye_opening_width_mm=float(one.opening_width_mm[0]),
        eye_opening_height_mm=float(one.opening_height_mm[0]),
        iris_mm=float(one.iris_mm[0]),
        cornea_radius_mm=float(one.cornea_mm[0]),
        **same,
    )


def _glasses(one: Wearers) -> Glasses:
    names = (
        "lens_width_mm",
        "lens_height_mm",
        "bridge_mm",
        "rim_width_mm",
        "pupil_height_mm",
        "vertex_distance_mm",
        "pantoscopic_tilt_deg",
        "face_form_deg",
        "index",
    )
    stated: dict[str, object] = {name: float(getattr(one, name)[0]) for name in names}
    if one.coated[0]:
        stated |= {
            "coating": "anti-reflective",
            "coating_reflectance": float(one.coating_reflectance[0]),
        }
    if LENS_KINDS[one.kind[0]] == "sport wrap":
        stated["base_curve_d"] = SPORT_BASE_D
    for side, name in enumerate(("right", "left")):
        stated[name] = Prescription(
            sphere_d=float(one.sphere_d[0, side]),
            cylinder_d=float(one.cylinder_d[0, side]),
            axis_deg=float(one.axis_deg[0, side]),
        )
    return Glasses.model_validate(
        {**stated, "outline": OUTLINES[one.outline[0]], "rim": RIMS[one.rim[0]]}
    )
