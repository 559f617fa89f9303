"""What a sightline map says in a few words: open heights, what stops the light, the move."""

from dataclasses import dataclass

import numpy as np

from tapemark.planning.map_sheet import HARD, MapSheet, Reason
from tapemark.planning.move_words import amount_text
from tapemark.planning.sightline_map import MapPlace, SightlineMap
from tapemark.studio import Setup
from tapemark.units import INCH, dialled_power, format_length, format_side

TOLD_SIDES_DEG = (75.0, 60.0, 45.0, 30.0, 15.0, 0.0, -15.0, -30.0, -45.0, -60.0, -75.0)
LEAST_STRETCH_M = 0.05  # an open stretch shorter than this is not told
LEAST_MOVE_M = {"metric": 0.01, "us": INCH}
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


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenHeights:
    """Open stretches of heights to one side, within what the light can reach.

    Attributes
    ----------
    side_deg : float
        The side, camera-left positive. [deg]
    stretches : tuple of (low, high)
        Heights of the middle of the lit face, lowest first. [m]
    lowest_m, highest_m : float
        What it can reach there. [m]
    """

    side_deg: float
    stretches: tuple[tuple[float, float], ...]
    lowest_m: float
    highest_m: float


def open_heights(
    sheet: MapSheet, sides_deg: tuple[float, ...] = TOLD_SIDES_DEG
) -> tuple[OpenHeights, ...]:
    """Return at which heights a sheet is open, between its rows by interpolation.

    Parameters
    ----------
    sheet : MapSheet
        Side by height.
    sides_deg : tuple of float
        Which sides; those that are not on the sheet are left out. [deg]
    """
    rows, found = sheet.rows, []
    within = np.flatnonzero(~_never(sheet))
    if not len(within):
        return ()
    low, high = float(rows.height_m[within[0]]), float(rows.height_m[within[-1]])
    doubt = np.clip(np.log(np.maximum(sheet.excess, 1e-9)), -_MOST_DOUBT, _MOST_DOUBT)
    for side in sides_deg:
        turn = (side - rows.side_deg + 180.0) % 360.0 - 180.0
        column = int(np.argmin(np.abs(turn)))
        if abs(turn[column]) > 0.75 * (rows.side_deg[1] - rows.side_deg[0]):
            continue
        stretches = tuple(
            (max(start, low), min(end, high))
            for start, end in _below_zero(rows.height_m, doubt[:, column])
            if min(end, high) - max(start, low) > LEAST_STRETCH_M
        )
        found.append(OpenHeights(side_deg=side, stretches=stretches, lowest_m=low, highest_m=high))
    return tuple(found)


def heights_text(one: OpenHeights, setup: Setup) -> str:
    """Return the open heights to one side: ``above 1.78 m``, ``closed``."""
    if not one.stretches:
        return "closed at every height in reach"

    def told(height_m: float) -> str:
        return format_length(height_m, system=setup.units)

    words = []
    for low, high in one.stretches:
        from_floor, to_top = low <= one.lowest_m, high >= one.highest_m
        if from_floor and to_top:
            return "open at every height in reach"
        if to_top:
            words.append(f"above {told(low)}")
        elif from_floor:
            words.append(f"below {told(high)}")
        else:
            words.append(f"{told(low)} to {told(high)}")
    return f"open {' and '.join(words)}"


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
        if abs(size) >= LEAST_MOVE_M[system] / 2:
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
    return f"{name}: {', '.join(parts)}{power}"


def place_text(place: MapPlace, setup: Setup) -> str:
    """Return a place: ``29° camera-left, 1.92 m high, 1.50 m out``."""
    high, out = (
        format_length(one, system=setup.units) for one in (place.height_m, place.distance_m)
    )
    return f"{format_side(place.side_deg)}, {high} high, {out} out"


def state_text(place: MapPlace) -> str:
    """Return what a place is: ``open``, or ``closed: over the eye``, and what speaks against it."""
    words = {
        "clear": "open",
        "edge": f"closed, on the lens beside the eye ({100 * place.lens_cover:.0f} % of a lens)",
        "veiled": f"closed, over the eye ({100 * place.veil:.1f} % of it)",
    }
    against = "; ".join(REASON_WORDS[one] for one in place.against)
    return words[place.verdict] + (f"; {against}" if against else "")


def reach_text(sheet: MapSheet, setup: Setup) -> str:
    """Return between which heights the light can be, and what stops it there."""
    within = np.flatnonzero(~_never(sheet))
    if not len(within):
        return "no height on this map is within reach"
    low, high = within[0], within[-1]
    words = []
    for edge, beyond in ((low, low - 1), (high, high + 1)):
        told = format_length(float(sheet.rows.height_m[edge]), system=setup.units)
        inside = 0 <= beyond < len(sheet.rows.height_m)
        why = [one for one in HARD if inside and sheet.where(one)[beyond].all()]
        words.append(told + (f" ({_STOPS[why[0]]})" if why else ""))
    return f"{words[0]} to {words[1]}"


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
