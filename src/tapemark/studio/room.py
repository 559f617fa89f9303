"""The room: its size, where the sitter is in it, and how bright its surfaces are."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from tapemark.studio.base import Data
from tapemark.studio.kinds import color_temperature, illuminance, length, reflectance_or_color

__all__ = ["Room"]


def _default_behind(data: dict[str, Any]) -> float:
    return min(1.5, 0.3 * float(data["length_m"]))


def _default_left(data: dict[str, Any]) -> float:
    return float(data["width_m"]) / 2


class Room(Data):
    """A rectangular room.

    Parameters
    ----------
    width_m : float
        From wall to wall, camera-left to camera-right. [m]
    length_m : float
        From the wall behind the sitter to the wall behind the camera. [m]
    height_m : float
        Floor to ceiling. [m]
    behind_sitter_m : float
        Sitter mark to the wall behind the sitter. [m]
    camera_left_m : float
        Sitter mark to the wall on camera-left. [m]
    ceiling_reflectance : float
        Share of the light that the ceiling gives back; white paint is assumed. [-]
    wall_reflectance : float
        Share of the light that the walls give back; mid tones are assumed. [-]
    floor_reflectance : float
        Share of the light that the floor gives back; wood is assumed. [-]
    ambient_lx : float
        Light at the sitter from the room's own lamps, as metered there; no windows. [lx]
    ambient_color_k : float
        Colour temperature of those lamps. [K]

    Notes
    -----
    The default reflectances are assumptions: ±0.1 for ceiling and floor, ±0.3 for walls.
    """

    width_m: Annotated[float, length(1.0, 60.0, usual=(2.0, 20.0))]
    length_m: Annotated[float, length(1.0, 60.0, usual=(2.0, 20.0))]
    height_m: Annotated[float, length(1.8, 12.0, usual=(2.0, 6.0))]
    behind_sitter_m: Annotated[float, length(0.1, 60.0, usual=(0.3, 10.0))] = Field(
        default_factory=_default_behind
    )
    camera_left_m: Annotated[float, length(0.1, 60.0, usual=(0.5, 10.0))] = Field(
        default_factory=_default_left
    )
    ceiling_reflectance: Annotated[float, reflectance_or_color(0.0, 1.0)] = 0.8
    wall_reflectance: Annotated[float, reflectance_or_color(0.0, 1.0)] = 0.5
    floor_reflectance: Annotated[float, reflectance_or_color(0.0, 1.0)] = 0.2
    ambient_lx: Annotated[float, illuminance(0.0, 200_000.0)] = 0.0
    ambient_color_k: Annotated[float, color_temperature(1500.0, 30_000.0)] = 3000.0

    @property
    def x_min_m(self) -> float:
        """The wall on camera-right, world frame. [m]"""
        return self.camera_left_m - self.width_m

    @property
    def x_max_m(self) -> float:
        """The wall on camera-left, world frame. [m]"""
        return self.camera_left_m

    @property
    def y_min_m(self) -> float:
        """The wall behind the sitter, world frame. [m]"""
        return -self.behind_sitter_m

    @property
    def y_max_m(self) -> float:
        """The wall behind the camera, world frame. [m]"""
        return self.length_m - self.behind_sitter_m
