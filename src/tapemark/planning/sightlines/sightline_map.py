"""Where may one light stand? Open and closed places over side and height, and over the floor.

The rays that leave the lenses towards the lights do not change with the light.  They are traced
once and met with the light at every place together; see `place_cover`.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import (
    CoverMap,
    Emitter,
    LensGlare,
    Verdict,
    build_scenes,
    catchlights,
    cover_map,
    face_light,
    lens_glare,
    light_face,
    worst_verdict,
)
from tapemark.anatomy import SIDES
from tapemark.geometry import FloatArray
from tapemark.planning.sightlines.map_building import map_sheets
from tapemark.planning.sightlines.map_sheet import MapSheet, Reason
from tapemark.planning.sightlines.mapped_light import MappedLight, mapped_light
from tapemark.studio import Light, Place, Setup, changed, with_light
from tapemark.units import UnitSystem, marked_m

STEPS_TO_LIMIT = 1  # places kept between the best place and a closed one
PATTERN_COST_M = 1.0  # of moving the light that a kept pattern is worth
LOOKED_AT = 5  # places that are looked at exactly before giving up


@dataclass(frozen=True, kw_only=True, slots=True)
class MapPlace:
    """One place of the light.

    Attributes
    ----------
    distance_m, side_deg, height_m : float
        As a photographer says it.
    power_stops : float
        Power that keeps its brightness at the face. [stops]
    verdict : str
        The worst of all lenses for this light alone, looked at as closely as a check does.
    veil, lens_cover : float
        The largest of all lenses, 0 to 1.
    pattern : str
        Of the sitter's face; empty where another light models it.
    against : tuple of str
        What else speaks against it.
    whose : str
        In a group, whose lens is the worst where one is not clear; else empty.
    """

    distance_m: float
    side_deg: float
    height_m: float
    power_stops: float
    verdict: Verdict
    veil: float
    lens_cover: float
    pattern: str
    against: tuple[Reason, ...]
    whose: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class SightlineMap:
    """Open and closed places of one light.

    Attributes
    ----------
    setup : Setup
        As it is.
    light : Light
        The light, aimed at the face.
    emitters : tuple of Emitter
        Everything else that sends light.
    people : tuple of str
        Whose lenses count, in the order of the sheets.
    heights : MapSheet
        Side by height, at its distance.
    floor : MapSheet
        Side by distance, at its height.
    now : MapPlace
        Where it is.
    best : MapPlace or None
        The best open place nearest to that; None where there is none.
    least_bad : bool
        Whether that would leave an eye of somebody without any catchlight.
    """

    setup: Setup
    light: Light
    emitters: tuple[Emitter, ...]
    people: tuple[str, ...]
    heights: MapSheet
    floor: MapSheet
    now: MapPlace
    best: MapPlace | None
    least_bad: bool = False

    def moved(self, place: MapPlace) -> Setup:
        """Return the setup with the light at a place, aimed and with its power corrected."""
        return moved_light(self.setup, self.light, place)


def sightline_map(setup: Setup, light_name: str) -> SightlineMap:
    """Return where a light may stand.

    Parameters
    ----------
    setup : Setup
        Everything else stays as it is.
    light_name : str
        Which light.

    Raises
    ------
    SetupError
        There is no such light, it is off, or it is not aimed at the sitter.
    """
    mapped = mapped_light(setup, light_name)
    heights, floor = map_sheets(mapped)
    now = exact_place(mapped, heights, mapped.light.place)
    best = _best(mapped, heights, now) or _best(mapped, floor, now)
    return SightlineMap(
        setup=setup,
        light=mapped.light,
        emitters=mapped.people[0].scene.emitters,
        people=tuple(one.scene.sitter.name for one in mapped.people),
        heights=heights,
        floor=floor,
        now=now,
        best=best,
        least_bad=best is not None and _leaves_an_eye_dark(mapped, best),
    )


def moved_light(setup: Setup, light: Light, place: MapPlace) -> Setup:
    """Return a setup with a light at a place, aimed at the face and with its power corrected."""
    there = Place(distance_m=place.distance_m, side_deg=place.side_deg, height_m=place.height_m)
    power = min(place.power_stops, 0.0)
    return with_light(setup, changed(light, {"place": there, "power_stops": power}))


def _leaves_an_eye_dark(mapped: MappedLight, place: MapPlace) -> bool:
    """Return whether an eye of somebody has no catchlight at all with the light at a place."""
    if "catchlight" not in place.against:
        return False
    for scene in build_scenes(moved_light(mapped.setup, mapped.light, place)):
        seen = catchlights(scene, light=face_light(scene))
        if len({one.side for one in seen if one.visible}) < len(SIDES):
            return True
    return False


def exact_place(mapped: MappedLight, sheet: MapSheet, place: Place) -> MapPlace:
    """Return a place with its lenses looked at as closely as a check does, this light alone."""
    row, side = sheet.nearest(
        side_deg=place.side_deg, distance_m=place.distance_m, height_m=place.height_m
    )
    each = _lenses_at(mapped, place)
    lenses = [lens for _, lens in each]
    unclear = [one for one in each if one[1].verdict != "clear"]
    worst = max(unclear, key=lambda one: (one[1].veil, one[1].lens_cover), default=None)
    return MapPlace(
        distance_m=place.distance_m,
        side_deg=place.side_deg,
        height_m=place.height_m,
        power_stops=float(mapped.power_stops(_length_m(mapped, place))[0]),
        verdict=worst_verdict(tuple(one.verdict for one in lenses)),
        veil=max((one.veil for one in lenses), default=0.0),
        lens_cover=max((one.lens_cover for one in lenses), default=0.0),
        pattern=sheet.pattern_at(row, side),
        against=sheet.reasons(row, side),
        whose=worst[0] if worst is not None and len(mapped.people) > 1 else "",
    )


def _length_m(mapped: MappedLight, place: Place) -> FloatArray:
    """Return how far a place is from the face, (1,) [m]."""
    up_m = place.height_m - mapped.setup.sitter.eye_height_m
    return np.array([np.hypot(place.distance_m, up_m)])


def _lenses_at(mapped: MappedLight, place: Place) -> list[tuple[str, LensGlare]]:
    """Return what all lenses show of the light alone at a place, each with whose it is."""
    brightness = float(mapped.brightness(_length_m(mapped, place))[0])
    there = changed(mapped.light, {"place": place})
    own = replace(mapped.emitter, face=light_face(there, mapped.setup), brightness=brightness)
    found: list[tuple[str, LensGlare]] = []
    for person in mapped.people:
        if person.view is None:
            continue
        scene = replace(person.scene, emitters=(own, *person.scene.emitters))
        cover = cover_map(scene, person.view, light=face_light(scene, steady=person.steady))
        alone = CoverMap(
            shares={own.name: cover.shares[own.name]} if own.name in cover.shares else {},
            eye_shares={own.name: cover.eye_shares[own.name]} if own.name in cover.shares else {},
            stops=cover.stops,
        )
        name = person.scene.sitter.name.partition(",")[0]
        found += [(name, one) for one in lens_glare(person.view, alone)]
    return found


def _best(mapped: MappedLight, sheet: MapSheet, now: MapPlace) -> MapPlace | None:
    """Return the place of a sheet that asks for the least move, or None.

    A place counts whose neighbours are open too. One that keeps the pattern may be farther off
    by `PATTERN_COST_M`. Where no place is good in everything, one will do that is open and
    within reach; the lenses are then looked at exactly.
    """
    if now.verdict == "clear" and not now.against:
        return now
    rows = sheet.rows
    turn = np.deg2rad((rows.side_deg - now.side_deg + 180.0) % 360.0 - 180.0)
    across = np.minimum(rows.distance_m, now.distance_m)[:, None] * np.abs(turn)
    along = np.hypot(rows.distance_m - now.distance_m, rows.height_m - now.height_m)
    cost = across + along[:, None]
    kept = sheet.pattern == sheet.pattern[sheet.nearest(**_as_place(now))]
    cost = cost + PATTERN_COST_M * ~kept
    open_around = ~_spread(sheet.closed | sheet.limits.frame, STEPS_TO_LIMIT)
    for wanted in (sheet.good, sheet.free):
        left = np.where(wanted & open_around, cost, np.inf)
        for _ in range(LOOKED_AT):
            row, side = np.unravel_index(int(np.argmin(left)), left.shape)
            if not np.isfinite(left[row, side]):
                break
            there = _place_at(sheet, int(row), int(side), now=now, system=mapped.setup.units)
            found = exact_place(mapped, sheet, there)
            if found.verdict == "clear":
                return found
            left[max(row - 1, 0) : row + 2, max(side - 1, 0) : side + 2] = np.inf
    return None


def _as_place(place: MapPlace) -> dict[str, float]:
    return {
        "side_deg": place.side_deg,
        "distance_m": place.distance_m,
        "height_m": place.height_m,
    }


def _place_at(sheet: MapSheet, row: int, side: int, *, now: MapPlace, system: UnitSystem) -> Place:
    """Return a place of a sheet as it can be told: the nearest mark, or what the light has now."""
    rows = sheet.rows
    turned = (float(rows.side_deg[side]) + 180.0) % 360.0 - 180.0
    aside = (turned - now.side_deg + 180.0) % 360.0 - 180.0
    return Place(
        distance_m=_told(rows.distance_m, row, sheet, now=now.distance_m, system=system),
        side_deg=now.side_deg if abs(aside) <= np.rad2deg(rows.step_rad) / 2 else turned,
        height_m=_told(rows.height_m, row, sheet, now=now.height_m, system=system),
    )


def _told(along: FloatArray, row: int, sheet: MapSheet, *, now: float, system: UnitSystem) -> float:
    """Return the distance or height of a row to the mark of a tape that is within reach. [m]"""
    value, step = float(along[row]), float(along[1] - along[0])
    if abs(value - now) <= step / 2:
        return now
    near = marked_m(value, system=system)
    if step > 0.0 and np.interp(near, along, sheet.limits.room_m) < 0.0:
        return marked_m(value, system=system, way="down" if near > value else "up")
    return near


def _spread(mask: np.ndarray, steps: int) -> np.ndarray:
    """Return a mask grown by so many places on all sides."""
    grown = mask.copy()
    for _ in range(steps):
        wider = grown.copy()
        wider[1:] |= grown[:-1]
        wider[:-1] |= grown[1:]
        wider[:, 1:] |= grown[:, :-1]
        wider[:, :-1] |= grown[:, 1:]
        grown = wider
    return grown
