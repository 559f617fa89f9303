"""Briefs on disk."""

from pathlib import Path

from tapemark.errors import SetupError
from tapemark.store.small_files import read_small_text
from tapemark.store.told_apart import refuse_other_kind
from tapemark.studio import Brief, brief_from_toml

#: A brief is a page of text; anything larger is some other file. [bytes]
LARGEST_BRIEF = 1_000_000


def read_brief(path: Path) -> Brief:
    """Return the brief described by a TOML file.

    Raises
    ------
    FileError
        The file is missing, a folder, unreadable, too large, not UTF-8 text or a setup.
    SetupError
        The text is not a valid brief.
    """
    text = read_small_text(path, most_bytes=LARGEST_BRIEF, kind="brief")
    try:
        return brief_from_toml(text, name=str(path))
    except SetupError:
        refuse_other_kind(text, path=path, wanted="brief")
        raise
