"""Mains circuits that lights draw from, and ways across the floor that people walk."""

from __future__ import annotations

from typing import Annotated

from tapemark.studio import kinds
from tapemark.studio.base import Data, Name
from tapemark.studio.place import Spot

__all__ = ["Circuit", "Walkway"]


class Circuit(Data):
    """A mains circuit behind one breaker.

    Parameters
    ----------
    name : str
        For labels, and for the lights that draw from it.
    voltage_v : float
        Mains voltage. [V]
    breaker_a : float
        What its breaker is marked with. [A]
    other_load_w : float
        What else draws from it. [W]
    outlet : Spot, optional
        Where its outlet is, for the cables.
    """

    name: Name
    voltage_v: Annotated[float, kinds.volts(90.0, 260.0)]
    breaker_a: Annotated[float, kinds.amperes(1.0, 125.0)]
    other_load_w: Annotated[float, kinds.watts(0.0, 20_000.0)] = 0.0
    outlet: Spot | None = None


class Walkway(Data):
    """A straight way across the floor that people walk.

    Parameters
    ----------
    name : str
        For labels, such as ``door to desk``.
    start, end : Spot
        The middle of its two ends.
    width_m : float
        From side to side. [m]
    """

    name: Name
    start: Spot
    end: Spot
    width_m: Annotated[float, kinds.length(0.3, 6.0)] = 0.9
