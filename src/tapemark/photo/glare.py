"""Reflections inside a lens: light that is added to what the lens lets through.

What lies behind a lens is skin, brows, an eye. A reflection adds light of another colour, or
more light than any skin there has. Its strength is measured in luminances of the lit skin beside
the glasses. What is as bright without being a reflection is taken out by where it is: sclera and
catchlights lie in the opening of the eye, highlights of the rim along the outline, a white
background at the outer side of a turned head, where it goes on beyond the rim.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.color import LUMINANCE
from tapemark.photo.lens_regions import Outline
from tapemark.photo.skin import Skin
from tapemark.photo.strip import (
    COLUMNS,
    HALF_WIDE_MM,
    PX_PER_MM,
    EyeStrip,
    StripPart,
    part_around,
)

INSET_MM = 1.0  # along the rim: its own highlights
VISIBLE = 0.18  # of skin: fainter is taken for sheen, make-up or noise
CORE = 0.30  # the brightest part of a reflection has at least this
UNMISTAKABLE, SET_OFF = 1.0, 0.58  # what is fainter has to be set off by this share of itself
LEAST_MM2 = 2.0
THIN_MM = 0.6  # half as wide as a rim's highlight may be

#: A fainter reflection, as coatings leave, is known by its shape: an even patch without dents,
#: brighter than what is around it by a clear step.
FAINT, FAINT_STEP = 0.085, 0.07
FAINT_LEAST_MM2, FAINT_SOLID, FAINT_THICK_MM = 45.0, 0.86, 1.6

#: The opening of the eye about the pupil, half width and half height, with a little room
#: [read-2006]. [mm]
OPENING_MM = (14.0, 5.2)
LIDS_MM = (17.0, 8.5)  # the same with the rims of the lids, which are wet
IRIS_MM = 6.2
CATCHLIGHT_MM = 3.4
#: Where the pads of a frame rest beside the nose, from the pupil: inward and down. [mm]
PADS_MM = ((6.0, 22.0), (4.0, 20.0))
PAD_MM2 = 70.0  # what is no larger there is a pad, or the wire that holds it
BEYOND_MM, ALIKE_STOPS = 6.0, 0.45  # outside the rim, where what is behind the head goes on
_SCLERA = 0.85  # linear luminance that sclera hardly passes where skin is exposed right


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
    opening = _ellipse(part, pupil_mm, OPENING_MM) & lens
    strength = np.where(lens, added_light(part.light, skin), 0.0)
    may = lens & ~_background(strip, part, outline, lens=lens, skin=skin)
    glare = _reflecting(part, may, opening, pupil_mm=pupil_mm, skin=skin, strength=strength)
    return LensGlareSeen(
        lens=whole_lens,
        opening=part.back(opening),
        glare=part.back(glare),
        parts=part.back(_numbered(glare)),
        strength=part.back(strength),
    )


def _reflecting(
    part: StripPart,
    may: np.ndarray,
    opening: np.ndarray,
    *,
    pupil_mm: tuple[float, float],
    skin: Skin,
    strength: FloatArray,
) -> np.ndarray:
    """Return which pixels of a lens are reflections, of those that may be."""
    shows = may & (strength > VISIBLE)
    lids = _ellipse(part, pupil_mm, LIDS_MM)
    sure = _kept(shows & ~lids, strength)
    outside = _joined(_kept(shows & ~opening, strength), sure)
    outside |= _faint(strength, may & ~opening, known=outside)
    iris = _ellipse(part, pupil_mm, (0.8 * IRIS_MM, 0.8 * IRIS_MM)) & (strength > 0.6)
    bright = part.luminance > max(_SCLERA, 1.25 * skin.bright)
    inside = shows & opening & (_goes_on(outside) | bright | iris)
    inside &= ~_catchlights(part, inside, outside, pupil_mm)
    return _without_pads(part, _whole(outside | inside), pupil_mm)


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
    left is another colour. White added to skin leaves a share 1 - Y/R of itself, by which it is
    scaled. Where colour says nothing, as with skin that is nearly grey, brightness does: more
    than the brighter parts of the skin.
    """
    import cv2

    soft = cv2.GaussianBlur(light, (0, 0), 0.8)
    bright = soft @ LUMINANCE.astype(np.float32)
    by_color = np.minimum(unlike_skin(soft, skin), bright / np.float32(skin.lit))
    by_brightness = (bright - 1.15 * skin.bright) / skin.lit
    return np.asarray(np.maximum(np.maximum(by_color, by_brightness), 0.0))


