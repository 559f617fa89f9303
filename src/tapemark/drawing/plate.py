"""A plate: what is nearest to the camera at each place of its picture.

Surfaces are grids of points with a tone at each.  They are laid onto one
lattice of picture places, nearer over farther, so that whatever is hidden
drops out.  The lattice is then traced into smooth outlines elsewhere.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.drawing.projection import CameraView
from tapemark.geometry import FloatArray

EMPTY = -1
_SIZES = (1, 2, 3, 4, 6, 8, 11, 15, 20, 26, 34, 48)  # lattice steps; no face may span more


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """A grid of points with a tone, as laid onto a plate.

    Attributes
    ----------
    points : (rows, columns, 3) array
        World points; a cell with a NaN corner is left out. [m]
    tone : (rows, columns) array
        Brightness at each, 0 to 1 or beyond.
    kind : int
        What the surface is; kept on the plate.
    nearer_m : float
        Drawn as if this much nearer to the camera: settles ties. [m]
    """

    points: FloatArray
    tone: FloatArray
    kind: int
    nearer_m: float = 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Plate:
    """A lattice over a part of the picture.

    Attributes
    ----------
    left, top, pitch : float
        Picture place of the first lattice point, and the step. [-]
    kind : (rows, columns) int array
        Which surface is nearest; `EMPTY` for none.
    tone, depth : (rows, columns) arrays
        Its tone [-] and depth [m]; NaN where empty.
    """

    left: float
    top: float
    pitch: float
    kind: np.ndarray
    tone: FloatArray
    depth: FloatArray

    def part(self, shown: np.ndarray, *, around: int) -> tuple["Plate", np.ndarray]:
        """Return the part of the plate around what is shown, and what is shown of it.

        Parameters
        ----------
        shown : (rows, columns) bool array
            Somewhere true.
        around : int
            Lattice steps added on every side.
        """
        rows, columns = (np.flatnonzero(shown.any(axis=axis)) for axis in (1, 0))
        top, left = max(rows[0] - around, 0), max(columns[0] - around, 0)
        cut = (slice(top, rows[-1] + around + 1), slice(left, columns[-1] + around + 1))
        part = Plate(
            left=float(self.left + left * self.pitch),
            top=float(self.top + top * self.pitch),
            pitch=self.pitch,
            kind=self.kind[cut],
            tone=self.tone[cut],
            depth=self.depth[cut],
        )
        return part, shown[cut]

    @property
    def across(self) -> FloatArray:
        """Picture places of the columns. [-]"""
        return np.asarray(self.left + self.pitch * np.arange(self.kind.shape[1]), dtype=np.float64)

    @property
    def down(self) -> FloatArray:
        """Picture places of the rows. [-]"""
        return np.asarray(self.top + self.pitch * np.arange(self.kind.shape[0]), dtype=np.float64)


def lay_plate(
    surfaces: list[Surface],
    *,
    view: CameraView,
    box: tuple[float, float, float, float],
    pitch: float,
) -> Plate:
    """Return the plate of surfaces seen by a camera.

    Parameters
    ----------
    surfaces : list of Surface
        What there is to see.
    view : CameraView
        The camera.
    box : tuple of four floats
        Left, top, right and bottom of the part of the picture. [-]
    pitch : float
        Lattice step. [-]
    """
    left, top, right, bottom = box
    columns, rows = int((right - left) / pitch) + 2, int((bottom - top) / pitch) + 2
    found = [_cover(surface, view, (left, top, pitch), (rows, columns)) for surface in surfaces]
    place, depth, tone, kind = (np.concatenate(part) for part in zip(*found, strict=True))
    order = np.argsort(-depth, kind="stable")  # the nearest is written last
    plate = Plate(
        left=left,
        top=top,
        pitch=pitch,
        kind=np.full((rows, columns), EMPTY),
        tone=np.full((rows, columns), np.nan),
        depth=np.full((rows, columns), np.nan),
    )
    for field, values in ((plate.kind, kind), (plate.tone, tone), (plate.depth, depth)):
        field.reshape(-1)[place[order]] = values[order]
    return plate


def _cover(
    surface: Surface,
    view: CameraView,
    lattice: tuple[float, float, float],
    shape: tuple[int, int],
) -> tuple[np.ndarray, FloatArray, FloatArray, np.ndarray]:
    """Return the lattice places a surface covers, with depth, tone and kind there."""
    left, top, pitch = lattice
    flat = (view(surface.points) - (left, top)) / pitch
    last = (shape[1] - 1, shape[0] - 1)
    depth = view.depth(surface.points) - surface.nearer_m
    corners = np.concatenate([flat, depth[..., None], surface.tone[..., None]], axis=-1)
    a, b = corners[:-1, :-1].reshape(-1, 4), corners[:-1, 1:].reshape(-1, 4)
    c, d = corners[1:, :-1].reshape(-1, 4), corners[1:, 1:].reshape(-1, 4)
    faces = np.concatenate([np.stack([a, b, c], axis=1), np.stack([d, c, b], axis=1)])
    least, most = faces[:, :, :2].min(axis=1), faces[:, :, :2].max(axis=1)
    with np.errstate(invalid="ignore"):
        within = ((most >= 0) & (least <= last)).all(axis=1)
    met = within & np.isfinite(faces).all(axis=(1, 2))
    faces, least, most = faces[met], least[met], most[met]
    low = np.ceil(least - 1e-9).astype(int)
    span = np.floor(most + 1e-9).astype(int) - low + 1
    size = np.clip(span.max(axis=1), 0, _SIZES[-1])
    parts = []
    smaller = 0
    for largest in _SIZES:
        chosen = (size > smaller) & (size <= largest)
        smaller = largest
        if chosen.any():
            parts.append(_fill(faces[chosen], low[chosen], largest, shape))
    if not parts:
        parts = [(np.empty(0, dtype=int), np.empty(0), np.empty(0))]
    place, deep, tone = (np.concatenate(part) for part in zip(*parts, strict=True))
    return place, deep, tone, np.full(len(place), surface.kind)


def _fill(
    faces: FloatArray, low: np.ndarray, size: int, shape: tuple[int, int]
) -> tuple[np.ndarray, FloatArray, FloatArray]:
    """Return the lattice places inside triangles, with depth and tone between the corners."""
    step = np.arange(size)
    offset = np.stack(np.meshgrid(step, step, indexing="ij"), axis=-1).reshape(1, -1, 2)
    at = low[:, None, :] + offset
    origin, one, two = faces[:, 0, :2], faces[:, 1, :2], faces[:, 2, :2]
    u, v = one - origin, two - origin
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    safe = np.where(np.abs(area) < 1e-12, np.nan, area)[:, None]
    away = at - origin[:, None, :]
    first = (away[..., 0] * v[:, None, 1] - away[..., 1] * v[:, None, 0]) / safe
    second = (u[:, None, 0] * away[..., 1] - u[:, None, 1] * away[..., 0]) / safe
    with np.errstate(invalid="ignore"):
        inside = (first >= -1e-6) & (second >= -1e-6) & (first + second <= 1 + 1e-6)
    inside &= (at >= 0).all(axis=-1) & (at[..., 0] < shape[1]) & (at[..., 1] < shape[0])
    face, _ = np.nonzero(inside)
    share = np.stack([1 - first - second, first, second], axis=-1)[inside]
    values = np.einsum("nk,nkc->nc", share, faces[face][:, :, 2:])
    place = at[inside][:, 1] * shape[1] + at[inside][:, 0]
    return place, values[:, 0], values[:, 1]
