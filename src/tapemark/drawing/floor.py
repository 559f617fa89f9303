"""The room from above: which part of it is drawn, its floor and its walls."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Scene, frame_view, rigs
from tapemark.drawing.floor_ways import nearest_of_way
from tapemark.drawing.gear import camera_gear, light_gear
from tapemark.drawing.gear_drawing import WALL_M
from tapemark.drawing.labels import LabelSpace
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.stands import leans_out, stand_shape
from tapemark.drawing.style import (
    FINE,
    HAIRLINE,
    SMALL_PT,
    SOFT_INK,
    THICK,
    THIN,
    WHITE,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.geometry import FloatArray
from tapemark.studio import Room, Setup
from tapemark.units import FOOT, UnitSystem, format_length

_AROUND_M = 0.35  # free floor drawn around things
_WALL_NEAR_M = 1.3  # a wall nearer than this to them is drawn, else the drawing is broken off


@dataclass(frozen=True, kw_only=True, slots=True)
class RoomCut:
    """The part of the room that is drawn, with the walls that bound it.

    Attributes
    ----------
    x_min_m, x_max_m, y_min_m, y_max_m : float
        What the page shows, walls included. [m]
    walls : frozenset of str
        Which walls are drawn: ``x_min``, ``x_max``, ``y_min``, ``y_max``.
    """

    x_min_m: float
    x_max_m: float
    y_min_m: float
    y_max_m: float
    walls: frozenset[str]

    @property
    def width_m(self) -> float:
        """Across the page. [m]"""
        return self.x_max_m - self.x_min_m

    @property
    def depth_m(self) -> float:
        """Down the page. [m]"""
        return self.y_max_m - self.y_min_m

    def window(self, view: ParallelView, *, height_m: float = 0.0) -> FloatArray:
        """Return upper left and lower right corner of what is drawn, (2, 2) [pt]."""
        ends = [(self.x_min_m, self.y_min_m, 0.0), (self.x_max_m, self.y_max_m, height_m)]
        page = view(np.array(ends))
        return np.stack([page.min(axis=0), page.max(axis=0)])


def room_cut(scene: Scene, *, references: tuple[tuple[float, float], ...] = ()) -> RoomCut:
    """Return the part of the room that holds everything, up to the walls that are near.

    Parameters
    ----------
    scene : Scene
        Everything in the room.
    references : tuple of (x, y)
        Further points on the floor that must be on the page. [m]
    """
    room = scene.setup.room
    points = _things(scene, references)
    low, high = points.min(axis=0) - _AROUND_M, points.max(axis=0) + _AROUND_M
    edges: dict[str, float] = {}
    walls = set()
    for name, near, wall, sign in (
        ("x_min", low[0], room.x_min_m, -1.0),
        ("x_max", high[0], room.x_max_m, 1.0),
        ("y_min", low[1], room.y_min_m, -1.0),
        ("y_max", high[1], room.y_max_m, 1.0),
    ):
        if sign * (wall - near) < _WALL_NEAR_M:
            walls.add(name)
            edges[name] = wall + sign * WALL_M
        else:
            edges[name] = float(near) + sign * _AROUND_M
    return RoomCut(
        x_min_m=edges["x_min"],
        x_max_m=edges["x_max"],
        y_min_m=edges["y_min"],
        y_max_m=edges["y_max"],
        walls=frozenset(walls),
    )


def draw_floor(sheet: Sheet, cut: RoomCut, *, view: ParallelView, system: UnitSystem) -> None:
    """Draw a lattice of small crosses on the floor, counted from the sitter's mark."""
    step = 0.5 if system == "metric" else 2 * FOOT
    arm = 1.4
    columns = np.arange(np.ceil(cut.x_min_m / step), np.floor(cut.x_max_m / step) + 1) * step
    rows = np.arange(np.ceil(cut.y_min_m / step), np.floor(cut.y_max_m / step) + 1) * step
    with sheet.group("floor"):
        for x in columns:
            for y in rows:
                at = view(np.array([x, y, 0.0]))
                for dx, dy in ((arm, 0.0), (0.0, arm)):
                    ends = np.array([(at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)])
                    sheet.line(ends, line(FINE, color=HAIRLINE))


def draw_walls(
    sheet: Sheet,
    space: LabelSpace,
    cut: RoomCut,
    *,
    view: ParallelView,
    room: Room,
    system: UnitSystem,
) -> None:
    """Draw the walls on the page hatched, and say how far away the others are."""
    x0, x1 = max(room.x_min_m, cut.x_min_m), min(room.x_max_m, cut.x_max_m)
    y0, y1 = max(room.y_min_m, cut.y_min_m), min(room.y_max_m, cut.y_max_m)
    corners = {
        "x_min": [(cut.x_min_m, y0), (x0, y0), (x0, y1), (cut.x_min_m, y1)],
        "x_max": [(x1, y0), (cut.x_max_m, y0), (cut.x_max_m, y1), (x1, y1)],
        "y_min": [
            (cut.x_min_m, cut.y_min_m),
            (cut.x_max_m, cut.y_min_m),
            (cut.x_max_m, y0),
            (cut.x_min_m, y0),
        ],
        "y_max": [
            (cut.x_min_m, y1),
            (cut.x_max_m, y1),
            (cut.x_max_m, cut.y_max_m),
            (cut.x_min_m, cut.y_max_m),
        ],
    }
    inner = {
        "x_min": [(x0, y0), (x0, y1)],
        "x_max": [(x1, y0), (x1, y1)],
        "y_min": [(x0, y0), (x1, y0)],
        "y_max": [(x0, y1), (x1, y1)],
    }
    with sheet.group("walls"):
        for name in sorted(cut.walls):
            band = view(_flat(corners[name]))
            sheet.area([band], filled(WHITE))
            hatch_band(sheet, band)
            sheet.line(view(_flat(inner[name])), line(THICK))
            space.take_area(band)
        for name in sorted({"x_min", "x_max", "y_min", "y_max"} - cut.walls):
            _break_off(
                sheet, space, name, inner[name], view=view, room=room, cut=cut, system=system
            )


