"""What is known of the parts of a lens that may be reflections: of all of them at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.part_pixels import PartPixels, Place, run_sums
from tapemark.photo.skin import Skin
from tapemark.photo.strip import PX_PER_MM, StripPart

_RIM_PX = 2  # what ends so near to the rim of the lens ends there
_SET_OFF = 0.4  # a border is one where what is outside has so much less
_HALF_MM, _LEAST = 0.5, 1e-3
_NEARLY_WHITE = 0.9
_LEAST_SIDE = 4  # px of a border: less says nothing
_SQUARE = np.ones((3, 3), np.uint8)


class PartFacts(NamedTuple):
    """What is known of a part; logarithms are of base 2.

    Attributes
    ----------
    log_area, log_strength : float
        Of its area [mm²] and of the light added, in luminances of skin.
    edge_share : float
        Of its border, apart from the rim, what is set off clearly.
    step : float
        How much less is added just outside, of what is inside.
    rim_share : float
        Of its border, what lies along the rim of the lens.
    unevenness : float
        Spread of what is added inside, of its mean.
    solidity : float
        Of its convex hull, what it fills.
    log_thickness : float
        Of the largest circle in it. [mm]
    log_blue, log_green : float
        Blue and green over red, against the skin's.
    lids_share, opening_share : float
        What lies over the lids and over the opening of the eye.
    clipped_share : float
        What is nearly white.
    unlike_beyond : float
        How far its colour is from what is seen beyond the outer rim [stops]; 3 at most.
    outer_mm : float
        From the outer rim to its nearest pixel; 12 at most.
    pad : float
        1 in the place where the pads of a frame rest, else 0.
    log_bright : float
        Luminance against the brighter skin.
    slender : float
        Length over thickness, logarithm.
    high : float
        How far it lies above the pupil. [cm]
    least_edge : float
        Of the four sides of its border, the share of the worst that is set off; 1 for none.
    """

    log_area: float
    log_strength: float
    edge_share: float
    step: float
    rim_share: float
    unevenness: float
    solidity: float
    log_thickness: float
    log_blue: float
    log_green: float
    lids_share: float
    opening_share: float
    clipped_share: float
    unlike_beyond: float
    outer_mm: float
    pad: float
    log_bright: float
    slender: float
    high: float
    least_edge: float


@dataclass(frozen=True, kw_only=True, eq=False)
class LensPlaces:
    """Where things are in a part of the strip.

    Attributes
    ----------
    lens, lids, opening, pads : (rows, columns) bool arrays
        The lens within its rim, and what may be over the lids, the opening, the pads of a frame.
    inner_px : (rows, columns) array
        Distance to the rim. [px]
    outer_mm : (rows, columns) array
        Distance to the outer rim, across. [mm]
    above_cm : (rows, 1) array
        How far each row is above the pupil. [cm]
    beyond : (rows, 3) array
        Light beyond the outer rim in each row. [-]
    """

    lens: np.ndarray
    lids: np.ndarray
    opening: np.ndarray
    pads: np.ndarray
    inner_px: FloatArray
    outer_mm: FloatArray
    above_cm: FloatArray
    beyond: FloatArray


def facts_of(
    found: Sequence[Place], part: StripPart, strength: FloatArray, places: LensPlaces, *, skin: Skin
) -> FloatArray:
    """Return what is known of each of some parts, (parts, facts): the columns are PartFacts.

    Parameters
    ----------
    found : sequence of Place
        The parts; none is empty.
    part : StripPart
        Around the lens.
    strength : (rows, columns) array
        Light added, in luminances of lit skin.
    places : LensPlaces
        Where things are in it.
    skin : Skin
        Beside the glasses.
    """
    if not found:
        return np.empty((0, len(PartFacts._fields)))
    pixels = PartPixels.of(found, strength.shape[1])
    area = pixels.counts().astype(np.float64)
    inside = strength.ravel()[pixels.at]
    middle = np.maximum(pixels.medians(inside), _LEAST)
    bright = np.maximum(pixels.medians(part.luminance.ravel()[pixels.at]), _LEAST)
    border = _borders(found, pixels, strength, places, middle=middle)
    form = _forms(found, area)
    color = _colors(pixels, part, places, skin=skin)
    lids, opening, pads = (
        pixels.counts(one.ravel()[pixels.at]) / area
        for one in (places.lids, places.opening, places.pads)
    )
    row, column = np.divmod(pixels.at, strength.shape[1])
    outer = np.minimum.reduceat(places.outer_mm[0][column], pixels.first)
    high = np.bincount(pixels.part, places.above_cm[row, 0]) / area
    named: dict[str, FloatArray] = dict(
        log_area=np.log2(area / PX_PER_MM**2),
        log_strength=np.log2(middle),
        edge_share=border.edge_share,
        step=1.0 - border.outside / middle,
        rim_share=border.rim_share,
        unevenness=_spreads(pixels, inside) / middle.astype(inside.dtype),
        solidity=form.solidity,
        log_thickness=np.log2(form.thick),
        log_blue=color.blue,
        log_green=color.green,
        lids_share=lids,
        opening_share=opening,
        clipped_share=color.clipped,
        unlike_beyond=np.minimum(color.unlike_beyond, 3.0),
        outer_mm=np.minimum(outer, 12.0),
        pad=(pads > _HALF_MM).astype(np.float64),
        log_bright=np.log2(bright / skin.bright),
        slender=np.log2(form.length / (2.0 * PX_PER_MM * form.thick)),
        high=high,
        least_edge=border.least_edge,
    )
    return np.stack([named[one] for one in PartFacts._fields], axis=-1)


class _Forms(NamedTuple):
    """Of each part: how much of its hull it fills, its thickness [mm] and length [px]."""

    solidity: FloatArray
    thick: FloatArray
    length: FloatArray


def _forms(found: Sequence[Place], area: FloatArray) -> _Forms:
    import cv2

    rows = []
    for one in found:
        here = one.own.view(np.uint8)
        thick = cv2.distanceTransform(here, cv2.DIST_L2, 3).max()
        contours, _ = cv2.findContours(here, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        hull = cv2.convexHull(max(contours, key=len))
        hull_area = cv2.contourArea(hull) + 0.5 * cv2.arcLength(hull, closed=True) + 1.0
        rows.append((hull_area, thick / PX_PER_MM, *cv2.minAreaRect(hull)[1]))
    hull_area, thick, long, wide = np.array(rows, dtype=np.float64).T
    return _Forms(
        solidity=np.minimum(area / hull_area, 1.0),
        thick=np.maximum(thick, 0.25),
        length=np.maximum(np.maximum(long, wide), 1.0),
    )


class _Colors(NamedTuple):
    """Of each part: the colours that PartFacts tells of."""

    blue: FloatArray
    green: FloatArray
    clipped: FloatArray
    unlike_beyond: FloatArray


def _colors(pixels: PartPixels, part: StripPart, places: LensPlaces, *, skin: Skin) -> _Colors:
    row, column = np.divmod(pixels.at, part.light.shape[1])
    light, count = part.light[row, column], pixels.counts()
    color = _means(light, pixels.first, count)
    against = np.log2((color + 0.01) / (np.maximum(skin.color, 0.0) + 0.01))
    first, last = row[pixels.first], row[pixels.first + count - 1]  # what is connected has no gap
    tall = last - first + 1
    start = np.cumsum(tall) - tall
    rows = np.arange(tall.sum()) + np.repeat(first - start, tall)
    beyond = _means(places.beyond[rows], start, tall)
    return _Colors(
        blue=against[:, 2] - against[:, 0],
        green=against[:, 1] - against[:, 0],
        clipped=pixels.counts(np.asarray((light > _NEARLY_WHITE).all(axis=1))) / count,
        unlike_beyond=np.abs(np.log2((color + 0.01) / (beyond + 0.01))).max(axis=1),
    )


def _means(values: np.ndarray, first: np.ndarray, count: np.ndarray) -> np.ndarray:
    """Return the mean of each run of rows."""
    return np.asarray(run_sums(values, first, count) / count.astype(values.dtype)[:, None])


def _spreads(pixels: PartPixels, values: np.ndarray) -> FloatArray:
    """Return the standard deviation of the values of each part."""
    count = pixels.counts().astype(values.dtype)
    off = values - (pixels.sums(values) / count)[pixels.part]
    return np.asarray(np.sqrt(pixels.sums(off * off) / count))


class _Borders(NamedTuple):
    """Of each part: shares of PartFacts, and what is added outside, at the middle."""

    outside: FloatArray
    edge_share: FloatArray
    rim_share: FloatArray
    least_edge: FloatArray


def _borders(
    found: Sequence[Place],
    pixels: PartPixels,
    strength: FloatArray,
    places: LensPlaces,
    *,
    middle: FloatArray,
) -> _Borders:
    rings, edges = _rings_and_edges(found)
    to_rim, columns = places.inner_px.ravel(), strength.shape[1]
    edge = PartPixels.of(edges, columns)
    ring = PartPixels.of(rings, columns)
    ring = ring.where(places.lens.ravel()[ring.at])
    outside = ring.medians(strength.ravel()[ring.at])
    border = ring.where(to_rim[ring.at] > 1)
    added = strength.ravel()[border.at]
    clear = added < ((1.0 - _SET_OFF) * middle).astype(added.dtype)[border.part]
    return _Borders(
        outside=outside,
        edge_share=border.counts(clear) / np.maximum(border.counts(), 1),
        rim_share=edge.counts(to_rim[edge.at] <= _RIM_PX) / np.maximum(edge.counts(), 1),
        least_edge=_least_sides(pixels, border, clear),
    )


def _rings_and_edges(found: Sequence[Place]) -> tuple[list[Place], list[Place]]:
    """Return what is just outside each part, a pixel off, and its own pixels along the border."""
    import cv2

    rings, edges = [], []
    for box, own in found:
        here = own.view(np.uint8)
        near = cv2.dilate(here, _SQUARE)
        rings.append(Place(box, (cv2.dilate(near, _SQUARE) - near).view(np.bool_)))
        edges.append(Place(box, (here - cv2.erode(here, _SQUARE)).view(np.bool_)))
    return rings, edges


def _least_sides(pixels: PartPixels, border: PartPixels, clear: np.ndarray) -> FloatArray:
    """Return how much of the worst of four sides of borders is set off; 1 for no border."""
    count = pixels.counts()
    down, across = (
        inside - (np.bincount(pixels.part, own) / count)[border.part]
        for inside, own in ((border.row, pixels.row), (border.column, pixels.column))
    )
    side = np.where(np.abs(down) > np.abs(across), down <= 0, 2 + (across > 0))
    side = side + 4 * border.part
    whole, set_off = (np.bincount(one, minlength=4 * pixels.parts) for one in (side, side[clear]))
    shares = np.where(whole >= _LEAST_SIDE, set_off / np.maximum(whole, 1), 1.0)
    return np.asarray(shares.reshape(-1, 4).min(axis=1))
