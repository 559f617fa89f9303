r"""How does one ray meet the lens, and how does a whole lens spread what it mirrors?

A section shows one ray in the plane in which it turns: the plane of the ray and of the lens's
own upright at that place. Seen along that plane's normal::

                 upright
        arriving    |    leaving            front   ____
                \   |   /                        --'    '--     the two surfaces,
                 \ a|a /                         back ____      cut by that plane
          _________\|/_________                 --'    '--

The spread follows rays the other way, from the camera over the upright middle line of a lens
into the room: whatever sends light from where they go shows in the lens.
"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.emitter import Emitter
from tapemark.analysis.scene import Scene
from tapemark.anatomy import lens_margin
from tapemark.geometry import FloatArray, Vec3, dot, normalize, to_world
from tapemark.optics import front_point, intersect_toric, reflect

_FINE = 141  # places looked at across a lens
_HALF_CUT_M = 0.024  # of the lens that a section shows, to either side of the ray
_CUT_POINTS = 41
_FLAT = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class LensSection:
    """One ray over the front of a lens, in the plane in which it turns.

    Page places are (along, up): along the lens and up its own upright, from the place where the
    ray meets it. [m]

    Attributes
    ----------
    source : str
        Name of the emitter whose middle the ray comes from.
    start, lens, end : points
        On the emitter, on the lens, and level with the camera. World. [m]
    angle_in_deg, angle_out_deg : float
        Between the lens's upright and the way the light came, and the way it goes. [deg]
    arriving, leaving : pairs of floats
        Where it came from and where it goes, unit vectors on the page. [-]
    towards_camera : pair of floats
        Where the camera is, unit vector on the page. [-]
    misses_m : float
        How far the ray passes the camera, level with it. [m]
    over_m : float
        How far above the camera it passes; below is negative. [m]
    front, back : tuples of pairs of floats
        The two surfaces of the lens.
    """

    source: str
    start: Vec3
    lens: Vec3
    end: Vec3
    angle_in_deg: float
    angle_out_deg: float
    arriving: tuple[float, float]
    leaving: tuple[float, float]
    towards_camera: tuple[float, float]
    misses_m: float
    over_m: float
    front: tuple[tuple[float, float], ...]
    back: tuple[tuple[float, float], ...]


def lens_section(scene: Scene, emitter: Emitter, *, index: int = 0) -> LensSection | None:
    """Return the ray from an emitter's middle over a lens that comes nearest to the camera.

    Parameters
    ----------
    scene : Scene
        Camera and lenses; None without glasses.
    emitter : Emitter
        Which.
    index : int
        Which lens, 0 the sitter's right.
    """
    if scene.lenses is None:
        return None
    start = emitter.shining_middle()
    flat = _inside(scene, index)
    points, normals = _front(scene, flat, index)
    arriving = normalize(points - start)
    leaving = reflect(arriving, normal=normals)
    towards = normalize(scene.camera - points)
    in_front = dot(arriving, normals) < 0
    if not in_front.any():
        return None
    best = int(np.argmax(np.where(in_front, dot(leaving, towards), -1.0)))
    return _section(scene, emitter, index=index, flat=flat[best], start=start)


def _section(
    scene: Scene, emitter: Emitter, *, index: int, flat: FloatArray, start: FloatArray
) -> LensSection:
    (point,), (normal,) = _front(scene, flat[None], index)
    arriving = normalize(point - start)
    leaving = reflect(arriving, normal=normal)
    along = leaving - dot(leaving, normal) * normal
    if np.linalg.norm(along) < _FLAT:  # straight back: any plane will do
        along = np.cross(normal, (0.0, 0.0, 1.0))
    along = normalize(along)
    towards = scene.camera - point
    reach = float(towards @ towards) / max(float(leaving @ towards), 0.2)
    end = point + reach * leaving
    front, back = _cut(scene, flat, index=index, along=along, point=point, normal=normal)

    def page(vector: FloatArray) -> tuple[float, float]:
        flat_vector = np.array([vector @ along, vector @ normal])
        unit = flat_vector / max(float(np.hypot(*flat_vector)), _FLAT)
        return float(unit[0]), float(unit[1])

    return LensSection(
        source=emitter.name,
        start=_vec3(start),
        lens=_vec3(point),
        end=_vec3(end),
        angle_in_deg=_angle_deg(-arriving, normal),
        angle_out_deg=_angle_deg(leaving, normal),
        arriving=page(-arriving),
        leaving=page(leaving),
        towards_camera=page(towards),
        misses_m=float(np.linalg.norm(end - scene.camera)),
        over_m=float(end[2] - scene.camera[2]),
        front=front,
        back=back,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class MirroredSpread:
    """Rays from the camera, mirrored by the front along the upright middle line of a lens.

    Attributes
    ----------
    points, directions : (n, 3) arrays
        Where they leave the lens, lowest first [m], and the way they go [-]; world.
    opening_deg : float
        Angle between the first and the last. [deg]
    """

    points: FloatArray
    directions: FloatArray
    opening_deg: float


def mirrored_spread(scene: Scene, *, index: int = 0, count: int = 9) -> MirroredSpread | None:
    """Return where the upright middle line of a lens mirrors the camera's view to.

    Parameters
    ----------
    scene : Scene
        Camera and lenses; None without glasses.
    index : int
        Which lens, 0 the sitter's right.
    count : int
        How many rays.
    """
    lenses = scene.lenses
    if lenses is None:
        return None
    high = np.linspace(-lenses.half_height, lenses.half_height, _FINE)
    inside = high[lens_margin(np.zeros_like(high), high, lens=lenses) >= 0]
    z = np.linspace(inside[0], inside[-1], count)
    points, normals = _front(scene, np.stack([np.zeros_like(z), z], axis=-1), index)
    directions = reflect(normalize(points - scene.camera), normal=normals)
    return MirroredSpread(
        points=points,
        directions=directions,
        opening_deg=_angle_deg(directions[0], directions[-1]),
    )


def _inside(scene: Scene, index: int) -> FloatArray:
    """Return places within a lens's outline, (n, 2), boxed frame. [m]"""
    lenses = scene.lenses
    assert lenses is not None
    steps = np.linspace(-1.0, 1.0, _FINE)
    x, z = np.meshgrid(steps * lenses.half_width, steps * lenses.half_height)
    inside = lens_margin(x, z, lens=lenses) >= 0
    return np.stack([x[inside], z[inside]], axis=-1)


