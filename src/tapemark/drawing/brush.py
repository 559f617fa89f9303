"""Curves and strokes: smooth lines through a few points, drawn thick and thin like a pen."""

from collections.abc import Sequence

import numpy as np

from tapemark.geometry import FloatArray


def smooth_curve(knots: FloatArray | Sequence[Sequence[float]], *, count: int = 24) -> FloatArray:
    """Return points of a smooth curve through knots (centripetal Catmull-Rom).

    Parameters
    ----------
    knots : (n, d) array
        Points it passes through.
    count : int
        Number of points returned.
    """
    points = np.asarray(knots, dtype=np.float64)
    padded = np.concatenate([[2 * points[0] - points[1]], points, [2 * points[-1] - points[-2]]])
    gaps = np.maximum(np.sqrt(np.linalg.norm(np.diff(padded, axis=0), axis=1)), 1e-9)
    times = np.concatenate([[0.0], np.cumsum(gaps)])
    at = np.linspace(times[1], times[-2], count)
    cell = np.clip(np.searchsorted(times, at, side="right") - 1, 1, len(points) - 1)
    t = [times[cell + k][:, None] for k in (-1, 0, 1, 2)]
    p = [padded[cell + k] for k in (-1, 0, 1, 2)]
    now = at[:, None]
    a = [_lerp(p[k], p[k + 1], start=t[k], end=t[k + 1], now=now) for k in (0, 1, 2)]
    b = [_lerp(a[k], a[k + 1], start=t[k], end=t[k + 2], now=now) for k in (0, 1)]
    return np.asarray(_lerp(b[0], b[1], start=t[1], end=t[2], now=now))


def closed_curve(knots: FloatArray | Sequence[Sequence[float]], *, count: int = 48) -> FloatArray:
    """Return points of a smooth closed curve through knots."""
    points = np.asarray(knots, dtype=np.float64)
    around = np.concatenate([points[-2:], points, points[:3]])
    dense = smooth_curve(around, count=count * 2)
    first = int(np.argmin(np.linalg.norm(dense[: len(dense) // 2] - points[0], axis=1)))
    rest = dense[first + 1 :]
    last = first + 1 + int(np.argmin(np.linalg.norm(rest[len(rest) // 2 :] - points[0], axis=1)))
    return dense[first : last + len(rest) // 2]


def brush_stroke(line: FloatArray, widths: FloatArray | Sequence[float]) -> FloatArray:
    """Return the outline of a stroke along a line.

    Parameters
    ----------
    line : (n, 2) array
        Middle of the stroke. [pt]
    widths : (k,) array
        Full widths at even steps along it. [pt]
    """
    size = np.interp(np.linspace(0, 1, len(line)), np.linspace(0, 1, len(widths)), widths)
    along = np.gradient(line, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    across = np.stack([-along[:, 1], along[:, 0]], axis=-1) * (size / 2)[:, None]
    return np.concatenate([line + across, (line - across)[::-1]])


def cut_to_convex(outline: FloatArray, window: FloatArray) -> FloatArray:
    """Return the part of a closed outline inside a convex one (Sutherland-Hodgman).

    Parameters
    ----------
    outline, window : (n, 2), (m, 2) arrays
        Closed outlines; the second convex.

    Returns
    -------
    (k, 2) array
        Empty where they do not meet.
    """
    x, y = window[:, 0], window[:, 1]
    turn = np.sign(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    kept = outline
    for start, end in zip(window, np.roll(window, -1, axis=0), strict=True):
        if len(kept) == 0:
            break
        away = kept - start
        side = turn * ((end[0] - start[0]) * away[:, 1] - (end[1] - start[1]) * away[:, 0])
        after, after_side = np.roll(kept, -1, axis=0), np.roll(side, -1)
        inside, crossing = side >= 0, (side >= 0) != (after_side >= 0)
        gap = np.where(crossing, side - after_side, 1.0)
        met = kept + (side / gap)[:, None] * (after - kept)
        pairs = np.stack([kept, met], axis=1)
        kept = pairs[np.stack([inside, crossing], axis=1)]
    return kept


def hull(points: FloatArray) -> FloatArray:
    """Return the convex outline around page points (n, 2), (k, 2) [pt]."""
    ordered = np.unique(points, axis=0)
    if len(ordered) < 3:
        return ordered
    half_hulls = []
    for run in (ordered, ordered[::-1]):
        chain: list[FloatArray] = []
        for point in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0:
                chain.pop()
            chain.append(point)
        half_hulls.append(chain[:-1])
    return np.array(half_hulls[0] + half_hulls[1])


def _lerp(
    first: FloatArray, second: FloatArray, *, start: FloatArray, end: FloatArray, now: FloatArray
) -> FloatArray:
    """Return points between two at parameter `now`, which runs from `start` to `end`."""
    return np.asarray(((end - now) * first + (now - start) * second) / (end - start))


def _turn(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
