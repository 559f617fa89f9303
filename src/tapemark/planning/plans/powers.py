"""To which power is each head of a layout set, so that it meters as wished?

Light adds and power is linear, so that this is solved and not searched: the fill follows from
the ratio, the light on the background from its wished tone, and all go up together until the
dome meets the aperture.  Then each is dialled to the step of its head.
"""

import itertools

import numpy as np

from tapemark.analysis import (
    BackdropLight,
    Exposure,
    Scene,
    backdrop_light,
    exposure,
    key_light,
)
from tapemark.geometry import FloatArray
from tapemark.photometry import DOME, FLAT, exact_aperture, required_flash_exposure
from tapemark.planning.lens_judge import LensesJudged
from tapemark.planning.plans.candidates import Rig
from tapemark.studio import Brief, Head, Setup, changed

WHITE_LEVEL = 1.2  # aimed at in the middle of what counts as clean white
WHITE_LOW, WHITE_HIGH = 0.9, 1.7
ROUNDS = 2


def with_powers(setup: Setup, powers_stops: FloatArray) -> Setup:
    """Return a setup with its lights at other powers, held to what the heads can do."""
    lights = tuple(
        changed(light, {"power_stops": _dialled(float(power), light.head)})
        for light, power in zip(setup.lights, powers_stops, strict=True)
    )
    return changed(setup, {"lights": lights})


def solved_powers(seen: LensesJudged, *, rig: Rig, brief: Brief) -> FloatArray:
    """Return the powers that meter as wished, before they are dialled [stops].

    Parameters
    ----------
    seen : LensesJudged
        The setup at some powers.
    rig : Rig
        Which of its lights is what.
    brief : Brief
        What is wished.
    """
    main = seen.people[0]
    scene, reading = main.scene, exposure(main.scene, light=main.light)
    now = np.array([light.power_stops for light in scene.setup.lights])
    by_head, fixed = _by_head(scene, reading)
    up = np.zeros(len(now))
    wanted = brief.ratio_range
    key = key_light(scene, light=main.light)
    if rig.fill and key is not None and key.ratio is not None and key.name == "key":
        middle = 3.0 if wanted is None else min(wanted[1], 8.0)
        up[1] = key.ratio.key_over_fill_stops - float(np.log2(middle - 1.0))
    required = _required(scene)
    if rig.backs:
        behind = backdrop_light(scene)
    for _ in range(ROUNDS):
        factor = 2.0**up
        front = 1 + rig.fill
        others = fixed + float((by_head[front:] * factor[front:]).sum())
        together = float((by_head[:front] * factor[:front]).sum())
        up[:front] += float(np.log2(max(required - others, 0.05 * required) / max(together, 1e-12)))
        if rig.backs:
            up[front:] = _back_up(behind, scene=scene, up=up, front=front, brief=brief)
    return np.asarray(now + up)


def dial_choices(setup: Setup, powers_stops: FloatArray) -> list[FloatArray]:
    """Return powers on the steps of the heads around what is wished, the nearest first."""
    options = []
    for light, power in zip(setup.lights, powers_stops, strict=True):
        step, low = light.head.power_step_stops, light.head.lowest_power_stops
        at = float(np.clip(power, low, 0.0)) / step
        near = {np.floor(at), np.ceil(at)} if step > 0.15 else {round(at)}
        options.append([float(np.clip(one * step, low, 0.0)) for one in sorted(near)])
    found = [np.array(one) for one in itertools.product(*options)]
    return sorted(found, key=lambda one: float(np.abs(one - powers_stops).sum()))


def _dialled(power_stops: float, head: Head) -> float:
    step = head.power_step_stops
    low = head.lowest_power_stops
    return float(np.clip(round(power_stops / step) * step, low, 0.0)) + 0.0


def _required(scene: Scene) -> float:
    camera = scene.setup.camera
    wanted = required_flash_exposure(
        exact_aperture(camera.aperture), iso=float(camera.iso), calibration=DOME
    )
    return float(wanted)


def _by_head(scene: Scene, reading: Exposure) -> tuple[FloatArray, float]:
    """Return what the dome gets of each head, its bounces included, and of all else [lx·s]."""
    heads = [light.name for light in scene.setup.lights]
    amounts = np.zeros(len(heads))
    for emitter, one in zip(scene.emitters, reading.lights, strict=True):
        if emitter.kind == "light":
            amounts[heads.index(emitter.name)] += one.exposure_lx_s
            continue
        for name, share in zip(emitter.fed_by, emitter.fed_shares, strict=True):
            if name in heads:
                amounts[heads.index(name)] += share * one.exposure_lx_s
    return amounts, max(reading.exposure_lx_s - float(amounts.sum()), 0.0)


def _back_up(
    behind: BackdropLight, *, scene: Scene, up: FloatArray, front: int, brief: Brief
) -> FloatArray:
    """Return by how much the lights on the background go up [stops]."""
    names = [light.name for light in scene.setup.lights]
    own = np.zeros(len(behind.places))
    rest = np.zeros(len(behind.places))
    for name, emitter, amount in zip(
        behind.names, (*scene.emitters, None), behind.received, strict=True
    ):
        if name in names[front:]:
            own = own + amount
            continue
        fed = () if emitter is None else emitter.fed_by
        factor = 2.0 ** up[names.index(name)] if name in names else 2.0 ** up[0] if fed else 1.0
        rest = rest + factor * amount
    if not len(own) or own.mean() <= 0.0:
        return up[front:]
    full = _required(scene) * FLAT / DOME / behind.reflectance
    if brief.background == "as seen":
        full = full * behind.reflectance
        return np.full(len(up) - front, _solve(own, rest, target=full, part=None))
    middle = _solve(own, rest, target=WHITE_LEVEL * full, part=None)
    low = _solve(own, rest, target=WHITE_LOW * full, part=0.05)
    high = _solve(own, rest, target=WHITE_HIGH * full, part=0.95)
    stops = min(max(middle, low), high) if low <= high else low
    return np.full(len(up) - front, stops)


def _solve(own: FloatArray, rest: FloatArray, *, target: float, part: float | None) -> float:
    """Return the power change that brings the mean, or a quantile, to a target [stops]."""
    low, high = -12.0, 12.0
    for _ in range(30):
        middle = (low + high) / 2.0
        total = rest + own * 2.0**middle
        level = float(total.mean() if part is None else np.quantile(total, part))
        low, high = (middle, high) if level < target else (low, middle)
    return high
