"""Check a setup: what the lenses show, whether the eyes live, how it meters and models."""

from dataclasses import dataclass, replace

from tapemark.analysis import (
    BackdropLight,
    Catchlight,
    Exposure,
    EyeSight,
    FaceLight,
    Finding,
    GuessOutcome,
    LensGlare,
    LightColor,
    Modelling,
    ReflectionOutline,
    Safety,
    Scene,
    Verdict,
    backdrop_light,
    build_scenes,
    catchlight_findings,
    catchlights,
    color_findings,
    cover_map,
    data_findings,
    exposure,
    exposure_findings,
    eye_sight,
    face_light,
    flip_findings,
    guess_outcomes,
    in_order,
    lattice_for,
    lens_findings,
    lens_glare,
    light_color,
    modelling,
    modelling_findings,
    prescription_findings,
    reflection_outlines,
    safety,
    safety_findings,
    setting_findings,
    sight_findings,
    view_lenses,
)
from tapemark.services.frame import FrameReport, check_frame
from tapemark.studio import Setup

#: Lattice points inside each lens outline, at least: for the verdict, for drawing.
CHECKED_POINTS, DRAWN_POINTS = 2_000, 12_000

_WORST_FIRST: tuple[Verdict, ...] = ("veiled", "edge", "clear")


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


@dataclass(frozen=True, kw_only=True, eq=False)
class CheckReport:
    """Everything a check found.

    Attributes
    ----------
    people : tuple of PersonReport
        The sitter, then everybody else in the setup.
    frame : FrameReport
        What is in the frame around them.
    safety : Safety
        What could fall, trip, overload, burn or flash too often.
    findings : tuple of Finding
        About everybody and the setup, in the order of the report.
    """

    people: tuple[PersonReport, ...]
    frame: FrameReport
    safety: Safety
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of all lenses."""
        return min((one.verdict for one in self.people), key=_WORST_FIRST.index)

    @property
    def scene(self) -> Scene:
        """The scene about the sitter."""
        return self.people[0].scene

    @property
    def lenses(self) -> tuple[LensGlare, ...]:
        """What the sitter's lenses show."""
        return self.people[0].lenses

    @property
    def sights(self) -> tuple[EyeSight, ...]:
        """What hides the sitter's eyes from the camera."""
        return self.people[0].sights

    @property
    def catchlights(self) -> tuple[Catchlight, ...]:
        """The sitter's catchlights."""
        return self.people[0].catchlights

    @property
    def exposure(self) -> Exposure:
        """Readings at the sitter's face."""
        return self.people[0].exposure

    @property
    def face_light(self) -> FaceLight:
        """Light around the sitter's eyes."""
        return self.people[0].face_light

    @property
    def modelling(self) -> Modelling:
        """How the sitter's face is modelled."""
        return self.people[0].modelling

    @property
    def color(self) -> LightColor:
        """Colour of the light on the sitter's face."""
        return self.people[0].color

    @property
    def outcomes(self) -> tuple[GuessOutcome, ...]:
        """What the sitter's lenses would show if a guessed input were different."""
        return self.people[0].outcomes

    @property
    def found_trouble(self) -> bool:
        """Whether any finding is trouble."""
        return any(finding.severity == "trouble" for finding in self.findings)


def check_setup(setup: Setup) -> CheckReport:
    """Return everything a check of a setup finds, about each person in it and around them."""
    scenes = build_scenes(setup)
    behind = backdrop_light(scenes[0])
    people = tuple(_check_person(scene, behind) for scene in scenes)
    frame = check_frame(scenes, behind=behind, readings=[one.exposure for one in people])
    safe = safety(scenes[0])
    found = [finding for one in people for finding in one.findings]
    found += setting_findings(setup)
    found += [*frame.findings, *safety_findings(scenes[0], safe), *data_findings(setup)]
    return CheckReport(people=people, frame=frame, safety=safe, findings=in_order(found))


def _check_person(scene: Scene, behind: BackdropLight) -> PersonReport:
    light = face_light(scene)
    lenses = _lenses(scene, light)
    sights = eye_sight(scene)
    eyes = catchlights(scene, light=light)
    reading = exposure(scene, light=light)
    model = modelling(scene, light=light)
    color = _color(scene, reading, model, behind)
    outcomes = guess_outcomes(scene, light=light, lenses=lenses)
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
    verdicts = [lens.verdict for lens in lenses] or ["clear"]
    return PersonReport(
        scene=scene,
        verdict=min(verdicts, key=_WORST_FIRST.index),
        lenses=lenses,
        sights=sights,
        catchlights=eyes,
        exposure=reading,
        face_light=light,
        modelling=model,
        color=color,
        outcomes=outcomes,
        findings=_about(scene, found),
    )


def _color(scene: Scene, reading: Exposure, model: Modelling, behind: BackdropLight) -> LightColor:
    """Return the colour of the light on the lit and the other cheek, and behind the sitter."""
    cheeks = sorted((model.right_cheek, model.left_cheek), key=lambda one: -one.exposure_lx_s)
    lit, shadow = (dict(one.by_source) for one in cheeks)
    amounts = behind.received.sum(axis=1)
    background = {name: float(amount) for name, amount in zip(behind.names, amounts, strict=True)}
    return light_color(
        scene, reading=reading, background=background, lit_side=lit, shadow_side=shadow
    )


def _about(scene: Scene, found: list[Finding]) -> tuple[Finding, ...]:
    """Return findings with the name of the person they are about, where there are several."""
    if len(scene.setup.people) == 1:
        return tuple(found)
    name = scene.sitter.name
    return tuple(replace(one, sitter=name, text=f"{name}: {one.text}") for one in found)


def outlines_of(report: CheckReport | PersonReport) -> tuple[ReflectionOutline, ...]:
    """Return the outlines of the reflections in a report on one person, for drawing."""
    scene = report.scene
    if scene.lenses is None:
        return ()
    columns, rows = lattice_for(scene.lenses, points=DRAWN_POINTS)
    view = view_lenses(scene, scene.lenses, columns=columns, rows=rows)
    cover = cover_map(scene, view, light=report.face_light)
    return reflection_outlines(scene.lenses, view, cover)


def _lenses(scene: Scene, light: FaceLight) -> tuple[LensGlare, ...]:
    if scene.lenses is None:
        return ()
    columns, rows = lattice_for(scene.lenses, points=CHECKED_POINTS)
    view = view_lenses(scene, scene.lenses, columns=columns, rows=rows)
    cover = cover_map(scene, view, light=light)
    return lens_glare(view, cover)
