"""What hands set between two sitters: stool, camera, stands and power, and how long each takes."""

from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.studio import AimName, Camera, Light, Panel, Place, Setup, Sitter, changed

_Thing = TypeVar("_Thing", Camera, Light, Panel)

ControlKind = Literal["stool", "camera", "height", "side", "power", "panel"]

#: A thing that points at a place this near to the sitter's mark lights the sitter. [m]
AT_SITTER_M = 1.0
#: Free space kept above the upper edge of a modifier (assumption). [m]
UNDER_CEILING_M = 0.05
LOWEST_EDGE_M = 0.05  # of a modifier or panel over the floor [m]
PANEL_TILTED = 0.6  # how much of its height a tilted reflector takes (assumption) [-]
CAMERA_RANGE_M = (0.35, 2.6)  # what a tripod gives; common practice [m]
#: Settings nearer to each other than this are the same setting. [-]
SAME = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True)
class HandTimes:
    """How long one pair of hands takes for each change: the weights of re-rigging.

    Common practice, no published source; the spread between crews is a factor of two.

    Attributes
    ----------
    stool_s : float
        Bring in the stool or take it away. [s]
    camera_s, camera_s_per_m : float
        Set the camera to another height, and for each metre of it. [s], [s/m]
    height_s, height_s_per_m : float
        Set a light to another height and aim it again. [s], [s/m]
    side_s, side_s_per_deg : float
        Walk a stand to another mark and aim it again. [s], [s/deg]
    power_s : float
        Dial another power. [s]
    panel_s, panel_s_per_m : float
        Set a reflector to another height. [s], [s/m]
    boom_factor : float
        How much longer a light on a boom takes. [-]
    """

    stool_s: float = 45.0
    camera_s: float = 20.0
    camera_s_per_m: float = 30.0
    height_s: float = 25.0
    height_s_per_m: float = 50.0
    side_s: float = 40.0
    side_s_per_deg: float = 1.0
    power_s: float = 8.0
    panel_s: float = 20.0
    panel_s_per_m: float = 30.0
    boom_factor: float = 2.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Control:
    """One thing that hands set.

    Attributes
    ----------
    kind : str
        ``stool``, ``camera``, ``height`` or ``side`` or ``power`` of a light, ``panel``.
    name : str
        Of the light or panel; that of the kind elsewhere.
    start : float
        How the setup has it: 1 for a stool that is there, metres, degrees, stops.
    low, high : float
        Between what it can be set.
    limit : str
        What ends its way up.
    fixed_s, rate_s : float
        Time for any change, and for each unit of it. [s]
    """

    kind: ControlKind
    name: str
    start: float
    low: float
    high: float
    limit: str = ""
    fixed_s: float
    rate_s: float = 0.0


def controls_of(setup: Setup, *, times: HandTimes) -> tuple[Control, ...]:
    """Return what is set for each sitter of a setup, in the order in which one sets it.

    Notes
    -----
    Camera, lights and reflectors that look at the sitter keep their place relative to the eyes.
    Lights on ceiling, walls or backdrop, whatever is fixed to the building, windows and screens
    stay as they are.
    """
    found = [
        Control(
            kind="stool",
            name="stool",
            start=float(setup.sitter.posture == "seated"),
            low=0.0,
            high=1.0,
            fixed_s=times.stool_s,
        ),
        Control(
            kind="camera",
            name="camera",
            start=setup.camera.place.height_m,
            low=min(CAMERA_RANGE_M[0], setup.camera.place.height_m),
            high=max(CAMERA_RANGE_M[1], setup.camera.place.height_m),
            limit="the tripod",
            fixed_s=times.camera_s,
            rate_s=times.camera_s_per_m,
        ),
    ]
    for light in setup.lights:
        if light.on and follows(light.aim) and not _built_in(light):
            found += _light_controls(light, setup, times=times)
    for panel in setup.panels:
        if follows(panel.aim):
            found.append(_panel_control(panel, setup, times=times))
    return tuple(found)


def follows(aim: AimName | Place) -> bool:
    """Return whether what points there is set anew for each sitter's eyes."""
    return aim == "face" or (isinstance(aim, Place) and aim.distance_m <= AT_SITTER_M)


