r"""The skin of head and neck as one mesh, with openings for the eyes.

Rings of points run around the head at falling heights, each from the back over the sitter's right
and the face.  Around each eye a block of that grid is replaced by rings that go from the block's
edge to the edge of the lids and on to the eyeball.

        +--+--+--+--+
        +--+--+--+--+      block edge = outermost ring
        +--+ /--\ +-+
        +--+ \__/ +-+      innermost ring behind the lids' edge
        +--+--+--+--+
"""

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.face import ROTATION_CENTER_MM, FaceShape
from tapemark.rendering.mannequin.mesh import (
    IntArray,
    grid_faces,
    smooth_max,
    smoothstep,
    vertex_normals,
)
from tapemark.studio import FaceMeasures
from tapemark.units import MM

CAP_STARTS_MM = 106.0  # above it the crown is rounded off
CROWN_MM = 115.0
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
        (-110.0, -95.0, 52.5, 52.0),
        (-140.0, -98.0, 55.0, 54.0),
        (-165.0, -101.0, 63.0, 58.0),
        (-185.0, -104.0, 76.0, 62.0),
        (-210.0, -106.0, 110.0, 72.0),
        (-262.0, -106.0, 150.0, 84.0),
    ]
)[::-1]
#: Height, depth and half width of the underside of the chin as it runs back to the throat. [mm]
_THROAT_MM = np.array(
    [
        (-165.0, -74.0, 44.0),
        (-150.0, -60.0, 44.0),
        (-136.0, -40.0, 40.0),
        (-127.0, -24.0, 34.0),
        (-119.0, -9.0, 24.0),
        (-112.0, -12.0, 18.0),
        (-100.0, -30.0, 14.0),
    ]
)
_DENSE_SIDE = 0.72  # of the half width; farther out columns follow the angle


@dataclass(frozen=True, kw_only=True, eq=False)
class SkinMesh:
    """Skin of head and neck in the head frame.

    Attributes
    ----------
    vertices, normals : (n, 3) arrays
        Points [mm] and unit normals [-].
    faces : (m, 3) int array
        Triangles.
    lid_edge : (n,) array
        1 on the edge of the lids, falling to 0 within them and beyond. [-]
    neck : (n,) array
        0 on the head, 1 where the neck goes with the body. [-]
    """

    vertices: FloatArray
    normals: FloatArray
    faces: IntArray
    lid_edge: FloatArray
    neck: FloatArray


def skin_mesh(face: FaceShape, *, fineness: float) -> SkinMesh:
    """Return the skin of head and neck; see `SkinMesh`."""
    grid = head_rings(face, fineness=fineness)
    rows, columns = grid.shape[:2]
    faces = grid_faces(rows, columns, closed=True)
    vertices = [grid.reshape(-1, 3)]
    edges = [np.zeros(rows * columns)]
    kept = [faces]
    for outward in (1.0, -1.0):
        top, bottom, first, last = _eye_block(face, grid, outward)
        inside = np.zeros((rows, columns), dtype=bool)
        inside[top : bottom + 1, first : last + 1] = True
        core = np.zeros((rows, columns), dtype=bool)
        core[top + 1 : bottom, first + 1 : last] = True
        flat = inside.reshape(-1)[kept[0]].all(axis=1)
        kept[0] = kept[0][~flat]
        border = _border((top, bottom, first, last), columns)
        points, edge = _eye_rings(face, grid.reshape(-1, 3)[border], outward, fineness=fineness)
        start = sum(len(part) for part in vertices)
        count = len(border)
        patch = grid_faces(len(points) + 1, count, closed=True)
        names = np.concatenate([border, start + np.arange(points.shape[0] * count)])
        kept.append(names[patch])
        vertices.append(points.reshape(-1, 3))
        edges.append(edge.reshape(-1))
    return _finished(face, np.concatenate(vertices), np.concatenate(kept), np.concatenate(edges))


