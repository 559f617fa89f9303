"""Briefs on disk."""

from pathlib import Path

from tapemark.store.small_files import read_small_text
from tapemark.studio import Brief, brief_from_toml

#: A brief is a page of text; anything larger is some other file. [bytes]
LARGEST_BRIEF = 1_000_000


def read_brief(path: Path) -> Brief:
    """Return the brief described by a TOML file.

    Raises
    ------
    FileError
        The file is missing, a folder, unreadable, too large or not UTF-8 text.
    SetupError
        The text is not a valid brief.
    """
    text = read_small_text(path, most_bytes=LARGEST_BRIEF, kind="brief")
    return brief_from_toml(text, name=str(path))
