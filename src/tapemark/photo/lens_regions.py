"""Where both lenses are in the strip around the eyes: a pair of superellipses along the rims.

        gap
    .-------. .-------.
    |   o   |=|   o   |      each |x/a|^p + |y/b|^p = 1, level with one another
    '-------' '-------'

Both lenses are looked for at once: what is brighter or darker on one side only, such as a
reflection, a brow or a shadow, does not fit the other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.rim_edges import RimEdges, along, bridge_line, rim_edges
from tapemark.photo.strip import COLUMNS, ROWS, EyeStrip, to_pixels

TRIALS, KEPT, AROUND, ROUNDS = 1000, 12, 12, 7
RIM_MM = 1.2  # half of a usual rim: its line runs so far outside the lens
ODD = 0.1  # how much it counts against a pair that lenses are seldom so
SEED = 7
_SHIFT = 4  # fractions of a pixel when an outline is filled
_QUARTER = 11  # places on a quarter of an outline
_AT_ONCE = 160  # trials reckoned together: what they need stays near the processor

#: Parameters of a trial: middle across, middle down, gap between lenses, width, height, exponent,
#: how much wider the left lens is seen than the right one beyond what the turn of the head makes of
#: it, and how far the pair is tipped. [mm, mm, mm, mm, mm, -, -, rad]
_LOW = np.array([-20.0, -7.0, 8.0, 36.0, 22.0, 1.8, -0.15, -0.10])
_HIGH = np.array([20.0, 13.0, 32.0, 64.0, 56.0, 8.0, 0.15, 0.10])
#: Measured on our rendered pictures for tuning, where the first is 6.4 mm, with room for error.
_MEAN = np.array([0.0, 3.1, 20.0, 49.0, 38.5, 3.6, 0.0, 0.0])
_SPREAD = np.array([7.0, 2.8, 3.3, 4.6, 5.2, 1.4, 0.025, 0.02])
TURNED = -0.0046  # how much wider for each millimetre that the bridge is aside: the head is turned
_LIKE_LENSES = 0.9  # what the network takes worn lenses for, about
_SHAPE = slice(2, 6)
_SHAPE_SPREAD = np.array([1.2, 1.5, 1.5, 0.4])
SAME_SHAPE_MM = 4.0  # gap, width and height of the same lenses in another frame are as near


class Outline(NamedTuple):
    """A lens in the strip: centre, half width, half height [mm], exponent and tip [rad]."""

    across: float
    down: float
    half_width: float
    half_height: float
    exponent: float
    tip: float = 0.0

    def points(self, *, count: int = 4 * _QUARTER) -> FloatArray:
        """Return points along it, (count, 2). [mm]"""
        return np.stack(_curves(np.array(self), quarter=count // 4), axis=-1)

    def within(self, *, inset_mm: float = 0.0) -> np.ndarray:
        """Return which pixels of the strip are in it, moved in by some millimetres."""
        import cv2

        wide, tall = self.half_width - inset_mm, self.half_height - inset_mm
        mask = np.zeros((ROWS, COLUMNS), dtype=np.uint8)
        if min(wide, tall) > 0.0:
            inner = self._replace(half_width=wide, half_height=tall)
            fine = to_pixels(inner.points(count=96)) * 2**_SHIFT
            cv2.fillPoly(mask, [np.round(fine).astype(np.int32)], 1, shift=_SHIFT)
        return mask > 0


@dataclass(frozen=True, kw_only=True, slots=True)
class LensShape:
    """Lenses of a pair of glasses as seen from the front, for pupils 63 mm apart.

    Attributes
    ----------
    gap_mm, width_mm, height_mm : float
        Between the lenses, and of each. [mm]
    exponent : float
        2 for an ellipse, more for a rectangle. [-]
    """

    gap_mm: float
    width_mm: float
    height_mm: float
    exponent: float

    def is_like(self, other: LensShape, *, within_mm: float = SAME_SHAPE_MM) -> bool:
        """Return whether both may be the same lenses in two frames."""
        own, its = ((one.gap_mm, one.width_mm, one.height_mm) for one in (self, other))
        return max(abs(one - two) for one, two in zip(own, its, strict=True)) <= within_mm


@dataclass(frozen=True, kw_only=True, slots=True)
class LensesFound:
    """Both lenses of a pair of glasses.

    Attributes
    ----------
    right, left : Outline
        The sitter's own right and left lens.
    support : float
        How much of the outlines runs along edges and lines, 0 to 1.
    rims : float
        How much of a thin line runs around the lower half, where bare skin has none, 0 to 1.
    bridge : float
        How much of a thin line crosses the bridge of the nose, 0 to 1.
    likeness : float
        How much the network takes them for lenses, 0 to 1.
    """

    right: Outline
    left: Outline
    support: float
    rims: float
    bridge: float
    likeness: float = 0.0

    @property
    def confidence(self) -> float:
        """That these are glasses, 0 to 1: neither rims nor likeness alone make it sure."""
        lines = min(1.3 * self.rims + 1.5 * self.bridge, 1.0)
        return float(0.4 * lines + 0.6 * min(self.likeness / _LIKE_LENSES, 1.0))

    @property
    def shape(self) -> LensShape:
        """What stays the same from frame to frame."""
        one, two = self.right, self.left
        gap = abs(two.across - one.across) - one.half_width - two.half_width
        return LensShape(
            gap_mm=gap,
            width_mm=one.half_width + two.half_width,
            height_mm=one.half_height + two.half_height,
            exponent=one.exponent,
        )


def find_lenses(strip: EyeStrip, *, known: LensShape | None = None) -> LensesFound:
    """Return the likeliest pair of lenses in a strip, whether or not there are glasses.

    Parameters
    ----------
    strip : EyeStrip
        Around the eyes.
    known : LensShape, optional
        Of this sitter, from an earlier frame.
    """
    edges, random = rim_edges(strip), np.random.default_rng(SEED)
    mean, spread = _MEAN.copy(), _SPREAD.copy()
    if known is not None:
        mean[_SHAPE] = (known.gap_mm, known.width_mm, known.height_mm, known.exponent)
        spread[_SHAPE] = _SHAPE_SPREAD

    def scores(trials: FloatArray) -> FloatArray:
        odd = (((trials - mean) / (3.0 * spread)) ** 2).sum(axis=-1)
        return np.asarray(_support(edges, trials) - ODD * odd)

    pool = np.clip(mean + random.normal(size=(TRIALS, len(mean))) * spread, _LOW, _HIGH)
    found = scores(pool)
    order = np.argsort(found)[-KEPT:]
    best, found = pool[order], found[order]
    for number in range(ROUNDS):
        around = np.repeat(best, AROUND, axis=0)
        around = around + random.normal(size=around.shape) * spread * 0.6 * 0.62**number
        around = np.clip(around, _LOW, _HIGH)
        pool, found = np.concatenate([best, around]), np.concatenate([found, scores(around)])
        order = np.argsort(found)[-KEPT:]
        best, found = pool[order], found[order]
    return _described(edges, _pair(best[-1][None])[0])


def usual_lenses(strip: EyeStrip) -> LensesFound:
    """Return lenses where they usually are, with what the strip shows along them."""
    return _described(rim_edges(strip), _pair(_MEAN[None])[0])


def lenses_from(outlines: tuple[Outline, Outline], strip: EyeStrip) -> LensesFound:
    """Return lenses that somebody outlined."""
    middle = (outlines[0].down + outlines[1].down) / 2
    bridge = bridge_line(rim_edges(strip), down_mm=middle)
    return LensesFound(
        right=outlines[0], left=outlines[1], support=1.0, rims=1.0, bridge=bridge, likeness=1.0
    )


def lenses_along(
    outlines: tuple[Outline, Outline], strip: EyeStrip, *, likeness: float
) -> LensesFound:
    """Return lenses of known outlines with what the strip shows along them."""
    return replace(_described(rim_edges(strip), np.array(outlines)), likeness=likeness)


def _pair(trials: FloatArray) -> FloatArray:
    """Return outlines (n, 2, 6) of trials (n, 8)."""
    middle, down, gap, width, height, exponent, uneven, tip = np.moveaxis(trials, -1, 0)
    sign = np.array([-1.0, 1.0])
    wide = width[:, None] * (1.0 + sign * (uneven + TURNED * middle)[:, None])
    out = sign * (gap[:, None] + wide) / 2
    same = np.ones(2)
    return np.stack(
        [
            middle[:, None] + out * np.cos(tip)[:, None],
            down[:, None] + out * np.sin(tip)[:, None],
            wide / 2,
            height[:, None] / 2 * same,
            exponent[:, None] * same,
            tip[:, None] * same,
        ],
        axis=-1,
    )


def _curves(outlines: FloatArray, *, quarter: int) -> tuple[FloatArray, FloatArray]:
    """Return across and down of points along outlines (..., 6), clockwise from the right. [mm]

    Each is (..., 4 quarter): a quarter is reckoned, and mirrored for the others.
    """
    angle = (np.arange(quarter) + 0.5) * (np.pi / 2 / quarter)
    exponent = outlines[..., 4, None]
    alike = exponent.ndim > 1 and bool((exponent == exponent[..., :1, :]).all())
    power = 2.0 / (exponent[..., :1, :] if alike else exponent)  # both lenses have one exponent
    x = np.cos(angle) ** power * outlines[..., 2, None]
    y = np.sin(angle) ** power * outlines[..., 3, None]
    cosine, sine = np.cos(outlines[..., 5, None]), np.sin(outlines[..., 5, None])
    cx, sx, cy, sy = cosine * x, sine * x, cosine * y, sine * y
    across, down = (np.empty((*outlines.shape[:-1], 4 * quarter)) for _ in range(2))
    for number, flip in ((0, 1), (1, -1)):
        first = slice(number * quarter, (number + 1) * quarter)
        second = slice((number + 2) * quarter, (number + 3) * quarter)
        across[..., first] = (cx - sy)[..., ::flip] if flip > 0 else (-cx - sy)[..., ::flip]
        down[..., first] = (sx + cy)[..., ::flip] if flip > 0 else (cy - sx)[..., ::flip]
        across[..., second], down[..., second] = -across[..., first], -down[..., first]
    across += outlines[..., 0, None]
    down += outlines[..., 1, None]
    return across, down


def _along(edges: RimEdges, outlines: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return edge, line and weight along outlines (..., 6), each (..., points)."""
    points = _curves(outlines, quarter=_QUARTER)
    step = (_steps(points[0]), _steps(points[1]))
    length = np.hypot(*step)
    np.maximum(length, 1e-6, out=length)
    edge, line = along(edges, points, step, length, out_mm=RIM_MM)
    return edge, line, length / length.mean(axis=-1, keepdims=True)


