"""How long do decisions take: map, moves, plan, walk-in share, run order?

Each is asked for again and again in one process; the first answer is left out. They may use two
cores, as the budgets have it; only the walk-in share does.
"""

import os
import pkgutil
import statistics
import time
import tomllib
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, replace
from functools import partial, wraps
from typing import Any
from unittest.mock import patch

import numpy as np
from benchmarks.check_time import COMPANIONS
from benchmarks.counting import Machine, count, cpu_s, measure_machine

from tapemark.analysis import light_face
from tapemark.planning import (
    Appointment,
    MapPlace,
    RunOrder,
    SightlineMap,
    lenses_only,
    run_order,
    sightline_map,
)
from tapemark.planning.quick_lenses import QuickView, quick_view
from tapemark.planning.sightlines.mapped_light import MappedLight, mapped_light
from tapemark.services import demo_setup_text, moves_for, plan_brief, walk_ins_for
from tapemark.services.demo import demo_lists
from tapemark.studio import (
    GLASSES_PRESETS,
    Glasses,
    Setup,
    brief_from_toml,
    setup_from_mapping,
)

WEARERS, SITTERS = 2_000, 100
CORES = 2
#: What counts as a stage of each decision: module, then name, or class and name, then words.
STAGES: dict[str, tuple[tuple[str, str, str], ...]] = {
    "map": (
        ("planning.sightlines.sightline_map", "mapped_light", "rays out of the lenses"),
        (
            "planning.sightlines.map_building",
            "place_cover",
            "rays met with the light at all places",
        ),
        ("planning.sightlines.map_building", "footprints", "the light as seen from the eyes"),
        ("planning.sightlines.map_building", "eye_shares", "catchlights and shadows at the nodes"),
        ("planning.sightlines.map_building", "_patterns", "patterns"),
        ("planning.sightlines.map_building", "cheek_table", "shadows on the cheeks"),
        ("planning.sightlines.map_building", "_own_light", "light on the eyes"),
        (
            "planning.sightlines.map_building",
            "place_limits",
            "ceiling, stand, frame and what is in the way",
        ),
        ("planning.sightlines.sightline_map", "exact_place", "places looked at as a check does"),
    ),
    "moves": (
        ("planning.moves.search", "_Search._single_leads", "quick looks along all ways"),
        ("planning.moves.search", "_Search._smallest", "smallest amounts, with a check's lattice"),
        ("planning.moves.search", "light_pairs", "pairs of lights"),
        ("planning.moves.search", "pairs_of_one_light", "pairs of ways of one light"),
        (
            "planning.moves.joint_leads",
            "JointLook.clearings",
            "pairs of a light with sitter or camera",
        ),
        ("planning.moves.search", "judge", "judged in full"),
        ("planning.moves.search", "side_effects", "side effects"),
        ("planning.moves.search", "_Search._all_needed", "whether each half of a pair is needed"),
    ),
    "plan": (
        ("planning.plans.score", "Scorer.look", "first looks"),
        ("planning.plans.search", "judge", "judged in full"),
        ("planning.plans.search", "solved_powers", "powers"),
        ("planning.plans.search", "steadied", "stands and ballast"),
        ("planning.plans.search", "bounce_layouts", "lights off the ceiling"),
        ("services.plan", "plan_sheet", "marks, packing, order of building"),
        ("services.plan", "relaxations", "wishes to give up"),
    ),
    "walkins": (
        ("planning.walk_ins.share", "sample_wearers", "wearers drawn"),
        ("planning.walk_ins.wearer_looks", "faces_before", "heads, eyes and lenses"),
        ("planning.walk_ins.wearer_looks", "lens_nodes", "rays traced"),
        ("planning.walk_ins.wearer_looks", "may_show", "which lens may show which light"),
        ("planning.walk_ins.wearer_looks", "what_lenses_show", "what the lenses show"),
        ("planning.walk_ins.wearer_looks", "live_eyes", "catchlights"),
        ("planning.walk_ins.wearer_looks", "light_at_eyes", "light at the eyes"),
        ("planning.walk_ins.gaining_moves", "judge", "moves judged in full"),
    ),
    "order": (
        ("planning.run_orders.run_order", "needs_of", "what each sitter needs: lenses looked into"),
        ("planning.run_orders.run_order", "search_order", "search, proof and bound"),
        ("planning.run_orders.search", "least_re_rigging_s", "of that, the bound"),
        ("planning.run_orders.run_order", "collisions", "which appointments collide"),
    ),
}
#: The longest array work of each: words, decision, where it is looked up.
KERNELS = (
    (
        "rays met with the light at all places",
        "map",
        "tapemark.planning.sightlines.map_building.place_cover",
    ),
    ("rays traced through both lenses", "moves", "tapemark.analysis.person_report.view_lenses"),
    ("a first look", "plan", "tapemark.planning.plans.score.Scorer.look"),
    ("256 wearers' lenses", "walkins", "tapemark.planning.walk_ins.wearer_looks.what_lenses_show"),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Decision:
    """Times of one decision.

    Attributes
    ----------
    what : str
        What was decided.
    budget_s : float or None
        What it may take; None where nothing is promised.
    wall_s, cpu_s : float
        Median by the clock, and of the processor's time in all threads. [s]
    stages : tuple of (str, float)
        Shares of the processor's time. [-]
    """

    what: str
    budget_s: float | None
    wall_s: float
    cpu_s: float
    stages: tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class OneByOne:
    """The places of a map looked at one by one.

    Attributes
    ----------
    places : int
        How many places the map has.
    quick_s, check_s : float
        For one place: a first quick look at the lenses, and the lens part of a check. [s]
    """

    places: int
    quick_s: float
    check_s: float


@dataclass(frozen=True, kw_only=True, slots=True)
class OrderGap:
    """How far an order is from what no order falls short of.

    Attributes
    ----------
    sitters : int
        How many.
    found_s, listed_s : int
        Re-rigging with the appointments kept, and in the order of the list. [s]
    any_time_s, least_s : int
        Re-rigging where everybody comes at any time, and what no order falls short of. [s]
    """

    sitters: int
    found_s: int
    listed_s: int
    any_time_s: int
    least_s: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Kernel:
    """The longest piece of array work of a decision, one call of it.

    Attributes
    ----------
    what, decision : str
        What it does, and for which decision.
    time_s : float
        Median time of one call. [s]
    operations, bytes : float
        What the call asks for, see `counting`.
    """

    what: str
    decision: str
    time_s: float
    operations: float
    bytes: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Deciding:
    """Everything that was measured about decisions."""

    decisions: tuple[Decision, ...]
    one_by_one: OneByOne
    gap: OrderGap
    machine: Machine
    kernels: tuple[Kernel, ...]


def measure_deciding(*, quick: bool) -> Deciding:
    """Return the times of all decisions."""
    runs = 1 if quick else 5
    troubled = _setup()
    mapped, moved = partial(sightline_map, troubled, "key"), partial(_moves, troubled)
    group = partial(_moves, _setup(companion=COMPANIONS))
    planned = partial(plan_brief, brief_from_toml(demo_lists()["quillmere-brief.toml"]))
    walked = partial(walk_ins_for, troubled, count=WEARERS)
    shared = partial(walked, moves=False)
    sitters = sitters_of_a_day(SITTERS)
    cured = setup_from_mapping(tomllib.loads(demo_setup_text("quillmere-cured")))
    orders: list[RunOrder] = []

    def ordered() -> None:
        orders.append(_ordered(cured, sitters))

    with all_cores():
        decisions = tuple(
            _timed(what, kind, work, budget_s=budget_s, runs=many)
            for what, kind, work, budget_s, many in (
                ("map of the demo's key", "map", mapped, 0.1, 4 * runs),
                ("moves for the demo's first setup", "moves", moved, 1.0, runs),
                ("the same with two companions in glasses", "moves", group, 1.0, runs),
                ("three plans for the demo's brief", "plan", planned, 10.0, runs),
                (f"walk-in share of {WEARERS:,} wearers", "walkins", shared, 2.0, runs),
                ("the same and the change that gains most", "walkins", walked, None, runs),
                (f"run order of {SITTERS} sitters", "order", ordered, 10.0, min(runs, 3)),
            )
        )
        one_by_one = _one_by_one(troubled, places=8 if quick else 60)
    kept, free = (
        orders[-1],
        _ordered(cured, [replace(one, from_s=None, to_s=None) for one in sitters]),
    )
    gap = OrderGap(
        sitters=SITTERS,
        found_s=kept.re_rigging_s,
        listed_s=kept.list_order_s,
        any_time_s=free.re_rigging_s,
        least_s=free.least_s,
    )
    works = {"map": mapped, "moves": moved, "plan": planned, "walkins": shared}
    return Deciding(
        decisions=decisions,
        one_by_one=one_by_one,
        gap=gap,
        machine=measure_machine(runs=5 if quick else 15),
        kernels=tuple(
            _kernel(what, kind, works[kind], path, runs=5 if quick else 25)
            for what, kind, path in KERNELS
        ),
    )


@contextmanager
def all_cores() -> Iterator[None]:
    """Let this process use as many cores as the budgets are for, for a while."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, set(range(min(CORES, os.cpu_count() or 1))))
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)


def sitters_of_a_day(count: int) -> list[Appointment]:
    """Return an invented list: half in glasses, a third standing, a fifth with times."""
    random = np.random.default_rng(7)
    presets, found = list(GLASSES_PRESETS), []
    for number in range(count):
        standing = random.random() < 1 / 3
        eyes_m = random.normal(1.58, 0.07) if standing else random.normal(1.22, 0.045)
        preset = presets[random.integers(len(presets))] if random.random() < 0.5 else None
        opens = 9 * 3600 + 600 * int(random.integers(0, 80)) if random.random() < 0.2 else None
        found.append(
            Appointment(
                name=f"sitter {number + 1}",
                posture="standing" if standing else "seated",
                eye_height_m=round(float(eyes_m), 2),
                glasses=None if preset is None else Glasses(preset=preset),
                glasses_words=preset or "none",
                from_s=opens,
                to_s=None if opens is None else opens + 3 * 3600,
            )
        )
    return found


def _setup(**more: Any) -> Setup:
    return setup_from_mapping({**tomllib.loads(demo_setup_text("quillmere-troubled")), **more})


def _moves(setup: Setup) -> object:
    return moves_for(setup, best=3)


def _ordered(setup: Setup, sitters: list[Appointment]) -> RunOrder:
    return run_order(setup, sitters, start_s=9 * 3600, sitting_s=480)


def _timed(
    what: str, kind: str, work: Callable[[], object], *, budget_s: float | None, runs: int
) -> Decision:
    work()
    walls, cpus = [], []
    for _ in range(runs):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    return Decision(
        what=what,
        budget_s=budget_s,
        wall_s=statistics.median(walls),
        cpu_s=statistics.median(cpus),
        stages=_stages(kind, work),
    )


def _stages(kind: str, work: Callable[[], object]) -> tuple[tuple[str, float], ...]:
    """Return the share of the processor's time in each stage, longest first."""
    clocks: dict[str, float] = defaultdict(float)
    with ExitStack() as stack:
        for module, name, words in STAGES[kind]:
            path = f"tapemark.{module}.{name}"
            owner, _, last = path.rpartition(".")
            stack.enter_context(_clocked(owner, last, clocks, words))
        start = time.process_time()
        work()
        whole = time.process_time() - start
    shares = ((words, spent / whole) for words, spent in clocks.items())
    return tuple(sorted(shares, key=lambda one: -one[1]))


@contextmanager
def _clocked(owner: str, name: str, clocks: dict[str, float], words: str) -> Iterator[None]:
    place = pkgutil.resolve_name(_as_entry(owner))
    own = getattr(place, name)

    @wraps(own)
    def timed(*given: Any, **named: Any) -> Any:
        start = time.thread_time()
        try:
            return own(*given, **named)
        finally:
            clocks[words] += time.thread_time() - start

    with patch.object(place, name, timed):
        yield


def _as_entry(path: str) -> str:
    """Return a path in the form `module:class`, where it leads to a class."""
    module, _, last = path.rpartition(".")
    return f"{module}:{last}" if last.lstrip("_")[:1].isupper() else path


class _Enough(Exception):
    """The call that was waited for has been made."""


def _kernel(what: str, kind: str, work: Callable[[], object], path: str, *, runs: int) -> Kernel:
    """Return what one call of a function takes and asks for, as it is called on the way."""
    owner, _, name = path.rpartition(".")
    place = pkgutil.resolve_name(_as_entry(owner))
    own = getattr(place, name)
    calls: list[tuple[tuple[Any, ...], dict[str, Any]]] = []

    def caught(*given: Any, **named: Any) -> Any:
        calls.append((given, named))
        raise _Enough

    with patch.object(place, name, caught), suppress(_Enough):
        work()
    given, named = calls[0]
    time_s = cpu_s(own, *given, runs=runs, **named)
    asked = count(own, *given, **named)
    return Kernel(
        what=what, decision=kind, time_s=time_s, operations=asked.operations, bytes=asked.bytes
    )


def _one_by_one(setup: Setup, *, places: int) -> OneByOne:
    """Return how long single places of the demo's map take."""
    found, mapped = sightline_map(setup, "key"), mapped_light(setup, "key")
    rows = found.heights.rows
    random = np.random.default_rng(3)
    chosen = [
        _place(found, int(random.integers(rows.shape[0])), int(random.integers(rows.shape[1])))
        for _ in range(places)
    ]
    person = mapped.people[0]
    view = quick_view(
        person.scene,
        light=person.light,
        cameras=person.scene.camera[None],
        poses=(person.scene.pose,),
    )
    before = lenses_only(setup)

    def quick(place: MapPlace) -> object:
        return _quick_look(mapped, view, found.moved(place), place)

    def check(place: MapPlace) -> object:
        return lenses_only(found.moved(place), like=before)

    sheets = (found.heights.rows, found.floor.rows)
    return OneByOne(
        places=sum(one.shape[0] * one.shape[1] for one in sheets),
        quick_s=_each_s(quick, chosen),
        check_s=_each_s(check, chosen),
    )


def _place(found: SightlineMap, row: int, side: int) -> MapPlace:
    sheet = found.heights
    return replace(
        found.now,
        distance_m=float(sheet.rows.distance_m[row]),
        side_deg=float(sheet.rows.side_deg[side]),
        height_m=float(sheet.rows.height_m[row]),
        power_stops=min(float(sheet.power_stops[row]), 0.0),
    )


def _quick_look(mapped: MappedLight, view: QuickView, there: Setup, place: MapPlace) -> float:
    light = next(one for one in there.lights if one.name == mapped.light.name)
    length = np.hypot(place.distance_m, place.height_m - there.sitter.eye_height_m)
    brightness = float(mapped.brightness(np.array([length]))[0])
    own = replace(mapped.emitter, face=light_face(light, there), brightness=brightness)
    return float(view.excess(view.shown(own))[0])


def _each_s(work: Callable[[MapPlace], object], places: list[MapPlace]) -> float:
    work(places[0])
    start = time.process_time()
    for one in places:
        work(one)
    return (time.process_time() - start) / len(places)
