"""Edges and thin lines in the strip: what rims, bridges and lens borders look like."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.strip import (
    ABOVE_MM,
    COLUMNS,
    HALF_WIDE_MM,
    PX_PER_MM,
    ROWS,
    EyeStrip,
)

LINE_MM = 3.5  # thinner things are lines: rims and wires, no brows
_EDGE_STOPS, _LINE_STOPS = 0.16, 0.22  # such an edge [per px] or line counts half
_DARK = 0.012  # added before the logarithm: noise in the dark is no edge


Plane = tuple[FloatArray, FloatArray]


class RimEdges(NamedTuple):
    """The strip's slope in stops per pixel, across and down, and its thin lines, 0 to 1."""

    across: FloatArray
    down: FloatArray
    lines: FloatArray


def rim_edges(strip: EyeStrip) -> RimEdges:
    """Return the edges and lines of a strip."""
    import cv2

    stops = np.log2(strip.luminance + _DARK).astype(np.float32)
    soft = cv2.GaussianBlur(stops, (0, 0), 0.8)
    size = round(LINE_MM * PX_PER_MM)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    dark = cv2.morphologyEx(soft, cv2.MORPH_BLACKHAT, kernel)
    light = cv2.morphologyEx(soft, cv2.MORPH_TOPHAT, kernel)
    line = np.maximum(dark, 0.7 * light)
    return RimEdges(
        cv2.Sobel(soft, -1, 1, 0, ksize=3, scale=0.125),
        cv2.Sobel(soft, -1, 0, 1, ksize=3, scale=0.125),
        line / (line + np.float32(_LINE_STOPS)),
    )


def along(
    edges: RimEdges, at: Plane, step: Plane, length: FloatArray, *, out_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Return how much of an edge runs along curves, and of a thin line outside them, 0 to 1.

    Parameters
    ----------
    edges : RimEdges
        Of the strip.
    at, step : pairs of arrays
        Places on the curves and the way they run there, across and down. [mm]
    length : array
        Of each step. [mm]
    out_mm : float
        How far outside the line is. [mm]
    """
    place = _places(*at)
    slope = edges.across.take(place) * step[1]
    slope -= edges.down.take(place) * step[0]
    found = np.abs(slope, out=slope)
    found /= length
    edge = found / (found + _EDGE_STOPS)
    outside = (at[0] + out_mm * (step[1] / length), at[1] + out_mm * (-step[0] / length))
    return edge, edges.lines.take(_places(*outside))


def bridge_line(edges: RimEdges, *, down_mm: float) -> float:
    """Return how much of a line crosses the bridge of the nose about a height, 0 to 1."""
    middle = round(HALF_WIDE_MM * PX_PER_MM)
    top = round((down_mm - 17.0 + ABOVE_MM) * PX_PER_MM)
    part = edges.lines[max(top, 0) : top + round(22.0 * PX_PER_MM), middle - 8 : middle + 9]
    return float(np.percentile(part.max(axis=0), 30)) if part.size else 0.0


def _places(across: FloatArray, down: FloatArray) -> np.ndarray:
    """Return the numbers of the strip pixels at places [mm]; of the nearest for those outside."""
    column = ((across + HALF_WIDE_MM) * PX_PER_MM).astype(np.int32)
    row = ((down + ABOVE_MM) * PX_PER_MM).astype(np.int32)
    np.minimum(np.maximum(column, 0, out=column), COLUMNS - 1, out=column)
    np.minimum(np.maximum(row, 0, out=row), ROWS - 1, out=row)
    row *= COLUMNS
    row += column
    return row
