"""How high and how low a light may hang: what its stand, the ceiling and the floor leave it."""

from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import lru_cache
from math import hypot

import numpy as np

from tapemark.analysis import Rig, rigs
from tapemark.geometry import FloatArray
from tapemark.studio import Light, Setup, aim_point_m

_STEP_M = 0.01
_SLACK_M = 0.005


@dataclass(frozen=True, kw_only=True, slots=True)
class HeightLimits:
    """Heights of the middle of a light's face between which nothing is in its way.

    Attributes
    ----------
    lowest_m : float
        Lower, and it would touch the floor. [m]
    stand_m : float
        Higher, and its stand would not reach. [m]
    ceiling_m : float
        Higher, and it would touch the ceiling. [m]
    stated : bool
        Whether the stand was described; else a usual one is assumed.
    """

    lowest_m: float
    stand_m: float
    ceiling_m: float
    stated: bool

    @property
    def highest_m(self) -> float:
        """The lower of what stand and ceiling leave. [m]"""
        return min(self.stand_m, self.ceiling_m)


def height_limits(light: Light, setup: Setup) -> HeightLimits:
    """Return how high and low a light may hang, where it stands and as it is aimed."""
    key = (setup.room, setup.backdrop, setup.sitter.eye_height_m)
    return _limits(_Aimed(light=light, key=key, setup=setup))


@dataclass(frozen=True, kw_only=True)
class _Aimed:
    """A light, and what decides besides where it points."""

    light: Light
    key: Hashable
    setup: Setup = field(compare=False)


@lru_cache(maxsize=256)
def _limits(one: _Aimed) -> HeightLimits:
    light, setup = one.light, one.setup
    rig = next(own for own in rigs(setup) if own.name == light.name)
    heights = np.arange(_STEP_M, setup.room.height_m + _STEP_M / 2, _STEP_M)
    half, head = _reach(rig, setup, heights)
    low = heights[heights - half > -_SLACK_M]
    under = heights[heights + half < setup.room.height_m + _SLACK_M]
    carried = heights[head <= _head_limit_m(rig) + _SLACK_M]
    lowest = float(low[0]) if len(low) else _STEP_M
    return HeightLimits(
        lowest_m=round(lowest, 2),
        stand_m=round(max(float(carried[-1]) if len(carried) else lowest, lowest), 2),
        ceiling_m=round(max(float(under[-1]) if len(under) else lowest, lowest), 2),
        stated=light.stand is not None,
    )


def _head_limit_m(rig: Rig) -> float:
    """Return how high the head may be carried: by a boom as far above its column as it reaches."""
    if rig.stand.kind == "fixed":
        return float("inf")
    return rig.stand.highest_m + (rig.stand.boom_out_m if rig.stand.kind == "boom" else 0.0)


def _reach(rig: Rig, setup: Setup, heights: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return half the upright extent of a light's face, and the height of its head [m]."""
    light = rig.light
    x, y, _ = light.place.position_m
    target = aim_point_m(light, setup=setup)
    level, rise = hypot(target[0] - x, target[1] - y), target[2] - heights
    size = np.maximum(np.hypot(level, rise), 1e-9)
    width, height = light.modifier.face_size_m
    square = light.modifier.shape == "rectangle"
    half = (height if square else max(width, height)) / 2
    away = np.subtract(rig.head_m, light.place.position_m)
    axis = np.array(target) - light.place.position_m
    along = float(away @ axis) / max(float(np.sqrt(axis @ axis)), 1e-9)
    return half * level / size, heights + along * rise / size
