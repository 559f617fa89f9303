"""Lights: the head that makes the light, the modifier that shapes it, where it stands."""

from __future__ import annotations

from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, Field, StrictBool, model_validator

from tapemark.errors import Problem
from tapemark.studio import kinds
from tapemark.studio.aims import Aim
from tapemark.studio.base import Data, Name, from_preset, known_preset, preset_or_table, refuse
from tapemark.studio.place import Place
from tapemark.studio.presets import HEAD_PRESETS, MODIFIER_PRESETS

__all__ = ["Head", "Light", "Modifier", "ModifierKind"]

ModifierKind = Literal[
    "softbox",
    "strip",
    "octagonal box",
    "reflected umbrella",
    "shoot-through umbrella",
    "beauty dish",
    "reflector dish",
    "bare",
]

ASSUMED_EFFICIENCY: dict[ModifierKind, float] = {
    "softbox": 0.45,
    "strip": 0.35,
    "octagonal box": 0.45,
    "reflected umbrella": 0.5,
    "shoot-through umbrella": 0.4,
    "beauty dish": 0.5,
    "reflector dish": 0.7,
    "bare": 0.9,
}
"""Share of the head's light that leaves the front, ±0.5 stop each; common practice. [-]"""

ASSUMED_BEAM_DEG: dict[ModifierKind, float] = {
    "beauty dish": 90.0,
    "reflector dish": 65.0,
    "bare": 120.0,
}
"""Full angle of the beam where the light is not spread evenly, ±15°; common practice. [deg]"""

_ROUNDS: tuple[ModifierKind, ...] = (
    "octagonal box",
    "reflected umbrella",
    "shoot-through umbrella",
    "beauty dish",
    "reflector dish",
)


def _head(field: str, otherwise: Any = None) -> Any:
    return Field(default_factory=from_preset(HEAD_PRESETS, field, otherwise=otherwise))


def _modifier(field: str, otherwise: Any = None) -> Any:
    return Field(default_factory=from_preset(MODIFIER_PRESETS, field, otherwise=otherwise))


class Head(Data):
    """What makes the light.

    Parameters
    ----------
    preset : str, optional
        Trade description that gives every value not stated here.
    kind : "flash" or "continuous"
        Flash, or a lamp that burns all the time.
    energy_j : float, optional
        Stored energy of a flash at full power. [J]
    lumens : float, optional
        Light of a continuous lamp at full power. [lm]
    efficacy_lm_per_w : float
        Light made from the energy of a flash; 15 to 50 in practice. [lm/W]
    color_k : float
        Colour temperature. [K]
    """

    preset: Annotated[str | None, AfterValidator(known_preset(HEAD_PRESETS))] = None
    kind: Literal["flash", "continuous"] = _head("kind", "flash")
    energy_j: Annotated[float, kinds.energy(1.0, 10_000.0)] | None = _head("energy_j")
    lumens: Annotated[float, kinds.lumens(10.0, 1_000_000.0)] | None = Field(
        default_factory=from_preset(HEAD_PRESETS, "lumens"),
        validation_alias="output",
        serialization_alias="output",
    )
    efficacy_lm_per_w: Annotated[float, kinds.efficacy(5.0, 120.0)] = 40.0
    color_k: Annotated[float, kinds.color_temperature(1500.0, 20_000.0)] = 5500.0

    @property
    def assumptions(self) -> str:
        """What the preset assumes, or nothing."""
        return "" if self.preset is None else HEAD_PRESETS[self.preset].assumptions

    @model_validator(mode="before")
    @classmethod
    def _from_preset_name(cls, value: Any) -> Any:
        return preset_or_table(value)

    @model_validator(mode="after")
    def _check(self) -> Head:
        key, example = ("energy", "400 Ws") if self.kind == "flash" else ("output", "6000 lm")
        if (self.energy_j if self.kind == "flash" else self.lumens) is None:
            raise refuse(
                [
                    Problem(
                        key=key,
                        given="",
                        allowed=f'a value such as "{example}" for a {self.kind} head',
                        advice=f'add {key} = "{example}", or a preset such as '
                        f'"{next(iter(HEAD_PRESETS))}"',
                    )
                ]
            )
        return self


