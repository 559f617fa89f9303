"""Clothes of the mannequin: a jumper with ribbed neck and sleeves, a shirt collar, trousers.

Sized like the body that throws the shadows (`tapemark.anatomy.body`), in its frame.
"""

import numpy as np

from tapemark.anatomy import HeadPose, body_of, body_pose
from tapemark.anatomy.body import Body
from tapemark.geometry import FloatArray, to_world
from tapemark.rendering.mannequin.head import neck_size
from tapemark.rendering.mannequin.mesh import (
    Mesh,
    ball,
    joined,
    rounded_section,
    sheet,
    smoothstep,
    tube,
)
from tapemark.studio import Sitter
from tapemark.units import MM

#: Height, half width, depth of front and of rear of the jumper. [mm of the reference body]
_JUMPER = np.array(
    [
        (-660.0, 172.0, 12.0, -205.0),
        (-560.0, 166.0, 12.0, -206.0),
        (-460.0, 168.0, 14.0, -208.0),
        (-380.0, 176.0, 14.0, -210.0),
        (-320.0, 188.0, 8.0, -208.0),
        (-275.0, 203.0, -4.0, -202.0),
        (-245.0, 205.0, -15.0, -196.0),
        (-226.0, 194.0, -23.0, -192.0),
        (-210.0, 172.0, -29.0, -188.0),
        (-196.0, 143.0, -34.0, -184.0),
        (-184.0, 113.0, -38.0, -180.0),
        (-172.0, 88.0, -41.0, -174.0),
        (-160.0, 73.0, -42.0, -166.0),
        (-150.0, 67.0, -43.0, -160.0),
    ]
)
_NECKLINE_DROP_MM = 30.0
_PIVOT_MM = -150.0  # a smaller body hangs from here
_LIFT_MM = 80.0  # that the collar of a body of no size would be higher
NECK_MIDDLE_MM = -101.5  # depth of the middle of the neck


def jumper(sitter: Sitter, *, pose: HeadPose, fineness: float) -> Mesh:
    """Return the jumper with its sleeves, world frame [m]."""
    body = body_of(sitter, pose=pose)
    size = body_size(body)
    frame = body_pose(pose)
    neck = neck_size(sitter.face)
    trunk = _trunk(size, neck, fineness=fineness)
    arms = _sleeves(body, frame, fineness=fineness)
    return joined(
        [_world(trunk, frame), _world(_neckband(size, neck, fineness=fineness), frame), *arms]
    )


def collar(sitter: Sitter, *, pose: HeadPose, fineness: float) -> Mesh:
    """Return a shirt collar that shows over the jumper, world frame [m]."""
    size = body_size(body_of(sitter, pose=pose))
    columns = int(120 * fineness)
    turn = np.linspace(-1.0, 1.0, columns)[None, :]
    angle = np.deg2rad(180.0 + turn * 168.0)
    near_front = np.abs(turn) ** 6
    flare = np.array([-2.0, -1.0, 0.5, 1.6, 4.0, 6.0, 9.0, 10.5, 12.0])[:, None]
    rise = np.array([-12.0, 2.0, 14.0, 21.0, 22.5, 20.0, 12.0, 0.0, -9.0])[:, None]
    outer = np.arange(9)[:, None] >= 4
    points_down = np.where(outer, near_front * 22.0 * (np.arange(9)[:, None] - 3) / 5.0, 0.0)
    half, ahead, behind, middle = 62.0 + flare, 56.0 + flare, 60.0 + flare, -102.0
    depth = np.where(np.cos(angle) > 0, ahead, behind)
    base = (
        -168.0
        - 16.0 * np.clip(np.cos(angle), 0.0, 1.0) ** 2
        + 6.0 * np.clip(-np.cos(angle), 0.0, 1.0)
    )
    apart = 4.0 * near_front * outer
    x = half * np.sin(angle) + apart * np.sign(np.sin(angle))
    y = middle + depth * np.cos(angle) + 3.0 * near_front * outer
    z = base + rise - points_down
    points = np.stack(np.broadcast_arrays(x, y, z), axis=-1)
    grid = sized(points, size=size, neck=neck_size(sitter.face), foot=size)
    return _world(sheet(grid[::-1]), body_pose(pose))


