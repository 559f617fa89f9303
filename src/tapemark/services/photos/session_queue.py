"""Frames of a session that wait to be read, and what is needed to read one anywhere.

The queue is the log itself: a frame waits as long as no reading is about it, or since a person
said something of it after its last reading.
"""

from __future__ import annotations

import base64
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapemark.errors import FileError
from tapemark.services.photos.frame_reading import (
    FrameRead,
    fingerprint,
    hints_from_plain,
    read_frame,
)
from tapemark.services.photos.session_log import (
    came_before,
    hints_for,
    keep_match,
    keep_reading,
    setup_of,
)
from tapemark.services.photos.session_match import can_match, match_kept, wants_move
from tapemark.services.plain import Plain
from tapemark.store import Library
from tapemark.store.arriving_files import Arriving
from tapemark.store.library_log import Entry, Log

__all__ = [
    "FrameJob",
    "MatchJob",
    "keep_read",
    "next_job",
    "read_here",
    "read_queued",
    "to_match",
]

NETWORK_FOLDERS = ("\\\\", "//")  # never gone to by themselves


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameJob:
    """A frame to be read.

    Attributes
    ----------
    frame : int
        Its number in the log.
    name, digest : str
        Of its file.
    arguments : dict
        Of `read_queued`; fit for JSON.
    """

    frame: int
    name: str
    digest: str
    arguments: dict[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class MatchJob:
    """A frame whose light is to be found.

    Attributes
    ----------
    arguments : dict
        Of `tapemark.services.photos.session_match.match_kept`; fit for JSON.
    known : dict
        What is known already: the lights, where the move is looked for.
    """

    arguments: dict[str, Any]
    known: Plain


def next_job(library: Library, session: str, *, in_hand: Collection[int] = ()) -> FrameJob | None:
    """Return the newest frame that waits and that nobody has in hand."""
    log = library.log(session)
    waiting = log.without("frame", "reading", again="taught", most=len(in_hand) + 1)
    frame = next((one for one in waiting if one.number not in in_hand), None)
    if frame is None:
        return None
    body = frame.body
    arguments: dict[str, Any] = {
        "paths": _paths(library, log, frame),
        "name": str(body.get("name", "unnamed")),
        "size": int(body.get("size", 0)),
        "digest": str(body.get("digest", "")),
        "hints": hints_for(log, frame),
        "preview": "",
        "before": None,
    }
    read = log.last("reading", about=frame.number)
    if read is not None and read.body.get("reading"):
        arguments["before"] = read.body["reading"]
        preview = log.picture(frame.number, "preview")
        arguments["preview"] = base64.b64encode(preview).decode()
    return FrameJob(
        frame=frame.number,
        name=arguments["name"],
        digest=arguments["digest"],
        arguments=arguments,
    )


def read_queued(
    *,
    paths: Sequence[str],
    name: str,
    size: int,
    digest: str,
    hints: Mapping[str, Any],
    preview: str,
    before: Mapping[str, Any] | None,
) -> FrameRead:
    """Return what a frame shows that waits.

    Parameters
    ----------
    paths : sequence of str
        Where its file may lie; one that is not what it was is not read. Without any, the small
        picture that was kept of it is read again.
    name, size, digest
        Of the file.
    hints : mapping
        As `tapemark.services.photos.session_log.hints_for` returns them.
    preview : str
        The small picture, base64; empty for none.
    before : mapping, optional
        The reading before.
    """
    here = next((Path(one) for one in paths if _is(Path(one), size=size, digest=digest)), None)
    if here is None and not preview:
        said = f"{name}: is not there any more, or was changed; send it again"
        return FrameRead(body={"reading": None, "error": said}, pictures={})
    pupils = hints.get("known_pupils")
    return read_frame(
        here,
        name=name,
        hints=hints_from_plain(dict(hints)),
        known_pupils=None if not pupils else (tuple(pupils[0]), tuple(pupils[1])),
        preview=base64.b64decode(preview),
        before=None if before is None else dict(before),
    )


def keep_read(library: Library, session: str, job: FrameJob, read: FrameRead) -> None:
    """Keep what was read; a file that was sent from a browser is not needed any more."""
    keep_reading(library.log(session), job.frame, read.body, read.pictures)
    Arriving(library.path).done(session, job.digest)


def read_here(library: Library, session: str) -> int:
    """Read every frame that waits in this process, and find whose light is in the newest one.

    Returns
    -------
    int
        How many were read.
    """
    count = 0
    while (job := next_job(library, session)) is not None:
        read = read_queued(**job.arguments)
        keep_read(library, session, job, read)
        count += 1
    newest = library.log(session).last("frame")
    while newest is not None and (wanted := to_match(library, session, newest.number)) is not None:
        keep_match(library.log(session), newest.number, match_kept(**wanted.arguments))
    return count


def to_match(library: Library, session: str, frame: int) -> MatchJob | None:
    """Return what a match is made from; None where all is known, or nothing to be asked.

    First the lights are named, then the one move is looked for where anything is to be cleared.
    """
    log = library.log(session)
    taken = log.get(frame)
    read, match = (log.last(kind, about=frame) for kind in ("reading", "match"))
    setup = setup_of(log, taken)
    if read is None or setup is None or not can_match(read.body.get("reading")):
        return None
    named = match is not None and match.number > read.number
    if match is not None and named:
        done = match.body.get("moves") is True or bool(match.body.get("error"))
        if done or not wants_move(read.body["reading"]):
            return None
    return MatchJob(
        arguments={
            "body": read.body,
            "setup": setup.body["body"],
            "moves": named,
            "learned": _learned_before(log, taken),
        },
        known=match.body if match is not None and named else {},
    )


def _learned_before(log: Log, frame: Entry) -> Plain | None:
    """Return what the last matched frame of the same sitter taught about the glasses."""
    for one in log.entries(("match",), before=frame.number, most=20):
        about = None if one.about is None else log.get(one.about)
        if about is None or about.body.get("sitter") != frame.body.get("sitter"):
            continue
        learned = [each.get("learned") for each in one.body["wearers"]]
        if len(learned) == 1 and learned[0] is not None:
            return dict(learned[0])
    return None


def _paths(library: Library, log: Log, frame: Entry) -> list[str]:
    """Return where a frame may lie: where it was sent to, or in its folder on this machine."""
    sent = Arriving(library.path).path_of(log.session, str(frame.body.get("digest", "")))
    paths = [] if sent is None else [str(sent)]
    folder = str(frame.body.get("folder") or "")
    named_here = frame.number > came_before(log)
    if folder and named_here and not folder.startswith(NETWORK_FOLDERS):
        paths.append(str(Path(folder) / str(frame.body.get("name", ""))))
    return paths


def _is(path: Path, *, size: int, digest: str) -> bool:
    """Whether a path is an ordinary file with that very content."""
    try:
        if not path.is_file() or path.stat().st_size != size:
            return False
        return fingerprint(path).digest == digest
    except (OSError, ValueError, FileError):
        return False
