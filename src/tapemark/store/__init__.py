"""Files on disk: setups and photometric files read, results written."""

from tapemark.store.brief_files import LARGEST_BRIEF, read_brief
from tapemark.store.luminaire_files import LARGEST_PHOTOMETRIC_FILE, read_luminaire
from tapemark.store.population_files import read_population
from tapemark.store.result_files import write_results
from tapemark.store.setup_files import LARGEST_SETUP_FILE, read_bytes, read_setup
from tapemark.store.sitter_lists import SitterList, read_sitters, sitters_from_text

__all__ = [
    "LARGEST_BRIEF",
    "LARGEST_PHOTOMETRIC_FILE",
    "LARGEST_SETUP_FILE",
    "SitterList",
    "read_brief",
    "read_bytes",
    "read_luminaire",
    "read_population",
    "read_setup",
    "read_sitters",
    "sitters_from_text",
    "write_results",
]
