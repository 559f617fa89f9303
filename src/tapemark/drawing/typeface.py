"""Which letters does the drawings' typeface have?

A missing letter prints as an empty box and nobody is told, so that pages ask
first: names from elsewhere may be set in the fonts of the computer.  The
answer is read from the font files' own tables of characters (the OpenType
``cmap`` table, formats 4 and 12).
"""

import re
import struct
from functools import cache
from pathlib import Path
from typing import Any

from tapemark.drawing.png import font_files
from tapemark.units.text import JOINERS

#: Stands for a letter that is not there.
STAND_IN = "?"
_NEVER_DRAWN = frozenset(
    "\u200b\n\t\N{VARIATION SELECTOR-15}\N{VARIATION SELECTOR-16}"
    "\N{FIRST STRONG ISOLATE}\N{POP DIRECTIONAL ISOLATE}" + JOINERS
)
_IN_PIECES = re.compile(rf"{re.escape(STAND_IN)}(?:[{JOINERS}\ufe0f]+{re.escape(STAND_IN)})+")


@cache
def letters() -> frozenset[int]:
    """Return the code points of all letters in the regular weight."""
    return _letters_of(Path(font_files()[0]))


def has_all(text: str) -> bool:
    """Return whether the typeface has every letter of a text."""
    return all(letter in _NEVER_DRAWN or ord(letter) in letters() for letter in text)


def can_draw(text: str) -> bool:
    """Return whether every letter of a text is in the typeface or in a font of this computer."""
    return has_all(text) or all(_known(letter) for letter in text)


def drawable(value: Any) -> Any:
    """Return text, or texts in lists and mappings, with a stand-in for letters no font here has.

    Parameters
    ----------
    value : object
        Text, a list or mapping of such, or anything else, which stays as it is.
    """
    if isinstance(value, str):
        if can_draw(value):
            return value
        shown = "".join(letter if _known(letter) else STAND_IN for letter in value)
        return _IN_PIECES.sub(STAND_IN, shown)
    if isinstance(value, list | tuple):
        return [drawable(one) for one in value]
    if isinstance(value, dict):
        return {key: drawable(one) for key, one in value.items()}
    return value


def _known(letter: str) -> bool:
    return letter in _NEVER_DRAWN or ord(letter) in letters() or ord(letter) in _letters_elsewhere()


@cache
def _letters_elsewhere() -> frozenset[int]:
    """Return the code points that any font of this computer has; asked only for a foreign name."""
    import typst  # loaded only where used

    found = typst.Fonts(include_system_fonts=True, include_embedded_fonts=False).fonts()
    paths = {(Path(one.path), one.index) for one in found if one.path is not None}
    return frozenset().union(*(_letters_of(path, index) for path, index in paths))


def _letters_of(path: Path, index: int = 0) -> frozenset[int]:
    """Return the code points of a font, or none of a file that is not as it should be."""
    try:
        data = path.read_bytes()
        start = 0
        if data[:4] == b"ttcf":  # several fonts in one file
            (start,) = struct.unpack_from(">I", data, 12 + 4 * index)
        (count,) = struct.unpack_from(">H", data, start + 4)
        tables = {}
        for k in range(count):
            tag, _, offset, _ = struct.unpack_from(">4sIII", data, start + 12 + 16 * k)
            tables[tag] = offset
        at = tables[b"cmap"]
        (count,) = struct.unpack_from(">H", data, at + 2)
        found: set[int] = set()
        for k in range(count):
            (offset,) = struct.unpack_from(">I", data, at + 8 + 8 * k)
            found |= _listed(data, at + offset)
    except (OSError, struct.error, KeyError):
        return frozenset()
    return frozenset(found)


def _listed(data: bytes, start: int) -> set[int]:
    """Return the code points of one table of characters; none of a format unknown here."""
    (form,) = struct.unpack_from(">H", data, start)
    if form == 12:
        (groups,) = struct.unpack_from(">I", data, start + 12)
        runs = [struct.unpack_from(">III", data, start + 16 + 12 * k)[:2] for k in range(groups)]
        return {point for low, high in runs for point in range(low, high + 1)}
    if form != 4:
        return set()
    (twice,) = struct.unpack_from(">H", data, start + 6)
    count = twice // 2
    ends, starts, shifts, offsets = (
        struct.unpack_from(f">{count}H", data, start + 14 + gap + k * twice)
        for k, gap in enumerate((0, 2, 2, 2))  # two spare bytes after the first list
    )
    found = set()
    for k in range(count):
        for point in range(starts[k], ends[k] + 1):
            glyph = point + shifts[k]
            if offsets[k]:
                place = start + 16 + 3 * twice + 2 * k + offsets[k] + 2 * (point - starts[k])
                glyph = struct.unpack_from(">H", data, place)[0] if place < len(data) - 1 else 0
            if glyph % 0x10000:
                found.add(point)
    return found
