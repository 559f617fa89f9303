"""Gels: coloured filters in front of a light, and what they do to it."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, Field, model_validator

from tapemark.errors import Problem
from tapemark.studio import kinds
from tapemark.studio.base import Data, Name, from_preset, known_preset, preset_or_table, refuse
from tapemark.studio.presets import Preset

__all__ = ["GEL_PRESETS", "Gel"]

GEL_PRESETS: dict[str, Preset] = {
    "full warming": Preset(
        values={"shift_mired": 159.0, "loss_stops": 0.7},
        assumptions="Daylight to tungsten; makers differ by a fifth: state yours.",
    ),
}


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
