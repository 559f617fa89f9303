"""The floor plan for the screen: camera at the foot, camera-left on the left.

Units are millimetres of the room: a place x, y of the world [m] is drawn at -1000 x, 1000 y.  See
`set_style` for the classes.
"""

from collections.abc import Iterator
from functools import lru_cache, partial

import numpy as np

from tapemark.drawing.projection import ParallelView
from tapemark.drawing.set_screen.svg import SetSheet, offset
from tapemark.drawing.set_screen.things import (
    ARMS,
    HEAD,
    HIT_MM,
    LEGS,
    MARK_MM,
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
    light_label,
    nose_tip,
    rims,
    sitter_label,
    sitter_thing,
    standing_places,
)
from tapemark.studio import Light, Room, Setup
from tapemark.units import FOOT, UnitSystem, format_length

PLAN = ParallelView(view_from="above", points_per_m=1000.0, at_origin=(0.0, 0.0))
_AROUND_M = 0.35  # shown outside the walls
_MOST_M = 9.0  # a room larger than this is shown around the things only
_FREE_M = 1.2  # shown around things then
_STOOL_M, _TURN_OUT_M = 0.17, 0.62
_NAME_MM = 110.0  # of a label from its light


def set_plan(shown: SetShown) -> tuple[tuple[float, float, float, float], tuple[str, ...]]:
    """Return the plan's box in metres (left, top, width, height) and the parts of its fragment."""
    setup, sheet = shown.setup, SetSheet()
    pointed = aim_key(setup)
    sheet.raw(_ground(setup.room, setup.units))
    sheet.kept(("plan sees", frame_key(shown.scene)), lambda own: _field_of_view(own, shown))
    draw_flats(sheet, shown, view=PLAN)
    for light in setup.lights:
        draw_ray(sheet, light, shown=shown, view=PLAN)
        _tape(sheet, light, setup)
    for one in shown.people:
        who = (one.scene.sitter, one.verdicts, one is shown.people[0], setup.units)
        sheet.kept(("plan person", who), partial(_person, one=one, setup=setup))
    sheet.kept(("plan camera", camera_key(setup)), lambda own: _camera(own, shown))
    for light in setup.lights:
        what = (light, shown.said(light), pointed, setup.units)
        sheet.kept(("plan light", what), partial(_light, light=light, shown=shown))
    for light in setup.lights:
        draw_aim(sheet, light, setup=setup, view=PLAN)
    for words in apart(_words(shown)):
        draw_words(sheet, words)
    return plan_box(setup), sheet.to_parts()


def plan_box(setup: Setup) -> tuple[float, float, float, float]:
    """Return what the plan shows, left, top, width and height on the page [m]."""
    room = setup.room
    x = [room.x_min_m, room.x_max_m]
    y = [room.y_min_m, room.y_max_m]
    places = [one.position_m for one in standing_places(setup)] + [
        (*one.mark_m, 0.0) for one in setup.people
    ]
    for ends, axis in ((x, 0), (y, 1)):
        if ends[1] - ends[0] > _MOST_M:
            own = [place[axis] for place in places]
            ends[:] = max(ends[0], min(own) - _FREE_M), min(ends[1], max(own) + _FREE_M)
    left, top = -x[1] - _AROUND_M, y[0] - _AROUND_M
    return left, top, x[1] - x[0] + 2 * _AROUND_M, y[1] - y[0] + 2 * _AROUND_M


@lru_cache(maxsize=32)
def _ground(room: Room, system: UnitSystem) -> str:
    """Return floor and walls, which stay while things move."""
    sheet = SetSheet()
    step = round(1000 * (0.5 if system == "metric" else 2 * FOOT))
    half = step // 2
    arm = f"M{half - 30} {half}h60M{half} {half - 30}v60"
    sheet.raw(
        f"<pattern id='set-floor' x='{-half}' y='{-half}' width='{step}' height='{step}' "
        f"patternUnits='userSpaceOnUse'><path class='cross' d='{arm}'/></pattern>"
    )
    corners = [
        (room.x_max_m, room.y_min_m),
        (room.x_min_m, room.y_min_m),
        (room.x_min_m, room.y_max_m),
        (room.x_max_m, room.y_max_m),
    ]
    walls = PLAN(np.array([(*one, 0.0) for one in corners]))
    with sheet.group("ground"):
        sheet.area([walls], "floor")
        sheet.area([walls], "crosses")
        sheet.area([walls], "wall")
    return sheet.to_text()


def _field_of_view(sheet: SetSheet, shown: SetShown) -> None:
    """Draw the edges of the camera's frame as far as the wall or backdrop behind the sitter."""
    room = shown.setup.room
    page = PLAN(frame_edges(shown, across=True))
    limits = PLAN(np.array([(room.x_max_m, 0.0, 0.0), (room.x_min_m, 0.0, 0.0)]))[:, 0]
    page[:, 0] = np.clip(page[:, 0], *limits)
    sheet.area([page], "sees")
    sheet.line(page, "frame-edge")


def _tape(sheet: SetSheet, light: Light, setup: Setup) -> None:
    """Draw the tape from the sitter's mark to under a light, with its length."""
    x, y, _ = light.place.position_m
    page = PLAN(np.array([(0.0, 0.0, 0.0), (x, y, 0.0)]))
    with sheet.group("tape", **{"data-of": f"light.{light.name}"}):
        sheet.line(page, "run")
        text = format_length(light.place.distance_m, system=setup.units)
        sheet.text(page.mean(axis=0), text, "length", anchor="middle", down=-0.3)


