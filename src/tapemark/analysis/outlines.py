"""Where do reflections fall on the lenses, as outlines to draw?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.cover import CoverMap
from tapemark.analysis.lens_view import SURFACES, LensView, Surface
from tapemark.anatomy import SIDES, LensStack, Side
from tapemark.geometry import FloatArray, to_world
from tapemark.optics import front_point

Point = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class ReflectionOutline:
    """Outline of one emitter's reflection on one surface of one lens.

    Attributes
    ----------
    source, surface, side : str
        Emitter; ``front`` or ``back``; the sitter's own ``right`` or ``left``.
    stops_over_skin : float
        Brightest place against lit skin. [stops]
    polygons : tuple of tuples of points
        Closed outlines on the front surface, world. [m]
    """

    source: str
    surface: Surface
    side: Side
    stops_over_skin: float
    polygons: tuple[tuple[Point, ...], ...]


def reflection_outlines(
    lenses: LensStack, view: LensView, cover: CoverMap
) -> tuple[ReflectionOutline, ...]:
    """Return the outlines of every visible reflection, one lens pair.

    Parameters
    ----------
    lenses, view, cover : LensStack, LensView, CoverMap
        A lens pair, the camera's view of it and the reflections on it.
    """
    found = []
    for index, side in enumerate(SIDES):
        seen = view.solid_angle[index] > 0
        for source, shares in cover.shares.items():
            for number, surface in enumerate(SURFACES):
                field = np.where(seen, shares[number, index], 0.0)
                flat = _contours(view.x, view.z, field)
                if not flat:
                    continue
                found.append(
                    ReflectionOutline(
                        source=source,
                        surface=surface,
                        side=side,
                        stops_over_skin=float(cover.stops[source][number, index]),
                        polygons=tuple(_on_lens(lenses, index, line) for line in flat),
                    )
                )
    return tuple(found)


def _contours(x: FloatArray, z: FloatArray, field: FloatArray) -> list[FloatArray]:
    """Return closed lines around the cells that are more than half covered."""
    if not field.any():
        return []
    from contourpy import contour_generator  # only drawings need it

    rows, columns = (np.flatnonzero(field.any(axis=axis)) for axis in (1, 0))
    high, wide = (slice(one[0], one[-1] + 3) for one in (rows, columns))  # with a rim of nothing
    wide_x = np.concatenate([[2 * x[0] - x[1]], x, [2 * x[-1] - x[-2]]])[wide]
    wide_z = np.concatenate([[2 * z[0] - z[1]], z, [2 * z[-1] - z[-2]]])[high]
    lines = contour_generator(wide_x, wide_z, np.pad(field, 1)[high, wide]).lines(0.5)
    return [np.asarray(line) for line in lines if len(line) > 3]


def _on_lens(lenses: LensStack, index: int, flat: FloatArray) -> tuple[Point, ...]:
    boxed = front_point(flat[:, 0], flat[:, 1], curvature=lenses.front_curvature[index])
    world = to_world(boxed, origin=lenses.boxed_origin[index], axes=lenses.boxed_axes[index])
    return tuple((float(p[0]), float(p[1]), float(p[2])) for p in world)
