"""A lattice over a boxed lens: rows stand closer where the eye is seen."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.anatomy import outline_margin
from tapemark.geometry import FloatArray

EYE_ROWS_SHARE = 0.62  # of the rows lie in the band of the eye


@dataclass(frozen=True, kw_only=True, eq=False)
class LensSheet:
    """A lattice over a boxed lens and what depends on its outline alone.

    Attributes
    ----------
    x, z : (columns,), (rows,) arrays
        Lattice places. [m]
    row_height : (rows, 1) array
        Height of each row of cells. [m]
    margin : (rows, columns) array
        How far inside the edge. [m]
    edge_x, edge_z : (rows, columns) arrays
        Direction of the nearest edge. [-]
    across : (rows, columns) array
        Size of each cell along its way to the edge. [m]
    cell_m2 : (rows, 1) array
        Size of each cell. [m²]
    """

    x: FloatArray
    z: FloatArray
    row_height: FloatArray
    margin: FloatArray
    edge_x: FloatArray
    edge_z: FloatArray
    across: FloatArray
    cell_m2: FloatArray


@lru_cache(maxsize=32)
def lens_sheet(
    half_size: tuple[float, float],
    outline_shape: tuple[float, float],
    *,
    eye_band: tuple[float, float],
    columns: int,
    rows: int,
) -> LensSheet:
    """Return the lattice over a boxed lens (kept: glasses change less often than lights)."""
    half_width, half_height = half_size
    x = half_width * _centered(columns)
    z, heights = _rows(half_height, eye_band=eye_band, rows=rows)
    margin = outline_margin(
        x,
        z[:, None],
        half_width=half_width,
        half_height=half_height,
        outline_shape=outline_shape,
    )
    slope_z, slope_x = np.gradient(margin, z, x)
    pitch = x[1] - x[0]
    across = np.abs(slope_x) * pitch + np.abs(slope_z) * heights  # a cell seen along its margin
    return LensSheet(
        x=x,
        z=z,
        row_height=heights,
        margin=margin,
        edge_x=np.negative(slope_x),
        edge_z=np.negative(slope_z),
        across=np.maximum(across, 1e-12),
        cell_m2=pitch * heights,
    )


def _rows(
    half_height: float, *, eye_band: tuple[float, float], rows: int
) -> tuple[FloatArray, FloatArray]:
    """Return the heights of lattice rows and of their cells: more of them over the eye."""
    low, high = np.clip(eye_band, -half_height, half_height)
    share = EYE_ROWS_SHARE if low < high else 0.0
    inner = round(share * rows)
    room = (low + half_height, half_height - high)
    below = round((rows - inner) * room[0] / max(sum(room), 1e-9))
    counts = (below, inner, rows - inner - below)
    stops = (-half_height, low, high, half_height)
    edges = [
        np.linspace(start, end, count + 1)[:-1]
        for start, end, count in zip(stops[:-1], stops[1:], counts, strict=True)
        if count > 0
    ]
    whole = np.concatenate([*edges, [half_height]])
    return (whole[1:] + whole[:-1]) / 2, np.diff(whole)[:, None]


def _centered(count: int) -> FloatArray:
    return np.asarray((np.arange(count) + 0.5) * (2.0 / count) - 1.0)
