"""Curves of what a meter reads between backdrop and camera, in apertures over distance.

Heights on the chart go by stops, a line for each third and a nominal f-number
for each whole one.  Curves are told apart by their dashes and by their names.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Falloff, FalloffCurve, FalloffMark, aperture_text
from tapemark.analysis.finding import stops_text
from tapemark.drawing.labels import Label, LabelSpace, PlacedLabel
from tapemark.drawing.page import box_corners, draw_labels, fitted
from tapemark.drawing.style import (
    BODY_PT,
    FINE,
    HAIRLINE,
    INK,
    PAPER,
    SMALL_PT,
    SOFT_INK,
    THICK,
    THIN,
    WHITE,
    Paint,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.units import INCH, UnitSystem, format_length

#: Dashes of the lights' curves, in the order of the lights.
DASHES: tuple[tuple[float, ...], ...] = (
    (7.0, 2.6),
    (1.1, 2.4),
    (9.0, 2.4, 1.4, 2.4),
    (3.4, 2.2),
    (13.0, 3.0),
    (9.0, 2.2, 1.2, 2.2, 1.2, 2.2),
)
ON_THE_HEAD = ("ears", "nose tip")  # marks with a small sign
MOST_STOPS, LEAST_STOPS = 7, 4  # on the chart
_OVER_FACE_STOPS = 2.5  # a curve that passes close to a light runs off the top
_MARK_PT = 3.2
_BAND_OPACITY = 0.05
_LANE_PT = 88.0  # for names at the right
_NAMES_GAP_PT = 6.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Chart:
    """Where places and apertures lie on the page.

    Attributes
    ----------
    left, top, right, bottom : float
        Edges. [pt]
    x_at_face : float
        Page place of the reading's place. [pt]
    points_per_m : float
        Along the line to the camera.
    lowest_stop, highest_stop : int
        Of the edges, as 2 log2 N.
    """

    left: float
    top: float
    right: float
    bottom: float
    x_at_face: float
    points_per_m: float
    lowest_stop: int
    highest_stop: int

    def x(self, ahead_m: float) -> float:
        """Return the page place of a place along the line [pt]."""
        return self.x_at_face + ahead_m * self.points_per_m

    def y(self, aperture: float) -> float:
        """Return the height of an f-number on the page [pt]."""
        share = (2.0 * np.log2(aperture) - self.lowest_stop) / (
            self.highest_stop - self.lowest_stop
        )
        return float(self.bottom - share * (self.bottom - self.top))

    def run(self, places_m: tuple[float, ...], curve: FalloffCurve) -> FloatArray:
        """Return a curve on the page (n, 2) [pt]; NaN where nothing arrives."""
        points = [
            (self.x(place), np.nan if one is None else self.y(one))
            for place, one in zip(places_m, curve.apertures, strict=True)
        ]
        return np.array(points)

    def inside(self, run: FloatArray) -> np.ndarray:
        """Return which points of a run lie on the chart."""
        with np.errstate(invalid="ignore"):
            return np.asarray((run[:, 1] >= self.top) & (run[:, 1] <= self.bottom))


def stops_shown(found: Falloff) -> tuple[int, int]:
    """Return the lowest and the highest stop of the chart."""
    face = found.aperture or found.set_to
    known = [one for one in found.together.apertures if one is not None]
    most = min(max(known, default=face), face * 2.0 ** (_OVER_FACE_STOPS / 2))
    highest = int(np.ceil(2.0 * np.log2(max(most, found.set_to)) + 0.35))
    low = [one for curve in found.lights for one in curve.apertures if one is not None]
    least = min([*low, found.set_to, face])
    lowest = int(np.floor(2.0 * np.log2(least)))
    return max(min(lowest, highest - LEAST_STOPS), highest - MOST_STOPS), highest


def draw_chart(sheet: Sheet, chart: Chart, found: Falloff) -> None:
    """Draw lattice, useful depth, curves and marks."""
    runs = {one.name: chart.run(found.places_m, one) for one in (*found.lights, found.together)}
    space = LabelSpace(left=chart.left, top=chart.top, right=chart.right, bottom=chart.bottom)
    for run in runs.values():
        for piece in _pieces(run, chart):
            space.take_line(piece, width_pt=4.0)
    space.take_line(np.array(_upright(chart)))
    space.take_line(np.array(_set_ends(chart, found)), width_pt=3.0)
    for at in _signs(chart, found).values():
        space.take_box(at[0] - 4, at[1] - 4, at[0] + 4, at[1] + 4)
    placed, _ = space.place(_labels(chart, found))
    _lattice(sheet, chart)
    _paper_under(sheet, placed)
    _depth_bands(sheet, chart, found)
    _curves(sheet, chart, found, runs)
    _marks(sheet, chart, found)
    draw_labels(sheet, placed)
    _names(sheet, chart, runs)


def lean_text(length_m: float, *, system: UnitSystem) -> str:
    """Return a short way as one says it: ``9 cm``, ``1.25 m``, ``3.5 in``.

    Examples
    --------
    >>> lean_text(0.09, system="metric")
    '9 cm'
    >>> lean_text(0.09, system="us")
    '3.5 in'
    """
    if system == "us":
        inches = length_m / INCH
        return f"{inches:.1f} in" if inches < 12.0 else format_length(length_m, system=system)
    if length_m < 0.995:
        return f"{100 * length_m:.0f} cm"
    return format_length(length_m, system=system)


def mark_words(mark: FalloffMark) -> str:
    """Return the reading at a mark, against the face: ``f/5.6, 1.2 stops under``."""
    if mark.aperture is None or mark.stops is None:
        return "no light"
    if abs(mark.stops) < 0.05:
        return f"{aperture_text(mark.aperture)}, as the face"
    way = "over" if mark.stops > 0 else "under"
    return f"{aperture_text(mark.aperture)}, {stops_text(mark.stops)} {way}"


def _lattice(sheet: Sheet, chart: Chart) -> None:
    """Draw a line for each third of a stop and write the f-number of each whole one."""
    with sheet.group("apertures"):
        for third in range(3 * chart.lowest_stop, 3 * chart.highest_stop + 1):
            y = chart.y(2.0 ** (third / 6.0))
            whole = third % 3 == 0
            paint = line(FINE, color=SOFT_INK) if whole else line(FINE * 0.75, color=HAIRLINE)
            sheet.line([(chart.left, y), (chart.right, y)], paint)
            if whole:
                words = aperture_text(2.0 ** (third / 6.0))
                sheet.text(chart.left - 6.0, y + 3.2, words, size_pt=SMALL_PT, anchor="right")


def _depth_bands(sheet: Sheet, chart: Chart, found: Falloff) -> None:
    """Shade the places at which the reading stays within a third and a half of a stop."""
    with sheet.group("useful depth"):
        for depth in found.depths:
            left = chart.left if depth.back_m is None else chart.x(-depth.back_m)
            right = chart.right if depth.forward_m is None else chart.x(depth.forward_m)
            paint = Paint(fill=INK, opacity=_BAND_OPACITY)
            sheet.rectangle(left, chart.top, right - left, chart.bottom - chart.top, paint)


def _curves(sheet: Sheet, chart: Chart, found: Falloff, runs: dict[str, FloatArray]) -> None:
    """Draw the aperture set on the camera and the curves."""
    with sheet.group("set aperture"):
        ends = _set_ends(chart, found)
        sheet.line(ends, line(THICK), name="set")
        for (x, y), way in zip(ends, (4.5, -4.5), strict=True):
            sheet.area([np.array([(x, y), (x - way, y - 3), (x - way, y + 3)])], filled(INK))
    edges = np.array([(chart.left, chart.top), (chart.right, chart.bottom)])
    with sheet.group("curves", clip=sheet.clip([box_corners(edges)])):
        for number, curve in enumerate(found.lights):
            paint = Paint(stroke=INK, width=1.1, dash=DASHES[number % len(DASHES)])
            sheet.line(runs[curve.name], paint, name="light")
        sheet.line(runs[found.together.name], Paint(stroke=INK, width=2.0), name="together")


def _paper_under(sheet: Sheet, placed: list[PlacedLabel]) -> None:
    """Lay paper under labels, so that no line of the lattice crosses their text."""
    for one in placed:
        left, top, right, bottom = one.box
        sheet.rectangle(
            left - 1.5, top - 1.0, right - left + 3.0, bottom - top + 3.0, filled(PAPER)
        )


def _set_ends(chart: Chart, found: Falloff) -> list[tuple[float, float]]:
    y = chart.y(found.set_to)
    return [(chart.left, y), (chart.right, y)]


def _upright(chart: Chart) -> list[tuple[float, float]]:
    return [(chart.x_at_face, chart.top), (chart.x_at_face, chart.bottom)]


def _signs(chart: Chart, found: Falloff) -> dict[str, tuple[float, float]]:
    """Return where the signs of face and marks lie, as far as they are on the chart [pt]."""
    known = {"at the face": (0.0, found.aperture)}
    known |= {one.name: (one.ahead_m, one.aperture) for one in found.marks}
    places = {
        name: (chart.x(ahead), chart.y(aperture))
        for name, (ahead, aperture) in known.items()
        if aperture is not None
    }
    return {
        name: (x, y)
        for name, (x, y) in places.items()
        if chart.left <= x <= chart.right and chart.top <= y <= chart.bottom
    }


def _marks(sheet: Sheet, chart: Chart, found: Falloff) -> None:
    """Draw a sign at the face and at each mark."""
    with sheet.group("marks"):
        sheet.line(_upright(chart), line(THIN, dash=(2.0, 2.0)))
        for name, at in _signs(chart, found).items():
            face, small = name == "at the face", name in ON_THE_HEAD
            radius = _MARK_PT + 1.2 if face else 1.9 if small else _MARK_PT
            sheet.circle(*at, radius, Paint(fill=WHITE, stroke=INK, width=THICK if face else 1.0))
            if face:
                sheet.circle(*at, 1.2, filled(INK))


def _labels(chart: Chart, found: Falloff) -> list[Label]:
    """Return the labels on the chart, the most important first."""
    x, y = _set_ends(chart, found)[0]
    words = f"camera set to {aperture_text(found.set_to)}"
    labels = [Label(lines=((words, 600),), target=(x + 10.0, y))]
    signs = _signs(chart, found)
    if found.aperture is not None and "at the face" in signs:
        words = f"at the face {aperture_text(found.aperture)}"
        labels.append(Label(lines=((words, 600),), target=signs["at the face"], size_pt=BODY_PT))
    small_last = sorted(found.marks, key=lambda one: one.name in ON_THE_HEAD)
    for mark in small_last:
        if mark.name in signs:
            lines = ((mark.name, 600), (mark_words(mark), 400))
            labels.append(Label(lines=lines, target=signs[mark.name]))
    return labels


def _names(sheet: Sheet, chart: Chart, runs: dict[str, FloatArray]) -> None:
    """Set the name of each curve to the right of its end."""
    left = chart.right + _NAMES_GAP_PT
    space = LabelSpace(left=left, top=chart.top - 8, right=left + _LANE_PT, bottom=chart.bottom + 8)
    labels = []
    for name, run in runs.items():
        shown = run[chart.inside(run)]
        if len(shown):
            end = (float(shown[-1, 0]), float(shown[-1, 1]))
            words = fitted(name, _LANE_PT - 12.0, size_pt=SMALL_PT)
            labels.append(Label(lines=((words, 600 if name == "together" else 400),), target=end))
    labels.sort(key=lambda one: one.target[1])
    placed, _ = space.place(labels)
    draw_labels(sheet, placed)


def _pieces(run: FloatArray, chart: Chart) -> list[FloatArray]:
    """Return the parts of a run that lie on the chart."""
    inside = chart.inside(run)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    return [run[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True)]
