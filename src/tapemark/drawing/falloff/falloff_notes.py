"""The numbers of exposure against distance, set beside its chart."""

import numpy as np

from tapemark.analysis import Falloff, Scene, aperture_text
from tapemark.analysis.finding import stops_text
from tapemark.drawing.falloff.falloff_chart import lean_text, mark_words
from tapemark.drawing.page import HEADER_PT, MARGIN_PT, fitted
from tapemark.drawing.style import BODY_PT, HEADING_PT
from tapemark.drawing.svg import Sheet
from tapemark.drawing.words import wrapped
from tapemark.units import UnitSystem

NOTES_PT = 168.0  # width
_LINE_PT = 12.6


def draw_notes(sheet: Sheet, scene: Scene, found: Falloff, *, x: float) -> None:
    """Set the numbers beside the chart, from x to the margin [pt]."""
    y = MARGIN_PT + HEADER_PT
    with sheet.group("notes"):
        for title, rows in _blocks(found, scene):
            sheet.text(x, y, title, size_pt=HEADING_PT, weight=600)
            y += 14.0
            for row in rows:
                for text in wrapped(row, NOTES_PT, size_pt=BODY_PT):
                    sheet.text(x, y, text, size_pt=BODY_PT)
                    y += _LINE_PT
            y += 8.0


def _blocks(found: Falloff, scene: Scene) -> list[tuple[str, list[str]]]:
    """Return headings and lines of the notes."""
    system = scene.setup.units
    title = "At the face" if len(scene.setup.people) == 1 else f"At the face: {scene.sitter.name}"
    title = fitted(title, NOTES_PT, size_pt=HEADING_PT, weight=600)
    if found.aperture is None:
        return [(title, ["no light"])]
    off = 2.0 * float(np.log2(found.aperture / found.set_to))
    way = "as set" if abs(off) < 0.05 else f"{stops_text(off)} {'over' if off > 0 else 'under'}"
    reading = f"{aperture_text(found.aperture)}, {way} {_set_words(off, found)}".strip()
    blocks = [(title, [reading])]
    blocks.append(
        (
            "Room to lean",
            [
                f"±{stop_words(one.stops)}: {_lean(one.back_m, system)} back, "
                f"{_lean(one.forward_m, system)} forward"
                for one in found.depths
            ]
            + ["Shaded on the chart, the first darker."],
        )
    )
    rows = [f"{one.name}: {mark_words(one)}" for one in found.marks]
    blocks.append(("Along the way", rows))
    return blocks


def _set_words(off: float, found: Falloff) -> str:
    return "" if abs(off) < 0.05 else f"the {aperture_text(found.set_to)} set"


def _lean(length_m: float | None, system: UnitSystem) -> str:
    return "all the way" if length_m is None else lean_text(length_m, system=system)


def stop_words(stops: float) -> str:
    """Return one of the useful limits in words."""
    return "1/2 stop" if abs(stops - 0.5) < 1e-6 else "1/3 stop"
