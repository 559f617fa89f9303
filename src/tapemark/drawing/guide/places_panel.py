"""Open and closed places of a light, as one sees them from behind the camera: side by height."""

from itertools import pairwise

import numpy as np

from tapemark.drawing.guide.panel import Drag, Panel
from tapemark.drawing.set_screen.svg import SetSheet, fewer, offset
from tapemark.drawing.trace import blurred
from tapemark.geometry import FloatArray
from tapemark.planning import MapSheet
from tapemark.units import FOOT, UnitSystem

PER_DEG, PER_M = 10.0, 480.0  # units of the drawing
MOST_DEG = 75.0
_FAR, _SMOOTH = 1.5, 0.9
_LEAST = 900.0  # islands smaller than this are left out
_MARGIN = 72.0
_PATTERNS = (
    "<pattern id='closed' width='22' height='22' patternUnits='userSpaceOnUse' "
    "patternTransform='rotate(45)'><path class='stroke' d='M0 11h22'/></pattern>"
    "<pattern id='veiled' width='11' height='11' patternUnits='userSpaceOnUse' "
    "patternTransform='rotate(45)'><path class='stroke' d='M0 5.5h11'/></pattern>"
)
_FILLS = {"beyond": "", "closed": " fill='url(#closed)'", "veiled": " fill='url(#veiled)'"}


def places_panel(
    sheet: MapSheet,
    *,
    title: str,
    light: FloatArray,
    camera_m: float,
    ceiling_m: float,
    system: UnitSystem,
    state: str,
    drags: bool = True,
) -> Panel:
    """Return the places of a light.

    Parameters
    ----------
    sheet : MapSheet
        Side by height, at the light's distance.
    title : str
        What the panel shows.
    light : (n, 2) array
        Outline of the light's face: side [deg] and height [m].
    camera_m : float
        Height of the camera. [m]
    ceiling_m : float
        Height of the room. [m]
    system : "metric" or "us"
        Of the numbers.
    state : str
        What the lenses show of it where it is: ``over``, ``beside`` or ``past``.
    drags : bool
        Whether the light can be dragged.
    """
    rows = sheet.rows
    low, high = float(rows.height_m.min()), min(float(rows.height_m.max()), ceiling_m)
    kept = np.abs(rows.side_deg) <= MOST_DEG + 1.0
    side, up = np.meshgrid(rows.side_deg[kept], rows.height_m)
    page = _page(side, up)
    art = SetSheet()
    art.raw(_PATTERNS)
    box = _page(np.array([MOST_DEG, -MOST_DEG]), np.array([high, low]))
    frame = np.array([box[0], (box[1, 0], box[0, 1]), box[1], (box[0, 0], box[1, 1])])
    art.area([frame], "wall-ground")
    fields = {
        "beyond": blurred(sheet.limits.any()[:, kept].astype(float), _SMOOTH) - 0.5,
        "closed": _doubt(sheet)[:, kept],
        "veiled": blurred(sheet.veiled[:, kept].astype(float), _SMOOTH) - 0.5,
    }
    for name, field in fields.items():
        shape = SetSheet()
        shape.area(_outlines(field, page), name)
        art.raw(shape.to_text().replace(f"class='{name}'", f"class='{name}'{_FILLS[name]}"))
    art.area([frame], "wall-edge")
    _rules(art, low=low, high=high, system=system)
    camera = _page(np.array(0.0), np.array(camera_m))
    art.area([camera + np.array([(-26, -18), (26, -18), (26, 18), (-26, 18)])], "camera-body")
    art.circle(camera, 11.0, "camera-lens")
    with art.group(f"here {state}"):
        art.area([_page(light[:, 0], light[:, 1])], "lit")
        here = _page(*light.mean(axis=0))
        art.circle(here, 9.0, "dot")
    (left, top), (right, foot) = box
    moved = (
        Drag(knob="side", way="x", per_unit=-1.0 / PER_DEG),
        Drag(knob="height", way="y", per_unit=-1.0 / PER_M),
    )
    return Panel(
        kind="places",
        title=title,
        box=(left - 140.0, top - 16.0, right - left + 160.0, foot - top + 16.0 + _MARGIN),
        svg=art.to_text(),
        drags=moved if drags else (),
        grip=(float(here[0]), float(here[1])) if drags else None,
    )


def _page(side_deg: FloatArray, height_m: FloatArray) -> FloatArray:
    """Return where a place is drawn: camera-left on the left, as one sees it from the camera."""
    return np.stack([-PER_DEG * side_deg, -PER_M * height_m], axis=-1)


def _doubt(sheet: MapSheet) -> FloatArray:
    return blurred(np.clip(np.log(np.maximum(sheet.excess, 1e-9)), -_FAR, _FAR), _SMOOTH)


def _outlines(field: FloatArray, page: FloatArray) -> list[FloatArray]:
    """Return closed outlines of where a field over the places is above 0."""
    from contourpy import FillType, contour_generator  # loaded only where used

    if not (field > 0).any():
        return []
    made = contour_generator(page[..., 0], page[..., 1], field, fill_type=FillType.OuterOffset)
    rings = [
        fewer(points[start:end], tolerance=2.0)
        for points, offsets in zip(*made.filled(0.0, np.inf), strict=True)
        for start, end in pairwise(offsets)
    ]
    return [ring for ring in rings if _area(ring) > _LEAST]


def _area(ring: FloatArray) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2


def _rules(art: SetSheet, *, low: float, high: float, system: UnitSystem) -> None:
    """Write heights at the left and sides at the foot."""
    step = 0.5 if system == "metric" else 2 * FOOT
    left, foot = -PER_DEG * MOST_DEG, -PER_M * low
    for k in range(1, int(high / step + 1e-9) + 1):
        if k * step < low:
            continue
        word = f"{k * step:.1f} m" if system == "metric" else f"{2 * k} ft"
        at = np.array([left - 12.0, -PER_M * k * step])
        art.text(at, word, "word soft", anchor="end", down=0.35)
        art.line(np.array([offset(at, 4.0, 0.0), offset(at, 12.0, 0.0)]), "tick")
    words = {60: "60° left", 30: "30°", 0: "camera", -30: "30°", -60: "60° right"}
    for turn, word in words.items():
        at = np.array([-PER_DEG * turn, foot + 52.0])
        art.text(at, word, "word soft", anchor="middle")
        art.line(np.array([(at[0], foot), (at[0], foot + 8.0)]), "tick")