def unlike_skin(light: FloatArray, skin: Skin) -> FloatArray:
    """Return how much white would make skin look like linear colours (..., 3). [-]"""
    color = np.maximum(skin.color, 2e-3).astype(np.float32)
    own = (light / color).min(axis=-1)
    left = max(1.0 - skin.luminance / float(color.max()), 0.12)
    rest = light @ LUMINANCE.astype(np.float32) - own * np.float32(skin.luminance)
    return np.asarray(rest / np.float32(left * skin.lit))


def _ellipse(
    part: StripPart, center: tuple[float, float], halves: tuple[float, float]
) -> np.ndarray:
    across, down = (part.across - center[0]) / halves[0], (part.down - center[1]) / halves[1]
    return np.asarray(across**2 + down**2 <= 1.0)


def _numbered(mask: np.ndarray) -> np.ndarray:
    import cv2

    return np.asarray(cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)[1])


def _kept(shows: np.ndarray, strength: FloatArray) -> np.ndarray:
    """Return the parts of a mask that are reflections: large, thick and bright enough."""
    import cv2

    count, parts, stats, _ = cv2.connectedComponentsWithStats(shows.astype(np.uint8))
    if count < 2:
        return np.zeros_like(shows)
    thick = cv2.distanceTransform(shows.astype(np.uint8), cv2.DIST_L2, 3) / PX_PER_MM
    kept = np.zeros(count, dtype=bool)
    for number in range(1, count):
        left, top, wide, tall, area = stats[number]
        box = np.s_[top : top + tall, left : left + wide]
        own = parts[box] == number
        peak = float(np.percentile(strength[box][own], 90))
        kept[number] = (
            area >= LEAST_MM2 * PX_PER_MM**2
            and thick[box][own].max() >= THIN_MM
            and peak >= CORE
            and (peak >= UNMISTAKABLE or _step(strength, parts == number) >= SET_OFF * peak)
        )
    return np.asarray(kept[parts])