def _steps(values: FloatArray) -> FloatArray:
    """Return how far the next point of a closed curve is from the one before."""
    step = np.empty_like(values)
    np.subtract(values[..., 2:], values[..., :-2], out=step[..., 1:-1])
    np.subtract(values[..., 1], values[..., -1], out=step[..., 0])
    np.subtract(values[..., 0], values[..., -2], out=step[..., -1])
    return step


def _support(edges: RimEdges, trials: FloatArray) -> FloatArray:
    pairs = _pair(trials)
    each = np.empty(pairs.shape[:-1])
    for start in range(0, len(pairs), _AT_ONCE):
        some = slice(start, start + _AT_ONCE)
        edge, line, weight = _along(edges, pairs[some])
        each[some] = ((0.6 * edge + 0.4 * line) * weight).mean(axis=-1)
    return np.asarray(0.6 * each.mean(axis=-1) + 0.4 * each.min(axis=-1))


def _described(edges: RimEdges, pair: FloatArray) -> LensesFound:
    edge, line, weight = _along(edges, pair)
    _, down = _curves(pair, quarter=_QUARTER)
    lower = down > pair[:, 1, None] + 0.3 * pair[:, 3, None]
    outlines = [Outline(*(float(value) for value in one)) for one in pair]
    return LensesFound(
        right=outlines[0],
        left=outlines[1],
        support=float(((0.6 * edge + 0.4 * line) * weight).mean()),
        rims=float(line[lower].mean()),
        bridge=bridge_line(edges, down_mm=float(pair[:, 1].mean())),
    )
