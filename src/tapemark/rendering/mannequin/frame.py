r"""The spectacle frame of the mannequin: rims, bridge, nose pads and temples.

The rim is the tube of `tapemark.anatomy.frame`: as wide and as far forward as the analyses take
it, a little deeper behind the lens.

           _____   _____
        --(     )-(     )--      half rim: the lower edge is held by a thread
       |   \___/   \___/   |     rimless: nothing around the lens
"""

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy import (
    HeadPose,
    HeadSurface,
    LensStack,
    bridge_line,
    rim_of,
    temple_line,
)
from tapemark.geometry import FloatArray, to_local, to_world, turn_to_world
from tapemark.optics import front_point
from tapemark.rendering.mannequin.lenses import outline_points, outwards
from tapemark.rendering.mannequin.mesh import (
    Mesh,
    ball,
    joined,
    rounded_section,
    safe_unit,
    smoothstep,
    tube,
)
from tapemark.studio import Glasses, Sitter
from tapemark.units import MM

#: A rim no wider than this is metal, a wider one plastic (assumption). [mm]
METAL_UP_TO_MM = 1.9
THREAD_M = 0.3 * MM
_SKIN_CLEARANCE_M = 1.3 * MM
_PAD_UP_M = -8.5 * MM  # nose pads under the pupils


@dataclass(frozen=True, kw_only=True, eq=False)
class FrameMeshes:
    """Meshes of a frame by part, world frame [m]."""

    rims: dict[str, Mesh]
    threads: dict[str, Mesh]
    bridge: Mesh
    pads: Mesh
    pad_arms: Mesh
    temples: dict[str, Mesh]


def is_metal(glasses: Glasses) -> bool:
    """Return whether a frame is taken to be of metal: by its rim, rimless always."""
    return glasses.rim == "none" or glasses.rim_width_mm <= METAL_UP_TO_MM


def frame_meshes(
    glasses: Glasses,
    *,
    lenses: LensStack,
    sitter: Sitter,
    pose: HeadPose,
    head: HeadSurface,
    fineness: float,
) -> FrameMeshes:
    """Return rims, bridge, pads and temples of a pair of glasses as worn."""
    rims: dict[str, Mesh] = {}
    threads: dict[str, Mesh] = {}
    temples: dict[str, Mesh] = {}
    pads, arms = [], []
    for index, side in enumerate(("right", "left")):
        if glasses.rim != "none":
            rims[side] = _rim(glasses, lenses, index, fineness=fineness)
        if glasses.rim == "half":
            threads[side] = _thread(lenses, index, fineness=fineness)
        temples[side] = _temple(
            glasses, lenses, index, sitter=sitter, pose=pose, head=head, fineness=fineness
        )
        pad, arm = _pad(glasses, lenses, index, pose=pose, head=head)
        pads.append(pad)
        arms.append(arm)
    return FrameMeshes(
        rims=rims,
        threads=threads,
        bridge=_bridge(glasses, lenses, pose, head),
        pads=joined(pads),
        pad_arms=joined(arms),
        temples=temples,
    )


def _edge_line(lenses: LensStack, index: int, flat: FloatArray) -> FloatArray:
    points = front_point(flat[:, 0], flat[:, 1], curvature=lenses.front_curvature[index])
    return to_world(points, origin=lenses.boxed_origin[index], axes=lenses.boxed_axes[index])


def _rim(glasses: Glasses, lenses: LensStack, index: int, *, fineness: float) -> Mesh:
    rim = rim_of(glasses)
    radius = max(rim.tube_radius_m, 0.35 * MM)
    count = int(150 * fineness)
    line = outline_points(lenses, count=count)
    axes = lenses.boxed_axes[index]
    whole = glasses.rim == "full"
    if not whole:
        line = line[line[:, 1] > 0.0]
        line = line[np.argsort(np.arctan2(line[:, 1], line[:, 0]))]
    away = outwards(outline_points(lenses, count=count))
    if not whole:
        away = _of_upper(lenses, count, away)
    middle = _edge_line(lenses, index, line + 0.5 * radius * away)
    section = rounded_section(radius, radius, count=28, exponent=2.0)
    if not is_metal(glasses):
        deep = max(1.7 * radius, 2.8 * MM - radius)
        behind = rounded_section(radius, deep, count=28, exponent=4.0)
        section = np.where(section[:, 1:] < 0.0, behind, section)
    across = turn_to_world(np.stack([away[:, 0], 0.0 * away[:, 0], away[:, 1]], axis=-1), axes=axes)
    sections = np.broadcast_to(section, (len(line), *section.shape))
    if not whole:
        taper = smoothstep(0.0, 2.5 * MM, line[:, 1])[:, None, None]
        sections = sections * (0.45 + 0.55 * taper)
    return tube(middle, sections, across=across, closed=whole)


