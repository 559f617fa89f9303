"""Plans for a day of strangers: which setup leaves most wearers clear without touching it?

The same wearers are drawn for every setup, so that setups compare better than the share itself is
known. Around the best options it is then searched on.
"""

from dataclasses import dataclass, field

import numpy as np

from tapemark.planning.plans.candidates import lay_out
from tapemark.planning.plans.search import (
    Option,
    PlanSearch,
    Stopped,
    choose,
    fits,
    judged_option,
    optimizer_class,
)
from tapemark.planning.plans.setup import setup_of
from tapemark.planning.walk_ins.share import share_of
from tapemark.planning.walk_ins.wearer_looks import Crowd, gathered
from tapemark.planning.walk_ins.wearers import Wearers, sample_wearers
from tapemark.studio import Population, Setup

SAMPLE = 120  # wearers by whom setups are compared
WORTH = 4.0  # of a whole share, in lights
STEP, POPULATION, GENERATIONS = 0.12, 5, 2
FIRST_LOOK_WORTH = 0.2  # of a penalty of first looks against lights


@dataclass(kw_only=True)
class WalkIns:
    """Wearers by whom setups are compared.

    Attributes
    ----------
    population : Population
        Who comes.
    wearers : Wearers
        The sample.
    """

    population: Population
    wearers: Wearers
    _crowds: dict[tuple[object, ...], Crowd] = field(default_factory=dict)

    @classmethod
    def drawn(cls, *, population: Population | None = None, seed: int = 0) -> "WalkIns":
        """Return a sample of a population; adult wearers if none is stated."""
        who = Population() if population is None else population
        return cls(population=who, wearers=sample_wearers(who, count=SAMPLE, seed=seed))

    def share(self, setup: Setup) -> float:
        """Return the share who are clear, with a catchlight in both eyes, by a first look [-]."""
        before = (setup.camera.place, setup.sitter)
        if before not in self._crowds:
            self._crowds[before] = gathered(setup, self.wearers, population=self.population)
        crowd = self._crowds[before]
        return share_of(setup, self.wearers, population=self.population, crowd=crowd).ready


def best_for_walk_ins(
    search: PlanSearch, walk_ins: WalkIns, *, count: int
) -> list[tuple[Option, float]]:
    """Return good and different options with their shares, the largest share first.

    Parameters
    ----------
    search : PlanSearch
        What was found for the sitter of the brief.
    walk_ins : WalkIns
        The strangers.
    count : int
        How many options.
    """
    shares: dict[int, float] = {}

    def liking(one: Option) -> float:
        if id(one) not in shares:
            search.watch.tell(f"Walk-in wearers before {len(shares) + 1} setups")
            shares[id(one)] = walk_ins.share(one.setup)
        return WORTH * shares[id(one)]

    chosen = choose(search.options, count=count, liking=liking)
    found = []
    for number, option in enumerate(chosen):
        better = option
        try:
            search.tell(f"More walk-in wearers for plan {number + 1} of {len(chosen)}")
            better = _searched_on(search, option, walk_ins, number=number)
        except Stopped:
            search.interrupted = True
        shares.setdefault(id(better), walk_ins.share(better.setup))
        found.append((better, shares[id(better)]))
    return sorted(found, key=lambda pair: -pair[1])


def _searched_on(search: PlanSearch, option: Option, walk_ins: WalkIns, *, number: int) -> Option:
    """Return an option near another that serves more walk-ins; itself if there is none."""
    rig, start = option.rig, option.layout.at
    if start is None:
        return option
    optimizer = optimizer_class()(
        mean=np.clip(start, 0.02, 0.98),
        sigma=STEP,
        bounds=np.tile([0.0, 1.0], (rig.size, 1)),
        seed=search.seed * 10_007 + 5_000 + number,
        population_size=POPULATION,
    )
    tried = [(-walk_ins.share(option.setup), np.asarray(start))]
    for _ in range(GENERATIONS):
        told = []
        for _ in range(POPULATION):
            search.heed()
            at = optimizer.ask()
            told.append((at, _loss(search, option, at, walk_ins)))
        optimizer.tell(told)
        tried += [(loss, at) for at, loss in told]
    loss, at = min(tried, key=lambda pair: pair[0])
    if loss >= tried[0][0]:
        return option
    layout = lay_out(rig, at, brief=search.brief)
    look = search.scorer.look(layout)
    better = judged_option(search, layout, look=look, powers_stops=look.powers_stops, iso=look.iso)
    known = walk_ins.share(option.setup)
    keeps = better is not None and better.good and better.looks == option.looks
    return (
        better if better is not None and keeps and walk_ins.share(better.setup) > known else option
    )


def _loss(search: PlanSearch, option: Option, at: np.ndarray, walk_ins: WalkIns) -> float:
    """Return how little a place serves walk-ins, and by what it is worse for the brief."""
    layout = lay_out(option.rig, at, brief=search.brief)
    look = search.scorer.look(layout)
    base = option.look.total if option.look is not None else 0.0
    worse = max(look.total - base, 0.0)
    if not fits(look) or worse > 1.0 / FIRST_LOOK_WORTH:
        return worse
    powers = np.minimum(look.powers_stops, 0.0)
    camera = option.setup.camera
    setup = setup_of(layout, brief=search.brief, camera=camera, powers_stops=powers)
    return FIRST_LOOK_WORTH * worse / WORTH - walk_ins.share(setup)
