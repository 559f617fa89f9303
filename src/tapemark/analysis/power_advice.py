"""To which power must each head be turned so that the reading meets the camera's aperture?

All heads go up or down together, so that the lighting ratio stays.  A head
that cannot go so far says what could be changed instead.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.exposure import Exposure, meter_place
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, normalize
from tapemark.photometry import (
    DOME,
    exact_aperture,
    nominal_aperture,
    nominal_iso,
    required_flash_exposure,
    stops_between,
)
from tapemark.studio import Light, Room
from tapemark.units import dialled_power

NEAREST_M = 0.4  # from the lit face to the eyes: nearer than this nobody sits
SMALLEST_APERTURE = 22.0  # that lenses for portraits commonly stop down to; common practice
WIDEST_APERTURE = 1.4
PLACES = 64  # distances looked at between here and there


@dataclass(frozen=True, kw_only=True, slots=True)
class PowerAdvice:
    """What to set one head to.

    Attributes
    ----------
    name : str
        Name of the light.
    set_stops, wanted_stops : float
        Power now, and power that would meet the aperture; above 0 is more than full. [stops]
    dial : str or None
        What to dial, in the step of the head; None where it cannot be set.
    beyond_stops : float
        How far what is wanted is above full power (positive) or below the lowest
        (negative); 0 where the head can do it. [stops]
    distance_m : float or None
        From the lit face to the eyes: where the head would do at its highest or lowest
        power; None where no place would do, or the light comes by way of a surface. [m]
    distance_now_m : float
        The same as it stands. [m]
    iso : int or None
        ISO speed that would do instead, all heads together.
    aperture : float or None
        f-number that would do instead, all heads together, within those of common lenses.
    """

    name: str
    set_stops: float
    wanted_stops: float
    dial: str | None
    beyond_stops: float
    distance_m: float | None
    distance_now_m: float
    iso: int | None
    aperture: float | None

    @property
    def reachable(self) -> bool:
        """Whether the head can be set so."""
        return self.beyond_stops == 0.0


def power_advice(scene: Scene, exposure: Exposure) -> tuple[PowerAdvice, ...]:
    """Return what to set each head that is on to.

    Parameters
    ----------
    scene : Scene
        Heads and camera.
    exposure : Exposure
        Readings as it stands.

    Returns
    -------
    tuple of PowerAdvice
        In the setup's order; empty where no head lights the face, or where windows and the
        room's own lamps alone are already too bright for the setting.
    """
    change = power_change_stops(scene, exposure)
    if change is None:
        return ()
    return tuple(_advice(scene, light, change) for light in scene.setup.lights if light.on)


def power_change_stops(scene: Scene, exposure: Exposure) -> float | None:
    """Return by how much all heads must go up [stops]; None where that cannot help."""
    fixed = exposure.exposure_lx_s - _from_heads(scene, exposure)
    dimmed = exposure.exposure_lx_s - fixed
    camera = scene.setup.camera
    wanted = required_flash_exposure(
        exact_aperture(camera.aperture), iso=float(camera.iso), calibration=DOME
    )
    missing = float(wanted) - fixed
    if dimmed <= 1e-9 * exposure.exposure_lx_s or missing <= 0:
        return None
    return float(stops_between(missing, reference=dimmed))


def _from_heads(scene: Scene, exposure: Exposure) -> float:
    """Return what the dome gets from heads, straight or by way of a surface [lx·s]."""
    heads = {light.name for light in scene.setup.lights}
    total = 0.0
    for emitter, reading in zip(scene.emitters, exposure.lights, strict=True):
        fed = zip(emitter.fed_by, emitter.fed_shares, strict=True)
        share = (
            sum(part for name, part in fed if name in heads)
            if emitter.fed_by
            else float(emitter.kind == "light")
        )
        total += share * reading.exposure_lx_s
    return total


def _advice(scene: Scene, light: Light, change: float) -> PowerAdvice:
    head, camera = light.head, scene.setup.camera
    wanted = light.power_stops + change
    step = head.power_step_stops
    dialled = round(wanted / step) * step
    lowest = min(head.lowest_power_stops, light.power_stops)
    beyond = 0.0
    if dialled > 1e-9:
        beyond = wanted
    elif dialled < lowest - 1e-9:
        beyond = wanted - lowest
    here, there = _distances(scene, light, beyond)
    n = exact_aperture(camera.aperture) * 2.0 ** (-beyond / 2.0)
    return PowerAdvice(
        name=light.name,
        set_stops=light.power_stops,
        wanted_stops=wanted,
        dial=dialled_power(dialled, step_stops=step) if beyond == 0.0 else None,
        beyond_stops=beyond,
        distance_m=None if beyond == 0.0 else there,
        distance_now_m=here,
        iso=nominal_iso(camera.iso * 2.0**beyond) if beyond else None,
        aperture=float(nominal_aperture(n))
        if beyond and WIDEST_APERTURE <= n <= SMALLEST_APERTURE * 1.05
        else None,
    )


def _distances(scene: Scene, light: Light, more_stops: float) -> tuple[float, float | None]:
    """Return how far a light is, and where it would give so much more at the same power [m]."""
    place = meter_place(scene)
    (emitter,) = (one for one in scene.emitters if one.kind == "light" and one.name == light.name)
    span = emitter.face.center - place
    here = float(np.sqrt(span @ span))
    away = normalize(span)
    reference = float(_along(emitter, here, away)[0])
    by_way_of = isinstance(light.aim, str) and light.aim != "face"
    if more_stops == 0.0 or by_way_of or reference <= 0:
        return here, None
    far = here if more_stops > 0 else _room_left_m(place, away, scene.setup.room)
    near = min(NEAREST_M, here) if more_stops > 0 else here
    if far <= near:
        return here, None
    tried = np.geomspace(near, far, PLACES)
    gain = stops_between(_along(emitter, tried, away), reference=reference)
    if not gain.min() <= more_stops <= gain.max():
        return here, None
    return here, float(np.interp(-more_stops, -gain, tried))


def _along(emitter: Emitter, distance_m: FloatArray | float, away: FloatArray) -> FloatArray:
    """Return what a receptor turned to a light gets at distances along its line [lx·s]."""
    steps = np.atleast_1d(distance_m)[:, None]
    return emitter.exposure_at(emitter.face.center - steps * away, normal=away)


def _room_left_m(place: FloatArray, away: FloatArray, room: Room) -> float:
    """Return how far along a direction the room goes on [m]."""
    low = np.array([room.x_min_m, room.y_min_m, 0.0])
    high = np.array([room.x_max_m, room.y_max_m, room.height_m])
    wall = np.where(away > 0, high, low)
    moving = np.abs(away) > 1e-9
    return float(np.min((wall - place)[moving] / away[moving]))
