"""Check a setup: what the lenses show, whether the eyes live, how it meters and models."""

from dataclasses import dataclass

from tapemark.analysis import (
    Catchlight,
    Exposure,
    EyeSight,
    FaceLight,
    Finding,
    FrameReport,
    GuessOutcome,
    LensGlare,
    LightColor,
    Modelling,
    PersonReport,
    ReflectionOutline,
    Safety,
    Scene,
    Verdict,
    all_findings,
    backdrop_light,
    build_scenes,
    cover_map,
    frame_report,
    lattice_for,
    person_report,
    reflection_outlines,
    safety,
    view_lenses,
    worst_verdict,
)
from tapemark.analysis.person_report import CHECKED_POINTS
from tapemark.studio import Setup

__all__ = [
    "CHECKED_POINTS",
    "DRAWN_POINTS",
    "CheckReport",
    "PersonReport",
    "check_setup",
    "outlines_of",
]

#: Lattice points inside each lens outline, at least, for drawing.
DRAWN_POINTS = 12_000


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
        return worst_verdict(tuple(one.verdict for one in self.people))

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
    people = tuple(person_report(scene, behind=behind) for scene in scenes)
    frame = frame_report(scenes, behind=behind, readings=[one.exposure for one in people])
    safe = safety(scenes[0])
    found = all_findings(scenes, people=people, frame=frame, safe=safe)
    return CheckReport(people=people, frame=frame, safety=safe, findings=found)


def outlines_of(report: CheckReport | PersonReport) -> tuple[ReflectionOutline, ...]:
    """Return the outlines of the reflections in a report on one person, for drawing."""
    scene = report.scene
    if scene.lenses is None:
        return ()
    columns, rows = lattice_for(scene.lenses, points=DRAWN_POINTS)
    view = view_lenses(scene, scene.lenses, columns=columns, rows=rows)
    cover = cover_map(scene, view, light=report.face_light)
    return reflection_outlines(scene.lenses, view, cover)
