"""Lens outlines of many wearers at once: how far inside places lie, and which way the edge is."""

from functools import lru_cache

import numpy as np

from tapemark.geometry import FloatArray, superellipse_points
from tapemark.planning.walk_ins.wearer_glasses import OUTLINES
from tapemark.studio import OUTLINE_SHAPES

_POINTS = 720  # around an outline, to find its greatest width


def outline_edge(
    x: FloatArray,
    z: FloatArray,
    *,
    half: tuple[FloatArray, FloatArray],
    outline: np.ndarray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the way to the edge and how far inside it places lie.

    Parameters
    ----------
    x, z : (..., L) arrays
        Places in the boxed frames. [m]
    half : pair of (L,) arrays
        Half widths and half heights. [m]
    outline : (L,) int array
        Which outline each lens has.

    Returns
    -------
    edge_x, edge_z : (..., L) arrays
        Direction of the nearest edge. [-]
    margin : (..., L) array
        Distance to it to first order, positive inside; as in `superellipse_margin`. [m]
    """
    gauge, slopes = _gauge(x / half[0], z / half[1], _shapes()[:, outline])
    return _scaled(gauge, slopes, half)


def cell_edges(
    places: tuple[FloatArray, FloatArray],
    *,
    half: tuple[FloatArray, FloatArray],
    outline: np.ndarray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the same for a lattice over every lens, (rows, columns, L).

    Parameters
    ----------
    places : pair of arrays
        Cell middles up and across, in half boxes. [-]
    half, outline
        As in `outline_edge`.
    """
    up, across = places
    tables = _tables(tuple(up), tuple(across)).astype(half[0].dtype)
    gauge, slope_x, slope_z = tables[:, :, :, outline]
    return _scaled(gauge, (slope_x, slope_z), half)


@lru_cache(maxsize=8)
def _tables(up: tuple[float, ...], across: tuple[float, ...]) -> FloatArray:
    """Return gauges and slopes over a lattice for every outline, (3, rows, columns, outlines)."""
    z, x = np.array(up)[:, None, None], np.array(across)[:, None]
    gauge, slopes = _gauge(x, z, _shapes())
    return np.stack([gauge, *slopes])


def _scaled(
    gauge: FloatArray, slopes: tuple[FloatArray, FloatArray], half: tuple[FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    across, up = slopes[0] / half[0], slopes[1] / half[1]
    steep = np.maximum(np.sqrt(across * across + up * up), 1e-9)
    return across / steep, up / steep, (1.0 - gauge) / steep


def _gauge(
    x: FloatArray, z: FloatArray, shape: FloatArray
) -> tuple[FloatArray, tuple[FloatArray, FloatArray]]:
    """Return the gauge, 1 on the outline, and its slopes, for boxes of half size 1 [-]."""
    power, taper, widest = shape
    widening = np.maximum(1.0 + taper * z, 0.1)
    side = x * widest / widening
    side_power, up_power = np.abs(side) ** (power - 1.0), np.abs(z) ** (power - 1.0)
    total = np.maximum(side_power * np.abs(side) + up_power * np.abs(z), 1e-30)
    gauge = total ** (1.0 / power)
    outer = gauge / total
    slope_side = np.copysign(side_power, side) * outer
    slope_up = np.copysign(up_power, z) * outer
    return gauge, (
        slope_side * widest / widening,
        slope_up - slope_side * side * taper / widening,
    )


@lru_cache(maxsize=1)
def _shapes() -> FloatArray:
    """Return squareness, taper and greatest relative width of every outline, (3, outlines) [-]."""
    rows = []
    for power, taper in (OUTLINE_SHAPES[name] for name in OUTLINES):
        flat = superellipse_points(_POINTS, half_width=1.0, half_height=1.0, exponent=power)
        rows.append((power, taper, np.abs(flat[:, 0] * (1.0 + taper * flat[:, 1])).max()))
    return np.array(rows).T
