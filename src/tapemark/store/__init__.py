"""Files on disk: setups and photometric files read, results written."""

from tapemark.store.luminaire_files import LARGEST_PHOTOMETRIC_FILE, read_luminaire
from tapemark.store.result_files import write_results
from tapemark.store.setup_files import LARGEST_SETUP_FILE, read_bytes, read_setup

__all__ = [
    "LARGEST_PHOTOMETRIC_FILE",
    "LARGEST_SETUP_FILE",
    "read_bytes",
    "read_luminaire",
    "read_setup",
    "write_results",
]
