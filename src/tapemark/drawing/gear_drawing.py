"""Lights, stands, camera, panels and the rest, drawn in a parallel view."""

import numpy as np

from tapemark.analysis import Emitter, FlatFace, Scene, frame_view
from tapemark.drawing.brush import hull
from tapemark.drawing.gear import (
    Gear,
    Part,
    camera_gear,
    camera_stand_legs,
    light_gear,
)
from tapemark.drawing.labels import LabelSpace
from tapemark.drawing.projection import ParallelView, view_direction
from tapemark.drawing.stands import rig_of, stand_shape
from tapemark.drawing.style import FINE, INK, LIT, SOFT_INK, THICK, THIN, WHITE, Paint, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.drawing.trace import contour_lines
from tapemark.geometry import FloatArray
from tapemark.studio import Light

BODY = "#dde2e8"
HIDDEN_DASH = (3.0, 1.8)
WALL_M = 0.12  # thickness of the walls drawn (assumption)
_THICKNESS_M = 0.02  # of panels, screens and the backdrop
_PATCH_LEVEL = 0.5  # of its brightest: the part of a bounce that is drawn
_SMALL_PATCH = 0.15  # of the drawing: labels keep off patches smaller than this
_TAPE_M = 0.15  # length of the strips of a tape mark


def draw_light(
    sheet: Sheet, space: LabelSpace, light: Light, *, scene: Scene, view: ParallelView
) -> None:
    """Draw a light on its stand to scale."""
    draw_light_stand(sheet, space, light, scene=scene, view=view)
    draw_light_head(sheet, space, light, scene=scene, view=view)


def draw_light_head(
    sheet: Sheet, space: LabelSpace, light: Light, *, scene: Scene, view: ParallelView
) -> None:
    """Draw a light with its modifier, without what carries it."""
    gear = light_gear(light, setup=scene.setup)
    with sheet.group("light"):
        _draw_gear(sheet, space, gear, view=view, lit=light.on)


def draw_light_stand(
    sheet: Sheet, space: LabelSpace, light: Light, *, scene: Scene, view: ParallelView
) -> None:
    """Draw what carries a light: column, legs, arm and counterweight; nothing if it is fixed."""
    shape = stand_shape(rig_of(light, scene.setup))
    thin = line(FINE if view.view_from == "above" else THIN, color=SOFT_INK)
    rods = [("leg", leg, thin) for leg in shape.legs]
    rods += [("column", shape.column, thin)] if shape.column is not None else []
    rods += [("arm", shape.arm, line(THICK, color=SOFT_INK))] if shape.arm is not None else []
    with sheet.group("stand"):
        for name, points, paint in rods:
            page = view(points)
            sheet.line(page, paint, name=name)
            space.take_line(page)
        if shape.counterweight is not None:
            block = hull(view(shape.counterweight))
            sheet.area([block], filled(INK, outline=THIN), name="counterweight")
            space.take_area(block, width_pt=2.0)


def draw_camera(sheet: Sheet, space: LabelSpace, *, scene: Scene, view: ParallelView) -> None:
    """Draw the camera on its tripod to scale."""
    gear = camera_gear(scene.setup, axes=frame_view(scene).axes)
    with sheet.group("camera"):
        for leg in camera_stand_legs(gear.mount):
            page = view(leg)
            sheet.line(page, line(FINE if view.view_from == "above" else THIN, color=SOFT_INK))
            space.take_line(page)
        _draw_gear(sheet, space, gear, view=view, lit=False)


def draw_flat_things(
    sheet: Sheet, space: LabelSpace, *, scene: Scene, view: ParallelView
) -> list[tuple[str, tuple[float, float]]]:
    """Draw panels, windows, screens and the backdrop; return names and places [pt]."""
    found = []
    for emitter in scene.emitters:
        if emitter.kind not in {"panel", "window", "screen", "backdrop"}:
            continue
        rim = emitter.face.outline()
        thick = WALL_M if emitter.kind == "window" else _THICKNESS_M
        outline = hull(view(np.concatenate([rim, rim - thick * emitter.face.axes[:, 1]])))
        working = hull(view(rim))
        with sheet.group(emitter.kind):
            if _towards_viewer(emitter, scene, view):
                sheet.area([working], Paint(stroke=INK, width=THIN, dash=HIDDEN_DASH))
            else:
                lit = emitter.kind in {"window", "screen"}
                sheet.area([outline], filled(LIT if lit else WHITE, outline=THIN))
                sheet.area([working], Paint(stroke=INK, width=THICK))
        space.take_area(outline, width_pt=3.0)
        page = view(emitter.face.center)
        found.append((emitter.name, (float(page[0]), float(page[1]))))
    return found