def _person(sheet: SetSheet, one: SetPerson, setup: Setup) -> None:
    """Draw stool, shoulders, head and glasses, the verdict of each eye, and a handle to turn."""
    scene, sitter = one.scene, one.scene.sitter
    x, y = sitter.mark_m
    thing = sitter_thing(sitter, setup)
    at = (x, y, sitter.eye_height_m)
    mark = PLAN(np.array(at))
    kind = "sitter" if sitter is setup.sitter else "companion"
    with sheet.thing(kind, thing=thing, at_m=at, label=sitter_label(sitter, setup)):
        sheet.hit(mark, HIT_MM)
        if sitter.posture == "seated":
            sheet.circle(PLAN(np.array([x, y - 0.1, 0.0])), 1000 * _STOOL_M, "stool")
        for rows in (*LEGS, TRUNK, *ARMS):
            sheet.blob([body_outline(scene.body, rows, view=PLAN)], "cloth")
        sheet.blob([body_outline(scene.body, HEAD, view=PLAN)], "head")
        _nose(sheet, one)
        _glasses(sheet, one)
        for index, (verdict, side) in enumerate(zip(one.verdicts, ("right", "left"), strict=False)):
            out = (1.0 if index == 0 else -1.0) * 0.17
            spot = scene.pose.origin + scene.pose.axes @ np.array([out, 0.07, 0.0])
            draw_verdict(sheet, PLAN(spot), verdict, side)
    _turn_handle(sheet, one, thing)


def _nose(sheet: SetSheet, one: SetPerson) -> None:
    scene = one.scene
    depth = float(nose_tip(scene)[1])
    local = np.array([(0.016, depth - 0.03, 0.0), (0.0, depth, 0.0), (-0.016, depth - 0.03, 0.0)])
    sheet.line(PLAN(scene.pose.origin + local @ scene.pose.axes.T), "nose")


def _glasses(sheet: SetSheet, one: SetPerson) -> None:
    lenses = one.scene.lenses
    if lenses is None:
        return
    runs = []
    for rim in rims(lenses):
        edge = PLAN(rim)
        runs.append(np.stack([edge[np.argmin(edge[:, 0])], edge[np.argmax(edge[:, 0])]]))
    sheet.lines(runs, "glasses")


def _turn_handle(sheet: SetSheet, one: SetPerson, thing: str) -> None:
    """Draw the way the face points, with a handle at its end."""
    pose, sitter = one.scene.pose, one.scene.sitter
    level = pose.axes[:, 1] * (1.0, 1.0, 0.0)
    level = level / max(float(np.hypot(level[0], level[1])), 1e-6)
    run = pose.origin + np.array([[0.16], [_TURN_OUT_M]]) * level
    page = PLAN(run)
    sheet.line(page, "faces")
    label = f"turn {sitter.name}'s head"
    turned = {"deg": f"{sitter.turn_deg:.1f}"}
    with sheet.thing("turn", thing=f"{thing}.head", at_m=run[1].tolist(), label=label, **turned):
        sheet.hit(page[1], HIT_MM * 0.9)
        sheet.circle(page[1], MARK_MM * 0.8, "dot")


def _camera(sheet: SetSheet, shown: SetShown) -> None:
    setup = shown.setup
    at = setup.camera.place.position_m
    page = PLAN(np.array(at))
    with sheet.thing("camera", thing="camera", at_m=at, label=camera_label(setup)):
        sheet.hit(offset(page, 0.0, 60.0), HIT_MM)
        draw_gear(sheet, camera_of(shown.scene), view=PLAN)


def _light(sheet: SetSheet, light: Light, shown: SetShown) -> None:
    setup, at = shown.setup, light.place.position_m
    page = PLAN(np.array(at))
    state, label = shown.state(light), light_label(light, shown)
    with sheet.thing(f"light {state}", thing=f"light.{light.name}", at_m=at, label=label):
        sheet.hit(page, HIT_MM)
        draw_stand(sheet, light, setup=setup, view=PLAN)
        draw_gear(sheet, gear_of(light, setup=setup), view=PLAN)


def _words(shown: SetShown) -> Iterator[Words]:
    """Yield the labels: each on the side of its thing away from the sitter."""
    setup = shown.setup
    for emitter in flats(shown):
        at = offset(PLAN(emitter.face.center), 0.0, 110.0)
        lines = ((emitter.name, "name"),)
        yield Words(thing=flat_thing(emitter), name="flat", at=at, lines=lines, down=0.6)
    camera = PLAN(np.array(setup.camera.place.position_m))
    lines = (("camera", "name"),)
    out = 1.0 if camera[1] >= 0 else -1.0
    yield Words(thing="camera", name="", at=offset(camera, 0.0, out * 330.0), lines=lines)
    for light in setup.lights:
        yield _light_words(light, shown)


def _light_words(light: Light, shown: SetShown) -> Words:
    page = PLAN(np.array(light.place.position_m))
    size = float(np.hypot(*page))
    out = page / size if size > 1.0 else np.array([0.0, 1.0])
    gear = gear_of(light, setup=shown.setup)
    deep = max(float((PLAN(part.points) @ out).max()) for part in gear.parts)
    anchor = "middle" if abs(out[0]) < 0.35 else ("start" if out[0] > 0 else "end")
    return Words(
        thing=f"light.{light.name}",
        name=f"light {shown.state(light)}",
        at=np.asarray(page + out * (deep - size + _NAME_MM)),
        lines=((light.name, "name"), (shown.reading(light), "reading")),
        anchor=anchor,
        down=0.3 + 0.6 * float(out[1]) - 0.3,
    )
