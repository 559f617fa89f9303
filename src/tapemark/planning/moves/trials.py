"""Carrying moves out on paper: the setup after them, with power corrected, and its lenses."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, isinf, log, log2

import numpy as np

from tapemark.analysis import Emitter, SteadyLight, emitters, light_face, steady_light
from tapemark.anatomy import head_pose
from tapemark.errors import SetupError
from tapemark.geometry import FloatArray, normalize
from tapemark.planning.lens_judge import LensesJudged, PersonLenses, unclear_first
from tapemark.planning.moves.single import SingleMove
from tapemark.planning.reach import light_reach, within_reach
from tapemark.studio import Light, Place, Setup, changed, with_light

METER_M = 0.02  # the meter is held so far in front of the eyes
#: Looks at the lenses that one search for the smallest amount may take.
MOST_LOOKS = 14
MOST_TURNS = 6  # from one move of a pair to the other
FARTHER = 1.12  # how much more of both moves of a pair is tried where more of one does not do
#: As many looks in a row that agree to within so much of the excess: something else shows there.
FLAT_LOOKS, FLAT = 3, 0.002
LEAST_FALL = 0.01  # of the logarithm of the excess at each step, that is counted on
Chain = tuple[tuple[SingleMove, int], ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Outcome:
    """A setup after some moves, one after the other.

    Attributes
    ----------
    chain : tuple of (SingleMove, int)
        The moves, each with its steps.
    setups : tuple of Setup
        The setup at first, and after each of them.
    power_changes : tuple of float
        By how much each moved light was turned up. [stops]
    short_stops : float
        What a head at full power lacks. [stops]
    """

    chain: Chain
    setups: tuple[Setup, ...]
    power_changes: tuple[float, ...]
    short_stops: float

    @property
    def setup(self) -> Setup:
        """The setup after all of them."""
        return self.setups[-1]


@dataclass(frozen=True, kw_only=True, eq=False)
class Trial:
    """An outcome with what the lenses then show.

    Attributes
    ----------
    outcome : Outcome
        The setup.
    excess : float
        How far the worst lens is from clear; of somebody's lenses that are not clear, where
        there are such. [-]
    spoilt_by : str
        What would leave it unclear even alone; empty where it takes several lights.
    """

    outcome: Outcome
    excess: float
    spoilt_by: str


class Trials:
    """Trials from one setup; each is carried out once."""

    def __init__(self, start: LensesJudged) -> None:
        self.start = start
        self._done: dict[Chain, Trial | None] = {}
        self._outcomes: dict[Chain, Outcome | None] = {
            (): Outcome(chain=(), setups=(start.setup,), power_changes=(), short_stops=0.0)
        }
        self._metered: dict[tuple[str, int], float] = {}
        self._reaches: dict[tuple[str, int], Callable[[Setup], bool]] = {}
        self._sending = {one.name: one for one in start.scenes[0].emitters}
        self._still = _plays_no_part(start)
        self._steady: dict[frozenset[str], tuple[tuple[SteadyLight, ...], ...]] = {}
        self._worst = 0

    def outcome(self, chain: Chain) -> Outcome | None:
        """Return the setup after some moves; None where one of them cannot be."""
        if chain not in self._outcomes:
            before = self.outcome(chain[:-1])
            self._outcomes[chain] = None if before is None else self._after(before, *chain[-1])
        return self._outcomes[chain]

    def _after(self, so_far: Outcome, move: SingleMove, steps: int) -> Outcome | None:
        """Return the setup after one move more; None where it cannot be."""
        before = so_far.setup
        try:
            after = move.after(before, steps)
        except SetupError:
            return None
        if not self._within_reach(move, before, after):
            return None
        change, lacking = 0.0, 0.0
        if move.what == "light":
            after, change, lacking = self._with_power(move.name, before, after)
        return Outcome(
            chain=(*so_far.chain, (move, steps)),
            setups=(*so_far.setups, after),
            power_changes=(*so_far.power_changes, change),
            short_stops=max(so_far.short_stops, lacking),
        )

    def _within_reach(self, move: SingleMove, before: Setup, after: Setup) -> bool:
        if move.what != "light":
            return within_reach(move, before=before, after=after)
        key = move.name, id(before)
        if key not in self._reaches:
            self._reaches[key] = light_reach(move.name, before)
        return self._reaches[key](after)

    def trial(self, chain: Chain) -> Trial | None:
        """Return what the lenses show after some moves; None where one cannot be."""
        if chain not in self._done:
            outcome = self.outcome(chain)
            self._done[chain] = None if outcome is None else self._looked_at(outcome)
        return self._done[chain]

    def _looked_at(self, outcome: Outcome) -> Trial:
        sending = self._moved_lights(outcome)
        steady = () if sending is None else self._steady_beside(sending)
        people = unclear_first(
            outcome.setup, like=self.start, sending=sending, first=self._worst, steady=steady
        )
        self._worst = max(people, key=lambda one: people[one].excess)
        worst = people[self._worst]
        return Trial(
            outcome=outcome, excess=worst.excess, spoilt_by=worst.spoilt_by if worst.lenses else ""
        )

    def _steady_beside(self, sending: tuple[Emitter, ...]) -> tuple[tuple[SteadyLight, ...], ...]:
        """Return the light on everybody's face of what has not moved, without what has."""
        still = tuple(one for one in sending if self._sending[one.name] is one)
        names = frozenset(one.name for one in still)
        if names not in self._steady:
            self._steady[names] = tuple(
                steady_light(replace(scene, emitters=still)) for scene in self.start.scenes
            )
        return self._steady[names]

    def _moved_lights(self, outcome: Outcome) -> tuple[Emitter, ...] | None:
        """Return what sends light where only lights that shine straight ahead have moved.

        None where surfaces that the lights light play a part, so that all is worked out anew.
        """
        setup = outcome.setup
        lights = [one for one in setup.lights if one not in self.start.setup.lights]
        moved_others = any(move.what != "light" for move, _ in outcome.chain)
        if not self._still or moved_others or not all(_straight(one) for one in lights):
            return None
        moved = {one.name: self._sent_straight(one, setup) for one in lights}
        return tuple(moved.get(one.name, one) for one in self._sending.values())

    def _sent_straight(self, light: Light, setup: Setup) -> Emitter:
        """Return a light of the start at another place, aim or power."""
        was = next(one for one in self.start.setup.lights if one.name == light.name)
        gain = 2.0 ** (light.power_stops - was.power_stops)
        own = self._sending[light.name]
        return replace(
            own,
            face=light_face(light, setup),
            brightness=own.brightness * gain,
            back_brightness=own.back_brightness * gain,
        )

    def _with_power(self, name: str, before: Setup, after: Setup) -> tuple[Setup, float, float]:
        """Return a setup with a moved light turned so that it meters as before.

        Returns
        -------
        tuple
            The setup; by how much the light was turned up, in steps of its head, and what it
            then lacks. [stops]
        """
        old, new = (_named(name, some) for some in (before, after))
        was, now = self._metered_before(old, before), self._metered_alone(new, after)
        if was <= 0.0 or now <= 0.0 or not new.on:
            return after, 0.0, 0.0
        wanted = new.power_stops + log2(was / now)
        step = new.head.power_step_stops
        lowest = min(new.head.lowest_power_stops, new.power_stops)
        dialled = round(min(max(round(wanted / step) * step, lowest), 0.0), 6) + 0.0
        if abs(dialled - new.power_stops) < 0.5 * step:
            return after, 0.0, wanted - new.power_stops
        turned = changed(new, {"power_stops": dialled})
        return with_light(after, turned), dialled - old.power_stops, wanted - dialled

    def _metered_before(self, light: Light, setup: Setup) -> float:
        """Return the same for a setup that is kept: many moves are tried from it."""
        key = light.name, id(setup)
        if key not in self._metered:
            self._metered[key] = self._metered_alone(light, setup)
        return self._metered[key]

    def _metered_alone(self, light: Light, setup: Setup) -> float:
        if _straight(light) and _straight(_named(light.name, self.start.setup)):
            return _received((self._sent_straight(light, setup),), setup)
        return metered_alone(light, setup)

    def excess(self, chain: Chain) -> float:
        """Return how far the worst lens is from clear after some moves; inf for impossible."""
        trial = self.trial(chain)
        return float("inf") if trial is None else trial.excess

    def blamed(self, chain: Chain) -> int | None:
        """Return which move of some is of a light that spoils a lens by itself, if one is."""
        trial = self.trial(chain)
        names = [move.name for move, _ in chain]
        return (
            names.index(trial.spoilt_by) if trial is not None and trial.spoilt_by in names else None
        )