def head_rings(face: FaceShape, *, fineness: float) -> FloatArray:
    """Return rings around head and neck, (rows, columns, 3) [mm], crown first."""
    up = _heights(fineness)
    side, back = _columns(fineness)
    wide, front, widest, rear = ring_sections(face.head, up * face.tall)
    z = _above_eyes(up, face.tall)[:, None]
    x_front = wide[:, None] * side
    arc = np.sqrt(np.maximum(1.0 - np.abs(side) ** 2.25, 0.0))
    y_front = widest[:, None] + (front - widest)[:, None] * arc
    on_face = (up < CAP_STARTS_MM) & (up > CHIN_ENDS_MM)
    rows = np.flatnonzero(on_face)
    places = np.clip(x_front[rows], -wide[rows, None] * (1 - 1e-9), wide[rows, None] * (1 - 1e-9))
    y_front[rows] = face.depth(places, np.broadcast_to(z[rows], places.shape))
    x_back = wide[:, None] * np.sin(back)
    y_back = widest[:, None] + (rear - widest)[:, None] * np.cos(back)
    right, left = back < np.pi, back > np.pi
    x = np.concatenate([x_back[:, right], x_front, x_back[:, left]], axis=1)
    y = np.concatenate([y_back[:, right], y_front, y_back[:, left]], axis=1)
    x, y = _with_neck(x, y, up, neck=neck_size(face.head.measures))
    return np.stack([x, y, np.broadcast_to(z, x.shape)], axis=-1)


def ring_sections(head: HeadSurface, z_mm: FloatArray) -> FloatArray:
    """Return half width, front, widest and rear depth at heights; the crown rounded off. [mm]"""
    tall = head.measures.face_height_mm / 118.0
    up = z_mm / tall
    inner = np.clip(up, CHIN_ENDS_MM, CAP_STARTS_MM)
    found = head.section(inner * tall * MM) / MM
    share = np.sqrt(np.clip((CROWN_MM - up) / (CROWN_MM - CAP_STARTS_MM), 0.0, 1.0))
    tip = np.array([0.0, -75.0, -75.0, -75.0]) * np.array([1.0, *[_deep(head)] * 3])
    return np.asarray(tip[:, None] + (found - tip[:, None]) * share)


def neck_size(measures: FaceMeasures) -> float:
    """Return how wide a neck is against the reference: as the face is. [-]"""
    return float(np.clip(measures.bizygomatic_mm / 138.0, 0.8, 1.15))


def _above_eyes(up: FloatArray, tall: float) -> FloatArray:
    """Return heights of rings: the face's own to its chin, the reference's from the collar on."""
    chin = CHIN_ENDS_MM * tall
    between = chin + (up - CHIN_ENDS_MM) * (COLLAR_MM - chin) / (COLLAR_MM - CHIN_ENDS_MM)
    return np.asarray(np.where(up > CHIN_ENDS_MM, up * tall, np.where(up > COLLAR_MM, between, up)))


def _deep(head: HeadSurface) -> float:
    return head.measures.head_length_mm / 195.0


def _heights(fineness: float) -> FloatArray:
    """Return the heights of the rings, falling. [mm of the reference head]"""

    def run(high: float, low: float, step: float) -> FloatArray:
        return np.linspace(high, low, max(round((high - low) / step * fineness), 3) + 1)[:-1]

    share = np.linspace(0.0, 1.0, int(7 * fineness) + 2)[:-1]
    crown = CROWN_MM - (CROWN_MM - CAP_STARTS_MM) * share**2
    return np.concatenate(
        [
            crown,
            run(CAP_STARTS_MM, 32.0, 2.6),
            run(32.0, -80.0, 1.15),
            run(-80.0, CHIN_ENDS_MM, 1.2),
            run(CHIN_ENDS_MM, -135.0, 2.0),
            run(-135.0, NECK_ENDS_MM, 4.0),
            [NECK_ENDS_MM],
        ]
    )


def _columns(fineness: float) -> tuple[FloatArray, FloatArray]:
    """Return sides of the front, right to left (1 to -1), and angles of the back [rad]."""
    dense = np.linspace(0.0, _DENSE_SIDE, round(43 * fineness) + 1)
    angle = np.linspace(np.arcsin(_DENSE_SIDE), np.pi / 2, round(16 * fineness) + 1)[1:]
    half = np.concatenate([dense, np.sin(angle)])
    side = np.concatenate([half[::-1], -half[1:]])
    steps = round(16 * fineness)
    rear = np.linspace(0.0, np.pi / 2, steps + 1)[:-1]
    back = np.concatenate([rear, 2 * np.pi - rear[:0:-1]])
    return side, back


