"""The side elevation and the camera's frame of a rig sheet: small, with what one sets by them."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Scene, frame_view, rigs
from tapemark.drawing.body_profile import draw_arm, draw_body
from tapemark.drawing.far_view import draw_sitter_from_afar
from tapemark.drawing.floor import hatch_band, room_cut
from tapemark.drawing.gear_drawing import (
    draw_camera,
    draw_flat_things,
    draw_light_head,
    draw_light_stand,
)
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.page import box_corners, fitted
from tapemark.drawing.paper.rig_plan import (
    EDGE_PT,
    SIZE_PT,
    fitting_scale,
    place_near,
    place_or_shorten,
)
from tapemark.drawing.portrait import Placement
from tapemark.drawing.projection import CameraView, ParallelView
from tapemark.drawing.sitter_picture import SitterPicture
from tapemark.drawing.style import (
    FINE,
    INK,
    PAPER,
    SOFT_INK,
    THICK,
    THIN,
    WHITE,
    Paint,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray, Vec3
from tapemark.planning.rigging.sheet import RigSheet
from tapemark.studio import Setup
from tapemark.units import FOOT, format_length
from tapemark.units.apart import apart

_SLAB_M = 0.10  # thickness of floor and ceiling drawn
_RULER_PT = 24.0  # beside the drawing, for heights
_NAME_PT = 90.0  # the widest name of a label
_NEAR_PT = 45.0  # a label of eyes or lens farther off than this says nothing
_STEP_M = 2.2e-3  # of the lattice at the sitter


def rig_elevation(
    scene: Scene, rig: RigSheet, *, size_pt: tuple[float, float], others: tuple[Scene, ...] = ()
) -> str:
    """Return the side elevation of a rig sheet as SVG text, seen from camera-left.

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
    setup, cut = scene.setup, room_cut(scene)
    high = setup.room.height_m + 2 * _SLAB_M
    room = (size_pt[0] - 2 * EDGE_PT - _RULER_PT, size_pt[1] - 2 * EDGE_PT)
    scale = fitting_scale(cut.depth_m, high, room_pt=room)
    per_m = scale.points_per_m
    left = EDGE_PT + _RULER_PT + (room[0] - cut.depth_m * per_m) / 2
    floor_y = EDGE_PT + (room[1] + high * per_m) / 2 - _SLAB_M * per_m
    view = ParallelView(
        view_from="camera-left",
        points_per_m=per_m,
        at_origin=(left - cut.y_min_m * per_m, floor_y),
    )
    sheet = Sheet(
        width_pt=size_pt[0],
        height_pt=size_pt[1],
        title="Side elevation",
        description=f"Seen from camera-left, {scale.text}. {_told(rig)}",
    )
    space = LabelSpace(
        left=left, top=EDGE_PT, right=size_pt[0] - EDGE_PT, bottom=size_pt[1] - EDGE_PT
    )
    ends = (cut.y_min_m, cut.y_max_m)
    _draw_room(sheet, space, view, ends=ends, height_m=setup.room.height_m)
    _draw_rule(sheet, view, left=left, setup=setup)
    window = cut.window(view, height_m=setup.room.height_m)
    with sheet.group("in the room", clip=sheet.clip([box_corners(window)])):
        draw_flat_things(sheet, space, scene=scene, view=view)
        _draw_gear(sheet, space, (scene, *others), view)
    place_or_shorten(sheet, space, _light_labels(rig, setup, view))
    near = [*_eye_labels(setup, view), *_backdrop_labels(setup, view)]
    place_near(sheet, space, near, reach_pt=_NEAR_PT)
    return sheet.to_text().replace(PAPER, WHITE)


def _told(rig: RigSheet) -> str:
    return "; ".join(f"{one.name} {one.height}" for one in rig.lines if one.height) + "."


def _draw_room(
    sheet: Sheet,
    space: LabelSpace,
    view: ParallelView,
    *,
    ends: tuple[float, float],
    height_m: float,
) -> None:
    bands = [(-_SLAB_M, 0.0), (height_m, height_m + _SLAB_M)]
    with sheet.group("walls"):
        for low, top in bands:
            corners = [(ends[0], low), (ends[1], low), (ends[1], top), (ends[0], top)]
            band = view(_upright(corners))
            sheet.area([band], filled(WHITE))
            hatch_band(sheet, band)
            space.take_area(band)
        for z in (0.0, height_m):
            sheet.line(view(_upright([(ends[0], z), (ends[1], z)])), line(THICK))
        for y in ends:
            edge = view(_upright([(y, 0.0), (y, height_m)]))
            sheet.line(edge, line(FINE, color=SOFT_INK, dash=(8.0, 3.0)))


def _draw_rule(sheet: Sheet, view: ParallelView, *, left: float, setup: Setup) -> None:
    """Draw a tape measure for heights beside the drawing."""
    metric = setup.units == "metric"
    step, named = (0.5, 1) if metric else (FOOT, 2)
    x = left - 4.0
    high = setup.room.height_m
    with sheet.group("rule"):
        ends = view(np.array([(0.0, 0.0, 0.0), (0.0, 0.0, high)]))
        sheet.line([(x, ends[0, 1]), (x, ends[1, 1])], line(THIN))
        for k in range(int(high / step + 1e-9) + 1):
            y = float(view(np.array([0.0, 0.0, k * step]))[1])
            sheet.line([(x, y), (x - 4.0, y)], line(FINE))
            if k % named == 0:
                number = f"{k * step:.1f}" if metric else f"{k}'"
                place = (x - 6.0, y + 3.0)
                sheet.text(*place, number, size_pt=SIZE_PT, color=SOFT_INK, anchor="right")


