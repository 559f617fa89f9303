"""One panel of a sightline map: places on the page, regions of them, and names for the regions.

Both panels look from the sitter: camera-left is to the right.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tapemark.drawing.labels import LabelSpace
from tapemark.drawing.style import BODY_PT, INK, PAPER, SMALL_PT, THICK, Paint, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.drawing.trace import blurred
from tapemark.geometry import FloatArray
from tapemark.planning import MapSheet
from tapemark.planning.sightlines.place_rows import PlaceRows

CLOSED, VEILED, LOST, BEYOND = "closed", "veiled", "lost", "beyond"
OUT_OF_REACH = "#e4e3dc"
_FAR = 1.5  # natural log of the excess past which a place is simply far from the limit
_SMOOTH = 0.9  # of limits and masks, in places: what is drawn, not what is told
_CELL_PT = 3.0
_LEAST_AREA_PT2 = 60.0
_LEAST_EDGE_PT = 25.0
#: Reasons whose regions are told apart by name, in the order in which they are named.
NAMES = {
    "ceiling": "in the ceiling",
    "stand": "above the stand's reach",
    "floor": "into the floor",
    "power": "needs more than full power",
    "frame": "in the picture",
    "wall": "beyond the wall",
    "blocked": "hidden by another light",
    "catchlight": "no catchlight in one eye",
    "brow shadow": "brow or nose shades an eye",
    "rim shadow": "frame's rim shades an eye",
}

Projection = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, kw_only=True, eq=False)
class MapPanel:
    """A sheet of a map laid on the page.

    Attributes
    ----------
    sheet : MapSheet
        The places.
    across, down : (rows, sides) arrays
        Where each is on the page. [pt]
    box : tuple of four floats
        Left, top, right, bottom. [pt]
    numbers : function
        From page points (n, 2) to numbers of row and side (n, 2), fractions included; NaN
        outside.
    on_page : function
        From points (..., 3) in the world [m] to the page (..., 2) [pt].
    """

    sheet: MapSheet
    across: FloatArray
    down: FloatArray
    box: tuple[float, float, float, float]
    numbers: Projection
    on_page: Projection

    @property
    def middle_rad(self) -> float:
        """Middle of the sides. [rad]"""
        return middle_rad(self.sheet.rows)

    def outlines(self, field: FloatArray) -> list[FloatArray]:
        """Return closed outlines on the page of where a field over the places is above 0."""
        from contourpy import FillType, contour_generator  # loaded only where used

        if not (field > 0).any():
            return []
        made = contour_generator(self.across, self.down, field, fill_type=FillType.OuterOffset)
        rings = [
            points[start:end]
            for points, offsets in zip(*made.filled(0.0, np.inf), strict=True)
            for start, end in pairwise(offsets)
        ]
        return [ring for ring in rings if _area(ring) > _LEAST_AREA_PT2]

    def edge(self) -> FloatArray:
        """Return the outline of all places on the page."""
        ring = [
            np.stack([one[cut], other[cut]], axis=-1)
            for cut in (np.s_[0], np.s_[:, -1], np.s_[-1, ::-1], np.s_[::-1, 0])
            for one, other in [(self.across, self.down)]
        ]
        return np.concatenate(ring)

    def edges(self, field: FloatArray) -> list[FloatArray]:
        """Return the lines along which a field over the places is 0."""
        from contourpy import LineType, contour_generator  # loaded only where used

        made = contour_generator(self.across, self.down, field, line_type=LineType.Separate)
        return [np.array(edge) for edge in made.lines(0.0)]

    def inside(self, mask: np.ndarray, points: FloatArray) -> np.ndarray:
        """Return which page points (n, 2) lie where a mask over the places holds."""
        at = self.numbers(points)
        known = np.asarray(np.isfinite(at).all(axis=1))
        row, side = np.rint(np.where(known[:, None], at, 0.0)).astype(int).T
        high, wide = mask.shape
        return np.asarray(known & mask[np.clip(row, 0, high - 1), np.clip(side, 0, wide - 1)])


def middle_rad(rows: PlaceRows) -> float:
    """Return the middle of the sides of rows of places [rad]."""
    return float(np.deg2rad(rows.side_deg.mean()))


def define_map_patterns(sheet: Sheet) -> None:
    """Put the hatchings of closed places and the dots of lost ones into the definitions."""
    sheet.define(
        '<pattern id="map-closed" width="6" height="6" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><path d="M0 3h6" stroke="{INK}" stroke-width=".55"/>'
        "</pattern>"
    )
    sheet.define(
        '<pattern id="map-veiled" width="3" height="3" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><path d="M0 1.5h3" stroke="{INK}" stroke-width="1.05"/>'
        "</pattern>"
    )
    sheet.define(
        '<pattern id="map-lost" width="6" height="6" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(30)"><circle cx="3" cy="3" r=".75" fill="{INK}"/></pattern>'
    )


PAINTS = {
    CLOSED: filled("url(#map-closed)"),
    VEILED: filled("url(#map-veiled)"),
    LOST: filled("url(#map-lost)"),
    BEYOND: filled(OUT_OF_REACH),
}


def draw_regions(page: Sheet, panel: MapPanel, *, name: str) -> None:
    """Draw where the light cannot be, would show, or would leave an eye without it."""
    sheet = panel.sheet
    doubt = blurred(np.clip(np.log(np.maximum(sheet.excess, 1e-9)), -_FAR, _FAR), _SMOOTH)
    beyond = sheet.limits.any()
    closed, lost = sheet.closed, ~sheet.good & sheet.free
    left, top, right, bottom = panel.box
    with page.group(name):
        page.rectangle(left, top, right - left, bottom - top, PAINTS[BEYOND])
        page.area([panel.edge()], filled(PAPER), name="mapped")
        page.area(panel.outlines(_soft(beyond)), PAINTS[BEYOND], name=BEYOND)
        page.area(panel.outlines(_soft(lost & ~closed & ~beyond)), PAINTS[LOST], name=LOST)
        page.area(panel.outlines(doubt), PAINTS[CLOSED], name=CLOSED)
        page.area(panel.outlines(_soft(sheet.veiled)), PAINTS[VEILED], name=VEILED)
        for edge in panel.edges(doubt):
            if np.hypot(*np.diff(edge, axis=0).T).sum() > _LEAST_EDGE_PT:
                page.line(edge, line(THICK), name="limit")


def name_regions(page: Sheet, panel: MapPanel, space: LabelSpace) -> None:
    """Write into each region what it is, where there is room."""
    sheet = panel.sheet
    beyond = sheet.limits.any()
    named: list[tuple[str, np.ndarray, int]] = [
        ("open", sheet.good, 600),
        ("closed: over an eye", sheet.veiled & ~beyond, 600),
        ("closed: on a lens", sheet.closed & ~sheet.veiled & ~beyond, 400),
    ]
    left = ~sheet.closed
    for reason, words in NAMES.items():
        mask = sheet.where(reason)  # type: ignore[arg-type]
        named.append((words, mask & left, 400))
        left = left & ~mask
    for text, mask, weight in named:
        size = BODY_PT if weight == 600 else SMALL_PT
        for lines in ((text,), _in_two(text)):
            name = _Name(lines=lines, size_pt=size, weight=weight)
            if _write(page, panel, space, name=name, mask=mask):
                break


def _in_two(text: str) -> tuple[str, ...]:
    words = text.split()
    half = (len(words) + 1) // 2
    return (" ".join(words[:half]), " ".join(words[half:])) if len(words) > 1 else (text,)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Name:
    """Lines of text that name a region."""

    lines: tuple[str, ...]
    size_pt: float
    weight: int

    @property
    def room_pt(self) -> tuple[float, float]:
        """Width and height that it takes. [pt]"""
        widths = (text_width(one, size_pt=self.size_pt, weight=self.weight) for one in self.lines)
        return max(widths) + 6.0, 1.15 * self.size_pt * len(self.lines) + 3.0


def _write(
    page: Sheet, panel: MapPanel, space: LabelSpace, *, name: _Name, mask: np.ndarray
) -> bool:
    """Write a name where it finds room within a mask; return whether it did."""
    (wide, high), size = name.room_pt, name.size_pt
    left, top, right, bottom = panel.box
    x = np.arange(left, right, _CELL_PT) + _CELL_PT / 2
    y = np.arange(top, bottom, _CELL_PT) + _CELL_PT / 2
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    free = panel.inside(mask, points) & ~space.taken_at(points)
    free = free.reshape(len(y), len(x))
    across, down = int(np.ceil(wide / _CELL_PT)), int(np.ceil(high / _CELL_PT))
    if down > len(y) or across > len(x):
        return False
    sums = np.pad(np.cumsum(np.cumsum(free, axis=0), axis=1), ((1, 0), (1, 0)))
    full = (
        sums[down:, across:]
        - sums[:-down, across:]
        - sums[down:, :-across]
        + sums[:-down, :-across]
    )
    rows, columns = np.nonzero(full == across * down)
    if not len(rows):
        return False
    middle = np.argwhere(free).mean(axis=0) - (down / 2, across / 2)
    best = int(np.argmin((rows - middle[0]) ** 2 + (columns - middle[1]) ** 2))
    at_x, at_y = left + columns[best] * _CELL_PT, top + rows[best] * _CELL_PT
    with page.group("region name"):
        page.rectangle(at_x, at_y, wide, high, Paint(fill=PAPER, opacity=0.94))
        for number, text in enumerate(name.lines):
            base = at_y + 1.5 + (number + 0.86) * 1.15 * size
            page.text(
                at_x + wide / 2, base, text, size_pt=size, weight=name.weight, anchor="middle"
            )
    space.take_box(at_x, at_y, at_x + wide, at_y + high)
    return True


def _soft(mask: np.ndarray) -> FloatArray:
    """Return a field that is above 0 within a mask, smooth across its edge."""
    return blurred(mask.astype(float), _SMOOTH) - 0.5


def _area(ring: FloatArray) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2
