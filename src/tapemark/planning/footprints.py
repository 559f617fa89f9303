"""From which places would a light be met by a ray that leaves an eye?

A ray meets the upright line across the middle of a light's face, or a line beside it, at those
sides of a row where

    C0 + C1 cos(side) + C2 sin(side) = 0,

for the same face is turned about the sitter's upright.  So each direction from an eye belongs to
one stretch of sides in each row, known in closed form: the footprint of the ray.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.planning.sightlines.place_rows import LitShape, PlaceRows

UP_NODES = 72  # directions up and down for which each row's footprints are kept
#: The same around, and up and down, for somebody beside the sitter mark.
AZIMUTH_NODES, ASIDE_UP_NODES = 15, 48
ON_AXIS_M = 1e-6  # nearer to the sitter's upright one footprint serves all azimuths


@dataclass(frozen=True, kw_only=True, eq=False)
class Footprints:
    """Stretches of sides by direction from one point: axes (row, azimuth, up).

    Attributes
    ----------
    origin : (3,) array
        The point between the eyes, world. [m]
    rows : PlaceRows
        The places.
    azimuth_rad : (azimuths,) array
        Directions around, from +y to +x; one alone where they are all alike. [rad]
    low_rad, step_rad : (rows, azimuths) arrays
        The lowest direction up kept, and the step to the next. [rad]
    offset_rad : (rows, azimuths, ups) array
        Middle of the stretch, less the azimuth. [rad]
    half_rad : (rows, azimuths, ups) array
        Half its length; 0 where the light is missed. [rad]
    """

    origin: FloatArray
    rows: PlaceRows
    azimuth_rad: FloatArray
    low_rad: FloatArray
    step_rad: FloatArray
    offset_rad: FloatArray
    half_rad: FloatArray

    @property
    def on_axis(self) -> bool:
        """Whether all directions around are alike."""
        return len(self.azimuth_rad) == 1

    def range_m(self, azimuth_rad: FloatArray, row: np.ndarray) -> FloatArray:
        """Return how far the middle of a light is from the point, towards azimuths [m].

        `row` (numbers) and `azimuth_rad` broadcast; NaN where no light of the row is there.
        """
        rise = self.rows.height_m[row] - self.origin[2]
        if self.on_axis:
            return np.asarray(np.hypot(self.rows.distance_m[row], rise))
        x, y = self.origin[:2]
        along = x * np.sin(azimuth_rad) + y * np.cos(azimuth_rad)
        inner = along**2 + self.rows.distance_m[row] ** 2 - x * x - y * y
        with np.errstate(invalid="ignore"):
            return np.asarray(np.hypot(np.sqrt(inner) - along, rise))

    def stretches(
        self, azimuth_rad: FloatArray, up_rad: FloatArray, row: np.ndarray
    ) -> tuple[FloatArray, FloatArray]:
        """Return middle and half length of the footprints of directions, all (n,) [rad]."""
        if self.on_axis:
            cell, share = self._node(up_rad, row, self.low_rad[row, 0], self.step_rad[row, 0])
            return azimuth_rad, _between(self.half_rad.reshape(-1), cell, share)
        around = self.azimuth_rad
        turn = (azimuth_rad - around[0]) / (around[1] - around[0])
        left = np.clip(turn.astype(np.int32), 0, len(around) - 2)
        part = np.clip(turn - left, 0.0, 1.0)
        cells = row * len(around) + left
        low, step = (
            _between(one.reshape(-1), cells, part) for one in (self.low_rad, self.step_rad)
        )
        cell, share = self._node(up_rad, cells, low, step)
        found = []
        for table in (self.offset_rad, self.half_rad):
            flat = table.reshape(-1)
            near = _between(flat, cell, share)
            found.append(near + part * (_between(flat, cell + table.shape[2], share) - near))
        return azimuth_rad + found[0], found[1]

    def _node(
        self, up_rad: FloatArray, run: np.ndarray, low: FloatArray, step: FloatArray
    ) -> tuple[np.ndarray, FloatArray]:
        """Return the number of the kept direction below each, and the share of the way on."""
        last = self.half_rad.shape[2] - 2
        at = np.clip((up_rad - low) / step, np.float32(0.0), np.float32(last + 1))
        first = np.minimum(at.astype(np.int32), last)
        return run * np.int32(last + 2) + first, at - first.astype(np.float32)


def footprints(rows: PlaceRows, shape: LitShape, *, origin: FloatArray) -> Footprints:
    """Return the footprints of directions from a point between two eyes.

    Parameters
    ----------
    rows : PlaceRows
        Places of the light.
    shape : LitShape
        Its lit face.
    origin : (3,) array
        The point, world. [m]
    """
    aside = float(np.hypot(origin[0], origin[1]))
    around, nodes = np.zeros(1), UP_NODES
    if aside > ON_AXIS_M:
        first, last = np.deg2rad(rows.side_deg[[0, -1]])
        wider = np.arcsin(min(aside / float(rows.distance_m.max()), 1.0)) + 0.3
        around = np.linspace(first - wider, last + wider, AZIMUTH_NODES)
        nodes = ASIDE_UP_NODES
    low, high = _limits(rows, shape, origin=origin, azimuth=around)
    step = (high - low) / (nodes - 3)
    low = low - step
    up = low[..., None] + step[..., None] * np.arange(nodes)
    middle, half = _solved(rows, shape, origin=origin, azimuth=around[:, None], up=up)
    half[..., [0, -1]] = 0.0
    return Footprints(
        origin=origin,
        rows=rows,
        azimuth_rad=around,
        low_rad=low.astype(np.float32),
        step_rad=step.astype(np.float32),
        offset_rad=(middle - around[:, None]).astype(np.float32),
        half_rad=half.astype(np.float32),
    )


def _between(flat: FloatArray, cell: np.ndarray, share: FloatArray) -> FloatArray:
    near = flat[cell]
    return np.asarray(near + share * (flat[cell + 1] - near))


def _limits(
    rows: PlaceRows, shape: LitShape, *, origin: FloatArray, azimuth: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and highest direction in which a light is seen, (rows, azimuths)."""
    half, tall = shape.width_m / 2, shape.height_m / 2
    local = np.array([(x, 0.0, z) for x in (-half, 0.0, half) for z in (-tall, tall)])
    ways = np.stack([np.sin(azimuth), np.cos(azimuth)], axis=-1)
    along = ways @ origin[:2]
    inner = along**2 + rows.distance_m[:, None] ** 2 - origin[:2] @ origin[:2]
    range_m = np.sqrt(np.maximum(inner, 0.0)) - along
    place = origin[:2] + range_m[..., None] * ways
    out, up = rows.upright(local)
    facing = place / rows.distance_m[:, None, None]
    beside = np.stack([-facing[..., 1], facing[..., 0]], axis=-1)
    level = out[:, None, :, None] * facing[:, :, None] + local[:, :1] * beside[:, :, None]
    span = level - origin[:2]
    high = np.arctan2(up[:, None] - origin[2], np.hypot(span[..., 0], span[..., 1]))
    return np.asarray(high.min(axis=2)), np.asarray(high.max(axis=2))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Lines:
    """Directions (rows, azimuths, ups) from a point, against the faces of each row."""

    origin: FloatArray
    rows: PlaceRows
    x: FloatArray
    y: FloatArray
    z: FloatArray

    def side_at(self, aside_m: FloatArray | float) -> FloatArray:
        """Return the side at which each meets the upright line beside the middle [rad]."""
        (qx, qy, qz), rows = self.origin, self.rows
        level, down = rows.level[:, None, None], rows.down[:, None, None]
        reach = (rows.level * rows.distance_m - rows.down * (qz - rows.height_m))[:, None, None]
        constant = level * (qx * self.y - qy * self.x) - aside_m * down * self.z
        cosine = reach * self.x - aside_m * level * self.y + down * self.z * qx
        sine = -reach * self.y - aside_m * level * self.x - down * self.z * qy
        share = -constant / np.hypot(cosine, sine)
        with np.errstate(invalid="ignore"):
            return np.asarray(np.arctan2(sine, cosine) + np.arccos(share))

    def met(self, side: FloatArray) -> tuple[FloatArray, np.ndarray]:
        """Return how far over the middle each is met [m], and whether in front and ahead."""
        (qx, qy, qz), rows = self.origin, self.rows
        level, down = rows.level[:, None, None], rows.down[:, None, None]
        sine, cosine = np.sin(side), np.cos(side)
        out, rise = qx * sine + qy * cosine - rows.distance_m[:, None, None], qz - rows.height_m
        ahead = self.x * sine + self.y * cosine
        towards = level * ahead + down * self.z
        gone = -(level * out + down * rise[:, None, None]) / towards
        high = -down * (out + gone * ahead) + level * (rise[:, None, None] + gone * self.z)
        return high, (towards > 0) & (gone > 0)