def _of_upper(lenses: LensStack, count: int, away: FloatArray) -> FloatArray:
    line = outline_points(lenses, count=count)
    kept = line[:, 1] > 0.0
    order = np.argsort(np.arctan2(line[kept, 1], line[kept, 0]))
    return np.asarray(away[kept][order])


def _thread(lenses: LensStack, index: int, *, fineness: float) -> Mesh:
    count = int(150 * fineness)
    line = outline_points(lenses, count=count)
    away = outwards(line)
    low = line[:, 1] <= 1.0 * MM
    order = np.argsort(np.arctan2(line[low, 0], -line[low, 1]))
    line, away = line[low][order], away[low][order]
    points = _edge_line(lenses, index, line + 0.2 * THREAD_M * away)
    axes = lenses.boxed_axes[index]
    points = points - 0.7 * MM * axes[:, 1]
    section = rounded_section(THREAD_M, THREAD_M, count=8, exponent=2.0)
    return tube(points, section, across=axes[:, 1])


def _bridge(glasses: Glasses, lenses: LensStack, pose: HeadPose, head: HeadSurface) -> Mesh:
    """Return the bridge: that of `anatomy`, bowed forward where the nose stands in its way."""
    line = bridge_line(lenses, count=25)
    out = lenses.boxed_axes[0][:, 1] + lenses.boxed_axes[1][:, 1]
    out = out / np.sqrt(out @ out)
    metal = is_metal(glasses)
    radius = max(glasses.rim_width_mm * MM / 2, 0.5 * MM)
    if metal:
        thick = min(max(radius, 0.7 * MM), 1.1 * MM)
        section = rounded_section(thick, thick, count=14, exponent=2.0)
    else:
        section = rounded_section(1.1 * radius, 1.15 * radius, count=28, exponent=3.5)
        line = line - 0.15 * radius * out
    own = to_local(line, origin=pose.origin, axes=pose.axes)
    reach = float(np.abs(section[:, 0]).max())
    clear = head.front_depth(own[:, 0], own[:, 2] - 0.5 * reach) + reach + 0.6 * MM
    short = float(np.max(clear - own[:, 1], initial=0.0))
    arch = 1.0 - np.linspace(-1.0, 1.0, len(line)) ** 4
    line = line + (1.08 * short * arch)[:, None] * pose.axes[:, 1]
    ends = np.linspace(-1.0, 1.0, len(line))[:, None, None]
    taller = 1.0 + (0.0 if metal else 0.55) * ends**4  # cut from the same sheet as the rims
    return tube(line, section * np.concatenate([np.ones_like(taller), taller], -1), across=out)


def _temple(
    glasses: Glasses,
    lenses: LensStack,
    index: int,
    *,
    sitter: Sitter,
    pose: HeadPose,
    head: HeadSurface,
    fineness: float,
) -> Mesh:
    outward = lenses.outward[index]
    key = to_local(
        temple_line(lenses, index=index, sitter=sitter, pose=pose),
        origin=pose.origin,
        axes=pose.axes,
    )
    hinge, ear, _ = key
    ear = ear + np.array([0.0, -9.0, 6.0]) * MM
    tip = ear + np.array([-2.0 * outward, -13.0, -34.0]) * MM
    metal = is_metal(glasses)
    radius = max(glasses.rim_width_mm * MM / 2, 0.6 * MM)
    out = np.array([outward, 0.0, 0.0])
    reach = 2.0 * MM if metal else 1.2 * radius
    corner = hinge + out * (reach + 2.5 * MM) + np.array([0.0, -3.5 * MM, 0.4 * MM])
    line = np.stack(
        [
            hinge + out * 0.5 * reach,
            hinge + out * (reach + 1.2 * MM) + np.array([0.0, -0.4 * MM, 0.2 * MM]),
            corner,
            corner + 0.3 * (ear - corner),
            corner + 0.7 * (ear - corner),
            ear + np.array([0.0, 3.0 * MM, 1.0 * MM]),
            ear + 0.45 * (tip - ear) + np.array([0.0, -3.0 * MM, 0.0]),
            tip,
        ]
    )
    line = _rounded(line, count=int(56 * fineness))
    line[:, 0] = outward * np.maximum(outward * line[:, 0], _beside_head(head, line))
    along = np.linspace(0.0, 1.0, len(line))[:, None, None]
    if metal:
        section = rounded_section(0.55 * MM, 0.75 * MM, count=14, exponent=2.0)
        grown = 1.0 + 0.9 * smoothstep(0.72, 0.78, along)
    else:
        tall = min(max(1.15 * radius, 1.5 * MM), 3.2 * MM)
        section = rounded_section(1.15 * MM, tall, count=16, exponent=3.0)
        grown = 1.0 - 0.25 * along + 0.15 * smoothstep(0.75, 1.0, along)
    return tube(
        to_world(line, origin=pose.origin, axes=pose.axes),
        section * grown,
        across=pose.axes[:, 0],
    )


