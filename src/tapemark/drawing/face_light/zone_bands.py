"""A face as zones of light: flat screens with their stops written in them, like a map's heights.

Zones are half a stop wide down to a stop and a half under the key's reading
and a stop wide below; a zone is named by its middle.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.drawing.picture import Picture
from tapemark.drawing.plate import Plate, Surface, lay_plate
from tapemark.drawing.portrait import FACE
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
    mixed,
)
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.drawing.trace import (
    Outlines,
    band_outlines,
    blurred,
    contour_lines,
    even_tones,
    inside_field,
)
from tapemark.geometry import FloatArray
from tapemark.units import MM

#: Upper edge of each zone but the first, brightest first, and the zones' names. [stops]
ZONE_EDGES = (1.25, 0.75, 0.25, -0.25, -0.75, -1.25, -1.75, -2.5, -3.5, -4.5)
ZONE_STOPS = (1.5, 1.0, 0.5, 0.0, -0.5, -1.0, -1.5, -2.0, -3.0, -4.0, -5.0)
_INK_SHARES = (0.0, 0.0, 0.0, 0.04, 0.12, 0.20, 0.28, 0.36, 0.45, 0.53, 0.60)
_EVEN_OVER_MM = 1.3
_LEAST_ISLAND_MM2 = 16.0
#: Share of the key seen: less is the shadow's core, more is out of the shadow.
CORE, FULL = 0.1, 0.9
_MOST_NUMBERS = 3  # in one zone
_NUMBER_GAP_PT = 62.0  # between numbers of one zone
_NUMBER_STEP = 2  # places for numbers are looked for at every second lattice place
_LEAST_RUN = 5  # points of a line that is drawn
_SPOT_PT = 44.0  # a shining spot lies at most so far from the place it is named after
_LEAST_SHARE = 0.003  # of the face: smaller zones are not in the key
#: The ring around skin that shines.
SHINE = Paint(stroke=INK, width=1.3, dash=(0.1, 2.8), round_ends=True)


@dataclass(frozen=True, kw_only=True, eq=False)
class ZonePlate:
    """A field of the skin on the lattice of a picture.

    Attributes
    ----------
    plate : Plate
        All the sitter's surfaces.
    own : (rows, columns) bool array
        Where zoned skin is seen.
    field : (rows, columns) array
        The field, evened out and carried on past the edge of the face.
    """

    plate: Plate
    own: np.ndarray
    field: FloatArray

    @property
    def inside(self) -> FloatArray:
        """A field that is positive on the skin."""
        return inside_field(self.own)


def zone_plate(picture: Picture, points: FloatArray, field: FloatArray) -> ZonePlate:
    """Return a field over a face as the camera sees it.

    Parameters
    ----------
    picture : Picture
        The sitter, laid.
    points : (rows, columns, 3) array
        The skin, world. [m]
    field : (rows, columns) array
        Its values; NaN where there are none.
    """
    plate = picture.plate
    rows, columns = plate.kind.shape
    box = (plate.left, plate.top, float(plate.across[-1]), float(plate.down[-1]))
    laid = lay_plate(
        [Surface(points=points, tone=field, kind=FACE)],
        view=picture.view,
        box=box,
        pitch=plate.pitch,
    )
    tone = laid.tone[:rows, :columns]
    own = (plate.kind == FACE) & np.isfinite(tone)
    depth = float(picture.view.depth(picture.scene.pose.origin))
    smoothing = max(_EVEN_OVER_MM * MM / depth / plate.pitch, 0.8)
    if own.any():
        tone = even_tones(replace(plate, tone=tone), own, smoothing=smoothing)
    return ZonePlate(plate=plate, own=own, field=tone)


def zone_name(stops: float) -> str:
    """Return a zone's name: ``0``, ``−½``, ``−1½``, ``+1``."""
    whole, half = divmod(abs(stops), 1.0)
    digits = f"{whole:.0f}" if whole or not half else ""
    sign = "" if stops == 0 else "+" if stops > 0 else "\N{MINUS SIGN}"
    return f"{sign}{digits}{'½' if half else ''}"


def zone_color(stops: float) -> str:
    """Return the screen of a zone: white over the key's reading, darker below."""
    return mixed(WHITE, INK, share=_INK_SHARES[ZONE_STOPS.index(stops)])