class Modifier(Data):
    """What shapes the light: its lit face and how much light it passes on.

    Parameters
    ----------
    preset : str, optional
        Trade description that gives every value not stated here.
    kind : str
        What it is.
    width_m, height_m : float, optional
        Lit face of a rectangular modifier, as it hangs. [m]
    diameter_m : float, optional
        Lit face of a round or octagonal one, across flats. [m]
    depth_m : float
        From the lit face back to the head. [m]
    efficiency : float, optional
        Share of the head's light that leaves the front. [-]
    beam_deg : float, optional
        Full angle of the beam of a dish or a bare head. [deg]
    """

    preset: Annotated[str | None, AfterValidator(known_preset(MODIFIER_PRESETS))] = None
    kind: ModifierKind = _modifier("kind")
    width_m: Annotated[float, kinds.length(0.01, 4.0)] | None = _modifier("width_m")
    height_m: Annotated[float, kinds.length(0.01, 4.0)] | None = _modifier("height_m")
    diameter_m: Annotated[float, kinds.length(0.01, 4.0)] | None = _modifier("diameter_m")
    depth_m: Annotated[float, kinds.length(0.0, 2.0)] = _modifier("depth_m", 0.3)
    efficiency: Annotated[float, kinds.share(0.01, 1.0)] | None = _modifier("efficiency")
    beam_deg: Annotated[float, kinds.angle(5.0, 180.0)] | None = _modifier("beam_deg")

    @property
    def shape(self) -> Literal["rectangle", "disc", "octagon"]:
        """Shape of the lit face."""
        if self.kind == "octagonal box":
            return "octagon"
        return "rectangle" if self.diameter_m is None else "disc"

    @property
    def face_size_m(self) -> tuple[float, float]:
        """Width and height of the box around the lit face, as it hangs. [m]"""
        if self.diameter_m is not None:
            return self.diameter_m, self.diameter_m
        return self.width_m or 0.0, self.height_m or 0.0

    @property
    def assumed_efficiency(self) -> float:
        """Share of the head's light that leaves the front: stated, else assumed. [-]"""
        return ASSUMED_EFFICIENCY[self.kind] if self.efficiency is None else self.efficiency

    @property
    def assumed_beam_deg(self) -> float | None:
        """Beam of a dish or a bare head: stated, else assumed; None for an even face. [deg]"""
        return ASSUMED_BEAM_DEG.get(self.kind) if self.beam_deg is None else self.beam_deg

    @property
    def assumptions(self) -> str:
        """What the preset assumes, or nothing."""
        return "" if self.preset is None else MODIFIER_PRESETS[self.preset].assumptions

    @model_validator(mode="before")
    @classmethod
    def _from_preset_name(cls, value: Any) -> Any:
        return preset_or_table(value)

    @model_validator(mode="after")
    def _check(self) -> Modifier:
        problems = _size_problems(self)
        if problems:
            raise refuse(problems)
        return self


class Light(Data):
    """One light on its stand.

    Parameters
    ----------
    name : str
        What the photographer calls it, such as ``key``.
    head : Head
        What makes the light.
    modifier : Modifier
        What shapes it.
    place : Place
        Where the middle of its lit face is.
    aim : str or Place
        What the lit face points at.
    power_stops : float
        Power, counted from full power: 0 or less. [stops]
    on : bool
        Whether it is lit.
    """

    name: Name
    head: Head
    modifier: Modifier
    place: Place
    aim: Aim = "face"
    power_stops: Annotated[float, kinds.power(-12.0, 0.0)] = 0.0
    on: StrictBool = True


def _size_problems(modifier: Modifier) -> list[Problem]:
    if modifier.kind not in get_args(ModifierKind):
        presets = ", ".join(f'"{name}"' for name in MODIFIER_PRESETS)
        advice = f'add kind = "softbox", or a preset: {presets}'
        return [Problem(key="kind", given="", allowed="what the modifier is", advice=advice)]
    flat = (modifier.width_m, modifier.height_m)
    is_round = modifier.kind in _ROUNDS
    if modifier.kind == "bare":
        is_round = flat == (None, None)
    wanted = ["diameter"] if is_round else ["width", "height"]
    unwanted = ["width", "height"] if is_round else ["diameter"]
    problems = [
        Problem(
            key=key,
            given="",
            allowed=f'a length such as "0.9 m" for kind "{modifier.kind}"',
            advice=f'add {key} = "0.9 m", the size of the lit face',
        )
        for key in wanted
        if getattr(modifier, f"{key}_m") is None
    ]
    problems += [
        Problem(
            key=key,
            given=f'"{getattr(modifier, f"{key}_m"):g} m", with kind "{modifier.kind}"',
            allowed=f'{" and ".join(wanted)} for kind "{modifier.kind}"',
            advice=f"take {key} out",
        )
        for key in unwanted
        if getattr(modifier, f"{key}_m") is not None
    ]
    return problems
