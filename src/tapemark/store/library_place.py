"""Where the library lies: the user's data folder, or where the environment says."""

import os
from pathlib import Path

__all__ = ["LIBRARY_VARIABLE", "library_path"]

LIBRARY_VARIABLE = "TAPEMARK_LIBRARY"
FILE_NAME = "library.sqlite"


def library_path() -> Path:
    """Return the file of the library; neither file nor folder need be there yet."""
    named = os.environ.get(LIBRARY_VARIABLE, "").strip()
    if named:
        return Path(named).expanduser().absolute()
    import platformdirs  # only who opens the library should load it

    return platformdirs.user_data_path("tapemark", appauthor=False) / FILE_NAME
