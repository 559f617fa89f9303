"""How wide is a line of text in the drawings' typeface?

Advance widths of Source Sans Pro (SIL Open Font License), in thousandths of
the type size, read from the metrics tables of its font files.  Accented
letters are as wide as their base letter.
"""

import unicodedata

FONT_FAMILY = "'Source Sans Pro', 'Source Sans 3', 'Helvetica Neue', Arial, sans-serif"
SEMIBOLD_FROM = 600  # weights from here on are set in the semibold
WIDE, UNKNOWN = 1000, 620  # East Asian wide letters; letters not in the tables

ASCENT, DESCENT = 0.76, 0.24  # of the type size: room a line of text takes [-]

_REGULAR: dict[int, str] = {
    200: " ", 241: "|", 246: "i", 247: "j", 249: "',.:;′",
    255: "l", 263: "I", 289: "!", 292: "f", 303: "()[]{}", 304: "•", 311: "-", 331: "°",
    338: "t", 347: "r", 350: "/\\", 418: "*", 419: "s", 425: '"?z“”', 426: "″", 446: "x",
    456: "c", 467: "vy", 476: "Y", 480: "J–", 486: "L", 494: "F", 495: "k", 496: "e",
    497: "#$+0123456789<=>^~×−", 500: "_", 504: "ag", 513: "X", 515: "V", 527: "E", 534: "S",
    536: "T", 539: "Z", 542: "`oø", 544: "AhuÅ", 547: "n", 553: "b", 555: "dpq", 566: "P",
    569: "R", 571: "C", 576: "ß", 579: "K", 588: "B", 609: "&", 615: "D", 617: "G", 619: "←↑→↓",
    645: "U", 647: "N", 652: "H", 664: "OQØ", 718: "w", 727: "M", 785: "æ", 786: "W", 800: "—",
    808: "½", 822: "Æ", 824: "%", 829: "m", 839: "œ", 847: "@Œ", 948: "…",
}  # fmt: skip
_SEMIBOLD: dict[int, str] = {
    200: " ", 255: "|", 262: "i", 263: "j", 271: "l",
    275: "',.:;′", 282: "I", 315: "!", 317: "f", 322: "-", 324: "()[]{}",
    325: "•", 344: "/\\", 348: "°", 361: "t", 373: "r", 431: "s", 438: "*", 443: "z", 444: "?",
    462: "c", 480: "–", 481: "x", 482: '"“”″', 494: "J", 495: "vy", 500: "_", 501: "Y", 502: "L",
    507: "e", 510: "F", 513: "#$+0123456789<=>^~×−", 516: "a", 520: "g", 522: "k", 536: "V",
    538: "E", 540: "Z", 541: "X", 545: "S", 546: "T", 549: "`oø", 556: "u", 558: "AhÅ", 560: "n",
    563: "b", 564: "dpq", 576: "C", 582: "P", 592: "R", 597: "BK", 604: "ß", 618: "←↑→↓",
    625: "D", 628: "G", 639: "&", 655: "U", 656: "N", 663: "H", 674: "OQØ", 745: "M", 748: "w",
    785: "æ", 800: "W—", 827: "½", 830: "œ", 834: "Æ", 841: "%", 843: "m", 859: "Œ", 875: "@",
    963: "…",
}  # fmt: skip


def _by_letter(table: dict[int, str]) -> dict[str, int]:
    return {letter: width for width, letters in table.items() for letter in letters}


#: Letters that are as wide as another.
_ALIKE = {
    "\N{NO-BREAK SPACE}": " ",
    "\N{MIDDLE DOT}": ".",
    "\N{LEFT SINGLE QUOTATION MARK}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{LATIN SMALL LETTER DOTLESS I}": "i",
}
_WIDTHS = {False: _by_letter(_REGULAR), True: _by_letter(_SEMIBOLD)}


def text_width(text: str, *, size_pt: float, weight: int = 400) -> float:
    """Return the width of a line of text [pt].

    Parameters
    ----------
    text : str
        What is set.
    size_pt : float
        Type size. [pt]
    weight : int
        400 regular, 600 semibold.

    Examples
    --------
    >>> text_width("1.40 m", size_pt=10.0)
    27.69
    """
    widths = _WIDTHS[weight >= SEMIBOLD_FROM]
    total = sum(_letter_width(letter, widths) for letter in text)
    return round(total * size_pt / 1000.0, 3)


def _letter_width(letter: str, widths: dict[str, int]) -> int:
    known = widths.get(_ALIKE.get(letter, letter))
    if known is not None:
        return known
    if unicodedata.combining(letter):
        return 0
    base = unicodedata.normalize("NFD", letter)[0]
    if base in widths:
        return widths[base]
    return WIDE if unicodedata.east_asian_width(letter) in "WF" else UNKNOWN
