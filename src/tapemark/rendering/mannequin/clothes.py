"""Clothes of the mannequin: a jumper with ribbed neck and sleeves, a shirt collar, trousers.

Sized like the body that throws the shadows (`tapemark.anatomy.body`), in its frame.
"""

import numpy as np

from tapemark.anatomy import HeadPose, body_of, body_pose
from tapemark.anatomy.body import Body
from tapemark.geometry import FloatArray, to_world
from tapemark.rendering.mannequin.mesh import (
    Mesh,
    ball,
    joined,
    rounded_section,
    sheet,
    smoothstep,
    tube,
)
from tapemark.rendering.mannequin.neck import neck_size
from tapemark.studio import Sitter
from tapemark.units import MM

#: Height, half width, depth of front and of rear of the jumper. [mm of the reference body]
#: From the neck over the slope of the shoulders to their full width, then in to the chest.
_JUMPER = np.array(
    [
        (-660.0, 172.0, 12.0, -205.0),
        (-560.0, 164.0, 12.0, -206.0),
        (-460.0, 163.0, 15.0, -208.0),
        (-390.0, 168.0, 17.0, -210.0),
        (-350.0, 176.0, 13.0, -209.0),
        (-328.0, 181.0, 9.0, -208.0),
        (-308.0, 189.0, 5.0, -207.0),
        (-288.0, 202.0, -4.0, -204.0),
        (-268.0, 213.0, -11.0, -202.0),
        (-250.0, 217.0, -18.0, -199.0),
        (-234.0, 213.0, -23.0, -196.0),
        (-217.0, 199.0, -29.0, -192.0),
        (-204.0, 178.0, -33.0, -188.0),
        (-194.0, 152.0, -36.0, -184.0),
        (-185.0, 127.0, -38.0, -179.0),
        (-177.0, 106.0, -40.0, -174.0),
        (-168.0, 88.0, -41.0, -168.0),
        (-159.0, 75.0, -41.5, -163.0),
        (-150.0, 68.0, -42.0, -160.0),
    ]
)
_COLLAR_ROOM_MM = 14.0  # that the neckline lies lower under a shirt collar
_PIVOT_MM = -150.0  # a smaller body hangs from here
_LIFT_MM = 80.0  # that the collar of a body of no size would be higher
_BAND_MM = 10.0  # half height of the neckband
_BLEND_M = 30.0 * MM  # over which chest and sleeve run into each other
NECK_MIDDLE_MM = -101.5  # depth of the middle of the neck


def jumper(
    sitter: Sitter,
    *,
    pose: HeadPose,
    fineness: float,
    under_collar: bool = False,
    broad: float = 1.0,
) -> Mesh:
    """Return the jumper with its sleeves, world frame [m].

    Parameters
    ----------
    sitter, pose, fineness
        As for the mannequin.
    under_collar : bool
        Whether its neckline leaves room for a shirt collar.
    broad : float
        Of the shoulders against those of the body that throws the shadows. [-]
    """
    body = body_of(sitter, pose=pose)
    size, frame = body_size(body), body_pose(pose)
    neck, low = neck_size(sitter.face), _COLLAR_ROOM_MM if under_collar else 0.0
    sleeves = sleeve_lines(body, frame, broad=broad)
    arms = [_limb(points, radii, fineness=fineness) for points, radii in sleeves]
    grid = sized(_trunk(low, fineness=fineness), size=size, neck=neck, foot=broad * size)
    trunk = to_world(grid * MM, origin=frame.origin, axes=frame.axes)
    for points, radii in sleeves:
        trunk = _run_into(trunk, points[1:3], radius=radii[1], blend=_BLEND_M * size, frame=frame)
    band = sized(_neckline(low, fineness=fineness), size=size, neck=neck, foot=broad * size)
    return joined([sheet(trunk, closed=True), _world(_neckband(band), frame), *arms])


