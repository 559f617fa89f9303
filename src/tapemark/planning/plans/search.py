"""Whole setups for a brief: different, workable, from the gear that is there.

Rigs of the trade are tried from few lights to many.  Each is searched with CMA-ES by first looks
(`plan_score`), powers are solved (`plan_powers`), and what comes out is judged in full (`judge`).
Numbers of trials are fixed and every random number comes from the seed, so that the same brief
gives the same plans on a fast and on a slow machine.
"""

import itertools
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from tapemark.analysis import Finding
from tapemark.errors import SetupError
from tapemark.geometry import FloatArray
from tapemark.planning.judge import Judged, judge
from tapemark.planning.lens_judge import lenses_only
from tapemark.planning.plans.bounce import bounce_layouts
from tapemark.planning.plans.build import minutes_for
from tapemark.planning.plans.camera import CameraChoice, choose_camera
from tapemark.planning.plans.candidates import Layout, Rig, lay_out, most_lights, rigs_of
from tapemark.planning.plans.powers import dial_choices, solved_powers, with_powers
from tapemark.planning.plans.score import WEIGHTS, FirstLook, Scorer
from tapemark.planning.plans.setup import setup_of
from tapemark.planning.plans.steady import steadied
from tapemark.planning.plans.wishes import UNNAMED, Lack, spread_stops, unmet
from tapemark.studio import Brief, Camera, Setup, changed
from tapemark.watch import Watch

if TYPE_CHECKING:
    from cmaes import CMA

SCREENED = 6  # places at which every rig is looked at first
#: Rigs that are then searched, by the number of lights.
REFINED = {1: 8, 2: 7, 3: 6, 4: 4}
POPULATION, GENERATIONS, STEP = 8, 14, 0.25
TRIED_IN_FULL = 2  # results of one search that are judged in full, if the first will not do
APART = 0.2  # of the cube: nearer results of one search count as the same
#: What is given up, in lights: the fewer and the calmer the better (assumption).
COSTS = {
    "light": 1.0,
    "panel": 0.3,
    "caution": 0.35,
    "edge": 0.6,
    "unnamed": 0.8,
    "turn": 0.15,
    "spread": 1.5,
}
ALIKE_STOPS = 0.3  # so much less light on one person than on another is not seen (assumption)
DIFFERENT = 0.3  # a further difference is worth so much, in lights
KINDS = 4  # of `Option.looks`, the first so many: gear, pattern, panel, bounce; then sides
#: What a search may cost, in first looks of about a millisecond; a judgement in full is worth so
#: many for each person. A stage leaves a share to those after it.
PLAN_BUDGET, FULL_LOOKS, STAGE_SHARE = 4500.0, 120.0, 0.5
SQUEEZED_M = 0.03  # so much of the room kept free around lights may be missing
UNLIT = 3.0  # penalty of a background beyond which more light on the face does not help
BOUNCES = 5  # places of a bounced light that are judged in full
#: A search that first looks call so bad is not judged in full.
HOPELESS = 6.0

Liking = Callable[["Option"], float]


@dataclass(frozen=True, kw_only=True, eq=False)
class Option:
    """One way to do a brief, judged in full.

    Attributes
    ----------
    rig, layout : Rig, Layout
        What is put up, and where.
    judged : Judged
        The setup, judged.
    lacks : tuple of Lack
        Wishes that it does not meet.
    look : FirstLook or None
        What the first look found.
    minutes : float
        For building and testing. [min]
    cost : float
        What it asks for and gives up, in lights. [-]
    """

    rig: Rig
    layout: Layout
    judged: Judged
    lacks: tuple[Lack, ...]
    look: FirstLook | None
    minutes: float
    cost: float

    @property
    def setup(self) -> Setup:
        """The setup."""
        return self.judged.setup

    @property
    def troubles(self) -> tuple[Finding, ...]:
        """What fails the frame."""
        return tuple(one for one in self.judged.findings if one.severity == "trouble")

    @property
    def works(self) -> bool:
        """Whether nothing fails the frame."""
        return not self.troubles

    @property
    def good(self) -> bool:
        """Whether nothing fails and every wish is met."""
        return self.works and not self.lacks

    @property
    def calm(self) -> bool:
        """Whether there is nothing to look at twice."""
        return not self.judged.cautions

    @property
    def looks(self) -> tuple[object, ...]:
        """In what one picture, or one set, differs from another."""
        rig, model = self.rig, self.judged.people[0].modelling
        return (
            tuple(kit.modifier.name for kit in rig.kits),
            model.pattern,
            rig.panel_use,
            rig.pattern == "bounce",
            0 if abs(model.azimuth_deg or 0.0) < 10.0 else rig.hand,
            float(np.sign(rig.turn_deg) * rig.hand),
        )


