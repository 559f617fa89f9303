"""Reflections as read from a picture, ready to be followed back to what they show."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.glare import INSET_MM, OPENING_MM
from tapemark.photo.reading import EyeSeen, ReflectionSeen, Side, WearerReading

LEAST_COVER, MOST_A_LENS = 0.005, 5  # smaller ones, and more of them, say nothing for sure
AROUND = 40  # points along the outline of a reflection
#: Nearer to the rim than this, the picture may be cut off there [mm]: the reading leaves out a
#: seam along the rim, and has that much play.
AT_RIM_MM = INSET_MM + 1.0
AT_OPENING_MM = 1.2  # nearer to the border of the eye opening the reading may have cut
THIN_MM, THICK_SHARE = 2.4, 0.5
RASTER_PER_MM, MOST_RASTER = 4.0, 1_000_000
#: How far outside a light's own edge a reflection is read: edges are soft, and the brighter it is
#: the farther out it is still seen.  At the brightness of lit skin [mm], for a stop more [mm], and
#: limits; measured on our own rendered pictures.
SOFT_MM, SOFT_MM_A_STOP, SOFT_LIMITS_MM = 0.1, 0.17, (-0.25, 0.6)


@dataclass(frozen=True, kw_only=True, eq=False)
class SeenRegion:
    """One reflection.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left`` lens.
    lens : int
        0 for right, 1 for left.
    index : int
        Among the reflections of that lens as read.
    points : (n, 2) array
        Evenly around it. [px]
    center : (2,) array
        Its middle. [px]
    to_rim_mm : (n,) array
        How far each of the points is from the outline of the lens. [mm]
    at_opening : (n,) bool array
        Which of the points lie at the border of the eye opening.
    size_mm : float
        Root of its area. [mm]
    added_stops : float
        Light added by it over lit skin. [stops]
    clipped : bool
        Whether it is too bright to be told how bright.
    """

    side: Side
    lens: int
    index: int
    points: FloatArray
    center: FloatArray
    to_rim_mm: FloatArray
    at_opening: np.ndarray
    size_mm: float
    added_stops: float
    clipped: bool


def seen_regions(wearer: WearerReading, *, px_per_mm: float) -> tuple[SeenRegion, ...]:
    """Return the larger reflections of both lenses as read, right lens first.

    Parameters
    ----------
    wearer : WearerReading
        As read.
    px_per_mm : float
        Of the picture at the face. [px/mm]
    """
    found = []
    for number, eye in enumerate(wearer.eyes):
        if eye.lens is None:
            continue
        large = [
            (index, one)
            for index, one in enumerate(eye.lens.reflections)
            if len(one.outline) >= 3 and one.lens_cover >= LEAST_COVER
        ]
        large.sort(key=lambda pair: -pair[1].lens_cover)
        found += [
            _region(eye, number, one, index=index, px_per_mm=px_per_mm)
            for index, one in sorted(large[:MOST_A_LENS], key=lambda pair: pair[0])
        ]
    return tuple(found)


def _region(
    eye: EyeSeen, lens: int, seen: ReflectionSeen, *, index: int, px_per_mm: float
) -> SeenRegion:
    assert eye.lens is not None
    points = _evenly(_without_tails(np.array(seen.outline, dtype=float), px_per_mm))
    middle = np.array(seen.center)
    away = points - middle
    far = np.maximum(np.hypot(*away.T), 1e-6)
    added = float(np.log2(max(2.0**seen.stops_over_skin - 0.6, 0.12)))
    soft = np.clip(SOFT_MM + SOFT_MM_A_STOP * added, *SOFT_LIMITS_MM)
    points = points - away / far[:, None] * soft * px_per_mm
    outline = _evenly(np.array(eye.lens.outline, dtype=float), count=4 * AROUND)
    gap = np.linalg.norm(points[:, None] - outline[None], axis=-1).min(axis=1) / px_per_mm
    opening = (points - np.array(eye.pupil)) / px_per_mm / OPENING_MM
    beside = np.abs(np.hypot(*opening.T) - 1.0) * OPENING_MM[1]
    return SeenRegion(
        side=eye.side,
        lens=lens,
        index=index,
        points=points,
        center=middle,
        to_rim_mm=gap,
        at_opening=beside < AT_OPENING_MM,
        size_mm=float(np.sqrt(_area(points))) / px_per_mm,
        added_stops=added,
        clipped=seen.clipped_share > 0.2,
    )


def _without_tails(outline: FloatArray, px_per_mm: float) -> FloatArray:
    """Return an outline without what is thinner than a light shows: highlights along a rim.

    The whole outline where nothing thicker is left.
    """
    import cv2

    scale = RASTER_PER_MM / px_per_mm
    corner = outline.min(axis=0) - 2.0 / scale
    at = np.round((outline - corner) * scale).astype(np.int32)
    wide, tall = at.max(axis=0) + 3
    if wide * tall > MOST_RASTER:
        return outline
    mask = np.zeros((int(tall), int(wide)), dtype=np.uint8)
    cv2.fillPoly(mask, [at], 1)
    side = round(THIN_MM * RASTER_PER_MM) | 1
    brush = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    thick = cv2.morphologyEx(mask, cv2.MORPH_OPEN, brush)
    if thick.sum() < THICK_SHARE * mask.sum():
        return outline
    found, _ = cv2.findContours(thick, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    longest = max(found, key=cv2.contourArea)[:, 0, :].astype(float)
    return np.asarray(longest / scale + corner) if len(longest) >= 3 else outline


def _evenly(outline: FloatArray, *, count: int = AROUND) -> FloatArray:
    """Return points evenly along a closed outline (n, 2)."""
    closed = np.vstack([outline, outline[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, along[-1], count, endpoint=False)
    return np.stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)], axis=-1)


def _area(points: FloatArray) -> float:
    x, y = points.T
    return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))