def _step(strength: FloatArray, own: np.ndarray) -> float:
    """Return how much brighter a part is than what is around it: sheen on skin has no border."""
    import cv2

    grown = [cv2.dilate(own.astype(np.uint8), np.ones((size, size), np.uint8)) for size in (3, 7)]
    around = (grown[1] > 0) & (grown[0] == 0)
    inner = cv2.erode(own.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    if not (around.any() and inner.any()):
        return 0.0
    return float(np.median(strength[inner]) - np.median(strength[around]))


def _goes_on(outside: np.ndarray) -> np.ndarray:
    """Return where reflections go on: lights have no dents, so within their convex hulls."""
    import cv2

    filled = np.zeros(outside.shape, dtype=np.uint8)
    contours, _ = cv2.findContours(
        outside.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE
    )
    for one in contours:
        cv2.fillConvexPoly(filled, cv2.convexHull(one), 1)
    return filled > 0


def _catchlights(
    part: StripPart, found: np.ndarray, outside: np.ndarray, pupil_mm: tuple[float, float]
) -> np.ndarray:
    """Return the small bright places on the iris that are mirrored by the eye itself."""
    import cv2

    count, parts, stats, centers = cv2.connectedComponentsWithStats(found.astype(np.uint8))
    small = np.zeros(count, dtype=bool)
    beside = cv2.dilate(outside.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    for number in range(1, count):
        wide, tall = stats[number][2:4] / PX_PER_MM
        near = np.hypot(*(_place(part, centers[number]) - pupil_mm)) < IRIS_MM
        small[number] = (
            max(wide, tall) <= CATCHLIGHT_MM and near and not (beside & (parts == number)).any()
        )
    return np.asarray(small[parts] & (parts > 0))


def _joined(parts: np.ndarray, sure: np.ndarray) -> np.ndarray:
    """Return the connected parts of a mask that reach into another one."""
    numbered = _numbered(parts)
    reached = np.unique(numbered[sure])
    return np.asarray(np.isin(numbered, reached[reached > 0]))


def _faint(strength: FloatArray, place: np.ndarray, *, known: np.ndarray) -> np.ndarray:
    """Return faint reflections: even patches without dents, set off by a step."""
    import cv2

    even = cv2.medianBlur(strength.astype(np.float32), 5)
    shows = (place & ~known & (even > FAINT)).astype(np.uint8)
    shows = cv2.morphologyEx(shows, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, parts, stats, _ = cv2.connectedComponentsWithStats(shows)
    found = np.zeros_like(place)
    beside = cv2.dilate(known.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    for number in range(1, count):
        if stats[number][4] < FAINT_LEAST_MM2 * PX_PER_MM**2:
            continue
        own = parts == number
        if (own & beside).any():
            continue  # the soft border of a strong one
        contour = max(
            cv2.findContours(own.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0],
            key=len,
        )
        hull = cv2.contourArea(cv2.convexHull(contour))
        solid = cv2.contourArea(contour) / max(hull, 1.0)
        thick = cv2.distanceTransform(own.astype(np.uint8), cv2.DIST_L2, 3).max() / PX_PER_MM
        around = cv2.dilate(own.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
        around &= place & ~known & (cv2.dilate(own.astype(np.uint8), np.ones((3, 3))) == 0)
        step = np.median(even[own]) - np.median(even[around]) if around.any() else 0.0
        found |= own & (solid >= FAINT_SOLID and thick >= FAINT_THICK_MM and step >= FAINT_STEP)
    return found


def _whole(glare: np.ndarray) -> np.ndarray:
    """Return a mask with its pinholes closed and its crumbs gone."""
    import cv2

    closed = cv2.morphologyEx(glare.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    count, parts, stats, _ = cv2.connectedComponentsWithStats(closed)
    large = stats[:count, 4] >= LEAST_MM2 * PX_PER_MM**2
    large[0] = False
    return np.asarray(large[parts])


def _place(part: StripPart, center: FloatArray) -> FloatArray:
    """Return where in the strip a column and row of a part are. [mm]"""
    return np.array([part.across[0, 0], part.down[0, 0]]) + center / PX_PER_MM


def _without_pads(part: StripPart, glare: np.ndarray, pupil_mm: tuple[float, float]) -> np.ndarray:
    """Return a mask without the small bright things where nose pads are."""
    import cv2

    count, parts, stats, centers = cv2.connectedComponentsWithStats(glare.astype(np.uint8))
    kept = np.ones(count, dtype=bool)
    kept[0] = False
    (nearest, farthest), (highest, lowest) = PADS_MM
    for number in range(1, count):
        at = _place(part, centers[number]) - pupil_mm
        inward = -np.sign(pupil_mm[0]) * at[0]
        there = nearest < inward < farthest and highest < at[1] < lowest
        kept[number] = not (there and stats[number][4] < PAD_MM2 * PX_PER_MM**2)
    return np.asarray(kept[parts])


def _background(
    strip: EyeStrip, part: StripPart, outline: Outline, *, lens: np.ndarray, skin: Skin
) -> np.ndarray:
    """Return where a lens shows what is behind the head: the same as goes on beyond its rim."""
    import cv2

    outer = np.sign(outline.across)
    edge = outline.across + outer * outline.half_width
    column = int((edge + outer * BEYOND_MM + HALF_WIDE_MM) * PX_PER_MM)
    if not 2 <= column < COLUMNS - 2:
        return np.zeros_like(lens)
    beyond = np.median(strip.light[part.rows, column - 2 : column + 3], axis=1, keepdims=True)
    odd = unlike_skin(beyond, skin) > VISIBLE
    alike = np.abs(np.log2((part.light + 0.01) / (beyond + 0.01))).max(axis=-1) < ALIKE_STOPS
    away = np.abs(part.across - edge)
    may = lens & alike & odd & (away < 0.7 * outline.half_width)
    parts = cv2.connectedComponents(may.astype(np.uint8))[1]
    touching = np.unique(parts[may & (away < 4.0)])
    return np.asarray(np.isin(parts, touching[touching > 0]))