def _front(scene: Scene, flat: FloatArray, index: int) -> tuple[FloatArray, FloatArray]:
    """Return points on the front (n, 3) [m] and its uprights there (n, 3), world."""
    lenses = scene.lenses
    assert lenses is not None
    curvature, axes = lenses.front_curvature[index], lenses.boxed_axes[index]
    boxed = front_point(flat[:, 0], flat[:, 1], curvature=curvature)
    normals = (curvature * boxed + (0.0, 1.0, 0.0)) @ axes.T
    return to_world(boxed, origin=lenses.boxed_origin[index], axes=axes), normals


def _cut(
    scene: Scene,
    flat: FloatArray,
    *,
    index: int,
    along: FloatArray,
    point: FloatArray,
    normal: FloatArray,
) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[float, float], ...]]:
    """Return front and back along a line over the lens, on the page of the section. [m]"""
    lenses = scene.lenses
    assert lenses is not None
    way = (along @ lenses.boxed_axes[index])[[0, 2]]
    way = way / max(float(np.hypot(*way)), _FLAT)
    steps = np.linspace(-_HALF_CUT_M, _HALF_CUT_M, _CUT_POINTS)
    line = flat + steps[:, None] * way
    line = line[lens_margin(line[:, 0], line[:, 1], lens=lenses) >= 0]
    front, _ = _front(scene, line, index)
    axes, origin = lenses.optical_axes[index], lenses.optical_origin[index]
    inwards = np.broadcast_to((0.0, -1.0, 0.0), front.shape)
    depth = intersect_toric(
        (front - origin) @ axes,
        inwards,
        curvature_a=lenses.back_curvature_a[index],
        curvature_b=lenses.back_curvature_b[index],
        axis_angle=lenses.back_axis[index],
        vertex_y=-lenses.thickness_m[index],
    )
    back = front - depth[:, None] * axes[:, 1]
    return _on_page(front, point, along, normal), _on_page(back, point, along, normal)


def _on_page(
    world: FloatArray, point: FloatArray, along: FloatArray, normal: FloatArray
) -> tuple[tuple[float, float], ...]:
    away = world - point
    return tuple((float(x), float(y)) for x, y in zip(away @ along, away @ normal, strict=True))


def _angle_deg(one: FloatArray, other: FloatArray) -> float:
    across = float(np.linalg.norm(np.cross(one, other)))
    return float(np.rad2deg(np.arctan2(across, float(one @ other))))


def _vec3(point: FloatArray) -> Vec3:
    return (float(point[0]), float(point[1]), float(point[2]))
