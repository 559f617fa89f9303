"""A sightline map as a layer: the floor on the plan, heights beside the light on the elevation.

Meant to lie over the ``ground`` of a drawing and under its things; in the same units.  Closed
places are hatched, those over an eye closely; places that leave an eye without its light are
dotted; what is out of reach is toned.  See `set_style` for the classes.
"""

from itertools import pairwise

import numpy as np

from tapemark.analysis import light_face
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.set_screen.elevation import SIDE
from tapemark.drawing.set_screen.plan import PLAN
from tapemark.drawing.set_screen.svg import SetSheet, convex, fewer, offset
from tapemark.drawing.set_screen.things import gear_of
from tapemark.drawing.trace import blurred
from tapemark.geometry import FloatArray
from tapemark.planning import MapPlace, MapSheet, SightlineMap
from tapemark.studio import Place, changed
from tapemark.units import format_mark

_FAR = 1.5  # natural log of the excess past which a place is simply far from the limit
_SMOOTH = 0.9  # of limits and masks, in places: what is drawn, not what is told
_COARSE_MM = 14.0
_LEAST_MM2 = 12_000.0  # islands smaller than this are left out
_BAR_MM = (70.0, 60.0)  # of heights: how far beside the light, and how broad
_WORDS_MM = 330.0  # from the best place towards the sitter
_PATTERNS = (
    "<pattern id='set-closed' width='70' height='70' patternUnits='userSpaceOnUse' "
    "patternTransform='rotate(45)'><path class='stroke' d='M0 35h70'/></pattern>"
    "<pattern id='set-veiled' width='34' height='34' patternUnits='userSpaceOnUse' "
    "patternTransform='rotate(45)'><path class='stroke' d='M0 17h34'/></pattern>"
    "<pattern id='set-lost' width='70' height='70' patternUnits='userSpaceOnUse' "
    "patternTransform='rotate(30)'><circle class='spot' cx='35' cy='35' r='9'/></pattern>"
)


def set_map_layers(found: SightlineMap) -> tuple[str, str]:
    """Return the layers of a sightline map for the plan and for the elevation."""
    return _plan_layer(found), _side_layer(found)


def _plan_layer(found: SightlineMap) -> str:
    """Draw open and closed places over the floor, and the best one."""
    rows = found.floor.rows
    page = PLAN(rows.positions)
    sheet = SetSheet()
    with sheet.group("map", **{"data-of": f"light.{found.light.name}"}):
        sheet.raw(_PATTERNS + _room_clip(found))
        with sheet.group("places", **{"clip-path": "url(#set-map-room)"}):
            for name, field in _fields(found.floor).items():
                sheet.area(_outlines(field, page), name)
            sheet.lines(_edges(_doubt(found.floor), page), "limit")
        if found.best is not None and found.best != found.now:
            _best(sheet, found, found.best, view=PLAN)
    return sheet.to_text()


def _room_clip(found: SightlineMap) -> str:
    """Return the clip that keeps the map within the walls."""
    room = found.setup.room
    left, top, right, bottom = (
        round(1000 * one) for one in (-room.x_max_m, room.y_min_m, -room.x_min_m, room.y_max_m)
    )
    data = f"M{left} {top}H{right}V{bottom}H{left}z"
    return f"<clipPath id='set-map-room'><path d='{data}'/></clipPath>"


def _side_layer(found: SightlineMap) -> str:
    """Draw a bar of open and closed heights beside the light, and the best place."""
    sheet, rows = SetSheet(), found.heights.rows
    side = found.heights.nearest(
        side_deg=found.now.side_deg, distance_m=found.now.distance_m, height_m=found.now.height_m
    )[1]
    at = SIDE(rows.positions[:, side])
    gear = gear_of(found.light, setup=found.setup)
    edge = max(float(SIDE(part.points)[:, 0].max()) for part in gear.parts)
    start, wide = edge + _BAR_MM[0], _BAR_MM[1]
    with sheet.group("map", **{"data-of": f"light.{found.light.name}"}):
        sheet.raw(_PATTERNS)
        for name, field in _fields(found.heights).items():
            for low, high in _stretches(field[:, side], at[:, 1]):
                sheet.area([_box(start, low, wide, high)], name)
        ends = _box(start, float(at[0, 1]), wide, float(at[-1, 1]))
        sheet.area([ends], "bar")
        if found.best is not None and found.best != found.now:
            _best(sheet, found, found.best, view=SIDE)
    return sheet.to_text()


