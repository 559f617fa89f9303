"""Looking at a sample of wearers before a setup: verdicts, catchlights, and which light shows.

A first look is coarse.  Lenses whose verdict is close are looked at again, twice as finely each
time; the few that cannot be interpolated at all get the full check.
"""

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

import numpy as np

from tapemark.analysis import Emitter, emitters
from tapemark.analysis.glare import CLEAR_LENS_COVER, CLEAR_VEIL
from tapemark.geometry import FloatArray
from tapemark.planning.walk_ins.wearer_catchlights import live_eyes
from tapemark.planning.walk_ins.wearer_faces import WearerFaces, faces_before, single
from tapemark.planning.walk_ins.wearer_glare import Kept, Shown, may_show, what_lenses_show
from tapemark.planning.walk_ins.wearer_light import light_at_eyes
from tapemark.planning.walk_ins.wearer_nodes import Lattice, LensNodes, lens_nodes
from tapemark.planning.walk_ins.wearer_scene import look_closely, wearer_scene
from tapemark.planning.walk_ins.wearers import Wearers
from tapemark.studio import Population, Setup
from tapemark.watch import Watch

TOGETHER = 256  # wearers at a time: more do not fit the processor's memory, fewer cost more calls
COARSE: Lattice = (12, 16)  # rows and columns of the first look
#: Closer looks: lattice, and the veils and lens covers before it that are too close to call.
CLOSER: tuple[tuple[Lattice, tuple[float, float], tuple[float, float]], ...] = (
    ((24, 32), (0.0002, 0.04), (0.018, 0.045)),
    ((40, 54), (0.0015, 0.011), (0.0255, 0.0355)),
)
VEILED, EDGE, CLEAR = 2, 1, 0
THREADS = 2
_Job = TypeVar("_Job", int, slice)


@dataclass(frozen=True, kw_only=True, eq=False)
class Crowd:
    """Wearers who sit or stand before a camera, ready to be looked at under any light.

    Attributes
    ----------
    wearers : Wearers
        The sample.
    population : Population
        What they were drawn from.
    camera : (3,) array
        Entrance pupil of the camera. [m]
    parts : tuple of (WearerFaces, LensNodes)
        Faces and traced lenses, some wearers at a time.
    kept : tuple of dict
        What a first look at each part keeps for the next one, under other lights.
    """

    wearers: Wearers
    population: Population
    camera: FloatArray
    parts: tuple[tuple[WearerFaces, LensNodes], ...]
    kept: tuple[Kept, ...]

    @property
    def eye_height_m(self) -> FloatArray:
        """Eyes above the floor, (n,). [m]"""
        return np.concatenate([faces.eye_height_m for faces, _ in self.parts])


@dataclass(frozen=True, kw_only=True, eq=False)
class Looks:
    """What a sample of wearers shows the camera.

    Attributes
    ----------
    verdict : (n,) int array
        0 clear, 1 edge, 2 veiled: the worse of both lenses.
    live : (n,) bool array
        Whether both eyes show a catchlight.
    covers, veils : (emitters, n) arrays
        Largest lens cover and veil of each emitter alone.
    """

    verdict: np.ndarray
    live: np.ndarray
    covers: FloatArray
    veils: FloatArray

    def __len__(self) -> int:
        """Return how many wearers they are of."""
        return len(self.verdict)


def gathered(setup: Setup, wearers: Wearers, *, population: Population) -> Crowd:
    """Return wearers as they sit or stand before the camera of a setup.

    Lights play no part: the same crowd serves for setups that differ in their lights alone.
    """
    chunks = _chunks(len(wearers))

    def part(chunk: slice) -> Crowd:
        return _gathered(setup, wearers.only(chunk), population=population)

    with ThreadPoolExecutor(threads()) as pool:
        crowds = tuple(pool.map(part, chunks))
    return Crowd(
        wearers=wearers,
        population=population,
        camera=np.array(setup.camera.place.position_m),
        parts=tuple(one.parts[0] for one in crowds),
        kept=tuple({} for _ in crowds),
    )


def looks_of_all(
    setup: Setup, wearers: Wearers, *, population: Population, watch: Watch | None = None
) -> Looks:
    """Return what wearers show before a setup, looked at closely, some at a time.

    Parameters
    ----------
    setup : Setup
        As it stands.
    wearers : Wearers
        The sample.
    population : Population
        What it was drawn from.
    watch : Watch, optional
        As in `looks_before`.
    """
    sending = emitters(setup)

    def look(chunk: slice) -> Looks:
        crowd = _gathered(setup, wearers.only(chunk), population=population)
        return _looks_of_part(setup, crowd, 0, sending=sending, closely=True)

    found = _worked_off(look, _chunks(len(wearers)), count=len(wearers), watch=watch)
    return _joined(found, len(sending))


def looks_before(
    setup: Setup,
    crowd: Crowd,
    *,
    closely: bool = True,
    catchlights: bool = True,
    watch: Watch | None = None,
) -> Looks:
    """Return what a crowd shows under the lights of a setup.

    Parameters
    ----------
    setup : Setup
        Whose camera and mark the crowd was gathered before.
    crowd : Crowd
        The wearers.
    closely : bool
        Look again where the verdict is close; without, one verdict in twenty may be wrong.
    catchlights : bool
        Look for them; without, no eye counts as alive.
    watch : Watch, optional
        Told how far it is; it may end the work, and the looks are then those of the first
        wearers only.
    """
    sending = emitters(setup)

    def look(number: int) -> Looks:
        return _looks_of_part(
            setup, crowd, number, sending=sending, closely=closely, catchlights=catchlights
        )

    numbers = range(len(crowd.parts))
    found = _worked_off(look, numbers, count=len(crowd.wearers), watch=watch)
    return _joined(found, len(sending))


