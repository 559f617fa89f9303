"""A sightline map on one page: where a light may stand, as the sitter would see it.

Above, what lies around the sitter at the light's distance, unrolled: lights and camera are as
large as they look from the nose, heights are those at the stand.  Below, the floor at its height.
"""

import numpy as np

from tapemark.analysis import light_face
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.page import (
    A4_LONG_PT,
    A4_SHORT_PT,
    HEADER_PT,
    MARGIN_PT,
    draw_labels,
    heading,
    verdict_sign,
)
from tapemark.drawing.sightlines.map_panel import (
    BEYOND,
    CLOSED,
    LOST,
    PAINTS,
    VEILED,
    MapPanel,
    define_map_patterns,
    draw_regions,
    middle_rad,
    name_regions,
)
from tapemark.drawing.sightlines.map_rulers import (
    ruler_of_floor,
    ruler_of_heights,
    rulings_of_floor,
    rulings_of_heights,
)
from tapemark.drawing.style import (
    BODY_PT,
    FINE,
    HEADING_PT,
    INK,
    LIT,
    PAPER,
    SMALL_PT,
    THICK,
    THIN,
    WARM,
    Paint,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.geometry import FloatArray
from tapemark.planning import MapPlace, SightlineMap
from tapemark.planning.moves.words import amount_text
from tapemark.planning.reach import highest_m
from tapemark.planning.sightlines.map_words import move_text, reach_text, state_text
from tapemark.studio import Place, changed
from tapemark.units import format_mark

_RULER_PT = 44.0
_ANSWER_PT = 46.0
_MOST_HIGH_PT = 318.0  # of the upper panel
_FLOOR_PT = 330.0
_LEGEND_PT = 26.0
_UNDER_TOP_PT = 4.0  # kept between a drawn light and the top of its panel
_PERSON_M, _MOST_BEHIND_M = 0.2, 1.2
_CAMERA_M = (0.15, 0.11)  # width and height of a camera, for its look from afar (assumption)


def map_drawing(found: SightlineMap, *, still_shown: tuple[str, ...] = ()) -> str:
    """Return the drawing of a sightline map as SVG text.

    Parameters
    ----------
    found : SightlineMap
        Open and closed places of one light.
    still_shown : tuple of str
        What else the lenses show with it at its best place.
    """
    setup, name = found.setup, found.light.name
    page = Sheet(
        width_pt=A4_SHORT_PT,
        height_pt=A4_LONG_PT,
        title=f"Sightline map of {name}: {setup.title or setup.sitter.name}",
        description=f"{move_text(found)}. Now {state_text(found.now)}.",
    )
    define_map_patterns(page)
    heading(page, title=setup.title, kind=f"Sightline map: {name}", detail="")
    _answer(page, found, still_shown)
    top = MARGIN_PT + HEADER_PT + _ANSWER_PT
    heights = _height_panel(found, top_pt=top)
    _draw_panel(page, found, heights, name="heights")
    foot = heights.box[3] + 58.0
    floor = _floor_panel(found, top_pt=foot)
    _draw_panel(page, found, floor, name="floor")
    _legend(page, y=A4_LONG_PT - MARGIN_PT - 6.0)
    return page.to_text()


def _answer(page: Sheet, found: SightlineMap, still_shown: tuple[str, ...]) -> None:
    """Write what to do, and what the light does where it is."""
    y = MARGIN_PT + HEADER_PT - 6.0
    move = move_text(found)
    with page.group("answer"):
        page.text(MARGIN_PT, y + 6.0, move[:1].upper() + move[1:], size_pt=13.5, weight=600)
        verdict_sign(page, MARGIN_PT + 5.0, y + 21.5, found.now.verdict)
        words = f"Now {state_text(found.now)}. In reach: {reach_text(found.heights, found.setup)}."
        color = WARM if found.now.verdict != "clear" else INK
        page.text(MARGIN_PT + 16.0, y + 25.0, words, size_pt=BODY_PT, color=color)
        if still_shown:
            also = f"The lenses also show {' and '.join(still_shown)}: map that too."
            page.text(MARGIN_PT + 16.0, y + 38.0, also, size_pt=BODY_PT)


def _height_panel(found: SightlineMap, *, top_pt: float) -> MapPanel:
    """Lay out side by height: arcs at the light's distance as long as heights are high."""
    sheet = found.heights
    rows = sheet.rows
    distance, eye = float(rows.distance_m[0]), rows.eye_height_m
    middle = middle_rad(rows)
    ceiling = float(rows.height_m[-1])
    room = A4_SHORT_PT - 2 * MARGIN_PT - _RULER_PT
    scale = min(room / (np.pi * distance), _MOST_HIGH_PT / ceiling)
    half = np.pi / 2 * distance * scale
    center = MARGIN_PT + _RULER_PT + room / 2
    base = top_pt + 20.0 + ceiling * scale

    def on_page(world: FloatArray) -> FloatArray:
        span = world - (0.0, 0.0, eye)
        level = np.hypot(span[..., 0], span[..., 1])
        turn = np.arctan2(span[..., 0], span[..., 1]) - middle
        turn = (turn + np.pi) % (2 * np.pi) - np.pi
        high = eye + distance * span[..., 2] / np.maximum(level, 1e-6)
        return np.stack([center + turn * distance * scale, base - high * scale], axis=-1)

    def numbers(points: FloatArray) -> FloatArray:
        side = (points[:, 0] - center) / (distance * scale) / rows.step_rad + (
            rows.shape[1] - 1
        ) / 2
        step = float(rows.height_m[1] - rows.height_m[0])
        row = ((base - points[:, 1]) / scale - float(rows.height_m[0])) / step
        at = np.stack([row, side], axis=-1)
        outside = (at < -0.5) | (at > np.array(rows.shape) - 0.5)
        return np.where(outside, np.nan, at)

    across = center + (np.deg2rad(rows.side_deg) - middle) * distance * scale
    down = base - rows.height_m * scale
    return MapPanel(
        sheet=sheet,
        across=np.broadcast_to(across, rows.shape),
        down=np.broadcast_to(down[:, None], rows.shape),
        box=(center - half, base - ceiling * scale, center + half, base),
        numbers=numbers,
        on_page=on_page,
    )


def _floor_panel(found: SightlineMap, *, top_pt: float) -> MapPanel:
    """Lay out the floor at the light's height: the sitter at the foot, the camera above."""
    sheet, room = found.floor, found.setup.room
    rows = sheet.rows
    middle = middle_rad(rows)
    ahead = room.y_max_m if abs(middle) < 1.0 else -room.y_min_m
    far = float(rows.distance_m[-1])
    deep, wide = min(far, ahead), min(far, max(room.x_max_m, -room.x_min_m))
    foot = _people_behind_m(found, middle)
    wide_pt = A4_SHORT_PT - 2 * MARGIN_PT - _RULER_PT
    high_pt = min(_FLOOR_PT, A4_LONG_PT - MARGIN_PT - _LEGEND_PT - 24.0 - top_pt)
    scale = min(wide_pt / (2 * wide), high_pt / (deep + foot))
    center, base = MARGIN_PT + _RULER_PT + wide_pt / 2, top_pt + deep * scale

    def on_page(world: FloatArray) -> FloatArray:
        x = world[..., 0] * np.cos(middle) - world[..., 1] * np.sin(middle)
        y = world[..., 0] * np.sin(middle) + world[..., 1] * np.cos(middle)
        return np.stack([center + x * scale, base - y * scale], axis=-1)

    def numbers(points: FloatArray) -> FloatArray:
        x, y = (points[:, 0] - center) / scale, (base - points[:, 1]) / scale
        step = float(rows.distance_m[1] - rows.distance_m[0])
        row = (np.hypot(x, y) - float(rows.distance_m[0])) / step
        side = np.arctan2(x, y) / rows.step_rad + (rows.shape[1] - 1) / 2
        at = np.stack([row, side], axis=-1)
        outside = (at < -0.5) | (at > np.array(rows.shape) - 0.5)
        return np.where(outside, np.nan, at)

    page = on_page(rows.positions)
    return MapPanel(
        sheet=sheet,
        across=page[..., 0],
        down=page[..., 1],
        box=(
            center - wide * scale,
            base - deep * scale,
            center + wide * scale,
            base + foot * scale,
        ),
        numbers=numbers,
        on_page=on_page,
    )


def _people_behind_m(found: SightlineMap, middle: float) -> float:
    """Return how far below the sitter a floor has to go to show everybody [m]."""
    away = [x * np.sin(middle) + y * np.cos(middle) for x, y in _marks_m(found)]
    farthest = max((-one for one in away), default=-1.0)
    return min(float(farthest) + _PERSON_M, _MOST_BEHIND_M) if farthest > -_PERSON_M else 0.0


def _marks_m(found: SightlineMap) -> list[tuple[float, float]]:
    return [one.mark_m for one in found.setup.companions]


def _draw_panel(page: Sheet, found: SightlineMap, panel: MapPanel, *, name: str) -> None:
    """Draw one panel: regions, what stands about, the light now and at its best place."""
    left, top, right, bottom = panel.box
    frame = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    clip = page.clip([frame])
    space = LabelSpace(left=left, top=top, right=right, bottom=bottom)
    heights = name == "heights"
    _title(page, found, panel, heights=heights)
    with page.group(f"map {name}", clip=clip):
        draw_regions(page, panel, name=f"regions {name}")
        if heights:
            rulings_of_heights(page, panel)
        else:
            rulings_of_floor(page, found, panel)
        labels = _draw_others(page, found, panel, space)
        if not heights:
            labels += _draw_companions(page, found, panel, space)
        labels = [*_draw_light(page, found, panel, space, heights=heights), *labels]
    page.rectangle(left, top, right - left, bottom - top, Paint(stroke=INK, width=THIN))
    (ruler_of_heights if heights else ruler_of_floor)(page, found, panel)
    placed, _ = space.place(labels)
    for one in placed:
        x0, y0, x1, y1 = one.box
        page.rectangle(x0 - 2, y0 - 1, x1 - x0 + 4, y1 - y0 + 3, Paint(fill=PAPER, opacity=0.94))
    draw_labels(page, placed)
    name_regions(page, panel, space)


def _title(page: Sheet, found: SightlineMap, panel: MapPanel, *, heights: bool) -> None:
    left, top = panel.box[:2]
    system, light = found.setup.units, found.light
    if heights:
        out = format_mark(light.place.distance_m, system=system)
        text = f"Seen from the sitter's nose: where the middle of {light.name} may be, {out} out"
    else:
        high = format_mark(light.place.height_m, system=system)
        text = f"The floor from above: where {light.name} may stand at its height, {high}"
    page.text(max(left, MARGIN_PT), top - 8.0, text, size_pt=HEADING_PT, weight=600)


def _draw_others(
    page: Sheet, found: SightlineMap, panel: MapPanel, space: LabelSpace
) -> list[Label]:
    """Draw camera, other lights, windows and panels as they look; return their names."""
    labels = []
    with page.group("others"):
        for emitter in found.emitters:
            if emitter.kind not in ("light", "window", "panel", "screen"):
                continue
            if emitter.name == found.light.name:
                continue
            ring = panel.on_page(_dense(emitter.face.outline()))
            if _torn(ring, panel):
                continue
            lit = emitter.kind != "panel" and emitter.brightness > 0
            page.area([ring], Paint(fill=LIT if lit else PAPER, stroke=INK, width=THIN))
            space.take_area(ring)
            labels.append(_label(emitter.name, ring.mean(axis=0)))
        camera = np.array(found.setup.camera.place.position_m)
        labels.append(_camera(page, panel, space, camera))
    return [label for label in labels if _within(label.target, panel)]


def _draw_companions(
    page: Sheet, found: SightlineMap, panel: MapPanel, space: LabelSpace
) -> list[Label]:
    """Draw where the others sit or stand; return their names."""
    labels = []
    size = abs(float(np.subtract(*panel.on_page(np.array([(0.0, 0.09, 0.0), (0.0, 0.0, 0.0)])))[1]))
    with page.group("companions"):
        for number, one in enumerate(found.setup.companions):
            at = panel.on_page(np.array([*one.mark_m, 0.0]))
            x, y = float(at[0]), float(at[1])
            page.circle(x, y, size, Paint(fill=PAPER, stroke=INK, width=THICK))
            space.take_box(x - size, y - size, x + size, y + size)
            name = one.name.partition(",")[0] or f"person {number + 2}"
            labels.append(_label(name, at))
    return [label for label in labels if _within(label.target, panel)]


def _camera(page: Sheet, panel: MapPanel, space: LabelSpace, camera: FloatArray) -> Label:
    """Draw the camera as large as it looks, or its place on the floor."""
    at = panel.on_page(camera)
    half_m = _CAMERA_M[0] / 2
    aside = panel.on_page(
        camera + half_m * np.array([camera[1], -camera[0], 0.0]) / np.hypot(*camera[:2])
    )
    half = max(float(np.hypot(*(aside - at))), 4.5)
    tall = half * _CAMERA_M[1] / _CAMERA_M[0]
    x, y = float(at[0]), float(at[1])
    with page.group("camera"):
        page.rectangle(x - half, y - tall, 2 * half, 2 * tall, filled(INK))
        page.circle(x, y, 0.68 * tall, Paint(fill=INK, stroke=PAPER, width=0.9))
    space.take_box(x - half - 2, y - tall - 2, x + half + 2, y + tall + 2)
    return _label("camera", at)


def _draw_light(
    page: Sheet, found: SightlineMap, panel: MapPanel, space: LabelSpace, *, heights: bool
) -> list[Label]:
    """Draw the light where it is and at its best place; return their names."""
    system = found.setup.units
    closed = found.now.verdict != "clear"
    now, _ = _under_top(panel.on_page(_dense(_outline(found, found.now))), panel)
    color = WARM if closed else INK
    with page.group("light now"):
        page.area([now], Paint(fill=LIT, stroke=color, width=1.6))
    at = _marked(found.now, panel)
    page.circle(float(at[0]), float(at[1]), 1.8, filled(color))
    space.take_area(now)
    told = format_mark(found.now.height_m if heights else found.now.distance_m, system=system)
    stays = found.best == found.now
    word = f"{found.light.name} now, {told}"
    labels = [_label(word, at, color=color if closed else "", weight=600)]
    if found.best is None or stays:
        return labels
    if not heights and found.best.height_m != found.now.height_m:
        return labels  # the floor is that of another height
    best, cut = _under_top(panel.on_page(_dense(_outline(found, found.best))), panel)
    goal = _marked(found.best, panel)
    with page.group("light best"):
        page.area([best], Paint(fill=LIT, stroke=INK, width=2.2))
        page.circle(float(goal[0]), float(goal[1]), 1.8, filled(INK))
        _arrow(page, at, goal)
    space.take_area(best)
    told = format_mark(found.best.height_m if heights else found.best.distance_m, system=system)
    word = f"{'least bad' if found.least_bad else 'best'}, {told}"
    lines = ((word, 600), (_air_text(found, found.best), 400)) if cut else ((word, 600),)
    target = (float(goal[0]), float(goal[1]))
    return [Label(lines=lines, target=target, size_pt=SMALL_PT), *labels]


def _under_top(ring: FloatArray, panel: MapPanel) -> tuple[FloatArray, bool]:
    """Return an outline that ends under the panel's top, and whether it had to be cut.

    A light that leans towards the sitter looks higher than it hangs: its top is drawn level.
    """
    top = panel.box[1] + _UNDER_TOP_PT
    cut = bool((ring[:, 1] < top).any())
    return np.stack([ring[:, 0], np.maximum(ring[:, 1], top)], axis=-1), cut


def _air_text(found: SightlineMap, place: MapPlace) -> str:
    """Return how far the highest corner of the light is from the ceiling."""
    there = changed(found.light, {"place": _place(place)})
    air = max(found.setup.room.height_m - highest_m(there, found.setup), 0.0)
    return f"its top {amount_text(air, unit='m', system=found.setup.units)} under the ceiling"


def _arrow(page: Sheet, start: FloatArray, end: FloatArray) -> None:
    span = end - start
    size = float(np.hypot(*span))
    if size < 10.0:
        return
    along = span / size
    across = np.array([-along[1], along[0]])
    tip = end - 3.0 * along
    page.line(
        [tuple(start + 3.0 * along), tuple(tip - 5.0 * along)], Paint(stroke=PAPER, width=4.2)
    )
    page.line([tuple(start + 3.0 * along), tuple(tip - 5.0 * along)], line(1.8))
    head = np.stack([tip, tip - 8.0 * along + 3.6 * across, tip - 8.0 * along - 3.6 * across])
    page.area([head], Paint(fill=INK, stroke=PAPER, width=0.8))


def _marked(place: MapPlace, panel: MapPanel) -> FloatArray:
    return panel.on_page(np.array(_place(place).position_m))


def _place(place: MapPlace) -> Place:
    return Place(distance_m=place.distance_m, side_deg=place.side_deg, height_m=place.height_m)


def _outline(found: SightlineMap, place: MapPlace) -> FloatArray:
    there = changed(found.light, {"place": _place(place)})
    return light_face(there, found.setup).outline()


def _dense(outline: FloatArray, *, steps: int = 6) -> FloatArray:
    """Return a closed outline with points between its corners, for straight edges look bent."""
    after = np.roll(outline, -1, axis=0)
    share = (np.arange(steps) / steps)[:, None]
    return np.concatenate(
        [start + share * (end - start) for start, end in zip(outline, after, strict=True)]
    )


def _torn(ring: FloatArray, panel: MapPanel) -> bool:
    """Return whether an outline runs round behind the sitter, across the edges of the panel."""
    width = panel.box[2] - panel.box[0]
    return bool(np.abs(np.diff(ring[:, 0])).max() > width / 2)


def _within(at: tuple[float, float], panel: MapPanel) -> bool:
    left, top, right, bottom = panel.box
    return left <= at[0] <= right and top <= at[1] <= bottom


def _label(text: str, at: FloatArray, *, color: str = "", weight: int = 400) -> Label:
    return Label(
        lines=((text, weight),), target=(float(at[0]), float(at[1])), size_pt=SMALL_PT, color=color
    )


def _legend(page: Sheet, *, y: float) -> None:
    """Tell what each hatching means."""
    x = MARGIN_PT
    parts = (
        (None, "open"),
        (VEILED, "closed: over an eye"),
        (CLOSED, "closed: on a lens"),
        (LOST, "open, but an eye loses its light"),
        (BEYOND, "out of reach"),
    )
    with page.group("legend"):
        for part, text in parts:
            page.rectangle(x, y - 9.0, 20.0, 11.0, Paint(fill=PAPER, stroke=INK, width=FINE))
            if part is not None:
                page.rectangle(x, y - 9.0, 20.0, 11.0, PAINTS[part])
            page.text(x + 25.0, y, text, size_pt=SMALL_PT)
            x += 25.0 + text_width(text, size_pt=SMALL_PT) + 15.0
