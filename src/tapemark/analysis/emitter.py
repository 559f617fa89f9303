"""One thing that sends light: its face and its luminous exposure.

Brightness is a luminous exposure: luminance times time, in cd·s/m², over the
exposure of one frame.  Flash and continuous light then add.
"""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from tapemark.analysis.light_faces import SIDE_SAMPLES, BowlFace, Face, FlatFace
from tapemark.geometry import FloatArray, dot, length, normalize, turn_to_local
from tapemark.photometry import honeycomb_share, polygon_illuminance

#: Beyond so many times its reach a narrow beam is followed from the middle of its face only,
#: which is then within 3 % for a beam of 60 degrees, anywhere in it.
FAR_REACHES = 6.0
LAMP_REACHES = 20.0  # the same for a measured lamp: nearer, the middle alone is 0.2 % off
FEW_PLACES = 64  # up to so many receivers a beam is followed from twice as many places each way
#: A grid's beam counts as narrow against a face up to so many half faces over its half angle.
GRID_REACHES = 3.0
LEAST_LEAVING = 0.05  # cosine below which a measured beam's brightness is no longer raised


class Distribution(Protocol):
    """How a lamp spreads its light, used in place of a power of the cosine."""

    def relative_at(self, directions: FloatArray) -> FloatArray:
        """Return intensity over that on the axis.

        Parameters
        ----------
        directions : (..., 3) array
            Unit vectors along which the light leaves, in the frame of the face: x along its
            width, y the way it emits, z along its height. [-]
        """


#: Off the axis beyond this a bowl that bulges forwards is more than its opening; in so many
#: patches it is good to 0.01 stop from a metre away.
BULGE_COSINE = float(np.cos(np.deg2rad(30.0)))
BULGE_PATCHES = 128
GOLDEN_ANGLE = float(np.pi * (3.0 - np.sqrt(5.0)))


