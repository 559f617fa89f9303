"""Bodies and names as the library keeps them: bounded, plain, sealed."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn

from tapemark.errors import Problem, SetupError
from tapemark.units.text import JOINERS

__all__ = [
    "DEEPEST_BODY",
    "LARGEST_BODY",
    "LONGEST_NAME",
    "body_text",
    "digest_of",
    "folded",
    "plain_line",
    "seal_of",
    "words_of",
]

LARGEST_BODY = 1_000_000  # bytes; a setup with a hundred lights has some 30,000
DEEPEST_BODY = 30  # tables and lists within each other; a setup has 6
LONGEST_NAME = 200  # characters
LONGEST_WORDS = 2000  # characters of a body that a search looks at
_SPOKEN_KEYS = ("name", "title", "preset", "notes")


def body_text(body: Mapping[str, Any], *, name: str) -> str:
    """Return a body as the text that is kept: equal bodies give equal text.

    Parameters
    ----------
    body : mapping
        Fit for JSON.
    name : str
        Of the thing, for messages.

    Raises
    ------
    SetupError
        It is too large, nested too deeply, or no JSON.
    """
    if not isinstance(body, Mapping):
        _refuse(name, given=type(body).__name__, allowed="a table of keys and values")
    if _deeper_than(body, DEEPEST_BODY):
        allowed = f"at most {DEEPEST_BODY} tables within each other"
        _refuse(name, given="nested too deeply", allowed=allowed)
    try:
        text = json.dumps(
            body, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
        )
        size = len(text.encode())
    except UnicodeEncodeError:  # half a character, such as "\ud800"
        _refuse(name, given="a broken character", allowed="Unicode text")
    except (TypeError, ValueError) as error:
        _refuse(name, given=str(error), allowed="text, finite numbers, true, false, lists, tables")
    if size > LARGEST_BODY:
        _refuse(name, given=f"{size} bytes", allowed=f"at most {LARGEST_BODY} bytes")
    return text


def digest_of(text: str) -> str:
    """Return a short fingerprint of a text, to notice when a disk changed it."""
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def seal_of(thing_id: str, number: int, text: str) -> str:
    """Return the fingerprint of one version of one thing: no other body passes for it."""
    return digest_of(f"{thing_id} {number}\n{text}")


def plain_line(text: str, *, otherwise: str = "") -> str:
    r"""Return a name or a reason as one tidy line.

    Parameters
    ----------
    text : str
        As typed.
    otherwise : str
        What stands for an empty one.

    Examples
    --------
    >>> plain_line("  Reading\troom ", otherwise="room")
    'Reading room'
    """
    composed = unicodedata.normalize("NFC", text.encode(errors="replace").decode())
    shown = "".join(mark if mark.isprintable() or mark in JOINERS else " " for mark in composed)
    return " ".join(shown.split())[:LONGEST_NAME].strip(f" {JOINERS}") or otherwise


def folded(text: str) -> str:
    """Return a text without case and accents, for searching.

    Examples
    --------
    >>> folded("Zoë's STRAẞE")
    "zoe's strasse"
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(mark for mark in apart if not unicodedata.combining(mark))


def words_of(name: str, body: object) -> str:
    """Return what a search looks at, line by line: the name, then those within the body."""
    lines = dict.fromkeys((name, *_spoken(body)))
    return folded("\n".join(("", *lines, "")))[:LONGEST_WORDS]


def _spoken(node: object) -> Iterator[str]:
    if isinstance(node, list):
        for item in node:
            yield from _spoken(item)
    if isinstance(node, dict):
        for key, value in node.items():
            if isinstance(value, str):
                if key in _SPOKEN_KEYS:
                    yield value
            else:
                yield from _spoken(value)


def _deeper_than(node: object, most: int) -> bool:
    layer: list[Any] = [node]
    for _ in range(most + 1):
        layer = [
            item
            for outer in layer
            for item in (outer.values() if isinstance(outer, Mapping) else outer)
            if isinstance(item, Mapping | list | tuple)
        ]
        if not layer:
            return False
    return True


def _refuse(name: str, *, given: str, allowed: str) -> NoReturn:
    problem = Problem(key="the body", given=given, allowed=allowed, advice="nothing was changed")
    raise SetupError((problem,), name=name)
