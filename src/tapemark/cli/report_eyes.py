"""The first part of a report: what the lenses show, and whether the eyes live."""

from collections.abc import Iterator

import click

from tapemark.analysis import Catchlight, LensGlare, clock_text
from tapemark.cli.lines import percent, signed
from tapemark.services import CheckReport, PersonReport
from tapemark.studio import Sitter

#: Each verdict has a sign of its own, so that it can be told without colour.
SIGNS = {"clear": "( )", "edge": "(.)", "veiled": "(#)"}
_COLORS = {"clear": "blue", "edge": "yellow", "veiled": "red"}


def eye_lines(report: CheckReport, *, color: bool) -> Iterator[str]:
    """Yield the verdicts, reflections and catchlights of everybody."""
    for one in report.people:
        if len(report.people) > 1:
            yield f"  {one.scene.sitter.name}"
        for side in ("right", "left"):
            lens = next((lens for lens in one.lenses if lens.side == side), None)
            yield _verdict_line(side, lens, color=color)
        yield from _lenses(one.lenses)
        yield from _catchlights(one)


def glasses_name(sitter: Sitter) -> str:
    """Return what the glasses of a person are called."""
    glasses = sitter.glasses
    if glasses is None:
        return "no glasses"
    if glasses.preset is None or "name" in glasses.model_fields_set:
        return glasses.name
    return glasses.preset


def _verdict_line(side: str, lens: LensGlare | None, *, color: bool) -> str:
    where = "camera-left" if side == "right" else "camera-right"
    label = f"  {side.upper() + ' EYE':<10} {'(' + where + ')':<15}"
    if lens is None:
        return f"{label} {SIGNS['clear']} no lens"
    word = f"{SIGNS[lens.verdict]} {lens.verdict.upper():<8}"
    if color:
        word = click.style(word, fg=_COLORS[lens.verdict], bold=True)
    return (
        f"{label} {word} veil {percent(lens.veil)} of the eye, "
        f"cover {percent(lens.lens_cover)} of the lens"
    )


def _lenses(lenses: tuple[LensGlare, ...]) -> Iterator[str]:
    if not any(lens.reflections for lens in lenses):
        return
    yield "  What the lenses show"
    for lens in lenses:
        for one in lens.reflections:
            yield (
                f"    {lens.side:<6} {one.source:<26} {one.surface + ' surface':<14} "
                f"eye {percent(one.veil)}  lens {percent(one.lens_cover)}  "
                f"{signed(one.stops_over_skin)} stops on skin"
            )


def _catchlights(person: PersonReport) -> Iterator[str]:
    yield "  Catchlights"
    for side in ("right", "left"):
        seen = [_catchlight(one) for one in person.catchlights if one.side == side and one.visible]
        yield f"    {side:<6} {'; '.join(seen) if seen else 'none'}"


def _catchlight(one: Catchlight) -> str:
    size = f"{one.width_mm:.1f} x {one.height_mm:.1f} mm"
    return f"{one.source} at {clock_text(one.clock)} ({size})"
