"""The pair of pupils in a face: what detectors vote for, dark round irises, mirrored likeness."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray

EYES_APART, EYES_DOWN = 0.36, 0.415  # of the detector's box, measured on our rendered pictures
IRIS_RADIUS, RING_RADIUS = 0.094, 0.165  # of the distance between pupils: 5.9 mm and 10.4 of 63
CANDIDATES = 7  # a side
_PATCH = (0.34, 0.2)  # half width and height compared between eyes, of the distance apart
_FLAT, _LEAST_PEAK = 1e-3, 0.02
_LOOK = (15, 25)  # places compared: rows, columns
_ONE_EYED = 0.65  # how much surer two eyes that detectors found are than one
_VOTED, _ALIKE = 0.6, 0.5  # a sure eye, and one that is its mirror image
_IRIS_STOPS = 0.7  # darker than that is no likelier an iris: rims are darker still


class Spread(NamedTuple):
    """How far pairs of eyes are from the usual, of the detector's box. [-]"""

    apart: float = 0.065
    level: float = 0.09
    down: float = 0.06
    middle: float = 0.075


#: Twice what was measured on our rendered pictures: people differ more.
SPREAD = Spread()


@dataclass(frozen=True, kw_only=True, slots=True)
class Candidate:
    """A place where an eye may be.

    Attributes
    ----------
    column, row : float
        In the square crop of a face. [px]
    vote : float
        How sure a detector is, 0 to 1.
    round_dark : float
        How much it looks like an iris, about 0 to 1.
    """

    column: float
    row: float
    vote: float
    round_dark: float


def iris_likeness(grey: np.ndarray, *, apart: float) -> FloatArray:
    """Return how much each place looks like a dark disc in a lighter ring, -1 to 1.

    Parameters
    ----------
    grey : (rows, columns) array of bytes
        A picture with the face upright.
    apart : float
        Between the pupils. [px]
    """
    import cv2

    values = np.log2(grey.astype(np.float32) + 3.0)
    disc, ring = _kernels(round(apart * IRIS_RADIUS, 1), round(apart * RING_RADIUS, 1))
    inside = cv2.filter2D(values, -1, disc, borderType=cv2.BORDER_REFLECT)
    sides = [
        cv2.filter2D(values, -1, one, borderType=cv2.BORDER_REFLECT)
        for one in (ring, ring[:, ::-1])
    ]  # both sides are lighter: an edge of hair or the bar of a rim is no iris
    return np.asarray(np.clip((np.minimum(*sides) - inside) / _IRIS_STOPS, -1.0, 1.0))


@functools.lru_cache(maxsize=64)
def _kernels(inner: float, outer: float) -> tuple[np.ndarray, np.ndarray]:
    reach = math.ceil(outer)
    across = np.arange(-reach, reach + 1, dtype=np.float32)
    radius = np.hypot(across[None, :], across[:, None])
    disc = np.clip(inner + 0.5 - radius, 0.0, 1.0)
    ring = np.clip(outer + 0.5 - radius, 0.0, 1.0) - np.clip(inner + 1.5 - radius, 0.0, 1.0)
    ring *= across[None, :] > 0.45 * outer  # beside the iris is sclera; lids above, below
    return disc / disc.sum(), ring / ring.sum()


def best_pair(
    grey: np.ndarray, votes: list[tuple[float, float, float]], *, side: float
) -> tuple[Candidate, Candidate, float]:
    """Return the likeliest eyes in a face, camera-left first, and how sure they are, 0 to 1.

    Parameters
    ----------
    grey : (rows, columns) array of bytes
        Upper part of the square crop of a face.
    votes : list of (column, row, sureness)
        What detectors found. [px], [px], [-]
    side : float
        Of the whole square. [px]
    """
    apart = EYES_APART * side
    likeness = iris_likeness(grey, apart=apart)
    pools = [
        _candidates(likeness, votes, side=side, sign=sign, apart=apart) for sign in (-1.0, 1.0)
    ]
    pools = [
        [*own, *_mirrored(grey, other, side=side, sign=sign)]
        for own, other, sign in zip(pools, pools[::-1], (-1.0, 1.0), strict=True)
    ]
    first, second = (_looks(grey, pool, apart=apart) for pool in pools)
    alike = first.reshape(len(first), -1) @ second[:, :, ::-1].reshape(len(second), -1).T
    scored = [
        (_score(one, two, alike=float(alike[number, other]), side=side), number, other)
        for number, one in enumerate(pools[0])
        for other, two in enumerate(pools[1])
    ]
    score, number, other = max(scored)
    one, two = pools[0][number], pools[1][other]
    sure = float(np.clip(score / 2.6, 0.0, 1.0))
    return one, two, sure if min(one.vote, two.vote) > 0.0 else _ONE_EYED * sure


def _candidates(
    likeness: FloatArray,
    votes: list[tuple[float, float, float]],
    *,
    side: float,
    sign: float,
    apart: float,
) -> list[Candidate]:
    """Return the roundest dark places of one half of the face, and what was voted for."""
    own_half, usual = _usual(likeness.shape, side=side, sign=sign, apart=apart)
    near = np.where(own_half, likeness * usual, 0.0)
    own = [one for one in votes if (one[0] - side / 2) * sign > 0.05 * side]
    found = _peaks(near, apart_px=0.045 * side)
    found += [(one[0], one[1]) for one in own]
    found.append((side / 2 + sign * apart / 2, EYES_DOWN * side))
    return [
        Candidate(column=x, row=y, vote=_vote(x, y, own, side), round_dark=_at(likeness, x, y))
        for x, y in found
    ]


