r"""Eyeballs of the mannequin: white, iris, pupil and cornea, where `anatomy.eye` puts them.

The white is a ball about the eye's rotation centre that meets the cornea at the edge of the iris.
Iris and pupil lie in the plane in which a camera sees them, with the size it sees, so the cornea
is to be a mirror that bends nothing.

      white  ____
            /    \ | iris, in the plane of the entrance pupil
           |   .  ||)  cornea, a sphere
            \____/ |

References
----------
Sizes: see `tapemark.anatomy.eye`.  Colors of white and iris are drawn by eye: the white gives back
half to two thirds of the light, an iris 2 to 15 % (from memory, not verified).
"""

import numpy as np

from tapemark.anatomy import Eyes
from tapemark.anatomy.eye import ROTATION_CENTER_M
from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.mesh import Mesh, grid_faces, smooth, smoothstep
from tapemark.units import MM

Color = tuple[float, float, float]
WHITE: Color = (0.63, 0.57, 0.53)
PUPIL: Color = (0.004, 0.004, 0.004)
_LIMBUS_MM = 0.9  # width over which white turns into iris


def eyeball(eyes: Eyes, *, index: int, fineness: float) -> Mesh:
    """Return the white of one eye: a closed ball with a shallow well for the iris."""
    iris, radius = _iris_mm(eyes), globe_radius_mm(eyes)
    edge = np.arcsin(min(iris / radius, 0.95))
    rows, columns = int(40 * fineness) + 6, int(64 * fineness) // 2 * 2
    polar = edge + (np.pi - edge) * np.linspace(0.0, 1.0, rows) ** 1.4
    ring = np.stack([radius * np.sin(polar), radius * np.cos(polar)], axis=-1)
    floor = ROTATION_CENTER_M / MM - 3.05 - 0.25
    well = np.array([(0.0, floor), (iris * 0.5, floor), (iris * 0.985, floor)])
    profile = np.concatenate([well, ring])
    points, around = _turned(profile, columns)
    colors = _white_colors(profile, around, edge_mm=iris)
    return _placed(points, eyes, index, colors=colors)


def iris(eyes: Eyes, *, index: int, color: Color, seed: int, fineness: float) -> Mesh:
    """Return the iris of one eye, a flat ring from pupil to white with its pattern."""
    outer, inner = _iris_mm(eyes) * 1.004, eyes.pupil_diameter_m / MM / 2.0
    rows, columns = int(22 * fineness) + 4, int(150 * fineness)
    share = np.linspace(0.0, 1.0, rows)
    depth = ROTATION_CENTER_M / MM - 3.05
    profile = np.stack([inner + (outer - inner) * share, np.full(rows, depth)], axis=-1)
    points, around = _turned(profile, columns)
    return _placed(
        points, eyes, index, colors=_iris_colors(share, around, color=color, seed=seed + index)
    )


def pupil(eyes: Eyes, *, index: int) -> Mesh:
    """Return the pupil of one eye: a black disc just behind the iris."""
    radius = eyes.pupil_diameter_m / MM / 2.0 * 1.06
    depth = ROTATION_CENTER_M / MM - 3.05 - 0.12
    profile = np.array([(0.0, depth), (radius, depth)])
    return _placed(_turned(profile, 48)[0], eyes, index)


def cornea(eyes: Eyes, *, index: int, fineness: float) -> Mesh:
    """Return the front of one eye, out to the white, with the sphere's own normals."""
    radius, iris = eyes.cornea_radius_m / MM, _iris_mm(eyes)
    polar = np.linspace(0.0, np.arcsin(min(iris * 1.01 / radius, 0.99)), int(24 * fineness) + 4)
    profile = np.stack([radius * np.sin(polar), radius * np.cos(polar)], axis=-1)
    points, _ = _turned(profile, int(64 * fineness))
    rows, columns = points.shape[:2]
    flat = points.reshape(-1, 3) / radius
    axes = eyes.gaze_axes[index]
    return Mesh(
        vertices=eyes.cornea_center[index] + (flat @ axes.T) * radius * MM,
        faces=grid_faces(rows, columns, closed=True),
        normals=flat @ axes.T,
    )


