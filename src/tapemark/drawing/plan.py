"""The floor plan, to scale: camera at the foot of the page, camera-left on the left."""

import numpy as np

from tapemark.analysis import Scene, frame_view, rigs
from tapemark.anatomy import edge_outline, temple_line
from tapemark.drawing.brush import hull
from tapemark.drawing.far_view import draw_sitter_from_afar
from tapemark.drawing.floor import RoomCut, draw_floor, draw_walls, room_cut
from tapemark.drawing.floor_ways import draw_walkways, draw_wiring
from tapemark.drawing.gear_drawing import (
    draw_bounces,
    draw_camera,
    draw_flat_things,
    draw_light_head,
    draw_light_stand,
    draw_tape_mark,
)
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.page import (
    A4_LONG_PT,
    A4_SHORT_PT,
    HEADER_PT,
    MARGIN_PT,
    DrawingScale,
    box_corners,
    draw_labels,
    heading,
    largest_scale,
    left_out_note,
    scale_bar,
)
from tapemark.drawing.plan_labels import (
    ReferencePoint,
    camera_label,
    column_label,
    light_label,
    place_words,
    sitter_label,
    with_references,
)
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.stands import leans_out
from tapemark.drawing.style import (
    FINE,
    INK,
    PAPER,
    SMALL_PT,
    SOFT_INK,
    THIN,
    WHITE,
    Paint,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.studio import Light, Setup, aim_point_m
from tapemark.units import format_length

_FOOT_PT = 34.0  # for scale bar and notes
_TAPE_NOTE = "Crosses of tape: under the middle of each lit face. "
_BOOM_TAPE_NOTE = "Tape crosses: under lit faces and boom columns. "
_DISTANCE_NOTE = "Distances run along the floor, from under the eyes."
_STOOL_RADIUS_M = 0.17


def plan_drawing(
    scene: Scene,
    *,
    references: tuple[ReferencePoint, ...] = (),
    others: tuple[Scene, ...] = (),
    readings: dict[str, str] | None = None,
) -> str:
    """Return the floor plan of a setup as SVG text.

    Parameters
    ----------
    scene : Scene
        The setup as surfaces.
    references : tuple of ReferencePoint
        Points from which the distance of each stand is given as well.
    others : tuple of Scene
        About everybody else in the setup.
    readings : dict of str to str, optional
        What each light meters and its power, in words, by its name.
    """
    setup = scene.setup
    cut = room_cut(scene, references=tuple((one.x_m, one.y_m) for one in references))
    sheet, scale, view = _page(setup, cut)
    space = LabelSpace(
        left=MARGIN_PT,
        top=MARGIN_PT + HEADER_PT - 18.0,
        right=sheet.width_pt - MARGIN_PT,
        bottom=sheet.height_pt - MARGIN_PT,
    )
    draw_floor(sheet, cut, view=view, system=setup.units)
    window = cut.window(view)
    ways = draw_walkways(sheet, space, setup=setup, view=view, window=window)
    bounces = _draw_lit_and_seen(sheet, space, scene, view=view, window=window)
    draw_walls(sheet, space, cut, view=view, room=setup.room, system=setup.units)
    labels = _draw_things(sheet, space, (scene, *others), view=view, readings=readings or {})
    columns = [rig for rig in rigs(setup) if leans_out(rig)]
    for rig in columns:
        foot = np.array([*rig.base_m, 0.0])
        draw_tape_mark(sheet, space, foot, view=view, name="column mark")
    at_columns = [column_label(rig, setup, view, references=references) for rig in columns]
    labels += draw_wiring(sheet, space, setup=setup, view=view)
    labels += [Label(lines=((name, 400),), target=at, color=SOFT_INK) for name, at in bounces]
    labels += ways
    labels += [_draw_reference(sheet, space, one, view) for one in references]
    labels = [with_references(label, references, view, setup) for label in labels]
    labels = [*at_columns, *labels]
    space.take_box(
        *scale_bar(
            sheet,
            x=MARGIN_PT,
            y=sheet.height_pt - MARGIN_PT - 16.0,
            scale=scale,
            system=setup.units,
        )
    )
    note_x = MARGIN_PT + 150.0
    note = (_BOOM_TAPE_NOTE if columns else _TAPE_NOTE) + _DISTANCE_NOTE
    sheet.text(note_x, sheet.height_pt - MARGIN_PT - 2.5, note, size_pt=SMALL_PT, color=SOFT_INK)
    space.take_box(note_x, sheet.height_pt - MARGIN_PT - 14.0, sheet.width_pt, sheet.height_pt)
    placed, left_out = space.place(labels)
    draw_labels(sheet, placed)
    names = [label.lines[0][0] for label in left_out]
    left_out_note(sheet, names, x=MARGIN_PT, y=sheet.height_pt - MARGIN_PT + 14.0, room_pt=480.0)
    return sheet.to_text()


def _page(setup: Setup, cut: RoomCut) -> tuple[Sheet, DrawingScale, ParallelView]:
    """Return the page, turned so that the drawing is largest, with its heading set."""
    best = None
    for page in ((A4_LONG_PT, A4_SHORT_PT), (A4_SHORT_PT, A4_LONG_PT)):
        room = (page[0] - 2 * MARGIN_PT, page[1] - 2 * MARGIN_PT - HEADER_PT - _FOOT_PT)
        scale = largest_scale(cut.width_m, cut.depth_m, room_pt=room, system=setup.units)
        if best is None or scale.points_per_m > best[1].points_per_m:
            best = (page, scale, room)
    assert best is not None
    page, scale, room = best
    size = (cut.width_m * scale.points_per_m, cut.depth_m * scale.points_per_m)
    left = MARGIN_PT + (room[0] - size[0]) / 2
    top = MARGIN_PT + HEADER_PT + (room[1] - size[1]) / 2
    origin = (left + cut.x_max_m * scale.points_per_m, top - cut.y_min_m * scale.points_per_m)
    view = ParallelView(view_from="above", points_per_m=scale.points_per_m, at_origin=origin)
    sheet = Sheet(
        width_pt=page[0],
        height_pt=page[1],
        title=f"Floor plan: {setup.title or setup.sitter.name}",
        description=_described(setup),
    )
    size_text = " × ".join(
        format_length(part, system=setup.units)
        for part in (setup.room.width_m, setup.room.length_m)
    )
    heading(sheet, title=setup.title, kind="Floor plan", detail=f"room {size_text}, {scale.text}")
    return sheet, scale, view


def _described(setup: Setup) -> str:
    places = "; ".join(f"{light.name}: {place_words(light, setup)}" for light in setup.lights)
    camera = format_length(setup.camera.place.distance_m, system=setup.units)
    return f"Seen from above. Camera {camera} from the sitter. {places}."


def _draw_lit_and_seen(
    sheet: Sheet, space: LabelSpace, scene: Scene, *, view: ParallelView, window: FloatArray
) -> list[tuple[str, tuple[float, float]]]:
    """Draw bounces, the camera's field of view and tapes; return names and places of bounces."""
    with sheet.group("on the floor", clip=sheet.clip([box_corners(window)])):
        bounces = draw_bounces(sheet, space, scene=scene, view=view, window=window)
        _draw_field_of_view(sheet, space, scene, view)
        for light in scene.setup.lights:
            _draw_tape(sheet, space, light, scene=scene, view=view)
    return bounces


def _draw_things(
    sheet: Sheet,
    space: LabelSpace,
    people: tuple[Scene, ...],
    *,
    view: ParallelView,
    readings: dict[str, str],
) -> list[Label]:
    """Draw everything that stands on the plan; return its labels, the most important first."""
    scene = people[0]
    setup = scene.setup
    flats = draw_flat_things(sheet, space, scene=scene, view=view)
    for person in people:
        _draw_sitter(sheet, space, person, view)
    draw_camera(sheet, space, scene=scene, view=view)
    for light in setup.lights:
        draw_light_stand(sheet, space, light, scene=scene, view=view)
    for light in setup.lights:
        draw_light_head(sheet, space, light, scene=scene, view=view)
        draw_tape_mark(sheet, space, _floor(light.place.position_m), view=view)
    labels = [
        light_label(light, setup, view, reading=readings.get(light.name, ""))
        for light in setup.lights
    ]
    labels += [camera_label(setup, view)]
    labels += [sitter_label(person.sitter, view, system=setup.units) for person in people]
    labels += [Label(lines=((name, 600),), target=at) for name, at in flats]
    return labels


def _draw_sitter(sheet: Sheet, space: LabelSpace, scene: Scene, view: ParallelView) -> None:
    x, y = scene.sitter.mark_m
    mark = view(np.array([x, y, 0.0]))
    if scene.sitter.posture == "seated":
        paint = Paint(fill=PAPER, stroke=SOFT_INK, width=THIN, dash=(2.5, 1.8))
        seat = view(np.array([x, y - 0.10, 0.0]))
        sheet.circle(float(seat[0]), float(seat[1]), _STOOL_RADIUS_M * view.points_per_m, paint)
    for outline in draw_sitter_from_afar(sheet, scene, view=view):
        space.take_area(outline, width_pt=3.0)
    _draw_glasses(sheet, scene, view)
    arm = 0.05 * view.points_per_m
    for dx, dy in ((arm, 0.0), (0.0, arm)):
        ends = [(mark[0] - dx, mark[1] - dy), (mark[0] + dx, mark[1] + dy)]
        sheet.line(np.array(ends), line(FINE))


def _draw_glasses(sheet: Sheet, scene: Scene, view: ParallelView) -> None:
    """Draw the glasses over the head: brow and hair would hide them from above."""
    if scene.lenses is None:
        return
    sitter = scene.sitter
    with sheet.group("glasses"):
        for index in (0, 1):
            lens = hull(view(edge_outline(scene.lenses, index=index)))
            sheet.area([lens], filled(WHITE, outline=THIN))
            arm = view(temple_line(scene.lenses, index=index, sitter=sitter, pose=scene.pose))
            sheet.line(arm, line(FINE))


def _draw_tape(
    sheet: Sheet, space: LabelSpace, light: Light, *, scene: Scene, view: ParallelView
) -> None:
    """Draw the tape from the sitter's mark to a light's, and the way the light points."""
    start, end = view(np.zeros(3)), view(_floor(light.place.position_m))
    with sheet.group("tape"):
        sheet.line(np.stack([start, end]), line(FINE, color=SOFT_INK))
        space.take_line(np.stack([start, end]))
        if light.aim != "face":
            middle = np.array(light.place.position_m)
            aim = np.array(aim_point_m(light, setup=scene.setup))
            page = view(np.stack([middle, aim]))
            sheet.line(page, line(THIN, color=SOFT_INK, dash=(5.0, 2.0, 1.0, 2.0)))
            sheet.circle(float(page[1, 0]), float(page[1, 1]), 1.6, filled(SOFT_INK))
            space.take_line(page)


def _draw_field_of_view(sheet: Sheet, space: LabelSpace, scene: Scene, view: ParallelView) -> None:
    """Draw the edges of the camera's frame up to the wall or backdrop behind the sitter."""
    frame = frame_view(scene)
    setup = scene.setup
    behind = -setup.backdrop.distance_m if setup.backdrop is not None else setup.room.y_min_m
    for side in (-1.0, 1.0):
        along = frame.axes @ np.array([side * frame.half_width, 1.0, 0.0])
        reach = (behind - scene.camera[1]) / along[1] if along[1] < 0 else 1.0
        ends = np.stack([scene.camera, scene.camera + reach * along])
        ends[1, 0] = np.clip(ends[1, 0], setup.room.x_min_m, setup.room.x_max_m)
        page = view(ends)
        sheet.line(page, line(FINE, color=INK, dash=(6.0, 3.0)))
        space.take_line(page)


def _draw_reference(
    sheet: Sheet, space: LabelSpace, one: ReferencePoint, view: ParallelView
) -> Label:
    at = view(np.array([one.x_m, one.y_m, 0.0]))
    size = 4.0
    mark = at + np.array([(-size, size), (size, size), (0.0, -size)])
    sheet.area([mark], filled(INK))
    space.take_area(mark)
    return Label(lines=((one.name, 600),), target=(float(at[0]), float(at[1])))


def _floor(point: tuple[float, float, float]) -> FloatArray:
    return np.array([point[0], point[1], 0.0])
