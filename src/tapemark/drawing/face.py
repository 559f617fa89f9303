"""The drawn face: brows, nose, lips and ears, laid onto the head's surface."""

import numpy as np

from tapemark.drawing.brush import brush_stroke, smooth_curve
from tapemark.drawing.bust import Bust, outward_normals
from tapemark.drawing.picture import Picture
from tapemark.drawing.style import FINE, HAIR_TONES, INK, Paint, line
from tapemark.drawing.svg import Sheet
from tapemark.drawing.trace import contour_lines
from tapemark.geometry import FloatArray, dot, to_local
from tapemark.units import MM

# Places (x outward, z up) on the face [mm] and widths of strokes [mm].
_BROW = ((13.5, 14.0), (20.0, 18.2), (30.0, 21.4), (40.0, 21.0), (47.0, 18.2), (52.0, 14.6))
_WING = ((16.6, -36.0), (18.4, -40.5), (16.6, -44.8), (12.5, -46.2))
_NOSTRIL = ((3.6, -46.4), (6.6, -45.4), (9.6, -45.6), (11.4, -46.6))
_STROKES = (
    (_NOSTRIL, (0.3, 1.5, 1.5, 0.3), Paint(fill=INK, opacity=0.62)),
    (_WING, (0.1, 0.7, 0.6, 0.2), Paint(fill=INK, opacity=0.5)),
    (_BROW, (0.6, 3.8, 5.0, 4.3, 2.6, 0.4), Paint(fill=HAIR_TONES[2], opacity=0.9)),
)
_MOUTH = ((0.0, -66.4), (7.0, -66.0), (15.0, -66.5), (21.5, -65.3), (26.0, -62.9))
_UPPER_LIP = ((26.0, -62.9), (17.0, -61.9), (9.0, -60.2), (4.6, -59.3), (0.0, -60.4))
_LOWER_LIP = ((25.4, -63.6), (20.0, -69.0), (12.0, -73.0), (0.0, -74.6))
_STROKE_MARGIN_M = 0.003
_LEAST_FACING = 0.22  # strokes end where the face turns away from the camera
_UNDER_LIP = ((-8.0, -77.6), (0.0, -78.4), (8.0, -77.6))


def draw_face(sheet: Sheet, picture: Picture, *, parts: Bust) -> None:
    """Draw what marks the face, apart from the eyes."""
    scale = picture.points_per_mm
    with sheet.group("face"):
        _nose_line(sheet, picture, parts)
        _lips(sheet, picture, scale)
        for outward in (1.0, -1.0):
            for knots, widths, paint in _STROKES:
                _stroke(sheet, picture, knots, outward, widths=widths, paint=paint)


def _lips(sheet: Sheet, picture: Picture, scale: float) -> None:
    mouth = _mirrored(smooth_curve(_MOUTH, count=20))
    upper = _mirrored(smooth_curve(_UPPER_LIP, count=24)[::-1])
    lower = _mirrored(smooth_curve(_LOWER_LIP, count=24)[::-1])
    for edge, opacity in ((upper, 0.30), (lower, 0.17)):
        ring = np.concatenate([edge, mouth[::-1]])
        page = picture.on_page(picture.on_skin(ring))
        sheet.area([page], Paint(fill=INK, opacity=opacity), name="lip")
    page = picture.on_page(picture.on_skin(mouth))
    widths = np.array([0.9, 0.8, 0.55, 0.9, 0.8, 0.9, 0.55, 0.8, 0.9]) * scale
    sheet.area([brush_stroke(page, widths)], Paint(fill=INK, opacity=0.8), name="mouth")
    shade = picture.on_page(picture.on_skin(smooth_curve(_UNDER_LIP, count=12)))
    sheet.area(
        [brush_stroke(shade, np.array([0.1, 1.4, 1.7, 1.4, 0.1]) * scale)],
        Paint(fill=INK, opacity=0.16),
    )


def _stroke(
    sheet: Sheet,
    picture: Picture,
    knots: tuple[tuple[float, float], ...],
    outward: float,
    *,
    widths: tuple[float, ...],
    paint: Paint,
) -> None:
    """Draw a stroke on the face, as far as it is seen."""
    world = picture.on_skin(smooth_curve(knots, count=24) * (outward, 1.0))
    seen = picture.seen(world, margin_m=_STROKE_MARGIN_M) & (picture.facing(world) > _LEAST_FACING)
    first, last = longest_run(seen)
    if last - first < 4:
        return
    width = np.interp(np.linspace(0, 1, 24), np.linspace(0, 1, len(widths)), widths)[first:last]
    if last < len(world):  # runs out where the face turns away
        width *= np.clip(np.arange(len(width))[::-1] / 5.0, 0.0, 1.0)
    line_page = picture.on_page(world[first:last])
    page = brush_stroke(line_page, width * picture.points_per_mm)
    sheet.area([page], paint)


def _nose_line(sheet: Sheet, picture: Picture, parts: Bust) -> None:
    """Draw where the nose turns away from the camera, when the head is turned."""
    scene = picture.scene
    for run in _turning(parts.face, picture.view.position):
        local = to_local(run, origin=scene.pose.origin, axes=scene.pose.axes) / MM
        nose = (np.abs(local[:, 0]) < 22) & (local[:, 2] > -50) & (local[:, 2] < 6)
        first, last = longest_run(nose & picture.seen(run, margin_m=_STROKE_MARGIN_M))
        if last - first >= 8:
            sheet.line(picture.on_page(run[first:last]), line(FINE * 1.4), name="nose")


def longest_run(wanted: np.ndarray) -> tuple[int, int]:
    """Return first and one past the last place of the longest run of what is wanted."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], wanted.astype(int), [0]])))
    runs = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    return max(runs, key=lambda run: run[1] - run[0], default=(0, 0))


def _turning(grid: FloatArray, eye: FloatArray) -> list[FloatArray]:
    """Return world lines along which a surface turns from facing the camera to facing away."""
    facing = dot(outward_normals(grid), eye - grid)
    facing = facing / np.linalg.norm(eye - grid, axis=-1)
    found = []
    for run in contour_lines(facing, 0.0):
        if len(run) < 6:
            continue
        column = np.clip(run[:, 0].astype(int), 0, grid.shape[1] - 2)
        row = np.clip(run[:, 1].astype(int), 0, grid.shape[0] - 2)
        across, along = (run[:, 0] - column)[:, None], (run[:, 1] - row)[:, None]
        top = grid[row, column] * (1 - across) + grid[row, column + 1] * across
        low = grid[row + 1, column] * (1 - across) + grid[row + 1, column + 1] * across
        found.append(top * (1 - along) + low * along)
    return found


def _mirrored(half: FloatArray) -> FloatArray:
    """Return a line from the sitter's left over the middle to the right, from its right half."""
    return np.concatenate([half[::-1] * (-1.0, 1.0), half[1:]])
