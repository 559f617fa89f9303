"""The frame as the camera sees it, and both eyes enlarged, with what the lenses show."""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import LensGlare, Scene, frame_view
from tapemark.anatomy import SIDES
from tapemark.drawing.eye_notes import eye_note
from tapemark.drawing.glare_rays import OVER_EYE_VEIL
from tapemark.drawing.labels import Label, LabelSpace
from tapemark.drawing.page import (
    A4_LONG_PT,
    A4_SHORT_PT,
    HEADER_PT,
    MARGIN_PT,
    draw_labels,
    framed,
    heading,
    left_out_note,
)
from tapemark.drawing.picture import Picture
from tapemark.drawing.portrait import Placement
from tapemark.drawing.projection import CameraView
from tapemark.drawing.reflections import (
    define_hatching,
    hatching_key,
    reflection_page,
    reflection_target,
    veils,
)
from tapemark.drawing.sitter_picture import LEAST_DEPTH_M, Shown, SitterPicture
from tapemark.drawing.spectacles import rim_outline
from tapemark.drawing.style import INK, WARM
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray
from tapemark.units import MM, format_length

_FRAME_PT = (318.0, 462.0)  # the most that the whole frame may take
_GUTTER_PT = 26.0
_LABEL_LANE_PT = 46.0  # above the enlarged eyes
_NOTES_PT = 104.0  # below them
_KEY_PT = 24.0  # at the foot of the page
_AROUND_EYES_MM = 9.0
_BARE_EYES_MM = 62.0  # half the width shown without glasses
_ONE_LEADER_PT = 12.0  # places nearer to each other share a leader
_FAR_OUT = 2.0  # times half the frame
_COARSE_M, _FINE_M = 1.6e-3, 0.5e-3  # lattice steps at the sitter


@dataclass(frozen=True, kw_only=True, slots=True)
class _Window:
    """A part of the camera's picture and where it lies on the page."""

    view: CameraView
    box: tuple[float, float, float, float]  # left, top, right, bottom on the picture plane
    corner: tuple[float, float]  # upper left corner on the page [pt]
    scale: float

    @property
    def place(self) -> Placement:
        x, y = (at - edge * self.scale for at, edge in zip(self.corner, self.box[:2], strict=True))
        return Placement(scale=self.scale, x=x, y=y)

    @property
    def size(self) -> tuple[float, float]:
        left, top, right, bottom = self.box
        return ((right - left) * self.scale, (bottom - top) * self.scale)

    @property
    def corners(self) -> FloatArray:
        (x, y), (width, height) = self.corner, self.size
        return np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])


def camera_view_drawing(
    scene: Scene, *, shown: Shown, others: tuple[SitterPicture, ...] = ()
) -> str:
    """Return a drawing of the frame as the camera sees it, as SVG text.

    Parameters
    ----------
    scene : Scene
        The setup as surfaces, about the person whose eyes are enlarged.
    shown : Shown
        What their lenses and eyes show.
    others : tuple of SitterPicture
        Everybody else in the setup.
    """
    setup = scene.setup
    sheet = _sheet(scene, shown.lenses)
    define_hatching(sheet)
    sitter = SitterPicture(scene, shown, others=others)
    whole, eyes = _frame_window(scene), _eye_window(scene, sheet)
    enlarged = sitter.draw(sheet, window=eyes, step_m=_FINE_M)
    sitter.draw(sheet, window=whole, step_m=_COARSE_M)
    for window in (whole, eyes):
        framed(sheet, *window.corner, window.size)
    distance = format_length(setup.camera.place.distance_m, system=setup.units)
    detail = f"{round(setup.camera.focal_length_mm, 1):g} mm lens at {distance}"
    title = setup.title if len(setup.people) == 1 else f"{setup.title}  ·  {scene.sitter.name}"
    heading(sheet, title=title, kind="Through the camera", detail=detail)
    _notes(sheet, eyes, shown)
    if enlarged is not None:
        _reflection_names(sheet, eyes, enlarged, shown)
    hatching_key(sheet, x=eyes.corner[0], y=sheet.height_pt - MARGIN_PT)
    return sheet.to_text()


def _sheet(scene: Scene, lenses: tuple[LensGlare, ...]) -> Sheet:
    verdicts = "; ".join(f"{lens.side} lens {lens.verdict}" for lens in lenses) or "no glasses"
    sitter = scene.sitter.name
    return Sheet(
        width_pt=A4_LONG_PT,
        height_pt=A4_SHORT_PT,
        title=f"Through the camera: {scene.setup.title or sitter}",
        description=(
            f"{sitter} as the camera sees them, and both eyes enlarged with reflections and "
            f"catchlights where they fall: {verdicts}."
        ),
    )


