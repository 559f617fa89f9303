"""Where the results of sifting go: a folder of their own, or one that holds results already."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from tapemark.errors import FileError

__all__ = ["CROPS", "CROP_ENDING", "JOURNAL", "check_out"]

JOURNAL, CROPS, CROP_ENDING = "journal.jsonl", "crops", ".eyes.jpg"
_RESULT = re.compile(r"sifted\.(csv|json)|contact-sheet-\d+\.jpg", re.IGNORECASE)
_JOURNAL_BEGINS = b'{"format": '
_ANOTHER = "name another folder with --out, such as a new one"


def check_out(out: Path, *, folder: Path) -> None:
    """Refuse a folder where results would replace photos, or files that sifting did not write.

    Parameters
    ----------
    out : Path
        Where results are to go; need not be there.
    folder : Path
        Of the photos.

    Raises
    ------
    FileError
        It is the folder of the photos; or what is called as a result is there, and no journal of
        sifting beside it.
    """
    if os.path.realpath(out) == os.path.realpath(folder) or _is_same(out, folder):
        raise FileError(
            str(out),
            reason="is the folder of the photos, which are only read",
            advice=_ANOTHER,
        )
    journal = out / JOURNAL
    if os.path.lexists(journal):
        if not _is_ours(journal):
            raise _not_ours(journal)
        return
    for other in _called_as_results(out):
        raise _not_ours(other)


def _is_same(out: Path, folder: Path) -> bool:
    try:
        return out.samefile(folder)
    except OSError:
        return False


def _is_ours(journal: Path) -> bool:
    """Return whether a journal is one of sifting; one that is empty was broken off at once."""
    try:
        if not journal.is_file():
            return False
        with journal.open("rb") as file:
            start = file.read(len(_JOURNAL_BEGINS))
    except OSError:
        return False
    return _JOURNAL_BEGINS.startswith(start)


def _called_as_results(out: Path) -> Iterator[Path]:
    for part, called in ((out, _RESULT.fullmatch), (out / CROPS, _is_crop)):
        try:
            names = sorted(os.listdir(part))
        except OSError:
            continue
        yield from (part / name for name in names if called(name))


def _is_crop(name: str) -> bool:
    return name.endswith(CROP_ENDING)


def _not_ours(path: Path) -> FileError:
    return FileError(
        str(path), reason="was not written by tapemark sift, and is not replaced", advice=_ANOTHER
    )
