"""The frame that holds the lenses: outlines, rim, bridge and temples.

The rim is a tube that follows the lens edge.  A ray that leaves the lens at a
place `margin` inside the edge passes the tube's centre line at a distance
that follows from its slope towards the edge:

            scene ^   / ray
                  |  /      (tube)
       lens ------+-/---------o---   margin from the ray to the edge

Outlines are superellipses in the boxed rectangle ([iso-8624] boxing).
"""

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy.lens import LensStack
from tapemark.anatomy.pose import HeadPose
from tapemark.geometry import FloatArray, superellipse_margin, superellipse_points, to_world
from tapemark.optics import front_point
from tapemark.studio import Glasses, Sitter
from tapemark.units import MM

EDGE_ONLY_TUBE_M = 0.6 * MM  # a bare or thread-held edge still hides a line


@dataclass(frozen=True, kw_only=True, slots=True)
class Rim:
    """How thick the rim stands around the lens.

    Attributes
    ----------
    tube_radius_m : float
        Radius of the tube along the upper edge. [m]
    lower_tube_radius_m : float
        Radius along the lower edge (smaller on half-rim frames). [m]
    """

    tube_radius_m: float
    lower_tube_radius_m: float


def rim_of(glasses: Glasses) -> Rim:
    """Return the rim of a pair of glasses [m]."""
    full = glasses.rim_width_mm * MM / 2
    upper = full if glasses.rim != "none" else EDGE_ONLY_TUBE_M
    lower = full if glasses.rim == "full" else EDGE_ONLY_TUBE_M
    return Rim(tube_radius_m=upper, lower_tube_radius_m=lower)


def bare_edge(glasses: Glasses) -> tuple[float, float]:
    """Return how wide the edge of a lens is that shows nothing for want of a rim: above, below [m].

    The tube of `rim_of` reaches half its radius in from the lens edge.
    """
    bare = 0.5 * EDGE_ONLY_TUBE_M
    return (
        bare if glasses.rim == "none" else 0.0,
        0.0 if glasses.rim == "full" else bare,
    )


def outline_margin(
    x: FloatArray,
    z: FloatArray,
    *,
    half_width: float,
    half_height: float,
    outline_shape: tuple[float, float],
) -> FloatArray:
    """Return how far inside an outline a place lies, boxed frame [m]."""
    exponent, taper = outline_shape
    return superellipse_margin(
        np.stack(np.broadcast_arrays(x, z), axis=-1),
        half_width=half_width,
        half_height=half_height,
        exponent=exponent,
        taper=taper,
    )


def lens_margin(x: FloatArray, z: FloatArray, *, lens: LensStack) -> FloatArray:
    """Return how far inside the lens edge a place lies, boxed frame [m]."""
    return outline_margin(
        x,
        z,
        half_width=lens.half_width,
        half_height=lens.half_height,
        outline_shape=lens.outline_shape,
    )


def rim_clearance(
    margin: FloatArray,
    towards_edge: FloatArray,
    forward: FloatArray,
    *,
    tube_radius_m: FloatArray | float,
    fall: FloatArray | float = 0.0,
) -> FloatArray:
    """Return by how much rays that leave the lens front start clear of the rim.

    Parameters
    ----------
    margin : (...) array
        Distance from the ray's start to the lens edge, in the boxed plane. [m]
    towards_edge, forward : (...) arrays
        Ray direction along the outward edge normal and along the normal of
        the boxed plane, any length.
    tube_radius_m : array or float
        Radius of the rim tube, centred half a radius outside the lens edge
        and as deep as the lens front there. [m]
    fall : (...) array or float
        By how much the lens front falls back towards the edge, over the way
        in the boxed plane; 0.4 near the edge of a steep lens. [-]

    Returns
    -------
    (...) array
        How much farther from the edge the ray starts than one that just
        grazes the tube [m]; negative where the tube is hit, NaN for a NaN.

    Notes
    -----
    Edge and front are taken as straight over the few millimetres involved.
    The tube's middle lies d (1, -fall) from the start of a ray. One with the
    slope s towards the edge passes it at d (1 + s fall) / sqrt(1 + s²); in
    terms of its lean against the front, that is
    d sqrt((1 + fall²) / (1 + lean²)), and never less than from its start.
    """
    radius, ahead = np.asarray(tube_radius_m), np.abs(forward)
    leaning = np.maximum(towards_edge - fall * ahead, 0.0)
    lean = leaning / np.maximum(ahead + fall * towards_edge, 1e-9)
    steep = (1.0 + lean * lean) / (1.0 + np.square(fall))
    return np.asarray(margin + 0.5 * radius - radius * np.sqrt(steep))


