"""Brows and lashes of the mannequin, hair by hair.

Every hair is a bent, pointed rod with three sides.
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.face import FaceShape
from tapemark.rendering.mannequin.mesh import Mesh, mirrored, rods, safe_unit, smoothstep
from tapemark.units import MM

_SHARES = np.array([0.0, 0.45, 0.8, 1.0])  # along a hair
#: Place along the brow; sideways from the pupil, height, half width [mm]; direction of its hairs
#: from outwards towards up [deg].
_BROW = np.array(
    [
        (0.00, -18.5, 17.0, 3.0, 68.0),
        (0.15, -13.0, 18.4, 4.0, 48.0),
        (0.40, -4.0, 20.4, 3.9, 30.0),
        (0.65, 6.0, 22.2, 3.2, 14.0),
        (0.85, 14.0, 21.2, 2.1, -14.0),
        (1.00, 21.5, 17.6, 0.7, -32.0),
    ]
)


def brow_middle(face: FaceShape, share: FloatArray) -> FloatArray:
    """Return side and height of a brow's middle line, its half width and hairs, (4, n)."""
    return np.stack(
        [
            face.pupil_mm + np.interp(share, _BROW[:, 0], _BROW[:, 1]),
            np.interp(share, _BROW[:, 0], _BROW[:, 2]) * face.tall,
            np.interp(share, _BROW[:, 0], _BROW[:, 3]),
            np.deg2rad(np.interp(share, _BROW[:, 0], _BROW[:, 4])),
        ]
    )


def brow_share(face: FaceShape, side: FloatArray, up: FloatArray) -> FloatArray:
    """Return how much of a place lies in a brow, 0 to 1."""
    share = np.interp(side - face.pupil_mm, _BROW[:, 1], _BROW[:, 0])
    _, height, half, _ = brow_middle(face, share)
    away = np.abs(up - height) / (half + 0.6)
    end = (side - face.pupil_mm - _BROW[-1, 1]) / 3.0
    start = (_BROW[0, 1] - side + face.pupil_mm) / 3.0
    beyond = np.maximum(np.maximum(end, start), 0.0)
    return smoothstep(1.35, 0.4, np.hypot(away, beyond * 2.0))


def brows(face: FaceShape, *, outward: float, seed: int, full: float) -> Mesh:
    """Return one brow, head frame [mm]; `full` scales the number of hairs."""
    chance = np.random.default_rng(seed)
    count = int(340 * full)
    share = np.clip(chance.beta(1.15, 1.25, count), 0.0, 1.0)
    side, up, half, lean = brow_middle(face, share)
    above = np.clip(chance.normal(0.0, 0.5, count), -1.0, 1.0)
    up = up + above * half
    lean = lean - 0.45 * above + chance.normal(0.0, 0.10, count)
    long = (6.0 + 2.0 * chance.random(count)) * (1.0 - 0.35 * share)
    bend = np.stack([np.cos(lean), 0 * lean, np.sin(lean)], axis=-1)
    depth, normal = _skin_at(face, side, up)
    roots = np.stack([side, depth - 0.2, up], axis=-1)
    along = safe_unit(bend - (bend * normal).sum(-1, keepdims=True) * normal + 0.16 * normal)
    sag = -0.22 * normal - 0.10 * np.array([0.0, 0.0, 1.0])
    return _hairs(roots, along, sag, long=long, thick=0.15, outward=outward)


def lashes(face: FaceShape, *, outward: float, seed: int, upper: bool) -> Mesh:
    """Return the lashes of one lid, head frame [mm]."""
    chance = np.random.default_rng(seed)
    eyes = face.eyes
    count = 84 if upper else 40
    half, corner = eyes.opening_width_m / MM / 2, eyes.corner_height_m / MM
    rise = eyes.upper_lid_m / MM if upper else eyes.opening_height_m / MM / 2
    across = np.linspace(-0.78 if upper else -0.6, 0.97, count) + chance.normal(0, 0.008, count)
    radius = (half**2 + rise**2) / (2.0 * rise)
    arch = np.sqrt(radius**2 - (half * np.clip(across, -1, 1)) ** 2) - (radius - rise)
    sign = 1.0 if upper else -1.0
    out = half * across - 1.75 / 27.5 * 2 * half
    up = corner + sign * (arch + (0.25 if upper else 0.7))
    depth = face.depth(out + face.pupil_mm, up)
    roots = np.stack([out + face.pupil_mm, depth - 0.15, up], axis=-1)
    long = (5.7 if upper else 3.0) * (0.75 + 0.25 * chance.random(count))
    long = long * (0.62 + 0.38 * smoothstep(-0.9, 0.5, across))
    fan = 0.55 * across
    tilt = 0.12 if upper else -0.35
    along = safe_unit(np.stack([fan, np.ones(count), np.full(count, tilt)], axis=-1))
    bend = np.stack([0.12 * fan, np.full(count, -0.30), np.full(count, 0.62 * sign)], axis=-1)
    return _hairs(roots, along, bend, long=long, thick=0.085, outward=outward)


def _skin_at(face: FaceShape, side: FloatArray, up: FloatArray) -> tuple[FloatArray, FloatArray]:
    step = 0.6
    sides, ups = np.stack([side, side + step, side]), np.stack([up, up, up + step])
    here, beside, over = face.depth(sides, ups)
    normal = np.stack([-(beside - here) / step, np.ones_like(here), -(over - here) / step], -1)
    return here, safe_unit(normal)


def _hairs(
    roots: FloatArray,
    along: FloatArray,
    bend: FloatArray,
    *,
    long: FloatArray,
    thick: float,
    outward: float,
) -> Mesh:
    """Return bent rods from their roots; the left side of the face mirrors the right."""
    share = _SHARES[None, :, None]
    line = roots[:, None] + (long[:, None, None] * share) * (along[:, None] + bend[:, None] * share)
    mesh = rods(line, thick=thick)
    return mesh if outward > 0 else mirrored(mesh)
