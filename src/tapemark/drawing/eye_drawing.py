"""The drawn eyes: opening, iris and pupil, seen through the lens where there is one."""

import numpy as np

from tapemark.anatomy import opening_outline
from tapemark.drawing.brush import brush_stroke, cut_to_convex, hull
from tapemark.drawing.picture import Picture
from tapemark.drawing.style import INK, Paint, filled, mixed
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.units import MM

_COUNT = 96  # points around the opening
IRIS = "#71839c"
IRIS_LIGHT = "#9aa9bd"
WHITE_OF_EYE = "#f6f4ef"
_LID_SHADE_MM = 1.9
_CREASE_MM = 3.6


def draw_eye(sheet: Sheet, picture: Picture, *, index: int) -> None:
    """Draw one eye; 0 is the sitter's right.

    Parameters
    ----------
    sheet : Sheet
        The page.
    picture : Picture
        Scene, view and place on the page.
    index : int
        Which eye.
    """
    eyes = picture.scene.eyes
    flat = opening_outline(eyes=eyes, outward=float(eyes.outward[index]), count=_COUNT)
    page = _opening_page(picture, flat, index)
    around = _in_plane(picture, flat * 1.3, index)
    forward = picture.scene.pose.axes[:, 1]
    center = eyes.opening_center[index]
    shown = picture.past_surfaces(center=center, normal=forward, margin_m=0.012)
    hidden = picture.left_to_see(around, shown=shown)
    with picture.clipped(sheet, "eye", hidden):
        sheet.area([page], filled(_white(picture, index)), name="opening")
        inside = hull(page)
        _iris(sheet, picture, inside, index)
        shade = cut_to_convex(_lid_shade(picture, flat, index), inside)
        sheet.area([shade], Paint(fill=INK, opacity=0.22))
        _lids(sheet, picture, flat=flat, page=page, index=index)


def _opening_page(picture: Picture, flat: FloatArray, index: int) -> FloatArray:
    return picture.behind_glass(_in_plane(picture, flat, index), index=index)


def _in_plane(picture: Picture, flat: FloatArray, index: int) -> FloatArray:
    """Return places (x, z) of the opening's plane in the world [m]."""
    eyes = picture.scene.eyes
    across, up = eyes.head_axes[:, 0], eyes.head_axes[:, 2]
    return np.asarray(eyes.opening_center[index] + flat[:, :1] * across + flat[:, 1:] * up)


def _in_iris(picture: Picture, index: int, flat: FloatArray) -> FloatArray:
    """Return where places (x, z) about the middle of the iris lie on the page [pt]."""
    eyes = picture.scene.eyes
    local = np.stack([flat[:, 0], np.zeros(len(flat)), flat[:, 1]], axis=-1)
    world = eyes.iris_center[index] + local @ eyes.gaze_axes[index].T
    return picture.behind_glass(world, index=index)


def _iris(sheet: Sheet, picture: Picture, opening: FloatArray, index: int) -> None:
    eyes = picture.scene.eyes
    around = np.linspace(0.0, 2.0 * np.pi, 60, endpoint=False)
    circle = np.stack([np.cos(around), np.sin(around)], axis=-1) / 2
    size, ring = eyes.iris_diameter_m, 0.9 * MM
    low = np.linspace(1.12 * np.pi, 1.88 * np.pi, 24)
    arc = np.stack([np.cos(low), np.sin(low)], axis=-1) * (size / 2 - 1.2 * MM)
    inner = (arc * (0.92, 0.42))[::-1] - (0.0, 0.8 * MM)
    for name, shape, paint in (
        ("iris", circle * size, filled(mixed(IRIS, INK, share=0.75))),
        ("", circle * (size - 2 * ring), filled(IRIS)),
        ("", np.concatenate([arc, inner]), Paint(fill=IRIS_LIGHT, opacity=0.75)),
        ("pupil", circle * eyes.pupil_diameter_m, filled(INK)),
    ):
        page = cut_to_convex(_in_iris(picture, index, shape), opening)
        sheet.area([page], paint, name=name)


def _lid_shade(picture: Picture, flat: FloatArray, index: int) -> FloatArray:
    """Return the shade that the upper lid throws on the eye [pt]."""
    upper = flat[: _COUNT // 2]
    arch = np.sin(np.linspace(0, np.pi, len(upper)))[:, None]
    lower = upper - np.array((0.0, _LID_SHADE_MM * MM)) * arch
    ring = np.concatenate([upper + np.array((0.0, 1.0 * MM)), lower[::-1]])
    return _opening_page(picture, ring, index)


def _lids(
    sheet: Sheet, picture: Picture, *, flat: FloatArray, page: FloatArray, index: int
) -> None:
    scale = picture.points_per_mm
    half = _COUNT // 2
    upper, lower = page[: half + 1], np.concatenate([page[half:], page[:1]])
    wing = 2 * page[0] - page[2]
    lash = np.concatenate([[wing], upper])
    sheet.area([brush_stroke(lash, np.array([0.1, 1.3, 1.7, 1.6, 1.2, 0.6]) * scale)], filled(INK))
    below = np.array([0.5, 0.25, 0.3, 0.4, 0.55]) * scale
    sheet.area([brush_stroke(lower, below)], Paint(fill=INK, opacity=0.7))
    share = np.linspace(0, np.pi, half + 1)[3:-5]
    lift = (_CREASE_MM * np.sin(share) ** 0.5 + 0.9) * MM
    crease = flat[3 : half + 1 - 5] + np.stack([np.zeros_like(lift), lift], axis=-1)
    widths = np.array([0.1, 0.45, 0.6, 0.45, 0.1]) * scale
    line = _opening_page(picture, crease, index)
    sheet.area([brush_stroke(line, widths)], Paint(fill=INK, opacity=0.55))


def _white(picture: Picture, index: int) -> str:
    """Return the colour of the white of the eye: darker in shade."""
    plate = picture.plate
    at = picture.view(picture.scene.eyes.opening_center[index])
    column, row = np.rint((at - (plate.left, plate.top)) / plate.pitch).astype(int)
    around = plate.tone[max(row - 6, 0) : row + 7, max(column - 8, 0) : column + 9]
    tone = float(np.nanmean(around)) if np.isfinite(around).any() else 1.0
    return mixed(WHITE_OF_EYE, INK, share=0.28 * float(np.clip(1.0 - tone, 0.0, 1.0)))