@dataclass(kw_only=True, eq=False)
class PlanSearch:
    """A search in progress: what it has found so far stays if it is stopped.

    Attributes
    ----------
    brief : Brief
        What is wished.
    seed : int
        Of all random numbers.
    camera : CameraChoice
        The camera.
    scorer : Scorer
        For first looks.
    options : list of Option
        Everything judged in full so far.
    watch : Watch
        Told how far it is; it may stop the search.
    interrupted : bool
        Whether somebody stopped it.
    limit : float
        What it may cost until the end of this stage, in first looks. [-]
    closest : FirstLook or None
        The best first look at anything.
    """

    brief: Brief
    seed: int
    camera: CameraChoice
    scorer: Scorer
    options: list[Option] = field(default_factory=list)
    watch: Watch = field(default_factory=Watch)
    interrupted: bool = False
    limit: float = PLAN_BUDGET
    closest: FirstLook | None = None

    def tell(self, text: str) -> None:
        """Tell how far it is, and end the search here if it was stopped."""
        self.watch.tell(text)
        self.heed()

    def heed(self) -> None:
        """End the search here if it was stopped."""
        if self.watch.stopped:
            raise Stopped

    @property
    def spent(self) -> float:
        """What the search has cost so far, in first looks."""
        people = 1 + len(self.brief.companions)
        return self.scorer.spent + FULL_LOOKS * people * len(self.options)


class Stopped(Exception):
    """Somebody ended a search; what it has found stays."""


def find_options(
    brief: Brief,
    *,
    seed: int = 0,
    count: int = 3,
    watch: Watch | None = None,
    effort: float = 1.0,
    budget: float = PLAN_BUDGET,
) -> PlanSearch:
    """Return ways to do a brief, with fewer lights first.

    Parameters
    ----------
    brief : Brief
        What is wished, and what is there.
    seed : int
        The same seed gives the same plans.
    count : int
        How many good and different ones are wanted.
    watch : Watch, optional
        Told how far it is; it may stop the search, which then keeps what it has.
    effort : float
        Share of the usual number of rigs that are searched. [-]
    budget : float
        What it may cost, in first looks. [-]
    """
    choice = choose_camera(brief)
    search = PlanSearch(
        brief=brief,
        seed=seed,
        camera=choice,
        scorer=Scorer(brief, camera=choice.camera),
        watch=Watch() if watch is None else watch,
    )
    try:
        most = most_lights(brief)
        for lights in range(1, most + 1):
            share = 1.0 if lights == most else STAGE_SHARE
            search.limit = search.spent + share * (budget - search.spent)
            _stage(search, lights=lights, effort=effort, count=count)
            if len({one.looks[:KINDS] for one in search.options if one.good}) >= count:
                break
    except Stopped:
        search.interrupted = True
    return search


def choose(options: Iterable[Option], *, count: int, liking: Liking | None = None) -> list[Option]:
    """Return good options that differ, the best first.

    Parameters
    ----------
    options : iterable of Option
        What was found.
    count : int
        How many.
    liking : callable, optional
        How well an option serves otherwise, taken off its cost. [lights]
    """
    good = [one for one in options if one.good]
    likings = {id(one): 0.0 if liking is None else liking(one) for one in good}
    chosen: list[Option] = []
    for mirrored in (False, True):  # those that only mirror another come last
        while len(chosen) < count:
            left = [one for one in good if _is_new(one, chosen, mirrored=mirrored)]
            if not left:
                break
            chosen.append(
                min(
                    left,
                    key=lambda one: (
                        one.cost
                        - likings[id(one)]
                        - min((difference(one, other) for other in chosen), default=0.0)
                    ),
                )
            )
    return sorted(chosen, key=lambda one: len(one.rig.kits))


def difference(one: Option, other: Option) -> float:
    """Return how much the difference between two options is worth [lights]."""
    return DIFFERENT * sum(a != b for a, b in zip(one.looks, other.looks, strict=True))