def rim_crosses(
    points: FloatArray, directions: FloatArray, *, lens: LensStack, index: int, rim: Rim
) -> np.ndarray:
    """Return which straight paths from the eye side run into the rim of one lens.

    Parameters
    ----------
    points, directions : (..., 3) arrays
        Starts [m] and unit directions [-] of paths from behind the lens, world.
    lens : LensStack
        Lenses in the world.
    index : int
        Which lens of the stack.
    rim : Rim
        How thick the rim is.

    Returns
    -------
    (...) bool array
        True where the path crosses the plane of the lens within the rim.
    """
    axes = lens.boxed_axes[index]
    start, along = (points - lens.boxed_origin[index]) @ axes, directions @ axes
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = -start[..., 1] / along[..., 1]
        place = start + reach[..., None] * along
        radius = np.where(place[..., 2] > 0, rim.tube_radius_m, rim.lower_tube_radius_m)
        margin = lens_margin(place[..., 0], place[..., 2], lens=lens)
        return np.asarray((reach > 0) & (np.abs(margin + 0.5 * radius) < radius))


def edge_outline(lens: LensStack, *, index: int, count: int = 96) -> FloatArray:
    """Return the edge of one lens in the world.

    Parameters
    ----------
    lens : LensStack
        Lenses in the world.
    index : int
        Which lens of the stack.
    count : int
        Number of points.

    Returns
    -------
    (count, 3) array
        Points on the front surface along the edge. [m]
    """
    exponent, taper = lens.outline_shape
    flat = superellipse_points(
        count,
        half_width=lens.half_width,
        half_height=lens.half_height,
        exponent=exponent,
        taper=taper,
    )
    points = front_point(flat[:, 0], flat[:, 1], curvature=lens.front_curvature[index])
    return to_world(points, origin=lens.boxed_origin[index], axes=lens.boxed_axes[index])


def bridge_line(lens: LensStack, *, count: int = 13) -> FloatArray:
    """Return the bridge from the right to the left lens in the world, (count, 3) [m]."""
    ends = []
    for index in (0, 1):
        edge = edge_outline(lens, index=index)
        across = (edge - lens.boxed_origin[index]) @ lens.boxed_axes[index]
        nasal = -lens.outward[index] * across[:, 0]
        height = across[:, 2] / lens.half_height
        ends.append(edge[np.argmin(np.abs(height - 0.35) + 10 * (nasal < 0))])
    t = np.linspace(0.0, 1.0, count)[:, None]
    line = ends[0] + (ends[1] - ends[0]) * t
    up = lens.boxed_axes[0][:, 2] + lens.boxed_axes[1][:, 2]
    out = lens.boxed_axes[0][:, 1] + lens.boxed_axes[1][:, 1]
    arch = 4 * t * (1 - t)
    return np.asarray(line + arch * (1.5 * MM * up + 1.0 * MM * out))


def temple_line(lens: LensStack, *, index: int, sitter: Sitter, pose: HeadPose) -> FloatArray:
    """Return the side arm of one lens in the world: hinge, ear, tip, (3, 3) [m].

    Notes
    -----
    The ear is placed at the tragion of the head and 12 mm above it
    (assumption: the arm rests on the root of the ear).
    """
    edge = edge_outline(lens, index=index)
    local = (edge - lens.boxed_origin[index]) @ lens.boxed_axes[index]
    temporal = lens.outward[index] * local[:, 0]
    height = local[:, 2] / lens.half_height
    hinge = edge[np.argmin(np.abs(height - 0.45) + 10 * (temporal < 0))]
    half = sitter.face.bizygomatic_mm * MM / 2
    ear = np.array([lens.outward[index] * half, -80 * MM, -4 * MM])
    tip = ear + np.array([0.0, -14 * MM, -26 * MM])
    return np.concatenate(
        [hinge[None, :], to_world(np.stack([ear, tip]), origin=pose.origin, axes=pose.axes)]
    )
