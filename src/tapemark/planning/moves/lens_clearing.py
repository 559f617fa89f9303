"""Which lights go up or out, and how far at least, so that somebody's lenses are clear?"""

from collections.abc import Callable
from dataclasses import dataclass, field

from tapemark.analysis import LensGlare, catchlights
from tapemark.analysis.glare import CLEAR_LENS_COVER, CLEAR_VEIL
from tapemark.errors import SetupError
from tapemark.planning.lens_judge import LensesJudged, lenses_only
from tapemark.studio import Setup

#: Name of a light to how far it goes up [m] and out [deg] beyond following the eyes.
Way = dict[str, tuple[float, float]]
SetFor = Callable[[Way], Setup]

RAISE_STEP_M, MOST_RAISE_STEPS = 0.05, 18
SWINGS_DEG = (0.0, 10.0, 20.0, 40.0)
FINE_SWINGS_DEG = (0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0)
#: Two lights that show leave each other this share of what still counts as clear. [-]
SHARES = (1.0, 0.5, 0.25)
#: How hard one step up and one degree out are; a swing walks the stand (assumption). [s]
RAISE_COST, RAISE_COST_PER_M = 25.0, 50.0
SWING_COST, SWING_COST_PER_DEG = 40.0, 1.0


@dataclass(kw_only=True)
class Known:
    """What is known of one kind of glasses from eyes at other heights.

    Attributes
    ----------
    ways : list of dict
        Ways of the lights that cleared them, or came nearest.
    eyes_lit : frozenset of str or None
        Eyes that have a catchlight where no light has moved.
    """

    ways: list[Way] = field(default_factory=list)
    eyes_lit: frozenset[str] | None = None


def clear_lenses(set_for: SetFor, *, movable: set[str], known: Known) -> tuple[Way, LensesJudged]:
    """Return the way of the lights that clears one person's lenses, or comes nearest to it.

    Parameters
    ----------
    set_for : callable
        Gives the setup for a way of the lights.
    movable : set of str
        Names of the lights that may move.
    known : Known
        What is known of the same glasses; the first way that still clears them is taken. What is
        found is added.

    Returns
    -------
    way : dict
        Empty where nothing need move, or where nothing helps.
    look : LensesJudged
        What the lenses show then.

    Notes
    -----
    Heights go in steps of 5 cm up to 90 cm, sides in steps of 5° up to 40° out. An eye
    that has a catchlight keeps one. That a light which is hidden at one height is hidden above
    it too is taken for granted in the search; the answer itself has been looked at.
    """
    trial = _Trial(set_for=set_for, known=known)
    way = next((one for one in known.ways or [{}] if trial.good(one)), None)
    if way is None:
        way = _searched(trial, movable)
    if way not in known.ways:
        known.ways.append(way)
    look = trial.look(way)
    assert look is not None  # every way returned has been looked at
    return way, look


def _searched(trial: "_Trial", movable: set[str]) -> Way:
    way: Way = {}
    for share in SHARES:
        for name in [name for name in trial.shown(way) if name in movable]:
            way = {**way, name: trial.least_way(way, name, share=share)}
        if trial.good(way):
            return _trimmed(trial, way)
    return way if trial.excess(way) < trial.excess({}) else {}


def _trimmed(trial: "_Trial", way: Way) -> Way:
    """Return a way that clears the lenses with no light farther than it need be.

    Taking one light out of a lens may have made the other's way longer than it has to be.
    """
    for name, moved in list(way.items()):
        swings = [swung_deg for swung_deg in FINE_SWINGS_DEG if swung_deg <= moved[1]]
        shorter = {(raised_m, swung_deg) for raised_m in (0.0, moved[0]) for swung_deg in swings}
        for less in sorted(shorter, key=_cost):
            if _cost(less) < _cost(moved) and trial.good({**way, name: less}):
                way = {**way, name: less}
                break
    return {name: moved for name, moved in way.items() if moved != (0.0, 0.0)}


def _key(way: Way) -> tuple[tuple[str, tuple[float, float]], ...]:
    return tuple(sorted((name, moved) for name, moved in way.items() if moved != (0.0, 0.0)))