def trousers(sitter: Sitter, *, pose: HeadPose, fineness: float) -> Mesh:
    """Return the legs in trousers, world frame [m]."""
    body = body_of(sitter, pose=pose)
    legs = [
        _rod(_rounded(line), radius, taper=0.2, fineness=fineness)
        for line, radius in (_limb_line(body, index) for index in _legs(body)[:-2])
    ]
    low = [index for index, name in enumerate(body.names) if name == "trunk"][-1]
    hips = ball(body.centers[low], body.axes[low], body.radii[low] * 0.93, rows=24, columns=40)
    return joined([*legs, hips])


def shoes(sitter: Sitter, *, pose: HeadPose, fineness: float) -> Mesh:
    """Return both shoes, world frame [m]."""
    body = body_of(sitter, pose=pose)
    pair = [_limb_line(body, index) for index in _legs(body)[-2:]]
    return joined(
        [_rod(_rounded(line), radius, taper=0.1, fineness=fineness) for line, radius in pair]
    )


def sleeve_drop(body: Body, frame: HeadPose) -> FloatArray:
    """Return how far the arms of a body of another size hang off those of `anatomy`. [m]"""
    lower = (_PIVOT_MM + _LIFT_MM) * MM * (1.0 - body_size(body))
    return np.asarray(lower * frame.axes[:, 2])


def _legs(body: Body) -> list[int]:
    return [index for index, name in enumerate(body.names) if name == "leg"]


def body_size(body: Body) -> float:
    """Return the size of a body against the reference, from its trunk. [-]"""
    return float(body.radii[body.names.index("trunk")][0] / 0.222)


def _trunk(size: float, neck: float, *, fineness: float) -> Mesh:
    rows, columns = int(64 * fineness), int(150 * fineness)
    share = np.linspace(0.0, 1.0, rows)
    up = -150.0 - (660.0 - 150.0) * (0.45 * share + 0.55 * share**2.2)
    half, front, rear = (_interp(up, _JUMPER[:, 0], _JUMPER[:, k])[:, None] for k in (1, 2, 3))
    around = -np.arange(columns)[None, :] * 2.0 * np.pi / columns
    sine, cosine = np.sin(around), np.cos(around)
    middle, deep = (front + rear) / 2.0, (front - rear) / 2.0
    round_ = smoothstep(-150.0, -230.0, up)[:, None]
    power = 1.0 - 0.18 * round_
    x = half * np.sign(sine) * np.abs(sine) ** power
    y = middle + deep * np.sign(cosine) * np.abs(cosine) ** power
    drop = smoothstep(-230.0, -150.0, up)[:, None] ** 2
    z = up[:, None] - drop * _NECKLINE_DROP_MM * np.clip(cosine, 0.0, 1.0) ** 2
    y = y + drop * 5.0 * np.clip(cosine, 0.0, 1.0) ** 2
    folds = _folds(x, z) * smoothstep(-190.0, -260.0, up)[:, None]
    points = np.stack([x, y + folds * np.sign(cosine), z + 0.0 * x], axis=-1)
    return sheet(sized(points, size=size, neck=neck, foot=size), closed=True)


def _folds(x: FloatArray, z: FloatArray) -> FloatArray:
    """Return soft folds of the cloth. [mm]"""
    slant = z + 0.55 * np.abs(x)
    return np.asarray(
        1.8 * np.sin(slant / 19.0 + 0.9 * np.sin(x / 31.0)) + 1.0 * np.sin(z / 11.0 - x / 23.0)
    ) * smoothstep(30.0, 150.0, np.abs(x))


def _neckband(size: float, neck: float, *, fineness: float) -> Mesh:
    """Return the ribbed band round the neck."""
    count = int(440 * fineness)
    around = np.arange(count) * 2.0 * np.pi / count
    sine, cosine = np.sin(around), np.cos(around)
    line = np.stack(
        [
            66.5 * sine,
            -101.5 + np.where(cosine > 0, 61.5, 59.0) * cosine,
            -149.0 - (_NECKLINE_DROP_MM + 1.0) * np.clip(cosine, 0.0, 1.0) ** 2,
        ],
        axis=-1,
    )
    section = rounded_section(2.3, 10.0, count=16, exponent=2.8)
    ribs = 1.0 + 0.07 * np.cos(110 * around)
    out = np.stack([sine, cosine, 0.35 + 0.0 * sine], axis=-1)
    return tube(
        sized(line, size=size, neck=neck, foot=size),
        section * ribs[:, None, None],
        across=out,
        closed=True,
    )


