"""What does each light meter at the sitter, and how does that sit with the camera?

Two receptors are kept apart.  *Dome*: at the face, pointed at the camera, C =
330; turned by an angle from a light it reads (1 + cos)/2 of what it reads
square on.  *Flat*: at the face, turned to one light, C = 250.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.ambient import (
    Ambient,
    RoomEstimate,
    ambient,
    room_estimate,
    steady_shares,
)
from tapemark.analysis.emitter import Emitter
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.head_output import HeadOutput, head_output
from tapemark.analysis.scene import Scene
from tapemark.analysis.uncertainty import Spread, added, joined
from tapemark.geometry import FloatArray, dot, normalize
from tapemark.photometry import DOME, FLAT, aperture_from_exposure, dome_share, exact_aperture
from tapemark.studio import Light
from tapemark.units import dialled_power

#: A light that gives less than this share is neither key nor fill.
LEAST_SHARE = 0.02
#: The head shades a dome at the face from behind; its shadow is taken to fade in over the
#: last 10 degrees before the side. [-]
FADES_OVER = float(np.sin(np.deg2rad(10.0)))
#: What the room's own lamps are called; their light is stated as metered at the sitter.
ROOM_LAMPS = "room lamps"
METERED_ROOM = Spread(low_stops=-0.2, high_stops=0.2)
STATED_LUMINANCE = Spread(low_stops=-0.5, high_stops=0.5)  # of a window or screen (assumption)
REFLECTANCE = Spread(low_stops=-0.3, high_stops=0.3)  # of a bounce (assumption)


@dataclass(frozen=True, kw_only=True, slots=True)
class LightReading:
    """One emitter at the sitter.

    Attributes
    ----------
    name : str
        Name of the emitter.
    aperture : float or None
        f-number it meters alone with the dome; None where it does not reach the face.
    exposure_lx_s : float
        What the dome receives. [lx·s]
    power_stops : float or None
        Set power below full, 0 or less [stops]; None for what has no power.
    flat_aperture : float or None
        f-number it meters alone with a flat receptor turned to it.
    flat_lx_s : float
        What that receptor receives. [lx·s]
    dial : str or None
        The power as photographers dial it, ``1/4 + 0.3``.
    steady_share : float
        Share of it that burns all the time, 0 (flash) to 1. [-]
    illuminance_lx : float or None
        What a lux meter turned to it shows; None for flash. [lx]
    known_by : str
        What it is worked out from.
    spread : Spread
        How far it may be off.
    """

    name: str
    aperture: float | None
    exposure_lx_s: float
    power_stops: float | None
    flat_aperture: float | None
    flat_lx_s: float
    dial: str | None
    steady_share: float
    illuminance_lx: float | None
    known_by: str
    spread: Spread


@dataclass(frozen=True, kw_only=True, slots=True)
class Ratio:
    """Lighting ratio in one convention, with the other beside it.

    Attributes
    ----------
    key, fill : str
        Names of the lights.
    highlight_to_shadow : float
        (key + fill) : fill. [-]
    key_over_fill_stops : float
        Key against fill. [stops]
    """

    key: str
    fill: str
    highlight_to_shadow: float
    key_over_fill_stops: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Exposure:
    """Exposure at the sitter.

    Attributes
    ----------
    aperture : float or None
        f-number that all emitters and the room's lamps meter together, with the dome;
        None in the dark.
    stops_over : float or None
        Reading against the aperture set: positive is overexposed. [stops]
    ratio : Ratio or None
        None with a single light or no fill.
    lights : tuple of LightReading
        In the order of the scene's emitters.
    exposure_lx_s : float
        What the dome receives together. [lx·s]
    flat_aperture : float or None
        f-number of a flat receptor pointed at the camera, all together.
    spread : Spread
        How far the reading may be off.
    ambient : Ambient
        What of it burns all the time.
    room : RoomEstimate
        What the room adds by bounce after bounce; not part of the readings above.
    aperture_with_room : float or None
        The reading with that estimate added.
    """

    aperture: float | None
    stops_over: float | None
    ratio: Ratio | None
    lights: tuple[LightReading, ...]
    exposure_lx_s: float
    flat_aperture: float | None
    spread: Spread
    ambient: Ambient
    room: RoomEstimate
    aperture_with_room: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Received:
    """What three receptors get from one emitter [lx·s]."""

    dome: float
    flat: float
    flat_to_camera: float


def exposure(scene: Scene, *, light: FaceLight) -> Exposure:
    """Return what a meter reads at the face of a scene.

    Parameters
    ----------
    scene : Scene
        Camera, sitter and emitters.
    light : FaceLight
        Which share of each emitter the face sees.

    Notes
    -----
    Heads that nobody metered are estimates; each reading says how it is known
    and how far it may be off.
    """
    camera, room = scene.setup.camera, scene.setup.room
    received = [
        _received(emitter, scene, share=share)
        for emitter, share in zip(scene.emitters, light.free_shares, strict=True)
    ]
    outputs = {one.name: head_output(one, camera=camera) for one in scene.setup.lights}
    readings = _readings(scene, received, outputs)
    amounts = {one.name: one.exposure_lx_s for one in readings}
    lamps = room.ambient_lx * camera.shutter_s
    steady = {one.name: one.exposure_lx_s * one.steady_share for one in readings}
    total = sum(amounts.values()) + lamps
    thrown_about = room_estimate(
        scene.emitters,
        sent_lm_s={
            one.name: outputs[one.name].light_lm_s * _both_ways(one)
            for one in scene.emitters
            if one.kind == "light"
        },
        room=room,
    )
    aperture = _aperture(total, camera.iso)
    set_to = float(exact_aperture(camera.aperture))
    return Exposure(
        aperture=aperture,
        stops_over=None if aperture is None else 2.0 * float(np.log2(aperture / set_to)),
        ratio=_ratio(scene.emitters, [one.exposure_lx_s for one in readings], lamps),
        lights=readings,
        exposure_lx_s=total,
        flat_aperture=_aperture(
            sum(one.flat_to_camera for one in received) + lamps, camera.iso, constant=FLAT
        ),
        spread=added(
            [(one.exposure_lx_s, one.spread) for one in readings] + [(lamps, METERED_ROOM)]
        ),
        ambient=ambient(
            {**steady, ROOM_LAMPS: lamps},
            flash_lx_s=max(total - sum(steady.values()) - lamps, 0.0),
            camera=camera,
        ),
        room=thrown_about,
        aperture_with_room=_aperture(total + thrown_about.exposure_lx_s, camera.iso),
    )


def _both_ways(emitter: Emitter) -> float:
    """Return all the light that a light's face sends over what it sends forwards."""
    if emitter.brightness <= 0.0:
        return 1.0
    return 1.0 + emitter.back_brightness / emitter.brightness


