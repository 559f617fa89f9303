"""Reflections and catchlights, hatched so that they can be told apart without colour.

Front of the lens: hatched upwards, solid edge.  Back of the lens: hatched
downwards, broken edge.  Catchlight: plain white, solid edge.  Warm ink where
a reflection lies over the eye, blue-black where it does not.
"""

import numpy as np

from tapemark.analysis import Catchlight, LensGlare, ReflectionOutline
from tapemark.anatomy import SIDES
from tapemark.drawing.glare_rays import OVER_EYE_VEIL
from tapemark.drawing.labels import within
from tapemark.drawing.picture import Picture
from tapemark.drawing.style import FINE, INK, SMALL_PT, SOFT_INK, THIN, WARM, WHITE, Paint, filled
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.geometry import FloatArray

_HATCH_PT = 3.4
_TARGET_STEPS = 24  # places tried across a reflection for the end of its leader
_LEAST_ALONE = 0.12  # of a reflection must lie outside others to be pointed at there
_LEAST_HATCHED_PT_PER_MM = 1.2  # in smaller pictures reflections are plain white
_EDGE_DASH = (2.6, 1.8)
_TURNED = {"front": 45, "back": -45}


def define_hatching(sheet: Sheet) -> None:
    """Put the hatchings into a page's definitions."""
    for surface, turned in _TURNED.items():
        for name, color in (("warm", WARM), ("ink", INK)):
            sheet.define(
                f'<pattern id="{surface}-{name}" width="{_HATCH_PT}" height="{_HATCH_PT}" '
                f'patternUnits="userSpaceOnUse" patternTransform="rotate({turned})">'
                f'<path d="M0 {_HATCH_PT / 2}h{_HATCH_PT}" stroke="{color}" stroke-width=".75"/>'
                "</pattern>"
            )


def veils(lenses: tuple[LensGlare, ...]) -> dict[tuple[str, str, str], float]:
    """Return the veil of each reflection by source, surface and side [-]."""
    return {
        (part.source, part.surface, lens.side): part.veil
        for lens in lenses
        for part in lens.reflections
    }


def draw_reflections(
    sheet: Sheet,
    picture: Picture,
    *,
    outlines: tuple[ReflectionOutline, ...],
    lenses: tuple[LensGlare, ...],
) -> None:
    """Draw reflections where they fall on the lenses."""
    veil = veils(lenses)
    for side in SIDES:
        own = [one for one in outlines if one.side == side]
        if not own or not picture.sights:
            continue
        with sheet.group(f"reflections {side}"):
            # Fronts last: they lie on top.
            for one in sorted(own, key=lambda part: part.surface != "back"):
                over = veil.get((one.source, one.surface, one.side), 0.0) >= OVER_EYE_VEIL
                color = WARM if over else INK
                rings = reflection_page(picture, one)
                with sheet.group(f"reflection {one.surface}"):
                    if picture.points_per_mm < _LEAST_HATCHED_PT_PER_MM:
                        sheet.area(rings, Paint(fill=WHITE, stroke=color, width=THIN))
                    else:
                        _hatched(
                            sheet,
                            rings,
                            one.surface,
                            color=color,
                            white=_whiteness(one.stops_over_skin),
                        )


def reflection_page(picture: Picture, outline: ReflectionOutline) -> list[FloatArray]:
    """Return the outlines of a reflection on the page, (n, 2) each [pt]."""
    return [picture.on_page(np.array(polygon)) for polygon in outline.polygons]


def reflection_target(rings: list[FloatArray], *, others: list[FloatArray]) -> tuple[float, float]:
    """Return a page place well inside a reflection, if possible outside the others [pt]."""
    largest = max(rings, key=lambda ring: float(np.prod(np.ptp(ring, axis=0))))
    low, high = largest.min(axis=0), largest.max(axis=0)
    x, y = (np.linspace(low[k], high[k], _TARGET_STEPS + 2)[1:-1] for k in (0, 1))
    own = within(largest, x, y)
    alone = own & ~np.any([within(ring, x, y) for ring in others] or [np.zeros_like(own)], axis=0)
    kept = alone if alone.sum() > _LEAST_ALONE * own.sum() else own
    if not kept.any():
        return (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)
    while kept.any():  # shrink until only the innermost places are left
        innermost, wide = kept, np.pad(kept, 1)
        kept = kept & wide[:-2, 1:-1] & wide[2:, 1:-1] & wide[1:-1, :-2] & wide[1:-1, 2:]
    rows, columns = np.nonzero(innermost)
    middle = np.argmin((rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2)
    return (float(x[columns[middle]]), float(y[rows[middle]]))


def draw_catchlights(
    sheet: Sheet, picture: Picture, *, catchlights: tuple[Catchlight, ...]
) -> None:
    """Draw the catchlights that can be seen, where the camera sees them through the lens."""
    for one in catchlights:
        if one.visible:
            index = SIDES.index(one.side)
            ring = picture.behind_glass(np.array(one.outline), index=index)
            paint = Paint(fill=WHITE, stroke=INK, width=FINE * 0.9)
            with sheet.group("catchlight"):
                sheet.area([ring], paint)


def hatching_key(sheet: Sheet, *, x: float, y: float) -> float:
    """Draw what the hatchings mean; return where the line ends [pt]."""
    with sheet.group("key"):
        for surface, text in (
            ("front", "reflection in the front of the lens"),
            ("back", "in the back of the lens"),
            ("catchlight", "catchlight"),
        ):
            box = np.array([(x, y - 8.0), (x + 17.0, y - 8.0), (x + 17.0, y + 2.0), (x, y + 2.0)])
            if surface == "catchlight":
                around = np.linspace(0, 2 * np.pi, 25)
                ring = np.stack(
                    [x + 8 + 4.4 * np.cos(around), y - 3 + 4.4 * np.sin(around)], axis=-1
                )
                sheet.area([ring], Paint(fill=WHITE, stroke=INK, width=THIN))
            else:
                _hatched(sheet, [box], surface, color=INK, white=0.8)
            x += 22.0
            sheet.text(x, y, text, size_pt=SMALL_PT, color=SOFT_INK)
            x += text_width(text, size_pt=SMALL_PT) + 14.0
    return x


def _whiteness(stops_over_skin: float) -> float:
    """Return how much of the eye a reflection of a brightness paints over [-]."""
    return float(np.clip(0.50 + 0.10 * (stops_over_skin + 3.0), 0.35, 0.88))


def _hatched(
    sheet: Sheet, rings: list[FloatArray], surface: str, *, color: str, white: float
) -> None:
    """Paint outlines white, hatch them and draw their edge."""
    sheet.area(rings, Paint(fill=WHITE, opacity=white))
    name = "warm" if color == WARM else "ink"
    sheet.area(rings, filled(f"url(#{surface}-{name})"))
    dash = _EDGE_DASH if surface == "back" else ()
    sheet.area(rings, Paint(stroke=color, width=THIN * 1.1, dash=dash))
