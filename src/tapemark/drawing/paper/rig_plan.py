"""The floor plan of a rig sheet: crosses of tape with numbers, and two tapes to each."""

from dataclasses import replace
from math import ceil, inf

import numpy as np

from tapemark.analysis import Scene
from tapemark.drawing.far_view import draw_sitter_from_afar
from tapemark.drawing.floor import draw_floor, draw_walls, room_cut
from tapemark.drawing.floor_ways import draw_walkways, draw_wiring
from tapemark.drawing.gear_drawing import (
    draw_camera,
    draw_flat_things,
    draw_light_head,
    draw_light_stand,
    draw_tape_mark,
)
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.page import DrawingScale, box_corners, draw_labels, fitted
from tapemark.drawing.projection import POINT_M, ParallelView
from tapemark.drawing.style import FINE, INK, PAPER, SOFT_INK, WHITE, Paint, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.planning.rigging.lines import RigLine
from tapemark.planning.rigging.sheet import RigSheet
from tapemark.units import FOOT
from tapemark.units.apart import apart

SIZE_PT = 8.5  # type on the drawings of a rig sheet
EDGE_PT = 3.0  # free paper around a drawing, so that no stroke is cut
_FOOT_PT = 20.0  # for the scale bar
_NAME_PT, _NARROW_PT = 96.0, 52.0  # the widest name of a label, and of a narrow one
_REACH_PT = 80.0  # farther off, a number near at hand says more than a name
_FEW = 6  # with more things than this, tapes and cables would hide the plan


def rig_plan(
    scene: Scene,
    rig: RigSheet,
    *,
    size_pt: tuple[float, float],
    others: tuple[Scene, ...] = (),
) -> str:
    """Return the floor plan of a rig sheet as SVG text.

    Parameters
    ----------
    scene : Scene
        The setup as surfaces.
    rig : RigSheet
        What the page says.
    size_pt : tuple of two floats
        Width and height on the page. [pt]
    others : tuple of Scene
        About everybody else in the setup.
    """
    setup, tapes = scene.setup, rig.tapes
    references = tuple((one.x_m, one.y_m) for one in (tapes.first, tapes.second))
    cut = room_cut(scene, references=(*references, *((one.x_m, one.y_m) for one in tapes.things)))
    sheet = Sheet(
        width_pt=size_pt[0], height_pt=size_pt[1], title="Floor plan", description=_told(rig)
    )
    room = (size_pt[0] - 2 * EDGE_PT, size_pt[1] - 2 * EDGE_PT - _FOOT_PT)
    scale = fitting_scale(cut.width_m, cut.depth_m, room_pt=room)
    view = _view(cut.x_max_m, cut.y_min_m, (cut.width_m, cut.depth_m), room=room, scale=scale)
    space = LabelSpace(
        left=EDGE_PT,
        top=EDGE_PT,
        right=size_pt[0] - EDGE_PT,
        bottom=size_pt[1] - EDGE_PT - _FOOT_PT,
    )
    window = cut.window(view)
    draw_floor(sheet, cut, view=view, system=setup.units)
    with sheet.group("on the floor", clip=sheet.clip([box_corners(window)])):
        ways = draw_walkways(sheet, space, setup=setup, view=view, window=window)
    draw_walls(sheet, space, cut, view=view, room=setup.room, system=setup.units)
    flats = draw_flat_things(sheet, space, scene=scene, view=view)
    few = len(rig.tapes.things) <= _FEW
    if few:
        _draw_tapes(sheet, space, rig, view)
    with sheet.group("in the room", clip=sheet.clip([box_corners(window)])):
        _draw_people_and_gear(sheet, space, (scene, *others), view)
        labels = draw_wiring(sheet, space, setup=setup, view=view) if few else []
    labels = _marked(sheet, space, rig, view) + labels + ways
    taped = {one.name for one in rig.lines}
    labels += [
        Label(lines=((name, 400),), target=at, size_pt=SIZE_PT)
        for name, at in flats
        if name not in taped
    ]
    _scale_bar(sheet, scale, height_pt=size_pt[1], us=setup.units == "us")
    place_or_shorten(sheet, space, labels)
    return sheet.to_text().replace(PAPER, WHITE)


