"""A check report as text that one can read across a studio: verdicts first."""

import textwrap
from collections.abc import Iterator

import click

from tapemark.analysis import Catchlight, Exposure, LensGlare, LightReading, clock_text
from tapemark.photometry import nominal_aperture
from tapemark.services import CheckReport

WIDTH = 92
#: Each verdict has a sign of its own, so that it can be told without colour.
SIGNS = {"clear": "( )", "edge": "(.)", "veiled": "(#)"}
_COLORS = {"clear": "blue", "edge": "yellow", "veiled": "red"}
_WORDS = {"trouble": "TROUBLE", "caution": "CAUTION", "note": "note"}


def report_text(report: CheckReport, *, color: bool, assumed: bool = False) -> str:
    """Return a report as text.

    Parameters
    ----------
    report : CheckReport
        What a check found.
    color : bool
        Whether to add terminal colours; nothing depends on them.
    assumed : bool
        Whether to list what was not stated and is therefore assumed.
    """
    lines = [*_head(report, color=color), ""]
    lines += [*_lenses(report.lenses), ""] if any(one.reflections for one in report.lenses) else []
    lines += [*_eyes(report.catchlights), "", *_exposure(report.exposure, report)]
    if report.findings:
        lines += ["", *_findings(report, color=color)]
    lines += _assumptions(report, listed=assumed)
    return "\n".join(lines)


def _head(report: CheckReport, *, color: bool) -> Iterator[str]:
    setup = report.scene.setup
    yield setup.title or "Untitled setup"
    yield f"{setup.sitter.name}, {_glasses_name(report)}"
    yield ""
    for side in ("right", "left"):
        lens = next((one for one in report.lenses if one.side == side), None)
        yield _verdict_line(side, lens, color=color)


def _glasses_name(report: CheckReport) -> str:
    glasses = report.scene.setup.sitter.glasses
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
        f"{label} {word} veil {_percent(lens.veil)} of the eye, "
        f"cover {_percent(lens.lens_cover)} of the lens"
    )


def _lenses(lenses: tuple[LensGlare, ...]) -> Iterator[str]:
    yield "What the lenses show"
    for lens in lenses:
        for one in lens.reflections:
            brightness = f"{round(one.stops_over_skin, 1) + 0.0:+.1f} stops on skin"
            yield (
                f"  {lens.side:<6} {one.source:<28} {one.surface + ' surface':<14} "
                f"eye {_percent(one.veil)}  lens {_percent(one.lens_cover)}  {brightness}"
            )


def _eyes(found: tuple[Catchlight, ...]) -> Iterator[str]:
    yield "Catchlights"
    for side in ("right", "left"):
        own = [one for one in found if one.side == side]
        seen = [_catchlight(one) for one in own if one.visible]
        yield f"  {side:<6} {'; '.join(seen) if seen else 'none'}"


def _catchlight(one: Catchlight) -> str:
    size = f"{one.width_mm:.1f} x {one.height_mm:.1f} mm"
    return f"{one.source} at {clock_text(one.clock)} ({size})"


def _exposure(reading: Exposure, report: CheckReport) -> Iterator[str]:
    camera = report.scene.setup.camera
    yield f"Exposure at the face, dome to camera, ISO {camera.iso} (estimate, +0.6 to -1.5 stops)"
    for one in reading.lights:
        if one.aperture is None and one.power_stops is None:
            continue  # a backdrop, a flag: nothing to set and nothing to read
        yield f"  {one.name:<28} {_stop_number(one.aperture):<12}{_power(one)}".rstrip()
    if reading.aperture is not None and reading.stops_over is not None:
        over = reading.stops_over
        against = f"{round(over, 1) + 0.0:+.1f} stops against f/{camera.aperture:g}"
        yield f"  {'together':<28} {_stop_number(reading.aperture):<12}{against}"
    if reading.ratio is not None:
        ratio = reading.ratio
        yield (
            f"  lighting ratio {ratio.highlight_to_shadow:.1f}:1 as (key + fill) : fill, "
            f"{ratio.key} {ratio.key_over_fill_stops:+.1f} stops against the rest"
        )


def _power(one: LightReading) -> str:
    if one.power_stops is None:
        return ""
    return "full power" if one.power_stops == 0 else f"{-one.power_stops:.1f} stops below full"


def _stop_number(aperture: float | None) -> str:
    if aperture is None:
        return "no light"
    nominal = float(nominal_aperture(aperture))
    return f"f/{nominal:g}" if aperture > 0.95 * nominal else f"below f/{nominal:g}"


def _findings(report: CheckReport, *, color: bool) -> Iterator[str]:
    yield "Findings"
    for one in report.findings:
        word = f"{_WORDS[one.severity]:<8}"
        if color and one.severity == "trouble":
            word = click.style(word, fg="red", bold=True)
        yield from _wrapped(f"  {word}", one.text)
        yield from _wrapped(f"  {'':<8}", f"-> {one.what_to_do}")


def _assumptions(report: CheckReport, *, listed: bool) -> Iterator[str]:
    found = report.scene.setup.assumptions
    if not found:
        return
    yield ""
    if not listed:
        yield f"{len(found)} things were not stated and are assumed: add --assumed to see them"
        return
    yield "Assumed, because not stated"
    for one in found:
        yield from _wrapped("  -       ", one)


def _wrapped(lead: str, text: str) -> Iterator[str]:
    first, *rest = textwrap.wrap(text, WIDTH - 11) or [""]
    yield f"{lead} {first}"
    for line in rest:
        yield f"{'':<11}{line}"


def _percent(share: float) -> str:
    return f"{100 * share:4.1f} %"