def _fields(sheet: MapSheet) -> dict[str, FloatArray]:
    """Return fields over the places, above 0 where each kind of region is."""
    beyond = sheet.limits.any()
    lost = ~sheet.good & sheet.free
    return {
        "beyond": _soft(beyond),
        "lost": _soft(lost & ~sheet.closed & ~beyond),
        "closed": _doubt(sheet),
        "veiled": _soft(sheet.veiled),
    }


def _doubt(sheet: MapSheet) -> FloatArray:
    return blurred(np.clip(np.log(np.maximum(sheet.excess, 1e-9)), -_FAR, _FAR), _SMOOTH)


def _soft(mask: np.ndarray) -> FloatArray:
    """Return a field that is above 0 within a mask, smooth across its edge."""
    return blurred(mask.astype(float), _SMOOTH) - 0.5


def _outlines(field: FloatArray, page: FloatArray) -> list[FloatArray]:
    """Return closed outlines of where a field over the places is above 0."""
    from contourpy import FillType, contour_generator  # loaded only where used

    if not (field > 0).any():
        return []
    made = contour_generator(page[..., 0], page[..., 1], field, fill_type=FillType.OuterOffset)
    rings = [
        fewer(points[start:end], tolerance=_COARSE_MM)
        for points, offsets in zip(*made.filled(0.0, np.inf), strict=True)
        for start, end in pairwise(offsets)
    ]
    return [ring for ring in rings if _area(ring) > _LEAST_MM2]


def _edges(field: FloatArray, page: FloatArray) -> list[FloatArray]:
    """Return the lines along which a field over the places is 0."""
    from contourpy import LineType, contour_generator  # loaded only where used

    made = contour_generator(page[..., 0], page[..., 1], field, line_type=LineType.Separate)
    runs = [fewer(np.array(one), tolerance=_COARSE_MM) for one in made.lines(0.0)]
    return [run for run in runs if float(np.hypot(*np.diff(run, axis=0).T).sum()) > 200.0]


def _stretches(values: FloatArray, at: FloatArray) -> list[tuple[float, float]]:
    """Return from where to where along `at` values, interpolated, are above 0."""
    crossing = np.flatnonzero((values[:-1] > 0) != (values[1:] > 0))
    share = values[crossing] / (values[crossing] - values[crossing + 1])
    ends = [float(one) for one in at[crossing] + share * (at[crossing + 1] - at[crossing])]
    if values[0] > 0:
        ends.insert(0, float(at[0]))
    if values[-1] > 0:
        ends.append(float(at[-1]))
    return list(zip(ends[::2], ends[1::2], strict=True))


def _box(left: float, first: float, wide: float, last: float) -> FloatArray:
    return np.array([(left, first), (left + wide, first), (left + wide, last), (left, last)])


def _best(sheet: SetSheet, found: SightlineMap, best: MapPlace, *, view: ParallelView) -> None:
    """Draw the light's face at the best place, and a cross on its middle."""
    place = Place(distance_m=best.distance_m, side_deg=best.side_deg, height_m=best.height_m)
    there = changed(found.light, {"place": place})
    rim_m = light_face(there, found.setup).outline()
    at = view(np.array(place.position_m))
    now = view(np.array(found.light.place.position_m))
    with sheet.group("best-place"):
        sheet.line(np.stack([now, at]), "way")
        sheet.area([convex(view(rim_m))], "best")
        cross = [offset(at, -60.0, 0.0), offset(at, 60.0, 0.0)]
        sheet.lines([np.stack(cross), np.stack([offset(at, 0, -60), offset(at, 0, 60)])], "best")
        if view is SIDE:
            word = "least bad" if found.least_bad else "best"
            high = format_mark(best.height_m, system=found.setup.units)
            spot = np.array([float(view(rim_m)[:, 0].min()) - 60.0, float(at[1])])
            sheet.text(spot, f"{word}, {high}", "name", anchor="end", down=0.35)
            return
        size = max(float(np.hypot(*at)), 1.0)
        words = "least bad here" if found.least_bad else "best here"
        if best.height_m != found.now.height_m:
            words += ", higher" if best.height_m > found.now.height_m else ", lower"
        sheet.text(at * (1.0 - _WORDS_MM / size), words, "name", anchor="middle", down=0.35)


def _area(ring: FloatArray) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2
