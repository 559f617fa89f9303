"""One file to take own things along in: plain JSON text, never trusted when it is read."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NoReturn, TypeGuard

from tapemark.errors import FileError, LibraryError, SetupError
from tapemark.store.library_bodies import body_text, digest_of, plain_line, seal_of
from tapemark.store.library_bundle_logs import entries_text, log_digest_lines, read_entries
from tapemark.store.library_types import KINDS, BundledEntry
from tapemark.store.small_files import read_small_file

__all__ = [
    "BUNDLE_ENDING",
    "LARGEST_BUNDLE",
    "BundledThing",
    "BundledVersion",
    "bundle_text",
    "read_bundle",
    "read_bundle_file",
    "too_large",
]

BUNDLE_ENDING = ".tapemark-library.json"
BUNDLE_VERSION = 2
WITHOUT_LOGS = 1  # what a tapemark from before there were logs can read
LARGEST_BUNDLE = 200_000_000  # bytes; a session of a thousand frames with its small pictures
MOST_THINGS = 50_000
MOST_VERSIONS = 200_000  # of all things together
LONGEST_ID = 64
_MARK = "tapemark_library"


@dataclass(frozen=True, slots=True)
class BundledVersion:
    """One version of a thing in a file: its place in the tree and its body as kept text."""

    number: int
    parent: int | None
    ahead: int | None
    saved_at: str | None
    why: str
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class BundledThing:
    """One thing in a file, with the versions that came along."""

    id: str
    kind: str
    name: str
    binned: bool
    version: int
    versions: tuple[BundledVersion, ...]
    log: tuple[BundledEntry, ...] = ()

    @property
    def current(self) -> BundledVersion:
        """The version that is shown."""
        return next(one for one in self.versions if one.number == self.version)

    def called(self, name: str, *, thing_id: str) -> BundledThing:
        """Return it under another name and id."""
        return replace(self, name=plain_line(name), id=thing_id)


def bundle_text(things: Iterable[BundledThing], *, at: str) -> str:
    """Return the text of a file that holds things.

    Parameters
    ----------
    things : iterable of BundledThing
        What to take along.
    at : str
        When, in UTC.

    Raises
    ------
    LibraryError
        It would be too large to be imported.
    """
    listed = tuple(things)
    version = BUNDLE_VERSION if any(one.log for one in listed) else WITHOUT_LOGS
    head = {_MARK: version, "written_at": at, "digest": _digest(listed)}
    text = _with(head, things="[\n" + ",\n".join(map(_thing_text, listed)) + "\n]") + "\n"
    if len(text.encode()) > LARGEST_BUNDLE:
        raise too_large()
    return text


def too_large() -> LibraryError:
    """Return the error for things that would make a file that nobody could import."""
    return LibraryError(
        "the export",
        reason=f"would be larger than {LARGEST_BUNDLE // 1_000_000} MB",
        advice="leave out the pictures of sessions or the older versions, or choose fewer things",
    )


def read_bundle_file(path: Path) -> tuple[BundledThing, ...]:
    """Read a file of things, see `read_bundle`."""
    raw = read_small_file(path, most_bytes=LARGEST_BUNDLE, kind="file exported from Own things")
    return read_bundle(raw, name=str(path))


def read_bundle(raw: bytes, *, name: str) -> tuple[BundledThing, ...]:
    """Return the things of a file after looking at every one.

    Parameters
    ----------
    raw : bytes
        What the file holds.
    name : str
        Name of the file, for messages.

    Raises
    ------
    FileError
        It is no such file, damaged, too large, or of a newer tapemark.
    """
    if len(raw) > LARGEST_BUNDLE:
        _refuse(name, f"is larger than {LARGEST_BUNDLE // 1_000_000} MB")
    data = _parsed(raw, name=name)
    if not isinstance(data, dict) or _MARK not in data:
        _refuse(name, "is no file that was exported from Own things")
    version, things = data[_MARK], data.get("things")
    if isinstance(version, int) and version > BUNDLE_VERSION:
        raise FileError(
            name, reason="was written by a newer tapemark", advice="bring tapemark up to date"
        )
    if (
        version not in (WITHOUT_LOGS, BUNDLE_VERSION)
        or not isinstance(things, list)
        or len(things) > MOST_THINGS
    ):
        _refuse(name, f"has no list of at most {MOST_THINGS} things")
    read, versions = [], 0
    for number, thing in enumerate(things, start=1):
        read.append(_thing(thing, where=f"thing {number}", name=name))
        versions += len(read[-1].versions)
        if versions > MOST_VERSIONS:
            _refuse(name, f"has more than {MOST_VERSIONS} versions")
    if len({thing.id for thing in read}) < len(read):
        _refuse(name, "has two things of the same id")
    if "digest" in data and data["digest"] != _digest(read):
        _refuse(name, "is damaged: its content is not what was written")
    return tuple(read)


def _thing_text(thing: BundledThing) -> str:
    """Return a thing as JSON; the bodies are JSON already."""
    versions = ",\n".join(_with(_facts(one), body=one.text) for one in thing.versions)
    head = {
        "id": thing.id,
        "kind": thing.kind,
        "name": thing.name,
        "binned": thing.binned,
        "version": thing.version,
    }
    more = {"log": f"[\n{entries_text(thing.log)}\n]"} if thing.log else {}
    return _with(head, versions=f"[\n{versions}\n]", **more)


def _facts(version: BundledVersion) -> dict[str, Any]:
    return {
        "number": version.number,
        "parent": version.parent,
        "ahead": version.ahead,
        "saved_at": version.saved_at,
        "why": version.why,
    }


def _with(head: dict[str, Any], **texts: str) -> str:
    """Return a table as JSON, with more values at its end that are JSON already."""
    more = "".join(f', "{key}": {text}' for key, text in texts.items())
    return f"{json.dumps(head, ensure_ascii=False)[:-1]}{more}}}"


def _digest(things: Sequence[BundledThing]) -> str:
    """Return the fingerprint of all that counts in a file, however it is laid out."""
    lines = []
    for thing in things:
        lines.append(json.dumps([thing.id, thing.kind, thing.name, thing.binned, thing.version]))
        for one in thing.versions:
            seal = seal_of(thing.id, one.number, one.text)
            lines.append(json.dumps([*_facts(one).values(), seal]))
        lines += log_digest_lines(thing.id, thing.log)
    return digest_of("\n".join(lines))


def _parsed(raw: bytes, *, name: str) -> Any:
    try:
        return json.loads(raw.decode("utf-8-sig"), parse_constant=_no_constant)
    except RecursionError:
        _refuse(name, "is nested too deeply")
    except ValueError:  # also what is no UTF-8, and numbers of thousands of digits
        _refuse(name, "is damaged or no JSON text")


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")


def _thing(data: Any, *, where: str, name: str) -> BundledThing:
    """Return one thing of a file, or refuse the file."""
    if not isinstance(data, dict):
        _refuse(name, f"{where} is no table")
    thing_id, kind, called = data.get("id"), data.get("kind"), data.get("name")
    if not (isinstance(thing_id, str) and 0 < len(thing_id) <= LONGEST_ID and thing_id.isalnum()):
        _refuse(name, f"{where} has no proper id")
    if kind not in KINDS:
        _refuse(name, f"{where} is of no known kind")
    if not isinstance(called, str):
        _refuse(name, f"{where} has no name")
    listed = data.get("versions")
    if not isinstance(listed, list) or not listed:
        _refuse(name, f"{where} has no version")
    versions: dict[int, BundledVersion] = {}
    for item in listed:
        one = _version(item, before=versions, where=f"{where} {called!r}", name=name)
        versions[one.number] = one
    log = data.get("log", [])
    if not isinstance(log, list) or (log and kind != "session"):
        _refuse(name, f"{where} has a log that is none")
    aheads = {one.ahead for one in versions.values() if one.ahead is not None}
    if not _is_count(data.get("version")) or not {data["version"], *aheads} <= versions.keys():
        _refuse(name, f"{where} names a version that is not there")
    return BundledThing(
        id=thing_id,
        kind=kind,
        name=plain_line(called, otherwise=f"unnamed {kind}"),
        binned=data.get("binned") is True,
        version=data["version"],
        versions=tuple(versions.values()),
        log=read_entries(log, where=f"{where} {called!r}", name=name),
    )


def _version(
    data: Any, *, before: dict[int, BundledVersion], where: str, name: str
) -> BundledVersion:
    """Return one version, its number above and its parent among those before it."""
    if not isinstance(data, dict):
        _refuse(name, f"a version of {where} is no table")
    number, parent, ahead = data.get("number"), data.get("parent"), data.get("ahead")
    if not _is_count(number) or number <= next(reversed(before), 0):
        _refuse(name, f"the versions of {where} are not numbered upwards")
    if parent is not None and not (_is_count(parent) and parent in before):
        _refuse(name, f"version {number} of {where} comes from a version that is not there")
    if ahead is not None and (not _is_count(ahead) or ahead <= number):
        _refuse(name, f"version {number} of {where} leads to no later version")
    saved_at, why = data.get("saved_at"), data.get("why", "")
    try:
        text = body_text(data.get("body"), name=where)  # type: ignore[arg-type]
    except SetupError as error:
        problem = error.problems[0]
        _refuse(name, f"version {number} of {where}: {problem.given} (allowed: {problem.allowed})")
    return BundledVersion(
        number,
        parent,
        ahead,
        plain_line(saved_at) if isinstance(saved_at, str) else None,
        plain_line(why) if isinstance(why, str) else "",
        text,
    )


def _is_count(value: object) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool) and 0 < value < 1_000_000_000


def _refuse(name: str, reason: str) -> NoReturn:
    raise FileError(name, reason=reason, advice="nothing was imported; export it again")
