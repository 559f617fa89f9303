"""Everything in a window of the camera's picture, drawn back to front."""

from dataclasses import dataclass
from typing import Protocol

from tapemark.analysis import Catchlight, LensGlare, ReflectionOutline, Scene
from tapemark.drawing.brush import hull
from tapemark.drawing.eye_drawing import draw_eye
from tapemark.drawing.face import draw_face
from tapemark.drawing.lower_body import draw_limbs
from tapemark.drawing.picture import Picture
from tapemark.drawing.plate import lay_plate
from tapemark.drawing.portrait import Placement, lit_bust, lit_surfaces, paint_plate
from tapemark.drawing.projection import CameraView
from tapemark.drawing.reflections import draw_catchlights, draw_reflections
from tapemark.drawing.sight import lens_sights
from tapemark.drawing.spectacles import draw_arms, draw_frame, frame_hidden
from tapemark.drawing.style import INK, Paint, filled
from tapemark.drawing.surround import BACKDROP, GROUND, draw_surround
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray

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
    """A person, lit, ready to be drawn in any window.

    Parameters
    ----------
    scene : Scene
        Person, lights and camera.
    shown : Shown
        Their reflections and catchlights.
    others : tuple of SitterPicture
        Everybody else in the setup.
    """

    def __init__(
        self, scene: Scene, shown: Shown, *, others: tuple["SitterPicture", ...] = ()
    ) -> None:
        self.scene = scene
        self.shown = shown
        self._others = others
        self._parts, _ = lit_bust(scene)
        self._surfaces = lit_surfaces(scene)

    def draw(self, sheet: Sheet, *, window: Window, step_m: float) -> Picture | None:
        """Draw what a window shows, back to front.

        Parameters
        ----------
        sheet : Sheet
            The page.
        window : Window
            Which part of the picture, and where on the page.
        step_m : float
            Fineness of the drawing at the sitter. [m]

        Returns
        -------
        Picture or None
            None for a camera that looks away from this person.
        """
        view = window.view
        own = self._picture(window, step_m)
        if own is None:
            sheet.area([window.corners], filled(GROUND))
            return None
        people = [(self, own)]
        people += [(one, seen) for one in self._others if (seen := one._picture(window, step_m))]
        people.sort(key=lambda pair: -float(view.depth(pair[0].scene.pose.origin)))
        with sheet.group("picture", clip=sheet.clip([window.corners])):
            draw_surround(sheet, own, edge=window.corners, nearer=False)
            for person, picture in people:
                person._paint(sheet, picture)
            draw_surround(sheet, own, edge=window.corners, nearer=True)
        return own

    def _picture(self, window: Window, step_m: float) -> Picture | None:
        """Return this person as seen in a window; None for a camera that looks away."""
        scene, view = self.scene, window.view
        if view.depth(scene.pose.origin) < LEAST_DEPTH_M:
            return None
        pitch = step_m / float(view.depth(scene.pose.origin))
        plate = lay_plate(self._surfaces, view=view, box=_wider(window.box, pitch), pitch=pitch)
        sights = lens_sights(scene, view=view)
        return Picture(scene=scene, view=view, plate=plate, place=window.place, sights=sights)

    def _paint(self, sheet: Sheet, picture: Picture) -> None:
        """Draw this person without what is around."""
        draw_limbs(sheet, picture, nearer=False)
        paint_plate(sheet, picture.plate, place=picture.place, outline_pt=1.0)
        draw_limbs(sheet, picture, nearer=True)
        draw_face(sheet, picture, parts=self._parts)
        _lenses(sheet, picture)
        for index in (0, 1):
            draw_eye(sheet, picture, index=index)
        draw_catchlights(sheet, picture, catchlights=self.shown.catchlights)
        draw_reflections(sheet, picture, outlines=self.shown.outlines, lenses=self.shown.lenses)
        draw_arms(sheet, picture)
        draw_frame(sheet, picture)


def _wider(
    box: tuple[float, float, float, float], pitch: float
) -> tuple[float, float, float, float]:
    """Return a box with some lattice steps more on each side, so that edges lie outside."""
    left, top, right, bottom = box
    more = _BEYOND * pitch
    return (left - more, top - more, right + more, bottom + more)


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
