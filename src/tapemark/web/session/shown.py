"""A session as its page shows it: the frame looked at, the one before it, the log."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tapemark.errors import NotKept, TapemarkError
from tapemark.services.photos.session_log import get_session, standing
from tapemark.services.photos.session_meter import MeterChoice, meter_choices
from tapemark.services.photos.session_words import clock_of, event_text
from tapemark.store.library_log import Entry, Log
from tapemark.studio import setup_from_mapping
from tapemark.web.apart import apart
from tapemark.web.session.frame_shown import Frame, frame_shown

if TYPE_CHECKING:
    from tapemark.store import Kept, Library

ROWS = 30  # of the log on one page
WATCHED_KINDS = (
    "frame",
    "note",
    "meter",
    "sitter",
    "follow",
    "back",
    "decided",
    "watch",
    "imported",
)
A_FOLDER = "a folder of the computer that tapemark runs on"


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """One line of the log.

    Attributes
    ----------
    number : int
        Of the entry.
    kind : str
        Of the entry.
    clock, text : str
        When, and what, in words; no text for a frame.
    frame : Frame or None
        The frame that it is.
    """

    number: int
    kind: str
    clock: str
    text: str
    frame: Frame | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Shown:
    """A session as its page shows it.

    Attributes
    ----------
    id, name : str
        Of the kept session.
    setup_id, setup_name, sitter, watched : str
        How it stands.
    frames, waiting : int
        How many frames, and how many of them are not read yet.
    last : int
        Number of the last entry.
    large, before : Frame or None
        The frame looked at, and the one to hold it against.
    newest : int
        Number of the newest frame; 0 for none.
    lines : tuple of Line
        The log, the newest first.
    earlier : int
        Where the earlier part of the log begins; 0 where there is none.
    lights : tuple of MeterChoice
        What can be metered.
    heads : tuple of pairs
        Own heads: id and name.
    """

    id: str
    name: str
    setup_id: str
    setup_name: str
    sitter: str
    watched: str
    frames: int
    waiting: int
    last: int
    large: Frame | None
    before: Frame | None
    newest: int
    lines: tuple[Line, ...]
    earlier: int
    lights: tuple[MeterChoice, ...]
    heads: tuple[tuple[str, str], ...]


def shown_session(
    library: Library,
    session: str,
    *,
    look_at: int = 0,
    before: int = 0,
    against: int = 0,
    folders: bool = True,
) -> Shown:
    """Return a session as its page shows it.

    Parameters
    ----------
    library, session
        Which.
    look_at : int
        The frame shown large; the newest one where it is 0.
    before : int
        The log is shown from before this entry on; from its end where it is 0.
    against : int
        The frame to hold it against; the one before of the same sitter where it is 0.
    folders : bool
        Whether folders of this computer are named.
    """
    kept = get_session(library, session)
    try:
        found = _shown(library, kept, look_at=look_at, before=before, against=against)
    except (AttributeError, IndexError, KeyError, TypeError, ValueError) as error:
        if isinstance(error, TapemarkError):
            raise
        raise TapemarkError(f'The session "{kept.name}" cannot be read: {error!r}') from error
    if folders:
        return found
    watched = A_FOLDER if found.watched else ""
    return replace(found, watched=watched, lines=_without_folders(found.lines))


def _without_folders(lines: tuple[Line, ...]) -> tuple[Line, ...]:
    return tuple(
        replace(one, text="A folder was named or let go on the computer that tapemark runs on.")
        if one.kind == "watch"
        else one
        for one in lines
    )


def _shown(library: Library, kept: Kept, *, look_at: int, before: int, against: int) -> Shown:
    session = kept.id
    log, counts = library.log(session), library.log(session).counts()
    now = standing(log)
    newest = log.last("frame")
    large = newest if not look_at else _frame_entry(log, look_at)
    entries = log.entries(WATCHED_KINDS, before=before or None, most=ROWS + 1)
    lines = tuple(_line(log, one, session) for one in entries[:ROWS] if not _beside(one))
    setup_name, lights = _setup_now(library, now.setup_id)
    return Shown(
        id=kept.id,
        name=kept.name,
        setup_id=now.setup_id if setup_name else "",
        setup_name=setup_name,
        sitter=now.sitter,
        watched=now.watched,
        frames=counts.get("frame", 0),
        waiting=log.count_without("frame", "reading", again="taught"),
        last=counts["last"],
        large=None if large is None else frame_shown(log, large, session),
        before=_compared(log, large, session, against=against),
        newest=0 if newest is None else newest.number,
        lines=lines,
        earlier=entries[ROWS - 1].number if len(entries) > ROWS else 0,
        lights=lights,
        heads=_own_heads(library),
    )


# ------------------------------------------------------------------------------- inside


def _frame_entry(log: Log, number: int) -> Entry:
    found = log.get(number)
    if found.kind != "frame":
        raise NotKept(f"frame {number} of this session")
    return found


def _beside(entry: Entry) -> bool:
    """Whether an entry is shown with its frame."""
    return entry.kind in ("note", "decided") and entry.about is not None


def _line(log: Log, entry: Entry, session: str) -> Line:
    frame = frame_shown(log, entry, session, brief=True) if entry.kind == "frame" else None
    text = "" if frame is not None else apart(event_text(log, entry))
    return Line(
        number=entry.number, kind=entry.kind, clock=clock_of(entry.at), text=text, frame=frame
    )


def _compared(log: Log, large: Entry | None, session: str, *, against: int) -> Frame | None:
    """Return the frame that one is held against: a named one, or the last of the same sitter."""
    if large is None:
        return None
    if against:
        return frame_shown(log, _frame_entry(log, against), session)
    for one in log.entries(("frame",), before=large.number, most=5):
        if one.body.get("sitter") == large.body.get("sitter"):
            return frame_shown(log, one, session)
    return None


def _setup_now(library: Library, setup_id: str) -> tuple[str, tuple[MeterChoice, ...]]:
    if not setup_id:
        return "", ()
    try:
        kept = library.get(setup_id)
        return kept.name, meter_choices(setup_from_mapping(kept.body, name=kept.name))
    except TapemarkError:
        return "", ()


def _own_heads(library: Library) -> tuple[tuple[str, str], ...]:
    found = []
    for line in library.kept("gear", most=60):
        try:
            body = library.get(line.id).body
        except TapemarkError:
            continue
        if body.get("what") == "head":
            found.append((line.id, line.name))
    return tuple(found)
