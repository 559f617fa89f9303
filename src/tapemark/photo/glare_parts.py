"""Parts of a lens that may be reflections: a few numbers about each, and how likely it is one.

A part is what is connected and brighter than a level; the same reflection is a part at several
levels, and the likeliest of them is its outline. The numbers were chosen by eye; how much each of
them counts was fitted on our rendered pictures for tuning by `scripts/fit_glare_parts.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.glare_weights import CENTERS, CONSTANT, SPREADS, WEIGHTS
from tapemark.photo.skin import Skin
from tapemark.photo.strip import PX_PER_MM, StripPart

#: Light added, in luminances of lit skin, at which parts are looked for.
LEVELS = (0.1, 0.16, 0.26, 0.42, 0.68, 1.1, 1.8, 3.0)
#: How much brighter than around parts are looked for as well, and how far around.
STEPS, AROUND_MM = (0.07, 0.14, 0.3), 14.0
LEAST_MM2 = 2.0
_RIM_PX = 2  # what ends so near to the rim of the lens ends there
_SET_OFF = 0.4  # a border is one where what is outside has so much less
_HALF_MM, _LEAST = 0.5, 1e-3
_ROOM = 4
_ALIKE = 8  # parts as large as each other to an eighth, in the same box, are one
_LEAST_SIDE = 4  # px of a border: less says nothing


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


@dataclass(frozen=True, kw_only=True, eq=False)
class LensPart:
    """One part: its place in the strip part, which pixels there, and what is known of it."""

    box: tuple[slice, slice]
    own: np.ndarray
    facts: PartFacts

    @property
    def likely(self) -> float:
        """How likely it is a reflection, as outlined, 0 to 1."""
        return likely_glare(self.facts)


def lens_parts(
    part: StripPart, strength: FloatArray, places: LensPlaces, *, skin: Skin
) -> Iterator[LensPart]:
    """Yield what may be reflections in a lens, at every level.

    Parameters
    ----------
    part : StripPart
        Around the lens.
    strength : (rows, columns) array
        Light added, in luminances of lit skin.
    places : LensPlaces
        Where things are in it.
    skin : Skin
        Beside the glasses.
    """
    known: set[tuple[int, ...]] = set()
    for shows in _masks(strength, places.lens):
        for box, own, key in _connected(shows):
            if key in known:
                continue  # hardly another part than at the level before
            known.add(key)
            facts = _facts(part, strength, places, skin=skin, box=box, own=own)
            yield LensPart(box=box, own=own, facts=facts)


def _masks(strength: FloatArray, lens: np.ndarray) -> Iterator[np.ndarray]:
    """Yield what is brighter than each level, and brighter than what is around it by a step."""
    import cv2

    size = round(AROUND_MM * PX_PER_MM)
    shape = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    ground = cv2.morphologyEx(strength.astype(np.float32), cv2.MORPH_OPEN, shape)
    before = 0
    for values, levels in ((strength, LEVELS), (strength - ground, STEPS)):
        for level in levels:
            shows = lens & (values > level)
            if shows.sum() != before:
                yield shows
            before = int(shows.sum())


def _connected(
    shows: np.ndarray,
) -> Iterator[tuple[tuple[slice, slice], np.ndarray, tuple[int, ...]]]:
    """Yield the box, the pixels in it and what is about the same of each connected part."""
    import cv2

    count, parts, stats, _ = cv2.connectedComponentsWithStats(shows.astype(np.uint8))
    for number in range(1, count):
        left, top, wide, tall, area = (int(one) for one in stats[number])
        if area < LEAST_MM2 * PX_PER_MM**2:
            continue
        rows = slice(max(top - _ROOM, 0), top + tall + _ROOM)
        columns = slice(max(left - _ROOM, 0), left + wide + _ROOM)
        key = (left // 3, top // 3, wide // 3, tall // 3, round(_ALIKE * np.log(area)))
        yield (rows, columns), parts[rows, columns] == number, key


def likely_glare(facts: PartFacts) -> float:
    """Return how likely a part is a reflection as outlined, 0 to 1."""
    values = (terms(np.array(facts)[None])[0] - CENTERS) / SPREADS
    return float(1.0 / (1.0 + np.exp(-np.clip(CONSTANT + values @ WEIGHTS, -30.0, 30.0))))


def terms(facts: FloatArray) -> FloatArray:
    """Return what is weighed of facts (n, 20): themselves, their squares and some products."""
    named = PartFacts(*facts.T)
    near_outer = np.exp(-named.outer_mm / 3.0) * np.exp(-named.unlike_beyond / 0.5)
    more = [
        near_outer,
        named.lids_share * named.log_bright,
        named.opening_share * named.log_bright,
        named.opening_share * named.log_area,
        named.lids_share * named.edge_share,
        named.pad * named.log_area,
        named.rim_share * named.log_thickness,
        named.edge_share * named.step,
        named.edge_share * named.log_strength,
        np.minimum(named.log_thickness, 0.0),
        named.high * named.rim_share,
        named.least_edge * named.solidity,
        named.solidity * named.log_area,
    ]
    return np.concatenate([facts, facts**2, np.stack(more, axis=-1)], axis=-1)


def _facts(
    part: StripPart,
    strength: FloatArray,
    places: LensPlaces,
    *,
    skin: Skin,
    box: tuple[slice, slice],
    own: np.ndarray,
) -> PartFacts:
    import cv2

    here = own.astype(np.uint8)
    area = float(own.sum())
    added, light, bright = strength[box], part.light[box], part.luminance[box]
    inside = added[own]
    middle = float(max(np.median(inside), _LEAST))
    kernel = np.ones((3, 3), np.uint8)
    ring = (cv2.dilate(here, np.ones((5, 5), np.uint8)) > 0) & ~(cv2.dilate(here, kernel) > 0)
    edge = own & ~(cv2.erode(here, kernel) > 0)
    to_rim = places.inner_px[box]
    at_rim = edge & (to_rim <= _RIM_PX)
    around = ring & places.lens[box]
    outside = float(np.median(added[around])) if around.any() else 0.0
    border = around & (to_rim > 1)
    clear = border & (added < (1.0 - _SET_OFF) * middle)
    thick = float(cv2.distanceTransform(here, cv2.DIST_L2, 3).max()) / PX_PER_MM
    contours, _ = cv2.findContours(here, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    hull = cv2.convexHull(max(contours, key=len))
    hull_area = float(cv2.contourArea(hull)) + 0.5 * cv2.arcLength(hull, closed=True) + 1.0
    _, (long, wide), _ = cv2.minAreaRect(hull)
    color = light[own].mean(axis=0)
    against = np.log2((color + 0.01) / (np.maximum(skin.color, 0.0) + 0.01))
    beyond = places.beyond[box[0]][own.any(axis=1)].mean(axis=0)
    unlike = float(np.abs(np.log2((color + 0.01) / (beyond + 0.01))).max())
    return PartFacts(
        log_area=float(np.log2(area / PX_PER_MM**2)),
        log_strength=float(np.log2(middle)),
        edge_share=float(clear.sum() / max(border.sum(), 1)),
        step=float(1.0 - outside / middle),
        rim_share=float(at_rim.sum() / max(edge.sum(), 1)),
        unevenness=float(inside.std() / middle),
        solidity=min(area / hull_area, 1.0),
        log_thickness=float(np.log2(max(thick, 0.25))),
        log_blue=float(against[2] - against[0]),
        log_green=float(against[1] - against[0]),
        lids_share=float(places.lids[box][own].mean()),
        opening_share=float(places.opening[box][own].mean()),
        clipped_share=float((light[own].min(axis=1) > 0.9).mean()),
        unlike_beyond=min(unlike, 3.0),
        outer_mm=min(float(places.outer_mm[box][own].min()), 12.0),
        pad=float(places.pads[box][own].mean() > _HALF_MM),
        log_bright=float(np.log2(max(float(np.median(bright[own])), _LEAST) / skin.bright)),
        slender=float(np.log2(max(long, wide, 1.0) / (2.0 * PX_PER_MM * max(thick, 0.25)))),
        high=float(places.above_cm[box[0], 0] @ own.sum(axis=1)) / area,
        least_edge=_least_side(border, clear, own),
    )


def _least_side(border: np.ndarray, clear: np.ndarray, own: np.ndarray) -> float:
    """Return how much of the worst of four sides of a border is set off; 1 for no border."""
    row, column = np.nonzero(border)
    if not len(row):
        return 1.0
    rows, columns = np.nonzero(own)
    down, across = row - rows.mean(), column - columns.mean()
    side = np.where(np.abs(down) > np.abs(across), np.where(down > 0, 0, 1), 2 + (across > 0))
    shares = [clear[row, column][side == one] for one in range(4)]
    return float(min((one.mean() for one in shares if len(one) >= _LEAST_SIDE), default=1.0))
