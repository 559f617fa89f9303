"""The room of a figure, from the side and from above, with what the figure is about over it."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tapemark.drawing.guide.panel import Box, Drag, Panel, quiet
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.set_screen.elevation import SIDE, set_elevation
from tapemark.drawing.set_screen.plan import PLAN, set_plan
from tapemark.drawing.set_screen.svg import SetSheet
from tapemark.drawing.set_screen.things import SetShown
from tapemark.geometry import FloatArray

_ARROW_MM = 90.0
_BAND_M = 0.17  # half the breadth of the band of places
_PATCH_M = 0.045  # how thick a lit patch of the ceiling is drawn


@dataclass(frozen=True, kw_only=True, eq=False)
class Way:
    """A way that light takes.

    Attributes
    ----------
    points : (n, 3) array
        Corners, world. [m]
    kind : str
        ``over`` an eye into the camera, ``beside`` it, or ``past`` the camera.
    """

    points: FloatArray
    kind: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Stretch:
    """Places along an arc about the sitter.

    Attributes
    ----------
    from_deg, to_deg : float
        Its ends, camera-left positive. [deg]
    kind : str
        ``closed`` or ``open``.
    """

    from_deg: float
    to_deg: float
    kind: str


def side_panel(
    shown: SetShown,
    *,
    title: str,
    ways: Sequence[Way] = (),
    spread: FloatArray | None = None,
    patch: FloatArray | None = None,
    drags: tuple[Drag, ...] = (),
    grip: FloatArray | None = None,
) -> Panel:
    """Return the room from camera-left.

    Parameters
    ----------
    shown : SetShown
        The room and what is in it.
    title : str
        What the panel shows.
    ways : sequence of Way
        Ways of light.
    spread : (n, 3) array, optional
        Outline of where a lens mirrors the camera's view to, world. [m]
    patch : (n, 3) array, optional
        Outline of a lit patch of the ceiling, world. [m]
    drags : tuple of Drag
        What a pointer changes.
    grip : (3,) array, optional
        Where it takes hold, world. [m]
    """
    (left, top, wide, high), fragment = set_elevation(shown)
    sheet = SetSheet()
    sheet.raw(quiet("".join(fragment)))
    if spread is not None:
        sheet.area([SIDE(spread)], "spread")
    if patch is not None:
        page = SIDE(patch)
        x, y = page[:, 0], float(page[:, 1].mean())
        deep = 1000 * _PATCH_M
        corners = [(x.min(), y), (x.max(), y), (x.max(), y + deep), (x.min(), y + deep)]
        sheet.area([np.array(corners)], "patch")
    _ways(sheet, ways, view=SIDE)
    return Panel(
        kind="side",
        title=title,
        box=_mm(left, top, wide, high),
        svg=sheet.to_text(),
        drags=drags,
        grip=_grip(grip, view=SIDE),
    )


def above_panel(
    shown: SetShown,
    *,
    title: str,
    stretches: Sequence[Stretch] = (),
    distance_m: float = 1.0,
    ways: Sequence[Way] = (),
    drags: tuple[Drag, ...] = (),
    grip: FloatArray | None = None,
) -> Panel:
    """Return the room from above.

    Parameters
    ----------
    shown : SetShown
        The room and what is in it.
    title : str
        What the panel shows.
    stretches : sequence of Stretch
        Closed and open places.
    distance_m : float
        Their distance from the sitter. [m]
    ways : sequence of Way
        Ways of light.
    drags : tuple of Drag
        What a pointer changes.
    grip : (3,) array, optional
        Where it takes hold, world. [m]
    """
    (left, top, wide, high), fragment = set_plan(shown)
    sheet = SetSheet()
    sheet.raw(quiet("".join(fragment)))
    for one in stretches:
        sheet.area([_band(one, distance_m)], one.kind)
    _ways(sheet, ways, view=PLAN)
    return Panel(
        kind="above",
        title=title,
        box=_mm(left, top, wide, high),
        svg=sheet.to_text(),
        drags=drags,
        grip=_grip(grip, view=PLAN),
    )


def _grip(place: FloatArray | None, *, view: ParallelView) -> tuple[float, float] | None:
    if place is None:
        return None
    x, y = (float(one) for one in view(np.asarray(place)))
    return x, y


def _mm(left: float, top: float, wide: float, high: float) -> Box:
    return 1000 * left, 1000 * top, 1000 * wide, 1000 * high


def _band(one: Stretch, distance_m: float) -> FloatArray:
    """Return the outline of a band of places, on the plan."""
    turn = np.deg2rad(
        np.linspace(one.from_deg, one.to_deg, 2 + int(abs(one.to_deg - one.from_deg)))
    )
    around = np.stack([np.sin(turn), np.cos(turn), np.zeros_like(turn)], axis=-1)
    outer, inner = (distance_m + _BAND_M) * around, (distance_m - _BAND_M) * around
    return PLAN(np.concatenate([outer, inner[::-1]]))


def _ways(sheet: SetSheet, ways: Sequence[Way], *, view: ParallelView) -> None:
    for way in ways:
        page = view(way.points)
        with sheet.group(f"way {way.kind}"):
            sheet.line(page, "run")
            for start, end in pairwise(page):
                _arrow(sheet, start, end)


def _arrow(sheet: SetSheet, start: FloatArray, end: FloatArray) -> None:
    """Draw the head of an arrow in the middle of a line."""
    size = float(np.hypot(*(end - start)))
    if size < 3 * _ARROW_MM:
        return
    along = (end - start) / size
    across = np.array([-along[1], along[0]])
    tip = start + (0.5 * size + _ARROW_MM / 2) * along
    base = tip - _ARROW_MM * along
    sheet.area([np.array([tip, base + 30.0 * across, base - 30.0 * across])], "tip")