def collar(sitter: Sitter, *, pose: HeadPose, fineness: float, broad: float = 1.0) -> Mesh:
    """Return a shirt collar, closed round the neck, its leaf over the jumper; world frame [m].

    Rows run up the inside of the stand, over the fold and down the leaf to its edge.
    """
    size = body_size(body_of(sitter, pose=pose))
    turn = np.linspace(-1.0, 1.0, int(150 * fineness))[None, :]
    angle = np.pi * (1.0 - np.abs(turn)) * np.where(turn < 0, -1.0, 1.0)
    side, cosine = np.where(turn < 0, -1.0, 1.0), np.cos(angle)
    fold = -151.5 - 20.5 * cosine + cosine**2
    leaf = np.array([0.0, 0.0, 0.0, 0.0, 0.02, 0.10, 0.25, 0.45, 0.65, 0.85, 1.0, 1.0, 0.8])[
        :, None
    ]
    stand = np.array([-34.0, -22.0, -10.0, -3.0, -0.4, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])[
        :, None
    ]
    off = np.array([0.0, 0.0, 0.4, 1.2, 2.6, 4.2, 5.2, 5.6, 5.8, 6.0, 6.0, 4.4, 3.0])[:, None]
    point = np.exp(-((np.degrees(angle) / 40.0) ** 2))  # 1 where the leaf runs out into its points
    long = 35.0 + 28.0 * point
    spread = np.abs(angle) + np.deg2rad(24.0) * point * leaf + np.deg2rad(1.5)
    out = off + leaf * (21.0 - 10.0 * point - 10.0 * np.clip(-cosine, 0.0, 1.0))
    x = side * (60.5 + out) * np.sin(np.minimum(spread, np.pi))
    deep = np.where(np.cos(spread) > 0, 61.5 + out, 57.0 + out)
    y = NECK_MIDDLE_MM + deep * np.cos(spread)
    z = fold + stand - leaf * long
    points = np.stack(np.broadcast_arrays(x, y, z), axis=-1)
    lies = _jumper_top(points[..., 0], points[..., 1]) + np.maximum(off, 5.0)
    points[..., 2] = np.where(leaf > 0.05, np.maximum(points[..., 2], lies), points[..., 2])
    grid = sized(points, size=size, neck=neck_size(sitter.face), foot=broad * size)
    return _world(sheet(grid[:, ::-1]), body_pose(pose))


def trousers(sitter: Sitter, *, pose: HeadPose, fineness: float) -> Mesh:
    """Return the legs in trousers, world frame [m]."""
    body = body_of(sitter, pose=pose)
    back = sleeve_drop(body, body_pose(pose)) * (1.0, 1.0, 0.0)
    legs = _legs(body)
    shapes = []
    for upper, lower in zip(legs[:2], legs[2:4], strict=True):
        (hip, knee), thick = _limb_line(body, upper)
        (_, ankle), thin = _limb_line(body, lower)
        points = np.stack([hip, knee, ankle]) + back
        radii = np.array([1.02 * thick, 0.86 * thick, 0.92 * thin])
        shapes.append(_limb(points, radii, fineness=fineness))
    low = [index for index, name in enumerate(body.names) if name == "trunk"][-1]
    radii = body.radii[low] * (0.80, 0.84, 0.90)
    hips = ball(body.centers[low] + back, body.axes[low], radii, rows=16, columns=28)
    return joined([*shapes, hips])


def shoes(sitter: Sitter, *, pose: HeadPose, fineness: float) -> Mesh:
    """Return both shoes, world frame [m]."""
    body = body_of(sitter, pose=pose)
    back = sleeve_drop(body, body_pose(pose)) * (1.0, 1.0, 0.0)
    pair = [(line + back, r) for line, r in (_limb_line(body, i) for i in _legs(body)[-2:])]
    return joined(
        [_rod(_rounded(line), radius, taper=0.1, fineness=fineness) for line, radius in pair]
    )


def sleeve_drop(body: Body, frame: HeadPose) -> FloatArray:
    """Return how far the arms of a body of another size hang off those of `anatomy`. [m]"""
    smaller = (1.0 - body_size(body)) * MM
    lower, back = (_PIVOT_MM + _LIFT_MM) * smaller, NECK_MIDDLE_MM * smaller
    return np.asarray(lower * frame.axes[:, 2] + back * frame.axes[:, 1])


def _legs(body: Body) -> list[int]:
    return [index for index, name in enumerate(body.names) if name == "leg"]


def body_size(body: Body) -> float:
    """Return the size of a body against the reference, from its trunk. [-]"""
    return float(body.radii[body.names.index("trunk")][0] / 0.222)


