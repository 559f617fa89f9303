"""Gels: coloured filters in front of a light, and what they do to it."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, Field, model_validator

from tapemark.errors import Problem
from tapemark.studio import kinds
from tapemark.studio.base import Data, Name, from_preset, known_preset, preset_or_table, refuse
from tapemark.studio.presets import Preset

__all__ = ["GEL_PRESETS", "Gel"]

_SERIES = "Series differ by up to half of their shift, and old gels fade: state yours."


def _shift(shift_mired: float, loss_stops: float, assumptions: str) -> Preset:
    values = {"shift_mired": shift_mired, "loss_stops": loss_stops}
    return Preset(values=values, assumptions=assumptions)


def _filter(use: str, shift_mired: float, loss_stops: float, more: str = "") -> Preset:
    return _shift(
        shift_mired,
        loss_stops,
        f"Camera filter, {use}: shift as printed (±5 mired), loss to a third of a stop.{more}",
    )


def _effect(red: float, green: float, blue: float) -> Preset:
    values = {"red": red, "green": green, "blue": blue}
    return Preset(values=values, assumptions="A deep colour, shares assumed; ±1 stop.")


_THIRD, _TWO_THIRDS = 1 / 3, 2 / 3

# Shifts and losses of the camera filters as printed, [filmmakers-slides], [color-meter-manual],
# [practical-cinematography]; where they differ, what is taken and what another says.
_CAMERA_FILTERS: dict[str, Preset] = {
    "80A": _filter("3200 K to 5500 K", -131.0, 2.0),
    "80B": _filter("3400 K to 5500 K", -112.0, 1 + _TWO_THIRDS),
    "80C": _filter("3800 K to 5500 K", -81.0, 1.0),
    "80D": _filter("4200 K to 5500 K", -56.0, _THIRD, " Another table prints 2/3 stop."),
    "82": _filter("cooling", -10.0, _THIRD),
    "82A": _filter("cooling", -21.0, _THIRD),
    "82B": _filter("cooling", -32.0, _TWO_THIRDS),
    "82C": _filter("cooling", -45.0, _TWO_THIRDS),
    "81": _filter("warming", 9.0, _THIRD),
    "81A": _filter("warming", 18.0, _THIRD),
    "81B": _filter("warming", 27.0, _THIRD),
    "81C": _filter("warming", 35.0, _THIRD),
    "81D": _filter("warming", 42.0, _TWO_THIRDS),
    "81EF": _filter("warming", 52.0, _TWO_THIRDS),
    "85C": _filter("5500 K to 3800 K", 81.0, _THIRD, " One book prints +99 mired."),
    "85": _filter("5500 K to 3400 K", 112.0, _TWO_THIRDS, " Another table prints 1/3 stop."),
    "85B": _filter("5500 K to 3200 K", 131.0, _TWO_THIRDS),
}

# Shifts [cinematography-table-12-1], but full CTO [gel-shifts]; losses [gel-losses] where the
# comment says so, the others from memory: what makers print for sheets of that strength.
_LIGHTING_GELS: dict[str, Preset] = {
    "full CTO": _shift(137.0, _TWO_THIRDS, f"+131 to +167 mired, 0.6 to 0.9 stop. {_SERIES}"),
    "half CTO": _shift(81.0, 0.5, f"+68 to +109 mired, ±0.2 stop. {_SERIES}"),
    "quarter CTO": _shift(42.0, 0.3, f"+35 to +64 mired, ±0.2 stop. {_SERIES}"),
    "eighth CTO": _shift(20.0, 0.2, f"+10 to +26 mired, ±0.1 stop. {_SERIES}"),
    "full warming": _shift(159.0, 0.7, f"A series stronger than full CTO, from memory. {_SERIES}"),
    "full CTB": _shift(-131.0, 1.5, f"-131 to -137 mired, 1 to 2 stops. {_SERIES}"),  # loss seen
    "half CTB": _shift(-68.0, 1.0, f"-68 to -80 mired, ±0.3 stop. {_SERIES}"),  # loss seen
    "quarter CTB": _shift(-30.0, 0.5, f"-30 to -35 mired, ±0.2 stop. {_SERIES}"),
    "eighth CTB": _shift(-12.0, 0.3, f"-9.5 to -18 mired, ±0.1 stop. {_SERIES}"),
    # A density D takes D/log10(2) stops.
    "neutral density 0.3": _shift(0.0, 1.0, "One stop, ±0.1; it shifts some 5 mired either way."),
    "neutral density 0.6": _shift(0.0, 2.0, "Two stops, ±0.1; it shifts some 5 mired either way."),
    "neutral density 0.9": _shift(0.0, 3.0, "Three stops, ±0.2; it shifts some 5 mired."),
}

# Common practice, no published source.
_EFFECT_GELS: dict[str, Preset] = {
    "red": _effect(0.75, 0.03, 0.02),
    "amber": _effect(0.85, 0.4, 0.03),
    "green": _effect(0.05, 0.5, 0.1),
    "cyan": _effect(0.05, 0.45, 0.5),
    "blue": _effect(0.02, 0.08, 0.5),
    "magenta": _effect(0.6, 0.04, 0.35),
}

GEL_PRESETS: dict[str, Preset] = {**_LIGHTING_GELS, **_CAMERA_FILTERS, **_EFFECT_GELS}
"""Gels by trade description: sheets for lights, the series of camera filters, deep colours."""


def _gel(field: str, otherwise: Any = None) -> Any:
    return Field(default_factory=from_preset(GEL_PRESETS, field, otherwise=otherwise))


class Gel(Data):
    """A coloured filter in front of a light.

    Parameters
    ----------
    preset : str, optional
        Trade description that gives every value not stated here.
    name : str
        For labels.
    shift_mired : float
        Shift of the colour temperature, warmer positive. [mired]
    loss_stops : float, optional
        Light it takes; for a colour given by its shares, worked out from them. [stops]
    red, green, blue : float, optional
        Shares of red, green and blue that pass, for a colour that is no shift. [-]
    """

    preset: Annotated[str | None, AfterValidator(known_preset(GEL_PRESETS))] = None
    name: Name = "gel"
    shift_mired: Annotated[float, kinds.mired(-500.0, 500.0)] = _gel("shift_mired", 0.0)
    loss_stops: Annotated[float, kinds.stops(0.0, 10.0)] | None = _gel("loss_stops")
    red: Annotated[float, kinds.share(0.0, 1.0)] | None = _gel("red")
    green: Annotated[float, kinds.share(0.0, 1.0)] | None = _gel("green")
    blue: Annotated[float, kinds.share(0.0, 1.0)] | None = _gel("blue")

    @property
    def shares(self) -> tuple[float, float, float] | None:
        """Shares of red, green and blue that pass; None for a shift of colour temperature."""
        if self.red is None or self.green is None or self.blue is None:
            return None
        return self.red, self.green, self.blue

    @property
    def label(self) -> str:
        """What it is called: its own name, else its preset's."""
        return self.name if self.preset is None or "name" in self.model_fields_set else self.preset

    @property
    def assumptions(self) -> str:
        """What the preset assumes, or nothing."""
        return "" if self.preset is None else GEL_PRESETS[self.preset].assumptions

    @model_validator(mode="before")
    @classmethod
    def _from_preset_name(cls, value: Any) -> Any:
        return preset_or_table(value)

    @model_validator(mode="after")
    def _check(self) -> Gel:
        shares = {"red": self.red, "green": self.green, "blue": self.blue}
        missing = [key for key, share in shares.items() if share is None]
        if missing and len(missing) < len(shares):
            raise refuse(
                [
                    Problem(
                        key=key,
                        given="",
                        allowed="all three of red, green and blue, or none of them",
                        advice=f"add {key} = 0.5, the share of it that passes",
                    )
                    for key in missing
                ]
            )
        if not missing and max(self.red or 0.0, self.green or 0.0, self.blue or 0.0) == 0.0:
            problem = Problem(
                key="red",
                given="0, with green 0 and blue 0",
                allowed="at least one share above 0",
                advice="say what passes, or switch the light off",
            )
            raise refuse([problem])
        return self
