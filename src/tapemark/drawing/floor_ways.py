"""Ways that people walk, outlets and cables, on the floor plan."""

import numpy as np

from tapemark.analysis import rigs
from tapemark.analysis.circuits import circuit_of
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
    for start, end in cable_runs(setup):
        page = view(np.array([(*start, 0.0), (*end, 0.0)]))
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


def cable_runs(setup: Setup) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return foot of the column and outlet of each light on a described outlet [m].

    Heads on a battery have none.
    """
    found = []
    for rig in rigs(setup):
        circuit = circuit_of(rig.light, setup=setup)
        if circuit is None or circuit.outlet is None or rig.light.head.mains_w == 0.0:
            continue
        found.append((rig.base_m, circuit.outlet.position_m))
    return found


def walkway_outline(way: Walkway) -> FloatArray:
    """Return the corners of a way on the floor, (4, 3) [m]."""
    start, end = np.array(way.start.position_m), np.array(way.end.position_m)
    size = float(np.hypot(*(end - start)))
    along = (end - start) / size if size > 0 else np.array([1.0, 0.0])
    across = np.array([-along[1], along[0]]) * way.width_m / 2
    if size == 0:
        start, end = start - along * way.width_m / 2, end + along * way.width_m / 2
    flat = np.array([start + across, end + across, end - across, start - across])
    return np.concatenate([flat, np.zeros((4, 1))], axis=1)


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