def re_rigging_s(
    one: FloatArray, other: FloatArray, *, controls: tuple[Control, ...]
) -> FloatArray:
    """Return how long it takes from one setting of all controls to another, whole seconds.

    Parameters
    ----------
    one, other : (..., n) array
        Settings, in the order of the controls.
    """
    apart = np.abs(np.asarray(other) - np.asarray(one))
    fixed = np.array([control.fixed_s for control in controls])
    rate = np.array([control.rate_s for control in controls])
    total = np.where(apart > SAME, fixed + rate * apart, 0.0).sum(axis=-1)
    return np.asarray(np.ceil(total - SAME))


def setup_for(
    setup: Setup, sitter: Sitter, settings: tuple[float, ...], *, controls: tuple[Control, ...]
) -> Setup:
    """Return the setup with somebody else in it and everything set for them.

    Parameters
    ----------
    setup : Setup
        Whose controls they are.
    sitter : Sitter
        The person, posed.
    settings : tuple of float
        In the order of the controls.
    controls : tuple of Control
        What is set.

    Notes
    -----
    A place near the sitter that camera or lights point at goes up and down with the camera.
    """
    values = {(one.kind, one.name): value for one, value in zip(controls, settings, strict=True)}
    up_m = values["camera", "camera"] - setup.camera.place.height_m
    camera = _placed(setup.camera, {"height_m": values["camera", "camera"]}, up_m=up_m)
    lights = []
    for light in setup.lights:
        if ("height", light.name) in values:
            place = {
                "height_m": values["height", light.name],
                "side_deg": values["side", light.name],
            }
            moved = _placed(light, place, up_m=up_m)
            light = changed(moved, {"power_stops": values["power", light.name]})
        lights.append(light)
    panels = [
        _placed(panel, {"height_m": values["panel", panel.name]}, up_m=up_m)
        if ("panel", panel.name) in values
        else panel
        for panel in setup.panels
    ]
    parts = {"sitter": sitter, "camera": camera, "lights": tuple(lights), "panels": tuple(panels)}
    return changed(setup, parts)


def _placed(thing: _Thing, place: dict[str, float], *, up_m: float) -> _Thing:
    """Return a thing at another height or side, pointing as much higher as the eyes are."""
    parts: dict[str, object] = {"place": changed(thing.place, place)}
    if isinstance(thing.aim, Place) and follows(thing.aim):
        parts["aim"] = changed(thing.aim, {"height_m": thing.aim.height_m + up_m})
    return changed(thing, parts)


def _built_in(light: Light) -> bool:
    return light.stand is not None and light.stand.kind == "fixed"


def _light_controls(light: Light, setup: Setup, *, times: HandTimes) -> list[Control]:
    slow = times.boom_factor if light.stand is not None and light.stand.kind == "boom" else 1.0
    low_m, high_m, limit = _height_range_m(light, setup)
    place, head = light.place, light.head
    height = Control(
        kind="height",
        name=light.name,
        start=place.height_m,
        low=low_m,
        high=high_m,
        limit=limit,
        fixed_s=slow * times.height_s,
        rate_s=slow * times.height_s_per_m,
    )
    side = Control(
        kind="side",
        name=light.name,
        start=place.side_deg,
        low=-180.0,
        high=180.0,
        fixed_s=slow * times.side_s,
        rate_s=slow * times.side_s_per_deg,
    )
    power = Control(
        kind="power",
        name=light.name,
        start=light.power_stops,
        low=min(head.lowest_power_stops, light.power_stops),
        high=0.0,
        limit="full power",
        fixed_s=times.power_s,
    )
    return [height, side, power]


def _height_range_m(light: Light, setup: Setup) -> tuple[float, float, str]:
    """Return how low and how high the middle of a lit face can be, and what ends its way up."""
    half_m = light.modifier.face_size_m[1] / 2
    tops = [(setup.room.height_m - UNDER_CEILING_M - half_m, "the ceiling")]
    if light.stand is not None:
        tops.append((light.stand.highest_m, "the stand"))
    high_m, limit = min(tops)
    now_m = light.place.height_m
    return min(half_m + LOWEST_EDGE_M, now_m), max(high_m, now_m), limit


def _panel_control(panel: Panel, setup: Setup, *, times: HandTimes) -> Control:
    half_m, now_m = panel.height_m / 2, panel.place.height_m
    return Control(
        kind="panel",
        name=panel.name,
        start=now_m,
        low=min(half_m * PANEL_TILTED + LOWEST_EDGE_M, now_m),
        high=max(setup.room.height_m - UNDER_CEILING_M - half_m, now_m),
        limit="the ceiling",
        fixed_s=times.panel_s,
        rate_s=times.panel_s_per_m,
    )
