"""Beside the face: where the key stands from it, the pattern's name, the ratio and the key."""

import numpy as np

from tapemark.analysis import Exposure, FaceZones, Modelling, Scene, aperture_text
from tapemark.drawing.face_light.head_diagrams import (
    Corner,
    camera_azimuth_deg,
    draw_from_above,
    draw_from_side,
)
from tapemark.drawing.face_light.zone_bands import SHINE, ZONE_STOPS, zone_color, zone_name
from tapemark.drawing.page import fitted
from tapemark.drawing.style import (
    BODY_PT,
    FINE,
    HEADING_PT,
    INK,
    SMALL_PT,
    SOFT_INK,
    THIN,
    TITLE_PT,
    WHITE,
    Paint,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.drawing.words import sentence, wrapped

MINUS = "\N{MINUS SIGN}"
_LINE_PT = 12.6
_TO_KEY_PT, _TO_NAPE_PT = 70.0, 38.0  # from the bridge of the nose in the diagrams
_DIAGRAMS_PT = 178.0  # height of both diagrams


def draw_notes(
    sheet: Sheet,
    scene: Scene,
    *,
    modelling: Modelling,
    exposure: Exposure,
    zones: FaceZones | None,
    met: list[int],
    box: tuple[float, float, float, float],
) -> None:
    """Draw diagrams, name of the pattern, ratio and key of signs beside a face.

    Parameters
    ----------
    sheet, scene : Sheet, Scene
        Page and setup.
    modelling, exposure, zones : Modelling, Exposure, FaceZones or None
        What was found.
    met : list of int
        Zones that the face shows.
    box : tuple of four floats
        Left, top, right and bottom of the room for it. [pt]
    """
    left, top, right, bottom = box
    _diagrams(sheet, scene, modelling, left=left, top=top, right=right)
    y = top + _DIAGRAMS_PT + 20.0
    y = _pattern(sheet, modelling, x=left, y=y, width=right - left)
    y = _ratio(sheet, modelling, x=left, y=y + 8.0, width=right - left)
    _readings(sheet, scene, exposure, zones, x=left, y=y + 8.0, width=right - left)
    if zones is not None:
        _zone_key(sheet, zones, met, x=left, y=bottom - 84.0, width=right - left)
        _sign_key(sheet, x=left, y=bottom - 28.0)


def _diagrams(
    sheet: Sheet, scene: Scene, modelling: Modelling, *, left: float, top: float, right: float
) -> None:
    """Draw both diagrams, the one from above on the side of the page where its key has room."""
    azimuth = 0.0 if modelling.azimuth_deg is None else modelling.azimuth_deg
    to_the_right = np.sin(np.deg2rad(azimuth - camera_azimuth_deg(scene))) < 0
    above, side = (right - _TO_KEY_PT, left + _TO_NAPE_PT)
    if not to_the_right:
        above, side = left + _TO_KEY_PT, right - _TO_KEY_PT
    draw_from_above(sheet, scene, modelling, at=Corner(x=above, y=top + 66.0))
    draw_from_side(sheet, scene, modelling, at=Corner(x=side, y=top + 88.0))
    for x, words in ((above, "from above"), (side, "from the side")):
        sheet.text(x, top + _DIAGRAMS_PT, words, size_pt=SMALL_PT, color=SOFT_INK, anchor="middle")


def _pattern(sheet: Sheet, modelling: Modelling, *, x: float, y: float, width: float) -> float:
    sheet.text(x, y, pattern_words(modelling), size_pt=TITLE_PT, weight=600)
    lines = wrapped(sentence(modelling.because), width, size_pt=BODY_PT)
    for number, text in enumerate(lines):
        sheet.text(x, y + 15.0 + number * _LINE_PT, text, size_pt=BODY_PT)
    return y + 15.0 + len(lines) * _LINE_PT


def pattern_words(modelling: Modelling) -> str:
    """Return the pattern's name and which side of the face is lit, in words."""
    name = "No named pattern" if modelling.pattern == "none" else sentence(modelling.pattern)
    if modelling.face_side == "neither":
        return name
    return f"{name}, {modelling.face_side} lighting"


def signed(stops: float) -> str:
    """Return stops with their sign: ``+0.6``, ``−1.2``."""
    return f"{'+' if stops >= 0 else MINUS}{abs(stops):.1f}"


def _ratio(sheet: Sheet, modelling: Modelling, *, x: float, y: float, width: float) -> float:
    ratio = modelling.ratio
    sheet.text(x, y, "Lighting ratio, as set", size_pt=HEADING_PT, weight=600)
    if ratio is None:
        sheet.text(x, y + 14.0, "no fill: shadows get next to nothing", size_pt=BODY_PT)
        return y + 14.0 + _LINE_PT
    rows = [
        (f"{ratio.highlight_to_shadow:.1f} : 1", "highlight : shadow, (key + fill) : fill"),
        (f"{ratio.key_to_fill:.1f} : 1", "key : fill, each metered alone"),
        (signed(ratio.key_over_fill_stops), f"stops, {modelling.key} against {ratio.fill}"),
    ]
    if modelling.highlight_to_shadow is not None:
        rows.append(
            (f"{modelling.highlight_to_shadow:.1f} : 1", "cheek : cheek, as the light falls")
        )
    for number, (value, words) in enumerate(rows):
        base = y + 14.0 + number * _LINE_PT
        sheet.text(x, base, value, size_pt=BODY_PT, weight=600)
        sheet.text(x + 42.0, base, fitted(words, width - 42.0, size_pt=BODY_PT), size_pt=BODY_PT)
    return y + 14.0 + len(rows) * _LINE_PT


def _readings(
    sheet: Sheet,
    scene: Scene,
    exposure: Exposure,
    zones: FaceZones | None,
    *,
    x: float,
    y: float,
    width: float,
) -> None:
    set_to = aperture_text(scene.setup.camera.aperture)
    together = "no light" if exposure.aperture is None else aperture_text(exposure.aperture)
    rows = [f"camera at {set_to}; dome to the camera meters {together}"]
    if zones is not None:
        rows.insert(
            0, f"0 = {zones.key} alone, flat, square on: {aperture_text(zones.key_aperture)}"
        )
    sheet.text(x, y, "Readings", size_pt=HEADING_PT, weight=600)
    for number, words in enumerate(rows):
        base = y + 14.0 + number * _LINE_PT
        sheet.text(x, base, fitted(words, width, size_pt=BODY_PT), size_pt=BODY_PT)


def _zone_key(
    sheet: Sheet, zones: FaceZones, met: list[int], *, x: float, y: float, width: float
) -> None:
    """Draw the zones that the face shows, with their stops and what a flat receptor meters."""
    step = min(width / max(len(met), 1), 30.0)

    def middle(at: float, base: float, words: str, *, bold: bool) -> None:
        weight, color = (600, INK) if bold else (400, SOFT_INK)
        sheet.text(at, base, words, size_pt=SMALL_PT, weight=weight, color=color, anchor="middle")

    with sheet.group("zone key"):
        words = "zones in stops, and what a flat receptor meters there"
        sheet.text(x, y - 15.0, words, size_pt=SMALL_PT, color=SOFT_INK)
        for number, zone in enumerate(met):
            stops, left = ZONE_STOPS[zone], x + number * step
            paint = Paint(fill=zone_color(stops), stroke=SOFT_INK, width=FINE)
            sheet.rectangle(left, y, step, 13.0, paint)
            middle(left + step / 2, y - 3.5, zone_name(stops), bold=True)
            meters = aperture_text(zones.key_aperture * 2.0 ** (stops / 2)).removeprefix("f/")
            middle(left + step / 2, y + 22.5, meters, bold=False)


def _sign_key(sheet: Sheet, *, x: float, y: float) -> None:
    """Draw what hatching, dots and the dotted ring mean."""
    with sheet.group("key"):
        for number, (sign, words) in enumerate(
            (
                ("core", "the key does not reach"),
                ("soft", "its soft edge: 10 to 90 % of the key in view"),
                ("shine", "skin shines by more than a third of a stop"),
            )
        ):
            base = y + number * 13.5
            if sign == "shine":
                ring = _oval(x + 8.5, base - 3.0)
                sheet.area([ring], SHINE)
            else:
                box = np.array(
                    [(x, base - 8), (x + 17, base - 8), (x + 17, base + 2), (x, base + 2)]
                )
                sheet.area([box], filled(WHITE))
                sheet.area([box], filled(f"url(#{sign})"))
                if sign == "core":
                    sheet.area([box], line(THIN))
            sheet.text(x + 22.0, base, words, size_pt=SMALL_PT, color=SOFT_INK)


def _oval(x: float, y: float) -> np.ndarray:
    around = np.linspace(0, 2 * np.pi, 33)[:-1]
    return np.stack([x + 7.5 * np.cos(around), y + 4.6 * np.sin(around)], axis=-1)
