"""What does each light meter at the sitter, and how does that sit with the camera?

The reading is that of a meter with a dome held at the face and pointed at
the camera.  A dome turned by an angle from a light reads (1 + cos)/2 of what
it reads square on.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.face_light import FaceLight
from tapemark.analysis.scene import Scene
from tapemark.geometry import FloatArray, dot, normalize
from tapemark.photometry import DOME, aperture_from_exposure, exact_aperture

#: A light that gives less than this share is neither key nor fill.
LEAST_SHARE = 0.02
#: The head shades a dome at the face from behind; its shadow is taken to fade in over the
#: last 10 degrees before the side. [-]
FADES_OVER = float(np.sin(np.deg2rad(10.0)))


@dataclass(frozen=True, kw_only=True, slots=True)
class LightReading:
    """One emitter at the sitter.

    Attributes
    ----------
    name : str
        Name of the emitter.
    aperture : float or None
        f-number it meters alone; None where it does not reach the face.
    exposure_lx_s : float
        What the dome receives. [lx·s]
    power_stops : float or None
        Set power below full, 0 or less [stops]; None for what has no power.
    """

    name: str
    aperture: float | None
    exposure_lx_s: float
    power_stops: float | None


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
        f-number that all emitters meter together; None in the dark.
    stops_over : float or None
        Reading against the aperture set: positive is overexposed. [stops]
    ratio : Ratio or None
        None with a single light or no fill.
    lights : tuple of LightReading
        In the setup's order.
    """

    aperture: float | None
    stops_over: float | None
    ratio: Ratio | None
    lights: tuple[LightReading, ...]


def exposure(scene: Scene, *, light: FaceLight) -> Exposure:
    """Return what a dome meter reads at the face of a scene.

    Parameters
    ----------
    scene : Scene
        Camera, sitter and emitters.
    light : FaceLight
        Which share of each emitter the face sees.

    Notes
    -----
    Heads are estimated from stored energy and typical losses: good to about
    half a stop either way until a meter reading replaces the estimate.
    """
    place = scene.pose.origin + 0.02 * scene.pose.axes[:, 1]
    towards_camera = normalize(scene.camera - place)
    forward = scene.pose.axes[:, 1]
    received = [
        _dome(emitter, place, towards_camera=towards_camera, forward=forward) * share
        for emitter, share in zip(scene.emitters, light.free_shares, strict=True)
    ]
    power = {light.name: light.power_stops for light in scene.setup.lights}
    iso = scene.setup.camera.iso
    lights = tuple(
        LightReading(
            name=emitter.name,
            aperture=_aperture(amount, iso),
            exposure_lx_s=amount,
            power_stops=power.get(emitter.name),
        )
        for emitter, amount in zip(scene.emitters, received, strict=True)
    )
    total = _aperture(sum(received), iso)
    set_to = float(exact_aperture(scene.setup.camera.aperture))
    over = None if total is None else 2.0 * float(np.log2(total / set_to))
    return Exposure(
        aperture=total, stops_over=over, ratio=_ratio(scene.emitters, received), lights=lights
    )


def _dome(
    emitter: Emitter, place: FloatArray, *, towards_camera: FloatArray, forward: FloatArray
) -> float:
    """Return what a dome receives from one emitter [lx·s]; the head shades it from behind."""
    towards = normalize(emitter.shining_middle() - place)
    in_front = min(max(float(dot(towards, forward)) / FADES_OVER, 0.0), 1.0)
    square_on = float(emitter.exposure_at(place, normal=towards)) * in_front
    return square_on * (1.0 + float(dot(towards, towards_camera))) / 2.0


def _aperture(amount: float, iso: float) -> float | None:
    if amount <= 0:
        return None
    return float(aperture_from_exposure(amount, iso=iso, calibration=DOME))


def _ratio(emitters: tuple[Emitter, ...], received: list[float]) -> Ratio | None:
    """Return the ratio of the strongest light to all others; a bounce counts with its light."""
    groups: dict[str, float] = {}
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