def _trunk(low: float, *, fineness: float) -> FloatArray:
    """Return chest and shoulders as rings, neckline first, (rows, columns, 3). [mm]"""
    columns = int(150 * fineness)
    top = -150.0 - low
    steps = (
        np.linspace(0.0, 1.0, int(30 * fineness))[:-1],
        np.linspace(0.0, 1.0, int(34 * fineness)),
    )
    up = np.concatenate([top + (-236.0 - top) * steps[0], -236.0 - 424.0 * steps[1] ** 1.5])
    half, middle, deep = (one[:, None] for one in _sections(up))
    around = -np.arange(columns)[None, :] * 2.0 * np.pi / columns
    sine, cosine = np.sin(around), np.cos(around)
    power = 1.0 - (0.09 * smoothstep(-195.0, -230.0, up) + 0.11 * smoothstep(-290.0, -380.0, up))
    power = power[:, None]
    x = half * np.sign(sine) * np.abs(sine) ** power
    y = middle + deep * np.sign(cosine) * np.abs(cosine) ** power
    drop = smoothstep(-236.0, top, up)[:, None] ** 2
    z = up[:, None] - drop * _neck_drop(cosine)
    y = y + drop * 5.0 * np.clip(cosine, 0.0, 1.0) ** 2
    folds = _folds(x, z) * smoothstep(-190.0, -260.0, up)[:, None]
    return np.stack([x, y + folds * np.sign(cosine), z + 0.0 * x], axis=-1)