def hatch_band(sheet: Sheet, band: FloatArray, *, step_pt: float = 3.2) -> None:
    """Hatch an upright rectangle on the page with slanting lines."""
    (left, top), (right, bottom) = band.min(axis=0), band.max(axis=0)
    height = bottom - top
    strokes = []
    for start in np.arange(left - height, right, step_pt):
        low, high = max(start, left), min(start + height, right)
        if high - low > 0.2:
            strokes.append(
                np.array([(low, bottom - (low - start)), (high, bottom - (high - start))])
            )
    for stroke in strokes:
        sheet.line(stroke, line(FINE, color=SOFT_INK))


def _things(scene: Scene, references: tuple[tuple[float, float], ...]) -> FloatArray:
    """Return floor places (x, y) of all that must be on the page [m]."""
    setup = scene.setup
    gear = [light_gear(light, setup=setup) for light in setup.lights]
    gear.append(camera_gear(setup, axes=frame_view(scene).axes))
    points = [part.points[:, :2] for one in gear for part in one.parts]
    points += [one.mount[None, :2] for one in gear]
    points += _floor_places(setup)
    standing = {"panel", "screen", "window", "backdrop"}
    points += [one.face.outline()[:, :2] for one in scene.emitters if one.kind in standing]
    around = np.array([(-0.3, -0.4), (0.3, 0.2)])
    points += [around + person.mark_m for person in setup.people]
    points += [np.array([one]) for one in references]
    return np.concatenate(points)


def _floor_places(setup: Setup) -> list[FloatArray]:
    """Return where stands have their feet, outlets are and ways come nearest, (n, 2) each [m]."""
    room = setup.room
    feet = [
        stand_shape(rig).points[:, :2] if leans_out(rig) else np.array([rig.base_m])
        for rig in rigs(setup)
    ]
    outlets = [one.outlet.position_m for one in setup.circuits if one.outlet is not None]
    ways = [nearest_of_way(way) for way in setup.walkways]
    low, high = (room.x_min_m, room.y_min_m), (room.x_max_m, room.y_max_m)
    return feet + [np.clip([one], low, high) for one in (*outlets, *ways)]


def _break_off(
    sheet: Sheet,
    space: LabelSpace,
    name: str,
    ends: list[tuple[float, float]],
    *,
    view: ParallelView,
    room: Room,
    cut: RoomCut,
    system: UnitSystem,
) -> None:
    """Draw a broken line where the drawing stops before a wall, with the way that is left."""
    page = view(_flat(ends))
    start, end = page
    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]])
    middle, size = (start + end) / 2, 5.0
    kinks = [(-2.4, 0.0), (-1.2, 1.0), (1.2, -1.0), (2.4, 0.0)]
    zigzag = [middle + size * (a * along + b * across) for a, b in kinks]
    run = np.array([start, *zigzag, end])
    sheet.line(run, line(THIN, color=SOFT_INK), name="break")
    space.take_line(run, width_pt=3.0)
    left = {
        "x_min": cut.x_min_m - room.x_min_m,
        "x_max": room.x_max_m - cut.x_max_m,
        "y_min": cut.y_min_m - room.y_min_m,
        "y_max": room.y_max_m - cut.y_max_m,
    }[name]
    text = f"wall {format_length(left, system=system)} farther"
    turned = -90.0 if name.startswith("x") else 0.0
    at = start + 0.22 * (end - start)
    inwards = {
        "x_min": (-5.0, 0.0),
        "x_max": (11.0, 0.0),
        "y_min": (0.0, 12.0),
        "y_max": (0.0, -5.0),
    }[name]
    x, y = float(at[0] + inwards[0]), float(at[1] + inwards[1])
    sheet.text(x, y, text, size_pt=SMALL_PT, color=SOFT_INK, anchor="middle", turned_deg=turned)
    half = text_width(text, size_pt=SMALL_PT) / 2 + 2.0
    if turned:
        space.take_box(x - SMALL_PT, y - half, x + 3.0, y + half)
    else:
        space.take_box(x - half, y - SMALL_PT, x + half, y + 3.0)


def _flat(places: list[tuple[float, float]]) -> FloatArray:
    return np.array([(x, y, 0.0) for x, y in places])
