"""Lights: the head that makes the light, the modifier that shapes it, where it stands."""

from __future__ import annotations

from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, Field, StrictBool, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from tapemark.errors import Problem
from tapemark.studio import kinds
from tapemark.studio.aims import Aim
from tapemark.studio.base import Data, Name, from_preset, known_preset, preset_or_table, refuse
from tapemark.studio.gels import Gel
from tapemark.studio.luminaires import Luminaire
from tapemark.studio.place import Place
from tapemark.studio.presets import HEAD_PRESETS, MODIFIER_PRESETS
from tapemark.studio.stands import Stand

__all__ = ["Head", "Light", "Meter", "Modifier", "ModifierKind"]

LONGEST_FILE_NAME = 200  # characters


def _check_lamp_file(value: str) -> str:
    if value.lower().endswith((".ies", ".ldt")) and value.isprintable():
        return value
    context = {
        "allowed": 'the name of a file that ends in ".ies" or ".ldt"',
        "advice": 'write it like "lamp.ies", with the file beside the setup file',
    }
    raise PydanticCustomError("text", "{advice} (allowed: {allowed})", context)


LampFile = Annotated[
    str,
    StringConstraints(strict=True, max_length=LONGEST_FILE_NAME),
    AfterValidator(_check_lamp_file),
]

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

