"""Reflections inside a lens: light that is added to what the lens lets through.

What lies behind a lens is skin, brows, an eye. A reflection adds light of another colour, or
more light than any skin there has. Its strength is measured in luminances of the lit skin beside
the glasses. What is as bright without being a reflection, as sclera, catchlights, highlights of
rims and pads, or a white background behind a turned head, is told by what is known of each part:
where it lies, how it is set off, what colour and shape it has (`glare_parts`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.color import LUMINANCE
from tapemark.photo.glare_parts import LensPart, lens_parts, likely_glare
from tapemark.photo.lens_regions import Outline
from tapemark.photo.part_facts import LensPlaces
from tapemark.photo.skin import Skin
from tapemark.photo.strip import (
    COLUMNS,
    HALF_WIDE_MM,
    PX_PER_MM,
    EyeStrip,
    StripPart,
    part_around,
)

INSET_MM = 0.4  # along the rim: its own highlights
LIKELY = 0.4  # less likely parts are none
SHARED = 0.3  # what shares more of itself with a likelier part is the same reflection

#: The opening of the eye about the pupil, half width and half height, with a little room
#: [read-2006]. [mm]
OPENING_MM = (14.0, 5.2)
LIDS_MM = (17.0, 8.5)  # the same with the rims of the lids, which are wet
#: Where the pads of a frame rest beside the nose, from the pupil: inward and down. [mm]
PADS_MM = ((6.0, 22.0), (2.0, 20.0))
_CLIPPED = 0.96  # linear: a colour that is no brighter because it cannot be says nothing
BEYOND_MM = 6.0  # so far outside the rim is what is seen behind the head


@dataclass(frozen=True, kw_only=True, eq=False)
class LensGlareSeen:
    """What one lens shows, on the strip.

    Attributes
    ----------
    lens, opening : (rows, columns) bool arrays
        The lens within its rim, and the opening of the eye in it.
    glare : (rows, columns) bool array
        Reflections.
    parts : (rows, columns) int array
        Their numbers, 0 for none.
    strength : (rows, columns) array
        Light added, in luminances of the skin beside it. [-]
    """

    lens: np.ndarray
    opening: np.ndarray
    glare: np.ndarray
    parts: np.ndarray
    strength: FloatArray


def lens_glare_seen(
    strip: EyeStrip, outline: Outline, *, pupil_mm: tuple[float, float], skin: Skin
) -> LensGlareSeen:
    """Return the reflections in one lens.

    Parameters
    ----------
    strip : EyeStrip
        Around the eyes.
    outline : Outline
        The lens.
    pupil_mm : tuple of two floats
        The pupil behind it. [mm]
    skin : Skin
        Beside it.
    """
    whole_lens = outline.within(inset_mm=INSET_MM)
    part = part_around(strip, whole_lens)
    lens = whole_lens[part.rows, part.columns]
    strength = np.where(lens, added_light(part.light, skin), 0.0)
    places = places_in(strip, part, outline, lens=lens, pupil_mm=pupil_mm)
    glare = _likeliest(lens_parts(part, strength, places, skin=skin), lens.shape)
    return LensGlareSeen(
        lens=whole_lens,
        opening=part.back(places.opening & lens),
        glare=part.back(glare),
        parts=part.back(_numbered(glare)),
        strength=part.back(strength),
    )


def places_in(
    strip: EyeStrip,
    part: StripPart,
    outline: Outline,
    *,
    lens: np.ndarray,
    pupil_mm: tuple[float, float],
) -> LensPlaces:
    """Return where things are in the part of a strip around a lens.

    Parameters
    ----------
    strip, part : EyeStrip, StripPart
        Around the eyes, and around the lens.
    outline : Outline
        The lens.
    lens : (rows, columns) bool array
        Of the part, within the rim.
    pupil_mm : tuple of two floats
        The pupil behind it. [mm]
    """
    import cv2

    outer = float(np.sign(outline.across))
    edge = outline.across + outer * outline.half_width
    column = int((edge + outer * BEYOND_MM + HALF_WIDE_MM) * PX_PER_MM)
    column = min(max(column, 2), COLUMNS - 3)
    beyond = np.median(strip.light[part.rows, column - 2 : column + 3], axis=1)
    inward, down = -outer * (part.across - pupil_mm[0]), part.down - pupil_mm[1]
    (nearest, farthest), (highest, lowest) = PADS_MM
    pads = (inward > nearest) & (inward < farthest) & (down > highest) & (down < lowest)
    return LensPlaces(
        lens=lens,
        lids=_ellipse(part, pupil_mm, LIDS_MM),
        opening=_ellipse(part, pupil_mm, OPENING_MM),
        pads=np.asarray(pads),
        inner_px=cv2.distanceTransform(lens.astype(np.uint8), cv2.DIST_L2, 3),
        outer_mm=np.broadcast_to(np.abs(part.across - edge), lens.shape),
        above_cm=-down / 10.0,
        beyond=beyond,
    )


def _likeliest(parts: list[LensPart], shape: tuple[int, ...]) -> np.ndarray:
    """Return the likely parts as a mask; of those that share much, the likeliest."""
    glare = np.zeros(shape, dtype=bool)
    weighed = zip(likely_glare(parts).tolist(), parts, strict=True)
    likely = [pair for pair in weighed if pair[0] >= LIKELY]
    for _, one in sorted(likely, key=lambda pair: -pair[0]):
        if (glare[one.box] & one.own).sum() < SHARED * one.own.sum():
            glare[one.box] |= one.own
    return glare


def added_light(light: FloatArray, skin: Skin) -> FloatArray:
    """Return how much light is added to skin, in luminances of lit skin. [-]

    Parameters
    ----------
    light : (rows, columns, 3) array
        Linear. [-]
    skin : Skin
        Beside the glasses.

    Notes
    -----
    The largest multiple of the skin's colour that fits into a pixel is taken for skin; what is
    left is another colour. Every colour counts the same, so that ghosts of coatings show as white
    lights do. White added to skin leaves a share 1 - M/R of itself (M the mean of the skin's
    colours, R the strongest), by which it is scaled. Where colour says nothing, as with skin that
    is nearly grey, brightness does: more than the brighter parts of the skin.
    """
    import cv2

    soft = cv2.GaussianBlur(light, (0, 0), 0.8)
    bright = soft @ LUMINANCE.astype(np.float32)
    most = np.maximum(np.maximum(soft[..., 0], soft[..., 1]), soft[..., 2])
    by_color = np.minimum(unlike_skin(soft, skin), most / np.float32(skin.lit))
    by_brightness = (bright - 1.15 * skin.bright) / skin.lit
    return np.asarray(np.maximum(np.maximum(by_color, by_brightness), 0.0))


def unlike_skin(light: FloatArray, skin: Skin) -> FloatArray:
    """Return how much white would make skin look like linear colours (..., 3). [-]"""
    color = np.maximum(skin.color, 2e-3).astype(np.float32)
    ratio = light / color
    told = _least_color(np.where(light >= _CLIPPED, np.float32(np.inf), ratio))
    own = np.where(np.isfinite(told), told, _least_color(ratio))[..., None]
    mean = float(color.mean())
    left = max(1.0 - mean / float(color.max()), 0.12)
    more = np.maximum(light - own * color, 0.0)
    rest = (more[..., 0] + more[..., 1] + more[..., 2]) / np.float32(3.0)
    return np.asarray(rest / np.float32(left * skin.lit))


def _least_color(values: FloatArray) -> FloatArray:
    """Return the least of red, green and blue (..., 3)."""
    return np.asarray(np.minimum(np.minimum(values[..., 0], values[..., 1]), values[..., 2]))


def _ellipse(
    part: StripPart, center: tuple[float, float], halves: tuple[float, float]
) -> np.ndarray:
    across, down = (part.across - center[0]) / halves[0], (part.down - center[1]) / halves[1]
    return np.asarray(across**2 + down**2 <= 1.0)


def _numbered(mask: np.ndarray) -> np.ndarray:
    import cv2

    return np.asarray(cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)[1])
