"""A setup: room, sitter, camera and lights at one moment, everything that decides a frame."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from tapemark.studio.as_typed import AsTyped
from tapemark.studio.base import Data, Title, refuse
from tapemark.studio.camera import Camera
from tapemark.studio.checks import setup_problems
from tapemark.studio.context import data_of, numbers_of
from tapemark.studio.lights import Light
from tapemark.studio.notes import setup_assumptions, setup_notes
from tapemark.studio.room import Room
from tapemark.studio.sitter import Companion, Sitter
from tapemark.studio.surroundings import Backdrop, Panel, Screen, Window
from tapemark.studio.wiring import Circuit, Walkway
from tapemark.units import UnitSystem

__all__ = ["LISTS", "SCHEMA_VERSION", "Setup"]

SCHEMA_VERSION: Literal[1] = 1
LISTS = {
    "companion": "companions",
    "light": "lights",
    "panel": "panels",
    "window": "windows",
    "screen": "screens",
    "circuit": "circuits",
    "walkway": "walkways",
}
"""Key of each list in a file, and the field that holds it."""
LONGEST_LIST = 100


def _listed(key: str) -> Any:
    return Field(default=(), validation_alias=key, serialization_alias=key, max_length=LONGEST_LIST)


def _check_version(value: Any) -> Any:
    if value == SCHEMA_VERSION and isinstance(value, int) and not isinstance(value, bool):
        return value
    context = {
        "allowed": f"{SCHEMA_VERSION}, the version of the file format",
        "advice": "the file is for another version of tapemark: bring tapemark up to date, "
        f"or write tapemark = {SCHEMA_VERSION}",
    }
    raise PydanticCustomError("version", "{advice} (allowed: {allowed})", context)


class Setup(Data):
    """Everything that decides a frame.

    Parameters
    ----------
    tapemark : int
        Version of the file format.
    title : str
        For headings.
    units : "metric" or "us"
        In which units to show lengths.
    room : Room
        The room.
    sitter : Sitter
        The person.
    camera : Camera
        The camera.
    companions : tuple of Companion
        Other people in the frame.
    lights : tuple of Light
        The lights, each on its stand.
    panels : tuple of Panel
        Flat reflectors and flags.
    windows : tuple of Window
        Windows, and whatever bright is seen through them.
    screens : tuple of Screen
        Lit screens, such as a laptop.
    backdrop : Backdrop, optional
        What hangs behind the sitter.
    circuits : tuple of Circuit
        Mains circuits that the lights draw from.
    walkways : tuple of Walkway
        Ways across the floor that people walk.
    """

    tapemark: Annotated[Literal[1], BeforeValidator(_check_version)] = SCHEMA_VERSION
    title: Title = ""
    units: UnitSystem = "metric"
    room: Room
    sitter: Sitter = Field(default_factory=Sitter)
    camera: Camera
    companions: tuple[Companion, ...] = _listed("companion")
    lights: tuple[Light, ...] = _listed("light")
    panels: tuple[Panel, ...] = _listed("panel")
    windows: tuple[Window, ...] = _listed("window")
    screens: tuple[Screen, ...] = _listed("screen")
    backdrop: Backdrop | None = None
    circuits: tuple[Circuit, ...] = _listed("circuit")
    walkways: tuple[Walkway, ...] = _listed("walkway")

    @property
    def people(self) -> tuple[Sitter, ...]:
        """The sitter, then the companions."""
        return (self.sitter, *self.companions)

    @property
    def notes(self) -> tuple[str, ...]:
        """What is possible but worth a second look, one sentence each."""
        return setup_notes(self)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What was not stated and is therefore assumed, one sentence each."""
        return setup_assumptions(self)

    @model_validator(mode="after")
    def _check(self, info: ValidationInfo) -> Setup:
        numbers = {
            key: numbers_of(info, key=key, count=len(getattr(self, field)))
            for key, field in LISTS.items()
        }
        problems = setup_problems(AsTyped(setup=self, numbers=numbers, data=data_of(info)))
        if problems:
            raise refuse(problems)
        return self