def _solved(
    rows: PlaceRows, shape: LitShape, *, origin: FloatArray, azimuth: FloatArray, up: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return middle and half length of the footprint of each direction [rad].

    The face is followed at its middle and, for what a tilted face bends, beside it.
    """
    lines = _Lines(
        origin=origin,
        rows=rows,
        x=np.cos(up) * np.sin(azimuth),
        y=np.cos(up) * np.cos(azimuth),
        z=np.sin(up),
    )
    middle = lines.side_at(0.0)
    high, ahead = lines.met(middle)
    chord = shape.half_chord(high)
    flat = shape.kind == "rectangle"
    beside = np.maximum(0.6 * chord if flat else chord, 0.15 * shape.width_m)
    ends = []
    for sign in (-1.0, 1.0):
        off, _ = lines.met(lines.side_at(sign * beside))
        own = shape.half_chord(off)
        ends.append(lines.side_at(sign * (0.5 * (chord + own) if flat else own)))
    half = np.where(ahead & (chord + beside > 0), np.abs(_turn(ends[1] - ends[0])) / 2, 0.0)
    middle = azimuth + _turn(ends[0] + _turn(ends[1] - ends[0]) / 2 - azimuth)
    missed = ~np.isfinite(half) | ~np.isfinite(middle)
    return np.where(missed, azimuth, middle), np.where(missed, 0.0, half)


def _turn(angle: FloatArray) -> FloatArray:
    """Return an angle between -pi and pi."""
    return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)