@dataclass(frozen=True, kw_only=True, eq=False)
class Emitter:
    """One thing that sends light.

    Attributes
    ----------
    name : str
        What the photographer calls it.
    kind : str
        ``light``, ``ceiling``, ``wall``, ``floor``, ``panel``, ``backdrop``,
        ``window`` or ``screen``.
    face : FlatFace or BowlFace
        Where it sends light from.
    brightness : float
        Luminous exposure seen along the axis, front side. [cd·s/m²]
    back_brightness : float
        The same for the other side (0: an opaque back). [cd·s/m²]
    beam_exponent : float
        Intensity falls with the cosine to this power; 1 for a diffuse face.
    distribution : Distribution or None
        How the lamp spreads its light, where that was measured; it is then
        used in place of the power of the cosine.
    grid_rad : float or None
        Full angle that a honeycomb before the face lets through. [rad]
    steady : bool
        True for what shines all the time, so that the shutter decides.
    lit_map : (n, n) array or None
        For surfaces lit by lights: luminous exposure of each cell, rows
        along the height, columns along the width. [cd·s/m²]
    fed_by : tuple of str
        Names of the lights that light this surface.
    fed_shares : tuple of float
        Share of each of them in all the light on it. [-]
    """

    name: str
    kind: str
    face: Face
    brightness: float
    back_brightness: float = 0.0
    beam_exponent: float = 1.0
    distribution: Distribution | None = None
    grid_rad: float | None = None
    steady: bool = False
    lit_map: FloatArray | None = None
    fed_by: tuple[str, ...] = field(default=())
    fed_shares: tuple[float, ...] = field(default=())

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
        if not self.even:
            front = front * self.relative_brightness(-directions)
        return np.where(from_front, front, self.back_brightness)

    @property
    def even(self) -> bool:
        """Whether the front is equally bright from everywhere, as a matt face is."""
        return self.beam_exponent == 1.0 and self.distribution is None and self.grid_rad is None

    def relative_brightness(self, directions: FloatArray) -> FloatArray:
        """Return the brightness of the front over that along the axis.

        Parameters
        ----------
        directions : (..., 3) array
            Unit vectors along which the light leaves, world. [-]

        Returns
        -------
        (...) array
            Share, 0 behind the face. [-]
        """
        cosine = dot(directions, self.face.axes[:, 1])
        if self.distribution is None:
            return self._beam_share(cosine)
        local = turn_to_local(directions, axes=self.face.axes)
        share = self.distribution.relative_at(local) / np.maximum(cosine, LEAST_LEAVING)
        return np.asarray(np.where(cosine > 0, share, 0.0) * self._grid_share(cosine))

    def _beam_share(self, cosine: FloatArray) -> FloatArray:
        """Return the brightness over that along the axis for cosines to the axis (...)."""
        power = self.beam_exponent - 1.0
        share = np.maximum(cosine, 0.0) ** power if power else np.where(cosine > 0, 1.0, 0.0)
        return np.asarray(share * self._grid_share(cosine))

    def _grid_share(self, cosine: FloatArray) -> FloatArray | float:
        if self.grid_rad is None:
            return 1.0
        return honeycomb_share(cosine, acceptance=self.grid_rad)

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
        An even face is exact at any distance, a narrow beam is followed from
        places spread over its face.  A bowl is taken as its opening, which is
        exact for a reflecting umbrella seen from in front; one that bulges
        forwards is followed over its cap for receivers far off its axis, where
        the opening alone would be 0.1 to 0.7 stop too little.  Nothing in
        between is looked for.
        """
        if self.lit_map is not None:
            return self._from_cells(points, normal)
        ahead = dot(points - self.face.center, self.face.axes[:, 1]) > 0
        factor = polygon_illuminance(self.face.sending_outline(), point=points, normal=normal)
        front = self.brightness * (1.0 if self.even else self._beam_at(points, normal))
        light = np.asarray(np.where(ahead, front, self.back_brightness) * factor)
        if isinstance(self.face, BowlFace) and not self.face.hollow_front:
            return self._with_bulge(light, points, np.broadcast_to(normal, points.shape))
        return light

    def _with_bulge(self, light: FloatArray, points: FloatArray, normal: FloatArray) -> FloatArray:
        """Return the light of a bowl that bulges forwards, its cap followed off the axis."""
        assert isinstance(self.face, BowlFace)
        cosine = dot(normalize(points - self.face.center), self.face.axes[:, 1])
        aside = cosine < BULGE_COSINE
        if not np.any(aside):
            return light
        number = np.arange(BULGE_PATCHES, dtype=np.float64)
        places, facing = self.face.bulge((number + 0.5) / BULGE_PATCHES, number * GOLDEN_ANGLE)
        span = places - points[aside][:, None, :]
        squared = dot(span, span)
        received = np.maximum(dot(span, normal[aside][:, None, :]), 0.0)
        sent = np.maximum(-dot(span, facing), 0.0)
        area = self.face.sending_area_m2 / BULGE_PATCHES
        cap = self.brightness * area * (received * sent / squared**2).sum(axis=-1)
        found = light.copy()
        found[aside] = np.where(cosine[aside] > 0, 0.0, light[aside]) + cap
        return found

    def shining_middle(self) -> FloatArray:
        """Return the middle of the part that shines, weighted by brightness, (3,) [m]."""
        if self.lit_map is None or not self.lit_map.any():
            return self.face.center
        assert isinstance(self.face, FlatFace)
        cells, _ = face_cells(self.face, count=self.lit_map.shape[0])
        share = self.lit_map.ravel() / self.lit_map.sum()
        return np.asarray((cells * share[:, None]).sum(axis=0))

    def _beam_at(self, points: FloatArray, normal: FloatArray) -> FloatArray:
        """Return the mean brightness of the front at receivers over that along the axis."""
        span = points - self.face.center
        beam = np.array(self.relative_brightness(normalize(span)))
        reaches = FAR_REACHES if self.distribution is None else LAMP_REACHES
        if self.grid_rad is not None:
            reaches = max(reaches, GRID_REACHES / float(np.tan(self.grid_rad / 2)))
        near = np.asarray(length(span) < reaches * self.face.reach_m)
        if near.any():
            facing = np.broadcast_to(normal, points.shape)[near]
            beam[near] = self._sampled_beam(points[near], facing)
        return beam

    def _sampled_beam(self, points: FloatArray, normal: FloatArray) -> FloatArray:
        """Return the mean over places on the face, each by the light it would put there."""
        side = SIDE_SAMPLES if len(points) <= FEW_PLACES else SIDE_SAMPLES // 2
        at, places = points - self.face.center, self.face.samples(side) - self.face.center
        squared = dot(at, at)[:, None] + dot(places, places) - 2.0 * (at @ places.T)
        along = np.maximum(at @ self.face.axes[:, 1], 0.0)[:, None]
        received = np.maximum(normal @ places.T - dot(at, normal)[:, None], 0.0)
        weight = received * along / squared**2
        if self.distribution is None:
            share = self._beam_share(along / np.sqrt(squared))
        else:
            share = self.relative_brightness(normalize(at[:, None] - places))
        total = weight.sum(axis=-1)
        lit = (weight * share).sum(axis=-1)
        return np.asarray(np.where(total > 0, lit / np.where(total > 0, total, 1.0), 0.0))

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