def fitting_scale(width_m: float, height_m: float, *, room_pt: tuple[float, float]) -> DrawingScale:
    """Return the largest scale, one to a whole number, at which something fits.

    Parameters
    ----------
    width_m, height_m : float
        Its size. [m]
    room_pt : tuple of two floats
        Width and height of the paper it may take. [pt]
    """
    ratio = max(ceil(width_m / POINT_M / room_pt[0]), ceil(height_m / POINT_M / room_pt[1]))
    return DrawingScale(points_per_m=1 / (ratio * POINT_M), text=f"1:{ratio}")


def _told(rig: RigSheet) -> str:
    """Return the plan in words."""
    first, second = rig.tapes.first, rig.tapes.second
    parts = [
        f"{one.number} {one.name}: {one.first} from {first.letter}, {one.second} from "
        f"{second.letter} {one.side}".rstrip()
        for one in rig.lines
        if one.number
    ]
    return (
        f"Seen from above, the camera below. {first.letter}: {first.name}. "
        f"{second.letter}: {second.name}. {'; '.join(parts)}."
    )


def _view(
    x_max_m: float,
    y_min_m: float,
    size_m: tuple[float, float],
    *,
    room: tuple[float, float],
    scale: DrawingScale,
) -> ParallelView:
    per_m = scale.points_per_m
    left = EDGE_PT + (room[0] - size_m[0] * per_m) / 2
    top = EDGE_PT + (room[1] - size_m[1] * per_m) / 2
    return ParallelView(
        view_from="above",
        points_per_m=per_m,
        at_origin=(left + x_max_m * per_m, top - y_min_m * per_m),
    )


def _draw_tapes(sheet: Sheet, space: LabelSpace, rig: RigSheet, view: ParallelView) -> None:
    """Draw both tapes to each thing."""
    lights = [one for one in rig.tapes.things if one.kind != "person"]
    with sheet.group("tapes"):
        for one in lights:
            for start in (rig.tapes.first, rig.tapes.second):
                ends = np.array([(start.x_m, start.y_m, 0.0), (one.x_m, one.y_m, 0.0)])
                sheet.line(view(ends), line(FINE, color=SOFT_INK, dash=(4.0, 2.0)))
                space.take_line(view(ends))


def _draw_people_and_gear(
    sheet: Sheet, space: LabelSpace, people: tuple[Scene, ...], view: ParallelView
) -> None:
    scene = people[0]
    for person in people:
        for outline in draw_sitter_from_afar(sheet, person, view=view):
            space.take_area(outline, width_pt=3.0)
    draw_camera(sheet, space, scene=scene, view=view)
    for light in scene.setup.lights:
        draw_light_stand(sheet, space, light, scene=scene, view=view)
    for light in scene.setup.lights:
        draw_light_head(sheet, space, light, scene=scene, view=view)


def _marked(sheet: Sheet, space: LabelSpace, rig: RigSheet, view: ParallelView) -> list[Label]:
    """Draw crosses and reference points; return their labels, the most important first."""
    lines = {(one.kind, one.name): one for one in rig.lines}
    labels = []
    for one in (rig.tapes.first, rig.tapes.second):
        at = view(np.array([one.x_m, one.y_m, 0.0]))
        _draw_reference(sheet, space, at)
        told = one.letter if one.name.startswith("corner") else f"{one.letter} {one.name}"
        words = ((told, 600),)
        labels.append(Label(lines=words, target=_pair(at), size_pt=SIZE_PT))
    for thing in rig.tapes.things:
        at = np.array([thing.x_m, thing.y_m, 0.0])
        draw_tape_mark(sheet, space, at, view=view)
        own = lines[thing.kind, thing.name]
        labels.append(_thing_label(own, rig, _pair(view(at))))
    for own in rig.lines:
        if own.kind == "sitter" and not own.number:
            at = view(np.array([0.0, -0.14, 0.0]))
            name = fitted(own.name, _NAME_PT, size_pt=SIZE_PT, weight=400)
            labels.append(Label(lines=((name, 400),), target=_pair(at), size_pt=SIZE_PT))
    return labels


