"""What every page has: paper size, heading, scale bar, signs and labels."""

from dataclasses import dataclass

import numpy as np

from tapemark.drawing.labels import PlacedLabel
from tapemark.drawing.projection import POINT_M
from tapemark.drawing.style import (
    BODY_PT,
    FINE,
    HEADING_PT,
    INK,
    PAPER,
    SMALL_PT,
    SOFT_INK,
    THIN,
    TITLE_PT,
    WARM,
    Paint,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.geometry import FloatArray
from tapemark.units import FOOT, INCH, UnitSystem

A4_SHORT_PT, A4_LONG_PT = 595.28, 841.89
MARGIN_PT = 34.0
HEADER_PT = 44.0
_LEAST_LEADER_PT = 5.0  # nearer than this a label needs no line

#: Scales to choose from: how many times smaller than life.
_METRIC_SCALES = (
    10,
    15,
    20,
    25,
    30,
    35,
    40,
    45,
    50,
    60,
    75,
    100,
    125,
    150,
    200,
    250,
    300,
    400,
    500,
)
#: Inches on paper for a foot in the room.
_US_SCALES = {
    "1 in": 1.0,
    "3/4 in": 0.75,
    "1/2 in": 0.5,
    "3/8 in": 0.375,
    "1/4 in": 0.25,
    "3/16 in": 0.1875,
    "1/8 in": 0.125,
    "3/32 in": 0.09375,
    "1/16 in": 0.0625,
    "1/32 in": 0.03125,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class DrawingScale:
    """How large things are drawn.

    Attributes
    ----------
    points_per_m : float
        Points on the A4 page for a metre in the room.
    text : str
        As printed beside the scale bar.
    """

    points_per_m: float
    text: str


def largest_scale(
    width_m: float, height_m: float, *, room_pt: tuple[float, float], system: UnitSystem
) -> DrawingScale:
    """Return the largest usual scale at which something fits.

    Parameters
    ----------
    width_m, height_m : float
        Its size. [m]
    room_pt : tuple of two floats
        Width and height of the paper it may take. [pt]
    system : str
        ``metric`` or ``us``.
    """
    most = min(room_pt[0] / width_m, room_pt[1] / height_m)
    if system == "us":
        for name, inches in _US_SCALES.items():
            if inches * INCH / FOOT / POINT_M <= most:
                return DrawingScale(
                    points_per_m=inches * INCH / FOOT / POINT_M, text=f"{name} = 1 ft"
                )
    for ratio in _METRIC_SCALES:
        if 1 / (ratio * POINT_M) <= most:
            return DrawingScale(points_per_m=1 / (ratio * POINT_M), text=f"1:{ratio}")
    return DrawingScale(points_per_m=most, text=f"1:{1 / (most * POINT_M):.0f}")


def heading(sheet: Sheet, *, title: str, kind: str, detail: str) -> None:
    """Set the heading of a page: what is drawn, of which setup."""
    left, right = MARGIN_PT, sheet.width_pt - MARGIN_PT
    base = MARGIN_PT + 8.0
    with sheet.group("heading"):
        sheet.text(left, base, kind, size_pt=TITLE_PT, weight=600)
        used = text_width(kind, size_pt=TITLE_PT, weight=600) + 12.0
        room = right - left - used - text_width(detail, size_pt=BODY_PT) - 16.0
        sheet.text(left + used, base, fitted(title, room, size_pt=HEADING_PT), size_pt=HEADING_PT)
        sheet.text(right, base, detail, size_pt=BODY_PT, color=SOFT_INK, anchor="right")
        sheet.line([(left, base + 8.0), (right, base + 8.0)], line(1.3))
        sheet.line([(left, base + 10.6), (right, base + 10.6)], line(FINE))


def fitted(text: str, room_pt: float, *, size_pt: float, weight: int = 400) -> str:
    """Return a text cut with an ellipsis so that it fits a width [pt]."""
    if text_width(text, size_pt=size_pt, weight=weight) <= room_pt:
        return text
    while text and text_width(text + "…", size_pt=size_pt, weight=weight) > room_pt:
        text = text[:-1]
    return text.rstrip() + "…" if text else ""


def scale_bar(
    sheet: Sheet, *, x: float, y: float, scale: DrawingScale, system: UnitSystem
) -> tuple[float, float, float, float]:
    """Draw a scale bar whose left end is at (x, y); return the box it takes [pt]."""
    if system == "us":
        step, steps, unit = FOOT, 4, "ft"
        whole = f"{steps}"
    else:
        step, steps, unit = (0.5, 4, "m") if scale.points_per_m < 60 else (0.25, 4, "m")
        whole = f"{step * steps:g}"
    length = step * scale.points_per_m
    with sheet.group("scale bar"):
        for k in range(steps):
            paint = Paint(fill=INK if k % 2 == 0 else PAPER, stroke=INK, width=FINE)
            sheet.rectangle(x + k * length, y, length, 3.2, paint)
        end = x + steps * length
        sheet.text(x, y - 3.0, "0", size_pt=SMALL_PT)
        sheet.text(end, y - 3.0, f"{whole} {unit}", size_pt=SMALL_PT, anchor="middle")
        note = f"{scale.text} on A4"
        sheet.text(x, y + 13.5, note, size_pt=SMALL_PT, color=SOFT_INK)
    widest = max(end + 12.0, x + text_width(note, size_pt=SMALL_PT))
    return (x - 2.0, y - 12.0, widest, y + 16.0)


def verdict_sign(sheet: Sheet, x: float, y: float, verdict: str, *, radius_pt: float = 5.0) -> None:
    """Draw the sign of a verdict: an open ring, one half filled, or one filled and crossed."""
    color = WARM if verdict == "veiled" else INK
    with sheet.group(f"sign {verdict}"):
        sheet.circle(x, y, radius_pt, Paint(fill=PAPER, stroke=color, width=1.3))
        if verdict == "edge":
            angle = np.linspace(np.pi / 2, 3 * np.pi / 2, 20)
            half = np.stack([x + radius_pt * np.cos(angle), y + radius_pt * np.sin(angle)], axis=-1)
            sheet.area([half], filled(color))
        if verdict == "veiled":
            sheet.circle(x, y, radius_pt - 1.6, filled(color))
        if verdict == "clear":
            sheet.circle(x, y, 1.1, filled(color))


def draw_labels(sheet: Sheet, placed: list[PlacedLabel]) -> None:
    """Draw labels with their leader lines."""
    for one in placed:
        color = one.label.color or INK
        with sheet.group("label"):
            for (x0, y0), (x1, y1) in one.leaders:
                if np.hypot(x1 - x0, y1 - y0) > _LEAST_LEADER_PT:
                    sheet.line([(x0, y0), (x1, y1)], line(FINE, color=color), name="leader")
                    sheet.circle(x1, y1, 1.1, filled(color))
            for (text, weight), base in zip(one.label.lines, one.baselines(), strict=True):
                sheet.text(one.x, base, text, size_pt=one.label.size_pt, weight=weight, color=color)


def left_out_note(sheet: Sheet, names: list[str], *, x: float, y: float, room_pt: float) -> None:
    """Say which labels found no room."""
    if names:
        text = "No room to label: " + ", ".join(names)
        sheet.text(x, y, fitted(text, room_pt, size_pt=SMALL_PT), size_pt=SMALL_PT, color=SOFT_INK)


def ticks(sheet: Sheet, ends: FloatArray) -> None:
    """Draw the slanting ticks that end a dimension line (n, 2) [pt]."""
    slant = np.array([(-3.0, 2.0), (3.0, -2.0)])
    for at in ends:
        sheet.line(at + slant, line(THIN, color=SOFT_INK))


def box_corners(window: FloatArray) -> FloatArray:
    """Return the four corners of a box given by two opposite ones, (4, 2) [pt]."""
    (left, top), (right, bottom) = window
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)])


def framed(sheet: Sheet, x: float, y: float, size: tuple[float, float]) -> None:
    """Draw the edge of a picture from its upper left corner [pt]."""
    sheet.rectangle(x, y, size[0], size[1], Paint(stroke=INK, width=THIN))
