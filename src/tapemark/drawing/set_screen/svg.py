"""SVG for a screen: short paths in whole units, classes instead of colours.

What is drawn here is a fragment that a page puts into its own ``<svg>``.  One unit is a
millimetre of the room in plan and elevation, a tenth of a millimetre at the sitter in the
camera's view; whole numbers and relative steps keep a fragment short.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import lru_cache
from itertools import pairwise
from xml.sax.saxutils import escape

import numpy as np

from tapemark.geometry import FloatArray

_DIRECTIONS = 32
_QUOTES = {"'": "&#39;"}  # attributes stand in single quotes, which JSON leaves as they are
_FEW = 7  # points of a line that is left as it is
_MOST_KEPT = 800  # fragments of a kilobyte or less
_KEPT: dict[Hashable, str] = {}  # what is drawn depends on its key alone


def offset(at: FloatArray, across: float, down: float) -> FloatArray:
    """Return a place of a drawing, shifted across and down."""
    return np.asarray(at + np.array([across, down]))


class SetSheet:
    """A fragment being drawn.

    It comes in parts, so that a page need not draw again what has stayed: every outermost group,
    everything kept from earlier, and what is drawn between two of these.
    """

    def __init__(self) -> None:
        self._ready: list[str] = []
        self._parts: list[str] = []  # of the part being drawn
        self._depth = 0

    def to_text(self) -> str:
        """Return the fragment as SVG text."""
        return "".join(self.to_parts())

    def to_parts(self) -> tuple[str, ...]:
        """Return the fragment as SVG texts, each whole by itself, in their order."""
        self._end_part()
        return tuple(self._ready)

    def _end_part(self) -> None:
        if not self._depth and (text := "".join(self._parts)):
            self._ready.append(text)
            self._parts = []

    def kept(self, key: Hashable, draw: Callable[["SetSheet"], None]) -> None:
        """Add what a function draws; what was drawn for an equal key is taken from there."""
        text = _KEPT.get(key)
        if text is None:
            sheet = SetSheet()
            draw(sheet)
            text = sheet.to_text()
            if len(_KEPT) >= _MOST_KEPT:
                _KEPT.pop(next(iter(_KEPT)), None)
            _KEPT[key] = text
        self.raw(text)

    def raw(self, text: str) -> None:
        """Add a fragment drawn earlier."""
        self._end_part()
        self._parts.append(text)
        self._end_part()

    def area(self, rings: Sequence[FloatArray], name: str) -> None:
        """Draw closed outlines (n, 2) as one shape of a class."""
        self._path(rings, name, closed=True)

    def blob(self, rings: Sequence[FloatArray], name: str, **attributes: str) -> None:
        """Draw closed outlines (n, 2) rounded off, as one shape of a class."""
        data = "".join(_smooth(one) for one in rings)
        if data:
            rule = " fill-rule='evenodd'" if len(rings) > 1 else ""
            more = _attributes(attributes)
            self._parts.append(f"<path class='{name}' d='{data}'{rule}{more}/>")

    def clip(self, shape: str, name: str) -> None:
        """Define a clip along a shape drawn with an ``id``."""
        self._parts.append(f"<clipPath id='{name}'><use href='#{shape}'/></clipPath>")

    def line(self, points: FloatArray, name: str) -> None:
        """Draw an open line (n, 2) of a class."""
        self._path([points], name, closed=False)

    def lines(self, runs: Sequence[FloatArray], name: str) -> None:
        """Draw several open lines as one shape of a class."""
        self._path(runs, name, closed=False)

    def circle(self, at: FloatArray, radius: float, name: str) -> None:
        """Draw a circle of a class."""
        x, y = (round(float(one)) for one in at)
        self._parts.append(f"<circle class='{name}' cx='{x}' cy='{y}' r='{round(radius)}'/>")

    def text(
        self, at: FloatArray, text: str, name: str, *, anchor: str = "", down: float = 0.0
    ) -> None:
        """Set a line of text; `down` counts lines below the place."""
        x, y = (round(float(one)) for one in at)
        more = f" text-anchor='{anchor}'" if anchor else ""
        more += f" dy='{down:.2g}em'" if down else ""
        self._parts.append(f"<text class='{name}' x='{x}' y='{y}'{more}>{escape(text)}</text>")

    @contextmanager
    def group(self, name: str, **attributes: str) -> Iterator[None]:
        """Collect what is drawn inside under a class, with further attributes."""
        self._end_part()
        self._depth += 1
        self._parts.append(f"<g class='{name}'{_attributes(attributes)}>")
        yield
        self._parts.append("</g>")
        self._depth -= 1
        self._end_part()

    @contextmanager
    def thing(
        self, name: str, *, thing: str, at_m: Iterable[float], label: str, **data: str
    ) -> Iterator[None]:
        """Collect what belongs to something that can be taken hold of.

        Parameters
        ----------
        name : str
            Further classes.
        thing : str
            How an edit calls it, ``light.key``.
        at_m : iterable of three floats
            Where it is, world frame. [m]
        label : str
            What a screen reader says.
        **data : str
            Further ``data-`` attributes.
        """
        place = zip("xyz", (f"{one + 0.0:.3f}" for one in at_m), strict=True)
        held = {"thing": thing, **dict(place), **data}
        attributes = {f"data-{key}": value for key, value in held.items()}
        attributes |= {"tabindex": "0", "role": "button", "aria-label": label}
        with self.group(f"thing {name}", **attributes):
            yield

    def hit(self, at: FloatArray, radius: float) -> None:
        """Draw the transparent area by which a thing is taken hold of."""
        self.circle(at, radius, "hit")

    def _path(self, outlines: Sequence[FloatArray], name: str, *, closed: bool) -> None:
        data = "".join(_data(one, closed=closed) for one in outlines)
        if data:
            rule = " fill-rule='evenodd'" if closed and len(outlines) > 1 else ""
            self._parts.append(f"<path class='{name}' d='{data}'{rule}/>")


def convex(points: FloatArray, *, directions: int = _DIRECTIONS) -> FloatArray:
    """Return a convex outline around points (n, 2), with at most so many corners."""
    found = np.argmax(points @ _ways(directions), axis=0)
    kept = np.flatnonzero(found != np.roll(found, 1))
    return np.asarray(points[found[kept]] if len(kept) else points[found[:1]])


@lru_cache(maxsize=16)
def _ways(count: int) -> FloatArray:
    around = np.arange(count) * (2 * np.pi / count)
    return np.stack([np.cos(around), np.sin(around)])


def fewer(points: FloatArray, *, tolerance: float) -> FloatArray:
    """Return a line (n, 2) without the points that hardly bend it."""
    if len(points) < _FEW:
        return points
    chosen = np.asarray(points, dtype=np.float64)
    for _ in range(5):
        before, here, after = chosen[:-2:2], chosen[1:-1:2], chosen[2::2]
        chord, away = after - before, here - before
        size = np.sqrt(chord[:, 0] ** 2 + chord[:, 1] ** 2) + 1e-9
        keep = np.ones(len(chosen), dtype=bool)
        off = np.abs(chord[:, 0] * away[:, 1] - chord[:, 1] * away[:, 0]) / size
        keep[1:-1:2] = off > tolerance
        if keep.all() or len(chosen) < _FEW:
            return chosen
        chosen = chosen[keep]
    return chosen


def _attributes(values: Mapping[str, str]) -> str:
    return "".join(f" {key}='{escape(value, _QUOTES)}'" for key, value in values.items())


def _smooth(points: FloatArray) -> str:
    """Return path data of a closed outline whose corners are rounded off.

    Notes
    -----
    Corners are the control points of arcs between the middles of the sides.  Each is the last
    one mirrored in the middle between them, which SVG's ``t`` does by itself; middles are rounded
    so that what it makes of them stays within a unit of the corner.
    """
    whole = _whole(points)
    if len(whole) > 1 and whole[0] == whole[-1]:
        whole.pop()
    if len(whole) < 3:
        return ""
    start = _middle(whole[-1], whole[0])
    control, at = whole[0], _middle(whole[0], whole[1])
    steps = [control[0] - start[0], control[1] - start[1], at[0] - start[0], at[1] - start[1]]
    bends: list[int] = []
    for corner in [*whole[2:], None]:
        control = (2 * at[0] - control[0], 2 * at[1] - control[1])
        end = start if corner is None else _middle(control, corner)
        bends += (end[0] - at[0], end[1] - at[1])
        at = end
    return f"M{start[0]} {start[1]}q{_numbers(steps)}t{_numbers(bends)}z"


def _middle(one: tuple[int, int], other: tuple[int, int]) -> tuple[int, int]:
    return (one[0] + other[0]) // 2, (one[1] + other[1]) // 2


def _numbers(steps: Sequence[int]) -> str:
    return "".join(f"{one}" if one < 0 else f" {one}" for one in steps).lstrip()


def _whole(points: FloatArray) -> list[tuple[int, int]]:
    """Return places in whole units, without those that follow themselves or are not finite."""
    found: list[tuple[int, int]] = []
    for x, y in np.asarray(points).tolist():
        if x == x and y == y:  # not NaN
            at = (round(x), round(y))
            if not found or found[-1] != at:
                found.append(at)
    return found


def _data(points: FloatArray, *, closed: bool) -> str:
    whole = _whole(points)
    if len(whole) < 2:
        return ""
    steps = [step for (x, y), (to_x, to_y) in pairwise(whole) for step in (to_x - x, to_y - y)]
    return f"M{whole[0][0]} {whole[0][1]}l{_numbers(steps)}{'z' if closed else ''}"
