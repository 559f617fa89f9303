"""Where would each move clear the lenses?  A quick look, so that a search knows where to try.

Light moves are looked at with the lenses as the camera sees them now; moves of people and the
camera with the lights as they stand.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import Emitter, emitters, light_face
from tapemark.anatomy import HeadPose, head_pose
from tapemark.errors import SetupError
from tapemark.geometry import FloatArray
from tapemark.planning.lens_judge import LensesJudged, PersonLenses
from tapemark.planning.moves.single import SingleMove
from tapemark.planning.quick_lenses import QuickView, joined, quick_view
from tapemark.planning.reach import light_reach, within_reach
from tapemark.studio import Light, Setup

#: Amounts looked at: so far apart. [m] or [deg]
APART = {"m": 0.08, "deg": 4.0, "once": 1.0}
APART_LOOKING = {"m": 0.1, "deg": 5.0, "once": 1.0}  # where the lenses are seen anew
_LEAST = 1e-3  # an excess below this is as good as none
_LEAST_SLOPE = 0.02
_CLOSER = 4  # amounts looked at between two


@dataclass(frozen=True, kw_only=True, eq=False)
class Lead:
    """How the worst lens fares along one move.

    Attributes
    ----------
    move : SingleMove
        The move.
    steps : (n,) int array
        Amounts looked at, from none on.
    excess : (n,) array
        How far the worst lens is from clear there, about.
    """

    move: SingleMove
    steps: np.ndarray
    excess: FloatArray

    @property
    def clears(self) -> bool:
        """Whether it seems to clear all lenses somewhere."""
        return bool((self.excess[1:] < 1.0).any())

    @property
    def first(self) -> int:
        """The steps at which it seems to clear them first; those that come nearest else."""
        return self.first_below(1.0)

    def first_below(self, limit: float) -> int:
        """Return the steps at which the excess seems to fall below a limit first.

        Those that come nearest, where it does not.
        """
        index = self._index(limit)
        if self.excess[index] >= limit:
            return int(self.steps[index])
        (low, high), (over, under) = self.steps[index - 1 : index + 1], self._logs(index)
        aim = float(np.log(limit))
        if over <= aim:
            return int(high)
        return int(np.ceil(low + (high - low) * (over - aim) / (over - under)))

    @property
    def slope(self) -> float:
        """By how much the logarithm of the excess falls at each step there."""
        index = self._index(1.0)
        over, under = self._logs(index)
        apart = self.steps[index] - self.steps[index - 1]
        return float(max((over - under) / apart, _LEAST_SLOPE))

    @property
    def clear_to(self) -> int:
        """The steps up to which it stays clear from there on, about."""
        index = self._index(1.0)
        later = np.flatnonzero(self.excess[index:] >= 1.0)
        end = index + later[0] if len(later) else len(self.steps)
        return int(self.steps[end - 1])

    def _index(self, limit: float) -> int:
        clear = np.flatnonzero(self.excess[1:] < limit)
        return int(clear[0]) + 1 if len(clear) else int(np.argmin(self.excess[1:])) + 1

    @property
    def crossing(self) -> np.ndarray:
        """A few amounts between the last that does not clear and the first that does."""
        index = self._index(1.0)
        low, high = int(self.steps[index - 1]), int(self.steps[index])
        inside = np.round(np.linspace(low, high, _CLOSER + 2)[1:-1]).astype(int)
        return np.array(sorted({int(one) for one in inside} - {low, high}), dtype=int)

    def with_more(self, other: "Lead") -> "Lead":
        """Return this lead with what was seen at more amounts."""
        steps = np.concatenate([self.steps, other.steps])
        order = np.argsort(steps)
        excess = np.concatenate([self.excess, other.excess])
        return replace(self, steps=steps[order], excess=excess[order])

    def _logs(self, index: int) -> tuple[float, float]:
        over, under = np.log(np.maximum(self.excess[index - 1 : index + 1], _LEAST))
        return float(over), float(under)


class QuickLook:
    """A quick look at a setup, from which leads are taken."""

    def __init__(self, start: LensesJudged) -> None:
        self.start = start
        self.setup: Setup = start.setup
        self.worn = [one for one in start.people if one.view is not None]
        self.view = joined([_as_it_is(one) for one in self.worn])
        sending = start.people[0].scene.emitters
        self.sending = [one for one in sending if one.brightness > 0]
        self.seen = {one.name: self.view.shown(one) for one in self.sending}
        self._farthest: dict[SingleMove, int] = {}
        self._reaches: dict[str, Callable[[Setup], bool]] = {}
        self._after: dict[tuple[SingleMove, int], np.ndarray] = {}

    def excess_of(self, names: Iterable[str]) -> float:
        """Return how far the worst lens would be from clear with these emitters alone."""
        return self._excess([self.seen[name] for name in self.seen.keys() & set(names)])

    def _excess(self, seen: list[np.ndarray]) -> float:
        return float(self.view.excess(any_of(self.view, seen)).max())

    def sent_by(self, light: Light) -> list[str]:
        """Return the emitters that are a light, or that it alone lights."""
        return [
            one.name
            for one in self.sending
            if one.name == light.name or one.fed_by == (light.name,)
        ]

    def light_lead(
        self,
        move: SingleMove,
        *,
        beside: Iterable[str],
        before: tuple[SingleMove, int] | None = None,
    ) -> Lead | None:
        """Return the lead of a move of a light.

        Parameters
        ----------
        move : SingleMove
            Of a light.
        beside : iterable of str
            Names of the emitters that count beside it.
        before : (SingleMove, int), optional
            A move of the same light that comes first.
        """
        setup = self.setup if before is None else before[0].after(self.setup, before[1])
        if before is None and move.name not in self._reaches:
            self._reaches[move.name] = light_reach(move.name, setup)
        reaches = None if before is not None else self._reaches[move.name]
        farthest = farthest_steps(move, setup, reaches=reaches)
        if before is None:
            self._farthest[move] = farthest
        if farthest == 0:
            return None
        rest = any_of(self.view, [self.seen[name] for name in self.seen.keys() & set(beside)])

        def excess(steps: int) -> float:
            return self._excess([rest, self._shown_after(move, steps, setup)])

        tried = spread_steps(move, farthest, APART)
        return _refined(move, tried, [excess(int(steps)) for steps in tried], excess)

    def _shown_after(self, move: SingleMove, steps: int, setup: Setup) -> np.ndarray:
        """Return which rays see a light after a move of it."""
        key = move, steps
        if setup is self.setup and key in self._after:
            return self._after[key]
        sent = self.sent(move.moved_light(setup, steps), setup)
        shown = any_of(self.view, [self.view.shown(one) for one in sent])
        if setup is self.setup:
            self._after[key] = shown
        return shown

    def excess_after(self, chain: tuple[tuple[SingleMove, int], ...]) -> float:
        """Return about how far the worst lens is from clear after moves of lights."""
        setups: dict[str, Setup] = {}
        shown: dict[str, np.ndarray] = {}
        for move, steps in chain:
            setup = setups.get(move.name, self.setup)
            if setup is self.setup and steps > self._farthest.get(move, steps):
                return float("inf")
            shown[move.name] = self._shown_after(move, steps, setup)
            setups[move.name] = move.lightly_after(setup, steps)
        lights = [one for one in self.setup.lights if one.name in shown]
        gone = {name for one in lights for name in self.sent_by(one)}
        still = [own for name, own in self.seen.items() if name not in gone]
        return self._excess([*still, *shown.values()])

    def sent(self, light: Light, setup: Setup | None = None) -> list[Emitter]:
        """Return what sends the light of one light, in the setup as it is or another."""
        setup = self.setup if setup is None else setup
        own = next((one for one in self.sending if one.name == light.name), None)
        if own is not None and (light.aim == "face" or not isinstance(light.aim, str)):
            return [replace(own, face=light_face(light, setup))]
        alone = {"lights": (light,), "panels": (), "windows": (), "screens": ()}
        sent = emitters(setup.model_copy(update={**alone, "backdrop": None}))
        return [one for one in sent if one.brightness > 0]

    def looking_leads(self, moves: list[SingleMove]) -> list[Lead]:
        """Return the leads of moves of people and the camera."""
        plans = [(move, farthest_steps(move, self.setup)) for move in moves]
        coarse = self._looked_along(
            {
                move: spread_steps(move, farthest, APART_LOOKING)
                for move, farthest in plans
                if farthest
            }
        )
        closer = {
            one.move: between for one in coarse if one.clears and len(between := one.crossing)
        }
        finer = {one.move: one for one in self._looked_along(closer)}
        return [one.with_more(finer[one.move]) if one.move in finer else one for one in coarse]

    def _looked_along(self, tried: dict[SingleMove, np.ndarray]) -> list[Lead]:
        """Return the excess along moves of people and the camera, at the steps given."""
        curves = {move: np.zeros(len(steps)) for move, steps in tried.items()}
        as_it_is = self.view.excess(any_of(self.view, list(self.seen.values())))
        for one, now in zip(self.worn, as_it_is, strict=True):
            mine = {move: steps for move, steps in tried.items() if self._is_seen_anew(move, one)}
            anew = self._from_elsewhere(one, mine)
            for move, curve in curves.items():
                np.maximum(curve, anew.get(move, now), out=curve)
        return [Lead(move=move, steps=tried[move], excess=own) for move, own in curves.items()]

    def view_after(
        self, number: int, moves: list[tuple[SingleMove, int]]
    ) -> tuple[QuickView, np.ndarray]:
        """Return somebody's lenses as seen after moves of people or the camera.

        Parameters
        ----------
        number : int
            Of the person, among those with glasses.
        moves : list of (SingleMove, int)
            The moves, each with its steps.

        Returns
        -------
        QuickView, (moves,) int array
            The view, and its camera for each move; that as it is where a move is of others.
        """
        one = self.worn[number]
        anew = [self._is_seen_anew(move, one) for move, _ in moves]
        ends = [(one.scene.camera, one.scene.pose)]
        ends += [
            self._camera_and_pose(one, move, steps)
            for (move, steps), own in zip(moves, anew, strict=True)
            if own
        ]
        return _view_from(one, ends), np.where(anew, np.cumsum(anew), 0)

    def _is_seen_anew(self, move: SingleMove, one: PersonLenses) -> bool:
        return move.what == "camera" or self.setup.people[move.person] is one.scene.sitter

    def _from_elsewhere(
        self, one: PersonLenses, tried: dict[SingleMove, np.ndarray]
    ) -> dict[SingleMove, FloatArray]:
        """Return the excess of one person's lenses along moves of them or of the camera."""
        view = self._view_from_elsewhere(one, tried)
        if view is None:
            return {}
        excess = view.excess(any_of(view, [view.shown(sent) for sent in self.sending]))
        return dict(zip(tried, _parts(excess, tried), strict=True))

    def _view_from_elsewhere(
        self, one: PersonLenses, tried: dict[SingleMove, np.ndarray]
    ) -> QuickView | None:
        """Return one person's lenses as seen after moves of them or of the camera."""
        ends: list[tuple[FloatArray, HeadPose]] = [
            self._camera_and_pose(one, move, int(steps))
            for move, all_steps in tried.items()
            for steps in all_steps
        ]
        return _view_from(one, ends) if ends else None

    def _camera_and_pose(
        self, one: PersonLenses, move: SingleMove, steps: int
    ) -> tuple[FloatArray, HeadPose]:
        """Return where the camera is and how the head is held after a move."""
        scene = one.scene
        if move.what == "camera":
            after = move.camera_place_after(self.setup, steps)
            return np.array(after.position_m), scene.pose
        if move.family == "stool":
            shift = np.array(move.shift_m(steps))
            pose = replace(scene.pose, origin=scene.pose.origin + shift)
            return scene.camera, pose
        turn = scene.sitter.turn_deg + move.sign * move.amount(steps)
        return scene.camera, head_pose(scene.sitter.model_copy(update={"turn_deg": turn}))


