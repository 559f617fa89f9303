"""Briefs on disk."""

from pathlib import Path

from tapemark.errors import FileError
from tapemark.store.small_files import read_small_file
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
    raw = read_small_file(path, most_bytes=LARGEST_BRIEF, kind="brief")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(
            str(path),
            reason=f"is not UTF-8 text (byte {error.start})",
            advice="save it as UTF-8 text in the editor",
        ) from None
    return brief_from_toml(text, name=str(path))
