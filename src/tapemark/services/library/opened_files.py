"""A setup file that is opened again: the same, older than what is kept, or changed meanwhile."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from tapemark.services.library.keeping import free_name, keep, save
from tapemark.store import Kept, KeptLine, Library
from tapemark.store.library_bodies import plain_line
from tapemark.studio import Setup, setup_to_mapping

Found = Literal["new", "known", "changed"]
_MOST_LOOKED_AT = 400  # versions of one setup, the newest first


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenedFile:
    """What the library has of a setup file.

    Attributes
    ----------
    found : str
        ``new``: nothing, so it was added. ``known``: the file says what is kept, or what an
        earlier version said. ``changed``: the file says something that was never kept.
    kept : Kept
        The setup of that file in the library.
    body : dict
        What the file says.
    file_name : str
        What the file is called.
    """

    found: Found
    kept: Kept
    body: dict[str, Any]
    file_name: str


def open_file(library: Library, setup: Setup, *, file_name: str) -> OpenedFile:
    """Find a setup file in the library, and add it if nothing of it is there.

    A kept setup is taken for that of the file if it was begun from a file of that name, or is
    called as the file is titled.

    Parameters
    ----------
    library : Library
        The library.
    setup : Setup
        What the file says.
    file_name : str
        What it is called, without its folder.
    """
    body, why = setup_to_mapping(setup), _from(file_name)
    name = setup.title or file_name.rpartition(".")[0] or file_name
    own = list(_own(library, name=name, why=why))
    for line in own:
        if _was_kept(library, line, body):
            return OpenedFile(
                found="known", kept=library.get(line.id), body=body, file_name=file_name
            )
    if own:
        kept = library.get(own[0].id)
        return OpenedFile(found="changed", kept=kept, body=body, file_name=file_name)
    kept = keep(library, "setup", name=name, body=body, why=why)
    return OpenedFile(found="new", kept=kept, body=body, file_name=file_name)


def take_text(library: Library, opened: OpenedFile) -> Kept:
    """Make what the file says the newest version of the setup; the others stay in its history."""
    now = library.get(opened.kept.id)
    return save(
        library, now.id, opened.body, base_revision=now.revision, why=_from(opened.file_name)
    )


def open_copy(library: Library, opened: OpenedFile) -> Kept:
    """Keep what the file says as a setup of its own."""
    name = free_name(library, "setup", opened.kept.name)
    return keep(library, "setup", name=name, body=opened.body, why=_from(opened.file_name))


def _from(file_name: str) -> str:
    return plain_line(f"from {file_name}")


def _own(library: Library, *, name: str, why: str) -> Iterable[KeptLine]:
    """Give the setups that may be the file's, the last changed first."""
    called = plain_line(name).casefold()
    for line in library.kept("setup"):
        if line.name.casefold() == called or any(
            one.why == why for one in library.versions(line.id)
        ):
            yield line


def _was_kept(library: Library, line: KeptLine, body: dict[str, Any]) -> bool:
    newest = sorted(library.versions(line.id), key=lambda one: (one.current, one.number))
    return any(
        library.version_body(line.id, one.number) == body
        for one in reversed(newest[-_MOST_LOOKED_AT:])
    )
