"""Exposure against distance: curves over the side view that they belong to, to one scale."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Falloff, Scene, aperture_text
from tapemark.drawing.body_profile import draw_arm, draw_body
from tapemark.drawing.falloff.falloff_chart import Chart, draw_chart, lean_text, stops_shown
from tapemark.drawing.falloff.falloff_notes import NOTES_PT, draw_notes, stop_words
from tapemark.drawing.far_view import draw_sitter_from_afar
from tapemark.drawing.gear_drawing import draw_camera, draw_flat_things, draw_light
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.page import (
    A4_LONG_PT,
    A4_SHORT_PT,
    HEADER_PT,
    MARGIN_PT,
    DrawingScale,
    draw_labels,
    fitted,
    heading,
    largest_scale,
    left_out_note,
    ticks,
)
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.style import (
    FINE,
    PAPER,
    SMALL_PT,
    SOFT_INK,
    THICK,
    THIN,
    Paint,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.geometry import FloatArray
from tapemark.units import FOOT, UnitSystem, format_length

_AXIS_PT, _LANE_PT = 34.0, 94.0  # f-numbers; names of curves
_STRIP_PT, _DEPTHS_PT, _RULE_PT = 232.0, 42.0, 30.0  # heights of what lies under the chart
_BEHIND_M, _PAST_CAMERA_M, _PAST_LIGHT_M = 0.12, 0.42, 0.38
_NEARLY_IN_M = 0.6  # lights no farther beyond the side view's edge are taken in
_BELOW_EYES_M, _OVER_EYES_M, _OVER_LIGHTS_M = 0.46, 0.34, 0.05
_NAME_PT = 130.0  # the widest name in the side view
_MIDDLE_OF_HEAD_M = (0.0, -0.1, 0.04)  # from the eyes, to point at
_MOST_SHIFT_PT = 46.0  # a narrow drawing moves so far towards the notes


@dataclass(frozen=True, kw_only=True, eq=False)
class SideView(ParallelView):
    """A side view in which the line from the face to the camera runs to the right.

    Attributes
    ----------
    start, towards : (3,) arrays
        Where the line starts [m] and its level direction [-].
    """

    start: FloatArray
    towards: FloatArray

    def __call__(self, world: FloatArray) -> FloatArray:
        """Return page places (..., 2) [pt] of world points (..., 3) [m]."""
        points = np.asarray(world, dtype=np.float64)
        flat = np.stack([(points - self.start) @ self.towards, -points[..., 2]], axis=-1)
        return np.asarray(flat * self.points_per_m + self.at_origin)


def falloff_drawing(scene: Scene, falloff: Falloff, *, others: tuple[Scene, ...] = ()) -> str:
    """Return a drawing of exposure against distance, as SVG text.

    Parameters
    ----------
    scene : Scene
        The setup, about the person at whose face the line starts.
    falloff : Falloff
        Readings along the line.
    others : tuple of Scene
        About everybody else.
    """
    setup = scene.setup
    ends = _ends(scene, falloff)
    scale = largest_scale(
        ends.right_m - ends.left_m,
        ends.high_m - ends.low_m,
        room_pt=(A4_LONG_PT - 2 * MARGIN_PT - _AXIS_PT - _LANE_PT - NOTES_PT, _STRIP_PT),
        system=setup.units,
    )
    sheet = _sheet(scene, falloff)
    height = format_length(falloff.start[2], system=setup.units)
    detail = f"dome to the camera, {height} high, nobody there; {scale.text}"
    heading(sheet, title=setup.title, kind="Exposure against distance", detail=detail)
    chart, view = _placed(falloff, ends, scale)
    draw_chart(sheet, chart, falloff)
    _draw_depths(sheet, chart, falloff, system=setup.units)
    _draw_strip(sheet, (scene, *others), falloff, chart=chart, view=view, ends=ends)
    _draw_rule(sheet, chart, falloff, ends=ends, system=setup.units)
    draw_notes(sheet, scene, falloff, x=A4_LONG_PT - MARGIN_PT - NOTES_PT)
    return sheet.to_text()


@dataclass(frozen=True, kw_only=True, slots=True)
class _Ends:
    """What the side view shows, along the line and in height [m]."""

    left_m: float
    right_m: float
    low_m: float
    high_m: float


def _ends(scene: Scene, found: Falloff) -> _Ends:
    setup = scene.setup
    start, towards = np.array(found.start), np.array(found.towards)
    camera = float((scene.camera - start) @ towards)
    left = found.places_m[0] - _BEHIND_M
    right = max(camera, 0.3) + _PAST_CAMERA_M
    along = [float((np.array(one.place.position_m) - start) @ towards) for one in setup.lights]
    right = max([right, *(one + _PAST_LIGHT_M for one in along if one < right + _NEARLY_IN_M)])
    left = min([left, *(one - _PAST_LIGHT_M for one in along if one > left - _NEARLY_IN_M)])
    eyes = found.start[2]
    tops = [
        light.place.height_m + _half_height(scene, light.name)
        for light, one in zip(setup.lights, along, strict=True)
        if left < one < right
    ]
    high = max([eyes + _OVER_EYES_M, *(top + _OVER_LIGHTS_M for top in tops)])
    high = min(high, setup.room.height_m, eyes + 1.6)
    return _Ends(left_m=left, right_m=right, low_m=max(eyes - _BELOW_EYES_M, 0.0), high_m=high)


def _half_height(scene: Scene, name: str) -> float:
    faces = [one.face for one in scene.emitters if one.name == name and one.kind == "light"]
    return max((float(np.ptp(face.outline()[:, 2])) / 2 for face in faces), default=0.1)


def _sheet(scene: Scene, found: Falloff) -> Sheet:
    title = scene.setup.title or scene.sitter.name
    reading = "no light" if found.aperture is None else aperture_text(found.aperture)
    leans = "; ".join(
        f"within {stop_words(one.stops)}: {_way(one.back_m)} back, {_way(one.forward_m)} forward"
        for one in found.depths
    )
    return Sheet(
        width_pt=A4_LONG_PT,
        height_pt=A4_SHORT_PT,
        title=f"Exposure against distance: {title}",
        description=f"Readings from backdrop to camera; {reading} at the face; {leans}.",
    )


def _placed(found: Falloff, ends: _Ends, scale: DrawingScale) -> tuple[Chart, SideView]:
    """Return where chart and side view lie."""
    ppm = scale.points_per_m
    wide = (ends.right_m - ends.left_m) * ppm + _AXIS_PT + _LANE_PT + NOTES_PT
    spare = A4_LONG_PT - 2 * MARGIN_PT - wide
    x = MARGIN_PT + _AXIS_PT + min(spare / 2, _MOST_SHIFT_PT) - ends.left_m * ppm
    bottom = A4_SHORT_PT - MARGIN_PT - _RULE_PT
    strip_top = bottom - (ends.high_m - ends.low_m) * ppm
    lowest, highest = stops_shown(found)
    chart = Chart(
        left=x + found.places_m[0] * ppm,
        top=MARGIN_PT + HEADER_PT - 8.0,
        right=x + found.places_m[-1] * ppm,
        bottom=strip_top - _DEPTHS_PT,
        x_at_face=x,
        points_per_m=ppm,
        lowest_stop=lowest,
        highest_stop=highest,
    )
    view = SideView(
        view_from="camera-left",
        points_per_m=ppm,
        at_origin=(x, bottom + ends.low_m * ppm),
        start=np.array([found.start[0], found.start[1], 0.0]),
        towards=np.array(found.towards),
    )
    return chart, view


def _draw_depths(sheet: Sheet, chart: Chart, found: Falloff, *, system: UnitSystem) -> None:
    """Draw how far the sitter may lean as dimension lines under the chart."""
    with sheet.group("depths"):
        for number, depth in enumerate(found.depths):
            y = chart.bottom + 14.0 + 15.0 * number
            words = f"±{stop_words(depth.stops)}"
            sheet.text(MARGIN_PT, y + 3.0, words, size_pt=SMALL_PT, weight=600)
            taken = MARGIN_PT + 4.0 + text_width(words, size_pt=SMALL_PT, weight=600)
            ways = ((depth.back_m, -1.0, chart.left), (depth.forward_m, 1.0, chart.right))
            ends = [(edge if way is None else chart.x(sign * way), y) for way, sign, edge in ways]
            sheet.line(np.array(ends), line(THIN, color=SOFT_INK), name="depth")
            ticks(sheet, np.array([*ends, (chart.x_at_face, y)]))
            for (way, sign, _), (x, _) in zip(ways, ends, strict=True):
                text = "to the end" if way is None else lean_text(way, system=system)
                _depth_words(sheet, text, x=x, y=y, sign=sign, taken=taken)


def _depth_words(sheet: Sheet, text: str, *, x: float, y: float, sign: float, taken: float) -> None:
    """Set a length outside the end of its line, or inside where there is no room."""
    width = text_width(text, size_pt=SMALL_PT)
    if sign < 0 and x - 6.0 - width < taken:
        sheet.rectangle(x + 6.0, y - 6.0, width + 4.0, 12.0, Paint(fill=PAPER))
        sheet.text(x + 8.0, y + 3.0, text, size_pt=SMALL_PT)
        return
    anchor = "right" if sign < 0 else "left"
    sheet.text(x + sign * 6.0, y + 3.0, text, size_pt=SMALL_PT, anchor=anchor)


def _draw_strip(
    sheet: Sheet,
    people: tuple[Scene, ...],
    found: Falloff,
    *,
    chart: Chart,
    view: SideView,
    ends: _Ends,
) -> None:
    """Draw the side view under the chart, to the chart's scale."""
    scene = people[0]
    left, right = chart.x(ends.left_m), chart.x(ends.right_m)
    (_, top), (_, bottom) = view(np.array([(0.0, 0.0, ends.high_m), (0.0, 0.0, ends.low_m)]))
    window = [(left, top), (right, top), (right, bottom), (left, bottom)]
    space = LabelSpace(left=left, top=float(top), right=right + _LANE_PT, bottom=float(bottom))
    with sheet.group("side view", clip=sheet.clip([window])):
        if ends.low_m <= 0:
            sheet.line([(left, bottom), (right, bottom)], line(THICK))
        flats = draw_flat_things(sheet, space, scene=scene, view=view)
        across = np.cross((0.0, 0.0, 1.0), np.array(found.towards))
        order = sorted(scene.setup.lights, key=lambda one: _depth(one.place.position_m, across))
        for light in order:
            if _depth(light.place.position_m, across) >= 0:
                draw_light(sheet, space, light, scene=scene, view=view)
        draw_camera(sheet, space, scene=scene, view=view)
        for person in people:
            for outline in draw_body(sheet, person, view=view):
                space.take_area(outline)
            for outline in draw_sitter_from_afar(sheet, person, view=view):
                space.take_area(outline, width_pt=3.0)
            draw_arm(sheet, person, view=view)
        for light in order:
            if _depth(light.place.position_m, across) < 0:
                draw_light(sheet, space, light, scene=scene, view=view)
        way = [(chart.left, _level(view, found)), (chart.right, _level(view, found))]
        sheet.line(np.array(way), line(THIN, dash=(7.0, 2.0, 1.5, 2.0)), name="way of the meter")
    space.take_line(np.array(way), width_pt=2.0)
    labels = [_named(light.name, light.place.position_m, view) for light in scene.setup.lights]
    labels += [_named("camera", scene.setup.camera.place.position_m, view)]
    labels += [
        _named(one.sitter.name, one.pose.origin + np.array(_MIDDLE_OF_HEAD_M), view)
        for one in people
    ]
    labels += [Label(lines=((name, 400),), target=at) for name, at in flats]
    low, high = np.array([(left, top), (right, bottom)])
    inside = [one for one in labels if (low < one.target).all() and (one.target < high).all()]
    placed, left_out = space.place(inside)
    draw_labels(sheet, placed)
    names = [one.lines[0][0] for one in labels if one not in inside]
    base = sheet.height_pt - MARGIN_PT + 14.0
    if names:
        words = fitted("Outside this view: " + ", ".join(names), 380.0, size_pt=SMALL_PT)
        sheet.text(MARGIN_PT, base, words, size_pt=SMALL_PT, color=SOFT_INK)
    names = [one.lines[0][0] for one in left_out]
    left_out_note(sheet, names, x=MARGIN_PT + 394.0, y=base, room_pt=380.0)


