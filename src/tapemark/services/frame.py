"""Check what is in the frame around the people: sharpness, background, flare, things in shot."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tapemark.analysis import (
    BackdropLight,
    Background,
    Clearance,
    DepthOfField,
    Exposure,
    Finding,
    Flare,
    Framing,
    Glow,
    Scene,
    Spill,
    background,
    background_findings,
    clearance_findings,
    depth_of_field,
    flare_findings,
    flares,
    frame_clearances,
    framing,
    framing_findings,
    glow_findings,
    glows,
    perspective_findings,
    sharpness_findings,
    spill_findings,
    spills,
)


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


def check_frame(
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
    found = []
    for scene, reading in zip(scenes, readings, strict=True):
        own = spill_findings(scene, spills(scene, light=behind, reading=reading))
        name = scene.sitter.name if len(scenes) > 1 else ""
        found += [
            replace(one, sitter=name, text=f"{name}: {one.text}" if name else one.text)
            for one in own
        ]
    return found
