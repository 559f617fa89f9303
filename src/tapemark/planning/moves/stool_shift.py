"""A setup told anew after somebody's mark has moved.

Everything is counted from the sitter's mark.  When it is the sitter who moves, the places of all
else change in the file while they stay in the room; the backdrop is told as hanging behind the
sitter still, for a file knows no other.
"""

from collections.abc import Iterable
from math import atan2, cos, degrees, hypot, radians, sin
from typing import TypeVar

from tapemark.studio import Camera, Light, Panel, Place, Screen, Setup, Spot, changed
from tapemark.units import UnitSystem, fine_m

#: An aim this near to the sitter's mark means the sitter and goes along. [m]
AIMED_AT_SITTER_M = 0.6
_MILLIDEGREE = 3

_Spot = TypeVar("_Spot", Place, Spot)
_Aimed = TypeVar("_Aimed", Light, Panel, Screen, Camera)


def shifted_person(setup: Setup, *, index: int, across_m: float, forward_m: float) -> Setup:
    """Return a setup after one person has moved, heights and turns as they were.

    Parameters
    ----------
    setup : Setup
        As it is.
    index : int
        Who moves: 0 is the sitter, then the companions.
    across_m, forward_m : float
        How far to camera-left, and towards the camera mark. [m]

    Raises
    ------
    SetupError
        If they, or what then lies elsewhere, cannot be there.
    """
    system = setup.units
    if index > 0:
        companions = list(setup.companions)
        one = companions[index - 1]
        companions[index - 1] = changed(
            one,
            {
                "across_m": fine_m(one.across_m + across_m, system=system),
                "back_m": fine_m(one.back_m - forward_m, system=system),
            },
        )
        return changed(setup, {"companions": tuple(companions)})
    return changed(setup, dict(_seen_from_new_mark(setup, across_m, forward_m)))


def _seen_from_new_mark(setup: Setup, dx: float, dy: float) -> Iterable[tuple[str, object]]:
    """Yield the parts of a setup, counted from a mark that lies elsewhere."""
    room, system = setup.room, setup.units
    yield (
        "room",
        changed(
            room,
            {
                "behind_sitter_m": fine_m(room.behind_sitter_m + dy, system=system),
                "camera_left_m": fine_m(room.camera_left_m - dx, system=system),
            },
        ),
    )
    yield "camera", _told(setup.camera, dx, dy, system)
    yield "lights", tuple(_light(one, dx, dy, system) for one in setup.lights)
    yield "panels", tuple(_told(one, dx, dy, system) for one in setup.panels)
    yield "screens", tuple(_told(one, dx, dy, system) for one in setup.screens)
    if setup.backdrop is not None:
        distance = fine_m(setup.backdrop.distance_m + dy, system=system)
        yield "backdrop", changed(setup.backdrop, {"distance_m": distance})
    yield (
        "windows",
        tuple(
            changed(
                one,
                {
                    "along_m": fine_m(
                        one.along_m - (dy if "camera-" in one.wall else dx), system=system
                    )
                },
            )
            for one in setup.windows
        ),
    )
    yield (
        "companions",
        tuple(
            changed(
                one,
                {
                    "across_m": fine_m(one.across_m - dx, system=system),
                    "back_m": fine_m(one.back_m + dy, system=system),
                },
            )
            for one in setup.companions
        ),
    )
    yield (
        "circuits",
        tuple(
            one
            if one.outlet is None
            else changed(one, {"outlet": _spot(one.outlet, dx, dy, system)})
            for one in setup.circuits
        ),
    )
    yield (
        "walkways",
        tuple(
            changed(
                one,
                {"start": _spot(one.start, dx, dy, system), "end": _spot(one.end, dx, dy, system)},
            )
            for one in setup.walkways
        ),
    )


def _light(light: Light, dx: float, dy: float, system: UnitSystem) -> Light:
    told = _told(light, dx, dy, system)
    if told.stand is None or told.stand.base is None:
        return told
    return changed(
        told, {"stand": changed(told.stand, {"base": _spot(told.stand.base, dx, dy, system)})}
    )


def _told(thing: _Aimed, dx: float, dy: float, system: UnitSystem) -> _Aimed:
    """Return a thing on a stand with its place, and an aim that is not the sitter, told anew."""
    new: dict[str, object] = {"place": _spot(thing.place, dx, dy, system)}
    if isinstance(thing.aim, Place) and thing.aim.distance_m > AIMED_AT_SITTER_M:
        new["aim"] = _spot(thing.aim, dx, dy, system)
    return changed(thing, new)


def _spot(spot: _Spot, dx: float, dy: float, system: UnitSystem) -> _Spot:
    side = radians(spot.side_deg)
    x, y = spot.distance_m * sin(side) - dx, spot.distance_m * cos(side) - dy
    return changed(
        spot,
        {
            "distance_m": fine_m(hypot(x, y), system=system),
            "side_deg": round(degrees(atan2(x, y)), _MILLIDEGREE) + 0.0,
        },
    )
