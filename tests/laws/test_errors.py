"""Errors carry what the user interface needs, also when they cross a process border."""

import pickle

import pytest

from tapemark.errors import (
    DamagedLibrary,
    EditedElsewhere,
    FileError,
    LibraryError,
    NotKept,
    OptionError,
    Problem,
    SetupError,
    TapemarkError,
    UnitError,
    WriteError,
)
from tapemark.store import Kept

PROBLEM = Problem(key="room.width", given="5.4", allowed="a length", advice='write "5.4 m"')
KEPT = Kept(
    id="a1",
    kind="room",
    name="den",
    revision=3,
    version=2,
    changed_at="",
    binned=False,
    body={"n": 1},
    can_undo=True,
    can_redo=False,
)
ERRORS = [
    UnitError("5.4", allowed="a length", advice='write "5.4 m"'),
    SetupError((PROBLEM, PROBLEM), name="friday.toml"),
    FileError("friday.toml", reason="is a folder", advice="name a setup file in it"),
    WriteError("pictures", reason="cannot be written", advice="name another folder"),
    LibraryError("library.sqlite", reason="is closed", advice="open it again"),
    DamagedLibrary("library.sqlite", reason="is damaged", advice="run: tapemark own rescue"),
    NotKept("version 7"),
    EditedElsewhere(KEPT),
    OptionError(PROBLEM),
]
BASES = (
    ValueError,
    ValueError,
    OSError,
    OSError,
    OSError,
    LibraryError,
    LookupError,
    Exception,
    SetupError,
)


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
def test_error_survives_a_process_border(error):
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert vars(again) == vars(error)


@pytest.mark.parametrize(("error", "base"), list(zip(ERRORS, BASES, strict=True)))
def test_error_is_of_the_one_tree_and_of_the_kind_python_knows(error, base):
    assert isinstance(error, TapemarkError)
    assert isinstance(error, base)


def test_message_says_what_was_given_what_is_allowed_and_what_to_do():
    assert str(ERRORS[1]).startswith("friday.toml: 2 problems")
    for part in (PROBLEM.key, PROBLEM.given, PROBLEM.allowed, PROBLEM.advice):
        assert str(ERRORS[1]).count(part) >= 2
    assert str(ERRORS[2]) == "friday.toml: is a folder; name a setup file in it"
