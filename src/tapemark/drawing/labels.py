"""Where do labels go, so that none lies on another or on the drawing?

The page is held as a lattice of small squares, taken or free.  Each label, in
order of weight, goes to the free place nearest to what it names, with a
leader line to it; the label and its leader are then taken too.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import hypot, inf

import numpy as np

from tapemark.drawing.style import SMALL_PT
from tapemark.drawing.text_width import ASCENT, text_width
from tapemark.geometry import FloatArray

CELL_PT = 2.0
LINE_SPACING = 1.22  # of the type size
_NEARBY, _TRIED = 6000, 75  # nearest free places; how many of them have their leader looked at
_CROSSING_COST = 0.9  # points of distance for each taken square a leader crosses
_LABEL_CROSSING_COST = 40.0  # the same for squares of other labels
_LEADERS_CROSS_COST = 120.0  # points of distance for each leader of another label that is crossed
_LABEL_GAP_PT = 4.0  # free paper around a label

Point = tuple[float, float]
Leader = tuple[Point, Point]  # from a label to a place that it names [pt]


@dataclass(frozen=True, kw_only=True, slots=True)
class Label:
    """Text that names something on the drawing.

    Attributes
    ----------
    lines : tuple of (str, int)
        Text and weight of each line.
    target : tuple of two floats
        Page place of what it names. [pt]
    also : tuple of points
        Further places that it names. [pt]
    size_pt : float
        Type size. [pt]
    color : str
        Colour, ink if empty.
    """

    lines: tuple[tuple[str, int], ...]
    target: tuple[float, float]
    also: tuple[tuple[float, float], ...] = ()
    size_pt: float = SMALL_PT
    color: str = ""

    @property
    def width_pt(self) -> float:
        """Width of the block of text. [pt]"""
        return max(text_width(text, size_pt=self.size_pt, weight=w) for text, w in self.lines)

    @property
    def height_pt(self) -> float:
        """Height of the block of text. [pt]"""
        return (len(self.lines) - 1) * LINE_SPACING * self.size_pt + self.size_pt


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedLabel:
    """A label and where it went.

    Attributes
    ----------
    label : Label
        What was placed.
    x, y : float
        Upper left corner of its text. [pt]
    leaders : tuple of pairs of points
        From the label to each place it names. [pt]
    """

    label: Label
    x: float
    y: float
    leaders: tuple[Leader, ...]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the text. [pt]"""
        return (self.x, self.y, self.x + self.label.width_pt, self.y + self.label.height_pt)

    @property
    def leader_pt(self) -> float:
        """Length of its longest leader. [pt]"""
        return max(hypot(x1 - x0, y1 - y0) for (x0, y0), (x1, y1) in self.leaders)

    def baselines(self) -> list[float]:
        """Return the height of the baseline of each line of text [pt]."""
        step = LINE_SPACING * self.label.size_pt
        return [
            self.y + ASCENT * self.label.size_pt + k * step for k in range(len(self.label.lines))
        ]


