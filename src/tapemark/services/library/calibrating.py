"""A head calibrated by the photographer's own meter reading, and what that reading tells."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tapemark.analysis.head_output import head_output
from tapemark.studio import (
    Camera,
    HeadGear,
    Light,
    Modifier,
    Part,
    Place,
    changed,
    part_from_mapping,
    part_to_mapping,
)

__all__ = ["Calibration", "calibrated", "calibration_of"]

_SAME_STOPS = 0.05
_CAMERA = Camera(place=Place(distance_m=2.0, height_m=1.2), focal_length_mm=85.0)
_PLACE = Place(distance_m=1.5, height_m=1.6)


@dataclass(frozen=True, kw_only=True, slots=True)
class Calibration:
    """What a meter reading tells of a head.

    Parameters
    ----------
    over_stops : float, optional
        How much more light the head gives than was to be expected; None where nothing but the
        reading is known of it. [stops]
    text : str
        The same in words.
    """

    over_stops: float | None
    text: str


def calibrated(body: Mapping[str, object], reading: Mapping[str, object]) -> dict[str, Any]:
    """Return a head as it is kept, with a meter reading of it.

    Parameters
    ----------
    body : mapping
        A piece of gear that is a head.
    reading : mapping
        Of the shape of a ``meter`` table: aperture or illuminance, distance, power, and the
        modifier that was on the head.

    Raises
    ------
    SetupError
        The gear is no head, or the reading is not valid.
    """
    thing = part_from_mapping("gear", {**body, "meter": dict(reading)})
    return part_to_mapping(thing)


def calibration_of(body: Mapping[str, object]) -> Calibration | None:
    """Return what the meter reading of a kept head tells; None where it has none.

    Notes
    -----
    Expected is what energy, guide number or stated light of the head give through the modifier
    that was on it when it was metered.
    """
    gear = _head_of(part_from_mapping("gear", body))
    if gear is None or gear.meter is None or gear.meter.modifier is None:
        return None
    metered = _light(gear, gear.meter.modifier)
    if not gear.head.known:
        text = "Known by your reading alone."
        return Calibration(over_stops=None, text=text)
    read = head_output(metered, camera=_CAMERA)
    expected = head_output(changed(metered, {"meter": None}), camera=_CAMERA)
    over_stops = math.log2(read.brightness / expected.brightness)
    return Calibration(
        over_stops=over_stops, text=_in_words(over_stops, known_by=expected.known_by)
    )


def _head_of(part: Part) -> HeadGear | None:
    return part.thing if isinstance(part.thing, HeadGear) else None


def _light(gear: HeadGear, modifier: Modifier) -> Light:
    return Light(name="metered", head=gear.head, modifier=modifier, place=_PLACE, meter=gear.meter)


def _in_words(over_stops: float, *, known_by: str) -> str:
    what = known_by.removesuffix(" carried over")
    if abs(over_stops) < _SAME_STOPS:
        return f"Your reading agrees with its {what}."
    more = "more" if over_stops > 0 else "less"
    size = f"{abs(over_stops):.1f}"
    stops = "stop" if size == "1.0" else "stops"
    return f"Your reading says {size} {stops} {more} light than its {what} suggests; it counts."