def globe_radius_mm(eyes: Eyes) -> float:
    """Return the radius about the rotation centre that meets the cornea at the iris' edge."""
    half, radius = _iris_mm(eyes), eyes.cornea_radius_m / MM
    deep = radius - np.sqrt(max(radius**2 - half**2, 0.0))
    return float(np.hypot(half, ROTATION_CENTER_M / MM - deep))


def _iris_mm(eyes: Eyes) -> float:
    return eyes.iris_diameter_m / MM / 2.0


def _turned(profile: FloatArray, columns: int) -> tuple[FloatArray, FloatArray]:
    """Return a profile (away from the axis, along it) turned about the gaze, and the angles.

    Columns run so that the outside is the side of faces; y is the gaze.
    """
    around = -np.arange(columns) * 2.0 * np.pi / columns
    away, along = profile[:, :1], profile[:, 1:]
    points = np.stack(
        np.broadcast_arrays(-away * np.sin(around), along + 0.0 * around, away * np.cos(around)),
        axis=-1,
    )
    return points, around


def _placed(
    points: FloatArray, eyes: Eyes, index: int, *, colors: FloatArray | None = None
) -> Mesh:
    rows, columns = points.shape[:2]
    center = eyes.cornea_center[index] + eyes.gaze[index] * (
        eyes.cornea_radius_m - ROTATION_CENTER_M
    )
    vertices = center + (points.reshape(-1, 3) * MM) @ eyes.gaze_axes[index].T
    return smooth(
        vertices,
        grid_faces(rows, columns, closed=True),
        colors=None if colors is None else colors.reshape(-1, 3),
    )


def _white_colors(profile: FloatArray, around: FloatArray, *, edge_mm: float) -> FloatArray:
    """Return the white, greyer towards the iris and warmer towards the corners."""
    away = np.where(profile[:, 1] < 0, 20.0, profile[:, 0])[:, None]
    near = 1.0 - smoothstep(0.0, _LIMBUS_MM * 0.6, away - edge_mm)
    corner = smoothstep(edge_mm + 1.0, edge_mm + 5.5, away)
    white = np.array(WHITE) * (1.0 - corner[..., None] * np.array([0.10, 0.26, 0.28]))
    grey = np.array([0.20, 0.19, 0.19])
    mixed = white + (grey - white) * (0.75 * near[..., None])
    return np.broadcast_to(mixed, (len(profile), len(around), 3)).copy()


def _iris_colors(share: FloatArray, around: FloatArray, *, color: Color, seed: int) -> FloatArray:
    """Return the iris: fibres, a paler ring round the pupil and a dark edge."""
    pattern = np.random.default_rng(seed)
    fibres = np.zeros((len(share), len(around)))
    for count in (11, 17, 29, 43, 61):
        phase, wave = pattern.uniform(0.0, 2.0 * np.pi, 2)
        bend = 0.5 * np.sin(3.0 * share + wave)[:, None]
        fibres += np.cos(count * (around[None, :] + 0.04 * bend) + phase) / np.sqrt(count / 11.0)
    fibres *= (0.35 + 0.65 * np.sin(np.pi * np.clip(share, 0, 1)))[:, None]
    collar = np.exp(-(((share - 0.26) / 0.16) ** 2))[:, None]
    edge = smoothstep(0.66, 1.0, share)[:, None]
    rim = np.exp(-((share / 0.06) ** 2))[:, None]
    base = np.array(color)
    warm = base * np.array([1.55, 1.25, 0.95]) + np.array([0.012, 0.006, 0.0])
    tone = base + (warm - base) * (0.8 * collar)[..., None]
    bright = np.clip(1.0 + 0.24 * fibres, 0.4, 1.8) * (1.0 - 0.78 * edge) * (1.0 - 0.6 * rim)
    return np.asarray(np.clip(tone * bright[..., None], 0.003, 0.9))