def _gathered(setup: Setup, wearers: Wearers, *, population: Population) -> Crowd:
    """Return a crowd of one part."""
    camera = np.array(setup.camera.place.position_m)
    faces = faces_before(setup, wearers, population=population)
    part = faces, lens_nodes(faces, camera=camera).in_single()
    return Crowd(wearers=wearers, population=population, camera=camera, parts=(part,), kept=({},))


def _chunks(count: int) -> list[slice]:
    return [slice(at, at + TOGETHER) for at in range(0, count, TOGETHER)]


def _worked_off(
    look: Callable[[_Job], Looks], jobs: Iterable[_Job], *, count: int, watch: Watch | None
) -> list[Looks]:
    """Return the looks of all jobs in their order; of the first ones only, once stopped."""
    found: list[Looks] = []
    with ThreadPoolExecutor(threads()) as pool:
        waiting = [pool.submit(look, job) for job in jobs]
        for looks in _in_turn(waiting, watch):
            found.append(looks)
            if watch is not None:
                done = sum(len(one) for one in found)
                watch.tell(f"{done} of {count} wearers looked at")
    return found


def _in_turn(waiting: Iterable[Future[Looks]], watch: Watch | None) -> Iterator[Looks]:
    """Yield results in their order; once stopped, take no more and cancel the rest."""
    for one in waiting:
        if watch is not None and watch.stopped:
            one.cancel()
            continue
        yield one.result()


def threads() -> int:
    """Return how many wearers' parts are worked on at the same time."""
    return min(THREADS, os.cpu_count() or 1)


def _joined(found: list[Looks], count: int) -> Looks:
    none = np.zeros((count, 0))
    return Looks(
        verdict=np.concatenate([np.zeros(0, dtype=int), *(one.verdict for one in found)]),
        live=np.concatenate([np.zeros(0, dtype=bool), *(one.live for one in found)]),
        covers=np.concatenate([none, *(one.covers for one in found)], axis=1),
        veils=np.concatenate([none, *(one.veils for one in found)], axis=1),
    )


def _looks_of_part(
    setup: Setup,
    crowd: Crowd,
    number: int,
    *,
    sending: tuple[Emitter, ...],
    closely: bool,
    catchlights: bool = True,
) -> Looks:
    faces, nodes = crowd.parts[number]
    received = light_at_eyes(faces, sending)
    lean = faces.in_single()
    met = may_show(lean, nodes, sending)
    show = partial(what_lenses_show, lean, nodes, sending, received=single(received))
    kept = None if closely else crowd.kept[number]
    shown = show(met=met, lattice=COARSE, kept=kept)
    for lattice, veils, covers in CLOSER if closely else ():
        close = _too_close(shown, veils, covers)
        again = show(met=met & close, lattice=lattice)
        for name in ("lens_cover", "veil", "covers", "veils"):
            getattr(shown, name)[..., close] = getattr(again, name)[..., close]
    live = np.zeros(2 * len(faces), dtype=bool)
    if catchlights:
        live = live_eyes(faces, sending, received=received, camera=crowd.camera)
    verdict = _verdicts(shown).reshape(-1, 2).max(axis=1)
    for one in np.flatnonzero(~nodes.traced.reshape(-1, 2).all(axis=1)):
        at = number * TOGETHER + int(one)
        verdict[one] = _closely(setup, crowd, at, sending=sending)
    return Looks(
        verdict=verdict,
        live=np.asarray(live.reshape(-1, 2).all(axis=1)),
        covers=shown.covers.reshape(len(sending), len(faces), 2).max(axis=2),
        veils=shown.veils.reshape(len(sending), len(faces), 2).max(axis=2),
    )


def _verdicts(shown: Shown) -> np.ndarray:
    """Return the verdict on each lens, (L,)."""
    beside = np.where(shown.lens_cover < CLEAR_LENS_COVER, CLEAR, EDGE)
    return np.where(shown.veil >= CLEAR_VEIL, VEILED, beside)


def _too_close(shown: Shown, veils: tuple[float, float], covers: tuple[float, float]) -> np.ndarray:
    """Return which lenses are too close to call and decide about their wearer, (L,) bool."""
    over_eye = (shown.veil > veils[0]) & (shown.veil < veils[1])
    beside = (shown.veil < veils[1]) & (shown.lens_cover > covers[0])
    beside &= shown.lens_cover < covers[1]
    surely = (shown.veil >= veils[1]).reshape(-1, 2).any(axis=1)
    return (over_eye | beside) & ~np.repeat(surely, 2)


def _closely(setup: Setup, crowd: Crowd, number: int, *, sending: tuple[Emitter, ...]) -> int:
    """Return the verdict of the full check on one wearer."""
    scene = wearer_scene(setup, crowd.wearers, number, population=crowd.population, sending=sending)
    worth = {"clear": CLEAR, "edge": EDGE, "veiled": VEILED}
    return max(worth[lens.verdict] for lens in look_closely(scene).lenses)
