"""How long does one check take, once everything is imported, and where does it go?"""

import statistics
import subprocess
import sys
import time
import tomllib
from collections import defaultdict
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from functools import wraps
from importlib import import_module
from typing import Any
from unittest.mock import patch

import numpy as np

from tapemark.analysis import LensView, build_scene, view_lenses
from tapemark.anatomy import lens_margin
from tapemark.services import check, check_setup, demo_setup_text
from tapemark.studio import Setup, setup_from_mapping, setup_to_toml

_PERSON = import_module("tapemark.analysis.person_report")
BUDGET_MS = 60.0
LEAST_SAMPLES = 2000  # a lens, inside its outline
LEAST_SHOWN_MS = 0.01  # of a stage
PLACES = 12  # of the key, half a degree apart: no two checks in a row are of the same setup

FRESH = """
import sys, time
from tapemark.services import check_setup
from tapemark.studio import setup_from_toml
setup = setup_from_toml(sys.stdin.read())
start = time.perf_counter()
check_setup(setup)
print(1e3 * (time.perf_counter() - start))
"""

HAIR_STRIP = {
    "name": "hair",
    "head": "200 Ws studio head",
    "modifier": {"kind": "strip", "width": "30 cm", "height": "120 cm"},
    "place": {"distance": "1.3 m", "side": "150 deg camera-right", "height": "2.10 m"},
    "aim": "face",
    "power": "1/8",
}
WINDOW = {
    "name": "north window",
    "wall": "camera-right",
    "along": "1.5 m",
    "sill": "0.9 m",
    "width": "1.2 m",
    "height": "1.4 m",
    "luminance": "2000 cd/m2",
}
GROUP = "the demo's first setup, with two companions in glasses"
COMPANIONS = [
    {
        "name": name,
        "across": across,
        "back": "0.2 m",
        "eye_height": "1.25 m",
        "glasses": "mild short-sighted, medium frame",
    }
    for name, across in (("Tom", "0.6 m camera-right"), ("Oona", "0.6 m camera-left"))
]


@dataclass(frozen=True, kw_only=True, slots=True)
class CheckTime:
    """Times of checking one setup.

    Attributes
    ----------
    setup : str
        What it is.
    emitters : tuple of str
        What sends light in it.
    samples : int
        Lattice points inside the outline of one lens.
    median_ms, slow_ms, fresh_ms : float
        Median and ninth decile of repeated checks; median of the first check of a process.
    stages_ms : dict of str to float
        Median of each stage of the repeated checks, longest first.
    """

    setup: str
    emitters: tuple[str, ...]
    samples: int
    median_ms: float
    slow_ms: float
    fresh_ms: float
    stages_ms: dict[str, float]


def measure_check(*, runs: int, fresh_runs: int) -> list[CheckTime]:
    """Return the times for the demo's first setup, as it is and with more lights."""
    troubled = tomllib.loads(demo_setup_text("quillmere-troubled"))
    busier = {key: value for key, value in troubled.items() if key != "backdrop"}
    busier["light"] = [*troubled["light"], HAIR_STRIP]
    busier["window"] = [WINDOW]
    group = {**troubled, "companion": COMPANIONS}
    named = {
        "the demo's first setup": troubled,
        "the same with a hair strip and a window, no backdrop": busier,
    }
    timed = [_time_of(name, data, runs=runs, fresh_runs=fresh_runs) for name, data in named.items()]
    return [*timed, _time_of(GROUP, group, runs=runs // 2, fresh_runs=fresh_runs)]


def _time_of(name: str, data: dict[str, Any], *, runs: int, fresh_runs: int) -> CheckTime:
    setups = [_with_key_at(data, 38.0 + 0.5 * step) for step in range(PLACES)]
    for setup in setups:
        check_setup(setup)
    times = []
    for number in range(runs):
        start = time.perf_counter()
        check_setup(setups[number % PLACES])
        times.append(1e3 * (time.perf_counter() - start))
    scene = build_scene(setups[0])
    return CheckTime(
        setup=name,
        emitters=tuple(emitter.name for emitter in scene.emitters),
        samples=_samples(setups[0]),
        median_ms=statistics.median(times),
        slow_ms=float(np.quantile(times, 0.9)),
        fresh_ms=_fresh_ms(setups[0], runs=fresh_runs),
        stages_ms=_stages_ms(setups, runs=max(runs // 4, PLACES)),
    )


def _with_key_at(data: dict[str, Any], side_deg: float) -> Setup:
    key, *others = data["light"]
    place = {**key["place"], "side": f"{side_deg} deg camera-left"}
    return setup_from_mapping({**data, "light": [{**key, "place": place}, *others]})


def lattice_of_check(setup: Setup) -> LensView:
    """Return the camera's view of the lenses that a check of a setup works with."""
    views: list[LensView] = []

    def kept(*given: Any, **named: Any) -> LensView:
        views.append(view_lenses(*given, **named))
        return views[-1]

    with patch.object(_PERSON, "view_lenses", kept):
        check_setup(setup)
    return views[0]


def _samples(setup: Setup) -> int:
    """Return how many points of the check's lattice lie inside the outline of a lens."""
    lenses, view = build_scene(setup).lenses, lattice_of_check(setup)
    assert lenses is not None
    return int(np.count_nonzero(lens_margin(view.x[None, :], view.z[:, None], lens=lenses) > 0))


def _fresh_ms(setup: Setup, *, runs: int) -> float:
    text = setup_to_toml(setup)
    found = []
    for _ in range(runs):
        done = subprocess.run(
            [sys.executable, "-c", FRESH], input=text, capture_output=True, check=True, text=True
        )
        found.append(float(done.stdout))
    return statistics.median(found)


def _stages_ms(setups: list[Setup], *, runs: int) -> dict[str, float]:
    """Return the time in each analysis that a check calls, by the name it is called by.

    The names are looked up in the modules of the check and wrapped with a clock for the while;
    those that only call others are left out.
    """
    clocks: dict[str, list[float]] = defaultdict(list)
    with ExitStack() as stack:
        for module in (check, _PERSON):
            timed = {
                name: _clocked(value, clocks, name)
                for name, value in vars(module).items()
                if callable(value)
                and not isinstance(value, type)
                and getattr(value, "__module__", "").startswith("tapemark.analysis")
                and not getattr(value, "__module__", "").endswith(".person_report")
            }
            stack.enter_context(patch.dict(vars(module), timed))
        for number in range(runs):
            check_setup(setups[number % len(setups)])
    stages: dict[str, float] = defaultdict(float)
    for name, times in clocks.items():
        calls = len(times) / runs
        stage = "findings" if name.endswith("_findings") else name
        stages[stage] += calls * statistics.median(times)
    shown = {stage: ms for stage, ms in stages.items() if ms >= LEAST_SHOWN_MS}
    return dict(sorted(shown.items(), key=lambda item: -item[1]))


def _clocked(
    function: Callable[..., Any], clocks: dict[str, list[float]], name: str
) -> Callable[..., Any]:
    @wraps(function)
    def timed(*given: Any, **named: Any) -> Any:
        start = time.perf_counter()
        result = function(*given, **named)
        clocks[name].append(1e3 * (time.perf_counter() - start))
        return result

    return timed
