r"""The skin of head and neck as one mesh, with openings for the eyes.

Rings of points run around the head at falling heights, each from the back over the sitter's right
and the face.  The skull over the forehead is as high as the head is long and broad: a child's face
is small under a large skull.  Below, jaws differ: pointed or square.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.ages import childhood
from tapemark.rendering.mannequin.eye_openings import block_border, eye_block, eye_rings
from tapemark.rendering.mannequin.face import FaceShape
from tapemark.rendering.mannequin.mesh import (
    IntArray,
    grid_faces,
    smoothstep,
)
from tapemark.rendering.mannequin.neck import (
    CHIN_ENDS_MM,
    COLLAR_MM,
    NECK_ENDS_MM,
    neck_size,
    with_neck,
)
from tapemark.units import MM

CAP_STARTS_MM = 106.0  # above it the crown is rounded off
CROWN_MM = 115.0
SKULL_STARTS_MM = 56.0  # above it the skull has its own height
_DENSE_SIDE = 0.72  # of the half width; farther out columns follow the angle


@dataclass(frozen=True, kw_only=True, eq=False)
class SkinMesh:
    """Skin of head and neck in the head frame.

    Attributes
    ----------
    vertices : (n, 3) array
        Points. [mm]
    faces : (m, 3) int array
        Triangles.
    lid_edge : (n,) array
        1 on the edge of the lids, falling to 0 within them and beyond. [-]
    neck : (n,) array
        0 on the head, 1 where the neck goes with the body. [-]
    """

    vertices: FloatArray
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
        top, bottom, first, last = eye_block(face, grid, outward)
        inside = np.zeros((rows, columns), dtype=bool)
        inside[top : bottom + 1, first : last + 1] = True
        core = np.zeros((rows, columns), dtype=bool)
        core[top + 1 : bottom, first + 1 : last] = True
        flat = inside.reshape(-1)[kept[0]].all(axis=1)
        kept[0] = kept[0][~flat]
        border = block_border((top, bottom, first, last), columns)
        points, edge = eye_rings(face, grid.reshape(-1, 3)[border], outward, fineness=fineness)
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
    young = childhood(face.age_years)
    slim = 0.95 + 0.05 * face.jaw - 0.06 * young
    x = x * _jaw_width(up, jaw=face.jaw, young=young)[:, None]
    x, y = with_neck(x, y, up, neck=slim * neck_size(face.head.measures), grown=1.0 - young)
    z = z + skull_lift(face.head, up)[:, None]
    return np.stack([x, y, np.broadcast_to(z, x.shape)], axis=-1)


def skull_lift(head: HeadSurface, up_mm: FloatArray) -> FloatArray:
    """Return how much higher the skull is than face height alone would make it. [mm]

    Parameters
    ----------
    head : HeadSurface
        Head of the analyses, all of whose heights follow the face.
    up_mm : (...) array
        Heights. [mm of the reference head]
    """
    measures = head.measures
    skull = np.sqrt(measures.head_breadth_mm / 151.0 * measures.head_length_mm / 195.0)
    more = CROWN_MM * (skull - measures.face_height_mm / 118.0)
    share = np.clip((up_mm - SKULL_STARTS_MM) / (CROWN_MM - SKULL_STARTS_MM), 0.0, 1.0)
    return np.asarray(more * share**1.5)


def _jaw_width(up: FloatArray, *, jaw: float, young: float) -> FloatArray:
    """Return how wide the jaw is against the anatomy's, below the corners of the mouth. [-]"""
    narrower = 0.075 - 0.055 * jaw + 0.03 * young
    return np.asarray(1.0 - narrower * smoothstep(-72.0, -104.0, up))


def ring_sections(head: HeadSurface, z_mm: FloatArray) -> FloatArray:
    """Return half width, front, widest and rear depth at heights; the crown rounded off. [mm]"""
    tall = head.measures.face_height_mm / 118.0
    up = z_mm / tall
    inner = np.clip(up, CHIN_ENDS_MM, CAP_STARTS_MM)
    found = head.section(inner * tall * MM) / MM
    share = np.sqrt(np.clip((CROWN_MM - up) / (CROWN_MM - CAP_STARTS_MM), 0.0, 1.0))
    tip = np.array([0.0, -75.0, -75.0, -75.0]) * np.array([1.0, *[_deep(head)] * 3])
    return np.asarray(tip[:, None] + (found - tip[:, None]) * share)


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


def _finished(
    face: FaceShape, vertices: FloatArray, faces: IntArray, lid_edge: FloatArray
) -> SkinMesh:
    used, names = np.unique(faces, return_inverse=True)
    faces, vertices, lid_edge = names.reshape(faces.shape), vertices[used], lid_edge[used]
    vertices = _with_nostrils(face, vertices)
    return SkinMesh(
        vertices=vertices,
        faces=faces,
        lid_edge=lid_edge,
        neck=smoothstep(-70.0, -190.0, vertices[:, 2]),
    )


def nostril_share(face: FaceShape, vertices: FloatArray) -> FloatArray:
    """Return how much of a place lies in a nostril, 0 to 1."""
    side, up = np.abs(vertices[:, 0]), vertices[:, 2] / face.tall
    away = ((side - 6.2) / 2.9) ** 2 + ((up + 45.2 + 0.25 * (side - 6.2)) / 1.5) ** 2
    ahead = vertices[:, 1] > 18.0
    return np.asarray(smoothstep(1.5, 0.2, away) * ahead)


def _with_nostrils(face: FaceShape, vertices: FloatArray) -> FloatArray:
    share = nostril_share(face, vertices)
    inwards = np.stack([0 * share, -0.45 + 0 * share, 0.9 + 0 * share], axis=-1)
    return np.asarray(vertices + 3.0 * share[:, None] * inwards)
