r"""The head as one smooth surface, shaped by a few body measures.

The surface is a loft: at each height the head has a half width and the depths
of its front, its widest place and its rear, joined by a rounded
cross-section.  On the face side a relief is added: the profile of the midline
(nose, lips, chin) that fades to the sides, and smooth hills and hollows
(brow, sockets, cheekbones).  From the front it is a height field
``depth(x, z)``, so that both hiding and drawing read the same numbers.

          z ^                 head frame, metres
            |  ___            x to the sitter's right
            | /   \__         y out of the face
            | |     _\  <- y z up
            +-+----/---->     origin midway between the corneas

The relief is worked out once on a lattice and looked up between its points.

References
----------
See `head_shape.py` for the tables and what they rest on.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tapemark.anatomy.head_shape import (
    FRONT_EXPONENT,
    HILLS,
    NOSE_FOOT,
    NOSE_ROOT,
    REAR_EXPONENT,
    REFERENCE,
    STATION_STEP_MM,
    STATIONS,
    dense_profile,
    dense_stations,
)
from tapemark.geometry import FloatArray, split_components
from tapemark.studio import FaceMeasures
from tapemark.units import MM

_LATTICE_MM = 1.0  # step of the relief's lattice; looked up to 0.1 mm
_FADE = 4.0  # how quickly the relief dies out at the sides of the head
_TRAGION_MM = (70.0, -78.0, -16.0)
REAR_STARTS_MM = -25.0  # nothing of the rear lies farther forward
DEEP_M = 4.0 * MM  # deeper in the head, and farther out of it, is not told apart
LONGEST_M = 160.0 * MM  # over the face; farther on a path has left the head
BAND_MM = 2.0  # width of the bands in which the foremost depth is kept


@dataclass(frozen=True, kw_only=True, slots=True)
class Landmarks:
    """Named points of the face in the head frame [m]."""

    sellion: tuple[float, float, float]
    nose_tip: tuple[float, float, float]
    subnasale: tuple[float, float, float]
    glabella: tuple[float, float, float]
    chin: tuple[float, float, float]
    right_cheek: tuple[float, float, float]
    left_cheek: tuple[float, float, float]
    forehead: tuple[float, float, float]
    right_tragion: tuple[float, float, float]
    left_tragion: tuple[float, float, float]
    crown: tuple[float, float, float]


class HeadSurface:
    """The head surface of one set of face measures, head frame, metres.

    Parameters
    ----------
    measures : FaceMeasures
        Face measures of the sitter [mm]; see `tapemark.studio.FaceMeasures`.
    """

    def __init__(self, measures: FaceMeasures) -> None:
        self.measures = measures
        self._wide = measures.head_breadth_mm / REFERENCE["head_breadth"]
        self._cheek = measures.bizygomatic_mm / REFERENCE["bizygomatic"]
        self._deep = measures.head_length_mm / REFERENCE["head_length"]
        self._tall = measures.face_height_mm / REFERENCE["face_height"]
        self._nose = measures.nose_protrusion_mm / REFERENCE["nose_protrusion"]
        self._eyes = measures.interpupillary_mm / REFERENCE["interpupillary"]
        self._sections = self._scaled_sections()
        self._lattice = self._relief_lattice()
        self._foremost = self._foremost_by_side()
        self._surface = self._surface_lattice()

    def front_depth(self, x: FloatArray, z: FloatArray) -> FloatArray:
        """Return the depth y of the face surface at a place seen from the front.

        Parameters
        ----------
        x, z : (...) arrays
            Side and height in the head frame. [m]

        Returns
        -------
        (...) array
            Depth y [m]; NaN beside the head's outline.
        """
        side, up = np.abs(x) / MM, np.asarray(z) / (MM * self._tall)
        half_width, front, widest, _ = self._section(up)
        base, bulge = _arc(side, half_width, front, widest, exponent=FRONT_EXPONENT)
        return (base + self._relief(side, up) * np.minimum(bulge * _FADE, 1.0)) * MM

    def fine_front_depth(self, x: FloatArray, z: FloatArray) -> FloatArray:
        """Return what `front_depth` does without looking up its lattice: smooth, but slower [m]."""
        side, up = np.abs(x) / MM, np.asarray(z) / (MM * self._tall)
        half_width, front, widest, _ = self._section(up)
        base, bulge = _arc(side, half_width, front, widest, exponent=FRONT_EXPONENT)
        return (base + self._relief_exact(side, up) * np.minimum(bulge * _FADE, 1.0)) * MM

    def section(self, z: FloatArray) -> FloatArray:
        """Return half width, depth of front, of the widest place and of the rear, (4, ...) [m].

        The front leaves out the relief: nose, lips, brows and cheekbones.
        """
        return self._section(np.asarray(z) / (MM * self._tall)) * MM

    def rear_depth(self, x: FloatArray, z: FloatArray) -> FloatArray:
        """Return the depth y of the back of the head [m]; NaN beside the outline."""
        side, up = np.abs(x) / MM, np.asarray(z) / (MM * self._tall)
        half_width, _, widest, rear = self._section(up)
        return _arc(side, half_width, rear, widest, exponent=REAR_EXPONENT)[0] * MM

    def contains(self, points: FloatArray) -> np.ndarray:
        """Return which points lie inside the head.

        Parameters
        ----------
        points : (..., 3) array
            Points in the head frame. [m]

        Returns
        -------
        (...) bool array
            True inside the surface; False for NaN points.
        """
        return np.asarray(self._depth_within(*split_components(points)) > 0.0)

    def blocks(
        self,
        starts: FloatArray,
        directions: FloatArray,
        *,
        clearance_m: float = 0.0035,
        reach_m: float = 0.13,
        steps: int = 12,
    ) -> np.ndarray:
        """Return which straight paths run into the head; arguments as in `depth_along`.

        Returns
        -------
        (...) bool array
            True where the path enters the head.
        """
        depth = self.depth_along(
            starts, directions, clearance_m=clearance_m, reach_m=reach_m, steps=steps
        )
        return np.asarray(depth > 0.0)

    def depth_along(
        self,
        starts: FloatArray,
        directions: FloatArray,
        *,
        clearance_m: float = 0.0035,
        reach_m: float = 0.13,
        steps: int = 12,
    ) -> FloatArray:
        """Return how deep straight paths run into the head.

        Parameters
        ----------
        starts, directions : (..., 3) arrays
            Path starts [m] and unit directions [-], head frame; broadcast.
        clearance_m : float
            Length at the start of each path that is not tested. [m]
        reach_m : float
            Length tested; beyond it a path has left the face. [m]
        steps : int
            Number of places tested along each path.

        Returns
        -------
        (...) array
            Depth under the surface at the deepest place, negative for a path
            that stays outside; at most `DEEP_M` either way. [m]

        Notes
        -----
        Places are tested at a pitch that grows with distance; features thinner
        than about 3 mm along the path can be missed.
        """
        fractions = np.linspace(0.0, 1.0, steps) ** 1.5
        lengths = clearance_m + fractions * (reach_m - clearance_m)
        along = lengths.reshape(-1, *(1,) * max(starts.ndim - 1, directions.ndim - 1))
        places = (starts[..., k] + along * directions[..., k] for k in range(3))
        return np.asarray(self._depth_within(*places).max(axis=0))

    def hides(
        self,
        starts: FloatArray,
        directions: FloatArray,
        *,
        clearance_m: float = 0.002,
        steps: int = 14,
    ) -> np.ndarray:
        """Return which straight paths from places on the face run into the head.

        Parameters
        ----------
        starts, directions : (..., 3) arrays
            Places on or just over the face [m] and unit directions [-], head
            frame; broadcast.
        clearance_m : float
            Length at the start of each path that is not tested. [m]
        steps : int
            Number of places tested along each path.

        Returns
        -------
        (...) bool array
            True where the path enters the head.

        Notes
        -----
        Made for many paths: the surface is looked up on a lattice of 1 mm, so
        that the outline of the head is good to 1 mm, and each path is tested
        only until it is farther out than the tip of the nose, or `LONGEST_M`.
        `blocks` follows the surface itself and is about five times slower.
        """
        starts, directions = np.broadcast_arrays(starts, directions)
        start, along = starts.reshape(-1, 3), directions.reshape(-1, 3)
        outwards = np.maximum(along[:, 1], 1e-9)
        leaves = np.where(
            along[:, 1] > 0, (self._foremost.max() - start[:, 1]) / outwards, LONGEST_M
        )
        reach = np.clip(leaves, clearance_m, LONGEST_M)
        shares = np.linspace(0.0, 1.0, steps)[:, None] ** 1.5
        lengths = ((clearance_m + shares * (reach - clearance_m)) / MM).astype(np.float32)
        start, along = (start / MM).astype(np.float32), along.astype(np.float32)
        inside = self._under_surface(*(start[:, k] + lengths * along[:, k] for k in range(3)))
        return np.asarray(inside.any(axis=0).reshape(starts.shape[:-1]))

    def mesh(self, *, rows: int = 96, columns: int = 97) -> FloatArray:
        """Return the face side as a grid of points for drawing and shading.

        Parameters
        ----------
        rows, columns : int
            Number of heights (chin to crown) and of places across (left to
            right of the sitter's head).

        Returns
        -------
        (rows, columns, 3) array
            Points in the head frame. [m]
        """
        side, up, x, z = self._grid(rows, columns)
        half_width, front, widest, _ = self._section(up)
        base, bulge = _arc(side, half_width, front, widest, exponent=FRONT_EXPONENT)
        relief = self._relief_exact(side, up) * np.minimum(bulge * _FADE, 1.0)
        return np.stack([x, (base + relief) * MM, z], axis=-1)

    def rear_mesh(self, *, rows: int = 48, columns: int = 49) -> FloatArray:
        """Return the back of the head as a grid of points, head frame [m]."""
        _, _, x, z = self._grid(rows, columns)
        return np.stack([x, self.rear_depth(x, z), z], axis=-1)

    def landmarks(self) -> Landmarks:
        """Return the named points of this face, head frame [m]."""
        at_x, at_y, at_z = _TRAGION_MM
        tragion = (at_x * self._cheek * MM, at_y * self._deep * MM, at_z * MM)
        return Landmarks(
            sellion=self._on_face(0.0, 3.0),
            nose_tip=self._on_face(0.0, -38.0),
            subnasale=self._on_face(0.0, -48.5),
            glabella=self._on_face(0.0, 19.0),
            chin=self._on_face(0.0, -104.0),
            right_cheek=self._on_face(36.0, -36.0),
            left_cheek=self._on_face(-36.0, -36.0),
            forehead=self._on_face(0.0, 52.0),
            right_tragion=tragion,
            left_tragion=(-tragion[0], tragion[1], tragion[2]),
            crown=(0.0, -75.0 * self._deep * MM, 115.0 * self._tall * MM),
        )

    def _depth_within(self, x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
        """Return the depth of points, along y, under the surface; -`DEEP_M` for NaN [m]."""
        found = np.full(x.shape, -DEEP_M)
        band = np.abs(x) * (1.0 / (BAND_MM * MM))
        known = np.clip(np.nan_to_num(band), 0, len(self._foremost) - 1).astype(np.intp)
        near = y < self._foremost[known] + DEEP_M
        x, y, z = x[near] / MM, y[near] / MM, z[near] / MM
        side, up = np.abs(x), z / self._tall
        half_width, front, widest, rear = self._section(up)
        base, bulge = _arc(side, half_width, front, widest, exponent=FRONT_EXPONENT)
        behind, _ = _arc(side, half_width, rear, widest, exponent=REAR_EXPONENT)
        with np.errstate(invalid="ignore"):
            surface = base + self._relief(side, up) * np.minimum(bulge * _FADE, 1.0)
        depth = np.minimum(surface - y, y - behind) * MM
        found[near] = np.clip(np.nan_to_num(depth, nan=-DEEP_M), -DEEP_M, DEEP_M)
        return found

    def _under_surface(self, x: FloatArray, y: FloatArray, z: FloatArray) -> np.ndarray:
        """Return which points [mm] lie between front and rear; spends its arguments."""
        rows, columns = self._surface.shape[1:]
        z *= np.float32(1.0 / (self._tall * _LATTICE_MM))
        z -= np.float32(STATIONS[0, 0] / _LATTICE_MM)
        np.abs(x, out=x)
        for place, last in ((z, rows - 1.01), (x, columns - 1.01)):  # NaN becomes 0
            np.fmin(np.fmax(place, np.float32(0.0), out=place), np.float32(last), out=place)
        low, near = z.astype(np.int32), x.astype(np.int32)
        z -= low
        x -= near
        at = low * columns + near
        front, rear = self._surface.reshape(2, -1)
        inside = np.asarray(y < _between(front, at, columns, along=z, across=x))
        deep = inside & (y < REAR_STARTS_MM)
        if deep.any():
            behind = _between(rear, at[deep], columns, along=z[deep], across=x[deep])
            inside[deep] = y[deep] > behind
        return inside

    def _on_face(self, across_mm: float, up_mm: float) -> tuple[float, float, float]:
        x, z = across_mm * self._cheek * MM, up_mm * self._tall * MM
        return (x, float(self.front_depth(np.array(x), np.array(z))), z)

    def _grid(
        self, rows: int, columns: int
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Return side and height [mm, of the reference], x and z [m] of a grid of places."""
        low, high = STATIONS[0, 0] + 0.3, STATIONS[-1, 0] - 0.3
        up = np.broadcast_to(np.linspace(low, high, rows)[:, None], (rows, columns))
        angle = np.linspace(-np.pi / 2, np.pi / 2, columns) * 0.9995
        across = self._section(up)[0] * np.sin(angle)
        return np.abs(across), up, across * MM, up * self._tall * MM

    def _section(self, up_mm: FloatArray) -> FloatArray:
        """Return half width, front, widest and rear depth at heights, (4, ...) [mm]."""
        place = (np.asarray(up_mm) - STATIONS[0, 0]) / STATION_STEP_MM
        last = self._sections.shape[1] - 2
        cell = np.clip(np.nan_to_num(place), 0, last).astype(np.intp)
        share = place - cell
        found = self._sections[:, cell] * (1.0 - share) + self._sections[:, cell + 1] * share
        with np.errstate(invalid="ignore"):
            found[0] = np.where((share >= 0.0) & (share <= 1.0), found[0], np.nan)
        return np.asarray(found)

    def _scaled_sections(self) -> FloatArray:
        heights, half_width, front, widest, rear = dense_stations()
        lower = np.clip((30.0 - heights) / 60.0, 0.0, 1.0)  # cheeks below, skull above
        scale = self._wide + (self._cheek - self._wide) * lower
        return np.stack([half_width * scale, front, widest * self._deep, rear * self._deep])

    def _relief(self, side_mm: FloatArray, up_mm: FloatArray) -> FloatArray:
        """Return the relief between the lattice points around each place [mm]."""
        rows, columns = self._lattice.shape
        row, column = (up_mm - STATIONS[0, 0]) / _LATTICE_MM, side_mm / _LATTICE_MM
        low = np.clip(np.nan_to_num(row), 0, rows - 2).astype(np.intp)
        near = np.clip(np.nan_to_num(column), 0, columns - 2).astype(np.intp)
        along, across = np.clip(row - low, 0.0, 1.0), np.clip(column - near, 0.0, 1.0)
        flat, at = self._lattice.reshape(-1), low * columns + near
        first = flat[at] + (flat[at + 1] - flat[at]) * across
        at = at + columns
        second = flat[at] + (flat[at + 1] - flat[at]) * across
        return np.asarray(first + (second - first) * along)

    def _relief_lattice(self) -> FloatArray:
        up = np.arange(STATIONS[0, 0], STATIONS[-1, 0] + _LATTICE_MM, _LATTICE_MM)
        side = np.arange(0.0, float(np.nanmax(self._sections[0])) + 2 * _LATTICE_MM, _LATTICE_MM)
        return self._relief_exact(side[None, :], up[:, None])

    def _surface_lattice(self) -> FloatArray:
        """Return depth of front and rear on the relief's lattice; far in, or out, beside [mm]."""
        rows, columns = self._lattice.shape
        up = STATIONS[0, 0] + np.arange(rows, dtype=np.float64)[:, None] * _LATTICE_MM
        side = np.arange(columns, dtype=np.float64) * _LATTICE_MM
        half_width, front, widest, rear = self._section(up)
        base, bulge = _arc(side, half_width, front, widest, exponent=FRONT_EXPONENT)
        with np.errstate(invalid="ignore"):
            depth = base + self._lattice * np.minimum(bulge * _FADE, 1.0)
        behind, _ = _arc(side, half_width, rear, widest, exponent=REAR_EXPONENT)
        far = 10.0 * REFERENCE["head_length"]
        both = np.stack([np.nan_to_num(depth, nan=-far), np.nan_to_num(behind, nan=far)])
        return both.astype(np.float32)

    def _foremost_by_side(self) -> FloatArray:
        """Return how far out the face comes in each band of |x|, the last band empty [m]."""
        heights = np.arange(STATIONS[0, 0], STATIONS[-1, 0], 1.0) * self._tall * MM
        widest = float(np.nanmax(self._sections[0]))
        bands = np.arange(int(widest / BAND_MM) + 2)
        sides = (bands[:, None] + np.linspace(0.0, 1.0, 5)) * BAND_MM * MM
        depth = self.front_depth(sides[..., None], heights)
        front = np.nan_to_num(depth, nan=-np.inf).max(axis=(1, 2)) + 0.5 * MM
        front[-1] = -np.inf
        return np.asarray(front)

    def _relief_exact(self, side_mm: FloatArray, up_mm: FloatArray) -> FloatArray:
        """Return hills and hollows plus the midline's profile, faded to the sides [mm]."""
        depth, reach = self._profile(up_mm)
        own = depth - self._section(up_mm)[1] - self._hills(np.zeros(1), up_mm)
        faded = np.nan_to_num(own) * np.exp(-((side_mm / reach) ** 2))
        return np.asarray(self._hills(side_mm, up_mm) + faded)

    def _profile(self, up_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the midline's depth, NaN above and below it, and how wide it reaches [mm]."""
        heights, depth, reach = dense_profile()
        (root, at_root), (foot, at_foot) = NOSE_ROOT, NOSE_FOOT
        line = at_foot + (heights - foot) * (at_root - at_foot) / (root - foot)
        nose = (heights > foot) & (heights < root)
        scaled = np.where(nose, line + (depth - line) * self._nose, depth)
        found = np.interp(up_mm, heights, scaled, left=np.nan, right=np.nan)
        return found, np.interp(up_mm, heights, reach)

    def _hills(self, side_mm: FloatArray, up_mm: FloatArray) -> FloatArray:
        total = np.zeros(np.broadcast_shapes(np.shape(side_mm), np.shape(up_mm)))
        for _name, at, height, rise, wide, tall, slope, bend in HILLS:
            away = side_mm - at * (self._eyes if at > 20 else 1.0)
            above = up_mm - height - slope * away - bend * away**2
            total += rise * np.exp(-0.5 * ((away / wide) ** 2 + (above / tall) ** 2))
        return total


def _arc(
    side: FloatArray,
    half_width: FloatArray,
    tip: FloatArray,
    widest: FloatArray,
    *,
    exponent: float,
) -> tuple[FloatArray, FloatArray]:
    """Return the depth of a rounded section and how far inside its edge it is (1 to 0)."""
    with np.errstate(invalid="ignore", divide="ignore"):
        bulge = 1.0 - (side / half_width) ** exponent
        return widest + (tip - widest) * np.sqrt(bulge), bulge


def _between(
    table: FloatArray, at: np.ndarray, columns: int, *, along: FloatArray, across: FloatArray
) -> FloatArray:
    """Return values of a flat table between four neighbours, the first of them at `at`."""
    low, high = _mixed(table.take(at), table.take(at + 1), across), at + columns
    return _mixed(low, _mixed(table.take(high), table.take(high + 1), across), along)


def _mixed(one: FloatArray, other: FloatArray, share: FloatArray) -> FloatArray:
    """Return values between two, in place of the second."""
    other -= one
    other *= share
    other += one
    return other


@lru_cache(maxsize=16)
def head_surface(measures: FaceMeasures) -> HeadSurface:
    """Return the head surface for a set of face measures (kept for reuse)."""
    return HeadSurface(measures)