def zones_met(stops: ZonePlate) -> list[int]:
    """Return which zones the face shows, brightest first."""
    if not stops.own.any():
        return []
    number = np.searchsorted(-np.array(ZONE_EDGES), -stops.field[stops.own])
    share = np.bincount(number, minlength=len(ZONE_STOPS)) / len(number)
    met = np.flatnonzero(share > _LEAST_SHARE)
    return list(range(int(met[0]), int(met[-1]) + 1))


def paint_zones(sheet: Sheet, picture: Picture, stops: ZonePlate) -> None:
    """Paint the zones, darker over lighter, with a fine line between two."""
    inside, least = stops.inside, _least(picture)
    met = zones_met(stops)
    for zone in met:
        field = np.ones_like(stops.field)
        if zone != met[0]:
            field = ZONE_EDGES[zone - 1] - stops.field
        rings = _on_page(picture, band_outlines(stops.plate, inside, field, least=least))
        paint = filled(zone_color(ZONE_STOPS[zone]), outline=FINE * 0.7, stroke=SOFT_INK)
        with sheet.group(f"zone {zone_name(ZONE_STOPS[zone])}"):
            sheet.area(rings, paint)


def define_shadows(sheet: Sheet) -> None:
    """Put the hatching of shadow cores and the dots of soft edges into a page's definitions."""
    sheet.define(
        '<pattern id="core" width="4.2" height="4.2" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(-52)"><path d="M0 2.1h4.2" stroke="{INK}" '
        'stroke-width=".7"/></pattern>'
    )
    sheet.define(
        '<pattern id="soft" width="4.4" height="4.4" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(-52)"><path d="M1 2.2h1" stroke="{INK}" '
        'stroke-width=".7" stroke-linecap="round"/></pattern>'
    )


def draw_shadows(sheet: Sheet, picture: Picture, key_seen: ZonePlate) -> None:
    """Hatch where the key does not reach, and dot the soft edge of that shadow."""
    inside, least = key_seen.inside, _least(picture)
    with sheet.group("soft edge"):
        between = np.minimum(FULL - key_seen.field, key_seen.field - CORE)
        rings = band_outlines(key_seen.plate, inside, between, least=least)
        sheet.area(_on_page(picture, rings), filled("url(#soft)"))
    with sheet.group("core shadow"):
        core = band_outlines(key_seen.plate, inside, CORE - key_seen.field, least=least)
        rings = _on_page(picture, core)
        sheet.area(rings, filled("url(#core)"))
        sheet.area(rings, line(THIN * 1.2))


def draw_shine(
    sheet: Sheet,
    picture: Picture,
    shine: ZonePlate,
    *,
    near: tuple[float, float],
    level_stops: float,
) -> tuple[float, float]:
    """Ring what shines by more than so many stops near a place; return its middle [pt]."""
    inside = blurred(shine.own.astype(float), 3.0) - 0.75  # off the edge: skin shines there anyway
    field = shine.field - level_stops
    rings = band_outlines(shine.plate, inside, field, least=_least(picture) / 2)
    page = [ring for ring in _on_page(picture, rings) if _away(ring.mean(axis=0), near) < _SPOT_PT]
    if not page:
        around = np.linspace(0.0, 2 * np.pi, 33)[:-1]
        page = [np.stack([np.cos(around), 0.7 * np.sin(around)], axis=-1) * 9.0 + near]
    with sheet.group("shine"):
        sheet.area(page, Paint(stroke=PAPER, width=2.4))
        sheet.area(page, SHINE)
    spot = min((ring.mean(axis=0) for ring in page), key=lambda place: _away(place, near))
    return float(spot[0]), float(spot[1])


def _away(place: FloatArray, other: tuple[float, float]) -> float:
    return float(np.hypot(place[0] - other[0], place[1] - other[1]))


def nose_shadow_outline(
    picture: Picture, key_seen: ZonePlate, *, level: float, around: FloatArray, reach_pt: float
) -> list[FloatArray]:
    """Return the longest line along which a share of the key is seen, near a place [pt].

    Parameters
    ----------
    picture, key_seen : Picture, ZonePlate
        What is drawn.
    level : float
        Share of the key seen along the line. [-]
    around : (2,) array
        The middle of the shadow on the page. [pt]
    reach_pt : float
        How far from it the line is followed. [pt]
    """
    plate = key_seen.plate
    across, down = np.meshgrid(plate.across, plate.down)
    away = picture.place(np.stack([across, down], axis=-1)) - around
    near = (np.hypot(away[..., 0], away[..., 1]) < reach_pt) & key_seen.own
    field = np.where(near, key_seen.field, np.nan)
    lines = contour_lines(field, level, x=plate.across, y=plate.down)
    longest = max(lines, key=len, default=np.empty((0, 2)))
    return [picture.place(longest)] if len(longest) > _LEAST_RUN else []


