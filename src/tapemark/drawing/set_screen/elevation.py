"""The side elevation for the screen, seen from camera-left: sitter on the left, camera right.

Units are millimetres of the room: a place y, z of the world [m] is drawn at 1000 y, -1000 z.  See
`set_style` for the classes.
"""

from collections.abc import Iterator
from functools import lru_cache, partial

import numpy as np

from tapemark.drawing.projection import ParallelView
from tapemark.drawing.set_screen.plan import plan_box
from tapemark.drawing.set_screen.svg import SetSheet, offset
from tapemark.drawing.set_screen.things import (
    HEAD,
    HIT_MM,
    NEAR_LIMBS,
    NECK,
    TRUNK,
    SetPerson,
    SetShown,
    Words,
    aim_key,
    apart,
    body_outline,
    camera_key,
    camera_label,
    camera_of,
    draw_aim,
    draw_flats,
    draw_gear,
    draw_ray,
    draw_stand,
    draw_verdict,
    draw_words,
    flat_thing,
    flats,
    frame_edges,
    frame_key,
    gear_of,
    nose_tip,
    sitter_label,
    sitter_thing,
)
from tapemark.geometry import FloatArray
from tapemark.studio import Light, Room, Setup
from tapemark.units import FOOT, UnitSystem, format_length

SIDE = ParallelView(view_from="camera-left", points_per_m=1000.0, at_origin=(0.0, 0.0))
_ABOVE_M, _BELOW_M = 0.25, 0.3
_SEAT_M = (0.36, 0.05)  # of a stool: across and thick
_FLAG_MM = 70.0  # of a pennant over its light


def set_elevation(shown: SetShown) -> tuple[tuple[float, float, float, float], tuple[str, ...]]:
    """Return the elevation's box in metres (left, top, width, height) and its fragment's parts."""
    setup, sheet = shown.setup, SetSheet()
    _, top, _, deep = plan_box(setup)
    sheet.raw(_ground(setup.room, setup.units, setup.sitter.eye_height_m))
    sheet.kept(("side sees", frame_key(shown.scene)), lambda own: _field_of_view(own, shown))
    draw_flats(sheet, shown, view=SIDE)
    for light in setup.lights:
        draw_ray(sheet, light, shown=shown, view=SIDE)
    for light in setup.lights:
        if light.place.position_m[0] < 0.0:
            _kept_light(sheet, light, shown)
    for one in sorted(shown.people, key=lambda each: float(each.scene.pose.origin[0])):
        who = (one.scene.sitter, one.verdicts, one is shown.people[0], setup.units)
        sheet.kept(("side person", who), partial(_person, one=one, setup=setup))
    sheet.kept(("side camera", camera_key(setup)), lambda own: _camera(own, shown))
    for light in setup.lights:
        if light.place.position_m[0] >= 0.0:
            _kept_light(sheet, light, shown)
    for light in setup.lights:
        draw_aim(sheet, light, setup=setup, view=SIDE)
    for words in apart(_words(shown)):
        draw_words(sheet, words)
    high = setup.room.height_m
    return (top, -high - _ABOVE_M, deep, high + _ABOVE_M + _BELOW_M), sheet.to_parts()


def _field_of_view(sheet: SetSheet, shown: SetShown) -> None:
    """Draw the upper and the lower edge of the camera's frame."""
    page = SIDE(frame_edges(shown, across=False))
    page[:, 1] = np.clip(page[:, 1], -1000 * shown.setup.room.height_m, 0.0)
    sheet.area([page], "sees")
    sheet.line(page, "frame-edge")


def _kept_light(sheet: SetSheet, light: Light, shown: SetShown) -> None:
    key = ("side light", light, shown.said(light), aim_key(shown.setup), shown.setup.units)
    sheet.kept(key, lambda own: _light(own, light, shown))


