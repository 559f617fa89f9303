"""Is a setup good: what do the lenses show, do the eyes live, how does it meter and model?

The same questions as a check asks, answered by the same analyses and findings, but in a form
that a search compares: verdicts, numbers, and the codes of what was found.
"""

from dataclasses import dataclass, replace

from tapemark.analysis import (
    Background,
    Catchlight,
    Exposure,
    EyeSight,
    Finding,
    Framing,
    GuessOutcome,
    GuessViews,
    LensGlare,
    Modelling,
    PersonReport,
    Scene,
    Verdict,
    all_findings,
    backdrop_light,
    frame_report,
    guess_outcomes,
    person_report,
    safety,
)
from tapemark.anatomy import Side
from tapemark.planning.lens_judge import LensesJudged, lenses_only
from tapemark.studio import Setup

Code = tuple[str, str]


@dataclass(frozen=True, kw_only=True, eq=False)
class JudgedPerson:
    """What decides whether one person comes out well.

    Attributes
    ----------
    scene : Scene
        The setup as surfaces and emitters, about this person.
    lenses : tuple of LensGlare
        Right lens, left lens; empty without glasses.
    catchlights : tuple of Catchlight
        Of both eyes, hidden ones too.
    sights : tuple of EyeSight
        What hides the eyes from the camera.
    exposure : Exposure
        Readings at the face.
    modelling : Modelling
        Pattern, ratio, shadows and sheen.
    outcomes : tuple of GuessOutcome
        What the lenses would show if a guessed input were different; empty where that was
        not asked for.
    """

    scene: Scene
    lenses: tuple[LensGlare, ...]
    catchlights: tuple[Catchlight, ...]
    sights: tuple[EyeSight, ...]
    exposure: Exposure
    modelling: Modelling
    outcomes: tuple[GuessOutcome, ...]

    @property
    def name(self) -> str:
        """Whose face it is."""
        return self.scene.sitter.name

    def seen_catchlights(self, side: Side) -> tuple[Catchlight, ...]:
        """Return the catchlights that show in one eye, the largest first."""
        own = [one for one in self.catchlights if one.side == side and one.visible]
        return tuple(sorted(own, key=lambda one: -one.width_mm * one.height_mm))


@dataclass(frozen=True, kw_only=True, eq=False)
class Judged:
    """What decides whether a setup is good.

    Attributes
    ----------
    setup : Setup
        The setup.
    seen : LensesJudged
        What the lenses of everybody show.
    people : tuple of JudgedPerson
        The sitter, then everybody else.
    background : Background or None
        How the backdrop comes out; None where none of it is seen.
    framing : Framing
        How much of whom is in the frame.
    findings : tuple of Finding
        As in a check, in its order.
    """

    setup: Setup
    seen: LensesJudged
    people: tuple[JudgedPerson, ...]
    background: Background | None
    framing: Framing
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of all lenses."""
        return self.seen.verdict

    @property
    def troubles(self) -> frozenset[Code]:
        """Code and person of everything that fails the frame."""
        return self.codes("trouble")

    @property
    def cautions(self) -> frozenset[Code]:
        """Code and person of everything to look at."""
        return self.codes("caution")

    def codes(self, *severities: str) -> frozenset[Code]:
        """Return code and person of the findings of some severities."""
        return frozenset(
            (one.code, one.sitter) for one in self.findings if one.severity in severities
        )


def judge(
    setup: Setup,
    *,
    like: Judged | LensesJudged | None = None,
    guesses: bool = True,
) -> Judged:
    """Return what decides whether a setup is good.

    Parameters
    ----------
    setup : Setup
        The setup.
    like : Judged or LensesJudged, optional
        An earlier answer for a setup that is partly the same, which saves work.
    guesses : bool
        Whether to ask if verdicts would flip within what is guessed about the glasses.

    Notes
    -----
    Verdicts, numbers and findings are those of `tapemark.services.check_setup`.
    """
    earlier = like.seen if isinstance(like, Judged) else like
    if earlier is not None and earlier.setup is setup:
        seen = earlier
    else:
        seen = lenses_only(setup, like=earlier)
    scenes = seen.scenes
    behind = backdrop_light(scenes[0])
    reports = tuple(
        person_report(one.scene, behind=behind, light=one.light, lenses=one.lenses, guesses=guesses)
        for one in seen.people
    )
    frame = frame_report(scenes, behind=behind, readings=[one.exposure for one in reports])
    return Judged(
        setup=setup,
        seen=seen,
        people=tuple(_person(one) for one in reports),
        background=frame.background,
        framing=frame.framing,
        findings=all_findings(scenes, people=reports, frame=frame, safe=safety(scenes[0])),
    )


def with_guesses(judged: Judged, *, views: tuple[GuessViews, ...]) -> Judged:
    """Return what was judged without guesses, with what the lenses would show at their ends.

    Parameters
    ----------
    judged : Judged
        A setup; its findings stay as they are.
    views : tuple of dict
        For each person: see `guess_outcomes`.
    """
    people = (
        replace(
            one,
            outcomes=guess_outcomes(seen.scene, light=seen.light, lenses=seen.lenses, views=own),
        )
        for one, seen, own in zip(judged.people, judged.seen.people, views, strict=True)
    )
    return replace(judged, people=tuple(people))


def _person(report: PersonReport) -> JudgedPerson:
    return JudgedPerson(
        scene=report.scene,
        lenses=report.lenses,
        catchlights=report.catchlights,
        sights=report.sights,
        exposure=report.exposure,
        modelling=report.modelling,
        outcomes=report.outcomes,
    )