ASSUMED_WEIGHT_KG, ASSUMED_WEIGHT_KG_PER_M2 = 0.4, 1.5
"""Weight of a modifier, and more for the size of its face; common practice. [kg, kg/m^2]"""
UMBRELLA_WEIGHT_KG, UMBRELLA_WEIGHT_KG_PER_M2 = 0.3, 0.4
"""The same of an umbrella, ±0.2 kg; common practice. [kg, kg/m^2]"""

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
    guide_number_m : float, optional
        Aperture times distance of a flash with its own reflector, at full power. [m]
    guide_number_iso : int
        ISO speed for which the guide number is stated. [-]
    guide_number_beam_deg : float
        Full angle that its reflector covers at that guide number. [deg]
    photometric_file : str, optional
        Name of the lamp's IES or EULUMDAT file, beside the setup file.
    luminaire : Luminaire, optional
        How the lamp spreads its light; read from that file.
    lowest_power_stops : float
        Lowest power that can be set, counted from full power. [stops]
    power_step_stops : float
        Step in which it is set. [stops]
    color_k : float
        Colour temperature. [K]
    lamp : "LED", "halogen", "fluorescent" or "discharge"
        What burns in a continuous head, or in the modelling lamp of a flash.
    modelling_lamp_w : float
        Power of the modelling lamp of a flash. [W]
    mains_w : float, optional
        Power drawn from the mains, as on the nameplate; 0 for a battery. [W]
    recycle_s : float, optional
        Time to be ready again after a pop at full power. [s]
    weight_kg : float
        Weight. [kg]
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
    guide_number_m: Annotated[float, kinds.length(1.0, 300.0, usual=(8.0, 100.0))] | None = None
    guide_number_iso: Annotated[int, kinds.count(1, 1_000_000)] = 100
    guide_number_beam_deg: Annotated[float, kinds.angle(5.0, 180.0)] = 70.0
    photometric_file: LampFile | None = None
    luminaire: Luminaire | None = None
    lowest_power_stops: Annotated[float, kinds.power(-12.0, 0.0)] = _head(
        "lowest_power_stops", -7.0
    )
    power_step_stops: Annotated[float, kinds.stops(0.01, 1.0)] = _head("power_step_stops", 0.1)
    color_k: Annotated[float, kinds.color_temperature(1500.0, 20_000.0)] = _head("color_k", 5500.0)
    lamp: Literal["LED", "halogen", "fluorescent", "discharge"] = _head("lamp", "LED")
    modelling_lamp_w: Annotated[float, kinds.watts(0.0, 2000.0)] = _head("modelling_lamp_w", 0.0)
    mains_w: Annotated[float, kinds.watts(0.0, 20_000.0)] | None = _head("mains_w")
    recycle_s: Annotated[float, kinds.seconds(0.001, 60.0)] | None = None
    weight_kg: Annotated[float, kinds.mass(0.05, 50.0)] = _head("weight_kg", 2.0)

    @property
    def assumptions(self) -> str:
        """What the preset assumes, or nothing."""
        return "" if self.preset is None else HEAD_PRESETS[self.preset].assumptions

    @model_validator(mode="before")
    @classmethod
    def _from_preset_name(cls, value: Any) -> Any:
        return preset_or_table(value)

    @property
    def known(self) -> bool:
        """Whether the data say how much light it gives."""
        if self.kind == "flash":
            return self.energy_j is not None or self.guide_number_m is not None
        return self.lumens is not None or self.luminaire is not None


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
    grid_deg : float, optional
        Full angle that a honeycomb grid lets through. [deg]
    grid_loss_stops : float, optional
        Light that the grid takes on its axis, as you metered it. [stops]
    weight_kg : float, optional
        Weight. [kg]
    """

    preset: Annotated[str | None, AfterValidator(known_preset(MODIFIER_PRESETS))] = None
    kind: ModifierKind = _modifier("kind")
    width_m: Annotated[float, kinds.length(0.01, 4.0)] | None = _modifier("width_m")
    height_m: Annotated[float, kinds.length(0.01, 4.0)] | None = _modifier("height_m")
    diameter_m: Annotated[float, kinds.length(0.01, 4.0)] | None = _modifier("diameter_m")
    depth_m: Annotated[float, kinds.length(0.0, 2.0)] = _modifier("depth_m", 0.3)
    efficiency: Annotated[float, kinds.share(0.01, 1.0)] | None = _modifier("efficiency")
    beam_deg: Annotated[float, kinds.angle(5.0, 180.0)] | None = _modifier("beam_deg")
    grid_deg: Annotated[float, kinds.angle(5.0, 120.0)] | None = None
    grid_loss_stops: Annotated[float, kinds.stops(0.0, 6.0)] | None = None
    weight_kg: Annotated[float, kinds.mass(0.0, 30.0)] | None = None

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
    def assumed_weight_kg(self) -> float:
        """Weight: stated, else assumed from the size of the face; nothing for a bare head. [kg]"""
        if self.weight_kg is not None:
            return self.weight_kg
        width_m, height_m = self.face_size_m
        if self.kind == "bare":
            return 0.0
        if self.kind in ("reflected umbrella", "shoot-through umbrella"):
            return UMBRELLA_WEIGHT_KG + UMBRELLA_WEIGHT_KG_PER_M2 * width_m * height_m
        return ASSUMED_WEIGHT_KG + ASSUMED_WEIGHT_KG_PER_M2 * width_m * height_m

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


class Meter(Data):
    """A reading of a light taken with a hand meter: it replaces every estimate of that light.

    Parameters
    ----------
    aperture : float, optional
        What the meter showed for a flash. [-]
    illuminance_lx : float, optional
        What it showed for a continuous light. [lx]
    distance_m : float
        Middle of the lit face to the meter, on the axis of the light. [m]
    power_stops : float
        Power at which it was taken, counted from full power. [stops]
    iso : int
        ISO speed set on the meter. [-]
    receptor : "flat" or "dome"
        Flat, or with the dome, pointed at the light.
    modifier : Modifier, optional
        What was on the head, where it is not the light's own modifier.
    """

    aperture: Annotated[float, kinds.aperture(0.5, 256.0)] | None = None
    illuminance_lx: Annotated[float, kinds.illuminance(0.1, 10_000_000.0)] | None = None
    distance_m: Annotated[float, kinds.length(0.1, 30.0, usual=(0.5, 8.0))]
    power_stops: Annotated[float, kinds.power(-12.0, 0.0)] = 0.0
    iso: Annotated[int, kinds.count(1, 1_000_000)] = 100
    receptor: Literal["flat", "dome"] = "dome"
    modifier: Modifier | None = None

    @model_validator(mode="after")
    def _check(self) -> Meter:
        if (self.aperture is None) == (self.illuminance_lx is None):
            given = "" if self.aperture is None else "aperture and illuminance"
            problem = Problem(
                key="aperture",
                given=given,
                allowed="either the aperture read, or the illuminance of a continuous light",
                advice='write aperture = "f/8" for a flash, or illuminance = "800 lx"',
            )
            raise refuse([problem])
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
    gel : Gel, optional
        Coloured filter in front of it.
    meter : Meter, optional
        Your own meter reading of it.
    stand : Stand, optional
        What holds it.
    circuit : str, optional
        Name of the mains circuit it draws from.
    """

    name: Name
    head: Head
    modifier: Modifier
    place: Place
    aim: Aim = "face"
    power_stops: Annotated[float, kinds.power(-12.0, 0.0)] = 0.0
    on: StrictBool = True
    gel: Gel | None = None
    meter: Meter | None = None
    stand: Stand | None = None
    circuit: Name | None = None

    @model_validator(mode="after")
    def _check(self) -> Light:
        problems = _output_problems(self)
        if problems:
            raise refuse(problems)
        return self


def _example_preset(kind: str) -> str:
    """Return the first preset of a kind of head."""
    return next(name for name, one in HEAD_PRESETS.items() if one.values["kind"] == kind)


def _output_problems(light: Light) -> list[Problem]:
    """Return what is missing or at odds about how much light a head gives."""
    head, meter = light.head, light.meter
    key, example = ("energy", "400 Ws") if head.kind == "flash" else ("output", "6000 lm")
    if not head.known and meter is None:
        problem = Problem(
            key=f"head.{key}",
            given="",
            allowed=f'a value such as "{example}" for a {head.kind} head',
            advice=f'add {key} = "{example}", or a preset such as "{_example_preset(head.kind)}"',
        )
        return [problem]
    if meter is None or (meter.aperture is None) == (head.kind == "continuous"):
        return []
    wrong = "aperture" if meter.illuminance_lx is None else "illuminance"
    right = 'aperture = "f/8"' if head.kind == "flash" else 'illuminance = "800 lx"'
    problem = Problem(
        key=f"meter.{wrong}",
        given=f"a reading of {wrong} for a {head.kind} head",
        allowed="the aperture for a flash, the illuminance for a continuous head",
        advice=f"write {right}",
    )
    return [problem]


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
