"""Which one change to the setup would gain most among walk-ins?

A small set of single changes is tried on a few wearers, the best of them again on others whom
chance has not picked them for.  A change that brings new trouble for the sitter in the file is
not offered.
"""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from tapemark.analysis import emitters
from tapemark.planning.judge import Judged, judge
from tapemark.planning.lens_judge import lenses_only
from tapemark.planning.moves.pairs import effort
from tapemark.planning.moves.single import SingleMove, camera_moves, light_moves
from tapemark.planning.moves.trials import Outcome, Trials
from tapemark.planning.moves.words import move_text
from tapemark.planning.walk_ins.interval import Gain, Share, gain_of_sample, share_of_mask
from tapemark.planning.walk_ins.wearer_looks import (
    CLEAR,
    VEILED,
    Crowd,
    Looks,
    gathered,
    looks_before,
    threads,
)
from tapemark.planning.walk_ins.wearers import Wearers
from tapemark.studio import Population, Setup, changed
from tapemark.watch import Watch

FIRST_TRIED_ON, TRIED_AGAIN_ON = 64, 256  # wearers
TRIED_AGAIN = 4  # changes
#: How far each thing is moved. [m], [deg]
AMOUNTS = {"height": (0.20, 0.50), "swing": (15.0, 35.0)}
CAMERA_UP_M = (0.10, 0.20)
MOST_LIGHTS = 2  # those that show most are moved
LIVE_LOSS = 0.02  # so much of the catchlights a change may cost [-]
MOST_SHOWN = 3
#: Gains that differ by less count as equal where chance may have made the difference [-].
EQUAL_GAIN = 0.03


@dataclass(frozen=True, kw_only=True, eq=False)
class WalkInMove:
    """One change, and what it does for walk-ins.

    Attributes
    ----------
    what : "light" or "camera"
        Kind of thing.
    name : str
        Its name.
    text : str
        The change in words.
    gain, free_gain : Gain
        In the share that is clear, and in the share with nothing over an eye.
    clear_after, free_after, live_after : Share
        Clear, nothing over an eye, catchlights in both eyes: of the wearers it was tried on.
    power_change_stops : float
        By how much a moved light is turned up. [stops]
    effort : float
        How much it disturbs the set, as for moves. [points]
    setup : Setup
        The setup after it.
    """

    what: str
    name: str
    text: str
    gain: Gain
    free_gain: Gain
    clear_after: Share
    free_after: Share
    live_after: Share
    power_change_stops: float
    effort: float
    setup: Setup


@dataclass(frozen=True, kw_only=True, eq=False)
class _Sample:
    """Some wearers before the setup as it stands."""

    wearers: Wearers
    population: Population
    crowd: Crowd
    before: Looks

    def after(self, setup: Setup, *, lights_only: bool, catchlights: bool = True) -> Looks:
        """Return what they show before a changed setup."""
        crowd = self.crowd
        if not lights_only:
            crowd = gathered(setup, self.wearers, population=self.population)
        return looks_before(setup, crowd, closely=False, catchlights=catchlights)


