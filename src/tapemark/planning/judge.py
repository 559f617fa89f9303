"""Is a setup good: what do the lenses show, do the eyes live, how does it meter and model?

The same questions as a check asks, answered by the same analyses and findings, but in a form
that a search compares: verdicts, numbers, and the codes of what was found.
"""

from dataclasses import dataclass, replace

from tapemark.analysis import (
    BackdropLight,
    Background,
    Catchlight,
    Exposure,
    EyeSight,
    Finding,
    Framing,
    GuessOutcome,
    LensGlare,
    LightColor,
    Modelling,
    Scene,
    Verdict,
    backdrop_light,
    background,
    background_findings,
    catchlight_findings,
    catchlights,
    clearance_findings,
    color_findings,
    data_findings,
    depth_of_field,
    exposure,
    exposure_findings,
    eye_sight,
    flare_findings,
    flares,
    flip_findings,
    frame_clearances,
    framing,
    framing_findings,
    glow_findings,
    glows,
    guess_outcomes,
    in_order,
    lens_findings,
    light_color,
    modelling,
    modelling_findings,
    perspective_findings,
    prescription_findings,
    safety,
    safety_findings,
    setting_findings,
    sharpness_findings,
    sight_findings,
    spill_findings,
    spills,
)
from tapemark.anatomy import Side
from tapemark.planning.lens_judge import LensesJudged, PersonLenses, lenses_only
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
    behind = backdrop_light(seen.scenes[0])
    judged = [_person(one, behind=behind, guesses=guesses) for one in seen.people]
    people = tuple(person for person, _ in judged)
    found = [finding for _, own in judged for finding in own]
    found += setting_findings(setup)
    shown = background(seen.scenes[0], light=behind, reading=people[0].exposure)
    frame = framing(seen.scenes)
    found += _frame_findings(people, behind=behind, shown=shown, frame=frame)
    safe = safety(seen.scenes[0])
    found += [*safety_findings(seen.scenes[0], safe), *data_findings(setup)]
    return Judged(
        setup=setup,
        seen=seen,
        people=people,
        background=shown,
        framing=frame,
        findings=in_order(found),
    )


def _person(
    seen: PersonLenses, *, behind: BackdropLight, guesses: bool
) -> tuple[JudgedPerson, list[Finding]]:
    """Return what is known about one person, and the findings about them."""
    scene, light = seen.scene, seen.light
    person = JudgedPerson(
        scene=scene,
        lenses=seen.lenses,
        catchlights=catchlights(scene, light=light),
        sights=eye_sight(scene),
        exposure=exposure(scene, light=light),
        modelling=modelling(scene, light=light),
        outcomes=guess_outcomes(scene, light=light, lenses=seen.lenses) if guesses else (),
    )
    found = [
        *lens_findings(scene, person.lenses),
        *catchlight_findings(person.catchlights),
        *sight_findings(scene, person.sights),
        *flip_findings(person.lenses, person.outcomes),
        *prescription_findings(scene.sitter),
        *exposure_findings(scene, person.exposure),
        *color_findings(scene, _color(person, behind)),
        *modelling_findings(scene, person.modelling),
    ]
    return person, _about(scene, found)


def _color(person: JudgedPerson, behind: BackdropLight) -> LightColor:
    """Return the colour of the light on the lit and the other cheek, and behind the sitter."""
    model = person.modelling
    cheeks = sorted((model.right_cheek, model.left_cheek), key=lambda one: -one.exposure_lx_s)
    lit, shadow = (dict(one.by_source) for one in cheeks)
    amounts = zip(behind.names, behind.received.sum(axis=1), strict=True)
    return light_color(
        person.scene,
        reading=person.exposure,
        background={name: float(amount) for name, amount in amounts},
        lit_side=lit,
        shadow_side=shadow,
    )


def _about(scene: Scene, found: list[Finding]) -> list[Finding]:
    """Return findings with the name of the person they are about, where there are several."""
    if len(scene.setup.people) == 1:
        return found
    name = scene.sitter.name
    return [replace(one, sitter=name, text=f"{name}: {one.text}") for one in found]


def _frame_findings(
    people: tuple[JudgedPerson, ...],
    *,
    behind: BackdropLight,
    shown: Background | None,
    frame: Framing,
) -> list[Finding]:
    """Return findings about sharpness, background, flare and things in the frame."""
    main, reading = people[0].scene, people[0].exposure
    spilled = spills(main, light=behind, reading=reading)
    found = [
        *background_findings(main, shown, light=behind, spilled=spilled),
        *glow_findings(main, glows(main, light=behind), light=behind),
    ]
    for one in people:
        own = spills(one.scene, light=behind, reading=one.exposure)
        found += _about(one.scene, spill_findings(one.scene, own))
    return [
        *found,
        *flare_findings(main, flares(main, light=behind, reading=reading)),
        *framing_findings(main, frame),
        *perspective_findings(main, frame),
        *sharpness_findings(main, depth_of_field(tuple(one.scene for one in people))),
        *clearance_findings(main, frame_clearances(main)),
    ]