@dataclass(kw_only=True)
class _Trial:
    """Looks into one person's lenses for ways of the lights, each of them once."""

    set_for: SetFor
    known: Known
    seen: dict[object, LensesJudged | None] = field(default_factory=dict)
    lit: dict[object, frozenset[str]] = field(default_factory=dict)
    last: LensesJudged | None = None

    def look(self, way: Way) -> LensesJudged | None:
        """Return what the lenses show; None where a light would be in a wall."""
        key = _key(way)
        if key not in self.seen:
            try:
                setup = self.set_for(way)
            except SetupError:
                self.seen[key] = None
            else:
                self.seen[key] = self.last = lenses_only(setup, like=self.last)
        return self.seen[key]

    def good(self, way: Way) -> bool:
        """Return whether the lenses are clear and no eye has lost its catchlight."""
        look = self.look(way)
        return (
            look is not None and look.verdict == "clear" and self.lit_before() <= self.eyes_lit(way)
        )

    def excess(self, way: Way) -> float:
        """Return how far from clear the lenses are."""
        look = self.look(way)
        return float("inf") if look is None else look.excess

    def lit_before(self) -> frozenset[str]:
        """Return the eyes that have a catchlight where no light has moved."""
        if self.known.eyes_lit is None:
            self.known.eyes_lit = self.eyes_lit({})
        return self.known.eyes_lit

    def eyes_lit(self, way: Way) -> frozenset[str]:
        """Return the eyes that have a catchlight."""
        key, look = _key(way), self.look(way)
        if key not in self.lit:
            person = None if look is None else look.people[0]
            found = () if person is None else catchlights(person.scene, light=person.light)
            self.lit[key] = frozenset(one.side for one in found if one.visible)
        return self.lit[key]

    def shown(self, way: Way) -> tuple[str, ...]:
        """Return what shows in lenses that are not clear, the most of it first."""
        look = self.look(way)
        if look is None:
            return ()
        shares: dict[str, float] = {}
        for lens in look.people[0].lenses:
            for part in lens.reflections if lens.verdict != "clear" else ():
                size = max(part.veil / CLEAR_VEIL, part.lens_cover / CLEAR_LENS_COVER)
                shares[part.source] = max(shares.get(part.source, 0.0), size)
        return tuple(sorted(shares, key=lambda name: -shares[name]))

    def least_way(self, way: Way, name: str, *, share: float) -> tuple[float, float]:
        """Return the least raise and swing that take one light out of the lenses."""
        best, least_cost = way.get(name, (0.0, 0.0)), float("inf")
        for swung_deg in SWINGS_DEG:
            steps = self._steps_up(
                way, name, swung_deg, share, most=_affordable(swung_deg, least_cost)
            )
            moved = (RAISE_STEP_M * steps if steps else 0.0, swung_deg)
            if steps is not None and self.lit_before() <= self.eyes_lit({**way, name: moved}):
                best, least_cost = moved, _cost(moved)
        return best

    def _steps_up(
        self, way: Way, name: str, swung_deg: float, share: float, *, most: int
    ) -> int | None:
        """Return the fewest steps up that hide a light at one side; None where none do."""

        def hides(steps: int) -> bool:
            look = self.look({**way, name: (RAISE_STEP_M * steps if steps else 0.0, swung_deg)})
            return look is not None and _hidden(look.people[0].lenses, name, share=share)

        if most < 0 or not hides(most):
            return None
        low, high = -1, most
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if hides(middle) else (middle, high)
        return high


def _cost(moved: tuple[float, float]) -> float:
    raised_m, swung_deg = moved
    up = RAISE_COST + RAISE_COST_PER_M * raised_m if raised_m else 0.0
    return up + (SWING_COST + SWING_COST_PER_DEG * swung_deg if swung_deg else 0.0)


def _affordable(swung_deg: float, least_cost: float) -> int:
    """Return the most steps up that cost less than the best answer so far; -1 for none."""
    fitting = [
        steps
        for steps in range(MOST_RAISE_STEPS + 1)
        if _cost((RAISE_STEP_M * steps, swung_deg)) < least_cost
    ]
    return fitting[-1] if fitting else -1


def _hidden(lenses: tuple[LensGlare, ...], name: str, *, share: float) -> bool:
    """Return whether a light shows so little that a lens may still be clear."""
    for lens in lenses:
        own = [part for part in lens.reflections if part.source == name]
        veil, cover = sum(part.veil for part in own), sum(part.lens_cover for part in own)
        if veil >= share * CLEAR_VEIL or cover >= share * CLEAR_LENS_COVER:
            return False
    return True
