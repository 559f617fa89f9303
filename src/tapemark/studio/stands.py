"""Stands and booms: what holds a light up, and what holds it down."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, StrictBool, model_validator

from tapemark.studio import kinds
from tapemark.studio.base import Data, from_preset, known_preset, preset_or_table
from tapemark.studio.place import Spot
from tapemark.studio.presets import STAND_PRESETS

__all__ = ["Stand"]


def _stand(field: str, otherwise: Any = None) -> Any:
    return Field(default_factory=from_preset(STAND_PRESETS, field, otherwise=otherwise))


class Stand(Data):
    """What holds a light.

    Parameters
    ----------
    preset : str, optional
        Trade description that gives every value not stated here.
    kind : "stand", "boom" or "fixed"
        On legs, on an arm over legs, or fixed to the building.
    weight_kg : float
        Of the stand with its legs. [kg]
    leg_radius_m : float
        Column to the foot of a leg, spread. [m]
    legs : int
        How many.
    leg_under_load : bool
        Whether a leg points the way the load leans.
    highest_m : float
        How high it reaches. [m]
    ballast_kg : float
        Sandbags together. [kg]
    ballast_out_m : float
        How far out along a leg they hang; 0 on the column. [m]
    boom_out_m : float
        Column to the head, along the floor. [m]
    boom_weight_kg : float
        Of the arm. [kg]
    counterweight_kg : float
        At the other end of the arm. [kg]
    counterweight_out_m : float
        Column to the counterweight, along the floor. [m]
    base : Spot, optional
        Where the column stands; behind the head, seen from the sitter, if left out.
    """

    preset: Annotated[str | None, AfterValidator(known_preset(STAND_PRESETS))] = None
    kind: Literal["stand", "boom", "fixed"] = _stand("kind", "stand")
    weight_kg: Annotated[float, kinds.mass(0.2, 100.0)] = _stand("weight_kg", 3.0)
    leg_radius_m: Annotated[float, kinds.length(0.1, 2.0)] = _stand("leg_radius_m", 0.5)
    legs: Annotated[int, kinds.count(3, 5)] = 3
    leg_under_load: StrictBool = False
    highest_m: Annotated[float, kinds.length(0.3, 8.0)] = _stand("highest_m", 2.6)
    ballast_kg: Annotated[float, kinds.mass(0.0, 200.0)] = 0.0
    ballast_out_m: Annotated[float, kinds.length(0.0, 2.0)] = 0.0
    boom_out_m: Annotated[float, kinds.length(0.0, 5.0)] = _stand("boom_out_m", 0.0)
    boom_weight_kg: Annotated[float, kinds.mass(0.0, 50.0)] = _stand("boom_weight_kg", 0.0)
    counterweight_kg: Annotated[float, kinds.mass(0.0, 100.0)] = _stand("counterweight_kg", 0.0)
    counterweight_out_m: Annotated[float, kinds.length(0.0, 3.0)] = _stand(
        "counterweight_out_m", 0.0
    )
    base: Spot | None = None

    @property
    def assumptions(self) -> str:
        """What the preset assumes, or nothing."""
        return "" if self.preset is None else STAND_PRESETS[self.preset].assumptions

    @model_validator(mode="before")
    @classmethod
    def _from_preset_name(cls, value: Any) -> Any:
        return preset_or_table(value)
