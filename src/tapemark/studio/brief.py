"""A brief: what the picture is to be, who is in it, in which room, and what gear is there."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, StringConstraints, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from tapemark.errors import Problem
from tapemark.studio import kinds
from tapemark.studio.base import Data, Name, Title, preset_or_table, refuse
from tapemark.studio.camera import Camera, Framing
from tapemark.studio.lights import Head, Meter, Modifier
from tapemark.studio.place import Place
from tapemark.studio.presets import nearest
from tapemark.studio.room import Room
from tapemark.studio.setup import Setup
from tapemark.studio.sitter import Companion, Sitter
from tapemark.studio.stands import Stand
from tapemark.studio.surroundings import Backdrop, Screen, Window
from tapemark.studio.wiring import Circuit, Walkway
from tapemark.units import UnitSystem

__all__ = [
    "BRIEF_LISTS",
    "MOODS",
    "PATTERN_WISHES",
    "BackgroundGear",
    "Brief",
    "BriefCamera",
    "HeadGear",
    "ModifierGear",
    "PanelGear",
    "StandGear",
]

MOODS: dict[str, tuple[float, float, float]] = {
    "even": (1.0, 2.0, 2.5),
    "classic": (2.0, 3.0, 4.5),
    "dramatic": (4.0, 6.0, 1000.0),
}
"""Least, middle and greatest ratio (key + fill) : fill of each mood; common practice. [-]"""

PATTERN_WISHES = ("any", "butterfly", "clamshell", "loop", "Rembrandt", "split")

BRIEF_LISTS = {
    "companion": "companions",
    "head": "heads",
    "modifier": "modifiers",
    "stand": "stands",
    "panel": "panels",
    "window": "windows",
    "screen": "screens",
    "circuit": "circuits",
    "walkway": "walkways",
}
"""Key of each list in a brief, and the field that holds it."""

_RATIO = re.compile(r"\s*(\d+(?:\.\d+)?)\s*:\s*1\s*")
_LIKE_PANEL = Place(distance_m=1.0, height_m=1.0)
_MOST_OF_A_KIND = 12


def _listed(key: str) -> Any:
    return Field(default=(), validation_alias=key, serialization_alias=key, max_length=50)


def _check_mood(value: str) -> str:
    words = " ".join(value.lower().split())
    if words in ("any", *MOODS):
        return words
    match = _RATIO.fullmatch(value)
    if match is not None and 1.2 <= float(match[1]) <= 64.0:
        return f"{float(match[1]):g}:1"
    names = ", ".join(f'"{name}"' for name in ("any", *MOODS))
    close = nearest(value, MOODS)
    context = {
        "allowed": f'{names}, or a ratio (key + fill) : fill from "1.2:1" to "64:1"',
        "advice": f'did you mean "{close}"?' if close else 'write it like "classic" or "3:1"',
    }
    raise PydanticCustomError("mood", "{advice} (allowed: {allowed})", context)


class _Gear(Data):
    @model_validator(mode="before")
    @classmethod
    def _name_from_preset(cls, value: Any) -> Any:
        """Name a thing by its preset where it has no name of its own."""
        return _named(value, cls.__name__)


class HeadGear(_Gear):
    """Heads of one kind that are there.

    Parameters
    ----------
    name : str
        What you call it; that of its preset if left out.
    head : Head
        What makes the light.
    count : int
        How many.
    meter : Meter, optional
        Your own meter reading of it, with the modifier that was on it.
    """

    name: Name = "head"
    head: Head
    count: Annotated[int, kinds.count(1, _MOST_OF_A_KIND)] = 1
    meter: Meter | None = None

    @model_validator(mode="after")
    def _check(self) -> HeadGear:
        if not self.head.known and self.meter is None:
            flash = self.head.kind == "flash"
            key, example = ("energy", "400 Ws") if flash else ("output", "6000 lm")
            lacking = Problem(
                key=f"head.{key}",
                given="",
                allowed=f'a value such as "{example}" for a {self.head.kind} head',
                advice=f'add {key} = "{example}", or a preset such as "400 Ws studio head"',
            )
            raise refuse([lacking])
        if self.meter is None or self.meter.modifier is not None:
            return self
        problem = Problem(
            key="meter.modifier",
            given="",
            allowed="the modifier that was on the head when it was metered",
            advice='add modifier = "reflector dish 18 cm" or whichever it was',
        )
        raise refuse([problem])


class ModifierGear(_Gear):
    """Modifiers of one kind that are there.

    Parameters
    ----------
    name : str
        What you call it; that of its preset if left out.
    modifier : Modifier
        What shapes the light.
    count : int
        How many.
    fits : tuple of str
        Names of the heads that it goes on; all that usually take it if left out.
    """

    name: Name = "modifier"
    modifier: Modifier
    count: Annotated[int, kinds.count(1, _MOST_OF_A_KIND)] = 1
    fits: Annotated[tuple[Name, ...], Field(max_length=50)] = ()


class StandGear(_Gear):
    """Stands of one kind that are there.

    Parameters
    ----------
    name : str
        What you call it; that of its preset if left out.
    stand : Stand
        What holds a light, with how high it reaches.
    count : int
        How many.
    """

    name: Name = "stand"
    stand: Stand
    count: Annotated[int, kinds.count(1, _MOST_OF_A_KIND)] = 1


class PanelGear(Data):
    """Reflector panels of one kind that are there; each brings its own holder.

    Parameters
    ----------
    name : str
        What you call it.
    width_m, height_m : float
        Size as it hangs. [m]
    reflectance : float
        Share of the light given back, matt. [-]
    count : int
        How many.
    """

    name: Name = "white panel"
    width_m: Annotated[float, kinds.length(0.05, 6.0)]
    height_m: Annotated[float, kinds.length(0.05, 6.0)]
    reflectance: Annotated[float, kinds.reflectance_or_color(0.0, 1.0)] = 0.8
    count: Annotated[int, kinds.count(1, _MOST_OF_A_KIND)] = 1


class BackgroundGear(Data):
    """The backdrop that is there.

    Parameters
    ----------
    distance_m : float, optional
        Behind the sitter mark; chosen by the plan if left out. [m]
    width_m, height_m : float
        Size; it hangs with its middle behind the sitter. [m]
    reflectance : float
        Share of the light given back. [-]
    """

    distance_m: Annotated[float, kinds.length(0.2, 30.0)] | None = None
    width_m: Annotated[float, kinds.length(0.3, 30.0)] = 2.7
    height_m: Annotated[float, kinds.length(0.3, 12.0)] = 2.4
    reflectance: Annotated[float, kinds.reflectance_or_color(0.0, 1.0)] = 0.2


class BriefCamera(Data):
    """The camera and the lenses that are there.

    Parameters
    ----------
    lenses_mm : tuple of float
        Focal lengths that can be set. [mm]
    sensor : str
        A common name or a size such as ``"36 x 24 mm"``.
    orientation : "portrait" or "landscape", optional
        Long side upright, or level; upright for one person if left out.
    iso : int
        ISO speed to work at.
    highest_iso : int, optional
        Up to which it may be raised where the heads are too weak; `iso` if left out.
    shutter_s : float
        Shutter time. [s]
    sync_s : float
        Shortest shutter time with flash over the whole frame. [s]
    """

    lenses_mm: Annotated[
        tuple[Annotated[float, kinds.small_length(4.0, 1200.0, usual=(8.0, 600.0))], ...],
        Field(max_length=50, validation_alias="lenses", serialization_alias="lenses"),
    ]
    sensor: Annotated[str, StringConstraints(strict=True, max_length=60)] = "full frame"
    orientation: Literal["portrait", "landscape"] | None = None
    iso: Annotated[int, kinds.count(1, 1_000_000)] = 100
    highest_iso: Annotated[int, kinds.count(1, 1_000_000)] | None = None
    shutter_s: Annotated[float, kinds.shutter(1 / 16000, 60.0)] = 1 / 160
    sync_s: Annotated[float, kinds.shutter(1 / 16000, 1.0)] = 1 / 200

    @model_validator(mode="after")
    def _check(self) -> BriefCamera:
        if not self.lenses_mm:
            allowed = "the focal length of each lens that is there"
            advice = 'write lenses = ["85 mm"]'
            raise refuse([Problem(key="lenses", given="[]", allowed=allowed, advice=advice)])
        highest = self.iso if self.highest_iso is None else self.highest_iso
        if highest < self.iso:
            problem = Problem(
                key="highest_iso",
                given=f"{highest}, with iso {self.iso}",
                allowed=f"{self.iso} or more",
                advice="swap them, or take highest_iso out",
            )
            raise refuse([problem])
        try:  # the camera of a setup knows which sensors there are
            Camera(
                place=Place(distance_m=2.0, height_m=1.2),
                focal_length_mm=self.lenses_mm[0],
                sensor=self.sensor,
            )
        except ValidationError as error:
            context = error.errors()[0].get("ctx", {})
            problem = Problem(
                key="sensor",
                given=f'"{self.sensor}"',
                allowed=str(context.get("allowed", "")),
                advice=str(context.get("advice", "")),
            )
            raise refuse([problem]) from None
        return self


class Brief(Data):
    """What is wanted, who comes, where, and with which gear.

    Parameters
    ----------
    tapemark : int
        Version of the file format.
    title : str
        For headings.
    units : "metric" or "us"
        In which units to show lengths.
    framing : str
        How much of the sitter is in the frame.
    mood : str
        ``any``, ``even``, ``classic``, ``dramatic``, or a ratio (key + fill) : fill, ``"3:1"``.
    pattern : str
        Which shadows are wanted, or ``any``.
    face : "any", "broad" or "short"
        Which side of a turned face the key lights.
    background : "any", "white", "as seen" or "black"
        How it is meant to come out.
    aperture : float
        Wanted on the lens. [-]
    time_s : float, optional
        There for building and testing. [s]
    room : Room
        The room.
    sitter : Sitter
        The person; where the turn of the face is stated, it is kept.
    companions : tuple of Companion
        Others in the frame.
    camera : BriefCamera
        The camera and its lenses.
    heads, modifiers, stands, panels : tuple
        The gear that is there, with counts. Without stands one usual stand is taken for each
        head.
    backdrop : BackgroundGear, optional
        What can hang behind the sitter.
    windows, screens : tuple
        What gives light in the room besides.
    circuits, walkways : tuple
        For safety.
    """

    tapemark: Literal[1] = 1
    title: Title = ""
    units: UnitSystem = "metric"
    framing: Framing = "head and shoulders"
    mood: Annotated[
        str, StringConstraints(strict=True, max_length=40), AfterValidator(_check_mood)
    ] = "any"
    pattern: Literal["any", "butterfly", "clamshell", "loop", "Rembrandt", "split"] = "any"
    face: Literal["any", "broad", "short"] = "any"
    background: Literal["any", "white", "as seen", "black"] = "any"
    aperture: Annotated[float, kinds.aperture(0.7, 128.0)] = 8.0
    time_s: Annotated[float, kinds.duration(1.0, 86_400.0)] | None = None
    room: Room
    sitter: Sitter = Field(default_factory=Sitter)
    companions: tuple[Companion, ...] = _listed("companion")
    camera: BriefCamera
    heads: Annotated[
        tuple[HeadGear, ...],
        Field(max_length=50, validation_alias="head", serialization_alias="head"),
    ]
    modifiers: Annotated[
        tuple[ModifierGear, ...],
        Field(max_length=50, validation_alias="modifier", serialization_alias="modifier"),
    ]
    stands: tuple[StandGear, ...] = _listed("stand")
    panels: tuple[PanelGear, ...] = _listed("panel")
    backdrop: BackgroundGear | None = None
    windows: tuple[Window, ...] = _listed("window")
    screens: tuple[Screen, ...] = _listed("screen")
    circuits: tuple[Circuit, ...] = _listed("circuit")
    walkways: tuple[Walkway, ...] = _listed("walkway")

    @property
    def ratio_range(self) -> tuple[float, float, float] | None:
        """Least, middle and greatest ratio (key + fill) : fill wanted; None for any. [-]"""
        if self.mood == "any":
            return None
        if self.mood in MOODS:
            return MOODS[self.mood]
        middle = float(self.mood.partition(":")[0])
        return middle / 2 ** (1 / 3), middle, middle * 2 ** (1 / 3)  # a third of a stop either way

    @property
    def wishes(self) -> tuple[str, ...]:
        """The wishes that were stated, by key."""
        stated = ["framing", "aperture"]
        stated += [one for one in ("mood", "pattern", "face") if getattr(self, one) != "any"]
        stated += ["background"] if self.background != "any" else []
        return (*stated, *(["time"] if self.time_s is not None else []))

    @model_validator(mode="after")
    def _check(self) -> Brief:
        problems = [*_empty_problems(self), *_name_problems(self), *_fit_problems(self)]
        problems = problems or _room_problems(self)
        if problems:
            raise refuse(problems)
        return self


def _named(value: Any, kind: str) -> Any:
    """Return gear with the name of its preset, where it has none of its own."""
    key = {"HeadGear": "head", "ModifierGear": "modifier", "StandGear": "stand"}[kind]
    if isinstance(value, str):
        value = {key: value}
    if not isinstance(value, dict) or "name" in value or key not in value:
        return value
    thing = value[key]
    thing = preset_or_table(thing)
    preset = thing.get("preset") if isinstance(thing, dict) else getattr(thing, "preset", None)
    return {**value, "name": preset} if isinstance(preset, str) and preset else value


def _empty_problems(brief: Brief) -> list[Problem]:
    """Return lists of gear that hold nothing."""
    lists = {"head": brief.heads, "modifier": brief.modifiers}
    return [
        Problem(
            key=key,
            given="an empty list",
            allowed=f"at least one [[{key}]]",
            advice=f"add each {key} that is there",
        )
        for key, gear in lists.items()
        if not gear
    ]


def _name_problems(brief: Brief) -> list[Problem]:
    """Return gear of the same kind under one name: it could not be told apart."""
    problems = []
    for key in ("head", "modifier", "stand", "panel"):
        names = [one.name for one in getattr(brief, BRIEF_LISTS[key])]
        problems += [
            Problem(
                key=f"{key}[{number}] name",
                given=f'"{name}", also {key}[{names.index(name) + 1}] name',
                allowed=f"a name of its own for each [[{key}]]",
                advice="give one of them another name, or raise the count of the other",
            )
            for number, name in enumerate(names, 1)
            if name in names[: number - 1]
        ]
    return problems


def _fit_problems(brief: Brief) -> list[Problem]:
    """Return modifiers said to fit heads that are not there."""
    heads = [one.name for one in brief.heads]
    listed = ", ".join(f'"{name}"' for name in heads)
    problems = []
    for number, gear in enumerate(brief.modifiers, 1):
        for name in gear.fits:
            if name not in heads:
                close = nearest(name, heads)
                problems.append(
                    Problem(
                        key=f'modifier[{number}] "{gear.name}" fits',
                        given=f'"{name}"',
                        allowed=listed,
                        advice=f'did you mean "{close}"?' if close else "name a [[head]]",
                    )
                )
    return problems


def _room_problems(brief: Brief) -> list[Problem]:
    """Return what cannot be about room, people and surroundings, as a setup says it."""
    eye_m = min(brief.sitter.eye_height_m, brief.room.height_m)
    ahead_m = max(0.5 * (brief.room.length_m - brief.room.behind_sitter_m), 0.4)
    backdrop = brief.backdrop
    hung = None
    if backdrop is not None:
        behind_m = max(0.2, 0.5 * brief.room.behind_sitter_m)
        distance_m = behind_m if backdrop.distance_m is None else backdrop.distance_m
        hung = Backdrop(
            distance_m=distance_m,
            width_m=backdrop.width_m,
            height_m=backdrop.height_m,
            reflectance=backdrop.reflectance,
        )
    try:
        Setup(
            units=brief.units,
            room=brief.room,
            sitter=brief.sitter,
            camera=Camera(place=Place(distance_m=ahead_m, height_m=eye_m), focal_length_mm=85.0),
            companions=brief.companions,
            windows=brief.windows,
            screens=brief.screens,
            backdrop=hung,
            circuits=brief.circuits,
            walkways=brief.walkways,
        )
    except ValidationError as error:
        found = [one for item in error.errors() for one in item.get("ctx", {}).get("problems", ())]
        return [one for one in found if not one.key.startswith("camera")]
    return []
