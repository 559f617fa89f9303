"""What is said beside each eye: the verdict in a sign and a word, and what shows where."""

from tapemark.analysis import Catchlight, LensGlare, clock_text
from tapemark.drawing.page import fitted, verdict_sign
from tapemark.drawing.style import HEADING_PT, INK, SMALL_PT, SOFT_INK, WARM
from tapemark.drawing.svg import Sheet
from tapemark.drawing.text_width import text_width

_LINE_PT = 12.2
_MOST_REFLECTIONS = 4


def eye_note(
    sheet: Sheet,
    *,
    side: str,
    lens: LensGlare | None,
    catchlights: tuple[Catchlight, ...],
    box: tuple[float, float, float, float],
) -> None:
    """Set the note of one eye.

    Parameters
    ----------
    sheet : Sheet
        The page.
    side : str
        The sitter's own ``right`` or ``left``.
    lens : LensGlare or None
        What its lens shows; None without glasses.
    catchlights : tuple of Catchlight
        Of this eye.
    box : tuple of four floats
        Left, top, width and height of the room for it. [pt]
    """
    left, top, width, height = box
    word = "no glasses" if lens is None else lens.verdict
    color = WARM if word == "veiled" else INK
    base = top + 12.0
    with sheet.group(f"note {side}"):
        indent = 0.0
        if lens is not None:
            verdict_sign(sheet, left + 6.0, base - 4.0, lens.verdict, radius_pt=5.6)
            indent = 17.0
        sheet.text(left + indent, base, word, size_pt=HEADING_PT, weight=600, color=color)
        after = left + indent + text_width(word, size_pt=HEADING_PT, weight=600) + 7.0
        sheet.text(after, base, f"sitter's {side} eye", size_pt=SMALL_PT, color=SOFT_INK)
        room = int((height - 14.0) / _LINE_PT)
        lines = [
            (part, shade)
            for text, shade in _lines(lens, catchlights)
            for part in _broken(text, width)
        ]
        for number, (text, shade) in enumerate(lines[:room]):
            y = base + 14.0 + number * _LINE_PT
            sheet.text(left, y, text, size_pt=SMALL_PT, color=shade)


def _broken(text: str, width_pt: float) -> list[str]:
    """Return a text broken at its commas so that each line fits a width [pt]."""
    lines: list[str] = []
    for part in text.split(", "):
        longer = f"{lines[-1]}, {part}" if lines else part
        if lines and text_width(longer, size_pt=SMALL_PT) <= width_pt:
            lines[-1] = longer
        else:
            lines.append(part)
    return [fitted(line, width_pt, size_pt=SMALL_PT) for line in lines]


def _lines(lens: LensGlare | None, catchlights: tuple[Catchlight, ...]) -> list[tuple[str, str]]:
    lines = []
    if lens is not None:
        lines.append((_cover(lens), INK))
        for part in lens.reflections[:_MOST_REFLECTIONS]:
            lines.append(
                (f"{part.source}, {part.surface}: {_stops(part.stops_over_skin)}", SOFT_INK)
            )
        more = len(lens.reflections) - _MOST_REFLECTIONS
        if more > 0:
            lines.append((f"and {more} smaller", SOFT_INK))
    lines.append(_catchlight_line(catchlights))
    return lines


def _cover(lens: LensGlare) -> str:
    if lens.lens_cover == 0:
        return "nothing on the lens"
    over = f"{_percent(lens.veil)} of the eye veiled" if lens.veil > 0 else "nothing over the eye"
    return f"{over}, {_percent(lens.lens_cover)} of the lens covered"


def _catchlight_line(catchlights: tuple[Catchlight, ...]) -> tuple[str, str]:
    seen = [one for one in catchlights if one.visible]
    if not seen:
        return ("no catchlight", WARM)
    places = ", ".join(f"{one.source} at {clock_text(one.clock)}" for one in seen)
    return (f"catchlight: {places}", INK)


def _percent(share: float) -> str:
    if 0 < share < 0.005:
        return "under 1 %"
    return f"{round(100 * share)} %"


def _stops(stops: float) -> str:
    if abs(stops) < 0.05:
        return "as bright as lit skin"
    size = f"{abs(stops):.1f} stops"
    return f"{size} brighter than lit skin" if stops >= 0 else f"{size} darker than lit skin"
