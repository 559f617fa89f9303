"""Pages set by typst: PDF, SVG or PNG from a template and data, the same bytes for the same data.

What a person typed reaches a template only as data, never as markup.  Nothing
is read from disk but the template and the typeface: the compiler's root is an
empty folder, and the system's fonts are left out, unless a name has letters
that the typeface lacks.
"""

import json
import unicodedata
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Literal

from tapemark.drawing.png import font_files
from tapemark.drawing.typeface import has_all
from tapemark.units.text import JOINERS

if TYPE_CHECKING:
    import typst

PageForm = Literal["pdf", "svg", "png"]
PaperName = Literal["a4", "letter"]
PAGE_FORMS: tuple[PageForm, ...] = ("pdf", "svg", "png")
#: Width and height of the sheets people print on. [pt]
PAPERS: dict[PaperName, tuple[float, float]] = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
PNG_DPI = 170.0
_FACTS = "<facts>"
_WHENEVER = datetime(2000, 1, 1, tzinfo=UTC)  # no page tells when it was made
_LONGEST_WORD = 16  # letters; longer words may break anywhere after these
_BREAK = "\u200b"
_TONES = frozenset(chr(point) for point in range(0x1F3FB, 0x1F400))  # of skin, after an emoji


def set_pages(
    template: str, data: Mapping[str, Any], *, form: PageForm, dpi: float = PNG_DPI
) -> tuple[bytes, ...]:
    """Return the pages that a template makes of data: one PDF, or one SVG or PNG for each page.

    Parameters
    ----------
    template : str
        Name of a template of this package, without ending.
    data : mapping
        What it says; the template reads it as JSON.
    form : str
        ``pdf``, ``svg`` or ``png``.
    dpi : float
        Fineness of a PNG. [dots an inch]
    """
    import typst  # loaded only where used

    with TemporaryDirectory() as root:
        made = typst.compile(
            _source(template), format=form, ppi=dpi, timestamp=_WHENEVER, **_around(root, data)
        )
    pages = made if isinstance(made, list) else [made]
    return tuple(bytes(page) for page in pages if page is not None)


def page_facts(template: str, data: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a template measured of itself, such as its number of pages.

    Parameters
    ----------
    template, data : str, mapping
        As in `set_pages`.
    """
    import typst  # loaded only where used

    with TemporaryDirectory() as root:
        told = typst.query(
            _source(template), _FACTS, field="value", one=True, **_around(root, data)
        )
    facts: dict[str, Any] = json.loads(told)
    return facts


def breakable(value: Any) -> Any:
    """Return data in which the longest words of every text may be broken.

    Parameters
    ----------
    value : object
        Text, a list or mapping of such, or anything else, which stays as it is.
    """
    if isinstance(value, str):
        return " ".join(_broken(word) for word in value.split(" "))
    if isinstance(value, list | tuple):
        return [breakable(one) for one in value]
    if isinstance(value, dict):
        return {key: breakable(one) for key, one in value.items()}
    return value


def _broken(word: str) -> str:
    """Return a word with places to break, none of them within what is seen as one letter."""
    pieces, start = [], 0
    while len(word) - start > _LONGEST_WORD:
        end = start + _LONGEST_WORD
        while end < len(word) and _belongs(word[end - 1], word[end]):
            end += 1
        pieces.append(word[start:end])
        start = end
    return _BREAK.join([*pieces, word[start:]])


def _belongs(before: str, letter: str) -> bool:
    """Return whether a character belongs to the letter before it."""
    marks = unicodedata.category(letter) in ("Mn", "Mc", "Me") or letter in JOINERS
    return marks or before in JOINERS or letter in _TONES


def _source(template: str) -> bytes:
    return files("tapemark.drawing").joinpath("templates", f"{template}.typ").read_bytes()


@cache
def _fonts(*, of_the_system: bool) -> "typst.Fonts":
    """Return the one typeface there is, none that the compiler brings; those of the system too."""
    import typst  # loaded only where used

    return typst.Fonts(
        include_system_fonts=of_the_system,
        include_embedded_fonts=False,
        font_paths=[str(Path(font_files()[0]).parent)],
    )


def _around(root: str, data: Mapping[str, Any]) -> dict[str, Any]:
    """Return how the compiler is called: from where it reads, and what it is given."""
    text = json.dumps(data, ensure_ascii=False)
    foreign = not has_all(text)
    return {
        "root": root,
        "font_paths": _fonts(of_the_system=foreign),
        "ignore_system_fonts": not foreign,
        "package_path": root,
        "package_cache_path": root,
        "sys_inputs": {"data": text, "fallback": "yes" if foreign else "no"},
    }
