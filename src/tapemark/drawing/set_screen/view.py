"""The camera's view for the screen: who is in the frame, and what lenses and eyes show.

Units are tenths of a millimetre at the main sitter's eyes, counted from the middle of the frame.
The same fragment serves the whole frame and the eyes enlarged: one gives it another box.  See
`set_style` for the classes.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tapemark.analysis import (
    Catchlight,
    FaceLight,
    LensGlare,
    LensView,
    ReflectionOutline,
    Scene,
    frame_view,
)
from tapemark.analysis.key_light import KeyLight
from tapemark.anatomy import bridge_line, temple_line
from tapemark.drawing.set_screen.eyes import draw_eyes, straight_to_seen
from tapemark.drawing.set_screen.portrait import draw_bust, draw_features, draw_shade, skin_id
from tapemark.drawing.set_screen.svg import SetSheet, fewer
from tapemark.drawing.set_screen.things import frame_key, rims
from tapemark.geometry import FloatArray

if TYPE_CHECKING:
    from tapemark.drawing.projection import CameraView

UNIT_M = 1e-4  # of the drawing, at the sitter
OVER_EYE_VEIL = 0.001  # from this veil on a reflection counts as lying over the eye
_LEAST_DEPTH_M = 0.15
_AROUND_EYES_M, _EYES_HIGH = 0.012, 0.62  # of the box around the eyes; height over width


@dataclass(frozen=True, kw_only=True, eq=False)
class ViewPerson:
    """A person in front of the camera.

    Attributes
    ----------
    scene : Scene
        About them.
    light : FaceLight
        Light around their eyes.
    key : KeyLight or None
        What models their face; None in the dark.
    view : LensView or None
        The camera's view of their lenses; None without glasses.
    lenses : tuple of LensGlare
        What the lenses show.
    outlines : tuple of ReflectionOutline
        Where.
    catchlights : tuple of Catchlight
        Of both eyes.
    """

    scene: Scene
    light: FaceLight
    key: KeyLight | None
    view: LensView | None
    lenses: tuple[LensGlare, ...]
    outlines: tuple[ReflectionOutline, ...]
    catchlights: tuple[Catchlight, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Page:
    """From the world to the drawing.

    Attributes
    ----------
    view : CameraView
        The camera.
    scale : float
        Units of the drawing for a step of 1 on the picture plane.
    """

    view: "CameraView"
    scale: float

    def __call__(self, world: FloatArray) -> FloatArray:
        """Return where world points (..., 3) are drawn, (..., 2)."""
        return np.asarray(self.view(world) * self.scale)

    @property
    def frame(self) -> tuple[float, float, float, float]:
        """Left, top, width and height of the frame."""
        half = self.view.half_width * self.scale, self.view.half_height * self.scale
        return -half[0], -half[1], 2 * half[0], 2 * half[1]


@dataclass(frozen=True, kw_only=True, slots=True)
class ViewDrawn:
    """The camera's view as drawn.

    Attributes
    ----------
    box : tuple of four floats
        Left, top, width and height of the whole frame.
    eyes_box : tuple of four floats
        The same around the main sitter's eyes and glasses.
    parts : tuple of str
        The fragment, part by part.
    """

    box: tuple[float, float, float, float]
    eyes_box: tuple[float, float, float, float]
    parts: tuple[str, ...]


def set_view(people: tuple[ViewPerson, ...]) -> ViewDrawn:
    """Return the camera's view of some people, the main sitter first."""
    main = people[0].scene
    view = frame_view(main)
    depth = max(float(view.depth(main.pose.origin)), _LEAST_DEPTH_M)
    page = Page(view=view, scale=depth / UNIT_M)
    sheet = SetSheet()
    sheet.kept(("view behind", frame_key(main)), lambda own: _behind(own, main, page))
    seen = [one for one in people if view.depth(one.scene.pose.origin) > _LEAST_DEPTH_M]
    for one in sorted(seen, key=lambda each: -float(view.depth(each.scene.pose.origin))):
        _person(sheet, one, page)
    left, top, wide, high = page.frame
    corners = [(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)]
    sheet.area([np.array(corners)], "frame")
    return ViewDrawn(box=page.frame, eyes_box=_eyes_box(main, page), parts=sheet.to_parts())


