"""Write what was measured as docs/performance.md."""

import os
import platform
from importlib.metadata import version

from benchmarks.against_tracer import STATED_RATIO, Answer, Heat, Race
from benchmarks.app_drag import AppTime
from benchmarks.app_page import app_section
from benchmarks.check_time import BUDGET_MS, GROUP, LEAST_SAMPLES, CheckTime
from benchmarks.deciding import Deciding
from benchmarks.deciding_page import deciding_section
from benchmarks.picture_page import picture_section
from benchmarks.picture_time import PictureTimes
from benchmarks.sift_speed import SiftSpeed, sift_section
from benchmarks.tables import filled, table, verdict
from benchmarks.whole_process import ProcessTime

PAGE = """# Performance

Written by `make bench`; not edited by hand. All times were measured in one run, on one core with
one thread where nothing else is said, of a machine that others used at the same time: they are
medians, and good to some 10 %. The ratios are what carries over to other machines.

{machine}

## Whole commands

From pressing Enter to the last line, compiled modules and disk cache warm.

{processes}

## One check

{check_words}

{checks}

{stages}

## Against a path tracer

{race_words}

{race}

{race_notes}

{deciding}

{pictures}

{sifting}

{app}
"""

CHECK_WORDS = """`check_setup` after everything is imported: both lenses, front and back, what the
lenses would show if guessed inputs were different, catchlights, exposure, colour, modelling,
background, frame, safety, findings. Repeated checks each have the key in another place; the first
check of a process also fills the caches for the glasses and meets cold memory. Budget:
{budget:g} ms for one sitter, with at least {least:,} samples inside the outline of each lens.
Companions cost about as much again each."""

RACE_WORDS = """The question to both: which part of the two lenses, seen from the camera, shows the
key? Region error is 1 − intersection over union with our own lattice of 400 × 280 points, both
lenses and both surfaces together, mean over {places}. A converged picture by the tracer
(Mitsuba {tracer}, its plain variant, one thread) differs from that answer by {gap}. Every answer is
interpolated to the same fine grid; a place counts as lit from half of the full value. Times at
equal error are read off between the settings around it; the better one is named. Building the
scene is left out on both sides; ours includes what hides the lens and where the view through it
falls."""

RACE_NOTES = """**Whole lenses**: the picture of two clear lenses, as anybody would take it. One ray
in twenty is mirrored, so the picture is noisy; it is smoothed as far as that helps. **Taken
apart**: a picture each of the fronts and the backs as plain mirrors, all but free of noise: the
fastest use of a path tracer for this one question that we found. The stated aim, at least
{ratio:g} times faster at equal region error, is meant against whole lenses, with the lattice that
a check uses: **{verdict}**."""


def as_page(
    *,
    processes: list[ProcessTime],
    checks: list[CheckTime],
    race: Race,
    deciding: Deciding,
    pictures: PictureTimes,
    sifting: SiftSpeed,
    app: AppTime | None,
) -> str:
    """Return the page as Markdown."""
    return PAGE.format(
        machine=_machine(),
        processes=table(
            ("command", "median", "budget", ""), (_process_row(each) for each in processes)
        ),
        check_words=filled(CHECK_WORDS.format(budget=BUDGET_MS, least=LEAST_SAMPLES)),
        checks=table(
            ("setup", "emitters", "samples a lens", "median", "9 of 10", "first in a process", ""),
            (_check_row(each) for each in checks),
        ),
        stages=_stages(checks),
        race_words=RACE_WORDS.format(
            places=_counted(race.places, "place"),
            tracer=version("mitsuba"),
            gap=_percent(race.gap_of_references),
        ),
        race=table(
            ("region error", "tapemark", "whole lenses", "ratio", "taken apart", "ratio"),
            (
                _heat_row(race.as_checked, "a check's own"),
                *(_heat_row(heat, "for comparison") for heat in race.heats),
            ),
        ),
        race_notes=RACE_NOTES.format(ratio=STATED_RATIO, verdict=_race_verdict(race)),
        deciding=deciding_section(deciding),
        pictures=picture_section(pictures),
        sifting=sift_section(sifting),
        app=app_section(app),
    )


def _machine() -> str:
    packages = ", ".join(f"{name} {version(name)}" for name in ("numpy", "pydantic", "click"))
    return filled(
        f"Machine: {platform.system()} on {platform.machine()}, {os.cpu_count()} cores, one used; "
        f"Python {platform.python_version()}, {packages}."
    )


def _process_row(process: ProcessTime) -> tuple[str, ...]:
    if process.budget_s is None:
        return process.command, f"{process.median_s:.2f} s", "", ""
    kept = process.median_s <= process.budget_s
    return (
        process.command,
        f"{process.median_s:.2f} s",
        f"{process.budget_s:g} s",
        verdict(kept=kept),
    )


def _check_row(check: CheckTime) -> tuple[str, ...]:
    kept = check.median_ms <= BUDGET_MS and check.samples >= LEAST_SAMPLES
    word = "" if check.setup == GROUP else verdict(kept=kept)
    return (
        check.setup,
        f"{len(check.emitters)}: {', '.join(check.emitters)}",
        f"{check.samples:,}",
        f"{check.median_ms:.1f} ms",
        f"{check.slow_ms:.1f} ms",
        f"{check.fresh_ms:.1f} ms",
        word,
    )


def _stages(checks: list[CheckTime]) -> str:
    names = sorted({name for check in checks for name in check.stages_ms})
    names.sort(key=lambda name: -checks[0].stages_ms.get(name, 0.0))
    rows = [
        (f"`{name}`", *(f"{check.stages_ms.get(name, 0.0):.2f} ms" for check in checks))
        for name in names
    ]
    return table(("where the time goes", *(check.setup for check in checks)), rows)


def _heat_row(heat: Heat, what: str) -> tuple[str, ...]:
    return (
        f"{_percent(heat.error)}, {what}",
        _answer(heat.ours),
        _answer(heat.whole),
        _ratio(heat.whole, heat.ours),
        _answer(heat.apart),
        _ratio(heat.apart, heat.ours),
    )


def _answer(answer: Answer | None) -> str:
    if answer is None:
        return "not reached"
    digits = 0 if answer.time_ms >= 100 else 1
    return f"{answer.time_ms:,.{digits}f} ms ({answer.setting})"


def _ratio(theirs: Answer | None, ours: Answer | None) -> str:
    if theirs is None or ours is None:
        return ""
    return f"{theirs.time_ms / ours.time_ms:.0f}"


def _race_verdict(race: Race) -> str:
    ours, whole = race.as_checked.ours, race.as_checked.whole
    if ours is None or whole is None:
        return "not measured"
    ratio = whole.time_ms / ours.time_ms
    return f"{verdict(kept=ratio >= STATED_RATIO)}, {ratio:.0f} times"


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def _counted(count: int, thing: str) -> str:
    return f"one {thing} of the key" if count == 1 else f"{count} {thing}s of the key"
