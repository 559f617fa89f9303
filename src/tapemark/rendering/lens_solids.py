r"""Spectacle lenses as closed solids for the path tracer.

The solids are meshes of the front (a sphere), the back (a sphere or torus) and the edge between
them, cut at the outline. Their points and normals come from closed forms that are written here
on their own: nothing of the lens tracing of the analyses is used, so that a picture is a second
opinion. With cells of 0.3 to 0.7 mm the facets lie a micrometre inside the true surface.

        front (sphere)   ____
                       /      \      optical frame: origin on the front at the
        edge          |        |      optical centre, y outward
        back (torus)    \__  __/

Where no rim holds a lens its edge is bevelled: a strip along the outline, front and back, neither
mirrors nor is looked through. How wide it is, is asked for as `bare_edge_m`, above and below.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import LensStack
from tapemark.geometry import FloatArray, superellipse_margin, superellipse_points
from tapemark.rendering.meshes import Mesh, grid_triangles

AROUND, OUTWARDS = 160, 56  # cells of a surface: around the outline, from middle to edge
NEWTON_STEPS = 8

BareEdge = tuple[float, float]  # widths of the strip along the outline, above and below [m]
HELD_BY_A_RIM: BareEdge = (0.0, 0.0)
LOWER_EDGE = -0.2  # upward part of the way out below which an edge is the lower one
STEPS_M = 1e-5 * np.eye(2)
_Depth = tuple[FloatArray, FloatArray, FloatArray]  # depth, and its slopes along x and z


@dataclass(frozen=True, kw_only=True, eq=False)
class LensSolid:
    """One lens: front, back and the edge between them, world."""

    front: Mesh
    back: Mesh
    edge: Mesh


@dataclass(frozen=True, kw_only=True, eq=False)
class ThroughRays:
    """Camera rays after a lens; leading axes as those of the rays.

    Attributes
    ----------
    origins, directions : (..., 3) arrays
        Where they leave the back [m] and their unit directions [-], world; NaN for a miss.
    passed : (...) array
        Share of luminance that both surfaces let through. [-]
    at_edge : (...) bool array
        Which of them end at the edge of the lens: they meet it, or the back mirrors them there.
    """

    origins: FloatArray
    directions: FloatArray
    passed: FloatArray
    at_edge: np.ndarray


def lens_solid(
    lenses: LensStack, *, index: int, bare_edge_m: BareEdge = HELD_BY_A_RIM
) -> LensSolid:
    """Return one lens of a stack as meshes in the world. [m]"""
    flat = _spread(lenses, bare_edge_m)
    depth, slope_x, slope_z = _ball_depth(flat, lenses.front_curvature[index])
    axes, origin = lenses.boxed_axes[index], lenses.boxed_origin[index]
    front = _surface(flat, depth, (slope_x, slope_z), axes=axes, origin=origin)
    axes, origin = lenses.optical_axes[index], lenses.optical_origin[index]
    optical = ((front.points - origin) @ axes)[:, [0, 2]]
    depth, slope_x, slope_z = _torus_depth(optical, lenses, index)
    back = _surface(
        optical, depth + lenses.thickness_m[index], (slope_x, slope_z), axes=axes, origin=origin
    ).flipped()
    edge = _edge(front, back, bevelled=max(bare_edge_m) > 0.0)
    return LensSolid(front=front, back=back, edge=edge)


def look_through(
    camera: FloatArray,
    directions: FloatArray,
    *,
    lenses: LensStack,
    index: int,
    bare_edge_m: BareEdge = HELD_BY_A_RIM,
) -> ThroughRays:
    """Return where camera rays leave the back of one lens.

    Parameters
    ----------
    camera : (3,) array
        Where they start, world. [m]
    directions : (..., 3) array
        Unit directions, world. [-]
    lenses, index
        The stack, and which lens of it.
    bare_edge_m : two floats
        Widths of a bevelled edge above and below. [m]
    """
    axes, origin = lenses.optical_axes[index], lenses.optical_origin[index]
    start, along = (camera - origin) @ axes, directions @ axes
    curvature, glass = lenses.front_curvature[index], float(lenses.index[index])
    at_front, normal = _meet(start, along, lambda flat: _ball_depth(flat, curvature))
    cosine_in = np.abs((along * normal).sum(axis=-1))
    inside = _bend(along, normal, ratio=1.0 / glass)
    thick = float(lenses.thickness_m[index])

    def back_depth(flat: FloatArray) -> _Depth:
        depth, slope_x, slope_z = _torus_depth(flat, lenses, index)
        return depth + thick, slope_x, slope_z

    at_back, normal = _meet(at_front, inside, back_depth)
    cosine_out = np.abs((inside * normal).sum(axis=-1))
    out = _bend(inside, normal, ratio=glass)
    passed = (1.0 - _mirrored(cosine_in, 1.0, glass, lenses.coating_reflectance)) * (
        1.0 - _mirrored(cosine_out, glass, 1.0, lenses.coating_reflectance)
    )
    entering, leaving = (one @ axes.T + origin for one in (at_front, at_back))
    with np.errstate(invalid="ignore"):
        within = np.isfinite(out[..., 0])
        for world in (entering, leaving):
            boxed = (world - lenses.boxed_origin[index]) @ lenses.boxed_axes[index]
            within &= _within_outline(boxed, lenses, bare_edge_m)
    return ThroughRays(
        origins=leaving,
        directions=out @ axes.T,
        passed=np.asarray(passed),
        at_edge=~within,
    )


def front_distance(
    camera: FloatArray, directions: FloatArray, *, lenses: LensStack, index: int
) -> FloatArray:
    """Return how far along camera rays the front of a lens lies [m]; NaN beside its outline."""
    axes, origin = lenses.boxed_axes[index], lenses.boxed_origin[index]
    start, along = (camera - origin) @ axes, directions @ axes
    curvature = float(lenses.front_curvature[index])
    # On the ball y + c |p|²/2 = 0; written so that c may be 0.
    square = curvature
    half = along[..., 1] + curvature * (along @ start)
    constant = 2.0 * start[1] + curvature * float(start @ start)
    with np.errstate(invalid="ignore", divide="ignore"):
        root = np.sqrt(half**2 - square * constant)
        distance = constant / (-half + root)
        point = start + distance[..., None] * along
        within = _within_outline(point, lenses)
        return np.where(within & (along[..., 1] < 0.0), distance, np.nan)


def _within_outline(
    boxed: FloatArray, lenses: LensStack, bare_edge_m: BareEdge = HELD_BY_A_RIM
) -> np.ndarray:
    """Return which points of the boxed frame lie within the outline of a lens, (...).

    A strip along it does not count where its edge is bare.
    """
    flat = boxed[..., [0, 2]]
    return np.asarray(_margin(flat, lenses) > _bare_width(flat, lenses, bare_edge_m))


def _margin(flat: FloatArray, lenses: LensStack) -> FloatArray:
    """Return how far within the outline of a lens places (x, z) of the boxed frame lie. [m]"""
    squareness, taper = lenses.outline_shape
    return superellipse_margin(
        flat,
        half_width=lenses.half_width,
        half_height=lenses.half_height,
        exponent=squareness,
        taper=taper,
    )


def _outwards(flat: FloatArray, lenses: LensStack) -> FloatArray:
    """Return the way from places (x, z) to the outline, (..., 2) [-]."""
    away = np.stack([_margin(flat - one, lenses) - _margin(flat + one, lenses) for one in STEPS_M])
    away = np.moveaxis(away, 0, -1)
    return np.asarray(away / np.maximum(np.linalg.norm(away, axis=-1, keepdims=True), 1e-12))


def _bare_width(flat: FloatArray, lenses: LensStack, bare_edge_m: BareEdge) -> FloatArray:
    """Return how wide the bare edge is that places (x, z) are nearest to. [m]"""
    if bare_edge_m[0] == bare_edge_m[1]:
        return np.full(flat.shape[:-1], bare_edge_m[0])
    return np.where(_outwards(flat, lenses)[..., 1] > LOWER_EDGE, *bare_edge_m)


def square_on_reflectance(index: float) -> float:
    """Return what a bare surface mirrors square on, ((n - 1)/(n + 1))². [-]"""
    return ((index - 1.0) / (index + 1.0)) ** 2


def _meet(
    start: FloatArray, along: FloatArray, depth_of: Callable[[FloatArray], _Depth]
) -> tuple[FloatArray, FloatArray]:
    """Return where rays meet a surface y = -depth(x, z), and its normal there (Newton)."""
    reach = -start[..., 1] / along[..., 1]
    with np.errstate(invalid="ignore"):
        for _ in range(NEWTON_STEPS):
            point = start + reach[..., None] * along
            depth, slope_x, slope_z = depth_of(point[..., [0, 2]])
            above = point[..., 1] + depth
            rate = along[..., 1] + slope_x * along[..., 0] + slope_z * along[..., 2]
            reach = reach - above / rate
        point = start + reach[..., None] * along
        _, slope_x, slope_z = depth_of(point[..., [0, 2]])
        normal = np.stack([slope_x, np.ones_like(slope_x), slope_z], axis=-1)
        return point, normal / np.linalg.norm(normal, axis=-1, keepdims=True)


def _bend(along: FloatArray, normal: FloatArray, *, ratio: float) -> FloatArray:
    """Return refracted directions of rays that run against outward normals (Snell)."""
    cosine = -(along * normal).sum(axis=-1)
    with np.errstate(invalid="ignore"):
        after = np.sqrt(1.0 - ratio**2 * (1.0 - cosine**2))
    return np.asarray(ratio * along + (ratio * cosine - after)[..., None] * normal)


def _mirrored(
    cosine: FloatArray, index_from: float, index_to: float, coating: float | None
) -> FloatArray:
    """Return the reflectance of a surface for unpolarised light (Fresnel), coated or bare."""
    sine = index_from / index_to * np.sqrt(np.maximum(1.0 - cosine**2, 0.0))
    after = np.sqrt(np.maximum(1.0 - sine**2, 0.0))
    across = (index_from * cosine - index_to * after) / (index_from * cosine + index_to * after)
    within = (index_to * cosine - index_from * after) / (index_to * cosine + index_from * after)
    bare = (across**2 + within**2) / 2.0
    if coating is None:
        return np.asarray(bare)
    return np.asarray(np.minimum(bare * coating / square_on_reflectance(index_from / index_to), 1))


def _spread(lenses: LensStack, bare_edge_m: BareEdge) -> FloatArray:
    """Return places (x, z) in the boxed frame: rings from the middle to the outline. [m]

    The last ring is the outline; that before it ends what mirrors and is looked through.
    """
    squareness, taper = lenses.outline_shape
    outline = superellipse_points(
        AROUND,
        half_width=lenses.half_width,
        half_height=lenses.half_height,
        exponent=squareness,
        taper=taper,
    )
    bare = _bare_width(outline, lenses, bare_edge_m)[:, None] * _outwards(outline, lenses)
    rings = np.arange(OUTWARDS + 1) / OUTWARDS
    within = rings[:, None, None] * (outline - bare)
    return np.concatenate([within.reshape(-1, 2), outline])


def _surface(
    flat: FloatArray,
    depth: FloatArray,
    slopes: tuple[FloatArray, FloatArray],
    *,
    axes: FloatArray,
    origin: FloatArray,
) -> Mesh:
    """Return a surface y = -depth over places of a frame, its outer side towards +y."""
    normals = np.stack([slopes[0], np.ones_like(depth), slopes[1]], axis=-1)
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    points = np.stack([flat[:, 0], -depth, flat[:, 1]], axis=-1)
    triangles = grid_triangles(OUTWARDS + 1, AROUND, closed=True)
    return Mesh(points=points @ axes.T + origin, triangles=triangles, normals=normals @ axes.T)


def _ball_depth(flat: FloatArray, curvature: float) -> _Depth:
    """Return depth and slopes of a ball below its foremost point."""
    x, z = flat[..., 0], flat[..., 1]
    with np.errstate(invalid="ignore"):
        root = np.sqrt(1.0 - curvature**2 * (x * x + z * z))
    depth = curvature * (x * x + z * z) / (1.0 + root)
    return depth, curvature * x / root, curvature * z / root


def _torus_depth(flat: FloatArray, lenses: LensStack, index: int) -> _Depth:
    """Return depth and slopes of the torus that a circle makes, turned about a line.

    The circle (curvature b, in the plane of v) lies at r(v) = 1/a - s_v from the line; at u
    the surface is s = 1/a - sqrt(r² - u²) deep. Multiplied by a, so that a may be 0.
    """
    a, b = lenses.back_curvature_a[index], lenses.back_curvature_b[index]
    turn = lenses.back_axis[index]
    x, z = flat[..., 0], flat[..., 1]
    u, v = x * np.cos(turn) + z * np.sin(turn), z * np.cos(turn) - x * np.sin(turn)
    with np.errstate(invalid="ignore"):
        circle = np.sqrt(1.0 - (b * v) ** 2)
        depth_v = b * v * v / (1.0 + circle)
        from_line = 1.0 - a * depth_v
        root = np.sqrt(from_line**2 - (a * u) ** 2)
    depth = (2.0 * depth_v - a * depth_v**2 + a * u * u) / (1.0 + root)
    slope_u, slope_v = a * u / root, b * v / circle * from_line / root
    slope_x = slope_u * np.cos(turn) - slope_v * np.sin(turn)
    return depth, slope_x, slope_u * np.sin(turn) + slope_v * np.cos(turn)


def _edge(front: Mesh, back: Mesh, *, bevelled: bool) -> Mesh:
    rings = [front.points[-AROUND:], back.points[-AROUND:]]
    if bevelled:
        inner = slice(-2 * AROUND, -AROUND)
        rings = [front.points[inner], *rings, back.points[inner]]
    points = np.concatenate(rings)
    triangles = grid_triangles(len(rings), AROUND, closed=True)
    middle = points.mean(axis=0)
    corners = points[triangles]
    facets = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    outwards = (facets * (corners.mean(axis=1) - middle)).sum(axis=-1)
    return Mesh(points=points, triangles=triangles if outwards.sum() > 0 else triangles[:, ::-1])