def _beside_head(head: HeadSurface, line: FloatArray) -> FloatArray:
    """Return how far out the side of the head comes at places, with clearance. [m]"""
    wide, front, widest, rear = head.section(line[:, 2])
    ahead = line[:, 1] > widest
    share = np.clip((line[:, 1] - widest) / np.where(ahead, front - widest, rear - widest), 0, 1)
    return np.asarray(wide * (1.0 - share**2) ** np.where(ahead, 1 / 2.25, 0.5) + _SKIN_CLEARANCE_M)


def _rounded(line: FloatArray, *, count: int) -> FloatArray:
    """Return a line with its corners cut twice, at even distances."""
    for _ in range(3):
        first, second = line[:-1], line[1:]
        cut = np.stack([0.75 * first + 0.25 * second, 0.25 * first + 0.75 * second], axis=1)
        line = np.concatenate([line[:1], cut.reshape(-1, 3), line[-1:]])
    steps = np.sqrt((np.diff(line, axis=0) ** 2).sum(axis=1))
    length = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0.0, length[-1], count)
    return np.stack([np.interp(at, length, line[:, k]) for k in range(3)], axis=-1)


def _pad(
    glasses: Glasses, lenses: LensStack, index: int, *, pose: HeadPose, head: HeadSurface
) -> tuple[Mesh, Mesh]:
    """Return one nose pad, lying on the side of the nose, and its arm from the rim."""
    outward = lenses.outward[index]
    edge = _edge_line(lenses, index, outline_points(lenses, count=160))
    edge = to_local(edge, origin=pose.origin, axes=pose.axes)
    slip = glasses.slipped_mm * MM
    up = _PAD_UP_M - slip
    nasal = np.abs(edge[:, 2] - (up + 2.0 * MM)) + 10.0 * (
        outward * edge[:, 0] > glasses.bridge_mm * MM / 2 + 0.45 * glasses.lens_width_mm * MM
    )
    foot = edge[int(np.argmin(nasal))]
    behind = foot[1] - 5.5 * MM
    side = np.linspace(3.0, 17.0, 57) * MM
    depth = head.front_depth(side, np.full_like(side, up))
    x = float(side[int(np.argmin(np.abs(depth - behind)))])
    step = 1.0 * MM
    at = head.front_depth(np.array([x, x + step, x]), np.array([up, up, up + step]))
    normal = safe_unit(np.array([-(at[1] - at[0]) / step, 1.0, -(at[2] - at[0]) / step]))
    center = np.array([x, at[0], up]) + normal * 1.1 * MM
    normal, center = normal * [outward, 1, 1], center * [outward, 1, 1]
    long = safe_unit(np.array([outward * 0.22, 0.15, -1.0]) - 0.0)
    long = safe_unit(long - (long @ normal) * normal)
    axes = np.stack([normal, long, np.cross(normal, long)], axis=-1)
    pad = ball(
        to_world(center, origin=pose.origin, axes=pose.axes),
        pose.axes @ axes,
        np.array([0.9, 5.2, 2.8]) * MM,
        rows=14,
        columns=20,
    )
    thick = 0.45 * MM if is_metal(glasses) else 0.9 * MM
    bow = center + normal * 1.0 * MM
    line = np.stack([foot, 0.5 * (foot + bow) + [0, -2.0 * MM, 0.5 * MM], bow])
    arm = tube(
        to_world(_rounded(line, count=14), origin=pose.origin, axes=pose.axes),
        rounded_section(thick, thick, count=10, exponent=2.0),
        across=pose.axes[:, 2],
    )
    return pad, arm
