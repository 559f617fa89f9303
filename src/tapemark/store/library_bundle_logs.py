"""The log of a session within an exported file; never trusted when it is read."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NoReturn, TypeGuard

from tapemark.errors import FileError, SetupError
from tapemark.store.library_bodies import body_text, plain_line
from tapemark.store.library_log_rows import entry_seal
from tapemark.store.library_types import BundledEntry

__all__ = [
    "LARGEST_PICTURE",
    "LONGEST_KIND",
    "LONGEST_MARK",
    "MOST_PICTURES",
    "entries_text",
    "log_digest_lines",
    "read_entries",
]

LARGEST_PICTURE = 200_000  # bytes
MOST_PICTURES = 8  # of one entry
LONGEST_KIND, LONGEST_MARK = 20, 200
MOST_ENTRIES = 100_000  # of one session
_JPEG = b"\xff\xd8\xff"


def entries_text(entries: Iterable[BundledEntry]) -> str:
    """Return the entries of a log as JSON texts with commas between; bodies are JSON already."""
    return ",\n".join(_entry_text(one) for one in entries)


def log_digest_lines(session: str, entries: Iterable[BundledEntry]) -> Iterator[str]:
    """Yield a line for each entry and picture, for the fingerprint of a whole file."""
    for one in entries:
        shown = [[what, hashlib.sha256(content).hexdigest()] for what, content in one.pictures]
        seal = entry_seal(session, one.number, one.text)
        yield json.dumps([one.number, one.about, one.at, one.kind, one.mark, seal, shown])


def read_entries(listed: Sequence[Any], *, where: str, name: str) -> tuple[BundledEntry, ...]:
    """Return the entries of a log after looking at every one, or refuse the file.

    Parameters
    ----------
    listed : sequence
        As JSON has them.
    where, name : str
        Of the session and of the file, for messages.
    """
    if len(listed) > MOST_ENTRIES:
        _refuse(name, f"the log of {where} has more than {MOST_ENTRIES} entries")
    read: dict[int, BundledEntry] = {}
    for item in listed:
        one = _entry(item, before=read, where=where, name=name)
        read[one.number] = one
    marks = [one.mark for one in read.values() if one.mark is not None]
    if len(set(marks)) < len(marks):
        _refuse(name, f"two entries in the log of {where} have the same mark")
    return tuple(read.values())


def _entry_text(one: BundledEntry) -> str:
    head: dict[str, Any] = {
        "number": one.number,
        "about": one.about,
        "at": one.at,
        "kind": one.kind,
        "mark": one.mark,
        "pictures": {what: base64.b64encode(each).decode() for what, each in one.pictures},
    }
    return f'{json.dumps(head, ensure_ascii=False)[:-1]}, "body": {one.text}}}'


def _entry(data: Any, *, before: dict[int, BundledEntry], where: str, name: str) -> BundledEntry:
    if not isinstance(data, dict):
        _refuse(name, f"an entry in the log of {where} is no table")
    number, about = data.get("number"), data.get("about")
    if not _is_count(number) or number <= next(reversed(before), 0):
        _refuse(name, f"the log of {where} is not numbered upwards")
    which = f"entry {number} in the log of {where}"
    if about is not None and not (_is_count(about) and about in before):
        _refuse(name, f"{which} is about one that is not there")
    kind, at, mark = data.get("kind"), data.get("at"), data.get("mark")
    if not isinstance(kind, str) or not kind.isidentifier() or len(kind) > LONGEST_KIND:
        _refuse(name, f"{which} is of no kind")
    if mark is not None and not (isinstance(mark, str) and len(mark) <= LONGEST_MARK):
        _refuse(name, f"{which} has a mark that is none")
    try:
        text = body_text(data.get("body"), name=which)  # type: ignore[arg-type]
    except SetupError as error:
        problem = error.problems[0]
        _refuse(name, f"{which}: {problem.given} (allowed: {problem.allowed})")
    return BundledEntry(
        number=number,
        about=about,
        at=plain_line(at) if isinstance(at, str) else "",
        kind=kind,
        mark=mark,
        text=text,
        pictures=_pictures(data.get("pictures", {}), which=which, name=name),
    )


def _pictures(data: Any, *, which: str, name: str) -> tuple[tuple[str, bytes], ...]:
    if not isinstance(data, dict) or len(data) > MOST_PICTURES:
        _refuse(name, f"{which} has pictures that are none")
    found = []
    for what, text in sorted(data.items()):
        try:
            content = base64.b64decode(text, validate=True)
        except (TypeError, ValueError, binascii.Error):
            content = b""
        if not what.isidentifier() or len(what) > LONGEST_KIND or not content.startswith(_JPEG):
            _refuse(name, f"{which} has a picture that is none")
        if len(content) > LARGEST_PICTURE:
            _refuse(name, f"{which} has a picture of more than {LARGEST_PICTURE // 1000} kB")
        found.append((what, content))
    return tuple(found)


def _is_count(value: object) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool) and 0 < value < 1_000_000_000


def _refuse(name: str, reason: str) -> NoReturn:
    raise FileError(name, reason=reason, advice="nothing was imported; export it again")