def _thing_label(own: RigLine, rig: RigSheet, at: tuple[float, float]) -> Label:
    first, second = rig.tapes.first.letter, rig.tapes.second.letter
    name = fitted(f"{own.number} {apart(own.name)}", _NAME_PT, size_pt=SIZE_PT, weight=600)
    tapes = ((f"{first} {own.first}", 400), (f"{second} {own.second}", 400))
    return Label(lines=((name, 600), *tapes), target=at, size_pt=SIZE_PT)


def _draw_reference(sheet: Sheet, space: LabelSpace, at: FloatArray) -> None:
    size = 4.6
    mark = at + np.array([(-size, 0.0), (0.0, -size), (size, 0.0), (0.0, size)])
    sheet.area([mark], filled(WHITE, outline=1.3), name="reference")
    sheet.circle(float(at[0]), float(at[1]), 1.3, filled(INK))
    space.take_area(mark, width_pt=2.0)


def place_or_shorten(sheet: Sheet, space: LabelSpace, labels: list[Label]) -> None:
    """Place and draw labels; those for which there is no room get narrower, then a number.

    Room is where no line to it crosses another's, and where there is much to name, what lies
    near; for a number alone any place will do.

    Parameters
    ----------
    sheet, space : Sheet, LabelSpace
        The drawing and what is taken of it.
    labels : list of Label
        The most important first.
    """
    reach = _REACH_PT if len(labels) > _FEW else inf
    for shorten in (lambda label: label, _narrow, _number_alone):
        shorter = [shorten(label) for label in labels]
        placed, _ = space.place(shorter, reach_pt=reach, crossing=False)
        draw_labels(sheet, placed)
        done = {one.label.target for one in placed}
        labels = [label for label in labels if label.target not in done]
    placed, _ = space.place([_number_alone(label) for label in labels])
    draw_labels(sheet, placed)


def place_near(sheet: Sheet, space: LabelSpace, labels: list[Label], *, reach_pt: float) -> None:
    """Place and draw labels, but for those that would be far from what they name.

    Parameters
    ----------
    sheet, space : Sheet, LabelSpace
        The drawing and what is taken of it.
    labels : list of Label
        The most important first.
    reach_pt : float
        The longest line from a label to what it names. [pt]
    """
    placed, _ = space.place(labels, reach_pt=reach_pt, crossing=False)
    draw_labels(sheet, placed)


def _narrow(label: Label) -> Label:
    """Return a label with a short name."""
    (name, weight), *rest = label.lines
    short = fitted(name, _NARROW_PT, size_pt=label.size_pt, weight=weight)
    return replace(label, lines=((short, weight), *rest))


def _number_alone(label: Label) -> Label:
    return replace(label, lines=((label.lines[0][0].split(" ")[0], 600),))


def _scale_bar(sheet: Sheet, scale: DrawingScale, *, height_pt: float, us: bool) -> None:
    """Draw a scale bar at the foot, and say the scale."""
    step, steps, unit = (FOOT, 3, "ft") if us else (0.5, 2, "m")
    x, y = EDGE_PT + 2.0, height_pt - EDGE_PT - 6.0
    length = step * scale.points_per_m
    whole = f"{steps} ft" if us else f"{step * steps:g} {unit}"
    with sheet.group("scale bar"):
        for k in range(steps):
            paint = Paint(fill=INK if k % 2 == 0 else WHITE, stroke=INK, width=FINE)
            sheet.rectangle(x + k * length, y, length, 3.0, paint)
        end = x + steps * length + 5.0
        sheet.text(end, y + 4.0, f"{whole}, {scale.text}", size_pt=SIZE_PT, color=SOFT_INK)


def _pair(at: FloatArray) -> tuple[float, float]:
    return float(at[0]), float(at[1])
