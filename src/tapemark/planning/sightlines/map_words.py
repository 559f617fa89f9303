"""What a sightline map says in a few words: open heights, what stops the light, the move."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.planning.moves.words import amount_text
from tapemark.planning.reach import UNDER_CEILING_M
from tapemark.planning.sightlines.map_sheet import HARD, SOFT, MapSheet, Reason
from tapemark.planning.sightlines.sightline_map import MapPlace, SightlineMap
from tapemark.studio import Setup
from tapemark.units import (
    MARK_STEP_M,
    UnitSystem,
    dialled_power,
    format_mark,
    format_side,
    marked_m,
)

TOLD_SIDES_DEG = (75.0, 60.0, 45.0, 30.0, 15.0, 0.0, -15.0, -30.0, -45.0, -60.0, -75.0)
BEHIND_SIDES_DEG = tuple(
    sign * side
    for sign, sides in ((1.0, (105, 120, 135, 150, 165, 180)), (-1.0, (165, 150, 135, 120, 105)))
    for side in sides
)
#: What is out of reach at some sides only; the rest is so all around.
_ASIDE: tuple[Reason, ...] = ("wall", "person", "frame", "blocked")
_Stretches = tuple[tuple[float, float], ...]
LEAST_STRETCH_M = 0.05  # an open stretch shorter than this is not told
_MOST_DOUBT = 4.0  # natural log of the excess beyond which it is only "far"
REASON_WORDS: dict[Reason, str] = {
    "ceiling": "in the ceiling",
    "floor": "on the floor",
    "wall": "in the wall",
    "person": "inside somebody",
    "stand": "above the stand's reach",
    "power": "more than full power",
    "frame": "in the picture",
    "blocked": "behind something that stands before it",
    "catchlight": "no catchlight in one eye",
    "brow shadow": "brow or nose shades an eye",
    "rim shadow": "the frame's rim shades an eye",
}
BEYOND_WORDS: dict[Reason, str] = {**REASON_WORDS, "wall": "beyond the wall"}


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenHeights:
    """Open stretches of heights to one side, within what the light can reach there.

    Attributes
    ----------
    side_deg : float
        The side, camera-left positive. [deg]
    stretches : tuple of (low, high)
        Heights of the middle of the lit face, lowest first. [m]
    lowest_m, highest_m : float
        Between what it can be, as far as ceiling, floor and stand go. [m]
    beyond : str
        Why it can be at no height there: ``wall``, ``frame``, ...; else empty.
    losses : tuple of (reason, stretches)
        What is lost in open places, and at which heights.
    """

    side_deg: float
    stretches: _Stretches
    lowest_m: float
    highest_m: float
    beyond: Reason | Literal[""] = ""
    losses: tuple[tuple[Reason, _Stretches], ...] = ()


def open_heights(
    sheet: MapSheet, sides_deg: tuple[float, ...] | None = None
) -> tuple[OpenHeights, ...]:
    """Return at which heights a sheet is open, between its rows by interpolation.

    Parameters
    ----------
    sheet : MapSheet
        Side by height.
    sides_deg : tuple of float, optional
        Which sides; those that are not on the sheet are left out. [deg]
    """
    rows, found = sheet.rows, []
    within = _ends_m(sheet)
    if within is None:
        return ()
    if sides_deg is None:
        sides_deg = BEHIND_SIDES_DEG if sheet.behind else TOLD_SIDES_DEG
    for side in sides_deg:
        turn = (side - rows.side_deg + 180.0) % 360.0 - 180.0
        column = int(np.argmin(np.abs(turn)))
        if abs(turn[column]) <= 0.75 * (rows.side_deg[1] - rows.side_deg[0]):
            found.append(_open_at(sheet, column, side_deg=side, within=within))
    return tuple(found)


def _open_at(
    sheet: MapSheet, column: int, *, side_deg: float, within: tuple[float, float]
) -> OpenHeights:
    """Return the open heights at one side of a sheet."""
    height_m = sheet.rows.height_m
    aside = np.any([sheet.where(one)[:, column] for one in _ASIDE], axis=0)
    excess = np.maximum(sheet.excess[:, column], 1e-9)
    doubt = np.where(aside, _MOST_DOUBT, np.clip(np.log(excess), -_MOST_DOUBT, _MOST_DOUBT))
    stretches = _clipped(_below_zero(height_m, doubt), within)
    reached = ~_never(sheet)
    clear = reached & ~sheet.closed[:, column]
    kept_away = aside[clear if clear.any() else reached].all()
    return OpenHeights(
        side_deg=side_deg,
        stretches=stretches,
        lowest_m=within[0],
        highest_m=within[1],
        beyond=_mostly(sheet, column, clear if clear.any() else reached) if kept_away else "",
        losses=tuple(_losses(sheet, column, stretches)),
    )


def _losses(
    sheet: MapSheet, column: int, stretches: _Stretches
) -> Iterator[tuple[Reason, _Stretches]]:
    """Yield what is lost within open stretches of one side and where, each place once."""
    height_m, free = sheet.rows.height_m, np.flatnonzero(sheet.free[:, column])
    if not len(free):
        return
    nearest = free[np.abs(np.arange(len(height_m))[:, None] - free).argmin(axis=1)]
    told = np.zeros(len(height_m), dtype=bool)
    for reason in SOFT:
        lost = sheet.where(reason)[nearest, column] & ~told
        told |= lost
        runs = _below_zero(height_m, np.where(lost, -1.0, 1.0))
        if where := tuple(part for one in stretches for part in _clipped(runs, one)):
            yield reason, where


def _mostly(sheet: MapSheet, column: int, rows: np.ndarray) -> Reason:
    """Return what keeps the light away from most of some rows of a side."""
    return max(_ASIDE, key=lambda one: int(sheet.where(one)[rows, column].sum()))


def _clipped(stretches: list[tuple[float, float]], within: tuple[float, float]) -> _Stretches:
    """Return the stretches within what is in reach, the very short ones left out."""
    low, high = within
    return tuple(
        (max(start, low), min(end, high))
        for start, end in stretches
        if min(end, high) - max(start, low) > LEAST_STRETCH_M
    )


def heights_text(one: OpenHeights, setup: Setup) -> str:
    """Return the open heights to one side: ``open above 1.78 m``, ``beyond the wall``."""
    if one.beyond:
        return BEYOND_WORDS[one.beyond]
    if not one.stretches:
        return "closed at every height in reach"
    where = _where_text(one.stretches, one, system=setup.units)
    losses = [
        REASON_WORDS[reason]
        if stretches == one.stretches
        else f"{REASON_WORDS[reason]} {_where_text(stretches, one, system=setup.units)}"
        for reason, stretches in one.losses
    ]
    return f"open {where}" + (f", but {'; '.join(losses)}" if losses else "")


def _where_text(stretches: _Stretches, one: OpenHeights, *, system: UnitSystem) -> str:
    """Return stretches of heights, their ends told a little inside them."""
    words = []
    for low, high in stretches:
        bottom = format_mark(marked_m(low, system=system, way="up"), system=system)
        top = format_mark(marked_m(high, system=system, way="down"), system=system)
        from_floor, to_top = low <= one.lowest_m, high >= one.highest_m
        if from_floor and to_top:
            return "at every height in reach"
        if to_top:
            words.append(f"above {bottom}")
        else:
            words.append(f"below {top}" if from_floor else f"{bottom} to {top}")
    return " and ".join(words)


def move_text(found: SightlineMap) -> str:
    """Return the way from where the light is to the best place, in words."""
    best, now, setup = found.best, found.now, found.setup
    name = found.light.name
    if best is None:
        return f"No open place for {name} within reach on this map."
    if best == now:
        return f"Leave {name} where it is: open."
    parts = []
    system = setup.units
    for size, up, down in (
        (best.height_m - now.height_m, "raise", "lower"),
        (best.distance_m - now.distance_m, "move back", "bring in"),
    ):
        if abs(size) >= MARK_STEP_M[system] / 2:
            by = amount_text(abs(size), unit="m", system=system)
            parts.append(f"{up if size > 0 else down} {by}")
    turn = (best.side_deg - now.side_deg + 180.0) % 360.0 - 180.0
    if abs(turn) >= 0.5:
        parts.append(
            f"swing {abs(turn):.0f}\N{DEGREE SIGN} to camera-{'left' if turn > 0 else 'right'}"
        )
    steps = found.light.head.power_step_stops
    after = dialled_power(best.power_stops, step_stops=steps)
    power = "" if after == dialled_power(now.power_stops, step_stops=steps) else f"; power {after}"
    bad = f"{name}, least bad, for an eye loses its only catchlight" if found.least_bad else name
    return f"{bad}: {', '.join(parts)}{power}"


def place_text(place: MapPlace, setup: Setup) -> str:
    """Return a place: ``29° camera-left, 1.92 m high, 1.50 m out``."""
    high, out = (format_mark(one, system=setup.units) for one in (place.height_m, place.distance_m))
    return f"{format_side(place.side_deg)}, {high} high, {out} out"


def state_text(place: MapPlace) -> str:
    """Return what a place is: ``open``, or ``closed: over the eye``, and what speaks against it."""
    of = f" of {place.whose}" if place.whose else ""
    share = f"{100 * place.lens_cover:.0f} % of a lens"
    words = {
        "clear": "open",
        "edge": f"closed, on the lens{of} beside the eye ({share})",
        "veiled": f"closed, over the eye{of} ({100 * place.veil:.1f} % of it)",
    }
    against = "; ".join(REASON_WORDS[one] for one in place.against)
    return words[place.verdict] + (f"; {against}" if against else "")


def reach_text(sheet: MapSheet, setup: Setup) -> str:
    """Return between which heights the light can be, and what stops it there."""
    within, ends = _ends_m(sheet), np.flatnonzero(~_never(sheet))
    if within is None:
        return "no height on this map is within reach"
    words = []
    system = setup.units
    marks = (
        marked_m(within[0], system=system, way="up"),
        marked_m(within[1], system=system, way="down"),
    )
    for mark, beyond in zip(marks, (ends[0] - 1, ends[-1] + 1), strict=True):
        told = format_mark(mark, system=system)
        inside = 0 <= beyond < len(sheet.rows.height_m)
        why = [one for one in HARD if inside and sheet.where(one)[beyond].all()]
        words.append(told + (f" ({_STOPS[why[0]]})" if why else ""))
    return f"{words[0]} to {words[1]}"


def air_text(sheet: MapSheet, setup: Setup) -> str:
    """Return how much air is kept under the ceiling where that ends the reach; else nothing."""
    if not sheet.limits.ceiling.any():
        return ""
    air = amount_text(UNDER_CEILING_M, unit="m", system=setup.units)
    return f"{air} of air are kept between the ceiling and the highest corner of light and head."


def _ends_m(sheet: MapSheet) -> tuple[float, float] | None:
    """Return the lowest and the highest height in reach, to where ceiling or floor stop it [m]."""
    ends, height, left = np.flatnonzero(~_never(sheet)), sheet.rows.height_m, sheet.limits.room_m
    if not len(ends):
        return None
    found = []
    for edge, beyond in ((ends[0], ends[0] - 1), (ends[-1], ends[-1] + 1)):
        end = float(height[edge])
        if 0 <= beyond < len(height) and left[beyond] < 0.0 <= left[edge]:
            share = left[edge] / (left[edge] - left[beyond])
            end += float(share * (height[beyond] - height[edge]))
        found.append(end)
    return found[0], found[1]


_STOPS: dict[Reason, str] = {
    "ceiling": "ceiling",
    "stand": "stand",
    "floor": "floor",
    "power": "full power",
    "wall": "the wall",
    "frame": "the picture",
    "person": "the sitter",
    "blocked": "what stands before it",
}


def _never(sheet: MapSheet) -> np.ndarray:
    """Return the rows that are out of reach to all sides."""
    return np.asarray(sheet.limits.any().all(axis=1))


def _below_zero(at: np.ndarray, values: np.ndarray) -> list[tuple[float, float]]:
    """Return the stretches of `at` along which values, interpolated, are below 0."""
    crossing = np.flatnonzero((values[:-1] < 0) != (values[1:] < 0))
    share = values[crossing] / (values[crossing] - values[crossing + 1])
    ends = [float(one) for one in at[crossing] + share * (at[crossing + 1] - at[crossing])]
    if values[0] < 0:
        ends.insert(0, float(at[0]))
    if values[-1] < 0:
        ends.append(float(at[-1]))
    return list(zip(ends[::2], ends[1::2], strict=True))
