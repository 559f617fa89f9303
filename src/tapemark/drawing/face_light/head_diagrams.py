"""Two small diagrams of where the key stands from the face: from above, and from the side.

from above (camera below)        from the side
.---.                          .--.   *  key
( o   )                        (    > /  30° up
'-v-'   v nose                 '--' ------ level of the face
/  |
key   camera
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Modelling, Scene
from tapemark.analysis.key_light import direction_angles
from tapemark.drawing.bust import head_grid
from tapemark.drawing.style import (
    FINE,
    INK,
    LIT,
    SMALL_PT,
    SOFT_INK,
    THICK,
    THIN,
    WHITE,
    Paint,
    filled,
    line,
)
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width
from tapemark.drawing.trace import rounded
from tapemark.geometry import FloatArray, normalize

_POINTS_PER_M = 225.0
_KEY_PT, _CAMERA_PT, _NOSE_PT = 64.0, 76.0, 58.0  # ends of the lines, from the bridge of the nose
_ARC_PT = 40.0
_TIP_PT, _BEHIND_TIP_PT, _BEHIND_ARC_PT = 26.0, 48.0, 56.0  # clear of the back of the head
_BEHIND_DEG = 100.0
_FLAT_DEG, _BESIDE_DEG = 24.0, 20.0
_EVENED = {-2: 0.1, -1: 0.22, 0: 0.36, 1: 0.22, 2: 0.1}


@dataclass(frozen=True, kw_only=True, slots=True)
class Corner:
    """Where a diagram lies: the middle of its head [pt]."""

    x: float
    y: float


def draw_from_above(sheet: Sheet, scene: Scene, modelling: Modelling, *, at: Corner) -> None:
    """Draw head, key and camera axis as seen from over the head, the camera at the foot."""
    camera_deg = camera_azimuth_deg(scene)
    grid, _ = head_grid(scene, rows=48)
    outline = _seen_from_above(grid.reshape(-1, 3))
    page = _turned(outline, camera_deg) * _POINTS_PER_M + (at.x, at.y)
    with sheet.group("from above"):
        _axis(sheet, at, 0.0, camera_deg, length=_NOSE_PT, dash=(7.0, 2.0, 1.5, 2.0))
        if abs(camera_deg) > 1.0 or modelling.azimuth_deg is None:
            _axis(sheet, at, camera_deg, camera_deg, length=_CAMERA_PT, dash=(2.0, 2.2))
        _camera_sign(sheet, at.x, at.y + _CAMERA_PT + 5.0)
        sheet.area([page], filled(WHITE, outline=THICK))
        if modelling.azimuth_deg is not None:
            behind = abs(modelling.azimuth_deg) > _BEHIND_DEG
            _key(sheet, at, _direction(modelling.azimuth_deg, camera_deg), behind=behind)
            _arc(sheet, at, modelling.azimuth_deg, camera_deg=camera_deg)


def draw_from_side(sheet: Sheet, scene: Scene, modelling: Modelling, *, at: Corner) -> None:
    """Draw the head's profile, the level of the face and how high the key stands over it."""
    behind = modelling.azimuth_deg is not None and abs(modelling.azimuth_deg) > _BEHIND_DEG
    faces = -1.0 if behind else 1.0  # away from a key that comes from behind
    page = _profile(scene) * (faces * _POINTS_PER_M, -_POINTS_PER_M) + (at.x, at.y)
    reach = _BEHIND_ARC_PT if behind else _ARC_PT
    with sheet.group("from the side"):
        level = [(at.x, at.y), (at.x + _KEY_PT + 4.0, at.y)]
        sheet.line(np.array(level), line(THIN, color=SOFT_INK, dash=(7.0, 2.0, 1.5, 2.0)))
        sheet.area([page], filled(WHITE, outline=THICK))
        if modelling.elevation_deg is None:
            return
        up = np.deg2rad(modelling.elevation_deg)
        towards = np.array([np.cos(up), -np.sin(up)])
        _key(sheet, at, towards, behind=behind)
        turn = np.linspace(0.0, up, 24)
        arc = np.stack([np.cos(turn), -np.sin(turn)], axis=-1) * reach + (at.x, at.y)
        sheet.line(arc, line(FINE), name="arc")
        words = f"{abs(round(modelling.elevation_deg))}° {'up' if up >= 0 else 'down'}"
        half = np.array([np.cos(up / 2), -np.sin(up / 2)])
        x, y = np.array([at.x, at.y]) + half * (reach + 6.0) + (0.0, 3.0)
        if abs(modelling.elevation_deg) < _FLAT_DEG:  # no room between the lines
            x, y = at.x + reach, at.y + (13.0 if up >= 0 else -6.0)
        sheet.text(float(x), float(y), words, size_pt=SMALL_PT, weight=600)


def camera_azimuth_deg(scene: Scene) -> float:
    """Return the way to the camera from the nose, positive to the sitter's own right [deg]."""
    towards = normalize((scene.camera - scene.pose.origin) @ scene.pose.axes)
    return direction_angles(np.asarray(towards))[0]


def _direction(azimuth_deg: float, camera_deg: float) -> FloatArray:
    """Return the page direction of an azimuth from the nose; that of the camera runs down."""
    turn = np.deg2rad(azimuth_deg - camera_deg)
    return np.array([-np.sin(turn), np.cos(turn)])