def _view_from(one: PersonLenses, ends: list[tuple[FloatArray, HeadPose]]) -> QuickView:
    """Return one person's lenses as seen from cameras with the head held in given ways."""
    cameras = np.array([camera for camera, _ in ends])
    return quick_view(
        one.scene, light=one.light, cameras=cameras, poses=tuple(pose for _, pose in ends)
    )


def _as_it_is(one: PersonLenses) -> QuickView:
    scene = one.scene
    return quick_view(scene, light=one.light, cameras=scene.camera[None], poses=(scene.pose,))


def _parts(values: FloatArray, tried: dict[SingleMove, np.ndarray]) -> list[FloatArray]:
    """Return values along all moves, one array for each move."""
    return np.split(values, np.cumsum([len(steps) for steps in tried.values()])[:-1], axis=-1)


def any_of(view: QuickView, seen: list[np.ndarray]) -> np.ndarray:
    """Return which rays of a view see any of what is given."""
    return np.logical_or.reduce(seen) if seen else np.zeros(len(view.at), dtype=bool)


def spread_steps(move: SingleMove, farthest: int, apart: dict[str, float]) -> np.ndarray:
    """Return steps of a move to look at, from none to the farthest."""
    count = max(int(np.ceil(farthest * move.step / apart[move.unit])), 1)
    return np.unique(np.round(np.linspace(0, farthest, count + 1)).astype(int))


