"""One thing that sends light: its face and its luminous exposure.

Brightness is a luminous exposure: luminance times time, in cd·s/m², over the
exposure of one frame.  Flash and continuous light then add.
"""

from dataclasses import dataclass, field

import numpy as np

from tapemark.analysis.light_faces import Face, FlatFace
from tapemark.geometry import FloatArray, dot, normalize
from tapemark.photometry import polygon_illuminance


@dataclass(frozen=True, kw_only=True, eq=False)
class Emitter:
    """One thing that sends light.

    Attributes
    ----------
    name : str
        What the photographer calls it.
    kind : str
        ``light``, ``ceiling``, ``wall``, ``panel``, ``backdrop``, ``window``
        or ``screen``.
    face : FlatFace or BowlFace
        Where it sends light from.
    brightness : float
        Luminous exposure seen along the axis, front side. [cd·s/m²]
    back_brightness : float
        The same for the other side (0: an opaque back). [cd·s/m²]
    beam_exponent : float
        Intensity falls with the cosine to this power; 1 for a diffuse face.
    lit_map : (n, n) array or None
        For surfaces lit by lights: luminous exposure of each cell, rows
        along the height, columns along the width. [cd·s/m²]
    fed_by : tuple of str
        Names of the lights that light this surface.
    """

    name: str
    kind: str
    face: Face
    brightness: float
    back_brightness: float = 0.0
    beam_exponent: float = 1.0
    lit_map: FloatArray | None = None
    fed_by: tuple[str, ...] = field(default=())

    def brightness_at(
        self, points: FloatArray, directions: FloatArray, *, from_front: np.ndarray
    ) -> FloatArray:
        """Return the luminous exposure that rays see where they meet the face.

        Parameters
        ----------
        points, directions : (..., 3) arrays
            Places on the face [m] and directions of the rays towards it.
        from_front : (...) bool array
            Which side each ray sees.

        Returns
        -------
        (...) array
            Luminous exposure. [cd·s/m²]
        """
        front = self._lit_at(points)
        if self.beam_exponent != 1.0:
            cosine = np.abs(dot(directions, self.face.axes[:, 1]))
            front = front * cosine ** (self.beam_exponent - 1.0)
        return np.where(from_front, front, self.back_brightness)

    def exposure_at(self, points: FloatArray, *, normal: FloatArray) -> FloatArray:
        """Return the luminous exposure this emitter puts on small flat receivers.

        Parameters
        ----------
        points, normal : (..., 3) arrays
            Receivers in the world [m] and the way they face.

        Returns
        -------
        (...) array
            Illuminance times time. [lx·s]

        Notes
        -----
        A bowl is taken as its opening, which is exact for a reflecting
        umbrella seen from in front.  Nothing in between is looked for.
        """
        if self.lit_map is not None:
            return self._from_cells(points, normal)
        towards = normalize(points - self.face.center)
        cosine = dot(towards, self.face.axes[:, 1])
        factor = polygon_illuminance(self.face.outline(), point=points, normal=normal)
        front = self.brightness * np.maximum(cosine, 0.0) ** (self.beam_exponent - 1.0)
        return np.asarray(np.where(cosine > 0, front, self.back_brightness) * factor)

    def shining_middle(self) -> FloatArray:
        """Return the middle of the part that shines, weighted by brightness, (3,) [m]."""
        if self.lit_map is None or not self.lit_map.any():
            return self.face.center
        assert isinstance(self.face, FlatFace)
        cells, _ = face_cells(self.face, count=self.lit_map.shape[0])
        share = self.lit_map.ravel() / self.lit_map.sum()
        return np.asarray((cells * share[:, None]).sum(axis=0))

    def _lit_at(self, points: FloatArray) -> FloatArray:
        if self.lit_map is None:
            return np.full(points.shape[:-1], self.brightness)
        assert isinstance(self.face, FlatFace)
        local = (points - self.face.center) @ self.face.axes
        count = self.lit_map.shape[0]
        column = _cell(local[..., 0] / self.face.width_m, count)
        row = _cell(local[..., 2] / self.face.height_m, count)
        return _bilinear(self.lit_map, row, column)

    def _from_cells(self, points: FloatArray, normal: FloatArray) -> FloatArray:
        assert self.lit_map is not None
        assert isinstance(self.face, FlatFace)
        cells, area = face_cells(self.face, count=self.lit_map.shape[0])
        span = cells - points[..., None, :]
        squared = dot(span, span)
        at_receiver = dot(span, np.asarray(normal)[..., None, :])
        at_cell = -dot(span, self.face.axes[:, 1])
        weight = np.maximum(at_receiver, 0.0) * np.maximum(at_cell, 0.0) / squared**2
        return np.asarray((weight * self.lit_map.reshape(-1)).sum(axis=-1) * area)


def face_cells(face: FlatFace, *, count: int) -> tuple[FloatArray, float]:
    """Return the cell centres of a rectangle, (count², 3) [m], and a cell's area [m²]."""
    steps = (np.arange(count) + 0.5) / count - 0.5
    up, across = np.meshgrid(steps * face.height_m, steps * face.width_m, indexing="ij")
    local = np.stack([across.ravel(), np.zeros(count * count), up.ravel()], axis=-1)
    return face.center + local @ face.axes.T, face.width_m * face.height_m / count**2


def _cell(share: FloatArray, count: int) -> FloatArray:
    return np.clip((share + 0.5) * count - 0.5, 0.0, count - 1.0)


def _bilinear(grid: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
    row, column = np.nan_to_num(row), np.nan_to_num(column)
    top, left = np.floor(row).astype(int), np.floor(column).astype(int)
    down, right = np.minimum(top + 1, grid.shape[0] - 1), np.minimum(left + 1, grid.shape[1] - 1)
    v, u = row - top, column - left
    upper = grid[top, left] * (1 - u) + grid[top, right] * u
    lower = grid[down, left] * (1 - u) + grid[down, right] * u
    return np.asarray(upper * (1 - v) + lower * v)
