"""From each light to the lens and on: into the camera, or past it, and by how much?

Where a light shows in a lens that is not clear, the ray is taken that the
camera sees nearest to the light's middle, over the eye if it shows there.
Else the ray from the light's middle is mirrored at the place of a lens front
whose slope comes closest to what would send it into the camera, and followed
past it.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapemark.analysis import Emitter, LensGlare, LensView, Scene, Surface, view_lenses
from tapemark.analysis.glare import CLEAR_VEIL
from tapemark.anatomy import SIDES, lens_margin
from tapemark.geometry import FloatArray, Vec3, dot, normalize, to_local, to_world
from tapemark.optics import front_point, reflect
from tapemark.units import UnitSystem, format_length

_COLUMNS, _ROWS = 41, 31  # lattice on which a light's reflection is looked for
_FINE = 141  # places tried across a lens for the ray that passes closest
#: A reflection is over the eye from this veil on, as in the verdict.
OVER_EYE_VEIL = CLEAR_VEIL

Goes = Literal["over the eye", "beside the eye", "past"]


@dataclass(frozen=True, kw_only=True, slots=True)
class LightRay:
    """One ray from a light over a lens.

    Attributes
    ----------
    source : str
        Name of the emitter.
    side : str
        Which of the sitter's lenses it meets, ``right`` or ``left``.
    surface : str
        Which surface mirrors it, ``front`` or ``back``.
    start, lens, end : points
        On the light, on the lens, and where the ray goes: the camera, or
        level with the camera. World. [m]
    goes : str
        Into the camera, ``over the eye`` or ``beside the eye``, or ``past``.
    over_m, aside_m : float
        How far above the camera, and to camera-left of it, it passes. [m]
    ends_on : str
        ``floor``, ``ceiling`` or ``wall`` where a passing ray meets one
        before it is level with the camera; else empty.
    """

    source: str
    side: Literal["right", "left"]
    surface: Surface
    start: Vec3
    lens: Vec3
    end: Vec3
    goes: Goes
    over_m: float
    aside_m: float
    ends_on: str = ""


def glare_rays(scene: Scene, *, lenses: tuple[LensGlare, ...]) -> tuple[LightRay, ...]:
    """Return one ray for each light and bounce, and for whatever else shows in a lens.

    Parameters
    ----------
    scene : Scene
        A scene; without glasses there are no rays.
    lenses : tuple of LensGlare
        What each lens shows.
    """
    if scene.lenses is None:
        return ()
    view = view_lenses(scene, scene.lenses, columns=_COLUMNS, rows=_ROWS)
    bounced = {
        name for one in scene.emitters if one.kind in {"ceiling", "wall"} for name in one.fed_by
    }
    found = []
    for emitter in scene.emitters:
        shown = _showing(scene, view, emitter, lenses)
        if shown is not None:
            found.append(shown)
        elif emitter.kind in {"light", "ceiling", "wall"} and emitter.name not in bounced:
            passing = _passing(scene, emitter)
            found += [] if passing is None else [passing]
    return tuple(found)


def _showing(
    scene: Scene, view: LensView, emitter: Emitter, lenses: tuple[LensGlare, ...]
) -> LightRay | None:
    """Return the ray by which an emitter shows most, if it shows in a lens that is not clear."""
    shown = [
        (part.veil, part.lens_cover, lens.side, part.surface)
        for lens in lenses
        if lens.verdict != "clear"
        for part in lens.reflections
        if part.source == emitter.name
    ]
    for veil, _cover, side, surface in sorted(shown, reverse=True):
        goes: Goes = "over the eye" if veil >= OVER_EYE_VEIL else "beside the eye"
        ray = _ray_seen(scene, view, emitter, index=SIDES.index(side), surface=surface, goes=goes)
        if ray is not None:
            return ray
    return None


def _ray_seen(
    scene: Scene, view: LensView, emitter: Emitter, *, index: int, surface: Surface, goes: Goes
) -> LightRay | None:
    """Return the ray that the camera sees nearest to an emitter's middle, in one surface."""
    rays = view.reflected[surface]
    origins, directions = rays.origins[index], rays.directions[index]
    hits = emitter.face.hits(origins, directions)
    seen = np.isfinite(hits.distance) & (rays.weight[index] > 0) & (view.solid_angle[index] > 0)
    seen &= ~_behind_another(
        scene, emitter, origins=origins, directions=directions, distance=hits.distance
    )
    if goes == "over the eye" and (seen & (view.opening[index] > 0)).any():
        seen &= view.opening[index] > 0
    if not seen.any():
        return None
    at = origins + np.nan_to_num(hits.distance)[..., None] * directions
    away = np.where(seen, np.linalg.norm(at - emitter.shining_middle(), axis=-1), np.inf)
    place = np.unravel_index(int(np.argmin(away)), away.shape)
    return LightRay(
        source=emitter.name,
        side=SIDES[index],
        surface=surface,
        start=_vec3(at[place]),
        lens=_vec3(view.points[index][place]),
        end=_vec3(scene.camera),
        goes=goes,
        over_m=0.0,
        aside_m=0.0,
    )