def _turned(local: FloatArray, camera_deg: float) -> FloatArray:
    """Return places of the head (x to its right, y forward) on the page, unscaled."""
    right, ahead = _direction(90.0, camera_deg), _direction(0.0, camera_deg)
    return np.asarray(local[:, :1] * right + local[:, 1:] * ahead)


def _seen_from_above(points: FloatArray) -> FloatArray:
    """Return the outline of points about the middle of the head, (n, 2) [m]."""
    flat = points[np.isfinite(points).all(axis=1)][:, :2]
    middle = (flat.min(axis=0) + flat.max(axis=0)) / 2
    away = flat - middle
    angle = np.arctan2(away[:, 1], away[:, 0])
    bins = np.floor((angle + np.pi) / (2 * np.pi) * 120).astype(int) % 120
    radius = np.zeros(120)
    np.maximum.at(radius, bins, np.hypot(away[:, 0], away[:, 1]))
    around = (np.arange(120) + 0.5) / 120 * 2 * np.pi - np.pi
    known = np.flatnonzero(radius > 0)
    radius = np.interp(np.arange(120), known, radius[known], period=120)
    radius = np.sum([share * np.roll(radius, k) for k, share in _EVENED.items()], axis=0)
    ring = np.stack([np.cos(around), np.sin(around)], axis=-1) * radius[:, None] + middle
    return rounded(ring, step=0.003, radius=0.004)


def _profile(scene: Scene) -> FloatArray:
    """Return the profile of head and neck, (n, 2) [m]: forward and up from between the eyes."""
    tall = scene.sitter.face.face_height_mm / 118.0
    z = np.linspace(-0.112, 0.113, 90) * tall
    middle = np.zeros_like(z)
    front, rear = scene.head.front_depth(middle, z), scene.head.rear_depth(middle, z)
    face = np.stack([front, z], axis=-1)[np.isfinite(front)]
    skull = np.stack([rear, z], axis=-1)[np.isfinite(rear) & (z > _NAPE_M * tall)]
    return rounded(np.concatenate([np.array(_NECK_M), face, skull[::-1]]), step=0.002, radius=0.003)


_NAPE_M = -0.045  # the skull ends here, the neck begins
_NECK_M = ((-0.150, -0.088), (-0.152, -0.165), (-0.050, -0.165), (-0.046, -0.122))


def _axis(
    sheet: Sheet,
    at: Corner,
    azimuth_deg: float,
    camera_deg: float,
    *,
    length: float,
    dash: tuple[float, ...],
) -> None:
    start = np.array([at.x, at.y])
    end = start + _direction(azimuth_deg, camera_deg) * length
    sheet.line(np.stack([start, end]), line(THIN, color=SOFT_INK, dash=dash))


def _key(sheet: Sheet, at: Corner, towards: FloatArray, *, behind: bool) -> None:
    """Draw the key as a lit bar square to its light, and an arrow from it to the face."""
    start = np.array([at.x, at.y])
    end = start + towards * _KEY_PT
    across = np.array([-towards[1], towards[0]])
    bar = np.array(
        [
            end + 11 * across,
            end - 11 * across,
            end - 11 * across + 4 * towards,
            end + 11 * across + 4 * towards,
        ]
    )
    sheet.area([bar], Paint(fill=LIT, stroke=INK, width=THICK), name="key")
    tip = start + towards * (_BEHIND_TIP_PT if behind else _TIP_PT)
    sheet.line(np.stack([end, tip]), line(THICK), name="to the face")
    head = np.array([tip, tip + 7 * towards + 2.6 * across, tip + 7 * towards - 2.6 * across])
    sheet.area([head], filled(INK))


def _arc(sheet: Sheet, at: Corner, azimuth_deg: float, *, camera_deg: float) -> None:
    """Draw the angle from the nose to an azimuth, with its size."""
    if abs(azimuth_deg) < 2.0:
        return
    steps = np.linspace(0.0, azimuth_deg, 40)
    ring = np.array([_direction(one, camera_deg) for one in steps]) * _ARC_PT + (at.x, at.y)
    sheet.line(ring, line(FINE), name="arc")
    beside = np.copysign(_BESIDE_DEG, azimuth_deg)
    narrow = abs(azimuth_deg) < _FLAT_DEG  # no room between the lines: beyond the key's
    middle = _direction(azimuth_deg + beside if narrow else azimuth_deg / 2, camera_deg)
    words = f"{abs(round(azimuth_deg))}°"
    x, y = np.array([at.x, at.y]) + middle * (_ARC_PT + 9.0)
    x -= text_width(words, size_pt=SMALL_PT, weight=600) * (0.5 - 0.5 * middle[0])
    sheet.text(float(x), float(y) + 3.5, words, size_pt=SMALL_PT, weight=600)


def _camera_sign(sheet: Sheet, x: float, y: float) -> None:
    sheet.text(x + 10.0, y + 7.0, "camera", size_pt=SMALL_PT, color=SOFT_INK)
    sheet.area([np.array([(x - 6, y), (x + 6, y), (x + 6, y + 8), (x - 6, y + 8)])], filled(INK))
    sheet.area([np.array([(x - 3, y - 4), (x + 3, y - 4), (x + 3, y), (x - 3, y)])], filled(INK))