def _draw_gear(
    sheet: Sheet, space: LabelSpace, people: tuple[Scene, ...], view: ParallelView
) -> None:
    scene = people[0]
    placed = rigs(scene.setup)
    for near in (False, True):
        for rig in (one for one in placed if (one.base_m[0] >= 0) == near):
            draw_light_stand(sheet, space, rig.light, scene=scene, view=view)
        lights = [one for one in scene.setup.lights if (one.place.position_m[0] >= 0) == near]
        for light in lights:
            draw_light_head(sheet, space, light, scene=scene, view=view)
        if not near:
            draw_camera(sheet, space, scene=scene, view=view)
            for person in sorted(people, key=lambda one: float(one.pose.origin[0])):
                _draw_person(sheet, space, person, view)


def _draw_person(sheet: Sheet, space: LabelSpace, person: Scene, view: ParallelView) -> None:
    for outline in draw_body(sheet, person, view=view):
        space.take_area(outline, width_pt=2.0)
    for outline in draw_sitter_from_afar(sheet, person, view=view):
        space.take_area(outline, width_pt=3.0)
    space.take_area(draw_arm(sheet, person, view=view))


def _light_labels(rig: RigSheet, setup: Setup, view: ParallelView) -> list[Label]:
    """Return what names each light, with the height of its middle."""
    numbers = {one.name: one.number for one in rig.lines if one.kind == "light"}
    labels = []
    for light in setup.lights:
        name = fitted(
            f"{numbers[light.name]} {apart(light.name)}", _NAME_PT, size_pt=SIZE_PT, weight=600
        )
        height = format_length(light.place.height_m, system=setup.units)
        labels.append(_label(view, light.place.position_m, (name, 600), (height, 400)))
    return labels


def _eye_labels(setup: Setup, view: ParallelView) -> list[Label]:
    """Return the heights of the lens and of the sitter's eyes."""
    lens = format_length(setup.camera.place.height_m, system=setup.units)
    eyes = format_length(setup.sitter.eye_height_m, system=setup.units)
    head = (0.0, -0.12, setup.sitter.eye_height_m + 0.02)
    return [
        _label(view, setup.camera.place.position_m, (f"lens {lens}", 400)),
        _label(view, head, (f"eyes {eyes}", 400)),
    ]


def _backdrop_labels(setup: Setup, view: ParallelView) -> list[Label]:
    """Return what names the backdrop, at its upper edge."""
    if setup.backdrop is None:
        return []
    top = (0.0, -setup.backdrop.distance_m, setup.backdrop.height_m)
    return [_label(view, top, ("backdrop", 400))]


def _label(view: ParallelView, place: Vec3, *lines: tuple[str, int]) -> Label:
    at = view(np.array(place))
    return Label(lines=lines, target=(float(at[0]), float(at[1])), size_pt=SIZE_PT)


def _upright(places: list[tuple[float, float]]) -> FloatArray:
    return np.array([(0.0, y, z) for y, z in places])


@dataclass(frozen=True, kw_only=True, slots=True)
class _Frame:
    """The camera's whole frame on the page."""

    view: CameraView
    size_pt: tuple[float, float]

    @property
    def box(self) -> tuple[float, float, float, float]:
        wide, high = self.view.half_width, self.view.half_height
        return (-wide, -high, wide, high)

    @property
    def place(self) -> Placement:
        scale = (self.size_pt[0] - 2 * EDGE_PT) / (2 * self.view.half_width)
        return Placement(scale=scale, x=self.size_pt[0] / 2, y=self.size_pt[1] / 2)

    @property
    def corners(self) -> FloatArray:
        wide, high = self.size_pt
        near = EDGE_PT
        return np.array(
            [(near, near), (wide - near, near), (wide - near, high - near), (near, high - near)]
        )


def rig_frame(picture: SitterPicture, *, room_pt: tuple[float, float]) -> str:
    """Return the frame as the camera sees it as SVG text, as large as there is room.

    Parameters
    ----------
    picture : SitterPicture
        The sitter, with everybody else.
    room_pt : tuple of two floats
        Most width and height on the page. [pt]
    """
    view = frame_view(picture.scene)
    inner = (room_pt[0] - 2 * EDGE_PT, room_pt[1] - 2 * EDGE_PT)
    scale = min(inner[0] / view.half_width, inner[1] / view.half_height) / 2
    size = (
        2 * view.half_width * scale + 2 * EDGE_PT,
        2 * view.half_height * scale + 2 * EDGE_PT,
    )
    sheet = Sheet(
        width_pt=size[0],
        height_pt=size[1],
        title="Through the camera",
        description="The frame as the camera sees it.",
    )
    window = _Frame(view=view, size_pt=size)
    picture.draw(sheet, window=window, step_m=_STEP_M)
    sheet.area([window.corners], Paint(stroke=INK, width=THIN))
    return sheet.to_text().replace(PAPER, WHITE)
