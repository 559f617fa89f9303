"""Where a user's files lie: the library in the data folder, what can be made again in the cache."""

import os
from pathlib import Path

__all__ = ["CACHE_VARIABLE", "LIBRARY_VARIABLE", "cache_folder", "library_path"]

LIBRARY_VARIABLE = "TAPEMARK_LIBRARY"
CACHE_VARIABLE = "TAPEMARK_CACHE"
FILE_NAME = "library.sqlite"


def library_path() -> Path:
    """Return the file of the library; neither file nor folder need be there yet."""
    named = os.environ.get(LIBRARY_VARIABLE, "").strip()
    if named:
        return Path(named).expanduser().absolute()
    import platformdirs  # only who opens the library should load it

    return platformdirs.user_data_path("tapemark", appauthor=False) / FILE_NAME


def cache_folder() -> Path:
    """Return the folder of what can be made again; it need not be there yet."""
    named = os.environ.get(CACHE_VARIABLE, "").strip()
    if named:
        return Path(named).expanduser().absolute()
    import platformdirs

    return platformdirs.user_cache_path("tapemark", appauthor=False)
