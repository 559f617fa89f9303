"""Reads back what stands in a PDF that tapemark wrote: text, where it starts, and page sizes.

Enough of the format for our own files, and for nothing else: packed streams,
fonts with a table back to letters, strings of two-byte glyph numbers.
"""

import re
import zlib
from dataclasses import dataclass

_ESCAPES = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_OBJECT = re.compile(rb"\n(\d+) 0 obj\s*(.*?)endobj", re.DOTALL)
_RUN = re.compile(
    rb"(?:1 0 0 -1 (?P<x>[\d.]+) (?P<y>[\d.]+) cm[^\n]*\n)?"
    rb"BT [^\n]*?/(?P<font>f\d+) (?P<size>[\d.]+) Tf (?P<shown>.*?)T[jJ]\nET",
    re.DOTALL,
)


@dataclass(frozen=True)
class Run:
    """A run of text; x and y only where it was not set inside a drawing [pt]."""

    text: str
    size: float
    bold: bool
    x: float | None
    y: float | None


@dataclass(frozen=True)
class Page:
    """A page: size [pt] and everything on it."""

    width: float
    height: float
    runs: tuple[Run, ...]

    @property
    def text(self) -> str:
        return " ".join(" ".join(run.text for run in self.runs).replace("\u200b", "").split())


def pages(pdf: bytes) -> list[Page]:
    objects = {number: body for number, body in _OBJECT.findall(pdf)}
    found = []
    for body in objects.values():
        if b"/Type/Page/" not in body:
            continue
        box = re.search(rb"/MediaBox\[([^\]]*)\]", body).group(1).split()
        shared = objects[re.search(rb"/Resources (\d+)", body).group(1)]
        fonts = {
            name: (_letters(objects, number), b"Semibold" in objects[number])
            for name, number in re.findall(rb"/(f\d+) (\d+) 0 R", shared)
        }
        content = _stream(objects[re.search(rb"/Contents (\d+)", body).group(1)])
        runs = tuple(_run(match, fonts) for match in _RUN.finditer(content))
        found.append(Page(float(box[2]), float(box[3]), runs))
    return found


def _stream(body: bytes) -> bytes:
    packed = body.partition(b"stream")[2].lstrip(b"\r\n")
    return zlib.decompressobj().decompress(packed)


def _letters(objects: dict[bytes, bytes], font: bytes) -> dict[int, str]:
    table = _stream(objects[re.search(rb"/ToUnicode (\d+)", objects[font]).group(1)])
    return {
        int(glyph, 16): bytes.fromhex(letters.decode()).decode("utf-16-be")
        for glyph, letters in re.findall(rb"<([0-9A-F]{4})> <([0-9A-F]+)>\n", table)
    }


def _run(match: re.Match[bytes], fonts: dict[bytes, tuple[dict[int, str], bool]]) -> Run:
    letters, bold = fonts[match["font"]]
    raw = b"".join(_plain(one) for one in _strings(match["shown"]))
    glyphs = [int.from_bytes(raw[k : k + 2], "big") for k in range(0, len(raw), 2)]
    x, y = (None if match[key] is None else float(match[key]) for key in "xy")
    return Run(
        "".join(letters.get(glyph, "\ufffd") for glyph in glyphs), float(match["size"]), bold, x, y
    )


def _strings(shown: bytes) -> list[bytes]:
    """Everything in outer brackets; pairs of brackets inside stand for themselves."""
    found, depth, start, k = [], 0, 0, 0
    while k < len(shown):
        sign = shown[k : k + 1]
        if sign == b"\\":
            k += 1
        elif sign == b"(":
            depth += 1
            start = k + 1 if depth == 1 else start
        elif sign == b")":
            depth -= 1
            if depth == 0:
                found.append(shown[start:k])
        k += 1
    return found


def _plain(text: bytes) -> bytes:
    def replaced(match: re.Match[bytes]) -> bytes:
        mark = match.group(1)
        return bytes([int(mark, 8)]) if mark.isdigit() else _ESCAPES.get(mark, mark)

    return re.sub(rb"\\([0-7]{1,3}|.)", replaced, text, flags=re.DOTALL)
