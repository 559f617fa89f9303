"""Setups and briefs taken for each other: told in one line instead of key by key."""

import tomllib
from pathlib import Path
from typing import Literal

from tapemark.errors import FileError

__all__ = ["refuse_other_kind"]

#: Of each kind the list that it has and the other has not, and what takes it.
_OWN_LIST = {"setup": "light", "brief": "head"}
_ADVICE = {
    "setup": "look at it with tapemark check, or give a brief",
    "brief": "let tapemark plan make setups of it (--out FOLDER keeps them), or give a setup",
}


def refuse_other_kind(text: str, *, path: Path, wanted: Literal["setup", "brief"]) -> None:
    """Refuse a brief where a setup is wanted, and a setup where a brief is.

    Parameters
    ----------
    text : str
        What a file holds that is not what is wanted.
    path : Path
        The file.
    wanted : str
        ``setup`` or ``brief``.

    Raises
    ------
    FileError
        The file holds the other kind; a text that is neither passes.
    """
    other = "brief" if wanted == "setup" else "setup"
    try:
        mapping = tomllib.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError):
        return
    if isinstance(mapping.get(_OWN_LIST[other]), list) and _OWN_LIST[wanted] not in mapping:
        reason = f"is a {other}, not a {wanted}"
        raise FileError(str(path), reason=reason, advice=_ADVICE[other])