def _is_new(one: Option, chosen: list[Option], *, mirrored: bool) -> bool:
    """Return whether an option is another than those chosen: by gear, pattern or panel."""
    if mirrored:
        return all(one.looks != other.looks for other in chosen)
    return all(one.looks[:KINDS] != other.looks[:KINDS] for other in chosen)


def _stage(search: PlanSearch, *, lights: int, effort: float, count: int) -> None:
    """PlanSearch the rigs with so many lights."""
    words = "one light" if lights == 1 else f"{lights} lights"
    search.tell(f"Looking at ways with {words}")
    rigs = _in_time(rigs_of(search.brief, lights=lights), search.brief)
    screened = _screened(search, rigs, lights=lights)
    kept = screened[: max(int(REFINED[lights] * effort), 2)]
    if all(_unlit(search, rig, at) for _, rig, at in kept):
        kept = kept[:1]  # so that it is known what a setup without light behind comes to
    for number, (_, rig, start) in enumerate(kept):
        if search.spent > search.limit:
            return
        good = sum(one.good for one in search.options)
        search.tell(f"With {words}, way {number + 1} of {len(kept)}: {good} good so far")
        _search_rig(search, rig, start, number=100 * lights + number)
        if len({one.looks[:KINDS] for one in search.options if one.good and one.calm}) >= count:
            return
    dark = search.brief.background == "white"  # which a bounce over the face does not light
    for layout in bounce_layouts(search.brief)[:BOUNCES] if lights == 1 and not dark else []:
        if search.spent > search.limit:
            return
        search.tell("With one light off the ceiling")
        _try_in_full(search, layout, look=None, powers_stops=np.zeros(1), iso=None)
        if search.options and search.options[-1].good:
            return


def _in_time(rigs: list[Rig], brief: Brief) -> list[Rig]:
    """Return the rigs that can be built in the time there is; the quickest if none can."""
    if brief.time_s is None or not rigs:
        return rigs
    quickest = min(minutes_for(rig) for rig in rigs)
    most = max(brief.time_s / 60.0, quickest)
    return [rig for rig in rigs if minutes_for(rig) <= most]


def _unlit(search: PlanSearch, rig: Rig, at: FloatArray) -> bool:
    """Return whether a rig leaves a background far from what is wished."""
    parts = search.scorer.look(lay_out(rig, at, brief=search.brief)).parts
    return rig.backs == 0 and WEIGHTS["background"] * parts.get("background", 0.0) > UNLIT


