"""Splitting a typed quantity into its number and its unit."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from fractions import Fraction

from tapemark.errors import UnitError

__all__ = ["as_typed", "number_text", "read_float", "read_fraction", "read_with_unit", "tidy"]

LONGEST_QUANTITY = 60  # characters; the longest honest entry is "12 ft 10 3/4 in camera-right"
LARGEST_EXPONENT = 400  # powers of ten; beyond the range of a float either way
_DECIMAL = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[+-]?\d{1,3})?"
_NUMBER = re.compile(rf"({_DECIMAL})(?:\s*/\s*(\d+))?", re.IGNORECASE)
_LOOKALIKES = str.maketrans(
    {
        "\u2212": "-",  # minus sign
        "\u2013": "-",  # en dash
        "\u00a0": " ",  # no-break space
        "\u202f": " ",  # narrow no-break space
        "\u2032": "'",  # prime
        "\u2019": "'",  # right single quotation mark
        "\u2033": '"',  # double prime
        "\u201d": '"',  # right double quotation mark
        "\u00b2": "2",  # superscript two
        "\u00d7": "x",  # multiplication sign
    }
)


#: Join or part the letters beside them; emoji of several people and some scripts need them.
JOINERS = "\N{ZERO WIDTH NON-JOINER}\N{ZERO WIDTH JOINER}"


def is_shown(text: str) -> bool:
    r"""Return whether a text has only what can be seen, and joiners between it.

    Examples
    --------
    >>> is_shown("Zoë \N{MAN}\N{ZERO WIDTH JOINER}\N{PERSONAL COMPUTER}"), is_shown("a\tb")
    (True, False)
    >>> is_shown("\N{ZERO WIDTH JOINER}a")
    False
    """
    seen = text.strip(JOINERS) == text
    return seen and all(letter.isprintable() or letter in JOINERS for letter in text)


def as_typed(value: object, *, longest: int = 60) -> str:
    """Return a value as a person would recognise it from their file.

    Parameters
    ----------
    value : object
        Anything that a TOML or JSON reader can hand over.
    longest : int
        Longest text to give back. [characters]

    Returns
    -------
    str
        Printable text: strings in quotes, control characters spelled out, cut with "...".
    """
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{value[: 2 * longest]}"'
    elif isinstance(value, Mapping):
        text = "a table {" + ", ".join(str(key)[:20] for key in list(value)[:6]) + "}"
    elif isinstance(value, list | tuple):
        text = f"a list of {len(value)}"
    elif isinstance(value, int) and value.bit_length() > 200:
        text = "a very large whole number"
    else:
        text = str(value)
    text = "".join(mark if mark.isprintable() else _spelled(mark) for mark in text)
    return text if len(text) <= longest else text[: longest - 3] + "..."


def tidy(text: str) -> str:
    """Return a typed quantity with look-alike signs and spaces made plain.

    Raises
    ------
    UnitError
        If the text is empty or far longer than any quantity.
    """
    plain = " ".join(text[: 2 * LONGEST_QUANTITY].translate(_LOOKALIKES).split())
    if not plain or len(plain) > LONGEST_QUANTITY:
        raise UnitError(
            as_typed(text),
            allowed="a number with its unit",
            advice="write it shortly"
            if plain
            else "write a number with its unit, or leave the key out",
        )
    return plain


def read_fraction(text: str) -> Fraction | None:
    """Return the exact value of a number such as ``1.5``, ``-3``, ``1/160``, or None."""
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        return None
    number, divisor = match.groups()
    exponent = number.lower().partition("e")[2]
    if exponent and abs(int(exponent)) > LARGEST_EXPONENT:
        return None
    value = Fraction(number)
    if divisor is None:
        return value
    return value / int(divisor) if int(divisor) else None


def read_float(value: Fraction, *, given: str, allowed: str) -> float:
    """Return the float nearest an exact value; one too large for a float is a `UnitError`."""
    try:
        return float(value)
    except OverflowError:
        raise UnitError(
            as_typed(given), allowed=allowed, advice="the number is too large; check it"
        ) from None


def read_with_unit(
    text: str, *, units: Mapping[str, Fraction], noun: str, example: str
) -> Fraction:
    """Return the exact value of a number followed by one of some units.

    Parameters
    ----------
    text : str
        What was typed, such as ``"1.4 m"``.
    units : mapping of str to Fraction
        Unit as written (lower case) and its size in the unit wanted.
    noun : str
        What kind of quantity it is, for the message ("a length").
    example : str
        A good value, for the message.

    Returns
    -------
    Fraction
        The value in the unit wanted, without rounding.

    Raises
    ------
    UnitError
        If there is no number, no unit, or a unit of another kind.
    """
    plain = tidy(text)
    names = ", ".join(itertools.islice(units, 5))
    allowed = f"{noun} with its unit ({names})"
    match = re.match(_NUMBER.pattern, plain, re.IGNORECASE)
    if match is None:
        raise UnitError(as_typed(text), allowed=allowed, advice=f'write it like "{example}"')
    value = read_fraction(match.group())
    unit = plain[match.end() :].strip()
    if value is None:
        raise UnitError(as_typed(text), allowed=allowed, advice=f'write it like "{example}"')
    if not unit:
        raise UnitError(
            as_typed(text), allowed=allowed, advice=f'it has no unit; write it like "{example}"'
        )
    size = units.get(unit) or units.get(unit.lower())
    if size is None:
        raise UnitError(as_typed(text), allowed=allowed, advice=_unit_advice(unit, example))
    return value * size


def number_text(value: float) -> str:
    """Return the shortest text that reads back as exactly this float."""
    text = repr(float(value))
    return text.removesuffix(".0")


def _unit_advice(unit: str, example: str) -> str:
    if unit.startswith(","):
        return f'write decimals with a point, like "{example}"'
    return f'{as_typed(unit, longest=20)} is not a unit known here; write it like "{example}"'


def _spelled(mark: str) -> str:
    return f"\\u{ord(mark):04x}" if ord(mark) < 0x10000 else f"\\U{ord(mark):08x}"
