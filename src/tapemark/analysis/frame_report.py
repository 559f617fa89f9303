"""What is in the frame around the people: sharpness, background, flare, things in shot?"""

from collections.abc import Sequence
from dataclasses import dataclass

from tapemark.analysis.backdrop_light import BackdropLight
from tapemark.analysis.background import Background, background
from tapemark.analysis.background_findings import (
    background_findings,
    flare_findings,
    glow_findings,
    spill_findings,
)
from tapemark.analysis.behind_backdrop import behind_backdrop_findings
from tapemark.analysis.depth_of_field import DepthOfField, depth_of_field
from tapemark.analysis.exposure import Exposure
from tapemark.analysis.exposure_findings import setting_findings
from tapemark.analysis.finding import Finding, in_order
from tapemark.analysis.findings import data_findings
from tapemark.analysis.flare import Flare, flares
from tapemark.analysis.frame_clearance import Clearance, frame_clearances
from tapemark.analysis.framing import Framing, framing
from tapemark.analysis.framing_findings import (
    clearance_findings,
    framing_findings,
    perspective_findings,
    sharpness_findings,
)
from tapemark.analysis.person_report import PersonReport, about
from tapemark.analysis.safety import Safety
from tapemark.analysis.safety_findings import safety_findings
from tapemark.analysis.scene import Scene
from tapemark.analysis.spill import Glow, Spill, glows, spills


@dataclass(frozen=True, kw_only=True, eq=False)
class FrameReport:
    """What a check found about the frame.

    Attributes
    ----------
    framing : Framing
        How much of whom is in it.
    sharpness : DepthOfField or None
        What is sharp; None for a camera that looks away.
    clearances : tuple of Clearance
        How far lights, panels and screens keep out of it.
    behind : BackdropLight
        Light on the backdrop, place by place.
    background : Background or None
        How the backdrop comes out; None where none of it is seen.
    spills : tuple of Spill
        Which lights reach the backdrop, and from behind the face.
    glows : tuple of Glow
        Coloured light on the backdrop.
    flares : tuple of Flare
        What shines into the lens.
    findings : tuple of Finding
        About all of that.
    """

    framing: Framing
    sharpness: DepthOfField | None
    clearances: tuple[Clearance, ...]
    behind: BackdropLight
    background: Background | None
    spills: tuple[Spill, ...]
    glows: tuple[Glow, ...]
    flares: tuple[Flare, ...]
    findings: tuple[Finding, ...]


def frame_report(
    scenes: tuple[Scene, ...], *, behind: BackdropLight, readings: Sequence[Exposure]
) -> FrameReport:
    """Return what a check finds about the frame.

    Parameters
    ----------
    scenes : tuple of Scene
        About each person, the sitter first.
    behind : BackdropLight
        Light on the backdrop.
    readings : sequence of Exposure
        At each of their faces.
    """
    main, reading = scenes[0], readings[0]
    frame, sharp, clear = framing(scenes), depth_of_field(scenes), frame_clearances(main)
    seen = background(main, light=behind, reading=reading)
    spilled = spills(main, light=behind, reading=reading)
    coloured = glows(main, light=behind)
    shining = flares(main, light=behind, reading=reading)
    found = [
        *background_findings(main, seen, light=behind, spilled=spilled),
        *glow_findings(main, coloured, light=behind),
        *_on_faces(scenes, behind, readings),
        *flare_findings(main, shining),
        *framing_findings(main, frame),
        *perspective_findings(main, frame),
        *sharpness_findings(main, sharp),
        *clearance_findings(main, clear),
    ]
    return FrameReport(
        framing=frame,
        sharpness=sharp,
        clearances=clear,
        behind=behind,
        background=seen,
        spills=spilled,
        glows=coloured,
        flares=shining,
        findings=tuple(found),
    )


def _on_faces(
    scenes: tuple[Scene, ...], behind: BackdropLight, readings: Sequence[Exposure]
) -> list[Finding]:
    """Return which lights from behind reach whose nose or cheeks."""
    found: list[Finding] = []
    for scene, reading in zip(scenes, readings, strict=True):
        found += about(scene, spill_findings(scene, spills(scene, light=behind, reading=reading)))
    return found


def all_findings(
    scenes: tuple[Scene, ...],
    *,
    people: Sequence[PersonReport],
    frame: FrameReport,
    safe: Safety,
) -> tuple[Finding, ...]:
    """Return the findings about everybody, the frame and the setup, in the order of a report."""
    main = scenes[0]
    found = [finding for one in people for finding in one.findings]
    found += setting_findings(main.setup)
    found += behind_backdrop_findings(main.setup)
    found += [*frame.findings, *safety_findings(main, safe), *data_findings(main.setup)]
    return in_order(found)