def _behind_another(
    scene: Scene,
    emitter: Emitter,
    *,
    origins: FloatArray,
    directions: FloatArray,
    distance: FloatArray,
) -> np.ndarray:
    """Return which rays meet another emitter first."""
    hidden = np.zeros(distance.shape, dtype=bool)
    for other in scene.emitters:
        if other is not emitter and other.name not in emitter.fed_by:
            with np.errstate(invalid="ignore"):
                hidden |= other.face.hits(origins, directions).distance < distance - 1e-6
    return hidden


def _passing(scene: Scene, emitter: Emitter) -> LightRay | None:
    """Return the ray from an emitter's middle that passes the camera most closely.

    None for a light behind the lenses, or one that the head hides from there.
    """
    middle = emitter.shining_middle()
    both = (_closest(scene, middle, index=index) for index in (0, 1))
    best = min((one for one in both if one is not None), key=lambda one: one[0], default=None)
    if best is None:
        return None
    _angle, index, point, along = best
    towards = normalize(scene.camera - point)
    reach = float(dot(scene.camera - point, towards) / max(float(dot(along, towards)), 0.2))
    ends_on, within = _room_end(scene, point, along)
    ends_on, reach = (ends_on, within) if within < reach else ("", reach)
    end = point + reach * along
    miss = end - scene.camera
    right = np.array([towards[1], -towards[0]]) / np.hypot(towards[0], towards[1])
    return LightRay(
        source=emitter.name,
        side=SIDES[index],
        surface="front",
        start=_vec3(middle),
        lens=_vec3(point),
        end=_vec3(end),
        goes="past",
        over_m=float(miss[2]),
        aside_m=float(miss[:2] @ right),
        ends_on=ends_on,
    )


def _room_end(scene: Scene, point: FloatArray, along: FloatArray) -> tuple[str, float]:
    """Return what of the room a ray meets first, and how far along it [m]."""
    room = scene.setup.room
    low = np.array([room.x_min_m, room.y_min_m, 0.0])
    high = np.array([room.x_max_m, room.y_max_m, room.height_m])
    with np.errstate(divide="ignore"):
        reach = np.where(along > 0, high - point, low - point) / along
    axis = int(np.argmin(reach))
    name = "wall" if axis < 2 else "ceiling" if along[2] > 0 else "floor"
    return name, float(reach[axis])


def _closest(
    scene: Scene, middle: FloatArray, *, index: int
) -> tuple[float, int, FloatArray, FloatArray] | None:
    """Return, for one lens, how closely a ray passes the camera (1 - cos), and the ray."""
    lenses = scene.lenses
    assert lenses is not None
    steps = np.linspace(-1.0, 1.0, _FINE)
    x, z = np.meshgrid(steps * lenses.half_width, steps * lenses.half_height)
    inside = lens_margin(x, z, lens=lenses) >= 0
    curvature = lenses.front_curvature[index]
    boxed = front_point(x[inside], z[inside], curvature=curvature)
    axes, origin = lenses.boxed_axes[index], lenses.boxed_origin[index]
    normal = (curvature * boxed + (0.0, 1.0, 0.0)) @ axes.T
    points = to_world(boxed, origin=origin, axes=axes)
    arriving = normalize(points - middle)
    along = reflect(arriving, normal=normal)
    from_front = dot(arriving, normal) < 0
    if not from_front.any():
        return None
    aligned = np.where(from_front, dot(along, normalize(scene.camera - points)), -1.0)
    best = int(np.argmax(aligned))
    pose = scene.pose
    start = to_local(points[best], origin=pose.origin, axes=pose.axes)
    if scene.head.blocks(start, -arriving[best] @ pose.axes):
        return None
    return float(1.0 - aligned[best]), index, points[best], along[best]


def ray_words(ray: LightRay, *, system: UnitSystem) -> str:
    """Return in words where a ray goes.

    Notes
    -----
    Of a ray that passes, the larger of both misses is told: a photographer
    moves one thing at a time.
    """
    if ray.goes != "past":
        return f"into the camera, {ray.goes}"
    if ray.ends_on:
        return f"goes to the {ray.ends_on}"
    if abs(ray.over_m) >= abs(ray.aside_m):
        way = "over" if ray.over_m > 0 else "under"
        return f"passes {format_length(abs(ray.over_m), system=system)} {way} the camera"
    side = "camera-left" if ray.aside_m > 0 else "camera-right"
    return f"passes {format_length(abs(ray.aside_m), system=system)} to {side}"


def _vec3(point: FloatArray) -> Vec3:
    return (float(point[0]), float(point[1]), float(point[2]))
