"""What a window may say over its socket, and how it is read.

`MESSAGES` is the whole of it: fields by message, each with a kind and whether it must be there.
Tests make their messages from the same table.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tapemark.errors import TapemarkError

LARGEST = 64_000  # [bytes]
MOST_EDITS, MOST_NAMES, MOST_LIGHTS = 64, 16, 64
MOST_STOPS = 12.0
MOST_MARKS, LONGEST_MARK = 1000, 32
LONGEST_NAME, LONGEST_WORDS = 200, 300
LARGEST_COUNT = 2**53 - 1  # what a browser counts exactly

Message = dict[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class Field:
    """One field of a message.

    Attributes
    ----------
    kind : str
        ``count``, ``count or null``, ``name``, ``words``, ``names``, ``marks``, ``edits``,
        ``setup``, ``table``, ``flag``, ``stops`` (by name) or ``side`` (whose value wins in a
        merge).
    needed : bool
        Whether it must be there.
    """

    kind: str
    needed: bool = True


Table = Mapping[str, Mapping[str, Field]]

_N = Field(kind="count")
_BASE = Field(kind="count")
_MAYBE_EDITS = Field(kind="edits", needed=False)
_MAYBE_SETUP = Field(kind="setup", needed=False)

MESSAGES: Table = {
    "hello": {
        "window": Field(kind="name"),
        "revision": Field(kind="count or null", needed=False),
    },
    "try": {
        "n": _N,
        "edits": _MAYBE_EDITS,
        "setup": _MAYBE_SETUP,
        "drawings": Field(kind="names", needed=False),  # those that show; all if not said
        "has": Field(kind="marks", needed=False),  # parts of drawings that the window has
    },
    "take": {
        "n": _N,
        "base": _BASE,
        "edits": _MAYBE_EDITS,
        "setup": _MAYBE_SETUP,
        "why": Field(kind="words", needed=False),
    },
    "merge": {"n": _N, "prefer": Field(kind="side", needed=False)},
    "keep both": {"n": _N},
    "undo": {"n": _N, "base": _BASE},
    "redo": {"n": _N, "base": _BASE},
    "map": {"n": _N, "light": Field(kind="name")},
    "moves": {"n": _N, "keep": Field(kind="names", needed=False)},
    "stop": {"n": Field(kind="count", needed=False)},
    "here": {},
}


#: What a window may say over the socket for work that takes seconds.
WORK_MESSAGES: Table = {
    "begin": {"n": _N, "work": Field(kind="name"), "with": Field(kind="table", needed=False)},
    "stop": {"n": Field(kind="count", needed=False)},
    "here": {},
}


_MAYBE_FLAG = Field(kind="flag", needed=False)
_SEEN = {"glasses": _MAYBE_FLAG, "clay": _MAYBE_FLAG}

#: What a window may say over the socket of a setup's picture.
PICTURE_MESSAGES: Table = {
    "hello": {"n": _N, **_SEEN},
    "expose": {"n": _N, **_SEEN, "finer": _MAYBE_FLAG},
    "enough": {"n": Field(kind="count", needed=False)},
    "stop": {"n": Field(kind="count", needed=False)},
    "powers": {"n": _N, "base": _BASE, "stops": Field(kind="stops")},
    "here": {},
}


class MessageError(TapemarkError):
    """A message cannot be read.

    Parameters
    ----------
    text : str
        What is wrong with it.
    number : int, optional
        Its ``n``, where that could be read.
    """

    def __init__(self, text: str, *, number: int | None = None) -> None:
        super().__init__(text)
        self.number = number


def read_message(text: str, *, table: Table = MESSAGES) -> Message:
    """Return a message of a window, checked.

    Parameters
    ----------
    text : str
        A frame.
    table : mapping
        What may be said.

    Raises
    ------
    MessageError
        It is too large, not JSON, or not in the table.
    """
    if len(text.encode("utf-8", "surrogatepass")) > LARGEST:
        raise MessageError(f"This message is larger than {LARGEST // 1000} kB.")
    message = _from_json(text)
    if not isinstance(message, dict):
        raise MessageError("A message is an object with a field do.")
    number = message.get("n")
    number = number if _is_count(number) else None
    what = message.get("do")
    if not isinstance(what, str) or what not in table:
        known = ", ".join(table)
        raise MessageError(f"A message says what to do: one of {known}.", number=number)
    _check_fields(table[what], message, number=number)
    if what in {"try", "take"} and ("edits" in message) == ("setup" in message):
        raise MessageError(f"{what} has either edits or a setup.", number=number)
    return message


def _check_fields(fields: Mapping[str, Field], message: Message, *, number: int | None) -> None:
    what = message["do"]
    for name, field in fields.items():
        if name not in message:
            if field.needed:
                raise MessageError(f"{what} needs {name}.", number=number)
        elif not _FITS[field.kind](message[name]):
            raise MessageError(f"{name} of {what} is not {_KINDS[field.kind]}.", number=number)
    unknown = [name for name in message if name not in fields and name != "do"]
    if unknown:
        raise MessageError(f"{what} has no field {unknown[0][:40]!r}.", number=number)


def _from_json(text: str) -> Any:
    def refuse(name: str) -> Any:
        raise MessageError(f"{name} is no number.")

    try:
        found = json.loads(text, parse_constant=refuse)
        json.dumps(found, ensure_ascii=False, allow_nan=False).encode()  # no halves of letters
    except (ValueError, RecursionError):
        raise MessageError("This message is not JSON.") from None
    return found


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= LARGEST_COUNT


def _is_stops(value: object) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and abs(value) <= MOST_STOPS  # type: ignore[arg-type]


def _is_text(value: object, *, most: int) -> bool:
    return isinstance(value, str) and len(value) <= most


_FITS: dict[str, Callable[[Any], bool]] = {
    "count": _is_count,
    "count or null": lambda value: value is None or _is_count(value),
    "name": lambda value: _is_text(value, most=LONGEST_NAME) and bool(value),
    "words": lambda value: _is_text(value, most=LONGEST_WORDS),
    "names": lambda value: (
        isinstance(value, list)
        and len(value) <= MOST_NAMES
        and all(_is_text(one, most=LONGEST_NAME) for one in value)
    ),
    "marks": lambda value: (
        isinstance(value, list)
        and len(value) <= MOST_MARKS
        and all(_is_text(one, most=LONGEST_MARK) for one in value)
    ),
    "edits": lambda value: (
        isinstance(value, list)
        and len(value) <= MOST_EDITS
        and all(isinstance(one, dict) for one in value)
    ),
    "setup": lambda value: isinstance(value, dict),
    "table": lambda value: isinstance(value, dict),
    "flag": lambda value: isinstance(value, bool),
    "stops": lambda value: (
        isinstance(value, dict)
        and len(value) <= MOST_LIGHTS
        and all(_is_text(name, most=LONGEST_NAME) for name in value)
        and all(_is_stops(one) for one in value.values())
    ),
    "side": lambda value: value in {"mine", "theirs"} if isinstance(value, str) else False,
}
_KINDS = {
    "count": "a whole number from 0 on",
    "count or null": "a whole number from 0 on, or null",
    "name": f"a text of 1 to {LONGEST_NAME} letters",
    "words": f"a text of at most {LONGEST_WORDS} letters",
    "names": f"a list of at most {MOST_NAMES} texts",
    "marks": f"a list of at most {MOST_MARKS} marks",
    "edits": f"a list of at most {MOST_EDITS} edits",
    "setup": "a setup",
    "table": "a table of fields",
    "flag": "true or false",
    "stops": f"a table of at most {MOST_LIGHTS} lights to stops from -12 to 12",
    "side": "mine or theirs",
}
