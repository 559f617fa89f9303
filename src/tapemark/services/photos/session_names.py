"""Sessions and setups of the library found by what people call them."""

from __future__ import annotations

from tapemark.errors import TapemarkError
from tapemark.services.photos.session_log import SHOOT, get_session
from tapemark.store import Kept, KeptLine, Library

__all__ = ["find_session", "find_setup", "sessions_of"]

LEAST_OF_ID = 6  # letters by which an id is known


def sessions_of(library: Library) -> tuple[KeptLine, ...]:
    """Return the sessions that have a log, the last changed first."""
    lines = library.kept("session")
    return tuple(line for line in lines if library.get(line.id).body.get("what") == SHOOT)


def find_session(library: Library, given: str = "") -> Kept:
    """Return a session by its name or the beginning of its id; the newest one for nothing.

    Raises
    ------
    TapemarkError
        There is none, or more than one.
    """
    lines = sessions_of(library)
    if not given:
        if not lines:
            raise TapemarkError("There is no session yet: begin one with: tapemark log start")
        return get_session(library, lines[0].id)
    return get_session(library, _one(lines, given, kind="session").id)


def find_setup(library: Library, given: str) -> Kept:
    """Return a kept setup by its name or the beginning of its id."""
    return library.get(_one(library.kept("setup"), given, kind="setup").id)


def _one(lines: tuple[KeptLine, ...], given: str, *, kind: str) -> KeptLine:
    wanted = given.casefold()
    found = [line for line in lines if line.name.casefold() == wanted]
    if not found and len(given) >= LEAST_OF_ID:
        found = [line for line in lines if line.id.startswith(wanted)]
    if len(found) == 1:
        return found[0]
    if found:
        raise TapemarkError(f"{given}: more than one {kind} is called so; name it by its id.")
    names = ", ".join(f'"{line.name}"' for line in lines[:8]) or "none yet"
    raise TapemarkError(f"{given}: there is no {kind} of that name; there are: {names}.")