@functools.lru_cache(maxsize=8)
def _usual(
    shape: tuple[int, ...], *, side: float, sign: float, apart: float
) -> tuple[np.ndarray, FloatArray]:
    """Return one half of the face, and how usual each place of it is for an eye, 0 to 1."""
    column, row = np.arange(shape[1])[None, :], np.arange(shape[0])[:, None]
    away = np.hypot(column - (side / 2 + sign * apart / 2), 1.3 * (row - EYES_DOWN * side))
    return (column - side / 2) * sign > 0.05 * side, np.clip(1.2 - away / (0.28 * side), 0.0, 1.0)


def _peaks(values: FloatArray, *, apart_px: float) -> list[tuple[float, float]]:
    """Return columns and rows of the highest places, none near a higher one."""
    import cv2

    size = 2 * round(apart_px) + 1
    shape = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    highest = cv2.dilate(values.astype(np.float32), shape)
    row, column = np.nonzero((values >= highest - 1e-6) & (values > _LEAST_PEAK))
    best = np.argsort(-values[row, column])[:CANDIDATES]
    return [(float(column[one]), float(row[one])) for one in best]


def _mirrored(
    grey: np.ndarray, others: list[Candidate], *, side: float, sign: float
) -> list[Candidate]:
    """Return where the mirror image of the surest eye of the other half is best found."""
    import cv2

    sure = max(others, key=lambda one: one.vote)
    if sure.vote < _VOTED:
        return []
    apart = EYES_APART * side
    wide, tall = round(0.3 * apart), round(0.16 * apart)
    column, row = round(sure.column), round(sure.row)
    part = grey[max(row - tall, 0) : row + tall + 1, max(column - wide, 0) : column + wide + 1]
    patch = np.ascontiguousarray(part[:, ::-1])
    middle = column + sign * apart
    left, right = int(middle - 0.3 * apart - wide), int(middle + 0.3 * apart + wide)
    top, bottom = int(row - 0.3 * apart - tall), int(row + 0.3 * apart + tall)
    place = np.ascontiguousarray(grey[max(top, 0) : bottom, max(left, 0) : max(right, 0)])
    if place.shape[0] <= patch.shape[0] or place.shape[1] <= patch.shape[1]:
        return []
    stops = [np.log2(one.astype(np.float32) + 3.0) for one in (place, patch)]
    found = cv2.matchTemplate(stops[0], stops[1], cv2.TM_CCOEFF_NORMED)
    at_row, at_column = divmod(int(np.argmax(found)), found.shape[1])
    alike = float(found[at_row, at_column])
    if not alike > _ALIKE:
        return []
    return [
        Candidate(
            column=max(left, 0) + at_column + patch.shape[1] / 2,
            row=max(top, 0) + at_row + patch.shape[0] / 2,
            vote=0.5 * sure.vote * alike,
            round_dark=0.4,
        )
    ]


def _vote(column: float, row: float, votes: list[tuple[float, float, float]], side: float) -> float:
    near = (
        one[2] * max(0.0, 1.0 - math.hypot(one[0] - column, one[1] - row) / (0.09 * side))
        for one in votes
    )
    return max(near, default=0.0)


def _at(values: FloatArray, column: float, row: float) -> float:
    rows, columns = values.shape
    return float(values[min(max(round(row), 0), rows - 1), min(max(round(column), 0), columns - 1)])


def _score(one: Candidate, two: Candidate, *, alike: float, side: float) -> float:
    """Return how likely two candidates are a pair of eyes: more is likelier."""
    found = one.vote + two.vote + 0.7 * (max(one.round_dark, 0) + max(two.round_dark, 0))
    return found + 0.6 * alike - _oddness(one, two, side)


def _looks(grey: np.ndarray, eyes: list[Candidate], *, apart: float) -> FloatArray:
    """Return what is around candidates, evened out: the product of two says how alike they are."""
    wide, tall = _PATCH[0] * apart, _PATCH[1] * apart
    rows, columns = _LOOK
    row, column = (np.array(one) for one in zip(*((e.row, e.column) for e in eyes), strict=True))
    at_row = np.linspace(row - tall, row + tall, rows, axis=-1).astype(int)
    at_column = np.linspace(column - wide, column + wide, columns, axis=-1).astype(int)
    at_row = np.minimum(np.maximum(at_row, 0), grey.shape[0] - 1)
    at_column = np.minimum(np.maximum(at_column, 0), grey.shape[1] - 1)
    parts = grey[at_row[:, :, None], at_column[:, None, :]].reshape(len(eyes), -1).astype(float)
    parts -= parts.mean(axis=1, keepdims=True)
    size = np.array([[max(math.sqrt(one @ one), _FLAT)] for one in parts])
    return np.asarray((parts / size).reshape(len(eyes), rows, columns))


def _oddness(one: Candidate, two: Candidate, side: float) -> float:
    """Return how far a pair is from where eyes usually are in a face; 0 for usual."""
    apart = (two.column - one.column) / side
    level = (two.row - one.row) / side
    down = (one.row + two.row) / 2 / side
    middle = (one.column + two.column) / 2 / side
    return (
        (abs(apart - EYES_APART) / SPREAD.apart) ** 2
        + (level / SPREAD.level) ** 2
        + (abs(down - EYES_DOWN) / SPREAD.down) ** 2
        + (abs(middle - 0.5) / SPREAD.middle) ** 2
    ) / 2.0
