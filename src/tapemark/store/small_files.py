"""Small files read whole, with a plain reason where that cannot be."""

from pathlib import Path

from tapemark.errors import FileError

__all__ = ["read_small_file", "read_small_text", "text_of"]


def read_small_text(path: Path, *, most_bytes: int, kind: str) -> str:
    """Return the text that a small file holds, as `read_small_file` its bytes.

    Raises
    ------
    FileError
        As there, and where it is not UTF-8.
    """
    return text_of(read_small_file(path, most_bytes=most_bytes, kind=kind), path=path)


def text_of(raw: bytes, *, path: Path) -> str:
    """Return what a file holds as text.

    Raises
    ------
    FileError
        Where it is not UTF-8.
    """
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(
            str(path),
            reason=f"is not UTF-8 text (byte {error.start})",
            advice="save it as UTF-8 text in the editor",
        ) from None


def read_small_file(path: Path, *, most_bytes: int, kind: str) -> bytes:
    """Return what a small file holds.

    Parameters
    ----------
    path : Path
        The file.
    most_bytes : int
        A larger file is refused without being read. [bytes]
    kind : str
        What it should be, for messages: ``setup file``.

    Raises
    ------
    FileError
        The file is missing, no ordinary file, too large or may not be read.
    """
    try:
        if path.is_dir():
            raise FileError(str(path), reason="is a folder", advice=f"name a {kind} in it")
        if path.exists() and not path.is_file():
            raise FileError(str(path), reason="is no ordinary file", advice=f"name a {kind}")
        with path.open("rb") as file:
            raw = file.read(most_bytes + 1)
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
    if len(raw) > most_bytes:
        raise FileError(
            str(path),
            reason=f"is larger than {most_bytes // 1000} kB",
            advice=f"a {kind} is a short text; name another file",
        )
    return raw
