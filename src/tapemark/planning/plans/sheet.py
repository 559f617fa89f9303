"""A plan as one hands it to an assistant: marks, powers, readings, packing, order, reasons."""

from dataclasses import dataclass
from typing import Any

from tapemark.analysis import Exposure, Finding, Verdict, aperture_text
from tapemark.planning.plans.build import build_order, modifier_words, packing_list, test_shots
from tapemark.planning.plans.limits import Limit, limits_of
from tapemark.planning.plans.marks import Mark, marks_of
from tapemark.planning.plans.search import KINDS, Option
from tapemark.planning.plans.wishes import ratio_of, ratio_text, spread_stops
from tapemark.studio import Brief, Setup

LETTERS = "ABCDEFGHIJKL"
COUNTS = ("no light", "one light", "two lights", "three lights", "four lights")
TIGHT = 1.0  # limits with less than ample room are told


@dataclass(frozen=True, kw_only=True, slots=True)
class LightLine:
    """One light as it is set.

    Attributes
    ----------
    name, head, modifier : str
        What it is called and made of.
    dial : str
        Power as dialled.
    power_stops : float
        The same, counted from full. [stops]
    aperture : float or None
        What the dome at the face reads of it alone, pointed at the camera; None for a light that
        does not reach the face.
    reading : str
        The same as meters show it.
    ballast_kg : float
        Sandbags on its stand. [kg]
    """

    name: str
    head: str
    modifier: str
    dial: str
    power_stops: float
    aperture: float | None
    reading: str
    ballast_kg: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """One workable setup for a brief.

    Attributes
    ----------
    letter, title : str
        What it is called.
    setup : Setup
        The setup.
    verdict : str
        The worst of all lenses.
    edge_reason : str
        Why lenses show an edge; empty where they are clear.
    pattern, face_side, ratio : str
        How the face is modelled.
    aperture : float or None
        What all lights meter together. [-]
    reading : str
        The same as meters show it.
    iso : int
        ISO speed.
    lights : tuple of LightLine
        How each is set.
    marks : tuple of Mark
        Where everything stands.
    packing, build, test_shots : tuple of str
        What to take, in which order to build, what to shoot first.
    minutes : float
        For building and testing. [min]
    why : tuple of str
        Reasons for it.
    limits : tuple of Limit
        What binds it, the tightest first.
    findings : tuple of Finding
        What the check says.
    share_clear : float or None
        Share of walk-ins who are clear without a change, where that was asked. [-]
    """

    letter: str
    title: str
    setup: Setup
    verdict: Verdict
    edge_reason: str
    pattern: str
    face_side: str
    ratio: str
    aperture: float | None
    reading: str
    iso: int
    lights: tuple[LightLine, ...]
    marks: tuple[Mark, ...]
    packing: tuple[str, ...]
    build: tuple[str, ...]
    test_shots: tuple[str, ...]
    minutes: float
    why: tuple[str, ...]
    limits: tuple[Limit, ...]
    findings: tuple[Finding, ...]
    share_clear: float | None = None


def plan_sheet(
    option: Option,
    *,
    brief: Brief,
    letter: str,
    others: tuple[Option, ...] = (),
    share_clear: float | None = None,
) -> Plan:
    """Return an option as a plan.

    Parameters
    ----------
    option : Option
        What was found.
    brief : Brief
        What was wished.
    letter : str
        What it is called.
    others : tuple of Option
        Plans named before it, from which it differs.
    share_clear : float, optional
        Share of walk-ins who are clear. [-]
    """
    judged, rig, setup = option.judged, option.rig, option.setup
    model, reading = judged.people[0].modelling, judged.people[0].exposure
    ratio, lights = ratio_text(ratio_of(judged)), _lights(option, reading)
    together = "no light" if reading.aperture is None else aperture_text(reading.aperture)
    limits = limits_of(judged, gap_chosen=rig.gap_open)
    named = model.pattern not in {"none", "flat", "rim"}
    modelled = f"{model.pattern}, {ratio}" if named else f"ratio {ratio}"
    what = {
        line.name: modifier_words(light.modifier)
        for line, light in zip(lights, setup.lights, strict=True)
    }
    readings = {line.name: line.reading for line in lights if line.reading}
    return Plan(
        letter=letter,
        title=title_of(option),
        setup=setup,
        verdict=judged.verdict,
        edge_reason=_edge_reason(option),
        pattern=model.pattern,
        face_side=model.face_side,
        ratio=ratio,
        aperture=reading.aperture,
        reading=together,
        iso=setup.camera.iso,
        lights=lights,
        marks=marks_of(setup, what=what | {one.name: "panel" for one in setup.panels}),
        packing=packing_list(rig, setup, brief=brief),
        build=build_order(rig, setup),
        test_shots=test_shots(rig, setup, readings=readings, together=together, modelled=modelled),
        minutes=option.minutes,
        why=_why(option, brief=brief, others=others),
        limits=tuple(one for one in limits if one.left < TIGHT)[:3] or limits[:1],
        findings=judged.findings,
        share_clear=share_clear,
    )