@lru_cache(maxsize=32)
def _ground(room: Room, system: UnitSystem, eyes_m: float) -> str:
    """Return floor, ceiling, walls, a rule for heights and the height of the eyes."""
    sheet = SetSheet()
    y0, y1, high = 1000 * room.y_min_m, 1000 * room.y_max_m, 1000 * room.height_m
    corners = np.array([(y0, 0.0), (y0, -high), (y1, -high), (y1, 0.0)])
    step, named = (0.1, 5) if system == "metric" else (FOOT / 2, 2)
    with sheet.group("ground"):
        sheet.area([corners], "floor")
        sheet.area([corners], "wall")
        for size, every in ((30, 1), (60, named)):  # ticks: the dashes of a broad line
            gap = round(1000 * every * step)
            sheet.raw(
                f"<path class='ticks' d='M{y0 + size / 2:.0f} 4v{-high:.0f}' "
                f"stroke-width='{size}' stroke-dasharray='8 {gap - 8}'/>"
            )
        for k in range(named, int(room.height_m / step + 1e-9) + 1, named):
            word = f"{k * step:.1f}" if system == "metric" else f"{k // 2}"
            sheet.text(np.array([y0 + 95, -1000 * k * step]), word, "rule", down=0.35)
        level = np.array([(y0, -1000 * eyes_m), (y1, -1000 * eyes_m)])
        sheet.line(level, "eye-line")
    return sheet.to_text()


def _person(sheet: SetSheet, one: SetPerson, setup: Setup) -> None:
    scene, sitter = one.scene, one.scene.sitter
    at = (*sitter.mark_m, sitter.eye_height_m)
    kind = "sitter" if sitter is setup.sitter else "companion"
    thing = sitter_thing(sitter, setup)
    with sheet.thing(kind, thing=thing, at_m=at, label=sitter_label(sitter, setup)):
        sheet.hit(SIDE(np.array(at)), HIT_MM)
        if sitter.posture == "seated":
            _stool(sheet, one)
        sheet.blob([body_outline(scene.body, NECK, view=SIDE)], "skin")
        for rows in (TRUNK, *NEAR_LIMBS):
            sheet.blob([body_outline(scene.body, rows, view=SIDE)], "cloth")
        sheet.blob([body_outline(scene.body, HEAD, view=SIDE)], "head")
        tip = nose_tip(scene)
        nose = np.array([(0.0, tip[1] - 0.03, 0.0), tip, (0.0, tip[1] - 0.03, tip[2] - 0.012)])
        sheet.line(SIDE(scene.pose.origin + nose @ scene.pose.axes.T), "nose")
        lens = np.array([(0.0, 0.02, 0.02), (0.0, 0.02, -0.02)])
        if scene.lenses is not None:
            sheet.line(SIDE(scene.pose.origin + lens @ scene.pose.axes.T), "glasses")
        if one.verdicts:
            worst = min(one.verdicts, key=("veiled", "edge", "clear").index)
            above = scene.pose.origin + np.array([0.0, 0.0, 0.24])
            draw_verdict(sheet, SIDE(above), worst, "both")


def _stool(sheet: SetSheet, one: SetPerson) -> None:
    sitter = one.scene.sitter
    y = sitter.mark_m[1] - 0.1
    top, (wide, thick) = sitter.seat_height_m, _SEAT_M
    seat = [(y - wide / 2, top), (y + wide / 2, top), (y + wide / 2, top - thick)]
    seat += [(y - wide / 2, top - thick)]
    legs = [[(y, top - thick), (y, 0.12)], [(y - wide / 2, 0.0), (y, 0.12)]]
    legs += [[(y, 0.12), (y + wide / 2, 0.0)]]
    sheet.lines([_upright(leg) for leg in legs], "stand")
    sheet.area([_upright(seat)], "stool")


def _camera(sheet: SetSheet, shown: SetShown) -> None:
    setup, gear = shown.setup, camera_of(shown.scene)
    at = setup.camera.place.position_m
    page = SIDE(np.array(at))
    with sheet.thing("camera", thing="camera", at_m=at, label=camera_label(setup)):
        sheet.hit(page, HIT_MM)
        mount = gear.mount - (0.0, 0.0, 0.1)
        y = float(mount[1])
        feet = [[(y, mount[2]), (y + reach, 0.0)] for reach in (-0.3, 0.0, 0.3)]
        sheet.lines([_upright(one) for one in feet], "stand")
        draw_gear(sheet, gear, view=SIDE)


