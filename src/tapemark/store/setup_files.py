"""Setup files on disk, and the photometric files of lamps that they name."""

import tomllib
from pathlib import Path
from typing import Any

from tapemark.errors import FileError, Problem, SetupError
from tapemark.store.luminaire_files import is_photometric, read_luminaire
from tapemark.store.small_files import read_small_file, text_of
from tapemark.store.told_apart import refuse_other_kind
from tapemark.studio import Setup, setup_from_mapping, setup_from_toml
from tapemark.units import as_typed

#: A setup file is a page of text; anything larger is some other file. [bytes]
LARGEST_SETUP_FILE = 1_000_000
_KEY = "photometric_file"


def read_setup(path: Path) -> Setup:
    """Return the setup described by a TOML file.

    A light whose head names a photometric file gets what that file says as its ``luminaire``,
    unless it carries one already. The name counts from the folder of the setup file; it may
    lead anywhere that the user may read, but to photometric files only.

    Raises
    ------
    FileError
        The file is missing, a folder, unreadable, too large, not UTF-8 text or a brief.
    SetupError
        The text is not a valid setup, or a photometric file that it names cannot be used.
    """
    text = _read_text(path)
    try:
        return _setup_of(text, path=path)
    except SetupError:
        refuse_other_kind(text, path=path, wanted="setup")
        raise


def read_bytes(path: Path) -> bytes:
    """Return what a setup file holds.

    Raises
    ------
    FileError
        The file is missing, no ordinary file, too large or may not be read.
    """
    return read_small_file(path, most_bytes=LARGEST_SETUP_FILE, kind="setup file")


def _setup_of(text: str, *, path: Path) -> Setup:
    if _KEY not in text:
        return setup_from_toml(text, name=str(path))
    try:
        mapping = tomllib.loads(text)
    except (ValueError, RecursionError):
        return setup_from_toml(text, name=str(path))  # which says what is wrong with the text
    problems = _add_luminaires(mapping, folder=path.parent)
    if problems:
        raise SetupError(tuple(problems), name=str(path))
    return setup_from_mapping(mapping, name=str(path))


def _add_luminaires(mapping: dict[str, Any], *, folder: Path) -> list[Problem]:
    """Put what the photometric files say beside their names; return what went wrong."""
    problems = []
    lights = mapping.get("light")
    for number, light in enumerate(lights if isinstance(lights, list) else [], 1):
        head = light.get("head") if isinstance(light, dict) else None
        if not isinstance(head, dict) or "luminaire" in head:
            continue
        name = head.get(_KEY)
        if not isinstance(name, str) or not is_photometric(name):
            continue  # which the studio refuses in its own words
        try:
            head["luminaire"] = read_luminaire(folder / name)
        except FileError as error:
            problems.append(_file_problem(error, number=number, light=light, name=name))
    return problems


def _file_problem(error: FileError, *, number: int, light: dict[str, Any], name: str) -> Problem:
    called = light.get("name")
    label = f" {as_typed(called)}" if isinstance(called, str) and called else ""
    return Problem(
        key=f"light[{number}]{label} head.{_KEY}",
        given=f"{as_typed(name)}: {error.reason}",
        allowed="the name of an IES or EULUMDAT file, counted from the folder of the setup file",
        advice=error.advice,
    )


def _read_text(path: Path) -> str:
    return text_of(read_bytes(path), path=path)
