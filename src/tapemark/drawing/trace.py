"""From a plate to smooth outlines: where a surface shows, and its bands of tone."""

from itertools import pairwise

import numpy as np

from tapemark.drawing.plate import Plate
from tapemark.geometry import FloatArray

Outlines = list[FloatArray]
_EDGE_SMOOTHING = 1.1  # lattice steps
_LEAST_POINTS = 4
_ROUNDING = 4.0  # outlines are evened out over this length [lattice steps]
_PAST_EDGE = 0.06  # of the way across a smooth edge


def shape_outlines(
    plate: Plate, shown: np.ndarray, *, smoothing: float = _EDGE_SMOOTHING
) -> Outlines:
    """Return smooth outlines around lattice places, holes included.

    Parameters
    ----------
    plate : Plate
        For the places of its lattice.
    shown : (rows, columns) bool array
        What to go around.
    smoothing : float
        How far the outline may stray. [lattice steps]

    Returns
    -------
    list of (n, 2) arrays
        Closed outlines in picture places. [-]
    """
    if not shown.any():
        return []
    part, own = plate.part(shown, around=4)
    return _between(part, blurred(own.astype(float), smoothing), 0.5, 2.0)


def even_tones(plate: Plate, shown: np.ndarray, *, smoothing: float) -> FloatArray:
    """Return the tones of one surface, evened out and carried on past its edge.

    Parameters
    ----------
    plate : Plate
        Tones.
    shown : (rows, columns) bool array
        Where the surface shows: somewhere at least.
    smoothing : float
        Radius over which tones are evened out. [lattice steps]
    """
    weight = shown.astype(float)
    known = np.where(shown, plate.tone, 0.0)
    found = np.full(plate.tone.shape, float(known.sum() / weight.sum()))
    for radius in (3.0 * smoothing, smoothing):
        share = blurred(weight, radius)
        near = share > 0.02
        found = np.where(near, blurred(known, radius) / np.where(near, share, 1.0), found)
    return found


def inside_field(shown: np.ndarray, *, smoothing: float = _EDGE_SMOOTHING) -> FloatArray:
    """Return a field that is positive inside what is shown, 0 along its smooth edge."""
    return blurred(shown.astype(float), smoothing) - 0.5


def band_outlines(
    plate: Plate, inside: FloatArray, darker: FloatArray, *, least: float
) -> Outlines:
    """Return closed outlines of a band of tone within a shape.

    Parameters
    ----------
    plate : Plate
        For the places of its lattice.
    inside, darker : (rows, columns) arrays
        Positive inside the shape, and positive where the band is meant.
    least : float
        Islands smaller than this are left out. [-]
    """
    # A little past the edge, so that no lighter seam shows along it.
    field = np.minimum(inside + _PAST_EDGE, darker)
    return [ring for ring in _between(plate, field, 0.0, 1e9) if abs(_area(ring)) > least]


def blurred(field: FloatArray, radius: float) -> FloatArray:
    """Return a field evened out by a bell curve of a radius in lattice steps."""
    if radius <= 0:
        return field
    reach = int(np.ceil(2.6 * radius))
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / radius) ** 2)
    weights /= weights.sum()
    for axis in (0, 1):
        padded = np.pad(
            field, [(reach, reach) if k == axis else (0, 0) for k in (0, 1)], mode="edge"
        )
        field = np.zeros(field.shape)
        for k, weight in enumerate(weights):
            span = slice(k, k + field.shape[axis])
            field += weight * (padded[span] if axis == 0 else padded[:, span])
    return field


def thinned(points: FloatArray, *, tolerance: float) -> FloatArray:
    """Return an outline without the points that hardly bend it."""
    for _ in range(4):
        if len(points) < 2 * _LEAST_POINTS:
            return points
        before, here, after = points[:-2:2], points[1:-1:2], points[2::2]
        chord = after - before
        size = np.hypot(chord[:, 0], chord[:, 1]) + 1e-30
        away = here - before
        off = np.abs(chord[:, 0] * away[:, 1] - chord[:, 1] * away[:, 0]) / size
        keep = np.ones(len(points), dtype=bool)
        keep[1:-1:2] = off > tolerance
        if keep.all():
            return points
        points = points[keep]
    return points


def rounded(ring: FloatArray, *, step: float, radius: float) -> FloatArray:
    """Return a closed outline without steps and kinks, of the same size.

    Parameters
    ----------
    ring : (n, 2) array
        Closed outline, first point not repeated.
    step : float
        Distance between the points returned.
    radius : float
        Length along the outline over which it is evened out.
    """
    closed = np.concatenate([ring, ring[:1]])
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(int(gone[-1] / step), 12)
    at = np.linspace(0.0, gone[-1], count, endpoint=False)
    even = np.stack([np.interp(at, gone, closed[:, k]) for k in (0, 1)], axis=-1)
    spread = min(radius, gone[-1] / 24) / (gone[-1] / count)
    wave = np.exp(-0.5 * (2 * np.pi * np.fft.rfftfreq(count) * spread) ** 2)
    kept = 2 * wave - wave**2  # evened out, then what was lost on bends put back
    return np.asarray(np.fft.irfft(np.fft.rfft(even, axis=0) * kept[:, None], n=count, axis=0))


def _drawn(ring: FloatArray, pitch: float) -> FloatArray:
    smooth = rounded(ring[:-1], step=1.2 * pitch, radius=_ROUNDING * pitch)
    return thinned(smooth, tolerance=0.05 * pitch)


def _area(ring: FloatArray) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def contour_lines(
    field: FloatArray, level: float, *, x: FloatArray | None = None, y: FloatArray | None = None
) -> list[FloatArray]:
    """Return lines (n, 2) along which a field has a level.

    Parameters
    ----------
    field : (rows, columns) array
        The field.
    level : float
        Its value along the lines.
    x, y : (columns,), (rows,) arrays or None
        Places of columns and rows; their numbers if not given.
    """
    from contourpy import contour_generator  # loaded only where used

    lines = contour_generator(x, y, field).lines(level)
    return [np.array(line, dtype=np.float64) for line in lines]


def _between(plate: Plate, field: FloatArray, low: float, high: float) -> Outlines:
    from contourpy import FillType, contour_generator  # loaded only where used

    generator = contour_generator(plate.across, plate.down, field, fill_type=FillType.OuterOffset)
    found: Outlines = []
    for points, offsets in zip(*generator.filled(low, high), strict=True):
        rings = [points[a:b] for a, b in pairwise(offsets)]
        found += [_drawn(ring, plate.pitch) for ring in rings]
    return [ring for ring in found if len(ring) >= _LEAST_POINTS]
