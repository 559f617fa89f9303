"""The side elevation, to scale: heights, and where the light in the lenses comes from."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis import LensGlare, Scene, rigs
from tapemark.drawing.body_profile import draw_arm, draw_body
from tapemark.drawing.far_view import draw_sitter_from_afar
from tapemark.drawing.floor import RoomCut, hatch_band, room_cut
from tapemark.drawing.gear_drawing import (
    WALL_M,
    draw_bounces,
    draw_camera,
    draw_flat_things,
    draw_light_head,
    draw_light_stand,
)
from tapemark.drawing.glare_rays import LightRay, glare_rays, ray_words
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
    ticks,
)
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.ray_drawing import draw_ray, ray_key
from tapemark.drawing.style import FINE, SMALL_PT, SOFT_INK, THICK, THIN, WARM, WHITE, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.studio import Light, Setup, Sitter
from tapemark.units import FOOT, UnitSystem, format_length

_FOOT_PT = 40.0  # for scale bar and key
_SLAB_M = 0.12  # thickness of floor and ceiling drawn
_RULER_PT = 30.0  # beside the drawing, for heights


def elevation_drawing(
    scene: Scene,
    *,
    lenses: tuple[LensGlare, ...],
    seen_from: Literal["camera-left", "camera-right"] = "camera-left",
    others: tuple[Scene, ...] = (),
) -> str:
    """Return the side elevation of a setup as SVG text.

    Parameters
    ----------
    scene : Scene
        The setup as surfaces.
    lenses : tuple of LensGlare
        What each lens shows; empty without glasses.
    seen_from : str
        From which side one looks.
    others : tuple of Scene
        About everybody else in the setup.
    """
    setup = scene.setup
    page = _page(scene, seen_from)
    sheet, view, space = page.sheet, page.view, page.space
    _draw_room(page, setup)
    rays = glare_rays(scene, lenses=lenses)
    window = page.cut.window(view, height_m=setup.room.height_m)
    within = sheet.clip([box_corners(window)])
    labels = _draw_things(sheet, space, (scene, *others), view=view, window=window)
    with sheet.group("rays", clip=within):
        for ray in rays:
            draw_ray(sheet, space, ray, view=view)
    labels = [_with_ray(label, rays, setup) for label in labels]
    bar = (MARGIN_PT, sheet.height_pt - MARGIN_PT - 16.0)
    taken = scale_bar(sheet, x=bar[0], y=bar[1], scale=page.scale, system=setup.units)
    ray_key(sheet, rays, x=taken[2] + 24.0, y=bar[1] + 3.5)
    placed, left_out = space.place(labels)
    draw_labels(sheet, placed)
    names = [label.lines[0][0] for label in left_out]
    left_out_note(sheet, names, x=MARGIN_PT, y=sheet.height_pt - MARGIN_PT + 12.0, room_pt=480.0)
    return sheet.to_text()


@dataclass(frozen=True, kw_only=True, eq=False)
class _Page:
    """The page, the part of the room on it and its scale."""

    sheet: Sheet
    view: ParallelView
    scale: DrawingScale
    space: LabelSpace
    cut: RoomCut


def _page(scene: Scene, seen_from: Literal["camera-left", "camera-right"]) -> _Page:
    setup, cut = scene.setup, room_cut(scene)
    width, height = A4_LONG_PT, A4_SHORT_PT
    high = setup.room.height_m + 2 * _SLAB_M
    room = (width - 2 * MARGIN_PT - _RULER_PT, height - 2 * MARGIN_PT - HEADER_PT - _FOOT_PT)
    scale = largest_scale(cut.depth_m, high, room_pt=room, system=setup.units)
    size = (cut.depth_m * scale.points_per_m, high * scale.points_per_m)
    left = MARGIN_PT + _RULER_PT + (room[0] - size[0]) / 2
    floor_y = MARGIN_PT + HEADER_PT + (room[1] + size[1]) / 2 - _SLAB_M * scale.points_per_m
    first_y_m = cut.y_min_m if seen_from == "camera-left" else -cut.y_max_m
    view = ParallelView(
        view_from=seen_from,
        points_per_m=scale.points_per_m,
        at_origin=(left - first_y_m * scale.points_per_m, floor_y),
    )
    sheet = Sheet(
        width_pt=width,
        height_pt=height,
        title=f"Side elevation: {setup.title or setup.sitter.name}",
        description=_described(setup, seen_from),
    )
    high_text = format_length(setup.room.height_m, system=setup.units)
    detail = f"seen from {seen_from}, ceiling {high_text}, {scale.text}"
    heading(sheet, title=setup.title, kind="Side elevation", detail=detail)
    space = LabelSpace(
        left=MARGIN_PT,
        top=MARGIN_PT + HEADER_PT - 18.0,
        right=width - MARGIN_PT,
        bottom=height - MARGIN_PT - _FOOT_PT + 12.0,
    )
    return _Page(sheet=sheet, view=view, scale=scale, space=space, cut=cut)


def _described(setup: Setup, seen_from: str) -> str:
    heights = "; ".join(
        f"{light.name} {format_length(light.place.height_m, system=setup.units)} high"
        for light in setup.lights
    )
    eyes = format_length(setup.sitter.eye_height_m, system=setup.units)
    camera = format_length(setup.camera.place.height_m, system=setup.units)
    return f"Seen from {seen_from}. Eyes {eyes} high; camera {camera} high; {heights}."


def _draw_room(page: _Page, setup: Setup) -> None:
    """Draw floor, ceiling and the walls that are near, and a rule for heights."""
    sheet, view, cut, room = page.sheet, page.view, page.cut, setup.room
    y0, y1 = cut.y_min_m, cut.y_max_m
    bands = [
        [(y0, -_SLAB_M), (y1, 0.0)],
        [(y0, room.height_m), (y1, room.height_m + _SLAB_M)],
    ]
    if "y_min" in cut.walls:
        bands.append([(y0, 0.0), (y0 + WALL_M, room.height_m)])
    if "y_max" in cut.walls:
        bands.append([(y1 - WALL_M, 0.0), (y1, room.height_m)])
    with sheet.group("walls"):
        for low, high in bands:
            band = view(_upright([low, (high[0], low[1]), high, (low[0], high[1])]))
            sheet.area([band], filled(WHITE))
            hatch_band(sheet, band)
            page.space.take_area(band)
        inner = (
            y0 + WALL_M if "y_min" in cut.walls else y0,
            y1 - WALL_M if "y_max" in cut.walls else y1,
        )
        for z in (0.0, room.height_m):
            sheet.line(view(_upright([(inner[0], z), (inner[1], z)])), line(THICK))
        for name, y in zip(("y_min", "y_max"), inner, strict=True):
            ends = view(_upright([(y, 0.0), (y, room.height_m)]))
            paint = (
                line(THICK) if name in cut.walls else line(THIN, color=SOFT_INK, dash=(8.0, 3.0))
            )
            sheet.line(ends, paint)
            page.space.take_line(ends, width_pt=3.0)
    _draw_rule(page, setup)


def _draw_rule(page: _Page, setup: Setup) -> None:
    """Draw a tape measure for heights beside the drawing."""
    sheet, view, high = page.sheet, page.view, setup.room.height_m
    left = min(
        float(view(np.array([0.0, y, 0.0]))[0]) for y in (page.cut.y_min_m, page.cut.y_max_m)
    )
    x = left - 7.0
    step, named = (0.1, 5) if setup.units == "metric" else (FOOT / 2, 2)
    with sheet.group("rule"):
        ends = view(np.array([(0.0, 0.0, 0.0), (0.0, 0.0, high)]))
        sheet.line([(x, ends[0, 1]), (x, ends[1, 1])], line(THIN))
        for k in range(int(high / step + 1e-9) + 1):
            y = float(view(np.array([0.0, 0.0, k * step]))[1])
            size = 6.0 if k % named == 0 else 3.0
            sheet.line([(x, y), (x - size, y)], line(FINE))
            if k % named == 0:
                number = f"{k * step:.1f}" if setup.units == "metric" else f"{k // 2}"
                sheet.text(
                    x - 8.0, y + 3.0, number, size_pt=SMALL_PT, color=SOFT_INK, anchor="right"
                )
        unit = "m" if setup.units == "metric" else "ft"
        at = float(ends[1, 1]) - 8.0
        sheet.text(x - 8.0, at, unit, size_pt=SMALL_PT, color=SOFT_INK, anchor="right")
    page.space.take_box(x - 30.0, float(ends[1, 1]) - 18.0, x + 2.0, float(ends[0, 1]) + 6.0)


def _draw_things(
    sheet: Sheet,
    space: LabelSpace,
    people: tuple[Scene, ...],
    *,
    view: ParallelView,
    window: FloatArray,
) -> list[Label]:
    """Draw everything in the room; return the labels, the most important first."""
    scene = people[0]
    setup = scene.setup
    with sheet.group("in the room", clip=sheet.clip([box_corners(window)])):
        bounces = draw_bounces(sheet, space, scene=scene, view=view, window=window)
    flats = draw_flat_things(sheet, space, scene=scene, view=view)
    depth = 1.0 if view.view_from == "camera-left" else -1.0
    stands = [(rig.base_m[0] * depth >= 0, rig.light) for rig in rigs(setup)]
    heads = [(one.place.position_m[0] * depth >= 0, one) for one in setup.lights]
    for light in [one for near, one in stands if not near]:
        draw_light_stand(sheet, space, light, scene=scene, view=view)
    for light in [one for near, one in heads if not near]:
        space.take_line(_draw_height(sheet, light, view))
        draw_light_head(sheet, space, light, scene=scene, view=view)
    draw_camera(sheet, space, scene=scene, view=view)
    for person in sorted(people, key=lambda one: depth * one.pose.origin[0]):
        _draw_person(sheet, space, person, view)
    for light in [one for near, one in stands if near]:
        draw_light_stand(sheet, space, light, scene=scene, view=view)
    for light in [one for near, one in heads if near]:
        space.take_line(_draw_height(sheet, light, view))
        draw_light_head(sheet, space, light, scene=scene, view=view)
    labels = [_light_label(light, setup, view) for light in setup.lights]
    labels += [_camera_label(setup, view)]
    labels += [_sitter_label(person.sitter, view, system=setup.units) for person in people]
    labels += [Label(lines=((name, 600),), target=at) for name, at in flats]
    labels += [Label(lines=((name, 400),), target=at, color=SOFT_INK) for name, at in bounces]
    return labels


def _draw_person(sheet: Sheet, space: LabelSpace, person: Scene, view: ParallelView) -> None:
    for outline in draw_body(sheet, person, view=view):
        space.take_area(outline, width_pt=2.0)
    for outline in draw_sitter_from_afar(sheet, person, view=view):
        space.take_area(outline, width_pt=3.0)
    space.take_area(draw_arm(sheet, person, view=view))


def _draw_height(sheet: Sheet, light: Light, view: ParallelView) -> FloatArray:
    """Draw the height of a light's middle as a dimension line with ticks; return it [pt]."""
    x, y, z = light.place.position_m
    page = view(np.array([(x, y, 0.0), (x, y, z)]))
    with sheet.group("height"):
        sheet.line(page, line(FINE, color=SOFT_INK, dash=(1.0, 2.0)))
        ticks(sheet, page)
    return page