def farthest_steps(
    move: SingleMove, setup: Setup, *, reaches: Callable[[Setup], bool] | None = None
) -> int:
    """Return how many steps of a move are within reach; what lies between counts as too.

    Parameters
    ----------
    move : SingleMove
        The move.
    setup : Setup
        From where.
    reaches : function of Setup, optional
        `light_reach` of the light that moves, where that is known already.
    """

    def can_be(steps: int) -> bool:
        try:
            return move.after(setup, steps) is not None
        except SetupError:
            return False

    if move.what != "light":
        return _last(lambda steps: can_be(steps) and _near(move, setup, steps), move.most)
    near = light_reach(move.name, setup) if reaches is None else reaches
    found = _last(lambda steps: near(move.lightly_after(setup, steps)), move.most)
    return found if found == 0 or can_be(found) else _last(can_be, found)


def _near(move: SingleMove, setup: Setup, steps: int) -> bool:
    return within_reach(move, before=setup, after=move.after(setup, steps))


def _last(possible: Callable[[int], bool], most: int) -> int:
    """Return the last number that is possible, at most so many; 0 always is."""
    low, high = 0, most
    if possible(high):
        return high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if possible(middle) else (low, middle)
    return low


def _refined(
    move: SingleMove, steps: np.ndarray, found: list[float], look: Callable[[int], float]
) -> Lead:
    """Return a lead with the place where the lenses come clear looked at more closely."""
    known = dict(zip((int(one) for one in steps), found, strict=True))
    clear = [one for one in sorted(known) if one > 0 and known[one] < 1.0]
    if clear:
        high = clear[0]
        low = max(one for one in known if one < high)
        while high - low > 2:
            middle = (low + high) // 2
            known[middle] = look(middle)
            low, high = (low, middle) if known[middle] < 1.0 else (middle, high)
    order = sorted(known)
    return Lead(move=move, steps=np.array(order), excess=np.array([known[one] for one in order]))