def smallest_chain(
    excess: Callable[[Chain], float], chain: Chain, *, at: int, slope: float
) -> Chain | None:
    """Return a chain with the smallest number of steps of one move that clears.

    Parameters
    ----------
    excess : function of a chain
        How far the worst lens is from clear after it; inf where it cannot be.
    chain : tuple of (SingleMove, int)
        The moves; the steps of one of them are looked for, from what they are.
    at : int
        Which.
    slope : float
        By how much the logarithm of the excess falls at each step there.

    Returns
    -------
    tuple or None
        With one step fewer the lenses are not clear; None if nothing near is clear.
    """
    move, near = chain[at]
    search = _Bracket(most=move.most, near=near, slope=slope)
    for _ in range(MOST_LOOKS):
        now = (*chain[:at], (move, search.steps), *chain[at + 1 :])
        search.saw(excess(now))
        if search.given_up:
            return None
        if search.found:
            return (*chain[:at], (move, search.clear or 0), *chain[at + 1 :])
    return None


def smallest_pair(
    excess: Callable[[Chain], float],
    chain: Chain,
    *,
    slope: float,
    blamed: Callable[[Chain], int | None] | None = None,
) -> Chain | None:
    """Return a pair of moves of which neither can be a step smaller; see `smallest_chain`.

    Parameters
    ----------
    excess, chain, slope
        As there.
    blamed : function of a chain, optional
        Which of the moves is of a light that spoils a lens by itself; the steps of that are
        looked for first.
    """
    ahead = None if blamed is None or excess(chain) < 1.0 else blamed(chain)
    ahead = 1 if ahead is None else ahead
    found, settled, stuck, farther = chain, 0, 0, False
    for turn in range(MOST_TURNS):
        at = (turn + ahead) % len(chain)
        move, steps = found[at]
        less = (*found[:at], (move, steps - 1), *found[at + 1 :])
        if excess(found) < 1.0 and (steps == 1 or excess(less) >= 1.0):
            settled += 1
        else:
            shorter = smallest_chain(excess, found, at=at, slope=slope)
            if shorter is None:
                stuck += 1  # it may be the other that still shows
            else:
                found, settled, stuck = shorter, 1, 0
        if settled == len(chain):
            return found
        if stuck == len(chain):
            if farther:
                return None
            farther, stuck, settled = True, 0, 0  # each alone does not do: both a little more
            found = tuple((way, min(ceil(FARTHER * many), way.most)) for way, many in found)
    return None


