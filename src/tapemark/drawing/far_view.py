"""The sitter, lit, as seen in a parallel view: from above or from the side.

A camera very far away sees without perspective, so that the picture of the
sitter serves plan and elevation too, to their scale.
"""

import numpy as np

from tapemark.analysis import Scene
from tapemark.drawing.picture import Picture
from tapemark.drawing.plate import lay_plate
from tapemark.drawing.portrait import Placement, lit_surfaces, paint_plate
from tapemark.drawing.projection import CameraView, ParallelView, page_axes, view_direction
from tapemark.drawing.spectacles import draw_arms, draw_frame
from tapemark.drawing.svg import Sheet
from tapemark.drawing.trace import shape_outlines
from tapemark.geometry import FloatArray

_AWAY_M = 400.0
_ROOM_SHARE = 0.35  # light from everywhere, so that the far side of the sitter is not black
_REACH_M = (0.34, 0.66)  # around the eyes: to the sides; up and down
_LATTICE_PT = 0.35  # step of the lattice on the page


def draw_sitter_from_afar(sheet: Sheet, scene: Scene, *, view: ParallelView) -> list[FloatArray]:
    """Draw head, shoulders and glasses to the scale of a parallel view.

    Parameters
    ----------
    sheet : Sheet
        The page.
    scene : Scene
        Sitter and lights.
    view : ParallelView
        The drawing's view.

    Returns
    -------
    list of (n, 2) arrays
        Outlines of what was drawn. [pt]
    """
    far = _far_camera(scene, view)
    scale = view.points_per_m * _AWAY_M
    middle = view(scene.pose.origin)
    place = Placement(scale=scale, x=float(middle[0]), y=float(middle[1]))
    across, up = _REACH_M[0] / _AWAY_M, _REACH_M[1] / _AWAY_M
    if view.view_from == "above":
        up = across
    plate = lay_plate(
        lit_surfaces(scene, room_share=_ROOM_SHARE),
        view=far,
        box=(-across, -up, across, up),
        pitch=_LATTICE_PT / scale,
    )
    picture = Picture(scene=scene, view=far, plate=plate, place=place, sights=())
    with sheet.group("sitter from afar"):
        paint_plate(sheet, plate, place=place, outline_pt=0.7)
        draw_arms(sheet, picture)
        draw_frame(sheet, picture)
    return [place(ring) for ring in shape_outlines(plate, plate.kind >= 0)]


def _far_camera(scene: Scene, view: ParallelView) -> CameraView:
    right, down = page_axes(view.view_from)
    forward = -view_direction(view.view_from)
    return CameraView(
        position=scene.pose.origin - _AWAY_M * forward,
        axes=np.stack([right, forward, -down], axis=-1),
        half_width=1.0,
        half_height=1.0,
    )