def _with_neck(
    x: FloatArray, y: FloatArray, up: FloatArray, *, neck: float
) -> tuple[FloatArray, FloatArray]:
    """Return rings with the neck blended in, seen from a middle line inside both."""
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
    head_reach[under] = head_reach[last] * _rounded_off(
        height[under], ahead, falling / head_reach[last]
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
    neck_reach = smooth_max(neck_reach, below, blend=20.0)
    behind = smoothstep(0.2, -0.6, cosine)
    blend = 9.0 + 12.0 * behind * smoothstep(-120.0, -20.0, height)[:, None]
    reach = smooth_max(head_reach, neck_reach, blend=blend)
    x, y = x.copy(), y.copy()
    x[rows], y[rows] = reach * sine, center[:, None] + reach * cosine
    return x, y


def _rounded_off(height: FloatArray, ahead: FloatArray, falling: FloatArray) -> FloatArray:
    """Return how much of the jaw's section is left under it, (rows, columns) [-].

    `falling` is how fast the section shrinks where the rounding starts, per mm.
    """
    deep = JAW_ROUNDS_MM - CHIN_ENDS_MM
    share = np.clip((JAW_ROUNDS_MM - height) / deep, 0.0, 1.0)[:, None]
    power = 1.9 + 0.6 * ahead
    going_on = np.clip(falling * deep, -1.6, 0.2) * share * (1.0 - share) ** 2
    return np.asarray((1.0 - share**power) ** (1.0 / power) + going_on)


def _smooth_interp(at: FloatArray, knots: FloatArray, values: FloatArray) -> FloatArray:
    """Return values between knots, rounded over about 12 mm."""
    shifts = np.linspace(-12.0, 12.0, 9)
    weights = np.cos(shifts / 12.0 * np.pi / 2) ** 2
    found = np.array([np.interp(at + shift, knots, values) for shift in shifts])
    return np.asarray(weights @ found / weights.sum())


def _eye_block(face: FaceShape, grid: FloatArray, outward: float) -> tuple[int, int, int, int]:
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


def _border(block: tuple[int, int, int, int], columns: int) -> IntArray:
    """Return the points around a block, clockwise as seen (rows down, columns right)."""
    top, bottom, first, last = block
    across, down = np.arange(first, last), np.arange(top, bottom)
    upper = top * columns + across
    right = down * columns + last
    lower = bottom * columns + (first + last - across)
    left = (top + bottom - down) * columns + first
    return np.concatenate([upper, right, lower, left])


def _eye_rings(
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


def _finished(
    face: FaceShape, vertices: FloatArray, faces: IntArray, lid_edge: FloatArray
) -> SkinMesh:
    used, names = np.unique(faces, return_inverse=True)
    faces, vertices, lid_edge = names.reshape(faces.shape), vertices[used], lid_edge[used]
    normals = vertex_normals(vertices, faces)
    vertices = _with_nostrils(face, vertices, normals)
    return SkinMesh(
        vertices=vertices,
        normals=vertex_normals(vertices, faces),
        faces=faces,
        lid_edge=lid_edge,
        neck=smoothstep(-70.0, -190.0, vertices[:, 2]),
    )


def nostril_share(face: FaceShape, vertices: FloatArray) -> FloatArray:
    """Return how much of a place lies in a nostril, 0 to 1."""
    side, up = np.abs(vertices[:, 0]), vertices[:, 2] / face.tall
    away = ((side - 6.4) / 3.4) ** 2 + ((up + 45.6 + 0.25 * (side - 6.4)) / 1.7) ** 2
    ahead = vertices[:, 1] > 18.0
    return np.asarray(smoothstep(1.5, 0.2, away) * ahead)


def _with_nostrils(face: FaceShape, vertices: FloatArray, normals: FloatArray) -> FloatArray:
    share = nostril_share(face, vertices)
    inwards = np.stack([0 * share, -0.45 + 0 * share, 0.9 + 0 * share], axis=-1)
    return np.asarray(vertices + 3.0 * share[:, None] * inwards)
