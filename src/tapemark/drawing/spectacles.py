"""The drawn glasses: rims, bridge and side arms, lens by lens in front of or behind the face."""

import numpy as np

from tapemark.analysis import Scene
from tapemark.anatomy import LensStack, bridge_line, edge_outline, temple_line
from tapemark.drawing.brush import brush_stroke, smooth_curve
from tapemark.drawing.picture import Picture
from tapemark.drawing.style import INK, Paint, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray, dot, to_local, to_world
from tapemark.optics import front_point
from tapemark.units import MM

FRAME = "#1d2b45"
_EDGE_POINTS = 160
_THIN_EDGE_MM = 0.7
_TOUCHING_M, _OFF_NOSE_M = 1e-3, 12e-3  # how far into the head the frame may seem to reach
_RIDGE_M = 4e-3  # half the width of the ridge of the nose
_NOSE_ROOT_M = -9e-3  # the nose hides frames below this height
_ARM_MM = 3.4  # height of a side arm seen from the front


def draw_arms(sheet: Sheet, picture: Picture) -> None:
    """Draw the side arms as far as hair, ears and face leave them to be seen."""
    scene = picture.scene
    glasses = scene.sitter.glasses
    if scene.lenses is None or glasses is None:
        return
    size = max(_ARM_MM if glasses.rim_width_mm > 1.5 else 1.4, 1.2) * picture.points_per_mm
    with sheet.group("side arms"):
        for index in (0, 1):
            knots = temple_line(scene.lenses, index=index, sitter=scene.sitter, pose=scene.pose)
            arm = smooth_curve(_end_piece(picture, knots), count=60)
            arm = arm[_gone(arm) > 0.6 * glasses.rim_width_mm * MM]
            seen = picture.seen(arm, margin_m=0.003)
            last = int(np.argmin(seen)) if not seen.all() else len(seen)
            if last < 3:
                continue
            page = picture.on_page(arm[:last])
            sheet.area([brush_stroke(page, [size, size * 0.8, size * 0.6])], filled(FRAME))


def draw_frame(sheet: Sheet, picture: Picture) -> None:
    """Draw rims and bridge over the lenses."""
    scene = picture.scene
    lenses, glasses = scene.lenses, scene.sitter.glasses
    if lenses is None or glasses is None:
        return
    scale = picture.points_per_mm
    with sheet.group("frame"):
        bridge = picture.on_page(_shortened(bridge_line(lenses, count=25), glasses.rim_width_mm))
        wide = max(glasses.rim_width_mm * 0.8, 1.1) * scale
        sheet.area(
            [brush_stroke(bridge, [wide * 1.15, wide, wide * 1.15])], filled(FRAME), name="bridge"
        )
        for index in (0, 1):
            _rim(sheet, picture, index)


def rim_outline(scene: Scene, *, index: int) -> FloatArray:
    """Return the outside of one rim in the world, (n, 3) [m]; the scene has glasses."""
    glasses, lenses = scene.sitter.glasses, scene.lenses
    assert glasses is not None
    assert lenses is not None
    width = max(glasses.rim_width_mm, _THIN_EDGE_MM) * MM
    return _grown(lenses, index, np.full(_EDGE_POINTS, width))


def frame_hidden(picture: Picture, *, index: int) -> list[FloatArray] | None:
    """Return page outlines of what the sitter's surfaces leave of one lens; None for all [pt].

    The brow, and the side of the nose next to a lens, hide nothing of it, for pads keep the
    frame off them; the ridge of the nose and its far side do.
    """
    lenses = picture.scene.lenses
    assert lenses is not None
    center, normal = lenses.boxed_origin[index], lenses.boxed_axes[index][:, 1]
    shown, at_pads = (
        picture.past_surfaces(center=center, normal=normal, margin_m=margin)
        for margin in (_TOUCHING_M, _OFF_NOSE_M)
    )
    surface = picture.head_points()
    with np.errstate(invalid="ignore"):
        above_nose = np.maximum(surface[..., 2] - _NOSE_ROOT_M, 0.0)
        own_side = surface[..., 0] * lenses.outward[index] > _RIDGE_M - 1.5 * above_nose
    outline = rim_outline(picture.scene, index=index)
    return picture.left_to_see(outline, shown=shown | (at_pads & own_side))


def _rim(sheet: Sheet, picture: Picture, index: int) -> None:
    scene = picture.scene
    lenses, glasses = scene.lenses, scene.sitter.glasses
    assert lenses is not None
    assert glasses is not None
    hidden = frame_hidden(picture, index=index)
    edge = picture.on_page(edge_outline(lenses, index=index, count=_EDGE_POINTS))
    full, thin = glasses.rim_width_mm * MM, _THIN_EDGE_MM * MM
    above = np.clip(_edge_flat(lenses, index)[:, 1] / lenses.half_height / 0.25 + 0.6, 0.0, 1.0)
    width = {
        "full": np.full(_EDGE_POINTS, max(full, thin)),
        "half": thin + (full - thin) * above,
        "none": np.full(_EDGE_POINTS, thin),
    }[glasses.rim]
    outside = picture.on_page(_grown(lenses, index, width))
    paint = filled(FRAME) if glasses.rim != "none" else Paint(fill=FRAME, opacity=0.55)
    with picture.clipped(sheet, "rim", hidden):
        sheet.area([outside, edge], paint)
        if glasses.rim == "none":
            sheet.area([edge], line(0.35, color=INK))


def _edge_flat(lenses: LensStack, index: int) -> FloatArray:
    """Return the lens edge in its boxed frame, (n, 2) [m]."""
    edge = edge_outline(lenses, index=index, count=_EDGE_POINTS)
    local = to_local(edge, origin=lenses.boxed_origin[index], axes=lenses.boxed_axes[index])
    return local[:, [0, 2]]


def _grown(lenses: LensStack, index: int, width: FloatArray) -> FloatArray:
    """Return the lens edge moved outwards by widths [m], in the world."""
    flat = _edge_flat(lenses, index)
    along = np.roll(flat, -1, axis=0) - np.roll(flat, 1, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    outside = flat + np.stack([along[:, 1], -along[:, 0]], axis=-1) * width[:, None]
    points = front_point(outside[:, 0], outside[:, 1], curvature=lenses.front_curvature[index])
    return to_world(points, origin=lenses.boxed_origin[index], axes=lenses.boxed_axes[index])


def _gone(points: FloatArray) -> FloatArray:
    """Return how far along a line each of its points lies [m]."""
    way = np.diff(points, axis=0)
    return np.asarray(np.append(0.0, np.cumsum(np.sqrt(dot(way, way)))))


def _shortened(points: FloatArray, rim_width_mm: float) -> FloatArray:
    """Return a line without the ends that lie within the rims."""
    gone, cut = _gone(points), 0.5 * rim_width_mm * MM
    return np.asarray(points[(gone >= cut) & (gone <= gone[-1] - cut)])


def _end_piece(picture: Picture, knots: FloatArray) -> FloatArray:
    """Return the side arm with the hinge led around the outer corner of the frame."""
    hinge, ear, tip = knots
    pose = picture.scene.pose
    local = to_local(hinge, origin=pose.origin, axes=pose.axes)
    corner = local + np.array([np.sign(local[0]) * 4.0 * MM, -6.0 * MM, 0.0])
    return np.stack([hinge, to_world(corner, origin=pose.origin, axes=pose.axes), ear, tip])
