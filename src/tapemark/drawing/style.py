"""How the drawings look: a printed studio notebook.

Paper, one blue-black ink in two weights, and one warm colour kept for
trouble.  Nothing is told by colour alone: reflections and catchlights differ
in hatching and outline, verdicts carry a word and a filled sign.
"""

from dataclasses import dataclass

from tapemark.drawing.text_width import FONT_FAMILY

PAPER = "#fbfaf5"
INK = "#16233b"  # lines and text
SOFT_INK = "#4b586d"  # second-rank text, dimension lines
HAIRLINE = "#a9b2bf"  # never text
WARM = "#a8330b"  # trouble, and nothing else
LIT = "#f7e6ae"  # what sends light
WHITE = "#ffffff"

#: Tones of the picture, from lit paper to shade: screens of the one ink.
TONES = ("#f7f5ef", "#e5e6e6", "#cbd0d6", "#a7b0bd", "#7e8a9d")
HAIR_TONES = ("#75829a", "#4c5a74", "#313e58", "#222d45")
CLOTH_TONES = ("#c3cad2", "#a5afbc", "#8592a4", "#66748a", "#4c5a72")

THICK, THIN, FINE = 1.3, 0.7, 0.4  # line weights [pt]

#: Type sizes [pt]; nothing is set smaller than the last.
TITLE_PT, HEADING_PT, BODY_PT, SMALL_PT = 15.0, 11.5, 9.8, 9.0
LEAST_TEXT_PT = SMALL_PT

FONT = FONT_FAMILY


@dataclass(frozen=True, kw_only=True, slots=True)
class Paint:
    """How a shape is painted.

    Attributes
    ----------
    fill, stroke : str
        Colours, ``none``, or a pattern as ``url(#name)``.
    width : float
        Width of the stroke. [pt]
    dash : tuple of floats
        Lengths of dashes and gaps. [pt]
    opacity : float
        0 to 1. [-]
    round_ends : bool
        Whether lines end round.
    """

    fill: str = "none"
    stroke: str = "none"
    width: float = 0.0
    dash: tuple[float, ...] = ()
    opacity: float = 1.0
    round_ends: bool = False


def line(width: float = THIN, *, color: str = INK, dash: tuple[float, ...] = ()) -> Paint:
    """Return the paint of an open line of a width [pt]."""
    return Paint(stroke=color, width=width, dash=dash, round_ends=not dash)


def filled(color: str, *, outline: float = 0.0, stroke: str = INK) -> Paint:
    """Return the paint of a filled shape with an outline of a width [pt]."""
    return Paint(fill=color, stroke=stroke if outline else "none", width=outline)


def luminance(color: str) -> float:
    """Return the relative luminance of a colour written ``#rrggbb`` [-].

    References
    ----------
    [wcag22] definition of relative luminance (sRGB).
    """
    parts = [int(color[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 [-].

    References
    ----------
    [wcag22] definition of contrast ratio.
    """
    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def mixed(first: str, second: str, *, share: float) -> str:
    """Return a colour part of the way (0 to 1) from one to another."""
    pairs = [(int(first[k : k + 2], 16), int(second[k : k + 2], 16)) for k in (1, 3, 5)]
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)
