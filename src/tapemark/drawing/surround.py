"""What else is in the camera's frame: the ground behind the sitter, and lights in shot."""

import numpy as np

from tapemark.analysis import Emitter
from tapemark.drawing.brush import cut_to_convex
from tapemark.drawing.picture import Picture
from tapemark.drawing.style import INK, LIT, THIN, Paint, filled
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray

GROUND = "#eceeee"
BACKDROP = "#e3e6e8"


def draw_surround(sheet: Sheet, picture: Picture, *, edge: FloatArray, nearer: bool) -> None:
    """Draw what stands behind the sitter, or what stands nearer to the camera.

    Parameters
    ----------
    sheet : Sheet
        The page.
    picture : Picture
        The picture.
    edge : (4, 2) array
        Corners of the picture. [pt]
    nearer : bool
        Which of the two.
    """
    if not nearer:
        sheet.area([edge], filled(GROUND))
    away = float(picture.view.depth(picture.scene.pose.origin))
    with sheet.group("in front" if nearer else "behind"):
        for emitter in picture.scene.emitters:
            outline = emitter.face.outline()
            depth = picture.view.depth(outline)
            if (depth.min() <= 0.05) or (bool(depth.mean() < away) != nearer):
                continue
            if emitter.kind in {"ceiling", "wall"}:
                continue
            page = cut_to_convex(picture.on_page(outline), edge)
            sheet.area([page], _paint(emitter, picture, nearer=nearer))


def _paint(emitter: Emitter, picture: Picture, *, nearer: bool) -> Paint:
    if nearer:  # in the way: shown as glass, so that the sitter can still be seen
        return Paint(fill=INK, stroke=INK, width=THIN, dash=(4.0, 2.0), opacity=0.35)
    if emitter.kind == "backdrop":
        return filled(BACKDROP, outline=THIN)
    towards = picture.view.position - emitter.face.center
    shows = float(np.dot(towards, emitter.face.axes[:, 1])) > 0 and emitter.brightness > 0
    return Paint(fill=LIT if shows else "#5a667a", stroke=INK, width=THIN)