def _screened(
    search: PlanSearch, rigs: list[Rig], *, lights: int
) -> list[tuple[float, Rig, FloatArray]]:
    """Return the better sides of each family of rigs with where to start, the best first."""
    families: dict[tuple[object, ...], list[tuple[float, Rig, FloatArray]]] = {}
    for number, rig in enumerate(rigs):
        random = np.random.default_rng([search.seed, lights, number])
        tried = np.vstack([np.full((1, rig.size), 0.5), random.random((SCREENED - 1, rig.size))])
        totals = [search.scorer.look(lay_out(rig, at, brief=search.brief)).total for at in tried]
        best = int(np.argmin(totals))
        families.setdefault(rig.family, []).append((totals[best], rig, tried[best]))
    ranked = [sorted(own, key=lambda one: one[0]) for own in families.values()]
    firsts = sorted((own[0] for own in ranked), key=lambda one: one[0])
    seconds = sorted((own[1] for own in ranked if len(own) > 1), key=lambda one: one[0])
    mixed = [
        one for pair in itertools.zip_longest(firsts, seconds[: len(firsts) // 2]) for one in pair
    ]
    return [one for one in mixed if one is not None]


def _search_rig(search: PlanSearch, rig: Rig, start: FloatArray, *, number: int) -> None:
    """PlanSearch the cube of one rig, and judge what comes out in full."""
    brief, scorer = search.brief, search.scorer
    optimizer = optimizer_class()(
        mean=np.clip(start, 0.05, 0.95),
        sigma=STEP,
        bounds=np.tile([0.0, 1.0], (rig.size, 1)),
        seed=search.seed * 10_007 + number,
        population_size=POPULATION,
    )
    found: list[tuple[float, FloatArray]] = []
    for _ in range(GENERATIONS):
        search.heed()
        told: list[tuple[FloatArray, float]] = []
        for _ in range(POPULATION):
            at = optimizer.ask()
            told.append((at, scorer.look(lay_out(rig, at, brief=brief)).total))
        optimizer.tell(told)
        found += [(total, at) for at, total in told]
    for at in _apart(found):
        layout = lay_out(rig, at, brief=brief)
        look = scorer.look(layout)
        if search.closest is None or look.total < search.closest.total:
            search.closest = look
        if not fits(look) or (look.total > HOPELESS and search.options):
            return
        _try_in_full(search, layout, look=look, powers_stops=look.powers_stops, iso=look.iso)
        if search.options and search.options[-1].good:
            return


def optimizer_class() -> "type[CMA]":
    """Return the optimiser, loaded where it is first used.

    Where a library for statistics happens to be there it would load that as well, for a second
    or more, and never use it for what is used here: it is kept from finding it.
    """
    spared = "cmaes" not in sys.modules and "scipy" not in sys.modules
    if spared:
        sys.modules["scipy"] = None  # type: ignore[assignment]
    try:
        from cmaes import CMA
    finally:
        if spared:
            del sys.modules["scipy"]
    found: type[CMA] = CMA
    return found


def _apart(found: list[tuple[float, FloatArray]]) -> list[FloatArray]:
    """Return the best places of a search that are not nearly the same."""
    kept: list[FloatArray] = []
    for _, at in sorted(found, key=lambda one: one[0]):
        if all(np.abs(at - one).max() > APART for one in kept):
            kept.append(at)
        if len(kept) == TRIED_IN_FULL:
            break
    return kept


def fits(look: FirstLook) -> bool:
    """Return whether everything has room under the ceiling, on its stand and between the walls."""
    return all(look.parts[name] <= SQUEEZED_M for name in ("ceiling", "stand", "room"))


def _try_in_full(
    search: PlanSearch,
    layout: Layout,
    *,
    look: FirstLook | None,
    powers_stops: FloatArray,
    iso: int | None,
) -> None:
    """Solve the powers of a layout, judge it in full and keep it."""
    option = judged_option(search, layout, look=look, powers_stops=powers_stops, iso=iso)
    if option is not None:
        search.options.append(option)


def judged_option(
    search: PlanSearch,
    layout: Layout,
    *,
    look: FirstLook | None,
    powers_stops: FloatArray,
    iso: int | None,
) -> Option | None:
    """Return a layout with its powers solved, judged in full; None if it cannot be built."""
    brief = search.brief
    camera = search.camera.camera
    if iso is not None and iso != camera.iso:
        camera = changed(camera, {"iso": iso})
    try:
        powers = np.clip(powers_stops, -12.0, 0.0)
        setup = setup_of(layout, brief=brief, camera=camera, powers_stops=powers)
    except (SetupError, ValueError):
        return None
    seen = lenses_only(setup)
    solved = solved_powers(seen, rig=layout.rig, brief=brief)
    if iso is None:
        camera = _lifted_iso(brief, setup, solved)
        solved = solved - np.log2(camera.iso / setup.camera.iso)
        setup = changed(setup, {"camera": camera})
    dialled = steadied(with_powers(setup, dial_choices(setup, solved)[0]))
    judged = judge(dialled, like=seen)
    minutes = minutes_for(layout.rig)
    lacks = unmet(judged, brief=brief, minutes=minutes)
    return Option(
        rig=layout.rig,
        layout=layout,
        judged=judged,
        lacks=lacks,
        look=look,
        minutes=minutes,
        cost=_cost(layout.rig, judged),
    )


def _lifted_iso(brief: Brief, setup: Setup, powers_stops: FloatArray) -> Camera:
    """Return the camera at the lowest ISO speed at which the heads are strong enough."""
    highest = brief.camera.iso if brief.camera.highest_iso is None else brief.camera.highest_iso
    iso, up = setup.camera.iso, float(powers_stops.max())
    while up > 0.0 and 2 * iso <= highest:
        iso, up = 2 * iso, up - 1.0
    return changed(setup.camera, {"iso": iso})


def _cost(rig: Rig, judged: Judged) -> float:
    cautions = len(judged.cautions)
    return (
        COSTS["light"] * len(rig.kits)
        + COSTS["panel"] * (rig.panel_use != "none")
        + COSTS["caution"] * cautions
        + COSTS["edge"] * (judged.verdict == "edge")
        + COSTS["unnamed"] * (judged.people[0].modelling.pattern in UNNAMED)
        + COSTS["turn"] * (rig.turn_deg != 0.0)
        + COSTS["spread"] * max(spread_stops(judged) - ALIKE_STOPS, 0.0)
    )
