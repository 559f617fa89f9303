r"""The skin around the openings of the eyes, for the mesh of the head.

Around each eye a block of the grid is replaced by rings that go from the block's edge to the edge
of the lids and on to the eyeball::

        +--+--+--+--+
        +--+--+--+--+      block edge = outermost ring
        +--+ /--\\ +-+
        +--+ \\__/ +-+      innermost ring behind the lids' edge
        +--+--+--+--+
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.face import ROTATION_CENTER_MM, FaceShape
from tapemark.rendering.mannequin.mesh import IntArray, smoothstep
from tapemark.units import MM


def eye_block(face: FaceShape, grid: FloatArray, outward: float) -> tuple[int, int, int, int]:
    """Return first and last row and column of the block around one eye."""
    columns = grid.shape[1]
    height = grid[:, columns // 2, 2]
    width = face.eyes.opening_width_m / MM
    nasal, outer = 0.564 * width + 4.4, 0.436 * width + 7.4
    top = int(np.argmin(np.abs(height - 15.5)))
    bottom = int(np.argmin(np.abs(height + 14.0)))
    middle = int(np.argmin(np.abs(height)))
    front = np.flatnonzero(grid[middle, :, 1] > -60.0)
    side = grid[middle, front, 0] * outward
    inner = front[int(np.argmin(np.abs(side - (face.pupil_mm - nasal))))]
    far = front[int(np.argmin(np.abs(side - (face.pupil_mm + outer))))]
    first, last = sorted((int(inner), int(far)))
    return top, bottom, first, last


def block_border(block: tuple[int, int, int, int], columns: int) -> IntArray:
    """Return the points around a block, clockwise as seen (rows down, columns right)."""
    top, bottom, first, last = block
    across, down = np.arange(first, last), np.arange(top, bottom)
    upper = top * columns + across
    right = down * columns + last
    lower = bottom * columns + (first + last - across)
    left = (top + bottom - down) * columns + first
    return np.concatenate([upper, right, lower, left])


def eye_rings(
    face: FaceShape, border: FloatArray, outward: float, *, fineness: float
) -> tuple[FloatArray, FloatArray]:
    """Return rings from a block's edge (left out) to behind the lids, and their edge share."""
    out = border[:, 0] * outward - face.pupil_mm
    up = border[:, 2]
    lid = _lid_line(face, out, up)
    inwards = _inwards(lid)
    below = smoothstep(0.5, -1.5, lid[:, 1] - face.eyes.corner_height_m / MM)
    apart = np.clip(
        1.0 - np.abs(lid[:, 0] - lid[:, 0].mean()) / (np.ptp(lid[:, 0]) / 2 + 1e-9), 0, 1
    )
    shelf = (0.25 + 0.55 * below) * np.minimum(apart * 4.0, 1.0)
    lip = lid - inwards * shelf[:, None]
    count = round(18 * fineness)
    shares = (np.linspace(1.0, 0.0, count + 1)[1:] ** 1.35)[:, None, None]
    flat = lip + (np.stack([out, up], axis=-1) - lip) * shares
    rings = _placed(face, flat, outward)
    lip_depth = rings[-1][:, 1]
    globe = _globe_depth(face, lid)
    touching = np.maximum(globe + 0.12, lip_depth - 2.2)
    inner = np.stack(
        [outward * (face.pupil_mm + lid[:, 0]), np.minimum(touching, lip_depth - 0.3), lid[:, 1]],
        axis=-1,
    )
    tucked_at = lid + inwards * 0.5
    tucked = np.stack(
        [
            outward * (face.pupil_mm + tucked_at[:, 0]),
            np.minimum(_globe_depth(face, tucked_at) - 1.2, inner[:, 1] - 1.0),
            tucked_at[:, 1],
        ],
        axis=-1,
    )
    points = np.concatenate([rings, inner[None], tucked[None]])
    edge = np.zeros(points.shape[:2])
    edge[-4:] = np.array([0.35, 0.8, 1.0, 1.0])[:, None]
    return points, edge


def _placed(face: FaceShape, flat: FloatArray, outward: float) -> FloatArray:
    side, up = flat[..., 0] + face.pupil_mm, flat[..., 1]
    return np.stack([outward * side, face.depth(side, up), up], axis=-1)


def _lid_line(face: FaceShape, out: FloatArray, up: FloatArray) -> FloatArray:
    """Return the place on the lids' edge for each point of a block's edge, (n, 2) [mm]."""
    eyes = face.eyes
    width, corner = eyes.opening_width_m / MM, eyes.corner_height_m / MM
    shift = width * 1.75 / 27.5
    tall = (up.max() - up.min()) / (out.max() - out.min())
    turned = np.arctan2((up - corner) / tall, out + shift)
    for corner_angle in (0.0, np.pi):
        apart = np.abs(np.angle(np.exp(1j * (turned - corner_angle))))
        turned[int(np.argmin(apart))] = corner_angle
    across = np.cos(turned)
    half = width / 2
    upper, lower = eyes.upper_lid_m / MM, eyes.opening_height_m / MM / 2
    height = np.where(np.sin(turned) >= 0, _arch(across, half, upper), -_arch(across, half, lower))
    return np.stack([half * across - shift, height + corner], axis=-1)


def _arch(across: FloatArray, half: float, rise: float) -> FloatArray:
    """Return the height of a lid's arc over the line between the corners. [mm]"""
    radius = (half**2 + rise**2) / (2.0 * rise)
    return np.asarray(np.maximum(np.sqrt(radius**2 - (half * across) ** 2) - (radius - rise), 0.0))


def _inwards(line: FloatArray) -> FloatArray:
    """Return unit directions into a closed line."""
    along = np.roll(line, -1, axis=0) - np.roll(line, 1, axis=0)
    square = np.stack([-along[:, 1], along[:, 0]], axis=-1)
    square /= np.maximum(np.hypot(*square.T), 1e-9)[:, None]
    towards = line.mean(axis=0) - line
    turn = np.sign((square * towards).sum())
    return np.asarray(square * turn)


def _globe_depth(face: FaceShape, flat: FloatArray) -> FloatArray:
    away = np.hypot(flat[:, 0], flat[:, 1])
    radius = face.globe_mm
    return np.asarray(np.sqrt(np.maximum(radius**2 - away**2, 1.0)) - ROTATION_CENTER_MM)
