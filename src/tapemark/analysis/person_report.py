"""How does one person come out: lenses, eyes, reading, modelling, colour, and what was found?"""

from dataclasses import dataclass, replace

from tapemark.analysis.backdrop_light import BackdropLight
from tapemark.analysis.catchlights import Catchlight, catchlights
from tapemark.analysis.color import LightColor, light_color
from tapemark.analysis.color_findings import color_findings
from tapemark.analysis.cover import cover_map
from tapemark.analysis.exposure import Exposure, exposure
from tapemark.analysis.exposure_findings import exposure_findings
from tapemark.analysis.eye_sight import EyeSight, eye_sight
from tapemark.analysis.face_light import FaceLight, face_light
from tapemark.analysis.finding import Finding
from tapemark.analysis.findings import (
    catchlight_findings,
    flip_findings,
    lens_findings,
    prescription_findings,
    sight_findings,
)
from tapemark.analysis.glare import LensGlare, Verdict, lens_glare, worst_verdict
from tapemark.analysis.lens_view import LensView, lattice_for, view_lenses
from tapemark.analysis.modelling import Modelling, modelling
from tapemark.analysis.modelling_findings import modelling_findings
from tapemark.analysis.scene import Scene
from tapemark.analysis.spread import GuessOutcome, guess_outcomes

#: Lattice points inside each lens outline, at least, for a verdict.
CHECKED_POINTS = 2_000


@dataclass(frozen=True, kw_only=True, eq=False)
class PersonReport:
    """What a check found about one person.

    Attributes
    ----------
    scene : Scene
        The setup as surfaces and emitters, about this person.
    verdict : str
        The worse of both lenses.
    lenses : tuple of LensGlare
        Right lens, left lens; empty without glasses.
    sights : tuple of EyeSight
        What hides the eyes from the camera.
    catchlights : tuple of Catchlight
        Of both eyes.
    exposure : Exposure
        Readings at the face.
    face_light : FaceLight
        Light around the eyes.
    modelling : Modelling
        Pattern, ratio, shadows and sheen.
    color : LightColor
        Colour of the light on the face and behind it.
    outcomes : tuple of GuessOutcome
        What the lenses would show if a guessed input were different.
    findings : tuple of Finding
        About this person.
    """

    scene: Scene
    verdict: Verdict
    lenses: tuple[LensGlare, ...]
    sights: tuple[EyeSight, ...]
    catchlights: tuple[Catchlight, ...]
    exposure: Exposure
    face_light: FaceLight
    modelling: Modelling
    color: LightColor
    outcomes: tuple[GuessOutcome, ...]
    findings: tuple[Finding, ...]


def person_report(
    scene: Scene,
    *,
    behind: BackdropLight,
    light: FaceLight | None = None,
    lenses: tuple[LensGlare, ...] | None = None,
    guesses: bool = True,
) -> PersonReport:
    """Return everything that a check finds about one person.

    Parameters
    ----------
    scene : Scene
        About them.
    behind : BackdropLight
        Light on the backdrop.
    light : FaceLight, optional
        Light around the eyes, where it is known already.
    lenses : tuple of LensGlare, optional
        What the lenses show, where that is known already.
    guesses : bool
        Whether to ask if verdicts would flip within what is guessed about the glasses.
    """
    light = face_light(scene) if light is None else light
    lenses = shown_lenses(scene, light=light) if lenses is None else lenses
    sights = eye_sight(scene)
    eyes = catchlights(scene, light=light)
    reading = exposure(scene, light=light)
    model = modelling(scene, light=light)
    color = _color(scene, reading, model, behind)
    outcomes = guess_outcomes(scene, light=light, lenses=lenses) if guesses else ()
    found = [
        *lens_findings(scene, lenses),
        *catchlight_findings(eyes),
        *sight_findings(scene, sights),
        *flip_findings(lenses, outcomes),
        *prescription_findings(scene.sitter),
        *exposure_findings(scene, reading),
        *color_findings(scene, color),
        *modelling_findings(scene, model),
    ]
    return PersonReport(
        scene=scene,
        verdict=worst_verdict(tuple(lens.verdict for lens in lenses)),
        lenses=lenses,
        sights=sights,
        catchlights=eyes,
        exposure=reading,
        face_light=light,
        modelling=model,
        color=color,
        outcomes=outcomes,
        findings=about(scene, found),
    )


def checked_view(scene: Scene) -> LensView | None:
    """Return the camera's view of the lenses as closely as a check looks; None without glasses."""
    if scene.lenses is None:
        return None
    columns, rows = lattice_for(scene.lenses, points=CHECKED_POINTS)
    return view_lenses(scene, scene.lenses, columns=columns, rows=rows)


def shown_lenses(
    scene: Scene, *, light: FaceLight, view: LensView | None = None
) -> tuple[LensGlare, ...]:
    """Return what the lenses show: right lens, left lens; nothing without glasses.

    Parameters
    ----------
    scene : Scene
        About one person.
    light : FaceLight
        Light around the eyes.
    view : LensView, optional
        The camera's view of the lenses, where it is known already.
    """
    view = checked_view(scene) if view is None else view
    return () if view is None else lens_glare(view, cover_map(scene, view, light=light))


def about(scene: Scene, found: list[Finding]) -> tuple[Finding, ...]:
    """Return findings with the name of the person they are about, where there are several."""
    if len(scene.setup.people) == 1:
        return tuple(found)
    name = scene.sitter.name
    return tuple(replace(one, sitter=name, text=f"{name}: {one.text}") for one in found)


def _color(scene: Scene, reading: Exposure, model: Modelling, behind: BackdropLight) -> LightColor:
    """Return the colour of the light on the lit and the other cheek, and behind the sitter."""
    cheeks = sorted((model.right_cheek, model.left_cheek), key=lambda one: -one.exposure_lx_s)
    lit, shadow = (dict(one.by_source) for one in cheeks)
    amounts = behind.received.sum(axis=1)
    background = {name: float(amount) for name, amount in zip(behind.names, amounts, strict=True)}
    return light_color(
        scene, reading=reading, background=background, lit_side=lit, shadow_side=shadow
    )
