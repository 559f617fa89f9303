"""A head with the light over its face as zones; everything else of it in plain line."""

from dataclasses import replace

import numpy as np

from tapemark.analysis import FaceZones, Scene, frame_view
from tapemark.anatomy.head_shape import REFERENCE
from tapemark.drawing.bust import Bust, bust
from tapemark.drawing.eye_drawing import draw_eye
from tapemark.drawing.face import draw_face
from tapemark.drawing.face_light.zone_bands import ZonePlate, draw_shadows, paint_zones, zone_plate
from tapemark.drawing.picture import Picture
from tapemark.drawing.plate import Surface, lay_plate
from tapemark.drawing.portrait import BACK_OF_HEAD, EAR, FACE, HAIR, NECK, Placement
from tapemark.drawing.projection import CameraView
from tapemark.drawing.sitter_picture import LEAST_DEPTH_M
from tapemark.drawing.spectacles import draw_arms, draw_frame, rim_outline
from tapemark.drawing.style import CLOTH_TONES, PAPER, THIN, filled, line
from tapemark.drawing.svg import Sheet
from tapemark.drawing.trace import shape_outlines
from tapemark.geometry import FloatArray
from tapemark.units import MM

Box = tuple[float, float, float, float]

_STEP_M = 1.1 * MM  # lattice at the face
_ABOVE_MM, _BELOW_MM, _TO_SIDE_MM = 142.0, 138.0, 10.0  # of the eyes; beside the head
_NECK_CUT_MM = 4.0  # the neck runs out before the foot of the drawing
_ROWS = 72
_KINDS = {
    "back of head": BACK_OF_HEAD,
    "right ear": EAR,
    "left ear": EAR,
    "hair": HAIR,
    "neck": NECK,
}


class ZonedHead:
    """A person's head, laid for drawing in a box of the page.

    Parameters
    ----------
    scene : Scene
        About the person.
    zones : FaceZones or None
        Light over their face; None in the dark.
    box : tuple of four floats
        Left, top, right and bottom of the room for it. [pt]
    """

    def __init__(self, scene: Scene, zones: FaceZones | None, *, box: Box) -> None:
        self._parts = bust(scene, rows=_ROWS)
        view = frame_view(scene, target=scene.pose.origin)
        seen = _around(scene, self._parts, view)
        place = _placement(seen, box)
        laid = _laid(scene, self._parts, zones, view=view, place=place, seen=seen)
        self._cut = place(np.array([(seen[0], seen[1]), (seen[2], seen[3])]))
        self.stops: ZonePlate | None = None
        self.key_seen: ZonePlate | None = None
        self.picture = laid
        if zones is not None:
            self.stops = zone_plate(laid, zones.points, zones.stops)
            self.key_seen = zone_plate(laid, zones.points, zones.key_seen)
            # Whites of eyes take their tone from the skin around them.
            lit = np.where(laid.plate.kind == FACE, 2.0 ** np.minimum(laid.plate.tone, 0.0), 1.0)
            self.picture = replace(laid, plate=replace(laid.plate, tone=lit))

    def draw(self, sheet: Sheet) -> None:
        """Draw the head."""
        picture = self.picture
        (left, top), (right, bottom) = self._cut
        bottom -= _NECK_CUT_MM * picture.points_per_mm
        window = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
        with sheet.group("sitter", clip=sheet.clip([window])):
            self._plain_parts(sheet)
            if self.stops is not None and self.key_seen is not None:
                paint_zones(sheet, picture, self.stops)
                draw_shadows(sheet, picture, self.key_seen)
            for kind in (FACE, HAIR):
                sheet.area(self._outlines(picture.plate.kind == kind), line(THIN))
        draw_face(sheet, picture, parts=self._parts)
        for index in (0, 1):
            draw_eye(sheet, picture, index=index)
        draw_arms(sheet, picture)
        draw_frame(sheet, picture)

    def outlines(self) -> list[FloatArray]:
        """Return the outlines of head and glasses on the page [pt]."""
        scene = self.picture.scene
        found = self._outlines(self.picture.plate.kind >= 0)
        if scene.lenses is not None:
            rims = (rim_outline(scene, index=index) for index in (0, 1))
            found += [self.picture.on_page(rim) for rim in rims]
        return found

    def _plain_parts(self, sheet: Sheet) -> None:
        """Draw hair, ears and neck flat: their light is not followed."""
        kind = self.picture.plate.kind
        for shown, color in (
            ((kind == NECK) | (kind == BACK_OF_HEAD) | (kind == FACE), PAPER),
            (kind == EAR, PAPER),
            (kind == HAIR, CLOTH_TONES[0]),
        ):
            if shown.any():
                sheet.area(self._outlines(shown), filled(color, outline=THIN))

    def _outlines(self, shown: np.ndarray) -> list[FloatArray]:
        plate = self.picture.plate
        return [self.picture.place(ring) for ring in shape_outlines(plate, shown)]


def can_be_seen(scene: Scene) -> bool:
    """Return whether a person is in front of the camera once it is aimed at them."""
    view = frame_view(scene, target=scene.pose.origin)
    return float(view.depth(scene.pose.origin)) >= LEAST_DEPTH_M


def _around(scene: Scene, parts: Bust, view: CameraView) -> Box:
    """Return the part of the picture with the head and a little neck [-]."""
    tall = scene.sitter.face.face_height_mm / REFERENCE["face_height"]
    per_mm = MM / float(view.depth(scene.pose.origin))
    y = float(view(scene.pose.origin)[1])
    across = [view(grid)[..., 0] for grid in (parts.hair, parts.face, *parts.ears)]
    left, right = (float(pick([pick(one) for one in across])) for pick in (np.nanmin, np.nanmax))
    return (
        left - _TO_SIDE_MM * per_mm,
        y - _ABOVE_MM * tall * per_mm,
        right + _TO_SIDE_MM * per_mm,
        y + _BELOW_MM * tall * per_mm,
    )


def _placement(seen: Box, box: Box) -> Placement:
    """Return where the picture goes so that what is seen fills the box."""
    size = (seen[2] - seen[0], seen[3] - seen[1])
    scale = min((box[2] - box[0]) / size[0], (box[3] - box[1]) / size[1])
    return Placement(
        scale=scale,
        x=(box[0] + box[2]) / 2 - (seen[0] + seen[2]) / 2 * scale,
        y=(box[1] + box[3]) / 2 - (seen[1] + seen[3]) / 2 * scale,
    )


def _laid(
    scene: Scene,
    parts: Bust,
    zones: FaceZones | None,
    *,
    view: CameraView,
    place: Placement,
    seen: Box,
) -> Picture:
    """Return the head with the stops of its face as tone."""
    surfaces = [
        Surface(points=grid, tone=np.ones(grid.shape[:-1]), kind=_KINDS[name])
        for name, grid in parts.grids().items()
        if name in _KINDS
    ]
    if zones is None:
        skin = Surface(points=parts.face, tone=np.ones(parts.face.shape[:-1]), kind=FACE)
    else:
        # A hair's breadth nearer: towards the ears two surfaces are the same.
        skin = Surface(points=zones.points, tone=zones.stops, kind=FACE, nearer_m=1.0 * MM)
    pitch = _STEP_M / float(view.depth(scene.pose.origin))
    plate = lay_plate([*surfaces, skin], view=view, box=seen, pitch=pitch)
    return Picture(scene=scene, view=view, plate=plate, place=place, sights=())
