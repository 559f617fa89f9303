"""Check a setup: what the lenses show, whether the eyes live, how it meters."""

from dataclasses import dataclass

from tapemark.analysis import (
    Catchlight,
    Exposure,
    EyeSight,
    FaceLight,
    Finding,
    GuessOutcome,
    LensGlare,
    ReflectionOutline,
    Scene,
    Verdict,
    build_scene,
    catchlight_findings,
    catchlights,
    cover_map,
    data_findings,
    exposure,
    exposure_findings,
    eye_sight,
    face_light,
    flip_findings,
    guess_outcomes,
    lattice_for,
    lens_findings,
    lens_glare,
    reflection_outlines,
    sight_findings,
    view_lenses,
)
from tapemark.studio import Setup

#: Lattice points inside each lens outline, at least: for the verdict, for drawing.
CHECKED_POINTS, DRAWN_POINTS = 2_000, 12_000

_WORST_FIRST: tuple[Verdict, ...] = ("veiled", "edge", "clear")
_SEVERITY_ORDER = ("trouble", "caution", "note")


@dataclass(frozen=True, kw_only=True, eq=False)
class CheckReport:
    """Everything a check found.

    Attributes
    ----------
    scene : Scene
        The setup as surfaces and emitters.
    verdict : str
        The worse of both lenses.
    lenses : tuple of LensGlare
        Right lens, left lens; empty without glasses.
    sights : tuple of EyeSight
        What hides the eyes from the camera.
    catchlights : tuple of Catchlight
        Of both eyes.
    exposure : Exposure
        Readings at the sitter.
    face_light : FaceLight
        Light around the eyes.
    outcomes : tuple of GuessOutcome
        What the lenses would show if a guessed input were different.
    findings : tuple of Finding
        Most severe first.
    """

    scene: Scene
    verdict: Verdict
    lenses: tuple[LensGlare, ...]
    sights: tuple[EyeSight, ...]
    catchlights: tuple[Catchlight, ...]
    exposure: Exposure
    face_light: FaceLight
    outcomes: tuple[GuessOutcome, ...]
    findings: tuple[Finding, ...]

    @property
    def found_trouble(self) -> bool:
        """Whether any finding is trouble."""
        return any(finding.severity == "trouble" for finding in self.findings)


def check_setup(setup: Setup) -> CheckReport:
    """Return everything a check of a setup finds."""
    scene = build_scene(setup)
    light = face_light(scene)
    lenses = _lenses(scene, light)
    sights = eye_sight(scene)
    eyes = catchlights(scene, light=light)
    reading = exposure(scene, light=light)
    outcomes = guess_outcomes(scene, light=light, lenses=lenses)
    found = [
        *lens_findings(scene, lenses),
        *catchlight_findings(eyes),
        *sight_findings(scene, sights),
        *flip_findings(lenses, outcomes),
        *exposure_findings(scene, reading),
        *data_findings(scene),
    ]
    found.sort(key=lambda finding: _SEVERITY_ORDER.index(finding.severity))
    verdicts = [lens.verdict for lens in lenses] or ["clear"]
    return CheckReport(
        scene=scene,
        verdict=min(verdicts, key=_WORST_FIRST.index),
        lenses=lenses,
        sights=sights,
        catchlights=eyes,
        exposure=reading,
        face_light=light,
        outcomes=outcomes,
        findings=tuple(found),
    )


def outlines_of(report: CheckReport) -> tuple[ReflectionOutline, ...]:
    """Return the outlines of the reflections in a report, for drawing."""
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
