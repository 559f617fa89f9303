"""Files on disk: setups and photometric files read, results written."""

import importlib
import typing

from tapemark.store.luminaire_files import LARGEST_PHOTOMETRIC_FILE, read_luminaire
from tapemark.store.result_files import write_results
from tapemark.store.setup_files import LARGEST_SETUP_FILE, read_bytes, read_setup

if typing.TYPE_CHECKING:
    from tapemark.store.brief_files import LARGEST_BRIEF, read_brief
    from tapemark.store.library import Library
    from tapemark.store.library_types import (
        KINDS,
        ImportedThing,
        ImportReport,
        Kept,
        KeptLine,
        VersionLine,
    )
    from tapemark.store.population_files import read_population
    from tapemark.store.sitter_lists import SitterList, read_sitters, sitters_from_text
    from tapemark.store.user_folders import library_path

__all__ = [
    "KINDS",
    "LARGEST_BRIEF",
    "LARGEST_PHOTOMETRIC_FILE",
    "LARGEST_SETUP_FILE",
    "ImportReport",
    "ImportedThing",
    "Kept",
    "KeptLine",
    "Library",
    "SitterList",
    "VersionLine",
    "library_path",
    "read_brief",
    "read_bytes",
    "read_luminaire",
    "read_population",
    "read_setup",
    "read_sitters",
    "sitters_from_text",
    "write_results",
]

#: Where names are that a check has no use for; see `tapemark.services`.
_LATER = {
    "KINDS": "tapemark.store.library_types",
    "ImportReport": "tapemark.store.library_types",
    "ImportedThing": "tapemark.store.library_types",
    "Kept": "tapemark.store.library_types",
    "KeptLine": "tapemark.store.library_types",
    "Library": "tapemark.store.library",
    "VersionLine": "tapemark.store.library_types",
    "library_path": "tapemark.store.user_folders",
    "LARGEST_BRIEF": "tapemark.store.brief_files",
    "SitterList": "tapemark.store.sitter_lists",
    "read_brief": "tapemark.store.brief_files",
    "read_population": "tapemark.store.population_files",
    "read_sitters": "tapemark.store.sitter_lists",
    "sitters_from_text": "tapemark.store.sitter_lists",
}


def __getattr__(name: str) -> object:
    """Return a public name whose module is loaded when it is first asked for."""
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(_LATER[name]), name)
