"""What kind of numbers a TIFF file holds, for those that cannot be read."""

from __future__ import annotations

import io

_BITS, _SAMPLE_FORMAT = 258, 339
_FLOATING = 3
_USUAL_BITS = {1, 2, 4, 8, 16}


def tiff_numbers(data: bytes) -> str:
    """Return what numbers a TIFF is made of, such as ``32-bit floating-point numbers``.

    Empty for whole numbers of up to 16 bits, for damaged files and for everything else.
    """
    from PIL.TiffImagePlugin import ImageFileDirectory_v2

    try:
        head = data[: 16 if data[2:4] in {b"+\0", b"\0+"} else 8]  # files over 4 GB have more
        tags = ImageFileDirectory_v2(head)
        stream = io.BytesIO(data)
        stream.seek(tags.next)
        tags.load(stream)
        bits, kinds = _numbers(tags.get(_BITS, 1)), _numbers(tags.get(_SAMPLE_FORMAT, 1))
    except Exception:  # as with every decoder: damaged files raise nearly anything
        return ""
    if _FLOATING in kinds:
        return f"{max(bits)}-bit floating-point numbers"
    return "" if set(bits) <= _USUAL_BITS else f"{max(bits)}-bit numbers"


def _numbers(given: object) -> tuple[int, ...]:
    return tuple(int(one) for one in (given if isinstance(given, tuple) else (given,)))
