"""The eyes in the camera's view for the screen, as they look through the lens."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from tapemark.analysis import LensView, Scene
from tapemark.anatomy import opening_outline
from tapemark.drawing.set_screen.svg import SetSheet, fewer
from tapemark.drawing.set_screen.things import frame_key
from tapemark.drawing.trace import contour_lines
from tapemark.geometry import FloatArray, to_world
from tapemark.optics import front_point

if TYPE_CHECKING:
    from tapemark.drawing.set_screen.view import Page

_AROUND = 16  # points of an eye's shapes, about
_LEAST_SHARE, _MOST_SHARE = 0.6, 1.5  # how much smaller or larger a lens may show an eye
_TOLERANCE = 1.0


@dataclass(frozen=True, kw_only=True)
class _Eye:
    """One eye as one camera sees it: what decides it, and where to find it."""

    key: object
    scene: Scene = field(compare=False)
    page: "Page" = field(compare=False)
    view: LensView | None = field(compare=False)
    index: int


def draw_eyes(sheet: SetSheet, scene: Scene, page: "Page", *, view: LensView | None) -> None:
    """Draw opening, iris and pupil of both eyes."""
    for index in (0, 1):
        shapes = _shapes(_eye(scene, page, view=view, index=index))
        for name in ("white", "iris", "pupil"):
            rings = [_thinned(ring) for ring in shapes[name]]
            sheet.blob(rings, name)
        for ring in shapes["white"]:
            upper = ring[ring[:, 1] <= ring[:, 1].mean() + 4.0]
            order = np.argsort(upper[:, 0])
            sheet.line(fewer(upper[order], tolerance=_TOLERANCE), "lid")


def straight_to_seen(
    scene: Scene, page: "Page", *, view: LensView | None, index: int
) -> Callable[[FloatArray], FloatArray]:
    """Return the function from where something in an eye would be drawn to where it is seen.

    Notes
    -----
    Over an eye a lens shifts and scales what is behind it almost evenly: taken from how it shows
    the opening.  Good to some hundredths of a millimetre.
    """
    eye = _eye(scene, page, view=view, index=index)
    straight, rings = _opening(eye), _shapes(eye)["white"]
    if view is None or not rings:
        return lambda points: points
    seen = max(rings, key=lambda ring: float(np.prod(np.ptp(ring, axis=0))))
    share = np.ptp(seen, axis=0) / np.ptp(straight, axis=0)
    if not ((share > _LEAST_SHARE) & (share < _MOST_SHARE)).all():
        return lambda points: points
    start = (straight.min(axis=0) + straight.max(axis=0)) / 2
    end = (seen.min(axis=0) + seen.max(axis=0)) / 2
    return lambda points: end + share * (points - start)


def _eye(scene: Scene, page: "Page", *, view: LensView | None, index: int) -> _Eye:
    key = (scene.sitter, frame_key(scene))
    return _Eye(key=key, scene=scene, page=page, view=view, index=index)


@lru_cache(maxsize=64)
def _shapes(eye: _Eye) -> dict[str, list[FloatArray]]:
    """Return outlines of opening, visible iris and visible pupil on the drawing."""
    if eye.view is None:
        return _bare(eye)
    view, index = eye.view, eye.index
    opening = np.nan_to_num(view.opening[index], nan=-1.0)
    margins = {"white": opening}
    for name, margin in (("iris", view.iris), ("pupil", view.pupil)):
        margins[name] = np.minimum(np.nan_to_num(margin[index], nan=-1.0), opening)
    runs = [(name, run) for name, own in margins.items() for run in _edges(view, own)]
    found: dict[str, list[FloatArray]] = {name: [] for name in margins}
    if not runs:
        return found
    flat = np.concatenate([run for _, run in runs])
    drawn = eye.page(_on_lens(eye.scene, index, flat))
    ends = np.cumsum([len(run) for _, run in runs])[:-1]
    for (name, _), ring in zip(runs, np.split(drawn, ends), strict=True):
        found[name].append(ring)
    return found


def _thinned(ring: FloatArray) -> FloatArray:
    """Return an outline with fewer points, evenly left out."""
    return ring[:: max(round(len(ring) / _AROUND), 1)]


def _edges(view: LensView, margin: FloatArray) -> list[FloatArray]:
    """Return closed lines on the lens along which a margin is 0."""
    high, wide = (np.flatnonzero((margin > 0).any(axis=axis)) for axis in (1, 0))
    if not len(high):
        return []
    rows, columns = (
        slice(max(high[0] - 1, 0), high[-1] + 2),
        slice(max(wide[0] - 1, 0), wide[-1] + 2),
    )
    own = margin[rows, columns].copy()
    for edge in (np.s_[0], np.s_[-1], np.s_[:, 0], np.s_[:, -1]):
        own[edge] = np.minimum(own[edge], -1e-4)  # lines close at the edge of the lens
    lines = contour_lines(own, 0.0, x=view.x[columns], y=view.z[rows])
    return [line for line in lines if len(line) > 3]


def _on_lens(scene: Scene, index: int, flat: FloatArray) -> FloatArray:
    lenses = scene.lenses
    assert lenses is not None
    front = front_point(flat[:, 0], flat[:, 1], curvature=lenses.front_curvature[index])
    return to_world(front, origin=lenses.boxed_origin[index], axes=lenses.boxed_axes[index])


def _bare(eye: _Eye) -> dict[str, list[FloatArray]]:
    """Return the shapes of an eye without glasses."""
    eyes, index = eye.scene.eyes, eye.index
    opening = _opening(eye)
    around = np.linspace(0.0, 2 * np.pi, _AROUND, endpoint=False)
    circle = np.stack([np.cos(around), np.zeros(_AROUND), np.sin(around)], axis=-1) / 2
    found = {"white": [opening]}
    for name, size in (("iris", eyes.iris_diameter_m), ("pupil", eyes.pupil_diameter_m)):
        world = eyes.iris_center[index] + (circle * size) @ eyes.gaze_axes[index].T
        found[name] = [_within(eye.page(world), opening)]
    return found


def _within(ring: FloatArray, opening: FloatArray) -> FloatArray:
    from tapemark.drawing.brush import cut_to_convex, hull

    return cut_to_convex(ring, hull(opening))


def _opening(eye: _Eye) -> FloatArray:
    """Return the opening on the drawing as it would be without a lens."""
    eyes, index = eye.scene.eyes, eye.index
    flat = opening_outline(eyes=eyes, outward=float(eyes.outward[index]), count=_AROUND)
    across, up = eyes.head_axes[:, 0], eyes.head_axes[:, 2]
    world = eyes.opening_center[index] + flat[:, :1] * across + flat[:, 1:] * up
    return eye.page(world)