def _sections(up: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return half width, middle and half depth of the jumper at heights. [mm]"""
    half, front, rear = (_interp(up, _JUMPER[:, 0], _JUMPER[:, k]) for k in (1, 2, 3))
    return half, (front + rear) / 2.0, (front - rear) / 2.0


def _neck_drop(cosine: FloatArray) -> FloatArray:
    """Return how far the neckline falls below its sides: most in front, less than none behind."""
    return np.asarray(15.0 * cosine + 15.0 * np.clip(cosine, 0.0, 1.0) ** 2)


def _jumper_top(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return the height of what a collar lies on: jumper, its neckband, nothing within. [mm]"""
    up = np.arange(-160.0, -262.0, -2.0)
    half, middle, deep = (one.reshape(-1, *(1,) * x.ndim) for one in _sections(up))
    inside = (x / half) ** 2 + ((y - middle) / deep) ** 2 <= 1.0
    found = np.where(inside.any(axis=0), up[np.argmax(inside, axis=0)], up[-1])
    cosine = (y - NECK_MIDDLE_MM) / np.maximum(np.hypot(x, y - NECK_MIDDLE_MM), 1.0)
    found = found - smoothstep(-236.0, -164.0, found) ** 2 * _neck_drop(cosine)
    band = -150.0 - _COLLAR_ROOM_MM - _neck_drop(cosine) + _BAND_MM
    on_band = (x / 72.0) ** 2 + ((y - NECK_MIDDLE_MM) / 64.0) ** 2 > 0.8
    return np.asarray(np.where(inside[0], np.where(on_band, band, -1000.0), found))


def _run_into(
    points: FloatArray, bone: FloatArray, *, radius: float, blend: float, frame: HeadPose
) -> FloatArray:
    """Return the chest [m] swollen towards the inside of a sleeve: one runs into the other."""
    start, end = 0.8 * bone[0] + 0.2 * bone[1], bone[1]
    long = float(np.sqrt(((end - start) ** 2).sum()))
    along = (end - start) / long
    share = np.clip((points - start) @ along, 0.0, long)
    away = points - (start + share[..., None] * along)
    apart = np.sqrt((away**2).sum(axis=-1))
    outwards = np.sign((start - frame.origin) @ frame.axes[:, 0]) * (away @ frame.axes[:, 0])
    near = np.clip(1.0 - np.abs(apart - radius) / blend, 0.0, 1.0)
    near = near * smoothstep(0.97, 0.35, outwards / apart)
    return np.asarray(points + (0.46 * blend * near**2 / apart)[..., None] * away)


def _folds(x: FloatArray, z: FloatArray) -> FloatArray:
    """Return soft folds of the cloth: across the chest to the armpits, and down the sides. [mm]"""
    side = np.abs(x)
    slant = z + 0.55 * side
    even = 1.8 * np.sin(slant / 19.0 + 0.9 * np.sin(x / 31.0)) + 1.0 * np.sin(z / 11.0 - x / 23.0)
    towards = np.hypot(side - 175.0, z + 318.0)
    turned = np.arctan2(z + 318.0, 175.0 - side)
    pulled = (
        2.6
        * np.sin(turned * 7.0 + 0.6 * np.sin(x / 40.0))
        * np.exp(-(((towards - 55.0) / 42.0) ** 2))
    )
    return np.asarray(even * smoothstep(30.0, 150.0, side) + pulled * smoothstep(20.0, 70.0, side))


def _neckline(low: float, *, fineness: float) -> FloatArray:
    """Return the middle line of the ribbed band round the neck. [mm]"""
    count = int(440 * fineness)
    around = np.arange(count) * 2.0 * np.pi / count
    sine, cosine = np.sin(around), np.cos(around)
    wide = low / 14.0 * 6.0
    return np.stack(
        [
            (66.0 + wide) * sine,
            NECK_MIDDLE_MM + np.where(cosine > 0, 61.5 + 0.5 * wide, 58.5 + 0.3 * wide) * cosine,
            -150.0 - low - _neck_drop(cosine),
        ],
        axis=-1,
    )


def _neckband(line: FloatArray) -> Mesh:
    """Return the ribbed band round the neck along its middle line."""
    around = np.arange(len(line)) * 2.0 * np.pi / len(line)
    section = rounded_section(2.3, _BAND_MM, count=16, exponent=2.8)
    ribs = 1.0 + 0.07 * np.cos(110 * around)
    out = np.stack([np.sin(around), np.cos(around), 0.35 + 0.0 * around], axis=-1)
    return tube(line, section * ribs[:, None, None], across=out, closed=True)


def sleeve_lines(
    body: Body, frame: HeadPose, *, broad: float = 1.0
) -> list[tuple[FloatArray, FloatArray]]:
    """Return where each arm runs: within the chest, shoulder, elbow, wrist, and its radii. [m]

    Upper arms start where shoulders of that breadth end; elbows stay where they are.
    """
    size, hang = body_size(body), sleeve_drop(body, frame)
    arms = [index for index, name in enumerate(body.names) if name == "arm"]
    found = []
    for upper, lower in zip(arms[:2], arms[2:], strict=True):
        (shoulder, elbow), thick = _limb_line(body, upper)
        (_, wrist), thin = _limb_line(body, lower)
        outwards = np.sign((body.centers[upper] - frame.origin) @ frame.axes[:, 0])
        shoulder = shoulder - outwards * 0.18 * (1.0 - broad) * size * frame.axes[:, 0]
        inside = shoulder + frame.axes @ np.array([-50.0 * outwards, 0.0, 26.0]) * MM * size
        points = np.stack([inside, shoulder, elbow, wrist]) + hang
        found.append((points, np.array([0.62 * thick, 0.96 * thick, 1.04 * thin, 0.88 * thin])))
    return found


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


def _limb(points: FloatArray, radii: FloatArray, *, fineness: float) -> Mesh:
    """Return a limb bent at its joints, (n, 3) [m], as thick there as said, its ends round."""
    eased = [points[:1]]
    for before, joint, after in zip(points[:-2], points[1:-1], points[2:], strict=True):
        gaps = np.sqrt([((joint - before) ** 2).sum(), ((after - joint) ** 2).sum()])
        near = np.minimum(1.3 * radii.max() / gaps, 0.5)  # so near the joint the limb bends
        eased.append(
            np.stack([joint + near[0] * (before - joint), joint, joint + near[1] * (after - joint)])
        )
    line = _rounded(np.concatenate([*eased, points[-1:]]))
    steps = np.sqrt((np.diff(points, axis=0) ** 2).sum(axis=-1))
    at = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    share = np.linspace(0.0, 1.0, len(line))
    end = np.sqrt(
        np.clip(1.0 - np.clip((np.abs(2.0 * share - 1.0) - 0.93) / 0.07, 0, 1) ** 2, 0.03, 1)
    )
    thick = np.interp(share, at, radii) * end
    circle = rounded_section(1.0, 1.0, count=int(36 * fineness), exponent=2.0)
    across = np.eye(3)[int(np.argmin(np.ptp(line, axis=0)))]
    return tube(line, circle * thick[:, None, None], across=across)


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
