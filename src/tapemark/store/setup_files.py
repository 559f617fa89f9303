"""Setup files on disk."""

from pathlib import Path

from tapemark.errors import FileError
from tapemark.studio import Setup, setup_from_toml

#: A setup file is a page of text; anything larger is some other file. [bytes]
LARGEST_SETUP_FILE = 1_000_000


def read_setup(path: Path) -> Setup:
    """Return the setup described by a TOML file.

    Raises
    ------
    FileError
        The file is missing, a folder, unreadable, too large or not UTF-8 text.
    SetupError
        The text is not a valid setup.
    """
    return setup_from_toml(_read_text(path), name=str(path))


def read_bytes(path: Path) -> bytes:
    """Return what a small file holds.

    Raises
    ------
    FileError
        The file is missing, no ordinary file, too large or may not be read.
    """
    try:
        if path.is_dir():
            raise FileError(str(path), reason="is a folder", advice="name a setup file in it")
        if path.exists() and not path.is_file():
            raise FileError(str(path), reason="is no ordinary file", advice="name a setup file")
        with path.open("rb") as file:
            raw = file.read(LARGEST_SETUP_FILE + 1)
    except FileNotFoundError:
        raise FileError(
            str(path), reason="there is no such file", advice="check the name and the folder"
        ) from None
    except FileError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FileError(
            str(path), reason=f"cannot be read ({reason})", advice="check that you may read it"
        ) from None
    if len(raw) > LARGEST_SETUP_FILE:
        raise FileError(
            str(path),
            reason=f"is larger than {LARGEST_SETUP_FILE // 1000} kB",
            advice="a setup file is a short text; name another file",
        )
    return raw


def _read_text(path: Path) -> str:
    raw = read_bytes(path)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(
            str(path),
            reason=f"is not UTF-8 text (byte {error.start})",
            advice="save it as UTF-8 text in the editor",
        ) from None
