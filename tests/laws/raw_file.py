"""A small raw file with a preview in it, made here: a DNG as its makers describe the format."""

import io
import struct
from typing import Any

from PIL import Image

CODES = {1: "B", 3: "H", 4: "I", 10: "i"}  # TIFF's kinds of numbers
SECOND_AT, DATA_AT = 4096, 8192
UNIT = [10000 if row == column else 0 for row in range(3) for column in range(3)]
Entry = tuple[int, int, int, bytes]


def raw_file(preview: Image.Image, *, size: tuple[int, int] = (640, 480)) -> bytes:
    """Return a raw picture of one grey, with a JPEG preview."""
    stream = io.BytesIO()
    preview.save(stream, format="JPEG", quality=95)
    jpeg = stream.getvalue() + b"\0" * (stream.tell() % 2)
    wide, tall = size
    raw = struct.pack("<H", 2000) * (wide * tall)
    matrix = [value for one in UNIT for value in (one, 10000)]
    first = [
        *(_entry(254, 4, [1]), _entry(256, 4, [preview.width]), _entry(257, 4, [preview.height])),
        *(_entry(258, 3, [8, 8, 8]), _entry(259, 3, [7]), _entry(262, 3, [6])),
        *(_text(271, "Quillmere"), _text(272, "Quillmere One"), _entry(273, 4, [DATA_AT])),
        *(_entry(274, 3, [1]), _entry(277, 3, [3]), _entry(278, 4, [preview.height])),
        *(_entry(279, 4, [stream.tell()]), _entry(330, 4, [SECOND_AT])),
        *(_entry(50706, 1, [1, 4, 0, 0]), _text(50708, "Quillmere One"), _entry(50721, 10, matrix)),
    ]
    second = [
        *(_entry(254, 4, [0]), _entry(256, 4, [wide]), _entry(257, 4, [tall])),
        *(_entry(258, 3, [16]), _entry(259, 3, [1]), _entry(262, 3, [32803])),
        *(_entry(273, 4, [DATA_AT + len(jpeg)]), _entry(277, 3, [1]), _entry(278, 4, [tall])),
        *(_entry(279, 4, [len(raw)]), _entry(33421, 3, [2, 2]), _entry(33422, 1, [0, 1, 1, 2])),
    ]
    head = b"II*\0" + struct.pack("<I", 8) + _directory(first, at=8)
    return (
        (head.ljust(SECOND_AT, b"\0") + _directory(second, at=SECOND_AT)).ljust(DATA_AT, b"\0")
        + jpeg
        + raw
    )


def _entry(tag: int, kind: int, values: list[int]) -> Entry:
    count = len(values) // 2 if kind == 10 else len(values)
    packed: Any = struct.pack(f"<{len(values)}{CODES[kind]}", *values)
    return tag, kind, count, packed


def _text(tag: int, text: str) -> Entry:
    return tag, 2, len(text) + 1, text.encode() + b"\0"


def _directory(entries: list[Entry], *, at: int) -> bytes:
    head, extra = struct.pack("<H", len(entries)), b""
    after = at + 2 + 12 * len(entries) + 4
    for tag, kind, count, data in sorted(entries):
        value = data.ljust(4, b"\0")
        if len(data) > 4:
            value = struct.pack("<I", after + len(extra))
            extra += data + b"\0" * (len(data) % 2)
        head += struct.pack("<HHI", tag, kind, count) + value
    return head + struct.pack("<I", 0) + extra
