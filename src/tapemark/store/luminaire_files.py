"""Photometric files of lamps on disk: IES LM-63 (.ies) and EULUMDAT (.ldt)."""

from collections.abc import Callable
from pathlib import Path

from tapemark.errors import FileError
from tapemark.store.eulumdat_files import luminaire_from_eulumdat
from tapemark.store.ies_files import luminaire_from_ies
from tapemark.store.numbered_text import MalformedError
from tapemark.store.small_files import read_small_file
from tapemark.studio import Luminaire

#: The finest tables that are measured take some 600 kB. [bytes]
LARGEST_PHOTOMETRIC_FILE = 1_000_000
_READERS: dict[str, Callable[[bytes], Luminaire]] = {
    ".ies": luminaire_from_ies,
    ".ldt": luminaire_from_eulumdat,
}


def is_photometric(name: str) -> bool:
    """Return whether a file is a photometric one by its name."""
    return Path(name).suffix.lower() in _READERS


def read_luminaire(path: Path) -> Luminaire:
    """Return the lamp that a photometric file describes.

    Parameters
    ----------
    path : Path
        Its name ends in ``.ies`` or ``.ldt``, which says how it is read.

    Raises
    ------
    FileError
        The file is missing, no ordinary file, too large, of another kind or malformed; then
        with the line, what stands there and what may stand there.
    """
    reader = _READERS.get(path.suffix.lower())
    if reader is None:
        raise FileError(
            str(path),
            reason="is no photometric file by its name",
            advice='name a file that ends in ".ies" or ".ldt"',
        )
    raw = read_small_file(path, most_bytes=LARGEST_PHOTOMETRIC_FILE, kind="photometric file")
    try:
        return reader(raw)
    except MalformedError as error:
        raise FileError(
            str(path), reason=str(error), advice="get the file again from who measured the lamp"
        ) from None
