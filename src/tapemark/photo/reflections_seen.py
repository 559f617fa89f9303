"""Each reflection in a lens measured: where, how large, how bright, whether it can be mended."""

from __future__ import annotations

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.glare import LIKELY, LensGlareSeen
from tapemark.photo.lens_regions import Outline
from tapemark.photo.reading import LensReading, Point, ReflectionSeen
from tapemark.photo.skin import CLIPPED, Skin
from tapemark.photo.strip import EyeStrip, to_mm

RECOVERABLE_CLIPPED = 0.05  # more of it clipped in every colour: nothing is left behind it
RECOVERABLE_STOPS = 1.3  # over skin: what is behind drowns in it
_OUTLINE_PX = 0.3
_GREY = 0.16


def lens_reading(
    strip: EyeStrip, outline: Outline, seen: LensGlareSeen, *, skin: Skin, scale: float
) -> LensReading:
    """Return what a lens shows in numbers.

    Parameters
    ----------
    strip : EyeStrip
        Around the eyes.
    outline : Outline
        The lens.
    seen : LensGlareSeen
        Its reflections.
    skin : Skin
        Beside it.
    scale : float
        Pixels of the original for one of the photo as it was read. [-]
    """
    parts = range(1, int(seen.parts.max(initial=0)) + 1)
    found = [_reflection(strip, seen, one, skin=skin, scale=scale) for one in parts]
    found.sort(key=lambda one: -one.lens_cover)
    return LensReading(
        outline=_points(strip.in_photo(outline.points(count=32)), scale),
        lens_cover=_share(seen.glare, seen.lens),
        veil=_share(seen.glare & seen.opening, seen.opening),
        stops_over_skin=max((one.stops_over_skin for one in found), default=None),
        reflections=tuple(found),
    )


def _reflection(
    strip: EyeStrip, seen: LensGlareSeen, number: int, *, skin: Skin, scale: float
) -> ReflectionSeen:
    own = seen.parts == number
    pixels, light = strip.pixels[own], strip.light[own]
    bright = float(np.percentile(strip.luminance[own], 80))
    clipped = float((pixels >= CLIPPED).all(axis=1).mean())
    stops = float(np.log2(max(bright, 1e-4) / skin.lit))
    row, column = np.nonzero(own)
    middle = to_mm(np.array([column.mean(), row.mean()]))
    return ReflectionSeen(
        center=_points(strip.in_photo(middle[None]), scale)[0],
        outline=_contour(strip, seen, own, scale),
        lens_cover=_share(own, seen.lens),
        veil=_share(own & seen.opening, seen.opening),
        stops_over_skin=round(stops, 2),
        clipped_share=round(clipped, 4),
        recoverable=clipped <= RECOVERABLE_CLIPPED and stops <= RECOVERABLE_STOPS,
        color=_color_name(light, skin),
    )


def _share(part: np.ndarray, whole: np.ndarray) -> float:
    return round(float((part & whole).sum() / max(whole.sum(), 1)), 4)


def _contour(
    strip: EyeStrip, seen: LensGlareSeen, own: np.ndarray, scale: float
) -> tuple[Point, ...]:
    """Return the longest line around a patch where it is as likely as not a reflection."""
    import cv2
    from contourpy import contour_generator

    left, top, wide, tall = cv2.boundingRect(own.astype(np.uint8))
    first = (max(left - 2, 0), max(top - 2, 0))
    box = (slice(first[1], top + tall + 2), slice(first[0], left + wide + 2))
    mine = own[box]
    near = cv2.dilate(mine.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    likely = np.where(near & seen.lens[box] & (mine | ~seen.glare[box]), seen.likely[box], 0.0)
    lines = [np.asarray(one) + first for one in contour_generator(z=likely).lines(LIKELY)]
    longest = max(lines, key=len)
    plain = cv2.approxPolyDP(longest.astype(np.float32), _OUTLINE_PX, closed=True)[:, 0, :]
    return _points(strip.in_photo(to_mm(plain.astype(float))), scale)


def _points(at: FloatArray, scale: float) -> tuple[Point, ...]:
    """Return points of the photo as read as points of the original."""
    original = (at + 0.5) * scale
    return tuple((round(float(x), 1), round(float(y), 1)) for x, y in original)


def _color_name(light: FloatArray, skin: Skin) -> str:
    """Return the colour of the light that was added to the skin behind."""
    behind = np.minimum(light.min(axis=1, keepdims=True) / skin.color.min(), 0.5) * skin.color
    added = np.maximum(light - behind, 0.0).mean(axis=0)
    white = added / max(float(added.max()), 1e-6)
    if white.max() - white.min() < _GREY * 2:
        return "white"
    red, green, blue = (float(one) for one in white)
    if green >= max(red, blue):
        return "green" if red < 0.85 else "amber"
    if blue >= max(red, green):
        return "magenta" if red > 0.8 and green < 0.75 else "blue"
    return "magenta" if blue > green else "amber"
