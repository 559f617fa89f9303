"""Where would a light and a person or the camera, moved together, clear the lenses?

What the other lights show after a move of a person or the camera stays, wherever the light goes:
amounts that they do not leave clear are not looked at with the light.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tapemark.analysis import Emitter
from tapemark.planning.moves.leads import QuickLook, any_of, farthest_steps, spread_steps
from tapemark.planning.moves.single import SingleMove
from tapemark.planning.quick_lenses import QuickView

APART_JOINTLY = {"m": 0.2, "deg": 8.0, "once": 1.0}  # of a light, with another move
_JOINTLY = 0.9  # an excess that is taken to clear, of two moves together

#: A move of a person or the camera, and its steps.
Looking = tuple[SingleMove, int]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Seen:
    """One person's lenses as seen after some moves of them or of the camera.

    Attributes
    ----------
    view : QuickView
        From where each of them leaves the camera.
    camera : (moves,) int array
        The number of each move in it.
    rest : (n,) bool array
        Which rays see something that stays as it is.
    """

    view: QuickView
    camera: np.ndarray
    rest: np.ndarray

    def excess(self, sent: list[Emitter]) -> np.ndarray:
        """Return how far from clear the lenses are after each move, (moves,)."""
        seen = any_of(self.view, [self.rest, *(self.view.shown(one) for one in sent)])
        return np.asarray(self.view.excess(seen)[self.camera])

    def only(self, kept: np.ndarray) -> "_Seen":
        """Return the same for some of the moves, by their numbers."""
        cameras, camera = np.unique(self.camera[kept], return_inverse=True)
        view, rays = self.view.only(cameras)
        return _Seen(view=view, camera=camera, rest=self.rest[rays])


class JointLook:
    """Lenses as seen after moves of people and the camera, each traced once.

    Parameters
    ----------
    look : QuickLook
        At the setup as it is.
    looking : dict of SingleMove to (n,) int array
        Moves of people and the camera, with the steps to look at.
    """

    def __init__(self, look: QuickLook, looking: dict[SingleMove, np.ndarray]) -> None:
        self._look = look
        self._moves: list[Looking] = [
            (move, int(steps)) for move, own in looking.items() for steps in own
        ]
        self._beside: dict[str, tuple[list[Looking], list[_Seen]]] = {}

    @cached_property
    def _views(self) -> list[tuple[QuickView, np.ndarray]]:
        """Everybody's lenses after all the moves, with the camera of each."""
        return [
            self._look.view_after(number, self._moves) for number in range(len(self._look.worn))
        ]

    def clearings(self, way: SingleMove) -> list[tuple[int, SingleMove, int]]:
        """Return which amounts of a light's move clear with which moves of person or camera.

        Parameters
        ----------
        way : SingleMove
            Of a light.

        Returns
        -------
        list of (steps, SingleMove, steps)
            Of the light, and of the other with its own; none where a look says it would not do.
        """
        if way.name not in self._beside:
            self._beside[way.name] = self._left_clear(way.name)
        moves, seen = self._beside[way.name]
        farthest = farthest_steps(way, self._look.setup) if moves else 0
        found = []
        for steps in spread_steps(way, farthest, APART_JOINTLY)[1:] if farthest else ():
            sent = self._look.sent(way.moved_light(self._look.setup, int(steps)))
            clear = np.ones(len(moves), dtype=bool)
            for one in seen:
                clear &= one.excess(sent) < _JOINTLY
                if not clear.any():
                    break
            found += [(int(steps), *moves[number]) for number in np.flatnonzero(clear)]
        return found

    def _left_clear(self, name: str) -> tuple[list[Looking], list[_Seen]]:
        """Return the moves after which all but one light leave the lenses clear."""
        (light,) = (one for one in self._look.setup.lights if one.name == name)
        gone = set(self._look.sent_by(light))
        rest = [one for one in self._look.sending if one.name not in gone]
        seen = []
        for view, camera in self._views:
            of_rest = any_of(view, [view.shown(one) for one in rest])
            seen.append(_Seen(view=view, camera=camera, rest=of_rest))
        clear = np.ones(len(self._moves), dtype=bool)
        for one in seen:
            clear &= one.excess([]) < _JOINTLY
        kept = np.flatnonzero(clear)
        moves = [self._moves[number] for number in kept]
        return moves, [one.only(kept) for one in seen] if moves else []