def zone_numbers(
    picture: Picture, stops: ZonePlate, *, kept_off: np.ndarray
) -> list[tuple[str, tuple[float, float]]]:
    """Return the numbers that go into the zones and where their middles lie [pt].

    Parameters
    ----------
    picture, stops : Picture, ZonePlate
        What is drawn.
    kept_off : (rows, columns) bool array
        Lattice places that other things take.
    """
    every = slice(None, None, _NUMBER_STEP)
    pitch_pt = stops.plate.pitch * picture.place.scale * _NUMBER_STEP
    across, down = stops.plate.across[every], stops.plate.down[every]
    zone = np.searchsorted(-np.array(ZONE_EDGES), -stops.field[every, every])
    free = (stops.own & ~kept_off)[every, every]
    reach = int(_NUMBER_GAP_PT / pitch_pt)
    found = []
    for number in zones_met(stops):
        name = zone_name(ZONE_STOPS[number])
        half = (_half_width(name), SMALL_PT / 2 + 0.5)
        steps = (int(np.ceil(half[0] / pitch_pt)), int(np.ceil(half[1] / pitch_pt)))
        left = free & (zone == number)
        for _ in range(_MOST_NUMBERS):
            at = _roomiest(left, steps)
            if at is None:
                break
            row, column = at
            place = picture.place(np.array([across[column], down[row]]))
            found.append((name, (float(place[0]), float(place[1]))))
            left[max(row - reach, 0) : row + reach, max(column - reach, 0) : column + reach] = False
    return found


def _half_width(name: str) -> float:
    return text_width(name, size_pt=SMALL_PT, weight=600) / 2 + 2.0


def draw_zone_numbers(sheet: Sheet, numbers: list[tuple[str, tuple[float, float]]]) -> None:
    """Write the stops into their zones, each on a small plate of paper."""
    with sheet.group("stops"):
        for name, (x, y) in numbers:
            half = _half_width(name)
            sheet.rectangle(x - half, y - 5.0, 2 * half, 10.0, Paint(fill=PAPER, opacity=0.86))
            sheet.text(x, y + 3.1, name, size_pt=SMALL_PT, weight=600, anchor="middle")


def _roomiest(free: np.ndarray, half_steps: tuple[int, int]) -> tuple[int, int] | None:
    """Return the place farthest inside what is free; None if a box finds no room."""
    columns, rows = half_steps
    fits = _eroded(free, rows, columns)
    if not fits.any():
        return None
    inner = fits
    while inner.any():
        fits, inner = inner, _eroded(inner, 1, 1)
    row, column = np.nonzero(fits)
    k = int(np.argmin((row - row.mean()) ** 2 + (column - column.mean()) ** 2))
    return int(row[k]), int(column[k])


def _eroded(free: np.ndarray, rows: int, columns: int) -> np.ndarray:
    """Return around which places a box of so many steps to each side is free."""
    total = np.zeros((free.shape[0] + 1, free.shape[1] + 1), dtype=np.int64)
    total[1:, 1:] = (~free).cumsum(axis=0).cumsum(axis=1)
    r, c = np.arange(free.shape[0]), np.arange(free.shape[1])
    r0, r1 = np.maximum(r - rows, 0), np.minimum(r + rows + 1, free.shape[0])
    c0, c1 = np.maximum(c - columns, 0), np.minimum(c + columns + 1, free.shape[1])
    taken = (
        total[np.ix_(r1, c1)]
        - total[np.ix_(r0, c1)]
        - total[np.ix_(r1, c0)]
        + total[np.ix_(r0, c0)]
    )
    return np.asarray(taken == 0)


def _least(picture: Picture) -> float:
    """Return the smallest island that is drawn, as an area of the picture plane [-]."""
    depth = float(picture.view.depth(picture.scene.pose.origin))
    return _LEAST_ISLAND_MM2 * 1e-6 / depth**2


def _on_page(picture: Picture, rings: Outlines) -> Outlines:
    return [picture.place(ring) for ring in rings]
