"""Rays from a light over a lens, drawn into the camera or past it."""

import numpy as np

from tapemark.drawing.glare_rays import LightRay
from tapemark.drawing.labels import LabelSpace
from tapemark.drawing.page import ticks
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.style import INK, SMALL_PT, SOFT_INK, THICK, THIN, WARM, Paint, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.geometry import FloatArray

_PAST_M = 0.3  # a passing ray is followed this far past the camera
_ARROW_PT = 6.0
_STYLES: dict[str, Paint] = {
    "over the eye": line(THICK * 1.25, color=WARM),
    "beside the eye": line(THICK, color=INK),
    "past": line(THIN, color=INK, dash=(5.0, 2.5)),
}


def draw_ray(sheet: Sheet, space: LabelSpace, ray: LightRay, *, view: ParallelView) -> None:
    """Draw a ray from the light to the lens and on, with its way and its end."""
    page = view(np.array([ray.start, ray.lens, _end(ray)]))
    paint = _STYLES[ray.goes]
    color = paint.stroke
    with sheet.group(f"ray {ray.goes}"):
        sheet.line(page, paint, name="ray")
        _arrow(sheet, page[0], page[1], at=0.55, color=color)
        _arrow(sheet, page[1], page[2], at=0.62, color=color)
        sheet.circle(float(page[1, 0]), float(page[1, 1]), 1.7, filled(color))
        if ray.goes == "past":
            _draw_miss(sheet, ray, view)
        else:
            sheet.circle(
                float(page[2, 0]), float(page[2, 1]), 3.4, Paint(stroke=color, width=THICK)
            )
    space.take_line(page, width_pt=2.0)


def ray_key(sheet: Sheet, rays: tuple[LightRay, ...], *, x: float, y: float) -> None:
    """Say what the lines of the rays mean, as far as they are on the page."""
    texts = {
        "over the eye": "ray over the eye into the camera",
        "beside the eye": "ray beside the eye into the camera",
        "past": "ray past the camera",
    }
    with sheet.group("key"):
        for goes, text in texts.items():
            if any(ray.goes == goes for ray in rays):
                sheet.line([(x, y - 3.0), (x + 24.0, y - 3.0)], _STYLES[goes])
                sheet.text(x + 30.0, y, text, size_pt=SMALL_PT, color=SOFT_INK)
                x += 30.0 + text_width(text, size_pt=SMALL_PT) + 16.0


def _end(ray: LightRay) -> FloatArray:
    """Return where a ray is drawn to: the camera, or a little past it [m]."""
    lens, end = np.array(ray.lens), np.array(ray.end)
    if ray.goes != "past" or ray.ends_on:
        return end
    way = end - lens
    return np.asarray(end + min(_PAST_M, end[2]) * way / np.linalg.norm(way))


def _draw_miss(sheet: Sheet, ray: LightRay, view: ParallelView) -> None:
    """Draw how far over or under the camera a ray passes."""
    end = np.array(ray.end)
    camera = end - (0.0, 0.0, ray.over_m)
    page = view(np.stack([end, camera]))
    if abs(page[1, 1] - page[0, 1]) < 6.0 or ray.ends_on:
        return
    sheet.line(page, line(THIN, color=SOFT_INK))
    ticks(sheet, page)


def _arrow(sheet: Sheet, start: FloatArray, end: FloatArray, *, at: float, color: str) -> None:
    """Draw an arrow head part of the way along a line."""
    way = end - start
    size = float(np.hypot(*way))
    if size < 3 * _ARROW_PT:
        return
    along = way / size
    across = np.array([-along[1], along[0]])
    tip = start + at * way
    base = tip - _ARROW_PT * along
    sheet.area(
        [np.array([tip, base + 0.32 * _ARROW_PT * across, base - 0.32 * _ARROW_PT * across])],
        filled(color),
    )
