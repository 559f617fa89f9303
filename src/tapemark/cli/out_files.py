"""Where an answer is written: a file in a folder that is there, or a folder that is made.

A file's folder is never made by the way: a slip of the pen in its name would put the file where
nobody looks. Commands that fill a whole folder make it, and say so.
"""

import os
from pathlib import Path
from typing import Any

import click


class FileToWrite(click.Path):
    """The type of an option that names one file to write."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the path, or refuse one in a folder that is not there."""
        path = Path(str(super().convert(value, param, ctx)))
        folder = path.parent
        if not folder.is_dir():
            what = "is a file" if folder.exists() else "is not there"
            self.fail(
                f'{path}: the folder "{folder}" {what}; make it first, or write into one that is',
                param,
                ctx,
            )
        return path


FILE_TO_WRITE = FileToWrite()


def is_same_file(first: Path, second: Path) -> bool:
    """Return whether two paths lead to one file, by links too; it need not be there."""
    try:
        return first.samefile(second)
    except (OSError, ValueError):
        return os.path.realpath(first) == os.path.realpath(second)
