"""IES LM-63 files: a lamp's intensities as North American laboratories write them.

::

    IESNA:LM-63-2002                                      absent from files of 1986
    [LUMINAIRE] words                                     any number of keywords
    TILT=NONE                                             or INCLUDE and its table, or a file
    lamps lumens multiplier nV nH type units W L H        type 1 C, 2 B, 3 A; units 1 ft, 2 m
    ballast-factor future watts
    nV vertical angles, nH horizontal angles, then nV intensities for each horizontal angle

From TILT on, commas, spaces and line ends all stand between numbers.
"""

import re
from dataclasses import dataclass
from typing import Literal

from tapemark.store.luminaire_table import (
    BRIGHTEST_CD,
    LARGEST_OPENING_M,
    MOST_ANGLES,
    MOST_LUMENS,
    MOST_WATTS,
    check_size,
    label,
    positive_or_none,
    read_intensities,
    read_vertical,
)
from tapemark.store.numbered_text import NumberedText, quoted
from tapemark.studio import Luminaire
from tapemark.units import FOOT

_VERSION = re.compile(r"IES(?:NA)?\s*:?\s*(?:LM-63-)?((?:19|20)?[0-9]{2})\b", re.IGNORECASE)
_NAMING = ("LUMINAIRE", "LUMCAT", "MANUFAC")  # the best first
_KEYWORD = re.compile(rf"\[({'|'.join(_NAMING)})\]\s*(\S.*)", re.IGNORECASE)
_NO_VERSION = 1986
_FUTURE_USE_SINCE = 2002  # before, the second number of its line scaled the intensities too
_TYPES: dict[float, Literal["A", "B", "C"]] = {1.0: "C", 2.0: "B", 3.0: "A"}
_PLANES = ((0.0, 0.0), (0.0, 90.0), (0.0, 180.0), (90.0, 270.0), (0.0, 360.0))
_MOST_TILTS = 200
_QUARTER_DEG, _HALF_TURN_DEG = 90.0, 180.0


@dataclass(frozen=True, kw_only=True, slots=True)
class _Head:
    """The two lines of numbers before the angles."""

    lamp_lumens: float | None
    scale: float
    vertical: int
    horizontal: int
    photometry: Literal["A", "B", "C"]
    sizes_m: tuple[float, float, float]  # width across, length along the angle 0, height
    watts: float


def luminaire_from_ies(raw: bytes) -> Luminaire:
    """Return the lamp that an IES LM-63 file describes.

    Parameters
    ----------
    raw : bytes
        What the file holds.

    Returns
    -------
    Luminaire
        Intensities with the multiplier and the ballast factor of the file. A table of tilt is
        checked, but not used: it corrects for lamps that mind how they hang.

    Raises
    ------
    MalformedError
        With the line, what stands there and what may stand there.

    References
    ----------
    [lm-63-2002], [photompy]
    """
    text = NumberedText(raw, number_per_line=False)
    year, name = _read_words(text)
    head = _read_head(text, year=year)
    check_size(text, rows=head.horizontal, each=head.vertical)
    vertical, horizontal = _read_angles(text, head)
    candela = read_intensities(text, rows=head.horizontal, each=head.vertical, scale=head.scale)
    text.expect_end(after="the last intensity")
    along_c0, along_c90, is_round = _opening(head.sizes_m)
    return Luminaire(
        name=name,
        source=f"IES LM-63-{year}",
        photometry=head.photometry,
        vertical_deg=vertical,
        horizontal_deg=horizontal,
        candela=candela,
        lamp_lumens=head.lamp_lumens,
        opening_shape="round" if is_round else "rectangle",
        opening_c0_m=along_c0,
        opening_c90_m=along_c90,
        opening_depth_m=abs(head.sizes_m[2]),
        mains_w=positive_or_none(head.watts),
    )


def _read_words(text: NumberedText) -> tuple[int, str]:
    """Read up to the line of the tilt and return the year of the format and the lamp's name."""
    allowed = "TILT=NONE, TILT=INCLUDE or TILT= and the name of a file"
    year, line = _NO_VERSION, ""
    names: dict[str, str] = {}
    while not line.upper().startswith("TILT"):
        line = text.next_line(allowed=allowed)
        version = _VERSION.match(line) if text.line == 1 else None
        keyword = _KEYWORD.match(line)
        if version is not None:
            year = int(version[1]) + (1900 if len(version[1]) == len("91") else 0)
        elif keyword is not None:
            names.setdefault(keyword[1].upper(), keyword[2])
    sign, tilt = line[len("TILT") :].strip()[:1], line.partition("=")[2].strip()
    if sign != "=" or not tilt:
        raise text.refused(quoted(line), allowed=allowed)
    if tilt.upper() == "INCLUDE":
        _read_tilt(text)
    best = next((names[key] for key in _NAMING if key in names), "")
    return year, label(best)


