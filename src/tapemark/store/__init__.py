"""Files on disk: setups read, results written."""

from tapemark.store.result_files import write_results
from tapemark.store.setup_files import LARGEST_SETUP_FILE, read_bytes, read_setup

__all__ = ["LARGEST_SETUP_FILE", "read_bytes", "read_setup", "write_results"]
