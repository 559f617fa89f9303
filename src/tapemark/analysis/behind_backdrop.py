"""Which lights stand behind the backdrop, so that nobody in front of it gets any of their light?"""

from dataclasses import dataclass
from math import ceil

import numpy as np

from tapemark.analysis.finding import Finding
from tapemark.studio import Backdrop, Light, Setup
from tapemark.units import format_length

#: A light aimed there may come around the backdrop all the same.
_AROUND = ("ceiling", "wall camera-left", "wall camera-right")
CLEAR_M = 0.1  # between a backdrop and what stands in front of it


@dataclass(frozen=True, kw_only=True, slots=True)
class LightBehind:
    """A light that the backdrop hides from the sitter.

    Attributes
    ----------
    name : str
        Of the light.
    behind_m : float
        How far behind the backdrop the middle of its face is. [m]
    hang_m : float or None
        Where the backdrop would hang clear behind it; None where the room has no such place.
        From the sitter. [m]
    """

    name: str
    behind_m: float
    hang_m: float | None


def lights_behind_backdrop(setup: Setup) -> tuple[LightBehind, ...]:
    """Return the lit lights whose way to the sitter's face leads through the backdrop.

    Notes
    -----
    The straight line from the middle of the light's face to the middle between the eyes is met
    with the backdrop's rectangle; cloth and paper count as opaque, as everywhere.
    """
    backdrop = setup.backdrop
    if backdrop is None:
        return ()
    return tuple(
        _behind(one, backdrop, setup)
        for one in setup.lights
        if one.on and one.aim not in _AROUND and _hidden(one, backdrop, setup)
    )


def behind_backdrop_findings(setup: Setup) -> list[Finding]:
    """Return a finding for each light that stands behind the backdrop."""
    return [_finding(one, setup) for one in lights_behind_backdrop(setup)]


def _hidden(light: Light, backdrop: Backdrop, setup: Setup) -> bool:
    start = np.array(light.place.position_m)
    end = np.array([0.0, 0.0, setup.sitter.eye_height_m])
    if start[1] >= -backdrop.distance_m:
        return False
    share = (-backdrop.distance_m - start[1]) / (end[1] - start[1])
    x, _, z = start + share * (end - start)
    return bool(abs(x) < backdrop.width_m / 2 and z < backdrop.height_m)


def _behind(light: Light, backdrop: Backdrop, setup: Setup) -> LightBehind:
    away = -light.place.position_m[1]
    hang = ceil(10 * (away + CLEAR_M)) / 10
    return LightBehind(
        name=light.name,
        behind_m=away - backdrop.distance_m,
        hang_m=hang if hang <= setup.room.behind_sitter_m else None,
    )


def _finding(one: LightBehind, setup: Setup) -> Finding:
    far = format_length(one.behind_m, system=setup.units)
    ways = [f"Bring {one.name} in front of the backdrop"]
    if one.hang_m is not None:
        hang = format_length(one.hang_m, system=setup.units)
        ways.append(f"hang the backdrop {hang} behind the sitter")
    ways.append(f"switch {one.name} off")
    return Finding(
        code="light-behind-backdrop",
        severity="caution",
        text=f"{one.name} stands {far} behind the backdrop, which keeps all its light from "
        "the sitter.",
        what_to_do=f"{', '.join(ways[:-1])}, or {ways[-1]}.",
        topic="exposure",
    )
