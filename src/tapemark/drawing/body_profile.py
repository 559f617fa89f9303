"""The rest of the sitter seen from the side: legs, and a stool or the floor under them.

Plain shapes fitted to the eye and seat heights: for orientation only.
"""

import numpy as np

from tapemark.analysis import Scene
from tapemark.anatomy import body_pose
from tapemark.drawing.brush import brush_stroke, closed_curve, smooth_curve
from tapemark.drawing.projection import ParallelView
from tapemark.drawing.style import CLOTH_TONES, INK, THIN, TONES, WHITE, Paint, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.drawing.trace import rounded
from tapemark.geometry import FloatArray, to_world

# Depth forward of the eyes [m], height [share of the seat height, or of the eye height].
_SITTING_LEGS = (
    (-0.02, 1.38),
    (0.16, 1.36),
    (0.34, 1.30),
    (0.43, 1.17),
    (0.45, 0.90),
    (0.42, 0.55),
    (0.40, 0.17),
    (0.50, 0.10),
    (0.57, 0.03),
    (0.54, 0.0),
    (0.40, 0.0),
    (0.31, 0.01),
    (0.30, 0.12),
    (0.30, 0.40),
    (0.29, 0.72),
    (0.25, 0.97),
    (0.08, 1.0),
    (-0.16, 1.0),
    (-0.21, 1.14),
    (-0.18, 1.40),
)
_STANDING_LEGS = (
    (0.02, 0.62),
    (0.03, 0.52),
    (0.03, 0.40),
    (0.01, 0.28),
    (0.01, 0.20),
    (-0.02, 0.06),
    (0.06, 0.035),
    (0.13, 0.012),
    (0.12, 0.0),
    (0.0, 0.0),
    (-0.12, 0.0),
    (-0.12, 0.03),
    (-0.11, 0.10),
    (-0.14, 0.20),
    (-0.12, 0.29),
    (-0.16, 0.42),
    (-0.19, 0.52),
    (-0.15, 0.62),
)
_SEAT_DEPTH_M = (-0.27, 0.08)
_SEAT_THICKNESS_M = 0.05
_TROUSERS = CLOTH_TONES[2]


def draw_body(sheet: Sheet, scene: Scene, *, view: ParallelView) -> list[FloatArray]:
    """Draw legs and stool; return the outlines of what was drawn [pt]."""
    sitter = scene.sitter
    with sheet.group("body"):
        if sitter.posture == "standing":
            legs = _placed(scene, _STANDING_LEGS, sitter.eye_height_m, view)
            sheet.area([legs], filled(_TROUSERS, outline=THIN))
            return [legs]
        outlines = _draw_stool(sheet, scene, view)
        legs = _placed(scene, _SITTING_LEGS, sitter.seat_height_m, view)
        sheet.area([legs], filled(_TROUSERS, outline=THIN))
    return [*outlines, legs]


def draw_arm(sheet: Sheet, scene: Scene, *, view: ParallelView) -> FloatArray:
    """Draw the arm on the viewer's side; return its outline [pt]."""
    sitter = scene.sitter
    eyes = sitter.eye_height_m
    shoulder = np.array([-0.105, eyes - 0.29])
    if sitter.posture == "seated":
        elbow = np.array([-0.06, max(eyes - 0.60, sitter.seat_height_m + 0.20)])
        wrist = np.array([0.16, sitter.seat_height_m + 0.205])
        hand = np.array([0.26, sitter.seat_height_m + 0.185])
    else:
        elbow, wrist, hand = (
            shoulder + np.array(way) for way in ((-0.01, -0.31), (0.04, -0.54), (0.06, -0.66))
        )
    middle = smooth_curve(np.stack([shoulder, elbow, wrist]), count=30)
    palm = smooth_curve(np.stack([wrist, (wrist + hand) / 2, hand]), count=12)
    with sheet.group("arm"):
        fist = _limb(scene, palm, (0.045, 0.07, 0.05), view)
        sheet.area([fist], filled(TONES[1], outline=THIN))
        sleeve = _limb(scene, middle, (0.08, 0.105, 0.098, 0.085, 0.07), view)
        sheet.area([sleeve], filled(CLOTH_TONES[1], outline=THIN))
    return sleeve


def _limb(
    scene: Scene, middle: FloatArray, widths_m: tuple[float, ...], view: ParallelView
) -> FloatArray:
    """Return the page outline of a limb with round ends about its middle line."""
    ring = rounded(brush_stroke(middle, widths_m), step=0.012, radius=0.03)
    local = np.stack([np.zeros(len(ring)), ring[:, 0], ring[:, 1]], axis=-1)
    return _in_body(scene, local, view)


def _placed(
    scene: Scene, knots: tuple[tuple[float, float], ...], height_m: float, view: ParallelView
) -> FloatArray:
    flat = closed_curve(np.array(knots), count=90)
    heights = np.maximum(flat[:, 1], 0.0) * height_m
    local = np.stack([np.zeros(len(flat)), flat[:, 0], heights], axis=-1)
    return _in_body(scene, local, view)


def _in_body(scene: Scene, local: FloatArray, view: ParallelView) -> FloatArray:
    """Return page places of points of the body: forward and up from the floor under the eyes."""
    pose = body_pose(scene.pose)
    origin = np.array([pose.origin[0], pose.origin[1], 0.0])
    return view(to_world(local, origin=origin, axes=pose.axes))


def _draw_stool(sheet: Sheet, scene: Scene, view: ParallelView) -> list[FloatArray]:
    top = scene.sitter.seat_height_m
    back, front = _SEAT_DEPTH_M
    low = top - _SEAT_THICKNESS_M
    middle = (back + front) / 2

    def page(places: list[tuple[float, float]]) -> FloatArray:
        return _in_body(scene, np.array([(0.0, y, z) for y, z in places]), view)

    seat = page([(back, top), (front, top), (front, low), (back, low)])
    post = page([(middle, low), (middle, 0.10)])
    foot = page([(back, 0.02), (middle, 0.10), (front, 0.02)])
    sheet.line(post, Paint(stroke=INK, width=2.4))
    sheet.line(foot, line(1.6))
    sheet.area([seat], filled(WHITE, outline=THIN))
    return [seat, np.concatenate([foot, post])]
