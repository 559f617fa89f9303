"""Going back to a frame, and taking a setup as a photo shows it: always as a new version."""

from __future__ import annotations

from tapemark.errors import EditedElsewhere, NotKept, TapemarkError
from tapemark.services.library.keeping import free_name, keep, save
from tapemark.services.library.merging import merge_bodies
from tapemark.services.photos.session_log import follow_setup, frame_entry, setup_of, standing
from tapemark.store import Kept, Library
from tapemark.store.library_log import Entry

__all__ = ["back_to", "decide"]

_TRIES = 5  # while other windows keep saving


def back_to(library: Library, session_id: str, frame: int) -> Kept:
    """Open the setup of a frame again: as a new version of it, so that nothing is lost.

    A setup that was erased meanwhile is kept again as a new one.

    Raises
    ------
    TapemarkError
        The frame was taken without a setup.
    """
    log = library.log(session_id)
    taken = frame_entry(log, frame)
    setup = setup_of(log, taken)
    if setup is None:
        raise TapemarkError(
            f"Frame {taken.body['name']} was taken without a setup: follow one, and the next "
            "frames remember it."
        )
    kept = _opened(library, setup, why=f"as for frame {taken.body['name']}")
    body = {"setup_id": kept.id, "version": kept.version, "name": kept.name}
    log.add("back", body, about=frame)
    if standing(log).setup_id != kept.id:
        follow_setup(library, session_id, kept.id)
    return kept


def decide(library: Library, session_id: str, frame: int, *, take: bool) -> Kept | None:
    """Take the setup as the photo shows it as a new version, or leave it as it is written.

    What was changed in the setup since the frame was taken stays changed.

    Raises
    ------
    TapemarkError
        The photo contradicts nothing.
    """
    log = library.log(session_id)
    match, setup = log.last("match", about=frame), setup_of(log, frame_entry(log, frame))
    corrected = None if match is None else match.body.get("corrected")
    if corrected is None or setup is None:
        raise TapemarkError(
            "This photo contradicts nothing in the setup: there is nothing to take."
        )
    if not take:
        log.add("decided", {"take": False}, about=frame)
        return None
    name = log.get(frame).body["name"]
    for _ in range(_TRIES):
        now = library.get(setup.body["setup_id"])
        body = merge_bodies(setup.body["body"], corrected, now.body).body
        try:
            kept = save(
                library, now.id, body, base_revision=now.revision, why=f"as {name} shows it"
            )
        except EditedElsewhere:
            continue
        log.add("decided", {"take": True, "version": kept.version}, about=frame)
        return kept
    raise EditedElsewhere(library.get(setup.body["setup_id"]))


def _opened(library: Library, setup: Entry, *, why: str) -> Kept:
    body, setup_id = setup.body["body"], setup.body["setup_id"]
    for _ in range(_TRIES):
        try:
            now = library.get(setup_id)
        except NotKept:
            name = free_name(library, "setup", setup.body["name"])
            return keep(library, "setup", name=name, body=body, why=why)
        if now.binned:
            now = library.unbin(setup_id)
        try:
            return save(library, setup_id, body, base_revision=now.revision, why=why)
        except EditedElsewhere:
            continue
    raise EditedElsewhere(library.get(setup_id))
