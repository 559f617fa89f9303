"""The log of a session: frames, the setup of each, what was changed, noted and metered.

All that happens is an entry in the library that is never changed or taken away:

========= =========================================================================================
entry     what it says
========= =========================================================================================
follow    which kept setup the session is taken with from now on
setup     one version of it, whole, when the first frame is taken with it
sitter    who sits from now on
frame     a file: name, folder, fingerprint; its setup, its sitter, what changed since the last one
reading   about a frame: what it shows, with the small pictures that are kept
taught    about a frame: what a person said of it, such as where the pupils are
match     about a frame: whose light is in it, what to move, where the setup is contradicted
decided   about a frame: whether the corrected setup was taken
meter     a meter reading
note      a note, about a frame or not
back      about a frame: its setup was opened again, as a new version
watch     a folder is watched from now on, or no longer
imported  what is before it came with a file from elsewhere: no folder named there is looked into
========= =========================================================================================
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from tapemark.errors import NotKept, TapemarkError
from tapemark.services.editing.edits import edits_in_words
from tapemark.services.editing.words import changed_things
from tapemark.services.library.keeping import keep
from tapemark.services.photos.frame_reading import Fingerprint
from tapemark.store import Kept, Library
from tapemark.store.library_bodies import plain_line
from tapemark.store.library_log import Added, Entry, Log
from tapemark.studio import Setup, setup_from_mapping

__all__ = [
    "SHOOT",
    "Standing",
    "add_frame",
    "add_note",
    "begin_session",
    "came_before",
    "follow_setup",
    "frame_entry",
    "get_session",
    "hints_for",
    "keep_match",
    "keep_reading",
    "next_sitter",
    "setup_of",
    "standing",
    "teach",
]

SHOOT = "shoot"
LONGEST_NOTE = 4000  # characters
_TRIES = 5  # while other windows keep saving
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """How a session stands: what the next frame will be taken with.

    Attributes
    ----------
    setup_id : str
        The kept setup that is followed; empty for none.
    sitter : str
        Who sits; empty where nobody said.
    watched : str
        The folder that is watched; empty for none.
    passed_over : tuple of str
        Files that lay in it before.
    """

    setup_id: str
    sitter: str
    watched: str
    passed_over: tuple[str, ...]


def begin_session(
    library: Library, *, name: str = "", setup_id: str = "", sitter: str = ""
) -> Kept:
    """Keep a new session, with the setup that is followed if one is named."""
    followed = _followed(library, setup_id) if setup_id else None
    called = name.strip() or (f"Session, {followed.name}" if followed else "Session")
    kept = keep(library, "session", name=called, body={"what": SHOOT}, why="new")
    log = library.log(kept.id)
    if followed is not None:
        follow_setup(library, kept.id, setup_id)
        sitter = sitter or str(followed.body.get("sitter", {}).get("name", ""))
    if sitter:
        log.add("sitter", {"name": plain_line(sitter)})
    return library.get(kept.id)


def get_session(library: Library, session_id: str) -> Kept:
    """Return a session that has a log.

    Raises
    ------
    NotKept
        There is none of that id.
    """
    kept = library.get(session_id)
    if kept.kind != "session" or kept.body.get("what") != SHOOT:
        raise NotKept(f"a session with a log of id {session_id[:40]!r}")
    return kept


def follow_setup(library: Library, session_id: str, setup_id: str) -> None:
    """Take the next frames of a session with another kept setup."""
    kept = _followed(library, setup_id)
    library.log(session_id).add("follow", {"setup_id": kept.id, "name": kept.name})


def next_sitter(library: Library, session_id: str, name: str) -> None:
    """Say who sits from now on: what is known of glasses before does not hold for them."""
    called = plain_line(name)
    if not called:
        raise TapemarkError("Who sits now? Write a name.")
    library.log(session_id).add("sitter", {"name": called})


def add_note(library: Library, session_id: str, text: str, *, frame: int | None = None) -> Entry:
    """Keep a note, about a frame if one is named."""
    said = "\n".join(plain_line(line) for line in text.strip().splitlines())[:LONGEST_NOTE]
    if not said:
        raise TapemarkError("The note is empty: write something first.")
    log = library.log(session_id)
    if frame is not None:
        frame_entry(log, frame)
    return log.add("note", {"text": said}, about=frame).entry


def standing(log: Log) -> Standing:
    """Return how a session stands."""
    follow, sitter = (log.last(kind) for kind in ("follow", "sitter"))
    watch = log.last("watch", after=came_before(log))
    watching = watch is not None and bool(watch.body.get("on"))
    return Standing(
        setup_id="" if follow is None else str(follow.body["setup_id"]),
        sitter="" if sitter is None else str(sitter.body["name"]),
        watched=str(watch.body["folder"]) if watch is not None and watching else "",
        passed_over=tuple(watch.body.get("before", ())) if watch is not None and watching else (),
    )


def came_before(log: Log) -> int:
    """Return up to which entry the log came with a file from elsewhere; 0 if none did."""
    imported = log.last("imported")
    return 0 if imported is None else imported.number


# ------------------------------------------------------------------------------- frames


def add_frame(
    library: Library, session_id: str, *, name: str, folder: str, mark: Fingerprint, where: str
) -> Added:
    """Keep that a frame was taken, before anything is read from it.

    Parameters
    ----------
    library, session_id
        Of which session.
    name, folder : str
        The file and where it lies; no folder for one that was sent here from a browser.
    mark : Fingerprint
        By which the same frame is known again: it is not added twice.
    where : str
        ``sent``, ``folder`` or ``named``.

    Returns
    -------
    Added
        With the setup it was taken with as its own entry, and what was changed since the last
        frame: ``words``, the ``things``, and a ``warning`` where it was more than one.
    """
    log = library.log(session_id)
    now = standing(log)
    setup = _setup_entry(library, log, now.setup_id)
    last = log.last("frame")
    changed = None
    before = None if last is None else setup_of(log, last)
    if setup is not None and last is not None and before is not None:
        changed = _changes(before, setup, since=last.number)
    body = {
        "name": plain_line(name, otherwise="unnamed"),
        "folder": folder,
        "where": where,
        "size": mark.size,
        "digest": mark.digest,
        "setup": None if setup is None else setup.number,
        "sitter": now.sitter,
        "changed": changed,
    }
    return log.add("frame", body, mark=f"frame {mark.size} {mark.digest}")


def keep_reading(
    log: Log, frame: int, body: Mapping[str, Any], pictures: Mapping[str, bytes]
) -> Entry:
    """Keep what was read from a frame, with its small pictures."""
    frame_entry(log, frame)
    return log.add("reading", body, about=frame, pictures=pictures).entry


def keep_match(log: Log, frame: int, body: Mapping[str, Any]) -> Entry:
    """Keep whose light is in a frame."""
    frame_entry(log, frame)
    return log.add("match", body, about=frame).entry


def teach(log: Log, frame: int, said: Mapping[str, Any]) -> Entry:
    """Keep what a person says of a frame; it waits to be read again.

    Parameters
    ----------
    log : Log
        Of which session.
    frame : int
        Which frame.
    said : mapping
        ``pupils``: two points of the upright original, right and left; or ``bare``: True.

    Raises
    ------
    TapemarkError
        A pupil lies outside the photo, as far as its size is known.
    """
    _refuse_outside(log, frame, said.get("pupils", ()))
    body = {**said, "sitter": frame_entry(log, frame).body.get("sitter", "")}
    return log.add("taught", body, about=frame).entry


def _refuse_outside(log: Log, frame: int, points: Iterable[Iterable[float]]) -> None:
    read = log.last("reading", about=frame)
    size = None if read is None else (read.body.get("reading") or {}).get("size")
    for point in points:
        if size and not all(0.0 <= one <= most for one, most in zip(point, size, strict=True)):
            raise TapemarkError(
                f"The pupils have to lie in the photo, {size[0]} by {size[1]} pixels: "
                "tap them again."
            )


def hints_for(log: Log, frame: Entry) -> dict[str, Any]:
    """Return what is known of a frame before it is read: said of it, and of this sitter before.

    Returns
    -------
    dict
        ``pupils`` and ``bare`` where said of this very frame; ``shape`` of the lenses and
        ``known_pupils`` from the last frame of this sitter of which a person said something.
    """
    own = log.last("taught", about=frame.number)
    hints: dict[str, Any] = {}
    if own is not None:
        hints = {key: own.body[key] for key in ("pupils", "bare") if own.body.get(key)}
    sitter = frame.body.get("sitter", "")
    for said in log.entries(("taught",)):
        if said.body.get("sitter", "") != sitter or said.about in (None, frame.number):
            continue
        if said.body.get("bare") and own is None:
            hints["bare"] = True
        if said.body.get("pupils"):
            hints["known_pupils"] = said.body["pupils"]
            hints |= _shape_from(log, said)
        break
    return hints


def setup_of(log: Log, frame: Entry) -> Entry | None:
    """Return the setup that a frame was taken with; None where none was followed."""
    number = frame.body.get("setup")
    if number is None:
        return None
    try:
        return log.get(int(number))
    except NotKept:  # a disk has lost it
        return None


# ------------------------------------------------------------------------------- inside


def _followed(library: Library, setup_id: str) -> Kept:
    kept = library.get(setup_id)
    if kept.kind != "setup":
        raise NotKept(f"a setup of id {setup_id[:40]!r}")
    return kept


def frame_entry(log: Log, number: int) -> Entry:
    """Return the entry of a frame."""
    found = log.get(number)
    if found.kind != "frame":
        raise NotKept(f"frame {number} of this session")
    return found


def _setup_entry(library: Library, log: Log, setup_id: str) -> Entry | None:
    """Return the followed setup as it is now, as an entry of the log."""
    if not setup_id:
        return None
    try:
        kept = library.get(setup_id)
    except NotKept:  # erased: the frame is worth more than its setup
        return None
    body = {
        "setup_id": kept.id,
        "version": kept.version,
        "name": kept.name,
        "body": kept.body,
    }
    return log.add("setup", body, mark=f"setup {kept.id} {kept.version}").entry


def _changes(before: Entry, after: Entry, *, since: int) -> dict[str, Any]:
    """Return what was changed between two frames, and a warning where it was not one thing."""
    changes = {"since": since, "words": "", "things": [], "warning": ""}
    if before.number == after.number:
        return changes
    old, new = (_without_meters(one) for one in (before, after))
    words, things = edits_in_words(old, new), changed_things(old, new)
    changes |= {"words": words, "things": list(things)}
    if len(things) > 1:
        count = _COUNTS[len(things)] if len(things) < len(_COUNTS) else str(len(things))
        changes["warning"] = f"{count} things changed: {words}"
    return changes


def _without_meters(setup: Entry) -> Setup:
    """Return a setup as it stands: what a meter said of it is no change."""
    body = setup.body["body"]
    lights = [
        {key: value for key, value in one.items() if key != "meter"}
        for one in body.get("light", ())
    ]
    return setup_from_mapping({**body, "light": lights}, name=setup.body["name"])


def _shape_from(log: Log, said: Entry) -> dict[str, Any]:
    """Return the shape of the lenses that was found where a person had shown the pupils."""
    reading = log.last("reading", about=said.about)
    if reading is None or reading.number < said.number:
        return {}
    shapes = list(reading.body.get("shapes", {}).values())
    return {"shape": shapes[0]} if len(shapes) == 1 else {}
