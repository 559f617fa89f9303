"""What sends light in a setup, from where, and how bright is it?

Lights, windows and screens emit by themselves; ceilings, walls, panels and
backdrops send back what the lights put on them.
"""

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.light_faces import BowlFace, Face, FlatFace
from tapemark.analysis.lit_surfaces import (
    Surface,
    backdrop_surface,
    bounced_surfaces,
    panel_surface,
    room_face,
    standing_face,
)
from tapemark.geometry import axes_facing, normalize
from tapemark.photometry import flash_light_output
from tapemark.studio import Light, Screen, Setup, Window, aim_point_m

#: Depth of an umbrella's bowl over its diameter (assumption, ±0.04).
BOWL_DEPTH_SHARE = 0.22
#: Share of a shoot-through umbrella's light that leaves backwards, towards
#: the head (assumption for white translucent cloth).
SHOOT_THROUGH_SPILL = 0.45
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
    lit = bounced_surfaces(setup, lights)
    lit += [panel_surface(one, setup, direct) for one in setup.panels]
    if setup.backdrop is not None:
        lit.append(backdrop_surface(setup, direct))
    return tuple(direct + lit)


def _light(light: Light, setup: Setup) -> Emitter:
    face = light_face(light, setup)
    exponent = _beam_exponent(light)
    output, forwards = _light_output(light, setup), light.modifier.assumed_efficiency
    on_axis = output * forwards * (exponent + 1.0) / (2.0 * np.pi)  # cd·s along the axis
    brightness = on_axis / _sending_area_m2(face)
    spill = 0.0
    if light.modifier.kind == "shoot-through umbrella":
        backwards = forwards * SHOOT_THROUGH_SPILL / (1.0 - SHOOT_THROUGH_SPILL)
        spill = brightness * max(min(backwards, MOST_SENT - forwards), 0.0) / forwards
    return Emitter(
        name=light.name,
        kind="light",
        face=face,
        brightness=float(brightness),
        back_brightness=float(spill),
        beam_exponent=exponent,
    )


def _sending_area_m2(face: Face) -> float:
    """Return the area that sends light: of the opening, or of a bowl that bulges forwards."""
    if isinstance(face, BowlFace) and not face.hollow_front:
        return face.area_m2 + float(np.pi) * face.depth_m**2
    return face.area_m2


def light_face(light: Light, setup: Setup) -> Face:
    """Return the emitting face of a light in the world."""
    modifier = light.modifier
    width, height = modifier.face_size_m
    center = np.array(light.place.position_m)
    axes = axes_facing(normalize(np.array(aim_point_m(light, setup=setup)) - center))
    if modifier.kind in ("reflected umbrella", "shoot-through umbrella"):
        return BowlFace(
            center=center,
            axes=axes,
            diameter_m=width,
            depth_m=BOWL_DEPTH_SHARE * width,
            hollow_front=modifier.kind == "reflected umbrella",
        )
    return FlatFace(
        center=center,
        axes=axes,
        shape=modifier.shape,
        width_m=width,
        height_m=height,
    )


def _light_output(light: Light, setup: Setup) -> float:
    """Return the light a head gives during one exposure [lm·s]."""
    head, share = light.head, float(2.0**light.power_stops) if light.on else 0.0
    if head.kind == "continuous":
        return float(head.lumens or 0.0) * share * setup.camera.shutter_s
    energy = float(head.energy_j or 0.0) * share
    return float(flash_light_output(energy, efficacy_lm_per_w=head.efficacy_lm_per_w))


def _beam_exponent(light: Light) -> float:
    """Return the cosine power whose half-intensity angle is half the beam."""
    beam = light.modifier.assumed_beam_deg
    if beam is None:
        return 1.0
    half = np.deg2rad(min(beam, 170.0) / 2)
    return float(max(np.log(0.5) / np.log(np.cos(half)), 1.0))


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
    return Emitter(name=window.name, kind="window", face=face, brightness=brightness)


def _screen(screen: Screen, setup: Setup) -> Emitter:
    face = standing_face(screen, setup)
    brightness = screen.luminance_cd_m2 * setup.camera.shutter_s
    return Emitter(name=screen.name, kind="screen", face=face, brightness=brightness)