def _frame_window(scene: Scene) -> _Window:
    view = frame_view(scene)
    scale = min(_FRAME_PT[0] / 2 / view.half_width, _FRAME_PT[1] / 2 / view.half_height)
    return _Window(
        view=view,
        box=(-view.half_width, -view.half_height, view.half_width, view.half_height),
        corner=(MARGIN_PT, MARGIN_PT + HEADER_PT),
        scale=scale,
    )


def _eye_window(scene: Scene, sheet: Sheet) -> _Window:
    """Return the window on both eyes and the glasses, as wide as the page leaves room."""
    view = _view_of_eyes(scene)
    left = MARGIN_PT + _FRAME_PT[0] + _GUTTER_PT
    top = MARGIN_PT + HEADER_PT + _LABEL_LANE_PT
    width = sheet.width_pt - MARGIN_PT - left
    height = sheet.height_pt - MARGIN_PT - _KEY_PT - _NOTES_PT - top
    depth = float(view.depth(scene.pose.origin))
    if scene.lenses is None:
        points = view(scene.eyes.opening_center)
        around = (_BARE_EYES_MM - scene.sitter.face.interpupillary_mm / 2) * MM / depth
    else:
        points = view(np.concatenate([rim_outline(scene, index=index) for index in (0, 1)]))
        around = _AROUND_EYES_MM * MM / depth
    low, high = points.min(axis=0), points.max(axis=0)
    half_width = max(
        float(high[0] - low[0]) / 2 + around, float(high[1] - low[1]) / 2 * width / height
    )
    half_height = half_width * height / width
    x, y = (float(part) for part in (low + high) / 2)
    return _Window(
        view=view,
        box=(x - half_width, y - half_height, x + half_width, y + half_height),
        corner=(left, top),
        scale=width / 2 / half_width,
    )


def _view_of_eyes(scene: Scene) -> CameraView:
    """Return the camera's view; one aimed at the eyes if they are far outside its frame."""
    view = frame_view(scene)
    at = view(scene.pose.origin)
    far_out = np.abs(at) > _FAR_OUT * max(view.half_width, view.half_height)
    if view.depth(scene.pose.origin) < LEAST_DEPTH_M or far_out.any():
        return frame_view(scene, target=scene.pose.origin)
    return view


def _notes(sheet: Sheet, eyes: _Window, shown: Shown) -> None:
    """Set the note of each eye under it."""
    left, width = eyes.corner[0], eyes.size[0]
    top = eyes.corner[1] + eyes.size[1] + 8.0
    for index, side in enumerate(SIDES):
        own = [lens for lens in shown.lenses if lens.side == side]
        eye_note(
            sheet,
            side=side,
            lens=own[0] if own else None,
            catchlights=tuple(one for one in shown.catchlights if one.side == side),
            box=(left + index * (width / 2 + 8.0), top, width / 2 - 8.0, _NOTES_PT - 10.0),
        )


def _reflection_names(sheet: Sheet, eyes: _Window, enlarged: Picture, shown: Shown) -> None:
    """Set the name of each reflection above the enlarged eyes."""
    left, top = eyes.corner
    lane = MARGIN_PT + HEADER_PT - 14.0
    space = LabelSpace(left=left, top=lane, right=left + eyes.size[0], bottom=top - 3.0)
    placed, left_out = space.place(_reflection_labels(enlarged, shown))
    draw_labels(sheet, placed)
    names = [label.lines[0][0] for label in left_out]
    left_out_note(sheet, names, x=MARGIN_PT, y=sheet.height_pt - MARGIN_PT, room_pt=_FRAME_PT[0])


def _reflection_labels(picture: Picture, shown: Shown) -> list[Label]:
    """Return one label for each light in each lens, those over an eye first."""
    veil = veils(shown.lenses)
    pages = [reflection_page(picture, one) for one in shown.outlines]
    by_light: dict[tuple[str, str], list[int]] = {}
    for number, one in enumerate(shown.outlines):
        by_light.setdefault((one.side, one.source), []).append(number)
    found = []
    for (side, source), numbers in by_light.items():
        surfaces = [shown.outlines[number].surface for number in numbers]
        targets: list[tuple[float, float]] = []
        for number in numbers:
            others = [ring for k in numbers if k != number for ring in pages[k]]
            place = reflection_target(pages[number], others=others)
            if all(np.hypot(place[0] - x, place[1] - y) > _ONE_LEADER_PT for x, y in targets):
                targets.append(place)
        share = max(veil.get((source, surface, side), 0.0) for surface in surfaces)
        label = Label(
            lines=((source, 600), (" and ".join(surfaces), 400)),
            target=targets[0],
            also=tuple(targets[1:]),
            color=WARM if share >= OVER_EYE_VEIL else INK,
        )
        found.append((share, label))
    return [label for _share, label in sorted(found, key=lambda pair: -pair[0])]
