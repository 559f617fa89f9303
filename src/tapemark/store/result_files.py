"""Drawings and reports written to a folder."""

from pathlib import Path
from tempfile import NamedTemporaryFile

from tapemark.errors import WriteError

READABLE = 0o644


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
    WriteError
        The folder or a file cannot be written.
    """
    written = []
    for name in files:
        if (folder / name).is_dir():
            raise WriteError(
                str(folder / name),
                reason="cannot be written (it is a folder)",
                advice="name a file in it",
            )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            if name != Path(name).name:
                raise ValueError(f"{name!r} is no plain file name")
            _replace(folder / name, content.encode() if isinstance(content, str) else content)
            written.append(folder / name)
    except OSError as error:
        raise WriteError(
            str(folder),
            reason=f"cannot be written ({error.strerror or error})",
            advice="name another folder",
        ) from None
    return tuple(written)


def _replace(target: Path, content: bytes) -> None:
    """Write a file beside its target, then put it there whole; never through a link."""
    with NamedTemporaryFile(dir=target.parent, prefix=f".{target.name}.", delete=False) as partial:
        part = Path(partial.name)
        try:
            partial.write(content)
            partial.close()
            part.chmod(READABLE)
            part.replace(target)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
