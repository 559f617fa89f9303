r"""The neck of the mannequin: a column under the head, the throat, and the muscles beside it.

   |  head  |
    \      /      throat in front
    |\    /|      muscles from behind the ears to the notch between the collar bones
   _| \  / |_
_-     \/     -_  slope of the shoulders
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.mesh import smooth_max, smoothstep
from tapemark.studio import FaceMeasures

JAW_ROUNDS_MM = -104.0  # below it the jaw is rounded off to its underside
CHIN_ENDS_MM = -119.5
COLLAR_MM = -150.0
NECK_ENDS_MM = -262.0
#: Height; depth of the middle, half width and half depth of the neck.
NECK_MM = np.array(
    [
        (12.0, -94.0, 38.0, 42.0),
        (-30.0, -94.0, 49.0, 49.0),
        (-70.0, -93.0, 52.0, 51.0),
        (-110.0, -95.0, 52.0, 52.0),
        (-130.0, -97.0, 52.5, 50.5),
        (-146.0, -99.0, 57.0, 53.5),
        (-160.0, -101.0, 62.0, 56.0),
        (-172.0, -104.0, 68.0, 57.0),
        (-190.0, -106.0, 84.0, 58.0),
        (-210.0, -107.0, 112.0, 60.0),
        (-262.0, -107.0, 150.0, 74.0),
    ]
)[::-1]
#: Height, depth and half width of the underside of the chin as it runs back to the throat. [mm]
_THROAT_MM = np.array(
    [
        (-165.0, -78.0, 44.0),
        (-150.0, -68.0, 44.0),
        (-137.0, -54.0, 40.0),
        (-128.0, -34.0, 34.0),
        (-121.0, -14.0, 24.0),
        (-112.0, -12.0, 18.0),
        (-100.0, -30.0, 14.0),
    ]
)
#: Height, and angle from the front, of the middle of the muscle beside the neck. [mm, deg]
_MUSCLE = np.array(
    [(-196.0, 7.0), (-180.0, 14.0), (-150.0, 33.0), (-115.0, 55.0), (-60.0, 84.0), (-20.0, 95.0)]
)


def neck_size(measures: FaceMeasures) -> float:
    """Return how wide a neck is against the reference: as the face is. [-]"""
    return float(np.clip(measures.bizygomatic_mm / 138.0, 0.8, 1.15))


def with_neck(
    x: FloatArray, y: FloatArray, up: FloatArray, *, neck: float, grown: float
) -> tuple[FloatArray, FloatArray]:
    """Return rings with the neck blended in, seen from a middle line inside both.

    `grown` is 0 for a child's smooth neck and 1 for an adult's.
    """
    rows = np.flatnonzero(up < NECK_MM[-1, 0])
    height = up[rows]
    center = np.interp(height, [-150.0, -119.0, -100.0, -70.0], [-92.0, -60.0, -60.0, -72.0])
    middle, half_width, half_depth = (
        _smooth_interp(height, NECK_MM[:, 0], NECK_MM[:, k]) for k in (1, 2, 3)
    )
    half_width, half_depth = half_width * neck, half_depth * neck
    away_x, away_y = x[rows], y[rows] - center[:, None]
    head_reach, turned = np.hypot(away_x, away_y), np.arctan2(away_x, away_y)
    under = height < JAW_ROUNDS_MM
    last = int(np.flatnonzero(~under)[-1])
    turned[under] = turned[last]
    ahead = smoothstep(-0.2, 0.9, np.cos(turned[last]))
    before = np.interp(turned[last][::-1], turned[last - 2][::-1], head_reach[last - 2][::-1])
    falling = (head_reach[last] - before[::-1]) / (height[last - 2] - height[last])
    beside = smoothstep(0.995, 0.86, np.cos(turned[last]))  # the jaw rises from the chin
    head_reach[under] = head_reach[last] * _rounded_off(
        height[under], ahead, falling / head_reach[last], beside=beside
    )
    sine, cosine = np.sin(turned), np.cos(turned)
    a = (sine / half_width[:, None]) ** 2 + (cosine / half_depth[:, None]) ** 2
    offset = (center - middle)[:, None]
    b = offset * cosine / half_depth[:, None] ** 2
    c = (offset / half_depth[:, None]) ** 2 - 1.0
    neck_reach = (-b + np.sqrt(np.maximum(b * b - a * c, 0.0))) / a
    throat, across = (_smooth_interp(height, _THROAT_MM[:, 0], _THROAT_MM[:, k]) for k in (1, 2))
    across = across * neck
    throat = np.maximum(throat - center, 6.0)[:, None]
    below = 1.0 / np.sqrt((sine / across[:, None]) ** 2 + (cosine / throat) ** 2)
    neck_reach = smooth_max(neck_reach, below, blend=15.0)
    neck_reach = neck_reach + _muscles(turned, height, grown=grown)
    behind = smoothstep(0.2, -0.6, cosine)
    blend = 9.0 + 12.0 * behind * smoothstep(-120.0, -20.0, height)[:, None]
    reach = smooth_max(head_reach, neck_reach, blend=blend)
    x, y = x.copy(), y.copy()
    x[rows], y[rows] = reach * sine, center[:, None] + reach * cosine
    return x, y


def _rounded_off(
    height: FloatArray, ahead: FloatArray, falling: FloatArray, *, beside: FloatArray
) -> FloatArray:
    """Return how much of the jaw's section is left under it, (rows, columns) [-].

    `falling` is how fast the section shrinks where the rounding starts, per mm.
    """
    deep = JAW_ROUNDS_MM - CHIN_ENDS_MM
    sooner = 1.0 + 0.42 * beside
    share = np.clip((JAW_ROUNDS_MM - height)[:, None] / deep * sooner, 0.0, 1.0)
    power = 1.9 + 0.6 * ahead
    going_on = np.clip(falling * deep, -1.6, 0.2) * share * (1.0 - share) ** 2
    return np.asarray((1.0 - share**power) ** (1.0 / power) + going_on)


def _smooth_interp(at: FloatArray, knots: FloatArray, values: FloatArray) -> FloatArray:
    """Return values between knots, rounded over about 12 mm."""
    shifts = np.linspace(-12.0, 12.0, 9)
    weights = np.cos(shifts / 12.0 * np.pi / 2) ** 2
    found = np.array([np.interp(at + shift, knots, values) for shift in shifts])
    return np.asarray(weights @ found / weights.sum())


def _muscles(turned: FloatArray, height: FloatArray, *, grown: float) -> FloatArray:
    """Return ridge and hollows of the neck's front and the larynx, (rows, columns). [mm]"""
    degrees, z = np.abs(np.degrees(turned)), height[:, None]
    middle = np.interp(height, *_MUSCLE.T)[:, None]
    run = smoothstep(-20.0, -70.0, z) * smoothstep(-200.0, -172.0, z)
    ridge = np.exp(-(((degrees - middle) / 10.0) ** 2))
    before = np.exp(-(((degrees - middle + 17.0) / 9.0) ** 2)) * smoothstep(-100.0, -125.0, z)
    notch = 4.5 * np.exp(-((degrees / 11.0) ** 2)) * smoothstep(-168.0, -186.0, z)
    larynx = 2.4 * np.exp(-((degrees / 9.0) ** 2 + ((z + 143.0) / 10.0) ** 2))
    return np.asarray((3.4 * ridge - 2.0 * before) * run * grown - notch + larynx * grown)
