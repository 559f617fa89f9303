"""How much faster than a path tracer do we find where a light shows, equally well?

The question to both: which part of two lenses, seen from the camera, shows the light? Region
error is 1 - intersection over union with our converged answer, both lenses together, mean over
places of the light; how far that answer and a converged picture of the tracer's agree is given
beside. Timed is the answer alone (for us the traced lattice and what each ray meets, for the
tracer its pictures); building the scene is left out for both.

Settings are tried from cheap to dear. Times at equal error are read off between the two settings
around it, of those that none beats in both time and error, straight on logarithmic scales.

Two ways to use the tracer:

    whole lenses  the picture of two clear lenses, as anybody would take it; one ray in twenty
                  is mirrored, so that the picture is noisy, and is smoothed as far as that helps
    taken apart   a picture each of the fronts and of the backs as plain mirrors, all but free
                  of noise: the fastest use of a path tracer for this one question that we found
"""

import math
import statistics
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Any

from benchmarks.check_time import lattice_of_check
from benchmarks.regions import (
    SURFACES,
    Case,
    Masks,
    Size,
    build_case,
    our_masks,
    region_error,
    trace_ours,
    trace_pictures,
    tracer_masks,
    tracer_scenes,
)
from tests.cross.path_tracer import Family, load_tracer

EASY, HARD = 0.05, 0.012  # region errors to compare at, besides that of a check's own lattice
STATED_RATIO = 200.0  # what the project asks of itself, against whole lenses
PLACES = (
    ("22 deg camera-left", "1.35 m"),
    ("27 deg camera-left", "1.45 m"),
    ("18 deg camera-left", "1.25 m"),
)
OUR_SIZES = tuple(
    (columns, round(columns / 1.4))
    for columns in (10, 12, 14, 16, 20, 24, 28, 32, 36, 40, 48, 60, 72, 84, 100, 120)
)
#: Pixels across a lens and rays per pixel; how often a picture is smoothed.
APART = tuple(product((16, 24, 32, 40, 50, 64, 80, 100, 120, 140), (1, 4)))
WHOLE = tuple(product((40, 50, 64, 80, 100, 128, 160, 200, 256), (16, 36, 64, 100, 144)))
PASSES = (0, 1, 2, 4)
CONVERGED, CONVERGED_QUICK = (360, 9), (160, 4)


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """One way to answer: its setting in words, region error [-], time for both lenses [ms]."""

    setting: str
    error: float
    time_ms: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Heat:
    """Answers at one region error [-], read off; None where nothing tried was as good."""

    error: float
    ours: Answer | None
    whole: Answer | None
    apart: Answer | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Race:
    """What was found.

    Attributes
    ----------
    places : int
        Places of the light over which errors and times are averaged.
    gap_of_references : float
        1 - intersection over union of our converged answer and the tracer's. [-]
    as_checked : Heat
        At the error of the lattice that a check uses.
    heats : tuple of Heat
        At rounder errors.
    """

    places: int
    gap_of_references: float
    as_checked: Heat
    heats: tuple[Heat, ...]


def measure_against_tracer(*, quick: bool) -> Race:
    """Return both sides' times at equal region errors."""
    tracer = load_tracer()
    cases = [build_case(*place) for place in PLACES[: 1 if quick else None]]
    runs = 5 if quick else 25
    view = lattice_of_check(cases[0].scene.setup)
    checked = _ours(cases, (len(view.x), len(view.z)), runs=runs)
    goals = (EASY,) if quick else (EASY, HARD)
    hardest = min(*goals, checked.error)
    ours = _sweep((_ours(cases, size, runs=runs) for size in OUR_SIZES), hardest)
    whole = _sweep(_pictured(tracer, cases, ("whole",), WHOLE), hardest)
    apart = _sweep(_pictured(tracer, cases, SURFACES, APART), hardest)
    return Race(
        places=len(cases),
        gap_of_references=_gap(tracer, cases[0], CONVERGED_QUICK if quick else CONVERGED),
        as_checked=Heat(
            error=checked.error,
            ours=checked,
            whole=_read_off(whole, checked.error),
            apart=_read_off(apart, checked.error),
        ),
        heats=tuple(
            Heat(
                error=goal,
                ours=_read_off(ours, goal),
                whole=_read_off(whole, goal),
                apart=_read_off(apart, goal),
            )
            for goal in goals
        ),
    )


def _sweep(answers: Iterable[Answer], hardest: float) -> list[Answer]:
    """Return answers up to the first that reaches the hardest goal."""
    found = []
    for answer in answers:
        found.append(answer)
        if answer.error <= hardest:
            break
    return found


def _read_off(answers: list[Answer], error: float) -> Answer | None:
    """Return the answer at an error, between the unbeaten ones around it."""
    good = [answer for answer in answers if answer.error <= error]
    if not good:
        return None
    better = min(good, key=lambda answer: answer.time_ms)
    quicker = [answer for answer in answers if answer.time_ms < better.time_ms]
    if not quicker:
        return better
    worse = min(quicker, key=lambda answer: answer.error)
    share = math.log(worse.error / error) / math.log(worse.error / better.error)
    time_ms = worse.time_ms * (better.time_ms / worse.time_ms) ** share
    return Answer(setting=better.setting, error=error, time_ms=time_ms)


def _pictured(
    tracer: Any,
    cases: list[Case],
    families: tuple[Family, ...],
    settings: tuple[tuple[int, int], ...],
) -> Iterator[Answer]:
    """Yield answers from the tracer's pictures, cheapest setting first."""
    for setting in sorted(settings, key=lambda setting: setting[0] ** 2 * setting[1]):
        yield _traced(tracer, cases, families, setting)


def _ours(cases: list[Case], size: Size, *, runs: int) -> Answer:
    return Answer(
        setting=f"{size[0]} × {size[1]} lattice points a lens",
        error=_mean_error(cases, [our_masks(case, size) for case in cases]),
        time_ms=statistics.fmean(
            _median_ms(partial(trace_ours, case, size), runs=runs) for case in cases
        ),
    )


def _traced(
    tracer: Any, cases: list[Case], families: tuple[Family, ...], setting: tuple[int, int]
) -> Answer:
    times: list[float] = []
    masks: dict[int, list[Masks]] = {passes: [] for passes in PASSES}
    for case in cases:
        scenes = tracer_scenes(tracer, case, families)
        start = time.perf_counter()
        pictures = trace_pictures(tracer, case, scenes, columns=setting[0], samples=setting[1])
        times.append(1e3 * (time.perf_counter() - start))
        for passes in PASSES:
            masks[passes].append(tracer_masks(case, pictures, smoothing_passes=passes))
    return Answer(
        setting=f"{setting[0]} pixels across a lens, {setting[1]} rays a pixel",
        error=min(_mean_error(cases, answer) for answer in masks.values()),
        time_ms=statistics.fmean(times),
    )


def _gap(tracer: Any, case: Case, setting: tuple[int, int]) -> float:
    scenes = tracer_scenes(tracer, case, SURFACES)
    pictures = trace_pictures(tracer, case, scenes, columns=setting[0], samples=setting[1])
    return region_error(case, tracer_masks(case, pictures, smoothing_passes=0))


def _mean_error(cases: list[Case], answers: list[Masks]) -> float:
    return statistics.fmean(map(region_error, cases, answers))


def _median_ms(work: Callable[[], object], *, runs: int) -> float:
    work()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.median(times)