def _towards_viewer(emitter: Emitter, scene: Scene, view: ParallelView) -> bool:
    """Return whether a thing stands between the viewer of an elevation and the sitter."""
    if view.view_from == "above":
        return False
    towards = view_direction(view.view_from)
    return float((emitter.face.center - scene.pose.origin) @ towards) > 0.25


def draw_bounces(
    sheet: Sheet, space: LabelSpace, *, scene: Scene, view: ParallelView, window: FloatArray
) -> list[tuple[str, tuple[float, float]]]:
    """Draw the patches that lights are bounced off; return names and places [pt].

    Parameters
    ----------
    sheet, space, scene, view : Sheet, LabelSpace, Scene, ParallelView
        Page, room for labels, what there is, and how it is seen.
    window : (2, 2) array
        Upper left and lower right corner of the part that is drawn. [pt]
    """
    found = []
    for emitter in scene.emitters:
        if emitter.kind not in {"ceiling", "wall"} or emitter.brightness <= 0:
            continue
        with sheet.group("bounce"):
            for patch in bounce_patch(emitter):
                page = view(patch)
                sheet.area([page], Paint(fill=LIT, opacity=0.55))
                sheet.area([page], Paint(stroke=SOFT_INK, width=THIN, dash=(4.0, 2.0)))
                low, high = np.clip((page.min(axis=0), page.max(axis=0)), *window)
                space.take_line(np.concatenate([page, page[:1]]))
                if np.prod((high - low) / np.ptp(window, axis=0)) < _SMALL_PATCH:
                    space.take_area(page)
                middle = (low + high) / 2
                found.append((emitter.name, (float(middle[0]), float(middle[1]))))
    return found


def bounce_patch(emitter: Emitter) -> list[FloatArray]:
    """Return world outlines (n, 3) of where a lit surface is half as bright as at most [m]."""
    face, lit_map = emitter.face, emitter.lit_map
    if lit_map is None or not isinstance(face, FlatFace):
        return []
    rows, columns = lit_map.shape
    x = np.clip((np.arange(-1, columns + 1) + 0.5) / columns - 0.5, -0.5, 0.5) * face.width_m
    z = np.clip((np.arange(-1, rows + 1) + 0.5) / rows - 0.5, -0.5, 0.5) * face.height_m
    lines = contour_lines(np.pad(lit_map, 1), _PATCH_LEVEL * float(lit_map.max()), x=x, y=z)
    return [
        face.center + np.stack([run[:, 0], np.zeros(len(run)), run[:, 1]], axis=-1) @ face.axes.T
        for run in lines
        if len(run) > 3
    ]


def draw_tape_mark(
    sheet: Sheet,
    space: LabelSpace,
    at: FloatArray,
    *,
    view: ParallelView,
    name: str = "tape mark",
) -> None:
    """Draw the cross of tape that marks a place on the floor, as seen from above."""
    half, wide = _TAPE_M / 2, 0.022
    with sheet.group(name):
        for turn in (np.pi / 4, -np.pi / 4):
            along = np.array([np.cos(turn), np.sin(turn), 0.0])
            across = np.array([-along[1], along[0], 0.0])
            strip = [
                at + a * half * along + b * wide * across
                for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            ]
            page = view(np.array(strip))
            sheet.area([page], filled(WHITE, outline=FINE))
            space.take_area(page)


def _draw_gear(
    sheet: Sheet, space: LabelSpace, gear: Gear, *, view: ParallelView, lit: bool
) -> None:
    """Draw the parts of a thing back to front; a lit face turned away shows as a broken line."""
    towards_viewer = view_direction(view.view_from)
    turned_away = float(gear.facing @ towards_viewer) < 0
    parts = sorted(gear.parts, key=lambda part: float(part.points.mean(axis=0) @ towards_viewer))
    hidden = [part for part in parts if part.role == "face" and turned_away]
    for part in [one for one in parts if one not in hidden]:
        _draw_part(sheet, part, view, lit=lit)
    for part in hidden:
        outline = hull(view(part.points))
        sheet.area([outline], Paint(fill=LIT, opacity=0.5 if lit else 0.0))
        sheet.area([outline], Paint(stroke=INK, width=THIN, dash=HIDDEN_DASH), name="face")
    for part in parts:
        page = view(part.points)
        space.take_area(hull(page), width_pt=2.0) if len(page) > 2 else space.take_line(page)


def _draw_part(sheet: Sheet, part: Part, view: ParallelView, *, lit: bool) -> None:
    page = view(part.points)
    if part.role == "rod":
        sheet.line(page, line(THIN))
    elif part.role == "face":
        paint = Paint(fill=LIT if lit else WHITE, stroke=INK, width=THICK)
        sheet.area([hull(page)], paint, name="face")
    else:
        fill = INK if part.role == "head" else BODY
        sheet.area([hull(page)], filled(fill, outline=THIN), name=part.role)
