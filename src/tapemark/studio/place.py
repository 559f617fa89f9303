"""Where something stands, as a photographer says it: distance, side and height."""

from __future__ import annotations

import math
from typing import Annotated

from tapemark.studio.base import Data
from tapemark.studio.kinds import length, side

__all__ = ["Place", "Spot"]


class Place(Data):
    """A place seen from the sitter.

    Parameters
    ----------
    distance_m : float
        From the sitter along the floor, counted from the point under the eyes. [m]
    side_deg : float
        Angle from the line sitter-camera mark, camera-left positive. [deg]
    height_m : float
        Above the floor. [m]
    """

    distance_m: Annotated[float, length(0.0, 30.0, usual=(0.3, 8.0))]
    side_deg: Annotated[float, side(180.0)] = 0.0
    height_m: Annotated[float, length(0.0, 12.0, usual=(0.35, 4.0))]

    @property
    def position_m(self) -> tuple[float, float, float]:
        """The place in the world frame. [m]"""
        side_rad = math.radians(self.side_deg)
        return (
            self.distance_m * math.sin(side_rad),
            self.distance_m * math.cos(side_rad),
            self.height_m,
        )


class Spot(Data):
    """A spot on the floor seen from the sitter.

    Parameters
    ----------
    distance_m : float
        From the sitter mark along the floor. [m]
    side_deg : float
        Angle from the line sitter-camera mark, camera-left positive. [deg]
    """

    distance_m: Annotated[float, length(0.0, 60.0, usual=(0.3, 12.0))]
    side_deg: Annotated[float, side(180.0)] = 0.0

    @property
    def position_m(self) -> tuple[float, float]:
        """The spot on the floor, world frame. [m]"""
        side_rad = math.radians(self.side_deg)
        return self.distance_m * math.sin(side_rad), self.distance_m * math.cos(side_rad)