def title_of(option: Option) -> str:
    """Return what a plan is, in one line."""
    rig, model = option.rig, option.judged.people[0].modelling
    counted = COUNTS[len(rig.kits)]
    panel = {"none": "", "beside": " and a panel beside", "below": " and a panel below"}
    if rig.pattern == "bounce":
        return f"{counted} off the ceiling"
    key = rig.kits[0].modifier.name
    side = "in line with the nose" if rig.pattern in {"butterfly", "clamshell"} else _side(rig.hand)
    pattern = "" if model.pattern in {"none", "flat", "rim"} else f", {model.pattern}"
    return f"{counted}{panel[rig.panel_use]}: {key} {side}{pattern}"


def _side(hand: int) -> str:
    return "from camera-left" if hand > 0 else "from camera-right"


def _lights(option: Option, reading: Exposure) -> tuple[LightLine, ...]:
    found = []
    bounced = {one.name: one for one in reading.lights}
    for kit, light in zip(option.rig.kits, option.setup.lights, strict=True):
        own = bounced[light.name]
        aperture = _with_bounce(option, light.name, reading)
        behind = light.name.startswith("background")
        found.append(
            LightLine(
                name=light.name,
                head=kit.head.name,
                modifier=kit.modifier.name,
                dial=own.dial or "full",
                power_stops=light.power_stops,
                aperture=None if behind else aperture,
                reading="" if behind or aperture is None else aperture_text(aperture),
                ballast_kg=0.0 if light.stand is None else light.stand.ballast_kg,
            )
        )
    return tuple(found)


def _with_bounce(option: Option, name: str, reading: Exposure) -> float | None:
    """Return what a light meters alone, with the surfaces that only it lights [-]."""
    scene = option.judged.seen.scenes[0]
    total = sum(
        one.exposure_lx_s
        for emitter, one in zip(scene.emitters, reading.lights, strict=True)
        if one.name == name or (emitter.kind in ROOM and emitter.fed_by == (name,))
    )
    if total <= 0.0 or reading.aperture is None:
        return None
    return float(reading.aperture * (total / reading.exposure_lx_s) ** 0.5)


ROOM = ("ceiling", "wall", "floor")


def _edge_reason(option: Option) -> str:
    edges = [one.text for one in option.judged.findings if one.code == "lens-edge"]
    return " ".join(edges)


def _why(option: Option, *, brief: Brief, others: tuple[Option, ...]) -> tuple[str, ...]:
    """Return why this one: what it does with little, what it is safe from, how it differs."""
    rig, judged = option.rig, option.judged
    model = judged.people[0].modelling
    found = []
    if len(rig.kits) == 1 and rig.panel_use == "none":
        found.append("One light does everything that is asked for; nothing else to balance.")
    elif len(rig.kits) == 1:
        found.append("One light; a panel gives the fill without a second head to set.")
    if model.pattern not in {"none", "flat", "rim"}:
        found.append(f"{model.pattern[:1].upper()}{model.pattern[1:]}: {model.because}.")
    if any(one.glasses is not None for one in option.setup.people):
        found.append(_lens_words(option))
    if brief.ratio_range is not None:
        found.append(f"{ratio_text(ratio_of(judged))} on the face is what {brief.mood} asks for.")
    if len(judged.people) > 1:
        found.append(
            f"From person to person the light differs by {spread_stops(judged):.1f} stops."
        )
    for number, other in enumerate(others):
        found.append(f"Other than {LETTERS[number]}: {_unlike(option, other)}.")
    return tuple(found)


def _lens_words(option: Option) -> str:
    flips = any(one.code == "verdict-may-flip" for one in option.judged.findings)
    if option.judged.verdict == "clear":
        tail = (
            "but what was not stated about the glasses could change that: take the test shot"
            if flips
            else "also at the ends of what was not stated about the glasses"
        )
        glasses = sum(one.glasses is not None for one in option.setup.people)
        return f"{'Both' if glasses == 1 else 'All'} lenses stay clear, {tail}."
    return "A lens shows the edge of a light beside the eye; the eyes are free."


def _unlike(option: Option, other: Option) -> str:
    """Return in what two options differ."""
    mine: tuple[Any, ...] = option.looks
    theirs: tuple[Any, ...] = other.looks
    parts = []
    if len(mine[0]) != len(theirs[0]):
        counts = (COUNTS[len(one.rig.kits)] for one in (option, other))
        parts.append(" in place of ".join(counts))
    if mine[0][0] != theirs[0][0]:
        parts.append(f"{option.rig.kits[0].modifier.name} as key")
    elif mine[0] != theirs[0] and len(mine[0]) == len(theirs[0]):
        parts.append("other gear beside the key")
    if mine[1] != theirs[1] and mine[1] not in {"none", "flat"}:
        parts.append(f"{mine[1]} light")
    if mine[2] != theirs[2]:
        parts.append("no panel" if mine[2] == "none" else f"a panel {mine[2]}")
    if mine[3] != theirs[3]:
        parts.append("off the ceiling" if mine[3] else "not off the ceiling")
    if mine[KINDS] != theirs[KINDS]:
        parts.append("key from another side")
    if mine[KINDS + 1] != theirs[KINDS + 1]:
        parts.append("face turned otherwise")
    return ", ".join(parts) or "another place for the key"
