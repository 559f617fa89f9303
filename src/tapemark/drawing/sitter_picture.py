"""Everything in a window of the camera's picture, drawn back to front."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from tapemark.analysis import Catchlight, LensGlare, ReflectionOutline, Scene
from tapemark.drawing.brush import hull
from tapemark.drawing.eye_drawing import draw_eye
from tapemark.drawing.face import draw_face
from tapemark.drawing.picture import Picture
from tapemark.drawing.plate import lay_plate
from tapemark.drawing.portrait import Placement, lit_bust, lit_surfaces, paint_plate
from tapemark.drawing.projection import CameraView, camera_view
from tapemark.drawing.reflections import draw_catchlights, draw_reflections
from tapemark.drawing.sight import lens_sights
from tapemark.drawing.spectacles import draw_arms, draw_frame, frame_hidden
from tapemark.drawing.style import INK, Paint, filled
from tapemark.drawing.surround import BACKDROP, GROUND, draw_surround
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.studio import aim_point_m

_EDGE_IN_LENS_PT = 0.6
LEAST_DEPTH_M = 0.15  # nearer in front of the camera, or behind it, nobody is drawn
_BEYOND = 12  # lattice steps drawn past the edge of a window


@dataclass(frozen=True, kw_only=True, slots=True)
class Shown:
    """What the analysis found in eyes and lenses.

    Attributes
    ----------
    lenses : tuple of LensGlare
        What each lens shows; empty without glasses.
    catchlights : tuple of Catchlight
        Of both eyes.
    outlines : tuple of ReflectionOutline
        Where the reflections fall.
    """

    lenses: tuple[LensGlare, ...]
    catchlights: tuple[Catchlight, ...]
    outlines: tuple[ReflectionOutline, ...]


class Window(Protocol):
    """A part of the camera's picture and where it lies on the page."""

    @property
    def view(self) -> CameraView:
        """The camera."""

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom on the picture plane. [-]"""

    @property
    def place(self) -> Placement:
        """From the picture plane to the page."""

    @property
    def corners(self) -> FloatArray:
        """Corners on the page, (4, 2) [pt]."""


class SitterPicture:
    """A sitter, lit, ready to be drawn in any window.

    Parameters
    ----------
    scene : Scene
        Sitter, lights and camera.
    """

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._parts, _ = lit_bust(scene)
        self._surfaces = lit_surfaces(scene)

    def draw(self, sheet: Sheet, shown: Shown, *, window: Window, step_m: float) -> Picture | None:
        """Draw what a window shows.

        Parameters
        ----------
        sheet : Sheet
            The page.
        shown : Shown
            Reflections and catchlights.
        window : Window
            Which part of the picture, and where on the page.
        step_m : float
            Fineness of the drawing at the sitter. [m]

        Returns
        -------
        Picture or None
            None for a camera that looks away from the sitter.
        """
        scene, view = self._scene, window.view
        if view.depth(scene.pose.origin) < LEAST_DEPTH_M:
            sheet.area([window.corners], filled(GROUND))
            return None
        pitch = step_m / float(view.depth(scene.pose.origin))
        plate = lay_plate(self._surfaces, view=view, box=_wider(window.box, pitch), pitch=pitch)
        sights = lens_sights(scene, view=view)
        picture = Picture(scene=scene, view=view, plate=plate, place=window.place, sights=sights)
        with sheet.group("picture", clip=sheet.clip([window.corners])):
            draw_surround(sheet, picture, edge=window.corners, nearer=False)
            paint_plate(sheet, plate, place=window.place, outline_pt=1.0)
            draw_face(sheet, picture, parts=self._parts)
            _lenses(sheet, picture)
            for index in (0, 1):
                draw_eye(sheet, picture, index=index)
            draw_catchlights(sheet, picture, catchlights=shown.catchlights)
            draw_reflections(sheet, picture, outlines=shown.outlines, lenses=shown.lenses)
            draw_arms(sheet, picture)
            draw_frame(sheet, picture)
            draw_surround(sheet, picture, edge=window.corners, nearer=True)
        return picture


def _wider(
    box: tuple[float, float, float, float], pitch: float
) -> tuple[float, float, float, float]:
    """Return a box with some lattice steps more on each side, so that edges lie outside."""
    left, top, right, bottom = box
    more = _BEYOND * pitch
    return (left - more, top - more, right + more, bottom + more)


def frame_view(scene: Scene, *, target: FloatArray | None = None) -> CameraView:
    """Return the view of the setup's camera, aimed elsewhere if a target (3,) is given [m]."""
    camera = scene.setup.camera
    aim = np.array(aim_point_m(camera, setup=scene.setup)) if target is None else target
    return camera_view(
        scene.camera,
        target=aim,
        focal_length_mm=camera.focal_length_mm,
        frame_mm=(camera.frame_width_mm, camera.frame_height_mm),
    )


def _lenses(sheet: Sheet, picture: Picture) -> None:
    """Paint again, inside each lens, what is seen through it."""
    glasses = picture.scene.sitter.glasses
    tint = 0.0 if glasses is None else 1.0 - glasses.tint_transmission
    ground = GROUND if picture.scene.setup.backdrop is None else BACKDROP
    for index, sight in enumerate(picture.sights):
        edge = picture.place(sight.outline())
        with picture.clipped(sheet, "lens", frame_hidden(picture, index=index)):
            sheet.area([edge], filled(ground))
            through = sight.plate(picture.plate)
            if through is not None:
                # The rim covers what the hull takes in beyond a hollow edge.
                paint_plate(
                    sheet,
                    through,
                    place=picture.place,
                    outline_pt=_EDGE_IN_LENS_PT,
                    cut=hull(edge),
                )
            if tint > 0:
                sheet.area([edge], Paint(fill=INK, opacity=0.6 * tint))
