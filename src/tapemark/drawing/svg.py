"""A sheet of paper that collects shapes and text, and writes them as SVG.

Lengths are in points of the printed page; coordinates run right and down.
"""

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from xml.etree import ElementTree as ET

import numpy as np

from tapemark.drawing.style import FONT, INK, PAPER, Paint
from tapemark.geometry import FloatArray

MM_PER_POINT = 25.4 / 72
_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}

Points = FloatArray | Sequence[tuple[float, float]]


class Sheet:
    """A page being drawn.

    Parameters
    ----------
    width_pt, height_pt : float
        Size of the page. [pt]
    title, description : str
        Told by screen readers in place of the drawing.
    """

    def __init__(self, *, width_pt: float, height_pt: float, title: str, description: str) -> None:
        self.width_pt, self.height_pt = width_pt, height_pt
        self._root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "width": f"{_number(width_pt * MM_PER_POINT)}mm",
                "height": f"{_number(height_pt * MM_PER_POINT)}mm",
                "viewBox": f"0 0 {_number(width_pt)} {_number(height_pt)}",
                "font-family": FONT,
                "role": "img",
                "aria-labelledby": "title description",
            },
        )
        ET.SubElement(self._root, "title", {"id": "title"}).text = title
        ET.SubElement(self._root, "desc", {"id": "description"}).text = description
        self._defs = ET.SubElement(self._root, "defs")
        self._at = self._root
        self._clips = 0
        self.rectangle(0, 0, width_pt, height_pt, Paint(fill=PAPER))

    def to_text(self) -> str:
        """Return the page as SVG text."""
        return ET.tostring(self._root, encoding="unicode") + "\n"

    @contextmanager
    def group(self, name: str, *, clip: str | None = None) -> Iterator[None]:
        """Collect what is drawn inside under a name (the class of an SVG group)."""
        attributes = {"class": name}
        if clip is not None:
            attributes["clip-path"] = f"url(#{clip})"
        outer, self._at = self._at, ET.SubElement(self._at, "g", attributes)
        try:
            yield
        finally:
            self._at = outer

    def clip(self, outlines: Sequence[Points]) -> str:
        """Return the name of a new clip along closed outlines (holes cut out)."""
        self._clips += 1
        name = f"clip{self._clips}"
        holder = ET.SubElement(self._defs, "clipPath", {"id": name})
        data = path_data(outlines, closed=True)
        ET.SubElement(holder, "path", {"d": data or "M0 0Z", "clip-rule": "evenodd"})
        return name

    def define(self, markup: str) -> None:
        """Add a definition, such as a pattern, written by us as SVG markup."""
        self._defs.append(ET.fromstring(markup))

    # Four numbers in a row: the order in which SVG itself names a rectangle.
    def rectangle(self, x: float, y: float, width: float, height: float, paint: Paint) -> None:  # noqa: PLR0917
        """Draw an upright rectangle from its upper left corner. [pt]"""
        place = {"x": x, "y": y, "width": width, "height": height}
        self._add("rect", {key: _number(value) for key, value in place.items()}, paint)

    def circle(self, x: float, y: float, radius: float, paint: Paint) -> None:
        """Draw a circle about its middle. [pt]"""
        place = {"cx": x, "cy": y, "r": radius}
        self._add("circle", {key: _number(value) for key, value in place.items()}, paint)

    def line(self, points: Points, paint: Paint, *, name: str = "") -> None:
        """Draw an open line through points (n, 2) [pt]."""
        self._path([points], paint, closed=False, name=name)

    def area(self, outlines: Sequence[Points], paint: Paint, *, name: str = "") -> None:
        """Draw closed outlines as one shape; outlines within outlines are holes. [pt]"""
        self._path(outlines, paint, closed=True, name=name)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size_pt: float,
        weight: int = 400,
        color: str = INK,
        anchor: str = "left",
        turned_deg: float = 0.0,
    ) -> None:
        """Set one line of text with its baseline at a place.

        Parameters
        ----------
        x, y : float
            Where the baseline starts, or its middle or end. [pt]
        text : str
            Escaped here.
        size_pt : float
            Type size. [pt]
        weight : int
            400 or 600.
        color : str
            Colour of the text.
        anchor : str
            ``left``, ``middle`` or ``right``: which part of the text is at x.
        turned_deg : float
            Turned clockwise about that place. [deg]
        """
        attributes = {
            "x": _number(x),
            "y": _number(y),
            "font-size": _number(size_pt),
            "fill": color,
        }
        if weight != 400:
            attributes["font-weight"] = str(weight)
        if anchor != "left":
            attributes["text-anchor"] = _ANCHORS[anchor]
        if turned_deg:
            attributes["transform"] = f"rotate({_number(turned_deg)} {_number(x)} {_number(y)})"
        ET.SubElement(self._at, "text", attributes).text = text

    def _path(self, outlines: Sequence[Points], paint: Paint, *, closed: bool, name: str) -> None:
        data = path_data(outlines, closed=closed)
        if not data:
            return
        attributes = {"d": data}
        if name:
            attributes["class"] = name
        if closed and len(outlines) > 1:
            attributes["fill-rule"] = "evenodd"
        self._add("path", attributes, paint)

    def _add(self, tag: str, attributes: dict[str, str], paint: Paint) -> None:
        attributes["fill"] = paint.fill
        if paint.stroke != "none" and paint.width > 0:
            attributes |= {
                "stroke": paint.stroke,
                "stroke-width": _number(paint.width),
                "stroke-linejoin": "round",
            }
            if paint.round_ends:
                attributes["stroke-linecap"] = "round"
            if paint.dash:
                attributes["stroke-dasharray"] = " ".join(_number(part) for part in paint.dash)
        if paint.opacity != 1.0:
            attributes["opacity"] = _number(paint.opacity)
        ET.SubElement(self._at, tag, attributes)


def path_data(outlines: Sequence[Points], *, closed: bool) -> str:
    """Return SVG path data of outlines, to a hundredth of a point.

    Outlines with a NaN are broken there into separate lines.
    """
    parts = []
    for outline in outlines:
        points = np.asarray(outline, dtype=np.float64).reshape(-1, 2)
        for piece in _unbroken(points):
            hundredths = np.rint(piece * 100).astype(np.int64)
            steps = np.diff(hundredths, axis=0)
            steps = steps[np.any(steps != 0, axis=1)]
            if len(steps) == 0:
                continue
            start = hundredths[0] / 100
            moves = "".join(f"{_step(x)}{_step(y)}" for x, y in steps.tolist())
            tail = "z" if closed else ""
            parts.append(f"M{_number(start[0])} {_number(start[1])}l{moves.lstrip()}{tail}")
    return "".join(parts)


def _unbroken(points: FloatArray) -> list[FloatArray]:
    broken = ~np.isfinite(points).all(axis=1)
    if not broken.any():
        return [points]
    pieces = np.split(points, np.nonzero(broken)[0])
    kept = [piece[np.isfinite(piece).all(axis=1)] for piece in pieces]
    return [piece for piece in kept if len(piece) > 1]


def _step(hundredths: int) -> str:
    """Return a relative coordinate; a sign separates it from what stands before."""
    text = _number(hundredths / 100)
    return text if text.startswith("-") else f" {text}"


def _number(value: float) -> str:
    if not math.isfinite(value):
        raise ValueError(f"a drawing needs finite coordinates, got {value}")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    if text in {"-0", ""}:
        return "0"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
