"""The pixels of many parts of a lens, one part after the other in long arrays.

Parts are small and many: what is reckoned for each by itself takes mostly the time of asking.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from tapemark.geometry import FloatArray


class Place(NamedTuple):
    """Where a part is: a box, and which of the pixels there."""

    box: tuple[slice, slice]
    own: np.ndarray


class PartPixels(NamedTuple):
    """Pixels of many parts: number of the part, row and column in its box, number in the whole."""

    parts: int
    part: np.ndarray
    row: np.ndarray
    column: np.ndarray
    at: np.ndarray

    @classmethod
    def of(cls, places: Sequence[Place], columns: int) -> PartPixels:
        """Return the pixels of some parts, in a whole with so many columns."""
        inside = [one.own.ravel().nonzero()[0] for one in places]
        counts = np.array([len(one) for one in inside])
        numbers = [
            (one.own.shape[1], one.box[0].start, one.box[1].start, number)
            for number, one in enumerate(places)
        ]
        wide, top, left, part = np.repeat(np.array(numbers).T, counts, axis=1)
        at = np.concatenate(inside)
        row = at // wide
        column = at - row * wide
        return cls(len(places), part, row, column, (row + top) * columns + column + left)

    def where(self, mask: np.ndarray) -> PartPixels:
        """Return those of a mask."""
        return PartPixels(self.parts, *(one[mask] for one in self[1:]))

    def counts(self, mask: np.ndarray | None = None) -> np.ndarray:
        """Return how many each part has, or has in a mask."""
        return np.bincount(self.part if mask is None else self.part[mask], minlength=self.parts)

    @property
    def first(self) -> np.ndarray:
        """Where the pixels of each part begin."""
        return np.concatenate([[0], np.cumsum(self.counts())[:-1]])

    def sums(self, values: np.ndarray) -> np.ndarray:
        """Return the sum of the values of each part, none of them empty."""
        return run_sums(values, self.first, self.counts())

    def medians(self, values: np.ndarray) -> FloatArray:
        """Return the middle of the values of each part; 0 for none."""
        first, count = self.first, self.counts()
        runs = zip(first.tolist(), (first + count).tolist(), strict=True)
        return np.array([_median(values[start:end]) for start, end in runs])


def run_sums(values: np.ndarray, first: np.ndarray, count: np.ndarray) -> np.ndarray:
    """Return the sum of each run of rows.

    Each is added up by itself: `np.add.reduceat` adds in another order, and rounds otherwise.
    """
    runs = zip(first.tolist(), (first + count).tolist(), strict=True)
    return np.array([np.add.reduce(values[start:end]) for start, end in runs])


def _median(values: np.ndarray) -> float:
    half = len(values) // 2
    if len(values) % 2:
        return float(np.partition(values, half)[half])
    if not len(values):
        return 0.0
    some = np.partition(values, (half - 1, half))
    return float((some[half - 1] + some[half]) / 2)
