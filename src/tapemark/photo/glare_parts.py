"""Parts of a lens that may be reflections: a few numbers about each, and how likely it is one.

A part is what is connected and brighter than a level; the same reflection is a part at several
levels, and the likeliest of them is its outline. The numbers were chosen by eye; how much each of
them counts was fitted on our rendered pictures for tuning by `scripts/fit_glare_parts.py`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.glare_weights import CENTERS, CONSTANT, SPREADS, WEIGHTS
from tapemark.photo.part_facts import LensPlaces, PartFacts, facts_of
from tapemark.photo.part_pixels import Place
from tapemark.photo.skin import Skin
from tapemark.photo.strip import PX_PER_MM, StripPart

#: Light added, in luminances of lit skin, at which parts are looked for.
LEVELS = (0.1, 0.16, 0.26, 0.42, 0.68, 1.1, 1.8, 3.0)
#: How much brighter than around parts are looked for as well, and how far around.
STEPS, AROUND_MM = (0.07, 0.14, 0.3), 14.0
LEAST_MM2 = 2.0
_ROOM = 4
_ALIKE = 8  # parts as large as each other to an eighth, in the same box, are one


@dataclass(frozen=True, kw_only=True, eq=False)
class LensPart:
    """One part: its place in the strip part, which pixels there, and what is known of it."""

    box: tuple[slice, slice]
    own: np.ndarray
    facts: PartFacts


def lens_parts(
    part: StripPart, strength: FloatArray, places: LensPlaces, *, skin: Skin
) -> list[LensPart]:
    """Return what may be reflections in a lens, at every level.

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
    found = []
    for shows in _masks(strength, places.lens):
        for place, key in _connected(shows):
            if key not in known:  # or it is hardly another part than at the level before
                found.append(place)
                known.add(key)
    facts = facts_of(found, part, strength, places, skin=skin)
    return [
        LensPart(box=box, own=own, facts=PartFacts(*row))
        for (box, own), row in zip(found, facts, strict=True)
    ]


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
            count = int(np.count_nonzero(shows))
            if count != before:
                yield shows
            before = count


def _connected(shows: np.ndarray) -> Iterator[tuple[Place, tuple[int, ...]]]:
    """Yield where each connected part is, and what is about the same of it at other levels."""
    import cv2

    _, parts, stats, _ = cv2.connectedComponentsWithStats(shows.view(np.uint8))
    large = 1 + np.flatnonzero(stats[1:, cv2.CC_STAT_AREA] >= LEAST_MM2 * PX_PER_MM**2)
    for number in large.tolist():
        left, top, wide, tall, area = stats[number].tolist()
        rows = slice(max(top - _ROOM, 0), top + tall + _ROOM)
        columns = slice(max(left - _ROOM, 0), left + wide + _ROOM)
        key = (left // 3, top // 3, wide // 3, tall // 3, round(_ALIKE * math.log(area)))
        yield Place((rows, columns), parts[rows, columns] == number), key


def likely_glare(parts: list[LensPart]) -> FloatArray:
    """Return how likely each of some parts is a reflection as outlined, 0 to 1."""
    facts = np.array([one.facts for one in parts]).reshape(-1, len(PartFacts._fields))
    values = (terms(facts) - CENTERS) / SPREADS
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(CONSTANT + values @ WEIGHTS, -30.0, 30.0))))


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