def _read_tilt(text: NumberedText) -> None:
    """Read past a table of tilt: how the lamp sits, then angles and factors."""
    text.number("how the lamp sits", low=1, high=3, whole=True)
    count = int(text.number("number of tilt angles", low=1, high=_MOST_TILTS, whole=True))
    text.rising("tilt angle", count=count, low=-_HALF_TURN_DEG, high=_HALF_TURN_DEG)
    for _ in range(count):
        text.number("factor for a tilt", low=0.0, high=100.0)


def _read_head(text: NumberedText, *, year: int) -> _Head:
    lamps = text.number("number of lamps", low=1, high=10_000, whole=True)
    lumens = text.number("lumens per lamp, or -1", low=-1.0, high=MOST_LUMENS / lamps)
    scale = text.number("multiplier", low=1e-9, high=BRIGHTEST_CD)
    vertical = int(text.number("number of vertical angles", low=2, high=MOST_ANGLES, whole=True))
    across = int(text.number("number of horizontal angles", low=1, high=MOST_ANGLES, whole=True))
    kind = text.number("type of photometry (1 C, 2 B, 3 A)", low=1, high=3, whole=True)
    unit = text.number("unit of lengths (1 feet, 2 metres)", low=1, high=2, whole=True)
    in_metres = FOOT if unit == 1.0 else 1.0
    largest = LARGEST_OPENING_M / in_metres
    sides = ("width", "length", "height")
    sizes = [text.number(f"{side} of the opening", low=-largest, high=largest) for side in sides]
    scale *= text.number("ballast factor", low=1e-6, high=1e6)
    later = text.number("second number after the size", low=0.0, high=1e6)
    if year < _FUTURE_USE_SINCE and later > 0.0:
        scale *= later
    watts = text.number("watts", low=0.0, high=MOST_WATTS)
    return _Head(
        lamp_lumens=positive_or_none(lamps * lumens),
        scale=scale,
        vertical=vertical,
        horizontal=across,
        photometry=_TYPES[kind],
        sizes_m=(sizes[0] * in_metres, sizes[1] * in_metres, sizes[2] * in_metres),
        watts=watts,
    )


def _read_angles(text: NumberedText, head: _Head) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the vertical and the horizontal angles. [deg]"""
    if head.photometry == "C":
        vertical = read_vertical(text, count=head.vertical)
        across = text.rising("horizontal angle", count=head.horizontal, low=0.0, high=360.0)
        if (across[0], across[-1]) not in _PLANES:
            found = f"horizontal angles from {across[0]:g} to {across[-1]:g}"
            allowed = "0 alone, 0 to 90, 0 to 180, 90 to 270 or 0 to 360"
            raise text.refused(found, allowed=allowed)
        return vertical, across
    up, aside = (
        (_QUARTER_DEG, _HALF_TURN_DEG) if head.photometry == "A" else (_HALF_TURN_DEG, _QUARTER_DEG)
    )
    return (
        _read_about_axis(text, "vertical angle", count=head.vertical, limit=up),
        _read_about_axis(text, "horizontal angle", count=head.horizontal, limit=aside),
    )


def _read_about_axis(
    text: NumberedText, what: str, *, count: int, limit: float
) -> tuple[float, ...]:
    """Return angles that are counted to both sides of the axis, or to one for both. [deg]"""
    angles = text.rising(what, count=count, low=-limit, high=limit)
    if not angles[0] <= 0.0 < angles[-1]:
        found = f"{what}s from {angles[0]:g} to {angles[-1]:g}"
        raise text.refused(found, allowed="from 0 or below to above 0")
    return angles


def _opening(sizes_m: tuple[float, float, float]) -> tuple[float, float, bool]:
    """Return the opening along the angles 0 and 90 and whether it is round.

    Negative sizes are those of a round edge; one negative size alone is the diameter of a circle.
    """
    width, length, _ = sizes_m
    is_round = max(width, length) <= 0.0 and width + length < 0.0
    if is_round and max(width, length) == 0.0:
        width = length = width + length
    return abs(length), abs(width), is_round