@dataclass(kw_only=True)
class LabelSpace:
    """The part of a page where labels may go.

    Attributes
    ----------
    left, top, right, bottom : float
        Its edges. [pt]
    """

    left: float
    top: float
    right: float
    bottom: float
    _taken: np.ndarray = field(init=False, repr=False)
    _labelled: np.ndarray = field(init=False, repr=False)
    _leaders: list[Leader] = field(init=False, repr=False, default_factory=list)

    def __post_init__(self) -> None:
        rows = int((self.bottom - self.top) / CELL_PT)
        columns = int((self.right - self.left) / CELL_PT)
        self._taken = np.zeros((max(rows, 1), max(columns, 1)), dtype=bool)
        self._labelled = np.zeros_like(self._taken)

    def take_box(self, left: float, top: float, right: float, bottom: float) -> None:
        """Keep labels off an upright rectangle. [pt]"""
        self._taken[self._box_cells(left, top, right, bottom)] = True

    def take_line(self, points: FloatArray, *, width_pt: float = 1.0) -> None:
        """Keep labels off a line through points (n, 2) [pt]."""
        self._taken[self._along(points, width_pt)] = True

    def take_area(self, outline: FloatArray, *, width_pt: float = 1.0) -> None:
        """Keep labels off the inside of a closed outline (n, 2) [pt]."""
        ring = np.asarray(outline, dtype=np.float64)
        ring = ring[np.isfinite(ring).all(axis=1)]
        if len(ring) < 3:
            return
        self.take_line(np.concatenate([ring, ring[:1]]), width_pt=width_pt)
        rows, columns = self._taken.shape
        c0, c1 = self._cells((ring[:, 0].min(), ring[:, 0].max()), self.left, columns)
        r0, r1 = self._cells((ring[:, 1].min(), ring[:, 1].max()), self.top, rows)
        x = np.asarray(self.left + (np.arange(c0, c1) + 0.5) * CELL_PT, dtype=np.float64)
        y = np.asarray(self.top + (np.arange(r0, r1) + 0.5) * CELL_PT, dtype=np.float64)
        self._taken[r0:r1, c0:c1] |= within(ring, x, y)

    def is_free(self, left: float, top: float, right: float, bottom: float) -> bool:
        """Return whether nothing has been taken in an upright rectangle. [pt]"""
        return not self._taken[self._box_cells(left, top, right, bottom)].any()

    def taken_at(self, points: FloatArray) -> np.ndarray:
        """Return which page places (..., 2) [pt] lie on what has been taken."""
        at = np.floor((points - (self.left, self.top)) / CELL_PT).astype(int)
        rows, columns = self._taken.shape
        inside = (at >= 0).all(axis=-1) & (at[..., 0] < columns) & (at[..., 1] < rows)
        column, row = np.where(inside[..., None], at, 0)[..., 0], np.where(inside, at[..., 1], 0)
        return np.asarray(inside & self._taken[row, column])

    def place(
        self, labels: Sequence[Label], *, reach_pt: float = inf, crossing: bool = True
    ) -> tuple[list[PlacedLabel], list[Label]]:
        """Return where labels go, and those for which there is no room.

        Parameters
        ----------
        labels : sequence of Label
            The most important first.
        reach_pt : float
            The longest leader from a label to what it names. [pt]
        crossing : bool
            Whether a leader may cross that of another label where nothing better is found.
        """
        placed, left_out = [], []
        for label in labels:
            found = self._place_one(label)
            if found is not None and (
                found.leader_pt > reach_pt
                or (not crossing and any(self._meets(one) for one in found.leaders))
            ):
                found = None
            if found is None:
                left_out.append(label)
                continue
            placed.append(found)
            self.take_box(*found.box)
            self._labelled[self._box_cells(*found.box)] = True
            for leader in found.leaders:
                self.take_line(np.array(leader), width_pt=CELL_PT)
            self._leaders += found.leaders
        return placed, left_out

    def _place_one(self, label: Label) -> PlacedLabel | None:
        gap = _LABEL_GAP_PT
        rows = int(np.ceil((label.height_pt + 2 * gap) / CELL_PT)) + 1
        columns = int(np.ceil((label.width_pt + 2 * gap) / CELL_PT)) + 1
        free = _free_places(self._taken, rows, columns)
        row, column = np.nonzero(free)
        if len(row) == 0:
            return None
        x = np.asarray(self.left + column * CELL_PT + gap, dtype=np.float64)
        y = np.asarray(self.top + row * CELL_PT + gap, dtype=np.float64)
        distance = _reach(label, x, y)
        nearest = np.argsort(distance, kind="stable")[:_NEARBY]
        tried = np.unique(np.concatenate([nearest[:8], nearest[:: _NEARBY // _TRIED]]))
        costs = [distance[k] + self._crossed(label, float(x[k]), float(y[k])) for k in tried]
        k = tried[int(np.argmin(costs))]
        place = (float(x[k]), float(y[k]))
        return PlacedLabel(label=label, x=place[0], y=place[1], leaders=_leaders(label, *place))

    def _crossed(self, label: Label, x: float, y: float) -> float:
        cost = 0.0
        for leader in _leaders(label, x, y):
            cells = self._along(np.array(leader), 0.0)
            cost += float(self._labelled[cells].sum()) * _LABEL_CROSSING_COST
            cost += float(self._taken[cells].sum()) * _CROSSING_COST
            cost += self._meets(leader) * _LEADERS_CROSS_COST
        return cost

    def _meets(self, leader: Leader) -> int:
        """Return how many leaders of other labels a leader crosses."""
        return sum(crossed(leader, other) for other in self._leaders)

    def _box_cells(
        self, left: float, top: float, right: float, bottom: float
    ) -> tuple[slice, slice]:
        rows, columns = self._taken.shape
        across = self._cells((left, right), self.left, columns)
        down = self._cells((top, bottom), self.top, rows)
        return slice(*down), slice(*across)

    def _along(self, points: FloatArray, width_pt: float) -> tuple[np.ndarray, np.ndarray]:
        rows, columns = self._taken.shape
        line = np.asarray(points, dtype=np.float64)
        parts = []
        for first, last in pairwise(line):
            if not np.isfinite([first, last]).all():
                continue
            count = int(np.hypot(*(last - first)) / (CELL_PT / 3)) + 2
            parts.append(first + np.linspace(0, 1, count)[:, None] * (last - first))
        if not parts:
            return np.empty(0, dtype=int), np.empty(0, dtype=int)
        dots = np.concatenate(parts)
        reach = np.arange(-width_pt / 2, width_pt / 2 + CELL_PT / 2, CELL_PT / 2)
        wide = (
            np.stack(np.meshgrid(reach, reach), axis=-1).reshape(-1, 2)
            if width_pt
            else np.zeros((1, 2))
        )
        at = (dots[:, None] + wide).reshape(-1, 2)
        column = np.floor((at[:, 0] - self.left) / CELL_PT).astype(int)
        row = np.floor((at[:, 1] - self.top) / CELL_PT).astype(int)
        inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        return row[inside], column[inside]

    @staticmethod
    def _cells(span: tuple[float, float], start: float, count: int) -> tuple[int, int]:
        low = int(np.floor((span[0] - start) / CELL_PT))
        high = int(np.ceil((span[1] - start) / CELL_PT))
        return max(low, 0), min(max(high, 0), count)


def _free_places(taken: np.ndarray, rows: int, columns: int) -> np.ndarray:
    """Return at which squares a block of rows by columns may start."""
    if rows > taken.shape[0] or columns > taken.shape[1]:
        return np.zeros((0, 0), dtype=bool)
    total = np.zeros((taken.shape[0] + 1, taken.shape[1] + 1), dtype=np.int64)
    total[1:, 1:] = taken.cumsum(axis=0).cumsum(axis=1)
    inside = (total[rows:, columns:] - total[:-rows, columns:] - total[rows:, :-columns]) + total[
        :-rows, :-columns
    ]
    return np.asarray(inside == 0)


def _reach(label: Label, x: FloatArray, y: FloatArray) -> FloatArray:
    """Return how far labels at (x, y) lie from what they name; a little more if above or below."""
    target_x, target_y = label.target
    beside = np.maximum(np.maximum(x - target_x, target_x - x - label.width_pt), 0.0)
    above = np.maximum(np.maximum(y - target_y, target_y - y - label.height_pt), 0.0)
    return np.asarray(np.hypot(beside, above) + 0.12 * above)


def crossed(one: Leader, other: Leader) -> bool:
    """Return whether two leaders cross; those that only share an end do not."""
    (a, b), (c, d) = one, other
    if a in other or b in other:
        return False
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0


def _side(a: Point, b: Point, at: Point) -> float:
    """Return on which side of the line from a to b a point lies, as a sign."""
    return (b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0])


def _leaders(label: Label, x: float, y: float) -> tuple[Leader, ...]:
    """Return the leaders from the nearest side of a label to each place it names."""
    pad = 1.5
    found = []
    for target_x, target_y in (label.target, *label.also):
        end_x = min(max(target_x, x - pad), x + label.width_pt + pad)
        end_y = min(max(target_y, y - pad), y + label.height_pt + pad)
        found.append(((end_x, end_y), (target_x, target_y)))
    return tuple(found)


def within(ring: FloatArray, x: FloatArray, y: FloatArray) -> np.ndarray:
    """Return which lattice places lie inside a closed outline, (len(y), len(x))."""
    inside = np.zeros((len(y), len(x)), dtype=bool)
    following = np.roll(ring, -1, axis=0)
    for (ax, ay), (bx, by) in zip(ring, following, strict=True):
        if ay == by:
            continue
        between = (y > min(ay, by)) & (y <= max(ay, by))
        crossing = ax + (y - ay) / (by - ay) * (bx - ax)
        inside ^= between[:, None] & (x[None, :] < crossing[:, None])
    return inside