class _Bracket:
    """A search for the smallest number of steps that clears, from a first guess."""

    def __init__(self, *, most: int, near: int, slope: float) -> None:
        self.failing, self.clear, self.most = 0, None, most
        self.slope, self._jump = slope, 1
        self.steps = min(max(near, 1), most)
        self.given_up = False
        self._last: tuple[int, float] | None = None
        self._flat = 0

    clear: int | None

    @property
    def found(self) -> bool:
        """Whether the smallest is known."""
        return self.clear is not None and self.clear - self.failing <= 1

    def saw(self, excess: float) -> None:
        """Take in the excess at `steps`, and choose where to look next."""
        if isinf(excess) and self.clear is None and self.failing < self.steps - 1:
            self.most = self.steps - 1  # beyond reach: what is nearer may do
            self.steps = (self.failing + self.steps) // 2
            return
        if excess >= 1.0 and self.clear is None and (isinf(excess) or self.steps >= self.most):
            self.given_up = True
            return
        now = (self.steps, _log(min(excess, 100.0)))
        alike = self._last is not None and abs(now[1] - self._last[1]) < FLAT
        self._flat = self._flat + 1 if alike and excess >= 1.0 else 0
        if self._flat == FLAT_LOOKS - 1 and self.clear is None:
            self.given_up = True
            return
        if self._last is not None and not isinf(excess):
            self.slope = _secant(self._last, now) or self.slope
        self._last = now
        if excess < 1.0:
            self.clear = self.steps
            ahead = -max(self._jump, int(-now[1] / self.slope) if self._jump == 1 else 0)
        else:
            self.failing = self.steps
            ahead = max(self._jump, ceil(now[1] / self.slope))
        self._jump *= 2
        self.steps = min(self.steps + ahead, self.most)
        if self.clear is not None and not self.failing < self.steps < self.clear:
            self.steps = (self.failing + self.clear) // 2