def _level(view: SideView, found: Falloff) -> float:
    return float(view(np.array(found.start))[1])


def _depth(place: tuple[float, float, float], across: FloatArray) -> float:
    """Return how far a place lies behind the line, as the drawing is seen [m]."""
    return float(np.array(place) @ across)


def _named(name: str, place: FloatArray | tuple[float, float, float], view: SideView) -> Label:
    at = view(np.array(place))
    words = fitted(name, _NAME_PT, size_pt=SMALL_PT, weight=600)
    return Label(lines=((words, 600),), target=(float(at[0]), float(at[1])))


def _draw_rule(
    sheet: Sheet, chart: Chart, found: Falloff, *, ends: _Ends, system: UnitSystem
) -> None:
    """Draw a rule along the foot: distances from the reading's place at the face."""
    y = sheet.height_pt - MARGIN_PT - _RULE_PT + 10.0
    step, named = (0.1, 5) if system == "metric" else (FOOT / 4, 4)
    first, last = (
        int(np.ceil(ends.left_m / step)),
        int(np.floor(ends.right_m / step)),
    )
    with sheet.group("rule"):
        sheet.line([(chart.x(ends.left_m), y), (chart.x(ends.right_m), y)], line(THIN))
        for k in range(first, last + 1):
            x = chart.x(k * step)
            sheet.line([(x, y), (x, y + (6.0 if k % named == 0 else 3.0))], line(FINE))
            if k % named == 0:
                number = f"{abs(k * step):.1f}" if system == "metric" else f"{abs(k) // named}"
                sheet.text(x, y + 16.0, number, size_pt=SMALL_PT, color=SOFT_INK, anchor="middle")
        unit = "m from the face" if system == "metric" else "ft from the face"
        sheet.text(chart.x(ends.right_m) + 8.0, y + 3.0, unit, size_pt=SMALL_PT, color=SOFT_INK)


def _way(length_m: float | None) -> str:
    return "all the way" if length_m is None else f"{length_m:.2f} m"
