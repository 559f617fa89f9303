"""One panel of a figure: a drawing with its box, and what may be dragged in it."""

import re
from dataclasses import dataclass
from typing import Literal

Box = tuple[float, float, float, float]

_HANDLES = re.compile(
    r" (?:tabindex|role|aria-label|data-[a-z]+)='[^']*'|<circle class='hit'[^>]*/>"
)
_NAMED = re.compile(r"(id='|url\(#|href='#)")


@dataclass(frozen=True, kw_only=True, slots=True)
class Drag:
    """How a place in a panel tells the value of a knob.

    Attributes
    ----------
    knob : str
        Which.
    way : "x", "y" or "around"
        By how far along, how far down, or by the direction from the drawing's origin: degrees
        to camera-left from straight down.
    at_zero, per_unit : float
        The value where the drawing's own coordinate is 0, and its change with each unit.
    """

    knob: str
    way: Literal["x", "y", "around"]
    at_zero: float = 0.0
    per_unit: float = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Panel:
    """One panel of a figure.

    Attributes
    ----------
    kind : str
        ``side``, ``above``, ``seen``, ``section`` or ``places``: how a page styles it.
    title : str
        What it shows, in a few words.
    box : tuple of four floats
        Left, top, width and height of the drawing.
    svg : str
        The fragment.
    drags : tuple of Drag
        What a pointer in it changes.
    grip : pair of floats, optional
        Where it is taken hold of for that.
    """

    kind: Literal["side", "above", "seen", "section", "places"]
    title: str
    box: Box
    svg: str
    drags: tuple[Drag, ...] = ()
    grip: tuple[float, float] | None = None


def quiet(fragment: str) -> str:
    """Return a drawing of the set without what makes its things handles."""
    return _HANDLES.sub("", fragment)


def named_apart(fragment: str, name: str) -> str:
    """Return a fragment whose names cannot meet those of another on the same page."""
    return _NAMED.sub(lambda found: f"{found[1]}{name}-", fragment)
