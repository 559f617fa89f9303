"""Ways that people walk, outlets and cables, on the floor plan."""

import numpy as np

from tapemark.analysis import rigs
from tapemark.analysis.cables import cable_runs, walkway_corners
from tapemark.drawing.brush import cut_to_convex
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.page import box_corners
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.style import HAIRLINE, INK, SOFT_INK, THIN, WHITE, Paint, filled
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.studio import Setup, Walkway

_WAY_DASH = (7.0, 3.0)
_CABLE_DASH = (1.5, 1.5)
_WAY_TINT = 0.22  # of the hairline colour
_OUTLET_PT = 5.0  # radius of its sign


def draw_walkways(
    sheet: Sheet, space: LabelSpace, *, setup: Setup, view: ParallelView, window: FloatArray
) -> list[Label]:
    """Draw the ways that people walk as tinted bands with dashed sides; return their labels."""
    labels = []
    corners = box_corners(window)
    for way in setup.walkways:
        page = view(walkway_outline(way))
        shown = cut_to_convex(page, corners)
        if len(shown) < 3:
            continue
        with sheet.group("walkway", clip=sheet.clip([corners])):
            sheet.area([page], Paint(fill=HAIRLINE, opacity=_WAY_TINT), name="band")
            edge = Paint(stroke=SOFT_INK, width=THIN, dash=_WAY_DASH)
            sheet.area([page], edge, name="edge")
        space.take_line(np.concatenate([shown, shown[:1]]))
        middle = shown.mean(axis=0)
        target = (float(middle[0]), float(middle[1]))
        labels.append(Label(lines=((way.name, 400),), target=target, color=SOFT_INK))
    return labels


def draw_wiring(
    sheet: Sheet, space: LabelSpace, *, setup: Setup, view: ParallelView
) -> list[Label]:
    """Draw outlets and the straight cables to them; return the labels of the outlets."""
    for run in cable_runs(setup, rigs(setup)):
        page = view(np.array([(*run.start_m, 0.0), (*run.end_m, 0.0)]))
        with sheet.group("cable"):
            sheet.line(page, Paint(stroke=INK, width=THIN, dash=_CABLE_DASH), name="cable")
        space.take_line(page)
    labels = []
    for circuit in setup.circuits:
        if circuit.outlet is None:
            continue
        at = view(np.array([*circuit.outlet.position_m, 0.0]))
        x, y = float(at[0]), float(at[1])
        _draw_outlet(sheet, x, y)
        space.take_box(x - _OUTLET_PT, y - _OUTLET_PT, x + _OUTLET_PT, y + _OUTLET_PT)
        labels.append(Label(lines=((circuit.name, 400),), target=(x, y)))
    return labels


def walkway_outline(way: Walkway) -> FloatArray:
    """Return the corners of a way on the floor, (4, 3) [m]."""
    return np.array([(*corner, 0.0) for corner in reversed(walkway_corners(way))])


def nearest_of_way(way: Walkway) -> tuple[float, float]:
    """Return the place on the middle of a way that is nearest to the sitter's mark [m]."""
    start, end = np.array(way.start.position_m), np.array(way.end.position_m)
    run = end - start
    size = float(run @ run)
    share = float(np.clip(-(start @ run) / size, 0.0, 1.0)) if size > 0 else 0.0
    x, y = start + share * run
    return float(x), float(y)


def _draw_outlet(sheet: Sheet, x: float, y: float) -> None:
    """Draw the sign of an outlet: a ring with two holes."""
    with sheet.group("outlet"):
        sheet.circle(x, y, _OUTLET_PT, filled(WHITE, outline=THIN))
        for side in (-1.0, 1.0):
            sheet.circle(x + side * 2.0, y, 0.8, filled(INK))
