"""Descriptions of who comes, on disk."""

from pathlib import Path

from tapemark.store.small_files import read_small_text
from tapemark.studio import Population, population_from_toml

#: A population is a page of text; anything larger is some other file. [bytes]
LARGEST_POPULATION = 200_000


def read_population(path: Path) -> Population:
    """Return the population described by a TOML file.

    Raises
    ------
    FileError
        The file is missing, a folder, unreadable, too large or not UTF-8 text.
    SetupError
        The text does not describe a population.
    """
    text = read_small_text(path, most_bytes=LARGEST_POPULATION, kind="population file")
    return population_from_toml(text, name=str(path))
