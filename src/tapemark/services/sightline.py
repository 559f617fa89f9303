"""Map where one light may stand: as an answer, as data and as a drawing."""

import csv
import io
from dataclasses import dataclass
from typing import Any

import numpy as np

from tapemark.planning import (
    MapPlace,
    MapSheet,
    OpenHeights,
    SightlineMap,
    lenses_only,
    open_heights,
    sightline_map,
)
from tapemark.planning.sightlines.map_sheet import HARD, SOFT
from tapemark.planning.sightlines.place_patterns import PATTERNS
from tapemark.services.plain import Plain, as_plain, rounded
from tapemark.studio import Setup, setup_to_mapping

VERDICTS = ("clear", "edge", "veiled")
_DIGITS = 4


@dataclass(frozen=True, kw_only=True, eq=False)
class MapReport:
    """A sightline map, and what else the lenses show.

    Attributes
    ----------
    map : SightlineMap
        Open and closed places of the light.
    heights : tuple of OpenHeights
        Open heights at its distance.
    still_shown : tuple of str
        What the lenses would still show with the light at its best place.
    """

    map: SightlineMap
    heights: tuple[OpenHeights, ...]
    still_shown: tuple[str, ...]


def map_light(setup: Setup, light_name: str) -> MapReport:
    """Return the sightline map of one light of a setup.

    Raises
    ------
    SetupError
        There is no such light, it is off, or it is not aimed at the sitter.
    """
    found = sightline_map(setup, light_name)
    shown: tuple[str, ...] = ()
    if found.best is not None:
        seen = lenses_only(found.moved(found.best))
        lenses = [lens for one in seen.people for lens in one.lenses if lens.verdict != "clear"]
        names = [part.source for lens in lenses for part in lens.reflections]
        shown = tuple(dict.fromkeys(name for name in names if name != found.light.name))
    return MapReport(map=found, heights=open_heights(found.heights), still_shown=shown)


def map_as_plain(report: MapReport) -> Plain:
    """Return a sightline map as plain data: sheets as lists of rows, and the setup to check."""
    found = report.map
    return {
        "light": found.light.name,
        "people": list(found.people),
        "now": _place(found.now),
        "best": None if found.best is None else _place(found.best),
        "least_bad": found.least_bad,
        "still_shown": list(report.still_shown),
        "open_heights": [as_plain(one) for one in report.heights],
        "heights": _sheet(found.heights),
        "floor": _sheet(found.floor),
        "setup": None if found.best is None else setup_to_mapping(found.moved(found.best)),
    }


def map_as_csv(report: MapReport) -> str:
    """Return a sightline map as a table, one place a line."""
    found = report.map
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    lenses = [f"{who} {side}" for who in found.people for side in ("right", "left")]
    table.writerow(
        [
            *("sheet", "side_deg", "distance_m", "height_m", "power_stops", "verdict"),
            *(f"veil, {one}" for one in lenses),
            *(f"lens_cover, {one}" for one in lenses),
            *(f"catchlight, {one}" for one in lenses),
            *("pattern", "against"),
        ]
    )
    for name, sheet in (("heights", found.heights), ("floor", found.floor)):
        table.writerows(_lines(name, sheet))
    return text.getvalue()


def map_picture(report: MapReport) -> str:
    """Return the drawing of a sightline map as SVG text."""
    from tapemark.drawing import map_drawing  # drawing loads what only drawing needs

    return map_drawing(report.map, still_shown=report.still_shown)


def picture_bytes(svg: str, *, width_px: int = 1600) -> bytes:
    """Return a drawing as a PNG picture."""
    from tapemark.drawing import svg_to_png

    return svg_to_png(svg, width_px=width_px)


def _place(place: MapPlace) -> Plain:
    plain: dict[str, Any] = as_plain(place)
    return plain


def _sheet(sheet: MapSheet) -> Plain:
    rows = sheet.rows
    verdict = sheet.closed.astype(int) + sheet.veiled
    return {
        "side_deg": _numbers(rows.side_deg),
        "distance_m": _numbers(rows.distance_m),
        "height_m": _numbers(rows.height_m),
        "power_stops": _numbers(sheet.power_stops),
        "verdict": [[VERDICTS[one] for one in line] for line in verdict.tolist()],
        "veil": _numbers(sheet.veil),
        "lens_cover": _numbers(sheet.lens_cover),
        "catchlight": sheet.catchlight.astype(int).tolist(),
        "pattern": [[PATTERNS[one] if one >= 0 else "" for one in line] for line in sheet.pattern],
        "against": {
            reason: sheet.where(reason).astype(int).tolist()
            for reason in HARD + SOFT
            if sheet.where(reason).any()
        },
    }


def _lines(name: str, sheet: MapSheet) -> list[list[object]]:
    """Return one line of a table for each place of a sheet."""
    rows, (high, wide) = sheet.rows, sheet.rows.shape
    verdict = (sheet.closed.astype(int) + sheet.veiled).tolist()
    columns = [
        one.reshape(-1, high, wide).transpose(1, 2, 0).round(_DIGITS).tolist()
        for one in (sheet.veil, sheet.lens_cover, sheet.catchlight.astype(int))
    ]
    against = np.full((high, wide), "", dtype=object)
    for reason in HARD + SOFT:
        mask = sheet.where(reason)
        against[mask] = [f"{one}; {reason}" if one else reason for one in against[mask]]
    found: list[list[object]] = []
    for row in range(high):
        distance, height, power = (
            round(float(one[row]), _DIGITS)
            for one in (rows.distance_m, rows.height_m, sheet.power_stops)
        )
        for side in range(wide):
            place = (rounded(float(rows.side_deg[side])), distance, height, power)
            numbers = [value for column in columns for value in column[row][side]]
            found.append(
                [
                    name,
                    *place,
                    VERDICTS[verdict[row][side]],
                    *numbers,
                    sheet.pattern_at(row, side),
                    against[row, side],
                ]
            )
    return found


def _numbers(values: np.ndarray) -> list[Any]:
    rounded_values: list[Any] = (np.round(values, _DIGITS) + 0.0).tolist()
    return rounded_values
