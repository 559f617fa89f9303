"""Which letters does the drawings' typeface have?

A missing letter prints as an empty box and nobody is told, so that pages ask
first.  The answer is read from the font file's own table of characters (the
OpenType ``cmap`` table, formats 4 and 12).
"""

import struct
from functools import cache
from pathlib import Path
from typing import Any

from tapemark.drawing.png import font_files

#: Stands for a letter that is not there.
STAND_IN = "?"
_NEVER_DRAWN = frozenset("\u200b\n\t")


@cache
def letters() -> frozenset[int]:
    """Return the code points of all letters in the regular weight."""
    data = Path(font_files()[0]).read_bytes()
    (count,) = struct.unpack_from(">H", data, 4)
    tables = {}
    for k in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sIII", data, 12 + 16 * k)
        tables[tag] = offset
    start = tables[b"cmap"]
    (count,) = struct.unpack_from(">H", data, start + 2)
    found: set[int] = set()
    for k in range(count):
        (offset,) = struct.unpack_from(">I", data, start + 8 + 8 * k)
        found |= _listed(data, start + offset)
    return frozenset(found)


def has_all(text: str) -> bool:
    """Return whether the typeface has every letter of a text."""
    return all(_known(letter) for letter in text)


def in_typeface(value: Any) -> Any:
    """Return text, or texts in lists and mappings, with a stand-in for letters it lacks.

    Parameters
    ----------
    value : object
        Text, a list or mapping of such, or anything else, which stays as it is.
    """
    if isinstance(value, str):
        if has_all(value):
            return value
        return "".join(letter if _known(letter) else STAND_IN for letter in value)
    if isinstance(value, list | tuple):
        return [in_typeface(one) for one in value]
    if isinstance(value, dict):
        return {key: in_typeface(one) for key, one in value.items()}
    return value


def _known(letter: str) -> bool:
    return letter in _NEVER_DRAWN or ord(letter) in letters()


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
