"""A contact sheet of many frames: their eyes, what was found, the worst first."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

from tapemark.photo.crops import CROP_SIZE

ACROSS, DOWN = 4, 8
A_SHEET = ACROSS * DOWN
_GAP, _TEXT = 14, 40
_PAPER, _INK, _FAINT, _RED = (250, 247, 240), (40, 38, 34), (130, 125, 115), (190, 50, 25)


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetFrame:
    """One frame on a contact sheet.

    Attributes
    ----------
    name : str
        Of its file.
    line : str
        What was found, in a few words.
    trouble : bool
        Whether it is marked.
    crop : bytes
        A JPEG of the eyes; empty where the photo could not be read.
    """

    name: str
    line: str
    trouble: bool
    crop: bytes


def contact_sheet(frames: Sequence[SheetFrame], *, title: str) -> bytes:
    """Return up to `A_SHEET` frames as one JPEG.

    Parameters
    ----------
    frames : sequence of SheetFrame
        In the order to be shown.
    title : str
        Over them.
    """
    from PIL import Image, ImageDraw, ImageFont

    wide, tall = CROP_SIZE[0] + _GAP, CROP_SIZE[1] + _TEXT + _GAP
    down = max((len(frames) + ACROSS - 1) // ACROSS, 1)
    sheet = Image.new("RGB", (ACROSS * wide + _GAP, down * tall + _GAP + 44), _PAPER)
    pen = ImageDraw.Draw(sheet)
    large, small = ImageFont.load_default(22), ImageFont.load_default(14)
    pen.text((_GAP, _GAP), _plain(title, 90), fill=_INK, font=large)
    for number, frame in enumerate(frames[:A_SHEET]):
        left = _GAP + number % ACROSS * wide
        top = _GAP + 44 + number // ACROSS * tall
        _place(sheet, frame, left, top)
        color = _RED if frame.trouble else _FAINT
        under = top + CROP_SIZE[1] + 2
        pen.text((left, under), _plain(frame.name, 44), fill=_INK, font=small)
        pen.text((left, under + 17), _plain(frame.line, 48), fill=color, font=small)
    stream = io.BytesIO()
    sheet.save(stream, format="JPEG", quality=86)
    return stream.getvalue()


def _place(sheet: object, frame: SheetFrame, left: int, top: int) -> None:
    """Put the eyes of a frame into its cell; an empty frame where there are none."""
    from PIL import Image, ImageDraw

    assert isinstance(sheet, Image.Image)
    box = (left, top, left + CROP_SIZE[0], top + CROP_SIZE[1])
    if not frame.crop:
        ImageDraw.Draw(sheet).rectangle(box, outline=_FAINT)
        return
    with Image.open(io.BytesIO(frame.crop)) as crop:
        image = crop.convert("RGB")
    image.thumbnail(CROP_SIZE)
    sheet.paste(image, (left + (CROP_SIZE[0] - image.width) // 2, top))


def _plain(text: str, most: int) -> str:
    """Return a text that the built-in typeface has letters for, not too long."""
    shown = "".join(one if one.isprintable() and ord(one) < 0x250 else "?" for one in text)
    return shown if len(shown) <= most else f"{shown[: most - 3]}..."
