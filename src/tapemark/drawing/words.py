"""Running text broken into lines."""

from tapemark.drawing.page import fitted
from tapemark.drawing.text_width import text_width


def wrapped(text: str, width_pt: float, *, size_pt: float) -> list[str]:
    """Return a text broken into lines that fit a width [pt]."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size_pt=size_pt) <= width_pt:
            lines[-1] = longer
        else:
            lines.append(word)
    return [fitted(one, width_pt, size_pt=size_pt) for one in lines]


def sentence(text: str) -> str:
    """Return a text with a capital at its start."""
    return text[:1].upper() + text[1:]
