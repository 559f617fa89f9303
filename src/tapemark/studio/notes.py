"""What is worth a second look in a valid setup, and what is assumed in it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from tapemark.studio.aiming import aim_direction
from tapemark.units import format_length

if TYPE_CHECKING:
    from tapemark.studio.lights import Light
    from tapemark.studio.setup import Setup
    from tapemark.studio.surroundings import Panel, Screen

__all__ = ["setup_assumptions", "setup_notes"]

SAME_PLACE_M = 0.15  # [m] two stands cannot be nearer to each other than this


def setup_notes(setup: Setup) -> tuple[str, ...]:
    """Return what is possible but worth a second look, one sentence each."""
    return tuple(
        itertools.chain(
            _reach_notes(setup), _stand_notes(setup), _light_notes(setup), _sitter_notes(setup)
        )
    )


def setup_assumptions(setup: Setup) -> tuple[str, ...]:
    """Return what was not stated and is therefore assumed, one sentence each."""
    return tuple(itertools.chain(_sitter_assumptions(setup), _light_assumptions(setup)))


def _reach_notes(setup: Setup) -> Iterator[str]:
    room = setup.room
    sized: list[tuple[str, Light | Panel | Screen, tuple[float, float]]] = []
    sized += [("light", light, light.modifier.face_size_m) for light in setup.lights]
    sized += [("panel", panel, (panel.width_m, panel.height_m)) for panel in setup.panels]
    sized += [("screen", screen, (screen.width_m, screen.height_m)) for screen in setup.screens]
    for key, thing, (width_m, height_m) in sized:
        x, y, z = thing.place.position_m
        out_x, out_y, out_z = aim_direction(thing, setup=setup)
        level = math.hypot(out_x, out_y)
        across = (out_y / level, out_x / level) if level > 1e-9 else (1.0, 0.0)
        reach_z = height_m / 2 * level
        reach_x = width_m / 2 * abs(across[0]) + height_m / 2 * abs(out_z * across[1])
        reach_y = width_m / 2 * abs(across[1]) + height_m / 2 * abs(out_z * across[0])
        walls = (
            (z + reach_z - room.height_m, "through the ceiling", "lower it"),
            (reach_z - z, "into the floor", "raise it"),
            (x + reach_x - room.x_max_m, "into the wall on camera-left", "move it in"),
            (room.x_min_m - x + reach_x, "into the wall on camera-right", "move it in"),
            (y + reach_y - room.y_max_m, "into the wall behind the camera", "move it in"),
            (room.y_min_m - y + reach_y, "into the wall behind the sitter", "move it in"),
        )
        for beyond_m, where, cure in walls:
            if beyond_m > 0.005:
                by = format_length(beyond_m, system=setup.units)
                yield f'{key} "{thing.name}" would reach {by} {where}: {cure}.'


def _stand_notes(setup: Setup) -> Iterator[str]:
    for first, second in itertools.combinations(setup.lights, 2):
        if math.dist(first.place.position_m, second.place.position_m) < SAME_PLACE_M:
            yield (
                f'lights "{first.name}" and "{second.name}" are at the same place: '
                "check distance, side and height."
            )
    if abs(setup.camera.place.side_deg) > 90:
        yield "the camera stands behind the sitter: check camera.place.side."


def _light_notes(setup: Setup) -> Iterator[str]:
    if not any(light.on for light in setup.lights) and not setup.windows:
        yield "no light is on and there is no window, so nothing lights the sitter: switch one on."


def _sitter_notes(setup: Setup) -> Iterator[str]:
    sitter = setup.sitter
    if sitter.body_height_m is not None and sitter.posture == "standing":
        eyes_m = sitter.eye_height_m
        if eyes_m > sitter.body_height_m or eyes_m < 0.8 * sitter.body_height_m:
            yield "sitter.eye_height does not go with sitter.body_height: check both."


def _sitter_assumptions(setup: Setup) -> Iterator[str]:
    sitter = setup.sitter
    if sitter.eye_height_guessed:
        height = format_length(sitter.eye_height_m, system=setup.units)
        known = "the body height, ±4 cm" if sitter.body_height_m else "the average adult, ±7 cm"
        yield f"eye height {height}, from {known}."
    if "face" not in sitter.model_fields_set:
        yield "face measures of the average adult; eyes 63 mm apart, ±4 mm."
    glasses = sitter.glasses
    if glasses is None:
        return
    if glasses.assumptions:
        yield f'glasses "{glasses.preset}": {glasses.assumptions}'
    elif glasses.prescription_guessed:
        sphere, spread = glasses.assumed_right.sphere_d, glasses.prescription_spread_d
        yield f"prescription {sphere:+.1f} D, ±{spread:g} D, from how the lens looks."
    if glasses.guessed:
        words = ", ".join(sorted(name.replace("_", " ") for name in glasses.guessed))
        yield f"glasses: {words} not stated, so usual values are taken."


def _light_assumptions(setup: Setup) -> Iterator[str]:
    for light in setup.lights:
        if light.modifier.efficiency is None:
            share = light.modifier.assumed_efficiency
            yield (
                f'light "{light.name}": {share:.0%} of the light leaves the '
                f"{light.modifier.kind}, ±0.5 stop."
            )
        for text in (light.modifier.assumptions, light.head.assumptions):
            if text:
                yield f'light "{light.name}": {text}'
