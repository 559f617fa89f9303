"""What sends light in a setup, from where, and how bright is it?

Lights, windows and screens emit by themselves; ceilings, walls, a white floor,
panels and backdrops send back what the lights put on them.
"""

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.head_output import head_output
from tapemark.analysis.lamp_spread import lamp_distribution
from tapemark.analysis.light_faces import Face, FlatFace, modifier_face
from tapemark.analysis.lit_surfaces import (
    Surface,
    backdrop_surface,
    bounced_surfaces,
    floor_surface,
    panel_surface,
    room_face,
    standing_face,
    unlit_surfaces,
)
from tapemark.geometry import axes_facing, normalize
from tapemark.studio import Light, Screen, Setup, Window, aim_point_m

#: Share of a shoot-through umbrella's light that leaves backwards, towards
#: the head (assumption for white translucent cloth).
SHOOT_THROUGH_SPILL = 0.45
#: A floor that gives back less than this is left to the estimate of the whole room. [-]
WHITE_FLOOR = 0.4
MOST_SENT = 0.95  # of a head's light, both sides of an umbrella together (assumption)
_WINDOW_WALLS: dict[str, Surface] = {
    "behind sitter": "wall behind",
    "behind camera": "wall behind camera",
    "camera-left": "wall camera-left",
    "camera-right": "wall camera-right",
}


def emitters(setup: Setup) -> tuple[Emitter, ...]:
    """Return everything in a setup that sends light.

    Parameters
    ----------
    setup : Setup
        Lights that are off send nothing, but stand in the way.

    Returns
    -------
    tuple of Emitter
        Lights first, then windows and screens, then surfaces lit by them.
    """
    lights = [_light(light, setup) for light in setup.lights]
    steady = [_window(one, setup) for one in setup.windows]
    steady += [_screen(one, setup) for one in setup.screens]
    direct = lights + steady
    between = direct + unlit_surfaces(setup)
    lit = bounced_surfaces(setup, lights, between=between)
    lit += [panel_surface(one, setup, direct, between=between) for one in setup.panels]
    if setup.backdrop is not None:
        lit.append(backdrop_surface(setup, direct, between=between))
    if setup.room.floor_reflectance >= WHITE_FLOOR:
        lit.append(floor_surface(setup, direct, between=between))
    return tuple(direct + lit)


def _light(light: Light, setup: Setup) -> Emitter:
    output = head_output(light, camera=setup.camera)
    modifier, spill = light.modifier, 0.0
    if modifier.kind == "shoot-through umbrella":
        forwards = modifier.assumed_efficiency
        backwards = forwards * SHOOT_THROUGH_SPILL / (1.0 - SHOOT_THROUGH_SPILL)
        spill = output.brightness * max(min(backwards, MOST_SENT - forwards), 0.0) / forwards
    return Emitter(
        name=light.name,
        kind="light",
        face=light_face(light, setup),
        brightness=output.brightness,
        back_brightness=float(spill),
        beam_exponent=output.exponent,
        distribution=lamp_distribution(light.head, modifier=modifier),
        grid_rad=None if modifier.grid_deg is None else float(np.deg2rad(modifier.grid_deg)),
        steady=light.head.kind == "continuous",
    )


def light_face(light: Light, setup: Setup) -> Face:
    """Return the emitting face of a light in the world."""
    center = np.array(light.place.position_m)
    axes = axes_facing(normalize(np.array(aim_point_m(light, setup=setup)) - center))
    return modifier_face(light.modifier, center=center, axes=axes)


def _window(window: Window, setup: Setup) -> Emitter:
    wall, _ = room_face(setup.room, _WINDOW_WALLS[window.wall])
    up = window.sill_m + window.height_m / 2
    on_wall = wall.center * np.abs(wall.axes[:, 1])
    along = window.along_m * (1.0 - np.abs(wall.axes[:, 1])) * (1.0, 1.0, 0.0)
    face = FlatFace(
        center=on_wall + along + np.array([0.0, 0.0, up]),
        axes=wall.axes,
        shape="rectangle",
        width_m=window.width_m,
        height_m=window.height_m,
    )
    brightness = window.luminance_cd_m2 * setup.camera.shutter_s
    return Emitter(name=window.name, kind="window", face=face, brightness=brightness, steady=True)


def _screen(screen: Screen, setup: Setup) -> Emitter:
    face = standing_face(screen, setup)
    brightness = screen.luminance_cd_m2 * setup.camera.shutter_s
    return Emitter(name=screen.name, kind="screen", face=face, brightness=brightness, steady=True)
