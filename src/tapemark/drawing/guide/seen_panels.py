"""What the camera sees in a figure: both eyes, the whole head, or one eye alone."""

import numpy as np

from tapemark.analysis import frame_view
from tapemark.drawing.guide.panel import Box, Panel
from tapemark.drawing.set_screen.view import UNIT_M, Page, ViewPerson, set_view
from tapemark.geometry import FloatArray

_HEAD_M = (0.30, 0.34, 0.0)  # width and height of the box around a head; its middle below the eyes
_EYE_M = (0.040, 0.026)


def eyes_panel(person: ViewPerson, *, title: str) -> Panel:
    """Return both eyes and the glasses as the camera sees them."""
    drawn = set_view((person,))
    return Panel(kind="seen", title=title, box=drawn.eyes_box, svg="".join(drawn.parts))


def head_panel(person: ViewPerson, *, title: str) -> Panel:
    """Return the head as the camera sees it."""
    drawn = set_view((person,))
    middle = _at(person, person.scene.pose.origin)
    return Panel(
        kind="seen", title=title, box=_around(middle, _HEAD_M[:2]), svg="".join(drawn.parts)
    )


def eye_panels(person: ViewPerson, *, titles: tuple[str, str]) -> tuple[Panel, Panel]:
    """Return each eye as the camera sees it, the sitter's right first, which is on the left."""
    drawn = set_view((person,))
    right, left = (
        Panel(
            kind="seen",
            title=title,
            box=_around(_at(person, center), _EYE_M),
            svg="".join(drawn.parts),
        )
        for title, center in zip(titles, person.scene.eyes.opening_center, strict=True)
    )
    return right, left


def _at(person: ViewPerson, world: FloatArray) -> FloatArray:
    """Return where a world point is drawn."""
    scene = person.scene
    view = frame_view(scene)
    depth = float(view.depth(scene.pose.origin))
    return Page(view=view, scale=depth / UNIT_M)(np.asarray(world))


def _around(middle: FloatArray, size_m: tuple[float, float]) -> Box:
    wide, high = (one / UNIT_M for one in size_m)
    return float(middle[0]) - wide / 2, float(middle[1]) - high / 2, wide, high