def meter_place(scene: Scene) -> FloatArray:
    """Return where the meter is held: 2 cm in front of the eyes, (3,) [m]."""
    return np.asarray(scene.pose.origin + 0.02 * scene.pose.axes[:, 1])


def _received(emitter: Emitter, scene: Scene, *, share: float) -> _Received:
    """Return what the receptors get from one emitter; the head shades them from behind."""
    place, forward = meter_place(scene), scene.pose.axes[:, 1]
    towards = normalize(emitter.shining_middle() - place)
    towards_camera = normalize(scene.camera - place)
    in_front = min(max(float(dot(towards, forward)) / FADES_OVER, 0.0), 1.0)
    receptors = np.stack([towards, towards_camera])
    places = np.broadcast_to(place, receptors.shape)
    flat, to_camera = emitter.exposure_at(places, normal=receptors) * (in_front * share)
    turned = float(dome_share(dot(towards, towards_camera)))
    return _Received(dome=float(flat) * turned, flat=float(flat), flat_to_camera=float(to_camera))


def _readings(
    scene: Scene, received: list[_Received], outputs: dict[str, HeadOutput]
) -> tuple[LightReading, ...]:
    camera = scene.setup.camera
    by_name = {one.name: one for one in scene.setup.lights}
    found = []
    shares = steady_shares(scene.emitters)
    for emitter, got, steady in zip(scene.emitters, received, shares, strict=True):
        light = by_name.get(emitter.name) if emitter.kind == "light" else None
        known_by, spread = _known(emitter, outputs)
        found.append(
            LightReading(
                name=emitter.name,
                aperture=_aperture(got.dome, camera.iso),
                exposure_lx_s=got.dome,
                power_stops=None if light is None else light.power_stops,
                flat_aperture=_aperture(got.flat, camera.iso, constant=FLAT),
                flat_lx_s=got.flat,
                dial=None if light is None else dial(light),
                steady_share=steady,
                illuminance_lx=got.flat / camera.shutter_s if steady == 1.0 else None,
                known_by=known_by,
                spread=spread,
            )
        )
    return tuple(found)


def dial(light: Light) -> str:
    """Return the power of a light as it is dialled on its head."""
    return dialled_power(light.power_stops, step_stops=light.head.power_step_stops)


def _known(emitter: Emitter, outputs: dict[str, HeadOutput]) -> tuple[str, Spread]:
    """Return what an emitter is worked out from, and how far it may be off."""
    if emitter.name in outputs and emitter.kind == "light":
        return outputs[emitter.name].known_by, outputs[emitter.name].spread
    if not emitter.fed_by:
        return "stated luminance", STATED_LUMINANCE
    feeding = [
        (share, outputs[name].spread if name in outputs else STATED_LUMINANCE)
        for name, share in zip(emitter.fed_by, emitter.fed_shares, strict=True)
    ]
    return "bounce", joined(added(feeding), REFLECTANCE)


def _aperture(amount: float, iso: float, *, constant: float = DOME) -> float | None:
    if amount <= 0:
        return None
    return float(aperture_from_exposure(amount, iso=iso, calibration=constant))


def _ratio(emitters: tuple[Emitter, ...], received: list[float], lamps: float) -> Ratio | None:
    """Return the ratio of the strongest light to all others; a bounce counts with its light."""
    groups: dict[str, float] = {ROOM_LAMPS: lamps} if lamps > 0 else {}
    for emitter, amount in zip(emitters, received, strict=True):
        own = emitter.fed_by[0] if len(emitter.fed_by) == 1 else emitter.name
        groups[own] = groups.get(own, 0.0) + amount
    total = sum(groups.values())
    ranked = sorted(
        ((amount, name) for name, amount in groups.items() if amount > LEAST_SHARE * total),
        reverse=True,
    )
    if len(ranked) < 2:
        return None
    (key, key_name), (_, fill_name) = ranked[0], ranked[1]
    rest = sum(amount for amount, _ in ranked[1:])
    return Ratio(
        key=key_name,
        fill=fill_name,
        highlight_to_shadow=(key + rest) / rest,
        key_over_fill_stops=float(np.log2(key / rest)),
    )
