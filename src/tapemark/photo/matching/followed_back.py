"""Reflections followed back from the picture to the faces of what shines in the room.

For a fit of head, camera and glasses each point of a reflection is a ray: camera, lens, mirrored
in front or in back, out into the room.  Where it meets the plane of a light is compared with the
edges of that light's face.  The difference is told on the lens, in millimetres: how far the
reflection reaches beyond where the edge of the light should show.

          face of the light            what the rays meet
        .-------------------.
        |     . - - - - - - | - - .
        |     '             |     '   beyond here: excess > 0
        |     ' - - - - - - | - - '
        '-------------------'
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import Emitter, FlatFace
from tapemark.analysis.lens_view import lens_optics
from tapemark.anatomy import LensStack, lens_margin
from tapemark.geometry import FloatArray, dot, to_local, to_world, turn_to_local, turn_to_world
from tapemark.optics import intersect_spherical, trace_lens
from tapemark.photo.matching.photo_camera import PhotoCamera
from tapemark.photo.matching.seen_regions import AT_RIM_MM, SeenRegion
from tapemark.units import MM

EDGE_SHARE = 0.04  # of the points around a reflection may stick out of it
NEAR_EDGE_SHARE = 0.14  # of them make its edge
LEAST_MET = 0.6  # of the points around a reflection have to meet the plane of a light
#: Rays that miss a light by more are never its own: lenses are not so far off. [rad]
FAR_BESIDE = float(np.deg2rad(32.0))
LIT_SHARE = 0.4  # of the brightest: what of a lit wall counts as shining


@dataclass(frozen=True, kw_only=True, eq=False)
class Rays:
    """Rays into the room; axes (surface, reflection, point).

    Attributes
    ----------
    origins, directions : (2, n, points, 3) arrays
        World. [m], [-]
    weight : (2, n, points) array
        Share of luminance carried. [-]
    on_lens : (n, points, 2) array
        Where the camera sees them leave the front, boxed frame: across and up. [mm]
    beside_mm : (2, n, points) array
        How far from there they really leave it: those of the back, on their way through the
        glass, come out some way beside. [mm]
    to_rim_mm : (2, n, points) array
        How far inside the edge of the lens they leave it. [mm]
    """

    origins: FloatArray
    directions: FloatArray
    weight: FloatArray
    on_lens: FloatArray
    beside_mm: FloatArray
    to_rim_mm: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Shining:
    """The part of an emitter that shines, as a box in its plane.

    Attributes
    ----------
    emitter : Emitter
        What it is.
    center, axes : (3,), (3, 3) arrays
        Middle of the box, world [m]; columns along its width, the way it emits, its height.
    half : (2,) array
        Half its width and height. [m]
    soft : float
        How far its edges may be off, as a share of half its size. [-]
    """

    emitter: Emitter
    center: FloatArray
    axes: FloatArray
    half: FloatArray
    soft: float

    def moved(self, center: FloatArray, axes: FloatArray) -> Shining:
        """Return it elsewhere."""
        return Shining(
            emitter=self.emitter, center=center, axes=axes, half=self.half, soft=self.soft
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Excess:
    """How reflections lie to where one emitter should show; axes (surface, reflection, edge).

    Attributes
    ----------
    mm : (2, n, 4) array
        By how much a reflection reaches beyond each edge of the face, on the lens; NaN where its
        rays do not meet the plane of the face. [mm]
    size_mm : (2, n, 2) array
        Size of each reflection on the lens along width and height of the face. [mm]
    cut : (2, n, 4) bool array
        Which edges may be cut off by the rim.
    vague : (2, n, 4) bool array
        Which edges may be cut off by what the reading takes for the eye.
    added_stops : (2, n) array
        Light that it should add over lit skin. [stops]
    """

    mm: FloatArray
    size_mm: FloatArray
    cut: np.ndarray
    vague: np.ndarray
    added_stops: FloatArray


def rays_of(regions: tuple[SeenRegion, ...], *, camera: PhotoCamera, lenses: LensStack) -> Rays:
    """Return the rays of the points around each reflection, its middle last."""
    pixels = np.stack([np.vstack([one.points, one.center]) for one in regions])
    which = np.array([one.lens for one in regions])
    stack = _of_each(lenses, which)
    place = {
        "origin": lenses.optical_origin[which][:, None, :],
        "axes": lenses.optical_axes[which][:, None, :, :],
    }
    start = to_local(camera.position, **place)
    along = turn_to_local(camera.directions(pixels), axes=place["axes"])
    start = np.broadcast_to(start, along.shape)
    away = intersect_spherical(start, along, curvature=stack.front_curvature[:, None])
    points = start + away[..., None] * along
    paths = trace_lens(start, points, lens=lens_optics(stack, trailing=1))
    both = (paths.front, paths.back)
    box = {
        "origin": lenses.boxed_origin[which][:, None, :],
        "axes": lenses.boxed_axes[which][:, None, :, :],
    }
    boxed = to_local(to_world(points, **place), **box)
    origins = np.stack([to_world(one.origins, **place) for one in both])
    left_at = to_local(origins, **box)
    return Rays(
        origins=origins,
        directions=np.stack([turn_to_world(one.directions, axes=place["axes"]) for one in both]),
        weight=np.stack([one.weight for one in both]),
        on_lens=boxed[..., (0, 2)] / MM,
        beside_mm=np.stack(
            [np.linalg.norm(np.nan_to_num(one.origins - points), axis=-1) for one in both]
        )
        / MM,
        to_rim_mm=lens_margin(left_at[..., 0], left_at[..., 2], lens=lenses) / MM,
    )


def shining_box(emitter: Emitter) -> Shining:
    """Return the part of an emitter that shines; nearly all of a light, the spot of a wall."""
    face = emitter.face
    if isinstance(face, FlatFace):
        half = np.array([face.width_m, face.height_m]) / 2
    else:
        half = np.full(2, face.diameter_m / 2)
    if emitter.lit_map is None:
        return Shining(emitter=emitter, center=face.center, axes=face.axes, half=half, soft=0.0)
    lit = emitter.lit_map > LIT_SHARE * emitter.lit_map.max()
    count = len(lit)
    limits = []
    for axis, size in ((0, half[0]), (1, half[1])):
        at = np.flatnonzero(lit.any(axis=axis))
        limits.append((np.array([at[0], at[-1] + 1]) / count * 2.0 - 1.0) * size)
    across, up = limits
    middle = across.mean() * face.axes[:, 0] + up.mean() * face.axes[:, 2]
    box = np.array([np.ptp(across), np.ptp(up)]) / 2
    return Shining(emitter=emitter, center=face.center + middle, axes=face.axes, half=box, soft=0.3)


def excess_of(
    rays: Rays, regions: tuple[SeenRegion, ...], shining: Shining, *, skin: FloatArray
) -> Excess:
    """Return how each reflection lies to where an emitter should show, by either surface.

    Parameters
    ----------
    rays : Rays
        Of these reflections.
    regions : tuple of SeenRegion
        The reflections.
    shining : Shining
        The emitter.
    skin : (2,) array
        Luminous exposure of lit skin at the right and the left eye. [cd·s/m²]
    """
    plane, facing = _on_plane(rays, shining)
    around, on_lens = plane[:, :, :-1], rays.on_lens[None, :, :-1]
    low, high = (_part(around, share) for share in (EDGE_SHARE, 1.0 - EDGE_SHARE))
    beyond = np.stack([-shining.half - low, high - shining.half], axis=-1)
    scale = _mm_per_m(around, on_lens)
    mm = (beyond * scale[..., None]).reshape(*beyond.shape[:2], 4)
    edges = _edge_points(around)
    to_rim = np.stack([one.to_rim_mm for one in regions])
    at_rim = to_rim < AT_RIM_MM + rays.beside_mm[..., :-1]  # of the lens as it was read
    at_rim |= rays.to_rim_mm[..., :-1] < AT_RIM_MM  # and as it was fitted
    at_rim = at_rim[:, :, None, :]
    at_opening = np.stack([one.at_opening for one in regions])[None, :, None, :]
    count = np.maximum(edges.sum(axis=-1), 1)
    mm = np.where(np.isfinite(mm) & (facing > LEAST_MET)[..., None], mm, np.nan)
    which = np.array([one.lens for one in regions])
    return Excess(
        mm=mm,
        size_mm=(high - low) * scale,
        cut=(edges & at_rim).sum(axis=-1) > 0.4 * count,
        vague=(edges & at_opening).sum(axis=-1) > 0.4 * count,
        added_stops=_added_stops(rays, shining, skin=skin[which]),
    )


def where_met(rays: Rays, *, surface: int, region: int, distance_m: float) -> FloatArray | None:
    """Return where the middle of a reflection shows what is so far from the mark, (3,) [m].

    None where its ray does not get there.
    """
    start = rays.origins[surface, region, -1]
    along = rays.directions[surface, region, -1]
    square = float(along[0] ** 2 + along[1] ** 2)
    half = float(start[0] * along[0] + start[1] * along[1])
    rest = float(start[0] ** 2 + start[1] ** 2) - distance_m**2
    root = half * half - square * rest
    if not np.isfinite(root) or root < 0.0 or square < 1e-6:
        return None
    reach = (-half + np.sqrt(root)) / square
    return np.asarray(start + reach * along) if reach > 0.0 else None


def _of_each(lenses: LensStack, which: np.ndarray) -> LensStack:
    arrays = (
        *("outward", "optical_origin", "optical_axes", "boxed_origin", "boxed_axes"),
        *("front_curvature", "back_curvature_a", "back_curvature_b", "back_axis"),
        *("thickness_m", "index"),
    )
    return LensStack(
        **{name: getattr(lenses, name)[which] for name in arrays},
        coating_reflectance=lenses.coating_reflectance,
        tint_transmission=lenses.tint_transmission,
        half_width=lenses.half_width,
        half_height=lenses.half_height,
        outline_shape=lenses.outline_shape,
    )


def _on_plane(rays: Rays, shining: Shining) -> tuple[FloatArray, FloatArray]:
    """Return where rays meet a plane, (2, n, points, 2) [m], and the share that get there."""
    normal = shining.axes[:, 1]
    cosine = dot(rays.directions, normal)
    with np.errstate(divide="ignore", invalid="ignore"):
        away = dot(shining.center - rays.origins, normal) / cosine
        met = (away > 0.0) & (cosine < 0.0 if shining.emitter.back_brightness == 0.0 else True)
    met &= _beside(rays, shining) < FAR_BESIDE
    away = np.where(met, away, np.nan)
    places = rays.origins + away[..., None] * rays.directions - shining.center
    plane = np.stack([dot(places, shining.axes[:, 0]), dot(places, shining.axes[:, 2])], axis=-1)
    return plane, np.asarray(met[..., :-1].mean(axis=-1))


def _beside(rays: Rays, shining: Shining) -> FloatArray:
    """Return the angle by which rays miss the ball around an emitter, (2, n, points) [rad]."""
    span = shining.center - rays.origins
    distance = np.sqrt(dot(span, span))
    angle = np.arctan2(
        np.linalg.norm(np.cross(rays.directions, span), axis=-1), dot(rays.directions, span)
    )
    return np.asarray(angle - np.arctan2(float(np.hypot(*shining.half)), distance))


def _mm_per_m(plane: FloatArray, on_lens: FloatArray) -> FloatArray:
    """Return how large a metre of the plane shows on the lens, along width and height [mm/m].

    The map from plane to lens is taken as linear over a reflection; what is found is how fast
    the plane runs by on the lens along each of its axes.
    """
    met = np.isfinite(plane).all(axis=-1, keepdims=True)
    count = np.maximum(met.sum(axis=2, keepdims=True), 1)
    plane = np.where(met, plane, 0.0)
    lens = np.where(met, on_lens, 0.0)
    centered = np.where(met, plane - plane.sum(axis=2, keepdims=True) / count, 0.0)
    moved = np.where(met, lens - lens.sum(axis=2, keepdims=True) / count, 0.0)
    spread = np.einsum("srpi,srpj->srij", moved, moved)
    mixed = np.einsum("srpi,srpj->srij", centered, moved)
    steps = np.linalg.pinv(np.nan_to_num(spread))
    gradient = np.nan_to_num(mixed) @ steps  # of each plane axis along the lens [m/mm]
    return np.asarray(1.0 / np.maximum(np.linalg.norm(gradient, axis=-1), 1e-6))


def _part(values: FloatArray, share: float) -> FloatArray:
    """Return a quantile over points, axis 2, of those that are numbers; NaN where none is."""
    order = np.sort(values, axis=2)  # NaN comes last
    count = np.isfinite(values).sum(axis=2, keepdims=True)
    at = share * np.maximum(count - 1, 0)
    low = np.floor(at).astype(int)
    high = np.minimum(low + 1, np.maximum(count - 1, 0))
    first, second = (np.take_along_axis(order, one, axis=2) for one in (low, high))
    return np.asarray((first + (at - low) * (second - first))[:, :, 0])


def _edge_points(around: FloatArray) -> np.ndarray:
    """Return which points make each edge, (2, n, 4, points)."""
    low, high = (
        _part(around, share)[:, :, None] for share in (NEAR_EDGE_SHARE, 1.0 - NEAR_EDGE_SHARE)
    )
    with np.errstate(invalid="ignore"):
        found = np.stack([around <= low, around >= high], axis=-1)
    return np.moveaxis(found.reshape(*around.shape[:3], 4), 2, -1)


def _added_stops(rays: Rays, shining: Shining, *, skin: FloatArray) -> FloatArray:
    """Return how much light an emitter adds over lit skin, (2, n) [stops]."""
    emitter = shining.emitter
    along = rays.directions[..., -1, :]
    front = emitter.brightness
    if emitter.lit_map is not None:
        front = float(emitter.lit_map.max())
    share = 1.0 if emitter.even else emitter.relative_brightness(-along)
    from_front = dot(along, shining.axes[:, 1]) < 0.0
    bright = np.where(from_front, front * share, emitter.back_brightness)
    added = np.nan_to_num(rays.weight[..., -1]) * bright / np.maximum(skin, 1e-30)
    return np.asarray(np.log2(np.maximum(added, 1e-6)))