def _secant(one: tuple[int, float], other: tuple[int, float]) -> float:
    """Return by how much the logarithm falls at each step between two looks; 0 if it does not."""
    fall = (one[1] - other[1]) / (other[0] - one[0]) if other[0] != one[0] else 0.0
    return fall if fall > LEAST_FALL else 0.0


def _log(excess: float) -> float:
    return log(max(excess, 1e-3))


def _named(name: str, setup: Setup) -> Light:
    return next(one for one in setup.lights if one.name == name)


def _straight(light: Light) -> bool:
    """Return whether a light shines on the face, not by way of a surface."""
    return light.aim == "face" or isinstance(light.aim, Place)


def _plays_no_part(start: LensesJudged) -> bool:
    """Return whether what the lights light neither shows in a lens nor lights a face."""
    lit = [one for one in start.scenes[0].emitters if one.fed_by or one.lit_map is not None]
    return not any(
        _shows(person, one) or _lights(person, one) for person in start.people for one in lit
    )


def _shows(person: PersonLenses, emitter: Emitter) -> bool:
    """Return whether any ray from somebody's lenses meets an emitter."""
    if person.view is None:
        return False
    met = [
        emitter.face.hits(rays.origins, rays.directions).distance[rays.weight > 0]
        for rays in person.view.reflected.values()
    ]
    return not all(np.isnan(distance).all() for distance in met)


def _lights(person: PersonLenses, emitter: Emitter) -> bool:
    """Return whether an emitter lies in front of somebody's face, where it could light it."""
    pose = person.scene.pose
    ahead = (emitter.face.outline() - pose.origin) @ pose.axes[:, 1]
    return bool((ahead > 0.0).any())


def metered_alone(light: Light, setup: Setup) -> float:
    """Return what a flat receptor at the sitter's face, turned to a light, gets of it [lx·s].

    Its bounce off the ceiling or a wall that it is aimed at counts with it.
    """
    alone = {"lights": (light,), "panels": (), "windows": (), "screens": (), "backdrop": None}
    return _received(emitters(setup.model_copy(update=alone)), setup)


def _received(sending: tuple[Emitter, ...], setup: Setup) -> float:
    """Return what a flat receptor at the sitter's face, turned to each emitter, gets [lx·s]."""
    pose = head_pose(setup.sitter)
    place: FloatArray = pose.origin + METER_M * pose.axes[:, 1]
    total = 0.0
    for one in sending:
        towards = normalize(one.shining_middle() - place)
        total += float(one.exposure_at(place[None], normal=towards[None])[0])
    return total