def best_walk_in_moves(
    setup: Setup, wearers: Wearers, *, population: Population, watch: Watch
) -> tuple[tuple[WalkInMove, ...], Share | None]:
    """Return the single changes that gain, best first, and what setting the stool for each does.

    Parameters
    ----------
    setup : Setup
        As it stands, for one person.
    wearers : Wearers
        The sample; few of them are used.
    population : Population
        What it was drawn from.
    watch : Watch
        Told how far it is; it may end the search.
    """
    split = min(FIRST_TRIED_ON, len(wearers) // 2)
    first = _sample(setup, wearers.only(slice(0, split)), population)
    ranked = _best_of_each(_first_tries(setup, first, watch))
    best = [one for one in ranked[:TRIED_AGAIN] if one.gained > 0]
    with ThreadPoolExecutor(threads()) as pool:
        before = pool.submit(judge, setup, guesses=False) if best else None
        others = _sample(setup, wearers.only(slice(split, split + TRIED_AGAIN_ON)), population)

        def again(tried: _Tried) -> WalkInMove | None:
            if watch.stopped:
                return None
            watch.tell(f"trying moves on {TRIED_AGAIN_ON} wearers: {tried.move.name}")
            return _tried_again(setup, others, tried)

        stool = None if watch.stopped else pool.submit(_stool_set_for_each, setup, others)
        found = [one for one in pool.map(again, best) if one is not None]
        gaining = _gaining(found, live_before=float(others.before.live.mean()))
        worth = _no_new_trouble(gaining, before.result(), pool) if before and gaining else ()
        return worth, None if stool is None else stool.result()


@dataclass(frozen=True, kw_only=True, eq=False)
class _Tried:
    """A change, and what it gained in points when first tried."""

    move: SingleMove
    steps: int
    outcome: Outcome
    gained: float


def _first_tries(setup: Setup, sample: _Sample, watch: Watch) -> list[_Tried]:
    """Return every change within reach, tried on a few wearers; fewer once stopped."""
    start = _points(sample.before)

    def gained(one: tuple[SingleMove, int, Outcome]) -> _Tried | None:
        if watch.stopped:
            return None
        move, steps, outcome = one
        watch.tell(f"trying moves: {move.name}")
        lights_only = move.what == "light"
        after = sample.after(outcome.setup, lights_only=lights_only, catchlights=False)
        return _Tried(move=move, steps=steps, outcome=outcome, gained=_points(after) - start)

    with ThreadPoolExecutor(threads()) as pool:
        tried = list(pool.map(gained, _outcomes(setup, sample.before)))
    return [one for one in tried if one is not None]


def _best_of_each(tried: list[_Tried]) -> list[_Tried]:
    """Return the better amount of each way to move each thing, most gained first."""
    best: dict[tuple[str, str, str], _Tried] = {}
    for one in sorted(tried, key=lambda one: -one.gained):
        best.setdefault((one.move.name, one.move.family, one.move.toward), one)
    return list(best.values())


def _sample(setup: Setup, wearers: Wearers, population: Population) -> _Sample:
    crowd = gathered(setup, wearers, population=population)
    before = looks_before(setup, crowd, closely=False)
    return _Sample(wearers=wearers, population=population, crowd=crowd, before=before)


def _points(looks: Looks) -> float:
    """Return how well a sample fares: 1 for a clear wearer, half for a reflection off the eye."""
    clear, free = looks.verdict == CLEAR, looks.verdict < VEILED
    return float((clear.mean() + free.mean()) / 2)


def _outcomes(setup: Setup, before: Looks) -> Iterator[tuple[SingleMove, int, Outcome]]:
    """Yield the changes to try that are within reach, with powers corrected."""
    trials = Trials(lenses_only(setup))
    for move, amount in _candidates(setup, before):
        steps = max(round(amount / move.step), 1)
        outcome = trials.outcome(((move, steps),))
        if outcome is not None:
            yield move, steps, outcome


def _candidates(setup: Setup, before: Looks) -> Iterator[tuple[SingleMove, float]]:
    shown = before.veils.mean(axis=1) + 0.1 * before.covers.mean(axis=1)
    by_name = {one.name: float(part) for one, part in zip(emitters(setup), shown, strict=True)}
    lights = sorted((one for one in setup.lights if one.on), key=lambda one: -by_name[one.name])
    for light in lights[:MOST_LIGHTS]:
        for move in light_moves(setup, light):
            for amount in AMOUNTS.get(move.family, ()):
                yield move, amount
    for move in camera_moves(setup):
        if move.family == "height":
            for amount in CAMERA_UP_M:
                yield move, amount


def _tried_again(setup: Setup, sample: _Sample, tried: _Tried) -> WalkInMove:
    move, outcome = tried.move, tried.outcome
    before, after = sample.before, sample.after(outcome.setup, lights_only=move.what == "light")
    return WalkInMove(
        what=move.what,
        name=move.name,
        text=move_text(move, tried.steps, before=setup, after=outcome.setup),
        gain=_gain(before.verdict == CLEAR, after.verdict == CLEAR),
        free_gain=_gain(before.verdict < VEILED, after.verdict < VEILED),
        clear_after=share_of_mask(after.verdict == CLEAR),
        free_after=share_of_mask(after.verdict < VEILED),
        live_after=share_of_mask(after.live),
        power_change_stops=round(sum(outcome.power_changes), 2),
        effort=effort(move, tried.steps, setup),
        setup=outcome.setup,
    )


def _gain(was: np.ndarray, now: np.ndarray) -> Gain:
    return gain_of_sample(int((now & ~was).sum()), int((was & ~now).sum()), len(now))


def _stool_set_for_each(setup: Setup, sample: _Sample) -> Share | None:
    """Return the share that is clear with all eyes at the planned height."""
    if setup.sitter.posture != "seated" or sample.population.seat == "set for each":
        return None
    each = changed(sample.population, {"seat": "set for each"})
    crowd = gathered(setup, sample.wearers, population=each)
    return share_of_mask(looks_before(setup, crowd, closely=False).verdict == CLEAR)


def _gaining(found: list[WalkInMove], *, live_before: float) -> list[WalkInMove]:
    """Return the moves that surely gain and keep the catchlights, most gained first.

    Among those that gain alike, those that disturb the set least come first.
    """
    gaining = [
        one
        for one in found
        if (one.gain.low > 0 or one.free_gain.low > 0)
        and one.gain.gain + one.free_gain.gain > 0
        and one.live_after.share >= live_before - LIVE_LOSS
    ]
    return gentlest_of_equal(gaining)


def gentlest_of_equal(moves: list[WalkInMove]) -> list[WalkInMove]:
    """Return moves, most gained first; of gains that chance alone may part, the gentlest first."""
    left = sorted(moves, key=lambda one: -_both(one))
    ranked: list[WalkInMove] = []
    while left:
        best = left[0]
        alike = [one for one in left if _gains_alike(one, best)]
        ranked += sorted(alike, key=lambda one: one.effort)
        left = [one for one in left if one not in alike]
    return ranked


def _both(one: WalkInMove) -> float:
    return (one.gain.gain + one.free_gain.gain) / 2


def _gains_alike(one: WalkInMove, best: WalkInMove) -> bool:
    """Return whether a gain is hardly less than another, and within its interval."""
    within = one.gain.gain >= best.gain.low and one.free_gain.gain >= best.free_gain.low
    return one is best or (within and _both(best) - _both(one) < EQUAL_GAIN)


def _no_new_trouble(
    found: list[WalkInMove], before: Judged, pool: ThreadPoolExecutor
) -> tuple[WalkInMove, ...]:
    """Return the first moves that bring no new trouble for the sitter in the file."""
    judged = pool.map(lambda one: judge(one.setup, like=before, guesses=False), found)
    kept = [
        one
        for one, after in zip(found, judged, strict=True)
        if not after.troubles - before.troubles
    ]
    return tuple(kept[:MOST_SHOWN])
