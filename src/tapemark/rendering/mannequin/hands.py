"""Hands of the mannequin: a palm, four fingers and a thumb, at the ends of the forearms."""

import numpy as np

from tapemark.anatomy import HeadPose, body_of
from tapemark.anatomy.body import Body, Point
from tapemark.geometry import FloatArray, cross
from tapemark.rendering.mannequin.mesh import Mesh, ball, joined, rounded_section, safe_unit, tube
from tapemark.studio import Sitter
from tapemark.units import MM

#: Across the palm, start along it, length and radius of each finger, forefinger first. [mm]
_FINGERS = (
    (27.0, 84.0, 68.0, 8.6),
    (9.0, 90.0, 76.0, 8.8),
    (-9.0, 87.0, 70.0, 8.4),
    (-26.0, 78.0, 55.0, 7.4),
)
_BEND = 1.1  # of the fingers over their length [rad]


def hands(sitter: Sitter, *, pose: HeadPose, size: float, drop: FloatArray) -> Mesh:
    """Return both hands in the world [m]; `drop` moves them with the sleeves."""
    body = body_of(sitter, pose=pose)
    forearms = [index for index, name in enumerate(body.names) if name == "arm"][2:]
    shape = _shape()
    return joined([_placed(shape, body, index, size=size, drop=drop) for index in forearms])


def _placed(shape: Mesh, body: Body, index: int, *, size: float, drop: FloatArray) -> Mesh:
    """Return a hand at the end of a forearm, its thumb inwards. [m]"""
    along = body.axes[index][:, 1]
    wrist = body.centers[index] + drop + along * (body.radii[index][1] - 0.028 * size)
    inwards = safe_unit(body.centers[0] - body.centers[index])
    hanging = abs(float(along[2])) > 0.8
    back = -inwards if hanging else np.array([0.0, 0.0, 1.0])
    back = safe_unit(back - (back @ along) * along)
    thumb_side = cross(along, back)
    towards = np.array([0.0, 1.0, 0.0]) if hanging else inwards
    thumb_side = thumb_side * np.sign(thumb_side @ towards)
    axes = np.stack([thumb_side, along, back], axis=-1)
    left_handed = np.linalg.det(axes) < 0
    return Mesh(
        vertices=wrist + (shape.vertices * size * MM) @ axes.T,
        faces=shape.faces[:, ::-1] if left_handed else shape.faces,
        normals=shape.normals @ axes.T,
    )


def _shape() -> Mesh:
    """Return a hand: across from little finger to thumb, along it, out of its back. [mm]"""
    parts = [
        _lump((0.0, 48.0, -2.0), (40.0, 56.0, 15.0)),
        _lump((0.0, 0.0, 0.0), (28.0, 40.0, 20.0)),
    ]
    for across, start, long, radius in _FINGERS:
        turned = np.linspace(0.15, _BEND, 14)
        step = long / 13.0
        y = start + np.cumsum(np.cos(turned)) * step - step
        z = -3.0 - np.cumsum(np.sin(turned)) * step
        x = across * (1.0 + 0.12 * np.linspace(0.0, 1.0, 14))
        parts.append(_finger(np.stack([x, y, z], axis=-1), radius))
    share = np.linspace(0.0, 1.0, 12)
    thumb = np.stack(
        [24.0 + 30.0 * share**0.8, 22.0 + 58.0 * share, -6.0 - 14.0 * share**1.5], axis=-1
    )
    parts.append(_finger(thumb, 10.0))
    return joined(parts)


def _lump(middle: Point, radii: Point) -> Mesh:
    return ball(np.array(middle), np.eye(3), np.array(radii), rows=12, columns=20)


def _finger(line: FloatArray, radius: float) -> Mesh:
    share = np.linspace(0.0, 1.0, len(line))[:, None, None]
    end = np.sqrt(np.clip(1.0 - (np.clip(share - 0.8, 0.0, None) / 0.2) ** 2, 0.02, 1.0))
    section = rounded_section(radius, radius, count=16, exponent=2.0)
    return tube(line, section * end * (1.0 - 0.18 * share), across=np.array([1.0, 0.0, 0.0]))
