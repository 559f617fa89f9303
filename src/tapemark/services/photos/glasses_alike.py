"""Glasses that look alike in many frames, told apart by their sizes alone.

A photo gives sizes against the distance between the pupils. Two people with alike frames count as
one; a head that is turned shows its lenses narrower, and may count as another.
"""

from __future__ import annotations

from dataclasses import dataclass

from tapemark.services.plain import Plain

PUPILS_MM = 63.0  # between the pupils, to tell sizes by: the mean of adults
ALIKE_MM = 3.0  # lenses within so much in width, height and gap count as alike

#: Width and height of a lens, and the gap between both. [mm]
Size = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Glasses:
    """Glasses that look alike in several frames.

    Attributes
    ----------
    number : int
        From 1, the most frequent first.
    width_mm, height_mm, gap_mm : float
        Of a lens and between both, taking the pupils to be 63 mm apart. [mm]
    frames : int
        In how many they are.
    """

    number: int
    width_mm: float
    height_mm: float
    gap_mm: float
    frames: int


def glasses_size(person: Plain) -> Size | None:
    """Return width and height of a lens and the gap between both, by the pupils. [mm]"""
    eyes = [person["eyes"][side] for side in ("right", "left")]
    if any(one["lens"] is None for one in eyes):
        return None
    (x0, y0), (x1, y1) = (one["pupil"] for one in eyes)
    apart = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    if apart < 1.0:
        return None
    scale = PUPILS_MM / apart
    along = ((x1 - x0) / apart, (y1 - y0) / apart)
    spans = []
    for eye in eyes:
        flat = [
            (x * along[0] + y * along[1], y * along[0] - x * along[1])
            for x, y in eye["lens"]["outline"]
        ]
        if len(flat) < 3:
            return None
        across, down = zip(*flat, strict=True)
        spans.append((min(across), max(across), max(down) - min(down)))
    (_, nose_right, high_right), (nose_left, _, high_left) = spans
    wide = (spans[0][1] - spans[0][0] + spans[1][1] - spans[1][0]) / 2
    return (wide * scale, (high_right + high_left) / 2 * scale, (nose_left - nose_right) * scale)


class _Group:
    """Glasses that are alike, by their sums."""

    def __init__(self) -> None:
        self._sums = [0.0, 0.0, 0.0]
        self._count = 0

    def add(self, size: Size) -> None:
        """Add another pair."""
        self._sums = [a + b for a, b in zip(self._sums, size, strict=True)]
        self._count += 1

    @property
    def mean(self) -> Size:
        """Their mean. [mm]"""
        wide, high, gap = (one / self._count for one in self._sums)
        return wide, high, gap


def alike(
    sizes: list[tuple[Size | None, ...]],
) -> tuple[tuple[Glasses, ...], list[tuple[int, ...]]]:
    """Return groups of glasses that are alike, and the group of everybody's in each frame.

    Each joins the group whose mean is nearest, if that is near enough, else begins one.
    """
    groups: list[_Group] = []
    joined = [tuple(-1 if one is None else _join(groups, one) for one in own) for own in sizes]
    counts = [0] * len(groups)
    for own in joined:
        for group in set(own) - {-1}:
            counts[group] += 1
    order = sorted(range(len(groups)), key=lambda one: -counts[one])
    numbers = {group: number for number, group in enumerate(order, start=1)} | {-1: 0}
    glasses = []
    for number, group in enumerate(order, start=1):
        wide, high, gap = groups[group].mean
        glasses.append(
            Glasses(number=number, width_mm=wide, height_mm=high, gap_mm=gap, frames=counts[group])
        )
    return tuple(glasses), [tuple(numbers[one] for one in own) for own in joined]


def _join(groups: list[_Group], size: Size) -> int:
    away = [max(abs(a - b) for a, b in zip(own.mean, size, strict=True)) for own in groups]
    if away and min(away) <= ALIKE_MM:
        nearest = away.index(min(away))
    else:
        nearest = len(groups)
        groups.append(_Group())
    groups[nearest].add(size)
    return nearest
