"""Which smallest change of one thing clears the lenses, and what else does it change?

Every way to change one light, one person or the camera is looked at quickly; the promising ones
are then tried with the full lattice of a check, down to the smallest step, and judged whole.
What clears the lenses, fails nothing new and keeps what was asked for is a *clean* move.  They
are ordered by what they disturb: work on the set first, then the picture.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import inf

from tapemark.analysis import GuessViews
from tapemark.planning.judge import Judged, judge, with_guesses
from tapemark.planning.moves.leads import Lead, QuickLook
from tapemark.planning.moves.pairs import (
    PAIR_POINTS,
    Plan,
    effort,
    light_pairs,
    mixed_pairs,
    pairs_of_one_light,
)
from tapemark.planning.moves.result import Move, MovesFound, MoveStep
from tapemark.planning.moves.side_effects import Keep, SideEffects, close_calls, side_effects
from tapemark.planning.moves.single import camera_moves, light_moves, person_moves
from tapemark.planning.moves.trials import (
    Chain,
    Outcome,
    Trial,
    Trials,
    smallest_chain,
    smallest_pair,
)
from tapemark.planning.moves.words import amount_text, move_text, power_text
from tapemark.studio import Setup

BEST = 5
#: A head that lacks more than this does not light the picture as before. [stops]
MOST_SHORT_STOPS = 0.34
#: Single moves that disturb more than this are set beside pairs. [points]
HEAVY_POINTS = 6.0
_MORE_JUDGED = 4  # beyond those asked for
_PAIRS_TRIED, _MIXED_TRIED = 4, 2
#: Once there are a few clean moves, those that disturb so many times more are left out.
_FEW, _FAR_WORSE = 3, 2.0
_PLAINLY_NOT = 1.5  # an excess of a quick look beyond any doubt
_OTHERS_CLEAR = 1.0
_EASED = 0.8  # of the excess before: what leaves more in the lenses does not help
_LOSS_POINTS = 2.0


def find_moves(
    setup: Setup,
    *,
    keep: frozenset[Keep] = frozenset(),
    best: int = BEST,
    tell: Callable[[str], None] | None = None,
) -> MovesFound:
    """Return the smallest changes that clear the lenses of everybody, best first.

    Parameters
    ----------
    setup : Setup
        The setup as it is.
    keep : frozenset of str
        Of ``pattern``, ``catchlight``, ``ratio`` and ``background``: what must stay. Ceiling,
        walls and the reach of the stands always count.
    best : int
        How many moves to return at most.
    tell : function of str, optional
        Called with what is being done.

    Notes
    -----
    A ``KeyboardInterrupt`` ends the search with what is found by then.
    """
    before = judge(setup, guesses=False)
    if before.verdict == "clear":
        return MovesFound(before=before, keep=keep, moves=())
    search = _Search(before, keep=keep, best=best, tell=tell)
    complete = True
    try:
        search.run()
    except KeyboardInterrupt:
        complete = False
    return MovesFound(before=before, keep=keep, moves=search.ranked(), complete=complete)


class _Search:
    """One search: what was tried, and what came of it."""

    def __init__(
        self,
        before: Judged,
        *,
        keep: frozenset[Keep],
        best: int,
        tell: Callable[[str], None] | None,
    ) -> None:
        self.before, self.keep, self.best = before, keep, best
        self.tell = tell or (lambda _text: None)
        self.trials = Trials(before.seen)
        self.look = QuickLook(before.seen)
        self.found: list[Move] = []
        self.own_leads: dict[str, list[Lead]] = {}
        self._guess_views: tuple[GuessViews, ...] = tuple({} for _ in before.people)

    def run(self) -> None:
        """Try single moves, and pairs where these do not do, what looks least work first."""
        self.tell("looking at single moves")
        leads = self._single_leads()
        plans = [Plan.of(lead, setup=self.setup) for lead in leads if lead.clears]
        if min((one.points for one in plans), default=inf) > HEAVY_POINTS:
            self.tell("looking at pairs of moves")
            plans += light_pairs(self.own_leads, setup=self.setup)
            plans += pairs_of_one_light(self.look, self.own_leads)
        self._try_all(sorted(plans, key=lambda one: one.points))
        if not self._clean:
            self.tell("looking at pairs of a light and the sitter or the camera")
            mixed = mixed_pairs(self.look, leads, self.own_leads)
            self._try_all(sorted(mixed, key=lambda one: one.points)[:_MIXED_TRIED])
        if not self.found:
            self._try_nearest(leads)

    def ranked(self) -> tuple[Move, ...]:
        """Return the clean moves, or the least bad, best first."""
        clean = self._clean
        if clean:
            return self._closest_called(clean)
        eased = [one for one in self.found if one.judged.seen.excess < self._eased_to]
        return tuple(self._called(one) for one in sorted(eased, key=_badness)[: self.best])

    def _closest_called(self, clean: list[Move]) -> tuple[Move, ...]:
        """Return the best of clean moves, once it counts which of them are close calls."""
        waiting = sorted(clean, key=lambda one: one.points)
        called: list[Move] = []
        while waiting and (
            len(called) < self.best or waiting[0].points < called[self.best - 1].points
        ):
            called.append(self._called(waiting.pop(0)))
            called.sort(key=lambda one: one.points)
        return tuple(called[: self.best])

    def _called(self, move: Move) -> Move:
        """Return a move, told as a close call where it is one."""
        only_lights = all(way.what == "light" for way, _ in move.chain)
        views = self._guess_views if only_lights else tuple({} for _ in self._guess_views)
        judged = with_guesses(move.judged, views=views)
        texts, points = close_calls(judged)
        return replace(
            move,
            judged=judged,
            side_effects=(*move.side_effects, *texts),
            points=round(move.points + points, 3),
        )

    @property
    def setup(self) -> Setup:
        """The setup as it is."""
        return self.before.setup

    @property
    def _clean(self) -> list[Move]:
        return [one for one in self.found if one.clean]

    @property
    def _eased_to(self) -> float:
        """Below how much a lens has to come to be better than before."""
        return _EASED * self.before.seen.excess

    def _single_leads(self) -> list[Lead]:
        """Return the leads of every single move that might clear all lenses."""
        found: list[Lead] = []
        everything = [one.name for one in self.look.sending]
        guilty = self._guilty_lights()
        for name in guilty:
            (light,) = (one for one in self.setup.lights if one.name == name)
            own = self.look.sent_by(light)
            rest = [one for one in everything if one not in own]
            alone = self.look.excess_of(rest) < _OTHERS_CLEAR
            leads = [
                lead
                for move in light_moves(self.setup, light)
                if (lead := self.look.light_lead(move, beside=rest if alone else ())) is not None
            ]
            self.own_leads[name] = leads
            found += leads if alone else []
        looking = list(camera_moves(self.setup))
        troubled = [
            index for index, one in enumerate(self.before.seen.people) if one.verdict != "clear"
        ]
        if len(troubled) == 1:
            looking += list(person_moves(self.setup, troubled[0]))
        return found + self.look.looking_leads(looking)

    def _guilty_lights(self) -> list[str]:
        """Return the lights whose reflections make a lens worse than clear, worst first."""
        lights = {one.name for one in self.setup.lights}
        fed = {one.name: one.fed_by for one in self.before.seen.scenes[0].emitters}
        amounts: dict[str, float] = {}
        for person in self.before.seen.people:
            for lens in person.lenses:
                for one in lens.reflections if lens.verdict != "clear" else ():
                    names = (one.source,) if one.source in lights else fed.get(one.source, ())
                    for name in names:
                        weight = one.veil * 6.0 + one.lens_cover
                        amounts[name] = amounts.get(name, 0.0) + weight
        return sorted(amounts, key=lambda name: -amounts[name])

    def _try_all(self, plans: list[Plan]) -> None:
        """Try plans in order, until more of them could not get into the answer."""
        pairs = 0
        for plan in plans:
            clean = sorted(one.points for one in self._clean)
            enough = len(clean) >= self.best
            if enough and plan.points > clean[self.best - 1]:
                break
            if len(clean) >= _FEW and plan.points > _FAR_WORSE * clean[0]:
                break
            if len(self.found) >= self._most:
                break
            if len(plan.chain) > 1:
                if pairs >= _PAIRS_TRIED:
                    continue
                pairs += 1
            chain = self._smallest(plan)
            if chain is not None and self._all_needed(chain):
                self._take(chain, clear_to=plan.clear_to)

    def _all_needed(self, chain: Chain) -> bool:
        """Return whether none of the moves of a chain could be left out."""
        fewer = [(*chain[:at], *chain[at + 1 :]) for at in range(len(chain))]
        return len(chain) == 1 or not any(self._clears(one) for one in fewer)

    def _clears(self, chain: Chain) -> bool:
        """Return whether moves clear the lenses; a quick look is enough where it is plain."""
        lights = all(move.what == "light" for move, _ in chain)
        if lights and self.look.excess_after(chain) > _PLAINLY_NOT:
            return False
        return self.trials.excess(chain) < 1.0

    @property
    def _most(self) -> int:
        """How many moves are judged at most."""
        return self.best + (_MORE_JUDGED if len(self._clean) < self.best else 1)

    def _smallest(self, plan: Plan) -> Chain | None:
        """Return the smallest form of a plan that clears all lenses."""
        if len(plan.chain) == 1:
            return smallest_chain(self.trials.excess, plan.chain, at=0, slope=plan.slope)
        chain = plan.chain
        if all(move.what == "light" for move, _ in chain):
            quick = smallest_pair(self.look.excess_after, chain, slope=plan.slope)
            chain = chain if quick is None else quick
        return smallest_pair(self.trials.excess, chain, slope=plan.slope, blamed=self.trials.blamed)

    def _take(self, chain: Chain, *, clear_to: int = 0) -> None:
        """Judge a chain that was tried, and keep what came of it."""
        trial = self.trials.trial(chain)
        if trial is not None:
            self.found.append(self._judged(trial, clear_to=clear_to))

    def _judged(self, trial: Trial, *, clear_to: int) -> Move:
        outcome = trial.outcome
        after = judge(outcome.setup, like=self.before, guesses=False)
        effects = side_effects(self.before, after, keep=self.keep)
        losses = [*effects.losses, *_lacking(outcome)]
        move, steps = outcome.chain[-1]
        farther = len(outcome.chain) == 1 and move.unit != "once" and clear_to > steps
        return Move(
            steps=tuple(_steps(outcome)),
            clear_to=amount_text(move.amount(clear_to), unit=move.unit, system=outcome.setup.units)
            if farther
            else "",
            side_effects=effects.texts,
            losses=tuple(losses),
            points=round(_points(outcome, effects), 3),
            chain=outcome.chain,
            judged=after,
        )

    def _try_nearest(self, leads: list[Lead]) -> None:
        """Take what comes nearest to clear lenses, where nothing clears them."""
        order = sorted(leads, key=lambda lead: float(lead.excess[1:].min()))
        for lead in order[: self.best]:
            chain = ((lead.move, lead.first),)
            if self.trials.excess(chain) < self._eased_to:
                self._take(chain)


def _lacking(outcome: Outcome) -> list[str]:
    if outcome.short_stops <= MOST_SHORT_STOPS:
        return []
    return [f"a moved light lacks {outcome.short_stops:.1f} stops at full power"]


def _badness(move: Move) -> tuple[int, float]:
    """Return how bad a move with losses is: first what the lenses show, then all else."""
    worst = ("clear", "edge", "veiled").index(move.verdict_after)
    shows = move.judged.seen.excess if worst == 2 else 0.0
    return worst, shows + move.points + _LOSS_POINTS * len(move.losses)


def _points(outcome: Outcome, effects: SideEffects) -> float:
    work = sum(
        effort(move, steps, setup)
        for (move, steps), setup in zip(outcome.chain, outcome.setups, strict=False)
    )
    turned = sum(0.3 for one in outcome.power_changes if one)
    return work + turned + effects.points + PAIR_POINTS * (len(outcome.chain) - 1)


def _steps(outcome: Outcome) -> Iterator[MoveStep]:
    changes = zip(outcome.chain, outcome.power_changes, strict=True)
    for index, ((move, steps), change) in enumerate(changes):
        before, after = outcome.setups[index : index + 2]
        text = move_text(move, steps, before=before, after=after)
        if change:
            light = next(one for one in after.lights if one.name == move.name)
            step = light.head.power_step_stops
            text += f", and {power_text(change, light.power_stops, step_stops=step)}"
        yield MoveStep(
            what=move.what,
            name=move.name,
            family=move.family,
            toward=move.toward,
            amount=move.amount(steps),
            unit=move.unit,
            text=text,
            power_change_stops=round(change, 6),
        )
