"""A lens cut open along the ray that it mirrors, enlarged, with both angles."""

import numpy as np

from tapemark.analysis.lens_section import LensSection
from tapemark.drawing.guide.panel import Panel
from tapemark.drawing.set_screen.svg import SetSheet, offset
from tapemark.geometry import FloatArray

UNITS_PER_M = 14_000.0  # of the drawing
_WIDE, _HIGH, _LOW = 760.0, 420.0, 130.0  # around the place where the ray meets the lens
_RAY, _UPRIGHT, _ARC = 400.0, 330.0, 150.0
_CAMERA = 235.0
_ARROW = 17.0


def section_panel(section: LensSection, *, title: str, kind: str, words: tuple[str, str]) -> Panel:
    """Return a lens cut open along a ray.

    Parameters
    ----------
    section : LensSection
        The ray and the lens.
    title : str
        What the panel shows.
    kind : str
        Where the ray goes: ``over``, ``beside`` or ``past``.
    words : tuple of two str
        Both angles in words, the way in first.
    """
    sheet = SetSheet()
    front, back = (_page(np.array(one)) for one in (section.front, section.back))
    sheet.area([np.concatenate([front, back[::-1]])], "glass")
    sheet.line(front, "surface")
    sheet.line(back, "surface thin")
    sheet.line(_from_middle((0.0, 1.0), _UPRIGHT), "upright")
    sheet.line(_from_middle(section.towards_camera, _CAMERA), "to-camera")
    for direction, name in ((section.arriving, "in"), (section.leaving, "out")):
        sheet.area([_wedge(direction)], f"angle {name}")
    with sheet.group(f"way {kind}"):
        ray = [_from_middle(section.arriving, _RAY)[::-1], _from_middle(section.leaving, _RAY)]
        sheet.lines(ray, "run")
        for run in ray:
            _arrow(sheet, run)
    for direction, text in zip((section.arriving, section.leaving), words, strict=True):
        _word(sheet, direction, text)
    camera = _from_middle(section.towards_camera, _CAMERA)[1]
    if abs(section.towards_camera[0] - section.leaving[0]) > 0.12:
        side = 1.0 if section.towards_camera[0] > section.leaving[0] else -1.0
        sheet.text(
            offset(camera, 12.0 * side, -8.0),
            "to the camera",
            "word",
            anchor="start" if side > 0 else "end",
        )
    sheet.text(np.array([-_WIDE / 2 + 16.0, _LOW - 16.0]), "the lens, cut open", "word soft")
    return Panel(
        kind="section",
        title=title,
        box=(-_WIDE / 2, -_HIGH, _WIDE, _HIGH + _LOW),
        svg=sheet.to_text(),
    )


def _page(flat: FloatArray) -> FloatArray:
    return np.asarray(flat * UNITS_PER_M * (1.0, -1.0))


def _from_middle(direction: tuple[float, float], size: float) -> FloatArray:
    return np.array([(0.0, 0.0), (direction[0] * size, -direction[1] * size)])


def _wedge(direction: tuple[float, float]) -> FloatArray:
    """Return the sector between the upright and a direction."""
    turn = np.arctan2(direction[0], direction[1])
    around = np.linspace(0.0, turn, 14)
    rim = _ARC * np.stack([np.sin(around), -np.cos(around)], axis=-1)
    return np.concatenate([[(0.0, 0.0)], rim])


def _word(sheet: SetSheet, direction: tuple[float, float], text: str) -> None:
    """Set an angle beside its ray, away from the upright."""
    side = 1.0 if direction[0] >= 0 else -1.0
    at = np.array([side * (abs(direction[0]) * _ARC + 20.0), -_ARC * max(direction[1], 0.45)])
    sheet.text(at, text, "word angle-word", anchor="start" if side > 0 else "end")


def _arrow(sheet: SetSheet, run: FloatArray) -> None:
    start, end = run
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    across = np.array([-along[1], along[0]])
    tip = start + 0.62 * (end - start)
    base = tip - _ARROW * along
    sheet.area([np.array([tip, base + 6.0 * across, base - 6.0 * across])], "tip")