def _sleeves(body: Body, frame: HeadPose, *, fineness: float) -> list[Mesh]:
    """Return the sleeves: upper arms that come out of the shoulders, and forearms."""
    size, hang = body_size(body), sleeve_drop(body, frame)
    arms = [index for index, name in enumerate(body.names) if name == "arm"]
    meshes = []
    for index in arms[:2]:
        line, radius = _limb_line(body, index)
        outwards = np.sign((body.centers[index] - frame.origin) @ frame.axes[:, 0])
        inside = np.array([-50.0 * outwards, 0.0, 26.0]) * MM * size
        line = np.concatenate([line[:1] + inside @ frame.axes.T, line]) + hang
        meshes.append(_rod(_rounded(line), 1.06 * radius, taper=0.12, fineness=fineness))
    for index in arms[2:]:
        line, radius = _limb_line(body, index)
        meshes.append(_rod(_rounded(line + hang), 1.06 * radius, taper=0.18, fineness=fineness))
    return meshes


def _limb_line(body: Body, index: int) -> tuple[FloatArray, float]:
    """Return the middle line of a limb, from end to end of its rod, and its radius. [m]"""
    radius, half = float(body.radii[index][0]), float(body.radii[index][1])
    span = max(half - 0.5 * radius, 0.0)
    return body.centers[index] + np.outer([-span, span], body.axes[index][:, 1]), radius


def _rounded(line: FloatArray) -> FloatArray:
    """Return a line with its corners cut, at even distances."""
    for _ in range(4):
        first, second = line[:-1], line[1:]
        cut = np.stack([0.75 * first + 0.25 * second, 0.25 * first + 0.75 * second], axis=1)
        line = np.concatenate([line[:1], cut.reshape(-1, 3), line[-1:]])
    length = np.concatenate([[0.0], np.cumsum(np.sqrt((np.diff(line, axis=0) ** 2).sum(-1)))])
    at = np.linspace(0.0, length[-1], 40)
    return np.stack([np.interp(at, length, line[:, k]) for k in range(3)], axis=-1)


def _rod(line: FloatArray, radius: float, *, taper: float, fineness: float) -> Mesh:
    """Return a rod with round ends, thinner at its far end."""
    share = np.linspace(-1.0, 1.0, len(line))
    end = np.sqrt(np.clip(1.0 - np.clip((np.abs(share) - 0.85) / 0.15, 0, 1) ** 2, 0.03, 1.0))
    end = end * (1.0 - taper * 0.5 * (share + 1.0))
    section = rounded_section(radius, radius, count=int(36 * fineness), exponent=2.0)
    across = np.eye(3)[int(np.argmin(np.abs(line[-1] - line[0])))]
    return tube(line, section * end[:, None, None], across=across)


def sized(points: FloatArray, *, size: float, neck: float, foot: float) -> FloatArray:
    """Return points of the reference body for a body's own size, hung from the neck. [mm]

    Parameters
    ----------
    points : (..., 3) array
        Body frame; what lies above the collar stays at its height.
    size, neck, foot : float
        Of the trunk; of widths at the collar, and below the shoulders, against the points. [-]
    """
    x, y, z = points[..., 0], points[..., 1], points[..., 2]
    sideways = neck + (foot - neck) * smoothstep(_PIVOT_MM, -230.0, z)
    below = np.minimum(z - _PIVOT_MM, 0.0)
    lift = _LIFT_MM * (1.0 - size) * smoothstep(-118.0, _PIVOT_MM, z)
    return np.stack(
        [
            x * sideways,
            NECK_MIDDLE_MM + (y - NECK_MIDDLE_MM) * sideways,
            z + below * (size - 1.0) + lift,
        ],
        axis=-1,
    )


def _world(mesh: Mesh, frame: HeadPose) -> Mesh:
    return Mesh(
        vertices=to_world(mesh.vertices * MM, origin=frame.origin, axes=frame.axes),
        faces=mesh.faces,
        normals=mesh.normals @ frame.axes.T,
        colors=mesh.colors,
    )


def _interp(at: FloatArray, knots: FloatArray, values: FloatArray) -> FloatArray:
    """Return values between knots, rounded over about 16 mm."""
    shifts = np.linspace(-16.0, 16.0, 9)
    weights = np.cos(shifts / 16.0 * np.pi / 2) ** 2 + 1e-9
    found = np.array([np.interp(at + shift, knots, values) for shift in shifts])
    return np.asarray(weights @ found / weights.sum())
