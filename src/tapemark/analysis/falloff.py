"""How does the light fall off between backdrop and camera, and how far may the sitter lean?

A dome pointed at the camera is moved, with nobody there, along the level line
at the height of the sitter's face that runs towards the camera::

    backdrop |.......ear.(face).nose....................camera
              -  behind    0      in front  +

At the face it reads what `exposure` finds there, less what the head hides.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.camera_frame import head_marks
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.exposure import ROOM_LAMPS, meter_place
from tapemark.analysis.scene import Scene
from tapemark.analysis.shading import blocked_paths, shining_outline, shining_samples
from tapemark.geometry import FloatArray, dot, normalize, to_world
from tapemark.photometry import (
    DOME,
    aperture_from_exposure,
    dome_share,
    exact_aperture,
    stops_between,
)

STEP_M = 0.02  # between places, about
SHORT_OF_CAMERA_M = 0.15  # the line ends so far before the lens
SHORT_OF_BACKDROP_M = 0.01
#: Leaning so far off the reading is what a third of a stop, and half a stop, allow. [stops]
USEFUL_STOPS = (1.0 / 3.0, 0.5)
#: A light has a curve if it gives this share of all at the face, or that at its best place. [-]
LEAST_AT_FACE, LEAST_ANYWHERE = 0.02, 0.1


@dataclass(frozen=True, kw_only=True, slots=True)
class FalloffCurve:
    """What the dome gets from one light, or from all, at each place.

    Attributes
    ----------
    name : str
        The light's name.
    exposures_lx_s : tuple of float
        Light on the dome. [lx·s]
    apertures : tuple of float or None
        The same as f-numbers; None where none arrives.
    """

    name: str
    exposures_lx_s: tuple[float, ...]
    apertures: tuple[float | None, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class UsefulDepth:
    """How far one may leave the reading's place before it is off.

    Attributes
    ----------
    stops : float
        By how much. [stops]
    back_m, forward_m : float or None
        Away from the camera and towards it; None where the whole way stays within. [m]
    """

    stops: float
    back_m: float | None
    forward_m: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class FalloffMark:
    """The reading at something on the way, or beside it.

    Attributes
    ----------
    name : str
        ``nose tip``, ``ears``, ``backdrop``, ``wall`` or a person's name.
    ahead_m : float
        Along the line from the reading's place at the face, towards the camera. [m]
    exposure_lx_s : float
        Light on the dome there. [lx·s]
    aperture : float or None
        The same as an f-number.
    stops : float or None
        Against the reading at the face. [stops]
    """

    name: str
    ahead_m: float
    exposure_lx_s: float
    aperture: float | None
    stops: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Falloff:
    """Readings along the line from the backdrop over the face to the camera.

    Attributes
    ----------
    start : tuple of three floats
        The reading's place at the face, world. [m]
    towards : tuple of three floats
        Level unit vector from there to the camera. [-]
    places_m : tuple of float
        Places along the line from there, behind it negative. [m]
    lights : tuple of FalloffCurve
        Each light alone, in the order of the scene's emitters.
    together : FalloffCurve
        All of them with the room's lamps.
    aperture : float or None
        What all meter at the face; None in the dark.
    set_to : float
        The camera's aperture, exact.
    depths : tuple of UsefulDepth
        For each of `USEFUL_STOPS`; empty in the dark.
    marks : tuple of FalloffMark
        From the backdrop to the camera.
    """

    start: tuple[float, float, float]
    towards: tuple[float, float, float]
    places_m: tuple[float, ...]
    lights: tuple[FalloffCurve, ...]
    together: FalloffCurve
    aperture: float | None
    set_to: float
    depths: tuple[UsefulDepth, ...]
    marks: tuple[FalloffMark, ...]


def falloff(scene: Scene, *, others: tuple[Scene, ...] = ()) -> Falloff:
    """Return how the light falls off along the line to the camera.

    Parameters
    ----------
    scene : Scene
        Setup, about the person at whose face the line starts.
    others : tuple of Scene
        About everybody else, for their readings.

    Notes
    -----
    People throw no shadow here and hide nothing; panels and the backs of
    other lights do. Of the sitter's head only the places of nose and ears
    count.
    """
    start, towards = meter_place(scene), _towards(scene)
    ahead = _places(scene, start, towards)
    received = _received(scene, start + ahead[:, None] * towards)
    iso = scene.setup.camera.iso
    total = received.sum(axis=0)
    names = [*(one.name for one in scene.emitters), ROOM_LAMPS]
    zero = int(np.flatnonzero(ahead == 0.0)[0])
    at_face = float(total[zero])
    curves = tuple(
        _curve(name, amounts, iso)
        for name, amounts in zip(names, received, strict=True)
        if amounts[zero] > LEAST_AT_FACE * at_face or (amounts > LEAST_ANYWHERE * total).any()
    )
    people = [meter_place(one) for one in others]
    at_people = [float(_received(scene, place[None]).sum()) for place in people]
    places = [
        (_backdrop_name(scene), float(ahead[0]), float(total[0])),
        *(
            (name, where, float(np.interp(where, ahead, total)))
            for name, where in _on_the_head(scene, start, towards)
        ),
        *(
            (one.sitter.name, float((place - start) @ towards), amount)
            for one, place, amount in zip(others, people, at_people, strict=True)
        ),
    ]
    marks = [_mark(*one, at_face=at_face, iso=iso) for one in places]
    return Falloff(
        start=_triple(start),
        towards=_triple(towards),
        places_m=tuple(ahead.tolist()),
        lights=curves,
        together=_curve("together", total, iso),
        aperture=_aperture(at_face, iso),
        set_to=float(exact_aperture(scene.setup.camera.aperture)),
        depths=_depths(ahead, total, at_face),
        marks=tuple(sorted(marks, key=lambda one: one.ahead_m)),
    )


def _towards(scene: Scene) -> FloatArray:
    """Return the level unit vector from the face to the camera, (3,) [-]."""
    span = scene.camera - meter_place(scene)
    level = np.array([span[0], span[1], 0.0])
    if not level.any():  # a camera straight overhead: as the face looks
        level = np.array([*scene.pose.axes[:2, 1], 0.0])
    return np.asarray(normalize(level))


def _places(scene: Scene, start: FloatArray, towards: FloatArray) -> FloatArray:
    """Return places along the line [m]; 0 is one of them."""
    behind = max(_way_back(scene, start, towards) - SHORT_OF_BACKDROP_M, STEP_M)
    ahead = float((scene.camera - start) @ towards) - SHORT_OF_CAMERA_M
    parts = [np.linspace(-behind, 0.0, int(behind / STEP_M) + 2)]
    if ahead > 0:
        parts.append(np.linspace(0.0, ahead, int(ahead / STEP_M) + 2)[1:])
    return np.concatenate(parts)


def _way_back(scene: Scene, start: FloatArray, towards: FloatArray) -> float:
    """Return how far behind the face the line meets the backdrop or a wall [m]."""
    room, backdrop = scene.setup.room, scene.setup.backdrop
    x, y = -towards[:2]
    ways = [
        (limit - at) / along
        for limit, at, along in (
            (room.x_max_m if x > 0 else room.x_min_m, start[0], x),
            (room.y_max_m if y > 0 else room.y_min_m, start[1], y),
        )
        if abs(along) > 1e-9
    ]
    if backdrop is not None and y < -1e-9:
        ways.append((-backdrop.distance_m - start[1]) / y)
    return float(min((way for way in ways if way > 0), default=STEP_M))


def _backdrop_name(scene: Scene) -> str:
    return "wall" if scene.setup.backdrop is None else "backdrop"


def _received(scene: Scene, points: FloatArray) -> FloatArray:
    """Return what a dome to the camera gets from each emitter, and of lamps, (k + 1, n) [lx·s]."""
    towards_camera = normalize(scene.camera - points)
    lamps = scene.setup.room.ambient_lx * scene.setup.camera.shutter_s
    rows = [_of_one(one, scene, points, towards_camera) for one in scene.emitters]
    return np.array([*rows, np.full(len(points), lamps)])


def _of_one(
    emitter: Emitter, scene: Scene, points: FloatArray, towards_camera: FloatArray
) -> FloatArray:
    towards = normalize(emitter.shining_middle() - points)
    flat = emitter.exposure_at(points, normal=towards)
    if not flat.any():
        return np.zeros(len(points))
    samples = shining_samples(shining_outline(emitter)[None])[0]
    span = np.broadcast_to(samples, (len(points), *samples.shape))
    blocked = blocked_paths(points[:, None, :], span, emitter=emitter, others=scene.emitters)
    return np.asarray(
        flat * dome_share(dot(towards, towards_camera)) * (1.0 - blocked.mean(axis=1))
    )


def _on_the_head(scene: Scene, start: FloatArray, towards: FloatArray) -> list[tuple[str, float]]:
    """Return where nose tip and ears lie along the line [m]."""
    marks = to_world(head_marks(scene.head), origin=scene.pose.origin, axes=scene.pose.axes)
    along = (marks - start) @ towards
    return [("ears", float(along[3:5].mean())), ("nose tip", float(along[2]))]


def _depths(ahead: FloatArray, total: FloatArray, at_face: float) -> tuple[UsefulDepth, ...]:
    """Return how far from the face the reading stays within each limit."""
    if at_face <= 0:
        return ()
    stops = np.abs(stops_between(np.maximum(total, 1e-12), reference=at_face))
    zero = int(np.flatnonzero(ahead == 0.0)[0])
    return tuple(
        UsefulDepth(
            stops=limit,
            back_m=_first_past(-ahead[zero::-1], stops[zero::-1], limit),
            forward_m=_first_past(ahead[zero:], stops[zero:], limit),
        )
        for limit in USEFUL_STOPS
    )


def _first_past(away: FloatArray, stops: FloatArray, limit: float) -> float | None:
    """Return the first distance at which a limit is passed; None where it never is [m]."""
    past = np.flatnonzero(stops > limit)
    if not len(past):
        return None
    last = int(past[0])
    share = (limit - stops[last - 1]) / (stops[last] - stops[last - 1])
    return float(away[last - 1] + share * (away[last] - away[last - 1]))


def _mark(
    name: str, ahead_m: float, exposure_lx_s: float, *, at_face: float, iso: float
) -> FalloffMark:
    known = exposure_lx_s > 0 and at_face > 0
    return FalloffMark(
        name=name,
        ahead_m=ahead_m,
        exposure_lx_s=exposure_lx_s,
        aperture=_aperture(exposure_lx_s, iso),
        stops=float(stops_between(exposure_lx_s, reference=at_face)) if known else None,
    )


def _curve(name: str, amounts: FloatArray, iso: float) -> FalloffCurve:
    return FalloffCurve(
        name=name,
        exposures_lx_s=tuple(amounts.tolist()),
        apertures=tuple(_aperture(one, iso) for one in amounts.tolist()),
    )


def _aperture(amount: float, iso: float) -> float | None:
    if amount <= 0:
        return None
    return float(aperture_from_exposure(amount, iso=iso, calibration=DOME))


def _triple(vector: FloatArray) -> tuple[float, float, float]:
    x, y, z = vector.tolist()
    return (x, y, z)
