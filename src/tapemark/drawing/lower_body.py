"""Legs and forearms in the camera's picture, for framings wider than head and shoulders."""

import numpy as np

from tapemark.anatomy import Body
from tapemark.drawing.brush import hull
from tapemark.drawing.picture import Picture
from tapemark.drawing.style import CLOTH_TONES, THIN, filled
from tapemark.drawing.svg import Sheet
from tapemark.geometry import FloatArray

_TROUSERS, _SLEEVE = CLOTH_TONES[2], CLOTH_TONES[1]
_FINE = 18  # points around each joint
_NEAREST_M = 0.15  # nearer to the camera nothing is drawn


def draw_limbs(sheet: Sheet, picture: Picture, *, nearer: bool) -> None:
    """Draw the limbs that lie behind the upper body, or those in front of it.

    Parameters
    ----------
    sheet : Sheet
        The page.
    picture : Picture
        The picture.
    nearer : bool
        Which of the two.

    Notes
    -----
    Somebody seated has thighs and forearms in front; somebody standing has all
    limbs at the sides or below, painted first.
    """
    scene = picture.scene
    if (scene.sitter.posture == "seated") != nearer:
        return
    with sheet.group("limbs"):
        for name, color in (("leg", _TROUSERS), ("forearm", _SLEEVE)):
            _draw_parts(sheet, picture, _limbs(scene.body, name), color)


def _limbs(body: Body, name: str) -> Body:
    """Return the legs, or the lower one of each pair of arms."""
    if name == "leg":
        return body.only("leg")
    arms = body.only("arm")
    lower = slice(len(arms.names) // 2, None)
    return Body(
        names=arms.names[lower],
        centers=arms.centers[lower],
        axes=arms.axes[lower],
        radii=arms.radii[lower],
    )


def _draw_parts(sheet: Sheet, picture: Picture, limbs: Body, color: str) -> None:
    """Draw limbs as sausages from joint to joint, those of a side grown together."""
    seen = [part for part in _joints(limbs) if picture.view.depth(part).min() > _NEAREST_M]
    outlines = [hull(picture.on_page(part)) for part in seen]
    for paint in (filled(color, outline=2 * THIN), filled(color)):
        for outline in outlines:
            sheet.area([outline], paint)


def _joints(limbs: Body) -> list[FloatArray]:
    """Return points on the balls at both ends of each limb, world [m]."""
    around = np.linspace(0.0, 2.0 * np.pi, _FINE, endpoint=False)
    ring = np.stack([np.cos(around), np.zeros(_FINE), np.sin(around)], axis=-1)
    ball = np.concatenate([ring, np.roll(ring, 1, axis=-1), np.roll(ring, 2, axis=-1)])
    found = []
    for center, axes, radii in zip(limbs.centers, limbs.axes, limbs.radii, strict=True):
        half = axes[:, 1] * (radii[1] - 0.5 * radii[0])
        found.append(np.concatenate([center + end + radii[0] * ball for end in (-half, half)]))
    return found
