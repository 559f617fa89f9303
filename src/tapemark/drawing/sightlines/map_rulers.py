"""What the panels of a sightline map are read against: heights, sides, distances, walls."""

import numpy as np

from tapemark.drawing.sightlines.map_panel import MapPanel
from tapemark.drawing.style import FINE, INK, PAPER, SMALL_PT, SOFT_INK, THICK, THIN, Paint, line
from tapemark.drawing.svg import Sheet
from tapemark.planning import SightlineMap
from tapemark.units import FOOT, UnitSystem, format_length


def rulings_of_heights(page: Sheet, panel: MapPanel) -> None:
    """Draw the sitter's eye level."""
    left, _, right, _ = panel.box
    eye = panel.on_page(np.array([0.0, 1.0, panel.sheet.rows.eye_height_m]))[1]
    page.line([(left, eye), (right, eye)], line(THIN, color=SOFT_INK, dash=(1.0, 3.0)))


def ruler_of_heights(page: Sheet, found: SightlineMap, panel: MapPanel) -> None:
    """Write heights at the stand beside the panel and sides under it."""
    left, top, right, bottom = panel.box
    rows, system = panel.sheet.rows, found.setup.units
    ceiling = float(rows.height_m[-1])
    scale = (bottom - top) / ceiling
    step = FOOT if system == "us" else 0.5
    with page.group("ruler"):
        for number in range(int(ceiling / step + 1e-6) + 1):
            y = bottom - number * step * scale
            page.line([(left - 5.0, y), (left, y)], line(THIN))
            if y > top + 7.0 or number == 0:
                text = format_length(number * step, system=system) if number else "floor"
                page.text(left - 8.0, y + 3.2, text, size_pt=SMALL_PT, anchor="right")
        if ceiling >= found.setup.room.height_m - 1e-6:
            page.text(left - 8.0, top + 3.2, "ceiling", size_pt=SMALL_PT, anchor="right")
        eye = bottom - rows.eye_height_m * scale
        page.text(right + 3.0, eye + 3.2, "eyes", size_pt=SMALL_PT, color=SOFT_INK)
        _sides(page, panel, bottom, scale=(right - left) / 180.0)


def _sides(page: Sheet, panel: MapPanel, y: float, *, scale: float) -> None:
    sides = panel.sheet.rows.side_deg
    left, right = panel.box[0], panel.box[2]
    for number in range(13):
        x = left + number * 15.0 * scale
        long = number % 2 == 0
        page.line([(x, y), (x, y + (5.0 if long else 3.0))], line(THIN))
        if not long:
            continue
        side = (float(sides[0]) + number * 15.0 + 180.0) % 360.0 - 180.0
        text = f"{abs(side):.0f}\N{DEGREE SIGN}"
        page.text(x, y + 14.0, text, size_pt=SMALL_PT, anchor="middle")
    first, last = (
        ("camera-right", "camera-left")
        if abs(sides.mean()) < 90
        else ("camera-left", "camera-right")
    )
    page.text(left + 18.0, y + 26.0, f"\N{LEFTWARDS ARROW} {first}", size_pt=SMALL_PT, weight=600)
    page.text(
        right - 18.0,
        y + 26.0,
        f"{last} \N{RIGHTWARDS ARROW}",
        size_pt=SMALL_PT,
        weight=600,
        anchor="right",
    )


def rulings_of_floor(page: Sheet, found: SightlineMap, panel: MapPanel) -> None:
    """Draw distances around the sitter, the walls, and the sitter."""
    system = found.setup.units
    step = 3 * FOOT if system == "us" else 1.0
    far = float(panel.sheet.rows.distance_m[-1])
    turn = np.linspace(0, 2 * np.pi, 181)
    around = np.stack([np.sin(turn), np.cos(turn), np.zeros_like(turn)], axis=-1)
    with page.group("distances"):
        for number in range(1, int(far / step) + 1):
            ring = panel.on_page(around * step * number)
            page.line(ring, line(FINE, color=SOFT_INK, dash=(1.0, 3.0)))
    room = found.setup.room
    corners = [
        (room.x_min_m, room.y_min_m),
        (room.x_max_m, room.y_min_m),
        (room.x_max_m, room.y_max_m),
        (room.x_min_m, room.y_max_m),
    ]
    walls = panel.on_page(np.array([(x, y, 0.0) for x, y in [*corners, corners[0]]]))
    page.line(walls, line(2 * THICK))
    x, y = panel.on_page(np.zeros(3))
    with page.group("sitter"):
        half = 0.09 * (panel.on_page(np.array([0.0, 1.0, 0.0]))[1] - y)
        page.circle(x, y, abs(float(half)), Paint(fill=PAPER, stroke=INK, width=THICK))


def ruler_of_floor(page: Sheet, found: SightlineMap, panel: MapPanel) -> None:
    """Write the distances along the foot of the panel, and the sides."""
    left, _, right, bottom = panel.box
    system: UnitSystem = found.setup.units
    step = 3 * FOOT if system == "us" else 1.0
    x0, _ = panel.on_page(np.zeros(3))
    middle = panel.middle_rad
    beside = np.array([np.cos(middle), -np.sin(middle), 0.0])
    with page.group("ruler"):
        page.text(x0, bottom + 12.0, "sitter", size_pt=SMALL_PT, anchor="middle")
        for number in range(1, 10):
            for sign in (-1.0, 1.0):
                x = float(panel.on_page(sign * number * step * beside)[0])
                if left <= x <= right:
                    text = format_length(number * step, system=system)
                    page.line([(x, bottom), (x, bottom + 4.0)], line(THIN))
                    page.text(x, bottom + 13.0, text, size_pt=SMALL_PT, anchor="middle")
    ahead = "towards the camera" if abs(middle) < 1.0 else "behind the sitter"
    page.text(left - 8.0, panel.box[1] + 9.0, "\N{UPWARDS ARROW}", size_pt=SMALL_PT, anchor="right")
    page.text(
        left - 8.0, panel.box[1] + 22.0, ahead, size_pt=SMALL_PT, anchor="right", turned_deg=-90.0
    )