def _behind(sheet: SetSheet, scene: Scene, page: Page) -> None:
    """Draw the wall and the backdrop behind the sitter."""
    left, top, wide, high = (one * 1.02 for one in page.frame)
    corners = [(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)]
    sheet.area([np.array(corners)], "ground")
    backdrop = scene.setup.backdrop
    if backdrop is None:
        return
    x, y, z = backdrop.width_m / 2, -backdrop.distance_m, backdrop.height_m
    rim = np.array([(-x, y, 0.0), (x, y, 0.0), (x, y, z), (-x, y, z)])
    if (page.view.depth(rim) > _LEAST_DEPTH_M).all():
        low, most = np.array([left, top]), np.array([left + wide, top + high])
        sheet.area([np.clip(page(rim), low, most)], "backdrop")


def _person(sheet: SetSheet, one: ViewPerson, page: Page) -> None:
    scene = one.scene
    key = (scene.sitter, skin_id(scene), frame_key(scene))
    sheet.kept(("view bust", key), lambda own: draw_bust(own, scene, page))
    draw_shade(sheet, scene, page, light=one.light, key=one.key)
    sheet.kept(("view face", key), lambda own: _face(own, one, page))
    _catchlights(sheet, one, page)
    _reflections(sheet, one, page)
    sheet.kept(("view glasses", key), lambda own: _glasses(own, scene, page))


def _face(sheet: SetSheet, one: ViewPerson, page: Page) -> None:
    draw_features(sheet, one.scene, page)
    draw_eyes(sheet, one.scene, page, view=one.view)


def _catchlights(sheet: SetSheet, one: ViewPerson, page: Page) -> None:
    """Draw the catchlights that are seen, where the camera sees them through the lens."""
    for index, side in enumerate(("right", "left")):
        own = [part for part in one.catchlights if part.side == side and part.visible]
        if not own:
            continue
        seen = straight_to_seen(one.scene, page, view=one.view, index=index)
        for part in own:
            ring = seen(page(np.array(part.outline)))
            sheet.area([fewer(ring, tolerance=1.0)], "catchlight")


def _reflections(sheet: SetSheet, one: ViewPerson, page: Page) -> None:
    """Draw reflections where they fall, those of the front last."""
    veil = {
        (part.source, part.surface, lens.side): part.veil
        for lens in one.lenses
        for part in lens.reflections
    }
    for part in sorted(one.outlines, key=lambda own: own.surface != "back"):
        over = veil.get((part.source, part.surface, part.side), 0.0) >= OVER_EYE_VEIL
        name = f"reflection {part.surface} {'over' if over else 'beside'}"
        rings = [fewer(page(np.array(ring)), tolerance=4.0) for ring in part.polygons]
        sheet.blob(rings, name, **{"data-source": part.source})


def _glasses(sheet: SetSheet, scene: Scene, page: Page) -> None:
    lenses, glasses = scene.lenses, scene.sitter.glasses
    if lenses is None or glasses is None:
        return
    for index in (0, 1):
        hinge, ear, _ = temple_line(lenses, index=index, sitter=scene.sitter, pose=scene.pose)
        outwards = scene.pose.axes[:, 0] * (1.0 if index == 0 else -1.0)
        if float(outwards @ (scene.camera - hinge)) > 0.0:
            sheet.line(page(np.stack([hinge, ear])), "arm")
    sheet.line(fewer(page(bridge_line(lenses, count=13)), tolerance=1.0), "bridge")
    for edge in rims(lenses):
        sheet.blob([page(edge)], f"rim {glasses.rim}")


def _eyes_box(scene: Scene, page: Page) -> tuple[float, float, float, float]:
    """Return the box around both eyes and the glasses; the frame where they are not in front."""
    if float(page.view.depth(scene.pose.origin)) <= _LEAST_DEPTH_M:
        return page.frame
    if scene.lenses is None:
        points = page(scene.eyes.opening_center)
        around = 0.03 / UNIT_M
    else:
        points = page(np.concatenate(rims(scene.lenses)))
        around = _AROUND_EYES_M / UNIT_M
    low, high = points.min(axis=0), points.max(axis=0)
    wide = float(high[0] - low[0]) + 2 * around
    tall = max(float(high[1] - low[1]) + 2 * around, 0.0)
    wide = max(wide, tall / _EYES_HIGH)
    tall = wide * _EYES_HIGH
    x, y = (float(one) for one in (low + high) / 2)
    return x - wide / 2, y - tall / 2, wide, tall