def _light(sheet: SetSheet, light: Light, shown: SetShown) -> None:
    """Draw a light with a flag that tells its height and the reach of its stand."""
    setup = shown.setup
    at = light.place.position_m
    page = SIDE(np.array(at))
    state = shown.state(light)
    high = format_length(light.place.height_m, system=setup.units)
    label = f"{light.name}, {high} high"
    far = " far" if at[0] < 0 else ""
    with sheet.thing(f"light {state}{far}", thing=f"light.{light.name}", at_m=at, label=label):
        sheet.hit(page, HIT_MM)
        _reach(sheet, light, shown)
        draw_stand(sheet, light, setup=setup, view=SIDE)
        draw_gear(sheet, gear_of(light, setup=setup), view=SIDE)


def _reach(sheet: SetSheet, light: Light, shown: SetShown) -> None:
    """Draw how low and how high the middle of a light may hang."""
    if light.name not in shown.reach_m:
        return
    y = 1000 * light.place.position_m[1]
    low, high = (-1000 * one for one in shown.reach_m[light.name])
    ends = [[(y - 60, end), (y + 60, end)] for end in (low, high)]
    runs = [np.array(one) for one in ([(y, low), (y, high)], *ends)]
    sheet.lines(runs, "reach")


def _words(shown: SetShown) -> Iterator[Words]:
    """Yield the labels: names with heights, on pennants over the lights."""
    setup = shown.setup
    for emitter in flats(shown):
        rim = SIDE(emitter.face.outline())
        at = np.array([float(rim[:, 0].mean()), float(rim[:, 1].min()) - 60.0])
        lines = ((emitter.name, "name"),)
        yield Words(thing=flat_thing(emitter), name="flat", at=at, lines=lines, down=0.0)
    system = setup.units
    for person in setup.people:
        x, y = person.mark_m
        at = offset(SIDE(np.array([x, y, person.eye_height_m])), -230.0, 0.0)
        lines = ((format_length(person.eye_height_m, system=system), "height"),)
        thing = sitter_thing(person, setup)
        yield Words(thing=thing, name="", at=at, lines=lines, anchor="end", down=0.35)
    camera = SIDE(np.array(setup.camera.place.position_m))
    high = format_length(setup.camera.place.height_m, system=system)
    words = (("camera", "name"), (high, "height"))
    yield Words(thing="camera", name="", at=offset(camera, 190.0, 330.0), lines=words)
    for light in setup.lights:
        yield _light_words(light, shown)


def _light_words(light: Light, shown: SetShown) -> Words:
    """Return the words on the pennant over a light: its name and the height of its middle."""
    gear = gear_of(light, setup=shown.setup)
    top = min(float(SIDE(part.points)[:, 1].min()) for part in gear.parts)
    page = SIDE(np.array(light.place.position_m))
    room = -1000.0 * shown.setup.room.height_m
    at = np.array([float(page[0]), top - _FLAG_MM])
    text = format_length(light.place.height_m, system=shown.setup.units)
    name = f"light {shown.state(light)}"
    lines = ((light.name, "name"), (text, "height"))
    if top - 5.0 * _FLAG_MM < room:  # under the ceiling: below the light instead
        low = max(float(SIDE(part.points)[:, 1].max()) for part in gear.parts)
        below = np.array([float(page[0]), low + _FLAG_MM])
        return Words(thing=f"light.{light.name}", name=name, at=below, lines=lines, down=0.8)
    return Words(thing=f"light.{light.name}", name=name, at=at, lines=lines, down=-1.2)


def _upright(places: list[tuple[float, float]]) -> FloatArray:
    return np.array([(1000 * y, -1000 * z) for y, z in places])