def _light_label(light: Light, setup: Setup, view: ParallelView) -> Label:
    at = view(np.array(light.place.position_m))
    height = format_length(light.place.height_m, system=setup.units)
    name = light.name if light.on else f"{light.name} (off)"
    lines = ((name, 600), (f"middle {height} high", 400))
    return Label(lines=lines, target=(float(at[0]), float(at[1])))


def _camera_label(setup: Setup, view: ParallelView) -> Label:
    at = view(np.array(setup.camera.place.position_m))
    height = format_length(setup.camera.place.height_m, system=setup.units)
    return Label(
        lines=(("camera", 600), (f"lens {height} high", 400)), target=(float(at[0]), float(at[1]))
    )


def _sitter_label(sitter: Sitter, view: ParallelView, *, system: UnitSystem) -> Label:
    x, y = sitter.mark_m
    at = view(np.array([x, y - 0.12, sitter.eye_height_m + 0.02]))
    height = format_length(sitter.eye_height_m, system=system)
    return Label(
        lines=((sitter.name, 600), (f"eyes {height} high", 400)),
        target=(float(at[0]), float(at[1])),
    )


def _with_ray(label: Label, rays: tuple[LightRay, ...], setup: Setup) -> Label:
    """Return the label of a light with the words on where its ray goes."""
    own = [ray for ray in rays if ray.source == label.lines[0][0]]
    if not own:
        return label
    words = ray_words(own[0], system=setup.units)
    color = WARM if own[0].goes == "over the eye" else label.color
    return Label(
        lines=(*label.lines, (words, 600 if color == WARM else 400)),
        target=label.target,
        color=color,
    )


def _upright(places: list[tuple[float, float]]) -> FloatArray:
    return np.array([(0.0, y, z) for y, z in places])
