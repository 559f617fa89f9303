"""What else gives light or takes it: panels, windows, screens and a backdrop."""

from __future__ import annotations

from typing import Annotated, Any, Literal, get_args

from pydantic import model_validator

from tapemark.errors import Problem
from tapemark.studio.aims import Aim
from tapemark.studio.base import Data, Name, refuse
from tapemark.studio.kinds import along, color_temperature, length, luminance, reflectance_or_color
from tapemark.studio.place import Place
from tapemark.units import as_typed

__all__ = ["Backdrop", "Panel", "Screen", "WallName", "Window"]

WallName = Literal["behind sitter", "behind camera", "camera-left", "camera-right"]


class Panel(Data):
    """A flat reflector or flag on its stand.

    Parameters
    ----------
    name : str
        For labels.
    width_m, height_m : float
        Size as it hangs. [m]
    place : Place
        Where its middle is.
    aim : str or Place
        What its working side faces.
    reflectance : float
        Share of the light given back, matt; black for a flag. [-]
    """

    name: Name
    width_m: Annotated[float, length(0.05, 6.0)]
    height_m: Annotated[float, length(0.05, 6.0)]
    place: Place
    aim: Aim = "face"
    reflectance: Annotated[float, reflectance_or_color(0.0, 1.0)] = 0.8


class Window(Data):
    """A window in a wall.

    Parameters
    ----------
    name : str
        For labels.
    wall : str
        In which wall.
    along_m : float
        Its middle, counted along the wall from level with the sitter: camera-left positive in
        the walls in front and behind, towards the camera positive in the side walls. [m]
    sill_m : float
        Lower edge above the floor. [m]
    width_m, height_m : float
        Size of the glass. [m]
    luminance_cd_m2 : float
        Brightness of what one sees through it. [cd/m^2]
    color_k : float
        Colour temperature of its light. [K]
    """

    name: Name
    wall: WallName
    along_m: Annotated[float, along(-60.0, 60.0)] = 0.0
    sill_m: Annotated[float, length(0.0, 10.0)] = 0.9
    width_m: Annotated[float, length(0.1, 30.0)]
    height_m: Annotated[float, length(0.1, 10.0)]
    luminance_cd_m2: Annotated[float, luminance(0.0, 1_000_000.0)] = 2000.0
    color_k: Annotated[float, color_temperature(1500.0, 30_000.0)] = 6500.0

    @model_validator(mode="before")
    @classmethod
    def _side_goes_with_wall(cls, value: Any) -> Any:
        if isinstance(value, dict):
            problem = _side_problem(value.get("along"), value.get("wall"))
            if problem is not None:
                raise refuse([problem])
        return value


def _side_problem(along: object, wall: object) -> Problem | None:
    """Return what is wrong where a side was typed that the wall does not have."""
    if not isinstance(along, str) or not isinstance(wall, str) or wall not in get_args(WallName):
        return None
    across = ("camera-left", "camera left", "camera-right", "camera right")
    sides = ("towards camera", "toward camera", "in front", "behind sitter", "behind")
    wrong = across if wall.startswith("camera-") else sides
    if not along.strip().lower().endswith(wrong):
        return None
    right = "towards camera" if wrong is across else "camera-left"
    other = "behind sitter" if wrong is across else "camera-right"
    return Problem(
        key="along",
        given=f'{as_typed(along)}, with wall "{wall}"',
        allowed=f'a length and "{right}" or "{other}" along that wall',
        advice=f'write it like "1 m {right}"',
    )


class Screen(Data):
    """A lit screen, such as a laptop to which the camera is tethered.

    Parameters
    ----------
    name : str
        For labels.
    width_m, height_m : float
        Size of the lit face. [m]
    place : Place
        Where its middle is.
    aim : str or Place
        What it faces.
    luminance_cd_m2 : float
        Brightness. [cd/m^2]
    color_k : float
        Colour temperature of its light. [K]
    """

    name: Name
    width_m: Annotated[float, length(0.02, 5.0)]
    height_m: Annotated[float, length(0.02, 5.0)]
    place: Place
    aim: Aim = "face"
    luminance_cd_m2: Annotated[float, luminance(0.0, 20_000.0)] = 200.0
    color_k: Annotated[float, color_temperature(1500.0, 30_000.0)] = 6500.0


class Backdrop(Data):
    """A backdrop that hangs behind the sitter, down to the floor.

    Parameters
    ----------
    distance_m : float
        Behind the sitter mark. [m]
    width_m, height_m : float
        Size; it hangs with its middle behind the sitter. [m]
    reflectance : float
        Share of the light given back. [-]
    look : "white", "as seen" or "black", optional
        How it is meant to come out.
    """

    distance_m: Annotated[float, length(0.1, 30.0)]
    width_m: Annotated[float, length(0.3, 30.0)] = 2.7
    height_m: Annotated[float, length(0.3, 12.0)] = 2.4
    reflectance: Annotated[float, reflectance_or_color(0.0, 1.0)] = 0.2
    look: Literal["white", "as seen", "black"] | None = None
