"""A check report as text that one can read across a studio: verdicts first."""

from collections.abc import Iterator

import click

from tapemark.analysis import Finding
from tapemark.cli.lines import wrapped
from tapemark.cli.report_around import background_lines, safety_lines
from tapemark.cli.report_eyes import eye_lines, glasses_name
from tapemark.cli.report_light import exposure_lines, modelling_lines
from tapemark.services import CheckReport

_WORDS = {"trouble": "TROUBLE", "caution": "CAUTION", "note": "note"}
_COUNTED = (("trouble", "troubles"), ("caution", "cautions"), ("note", "notes"))


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

    Notes
    -----
    In this order: eyes, exposure, modelling, background, safety; each with its numbers first,
    then what was found.
    """
    lines = [*_head(report)]
    sections = {
        "eyes": ("EYES", eye_lines(report, color=color)),
        "exposure": ("EXPOSURE", exposure_lines(report)),
        "modelling": ("MODELLING", modelling_lines(report)),
        "background": ("BACKGROUND AND FRAME", background_lines(report)),
        "safety": ("SAFETY", safety_lines(report)),
    }
    for topic, (title, numbers) in sections.items():
        found = [one for one in report.findings if one.topic == topic]
        body = [*numbers, *_findings(found, color=color)]
        lines += ["", title, *body] if body else []
    lines += _assumptions(report, listed=assumed)
    return "\n".join(lines)


def _head(report: CheckReport) -> Iterator[str]:
    setup = report.scene.setup
    yield setup.title or "Untitled setup"
    for one in report.people:
        yield f"{one.scene.sitter.name}, {glasses_name(one.scene.sitter)}"
    counts = [
        (sum(one.severity == word for one in report.findings), word, several)
        for word, several in _COUNTED
    ]
    told = [
        f"{count} {word if count == 1 else several}" for count, word, several in counts if count
    ]
    yield ", ".join(told) or "Nothing in the way"


def _findings(found: list[Finding], *, color: bool) -> Iterator[str]:
    for one in found:
        word = f"{_WORDS[one.severity]:<8}"
        if color and one.severity == "trouble":
            word = click.style(word, fg="red", bold=True)
        yield from wrapped(f"  {word}", one.text)
        yield from wrapped(f"  {'':<8}", f"-> {one.what_to_do}")


def _assumptions(report: CheckReport, *, listed: bool) -> Iterator[str]:
    found = report.scene.setup.assumptions
    if not found:
        return
    yield ""
    if not listed:
        things = "thing was" if len(found) == 1 else "things were"
        yield f"{len(found)} {things} not stated, but assumed: add --assumed to see"
        return
    yield "Assumed, because not stated"
    for one in found:
        yield from wrapped("  -       ", one)
