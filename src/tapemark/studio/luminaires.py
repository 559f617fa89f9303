"""How a lamp spreads its light, as photometric files tell it."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from tapemark.errors import Problem
from tapemark.studio import kinds
from tapemark.studio.base import Data, Name, Title, refuse

__all__ = ["Luminaire"]

MOST_ANGLES = 721  # every half degree around
MOST_INTENSITIES = 261_000  # 721 planes of 361 angles, the most an EULUMDAT file can hold
BRIGHTEST_CD = 1e9
_HALF_TURN_DEG = 180.0
_CONES = "from 0 or 90, up to at most 180"
_PLANES = "0 alone, 0 to 90, 0 to 180, 90 to 270 or 0 to 360"


def _refused(allowed: str, advice: str) -> PydanticCustomError:
    context = {"allowed": allowed, "advice": advice}
    return PydanticCustomError("table", "{advice} (allowed: {allowed})", context)


def _is_number(value: Any, *, low: float, high: float) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return low <= value <= high  # false for not-a-number and for infinity


def _check_angles(value: Any) -> Any:
    allowed = f"1 to {MOST_ANGLES} angles in degrees, each above the one before"
    if not isinstance(value, list | tuple) or not 1 <= len(value) <= MOST_ANGLES:
        raise _refused(allowed, "write a list of plain numbers like [0, 45, 90]")
    for angle in value:
        if not _is_number(angle, low=-_HALF_TURN_DEG, high=2 * _HALF_TURN_DEG):
            raise _refused(allowed, f"put a number from -180 to 360 in place of {_short(angle)}")
    for before, after in pairwise(value):
        if not before < after:
            raise _refused(allowed, f"put {_short(after)} in its place: it follows {before:g}")
    return tuple(float(angle) for angle in value)


def _check_candela(value: Any) -> Any:
    allowed = f"rows of numbers from 0 to {BRIGHTEST_CD:g}, one row for each horizontal angle"
    rows = value if isinstance(value, list | tuple) else ()
    if not rows or not all(isinstance(row, list | tuple) for row in rows):
        raise _refused(allowed, "write it like [[1000, 866, 500, 0]]")
    if sum(len(row) for row in rows) > MOST_INTENSITIES:
        raise _refused(f"at most {MOST_INTENSITIES} intensities", "leave out some of the angles")
    for row in rows:
        for intensity in row:
            if not _is_number(intensity, low=0.0, high=BRIGHTEST_CD):
                raise _refused(allowed, f"put an intensity in place of {_short(intensity)}")
    if not any(intensity > 0 for row in rows for intensity in row):
        raise _refused("at least one intensity above 0", "check that the lamp was on")
    return tuple(tuple(float(intensity) for intensity in row) for row in rows)


def _short(value: Any) -> str:
    if isinstance(value, float) and math.isfinite(value):
        return f"{value:g}"
    text = repr(value) if isinstance(value, str | int | float | bool | None) else "that"
    return text if len(text) <= 24 else f"{text[:21]}..."


Angles = Annotated[tuple[float, ...], BeforeValidator(_check_angles)]
Intensities = Annotated[tuple[tuple[float, ...], ...], BeforeValidator(_check_candela)]


class Luminaire(Data):
    """How a lamp spreads its light.

    Parameters
    ----------
    name : str
        For labels.
    source : str
        Which kind of file it was read from, such as "IES LM-63-2002".
    photometry : "A", "B" or "C"
        Which way the angles are counted. C: vertical from the axis that is aimed at the sitter,
        horizontal around it. A and B: both from that axis, up and sideways.
    vertical_deg : list of float
        Vertical angles, rising; plain numbers. [deg]
    horizontal_deg : list of float
        Horizontal angles, rising; plain numbers. What they leave out follows by symmetry. [deg]
    candela : list of lists of float
        Intensities as they were measured: a row for each horizontal angle, in it one for each
        vertical angle. [cd]
    lamp_lumens : float, optional
        Rated light of its lamps, where the file was measured relative to them. [lm]
    opening_shape : "rectangle" or "round"
        Outline of the opening that light leaves by.
    opening_c0_m : float
        Size of the opening along the horizontal angle 0; 0 for a point. [m]
    opening_c90_m : float
        Size of the opening square to that. [m]
    opening_depth_m : float
        How far the lit part stands out along the axis. [m]
    mains_w : float, optional
        Power drawn from the mains. [W]
    """

    name: Name = "lamp"
    source: Title = ""
    photometry: Literal["A", "B", "C"] = "C"
    vertical_deg: Angles
    horizontal_deg: Angles
    candela: Intensities
    lamp_lumens: Annotated[float, kinds.lumens(0.001, 100_000_000.0)] | None = None
    opening_shape: Literal["rectangle", "round"] = "rectangle"
    opening_c0_m: Annotated[float, kinds.length(0.0, 20.0)] = 0.0
    opening_c90_m: Annotated[float, kinds.length(0.0, 20.0)] = 0.0
    opening_depth_m: Annotated[float, kinds.length(0.0, 20.0)] = 0.0
    mains_w: Annotated[float, kinds.watts(0.0, 1_000_000.0)] | None = Field(default=None)

    @model_validator(mode="after")
    def _check(self) -> Luminaire:
        problems = _angle_problems(self) + _shape_problems(self)
        if problems:
            raise refuse(problems)
        return self


def _angle_problems(luminaire: Luminaire) -> list[Problem]:
    """Return what is wrong with the ends of the angles."""
    vertical, horizontal = luminaire.vertical_deg, luminaire.horizontal_deg
    if luminaire.photometry == "C":
        found = [
            _ends("vertical", vertical, allowed=_CONES, fits=_cones_fit(vertical)),
            _ends("horizontal", horizontal, allowed=_PLANES, fits=_planes_fit(horizontal)),
        ]
    else:
        up_deg, aside_deg = (90.0, 180.0) if luminaire.photometry == "A" else (180.0, 90.0)
        found = [
            _ends_about_axis("vertical", vertical, limit_deg=up_deg),
            _ends_about_axis("horizontal", horizontal, limit_deg=aside_deg),
        ]
    return [problem for problem in found if problem is not None]


def _ends_about_axis(key: str, angles: tuple[float, ...], *, limit_deg: float) -> Problem | None:
    fits = -limit_deg <= angles[0] <= 0.0 < angles[-1] <= limit_deg
    allowed = f"from 0, or from -{limit_deg:g} or above, up to at most {limit_deg:g}"
    return _ends(key, angles, allowed=allowed, fits=fits)


def _ends(key: str, angles: tuple[float, ...], *, allowed: str, fits: bool) -> Problem | None:
    if fits:
        return None
    given = f"from {angles[0]:g} to {angles[-1]:g}"
    return Problem(key=key, given=given, allowed=allowed, advice="check the angles")


def _cones_fit(vertical: tuple[float, ...]) -> bool:
    return vertical[0] in (0.0, 90.0) and vertical[0] < vertical[-1] <= _HALF_TURN_DEG


def _planes_fit(horizontal: tuple[float, ...]) -> bool:
    ends = horizontal[0], horizontal[-1]
    return ends in ((0.0, 0.0), (0.0, 90.0), (0.0, 180.0), (90.0, 270.0), (0.0, 360.0))


def _shape_problems(luminaire: Luminaire) -> list[Problem]:
    """Return what is wrong with the number of intensities."""
    rows, each = len(luminaire.horizontal_deg), len(luminaire.vertical_deg)
    found = len(luminaire.candela)
    if found != rows:
        given = _rows(found)
        allowed = f"{_rows(rows)}, one for each horizontal angle"
    else:
        wrong = [number for number, row in enumerate(luminaire.candela, 1) if len(row) != each]
        if not wrong:
            return []
        given = f"{len(luminaire.candela[wrong[0] - 1])} intensities in row {wrong[0]}"
        allowed = f"{each} intensities in each row, one for each vertical angle"
    advice = "check that no number is missing"
    return [Problem(key="candela", given=given, allowed=allowed, advice=advice)]


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"
