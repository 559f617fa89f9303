"""Kept things as lines of a list: name, when changed, and what is in them in one line."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from tapemark.errors import TapemarkError
from tapemark.services.library.new_setups import setup_summary
from tapemark.studio import setup_from_mapping

if TYPE_CHECKING:
    from tapemark.store import Library

MOST_LINES = 200
_MINUTE_S, _HOUR_S, _DAY_S = 60, 3600, 86_400


@dataclass(frozen=True, kw_only=True, slots=True)
class SetupLine:
    """A setup in a list.

    Attributes
    ----------
    id, name : str
        Of the kept setup.
    changed : str
        When, in words.
    summary : str
        Who and what is in it.
    """

    id: str
    name: str
    changed: str
    summary: str


def setup_lines(library: "Library", *, most: int = MOST_LINES) -> tuple[SetupLine, ...]:
    """Return the setups, the last changed first."""
    return tuple(
        SetupLine(
            id=line.id,
            name=line.name,
            changed=when(line.changed_at),
            summary=summary_of(library, line.id),
        )
        for line in library.kept("setup", most=most)
    )


def summary_of(library: "Library", thing_id: str) -> str:
    """Return one line about a setup; nothing where it cannot be read."""
    try:
        kept = library.get(thing_id)
        return setup_summary(setup_from_mapping(kept.body, name=kept.name))
    except TapemarkError:
        return ""


def when(stamp: str, *, now: datetime | None = None) -> str:
    """Return a time in UTC as one says it here.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> when("2026-05-04T09:30:00.000000Z", now=datetime(2026, 5, 4, 9, 42, tzinfo=UTC))
    '12 min ago'
    """
    then = datetime.fromisoformat(stamp)
    now = datetime.now(UTC) if now is None else now
    ago_s = (now - then).total_seconds()
    if ago_s < _MINUTE_S:
        return "just now"
    if ago_s < _HOUR_S:
        return f"{int(ago_s // _MINUTE_S)} min ago"
    local = then.astimezone()
    clock = f"{local.hour}:{local.minute:02d}"
    if ago_s < _DAY_S and local.date() == now.astimezone().date():
        return f"today {clock}"
    return f"{local.day} {local:%B %Y}, {clock}"
