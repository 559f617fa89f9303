"""What one types to list own things, take them along and bring them back."""

import json

import pytest

from tapemark.services.library.keeping import keep
from tapemark.store import Library

ROOM = {"width": "5.4 m", "length": "7 m", "height": "2.75 m"}


@pytest.fixture
def library(tmp_path, monkeypatch):
    """The file of this person's library, with two things in it."""
    path = tmp_path / "own" / "library.sqlite"
    monkeypatch.setenv("TAPEMARK_LIBRARY", str(path))
    with Library.open() as opened:
        keep(opened, "room", name="Reading room", body=ROOM)
        keep(opened, "gear", name="Zoë's head", body={"what": "head", "head": "400 Ws studio head"})
    return path


def test_somebody_with_nothing_kept_is_told_so(run, tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEMARK_LIBRARY", str(tmp_path / "new" / "library.sqlite"))
    answer = run("own", "list")
    assert (answer.code, answer.out) == (0, "Nothing is kept yet.\n")


def test_own_things_are_listed_by_kind_and_word(run, library):
    assert "Reading room" in run("own", "list").out
    assert run("own", "list", "gear").out.startswith("gear     Zoë's head")
    assert run("own", "list", "--search", "zoe studio").out.count("\n") == 1
    assert run("own", "list", "sitter").out == "Nothing found.\n"
    (line,) = json.loads(run("own", "list", "room", "--json").out)
    assert (line["name"], line["revision"]) == ("Reading room", 1)
    answer = run("own", "list", "tripod")
    assert answer.code == 2
    assert "kinds are setup, room" in answer.err


def test_own_things_go_to_another_machine_in_one_file(run, library, tmp_path, monkeypatch):
    answer = run("own", "export", tmp_path / "studio")
    assert answer.code == 0
    assert "studio.tapemark-library.json" in answer.err
    monkeypatch.setenv("TAPEMARK_LIBRARY", str(tmp_path / "other.sqlite"))
    answer = run("own", "import", tmp_path / "studio.tapemark-library.json")
    assert answer.code == 0
    assert answer.out.startswith("2 new, 0 already here\n")
    again = run("own", "import", tmp_path / "studio.tapemark-library.json", "--json")
    assert [one["outcome"] for one in json.loads(again.out)["things"]] == ["already here"] * 2


@pytest.mark.parametrize(
    "raw", [b"", b"{}", b"PK\x03\x04", b"[" * 9999, b'{"tapemark_library": 1}']
)
def test_an_import_of_something_else_is_refused_in_one_line(run, library, tmp_path, raw):
    path = tmp_path / "odd.json"
    path.write_bytes(raw)
    before = library.read_bytes()
    answer = run("own", "import", path)
    assert answer.code == 2
    assert answer.err.startswith(f"{path}: ")
    assert answer.err.count("\n") == 1
    assert library.read_bytes() == before


def test_a_damaged_library_is_refused_set_aside_on_request_and_never_lost(run, library):
    library.write_bytes(library.read_bytes()[:9000])
    damaged = library.read_bytes()
    answer = run("own", "list")
    assert answer.code == 2
    assert "is damaged" in answer.err
    assert "tapemark own rescue" in answer.err
    answer = run("own", "rescue")
    assert answer.code == 0
    (aside,) = library.parent.glob("library damaged *.sqlite")
    assert str(aside) in answer.out
    assert aside.read_bytes() == damaged
    assert run("own", "list").code == 0
    assert "nothing was done" in run("own", "rescue").out
