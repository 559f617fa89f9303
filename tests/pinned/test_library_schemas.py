"""Libraries as released versions wrote them open today with all they hold."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tapemark.services.library.keeping import checked_body
from tapemark.store import KINDS, Library
from tapemark.store.library_schema import STEPS

DUMPS = sorted((Path(__file__).parent / "library_schemas").glob("v*.sql"))
ONE_MORE = (*STEPS, ("ALTER TABLE things ADD COLUMN color TEXT",))
BROKEN = (*STEPS, ("ALTER TABLE things ADD COLUMN color TEXT", "DROP TABLE nobody"))
LOGS_SINCE = 2
ROWS = "SELECT v.*, t.kind, t.name, t.binned FROM versions v JOIN things t ON t.id = v.thing"


def made_from(dump, path):
    """A library file as a released version wrote it."""
    path.parent.mkdir(exist_ok=True)
    with closing(sqlite3.connect(path)) as db:
        db.executescript(dump.read_text(encoding="utf-8"))
        return sorted(map(str, db.execute(ROWS).fetchall()))


def schema_of(path):
    """The statements that made the tables of a file."""
    with closing(sqlite3.connect(path)) as db:
        return sorted(
            " ".join(sql.split()) for (sql,) in db.execute("SELECT sql FROM sqlite_master") if sql
        )


def assert_has_its_log(library):
    """The session of two test shots is there with frames, a reading, a note and its pictures."""
    (session,) = (one for one in library.kept("session") if one.name == "two test shots")
    log = library.log(session.id)
    entries = [(one.number, one.about, one.kind) for one in reversed(log.entries())]
    assert [kind for _, _, kind in entries] == ["setup", "frame", "frame", "reading", "note"]
    assert [about for _, about, _ in entries] == [None, None, None, 3, 3]
    assert log.get(5).body == {"text": "Zoë blinks"}
    assert log.picture(3, "eyes") == log.picture(3, "preview") == b"\xff\xd8\xff\xd9"
    assert [one.number for one in log.without("frame", "reading", most=9)] == [2]


def test_every_released_version_has_its_dump():
    assert [dump.stem for dump in DUMPS] == [f"v{n}" for n in range(1, len(STEPS) + 1)]


@pytest.mark.parametrize("dump", DUMPS, ids=lambda dump: dump.stem)
def test_a_released_library_opens_with_all_it_holds(dump, tmp_path):
    path = tmp_path / "own" / "library.sqlite"
    before = made_from(dump, path)
    version = int(dump.stem[1:])
    with Library.open(path) as library:
        lines = [*library.kept(), *library.kept(binned=True)]
        assert {line.kind for line in lines} == set(KINDS)
        for line in lines:
            kept = library.get(line.id)
            assert checked_body(kept.kind, kept.body) == kept.body  # and can still be read
        (setup,) = library.kept("setup")
        assert [one.parent for one in library.versions(setup.id)] == [None, 1, 1, 3]
        assert library.redo(setup.id, setup.revision).version == 4
        assert library.undo(setup.id, setup.revision + 1).version == 3
        assert library.upgrade_copy is None or version < len(STEPS)
        if version >= LOGS_SINCE:
            assert_has_its_log(library)
            assert library.practice.answered(base="", seed=7)[0].points == 3
    with closing(sqlite3.connect(path)) as db:
        assert len(db.execute(ROWS).fetchall()) == len(before)


@pytest.mark.parametrize("dump", DUMPS, ids=lambda dump: dump.stem)
def test_an_upgrade_leaves_a_copy_of_what_was_beside_it(dump, tmp_path):
    path = tmp_path / "own" / "library.sqlite"
    before = made_from(dump, path)
    for _ in range(2):  # a copy that is there is never written over
        with Library.open(path, steps=ONE_MORE) as library:
            copy = library.upgrade_copy
        assert copy.parent == path.parent
        assert copy.stat().st_mode & 0o777 == 0o600
        with closing(sqlite3.connect(copy)) as db:
            assert sorted(map(str, db.execute(ROWS).fetchall())) == before
            assert db.execute("PRAGMA user_version").fetchone() == (int(dump.stem[1:]),)
        with closing(sqlite3.connect(path)) as db:
            assert db.execute("PRAGMA user_version").fetchone() == (len(ONE_MORE),)
            assert len(db.execute(ROWS).fetchall()) == len(before)
        path.unlink()
        made_from(dump, path)
    assert len(list(path.parent.glob("library before upgrade*.sqlite"))) == 2


def test_an_upgrade_that_fails_half_way_leaves_the_library_as_it_was(tmp_path):
    path = tmp_path / "library.sqlite"
    before = made_from(DUMPS[-1], path)
    tables = schema_of(path)
    with pytest.raises(OSError, match="no such table"):
        Library.open(path, steps=BROKEN)
    assert schema_of(path) == tables
    with Library.open(path) as library:
        assert len(library.kept()) + len(library.kept(binned=True)) == len(KINDS) + 2
    with closing(sqlite3.connect(path)) as db:
        assert sorted(map(str, db.execute(ROWS).fetchall())) == before


@pytest.mark.parametrize("dump", DUMPS, ids=lambda dump: dump.stem)
def test_a_released_step_is_never_edited(dump, tmp_path):
    """The steps up to a version make the very tables that its dump has."""
    made_from(dump, tmp_path / "released" / "library.sqlite")
    steps = STEPS[: int(dump.stem[1:])]
    Library.open(tmp_path / "new" / "library.sqlite", steps=steps).close()
    released = schema_of(tmp_path / "released" / "library.sqlite")
    assert schema_of(tmp_path / "new" / "library.sqlite") == released
