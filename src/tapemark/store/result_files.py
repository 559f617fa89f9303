"""Drawings and reports written to a folder."""

from pathlib import Path

from tapemark.errors import FileError


def write_results(folder: Path, files: dict[str, str | bytes]) -> tuple[Path, ...]:
    """Write files into a folder, which is made if it is not there.

    Parameters
    ----------
    folder : Path
        Where to write.
    files : dict
        Plain file names to text or bytes; files of the same name are replaced.

    Returns
    -------
    tuple of Path
        The files written, in the order given.

    Raises
    ------
    FileError
        The folder or a file cannot be written.
    """
    written = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            target = folder / name
            partial = folder / f".{name}.part"
            partial.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
            partial.replace(target)
            written.append(target)
    except OSError as error:
        raise FileError(
            str(folder),
            reason=f"cannot be written ({error.strerror or error})",
            advice="name another folder",
        ) from None
    return tuple(written)
