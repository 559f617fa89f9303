"""A library outlives what happens to programs, disks and power; what is damaged is set aside."""

import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing, suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.errors import DamagedLibrary, EditedElsewhere, FileError, LibraryError, WriteError
from tapemark.store import Library
from tapemark.store.library_opening import connect
from tapemark.store.library_rescue import rescue
from tapemark.store.library_schema import STEPS


def content(library):
    """All that a library holds, with every version."""
    return {thing["id"]: thing for thing in json.loads(library.export_text())["things"]}


def beside(path):
    """What lies in the folder of a file."""
    return sorted(one.name for one in path.parent.iterdir())


# ---------------------------------------------------------------- killed while it writes

WRITER = """
import json, os, random, sys
from pathlib import Path
from tapemark.errors import EditedElsewhere
from tapemark.store import Library

def write(path, seed):
    dice = random.Random(seed)
    library = Library.open(path)
    mine = library.add("setup", name=f"writer {seed}", body={"n": 0})
    shared = library.kept("session")[0].id
    for n in range(1, 100_000):
        one = dice.choice([mine.id, shared])
        now = library.get(one)
        try:
            if dice.random() < 0.2:
                kept = library.undo(one, now.revision)
            else:
                body = {"n": n, "by": seed, "text": "x" * dice.randrange(9_000)}
                kept = library.save(one, body, base_revision=now.revision)
        except EditedElsewhere:
            continue
        told = {"id": kept.id, "revision": kept.revision, "body": kept.body}
        os.write(1, (json.dumps({**told, "text": None}) + "\\n").encode())

path = Path(sys.argv[1])
for line in sys.stdin:
    seed = int(line)
    child = os.fork()
    if not child:
        write(path, seed)
    os.write(1, (json.dumps({"child": child}) + "\\n").encode())
    os.waitpid(child, 0)
    os.write(1, (json.dumps({"ended": child}) + "\\n").encode())
"""


def kill_once(nursery, seed, acknowledged):
    """Have a writer write, kill it in the middle, and note all that it said was kept."""
    nursery.stdin.write(f"{seed}\n")
    nursery.stdin.flush()
    child, left = None, random.Random(seed).randrange(1, 25)
    for line in nursery.stdout:
        told = json.loads(line)
        if "ended" in told:
            return
        child = told.get("child", child)
        if "revision" in told:
            acknowledged[told["id"], told["revision"]] = told["body"]
            left -= 1
        if left <= 0 and child is not None:
            os.kill(child, signal.SIGKILL)
            left = 1_000_000  # once; the rest of what it said is read to the end


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a process as systems with fork do")
def test_a_program_killed_again_and_again_loses_nothing_it_said_was_kept(tmp_path):
    path = tmp_path / "library.sqlite"
    with Library.open(path) as library:
        library.add("session", name="shared", body={"n": 0})
    acknowledged: dict[tuple[str, int], dict] = {}
    nursery = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with nursery:
        for seed in range(15):
            kill_once(nursery, seed, acknowledged)
            with closing(sqlite3.connect(path)) as db:
                assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
                assert db.execute("PRAGMA foreign_key_check").fetchall() == []
        nursery.stdin.close()
    assert len(acknowledged) > 60
    with Library.open(path) as library:
        for (thing, revision), body in acknowledged.items():
            assert library.body_at(thing, revision) == body
        for line in library.kept():
            assert library.get(line.id).version in {one.number for one in library.versions(line.id)}


def test_several_processes_on_one_thing_lose_no_edit(tmp_path):
    path = tmp_path / "library.sqlite"
    with Library.open(path) as library:
        kept = library.add("session", name="tally", body={})
    code = """
import sys
from pathlib import Path
from tapemark.errors import EditedElsewhere
from tapemark.store import Library
path, thing, me = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
library, done = Library.open(path), 0
while done < 15:
    now = library.get(thing)
    try:
        library.save(thing, {**now.body, me: done + 1}, base_revision=now.revision)
        done += 1
    except EditedElsewhere:
        pass
"""
    command = [sys.executable, "-c", code, str(path), kept.id]
    writers = [subprocess.Popen([*command, f"process {n}"]) for n in range(3)]
    assert [writer.wait() for writer in writers] == [0, 0, 0]
    with Library.open(path) as library:
        assert library.get(kept.id).body == {f"process {n}": 15 for n in range(3)}
        assert len(library.versions(kept.id)) == 1 + 3 * 15


# ---------------------------------------------------------------- power lost


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A library's file and its log as bytes, and what it held after each save."""
    path = tmp_path_factory.mktemp("written") / "library.sqlite"
    with Library.open(path) as library:
        kept = library.add("setup", name="day", body={"n": 0})
        library.add("room", name="den", body={"n": 0})
    before = path.read_bytes()
    db = connect(path)  # keeps the log from being cleared at the end
    db.execute("PRAGMA wal_autocheckpoint = 0")
    log, states, sizes = path.with_name("library.sqlite-wal"), [], [0]
    with Library.open(path) as library:
        states.append(content(library))
        for n in range(1, 13):
            kept = library.save(
                kept.id, {"n": n, "text": "x" * 500 * n}, base_revision=kept.revision
            )
            states.append(content(library))
            sizes.append(log.stat().st_size)
        logged, during = log.read_bytes(), path.read_bytes()
        db.execute("PRAGMA wal_checkpoint(PASSIVE)")
        after = path.read_bytes()
    db.close()
    assert during == before != after
    return {"before": before, "after": after, "log": logged, "states": states, "sizes": sizes}


def opened(folder, main, log):
    """What a library holds that is put together from bytes."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    (folder / "library.sqlite").write_bytes(main)
    (folder / "library.sqlite-wal").write_bytes(log)
    with Library.open(folder / "library.sqlite") as library:
        return content(library)


def test_power_lost_while_saving_leaves_every_save_whose_writing_had_ended(written, tmp_path):
    @given(cut=st.floats(0.0, 1.0), rubbish=st.binary(max_size=5000))
    def check(cut, rubbish):
        end = round(cut * len(written["log"]))
        found = opened(tmp_path / "cut", written["before"], written["log"][:end] + rubbish)
        ended = max(n for n, size in enumerate(written["sizes"]) if size <= end)
        assert found == written["states"][ended]

    check()


def test_power_lost_while_the_log_is_put_into_the_file_loses_nothing(written, tmp_path):
    before, after, page = written["before"], written["after"], 4096
    old = [before[at : at + page] for at in range(0, len(before), page)]
    new = [after[at : at + page] for at in range(0, len(after), page)]
    old += [b""] * (len(new) - len(old))

    @given(st.lists(st.booleans(), min_size=len(new), max_size=len(new)), st.integers(0, page))
    def check(done, torn_at):
        pages = [
            (new_one if is_done else old_one or b"\0" * page)
            for old_one, new_one, is_done in zip(old, new, done, strict=True)
        ]
        pages[-1] = new[-1][:torn_at] + pages[-1][torn_at:]
        assert opened(tmp_path / "torn", b"".join(pages), written["log"]) == written["states"][-1]

    check()


# ---------------------------------------------------------------- damaged, foreign, newer


@pytest.fixture
def filled(tmp_path):
    """The file of a library with a dozen setups, closed."""
    path = tmp_path / "own" / "library.sqlite"
    with Library.open(path) as library:
        for n in range(12):
            kept = library.add("setup", name=f"day {n}", body={"tapemark": 1, "n": n})
            library.save(kept.id, {"tapemark": 1, "n": -n, "text": "x" * 3000}, base_revision=1)
    return path


def refused(path, kind=LibraryError):
    """Open what must be refused; return the one line, the file being as it was."""
    before, names = path.read_bytes(), beside(path)
    with pytest.raises(kind) as told:
        Library.open(path)
    assert path.read_bytes() == before
    assert beside(path) == names
    line = str(told.value)
    assert line.startswith(f"{path}: ")
    assert "\n" not in line
    return line


@pytest.mark.parametrize(
    "raw",
    [b"{}", b'{"tapemark_library": 1, "things": []}' * 50, b"SQLite format 3\0", b"x" * 9000],
    ids=["short JSON", "JSON", "only the first bytes", "text"],
)
def test_a_file_that_is_no_library_is_refused_and_left_alone(tmp_path, raw):
    path = tmp_path / "library.sqlite"
    path.write_bytes(raw)
    line = refused(path, DamagedLibrary)
    assert "it is no library" in line
    assert "tapemark own rescue" in line


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.99])
def test_a_library_cut_short_is_refused_and_left_alone(filled, share):
    raw = filled.read_bytes()
    filled.write_bytes(raw[: int(share * len(raw))])
    assert "is damaged" in refused(filled, DamagedLibrary)


@pytest.mark.parametrize(
    "statement",
    ["DROP TABLE revisions", "ALTER TABLE versions DROP COLUMN why", "DROP TABLE things"],
)
def test_a_library_without_a_table_or_column_is_refused_and_left_alone(filled, statement):
    with closing(sqlite3.connect(filled)) as db:
        db.execute("PRAGMA journal_mode = DELETE")
        db.execute(statement)
    assert "is not as it should be" in refused(filled, DamagedLibrary)


def test_a_database_of_another_program_is_refused_and_left_alone(tmp_path):
    path = tmp_path / "library.sqlite"
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE things (id)")
    assert "another program" in refused(path)
    with pytest.raises(LibraryError, match="another program"):
        rescue(path)


def test_a_library_of_a_newer_program_is_refused_and_left_alone(filled):
    with closing(sqlite3.connect(filled)) as db:
        db.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    line = refused(filled)
    assert "newer tapemark" in line
    assert "bring tapemark up to date" in line
    with pytest.raises(LibraryError, match="newer tapemark"):
        rescue(filled)


def told_of(path, known):
    """Open what may be damaged; return why it was refused, if it was, all else being as known."""
    try:
        with Library.open(path) as library:
            for thing, number in known:
                with suppress(LookupError):
                    assert library.version_body(thing, number) == known[thing, number]
    except FileError as refusal:
        return str(refusal)
    return ""


def test_bytes_turned_over_by_the_disk_never_pass_as_what_was_kept(filled, tmp_path):
    raw = filled.read_bytes()
    with Library.open(filled) as library:
        known = {
            (line.id, version.number): library.version_body(line.id, version.number)
            for line in library.kept()
            for version in library.versions(line.id)
        }
    spoilt = tmp_path / "spoilt" / "library.sqlite"
    spoilt.parent.mkdir()

    @given(
        at=st.lists(st.integers(0, len(raw) - 1), min_size=1, max_size=4), bits=st.integers(1, 255)
    )
    def check(at, bits):
        for old in spoilt.parent.iterdir():
            old.unlink()
        turned = bytearray(raw)
        for place in at:
            turned[place] ^= bits
        spoilt.write_bytes(turned)
        assert told_of(spoilt, known).count("\n") == 0

    check()


def test_a_damaged_body_is_told_and_another_version_can_be_restored(filled):
    with closing(sqlite3.connect(filled)) as db, db:
        db.execute("UPDATE versions SET body = replace(body, '-3', '-4') WHERE number = 2")
    with Library.open(filled) as library:
        line = next(line for line in library.kept("setup", "day 3"))
        with pytest.raises(LibraryError, match="version 2 of setup 'day 3' was damaged"):
            library.get(line.id)
        assert library.restore(line.id, 1, line.revision).body["n"] == 3


def test_a_rescue_sets_the_damaged_file_aside_and_keeps_what_can_be_read(filled):
    with Library.open(filled) as library:
        known = content(library)
    raw = bytearray(filled.read_bytes())
    page = 4096
    hit = next(at for at in range(4 * page, len(raw), page) if b"xxxx" in raw[at : at + page])
    raw[hit : hit + 200] = bytes(200)
    filled.write_bytes(raw)
    refused(filled, DamagedLibrary)
    report = rescue(filled)
    assert report.aside.read_bytes() == raw
    assert report.aside.name.startswith("library damaged ")
    assert 18 <= report.versions < 24
    with Library.open(filled) as library:
        for thing, kept in content(library).items():
            for version in kept["versions"]:
                assert version["body"] in [one["body"] for one in known[thing]["versions"]]
        assert len(library.kept()) == report.things >= 9
    assert rescue(filled).aside is None  # whole now


def test_whatever_is_damaged_a_rescue_keeps_nothing_that_was_not_kept(filled, tmp_path):
    raw = filled.read_bytes()
    with Library.open(filled) as library:
        known = {thing: kept["versions"] for thing, kept in content(library).items()}
    path = tmp_path / "spoilt" / "library.sqlite"
    path.parent.mkdir()

    @given(at=st.integers(0, len(raw)), rubbish=st.binary(max_size=9000), cut=st.booleans())
    @settings(max_examples=12)
    def check(at, rubbish, cut):
        for old in path.parent.iterdir():
            old.unlink()
        spoilt = raw[:at] + rubbish + (b"" if cut else raw[at + len(rubbish) :])
        path.write_bytes(spoilt)
        report = rescue(path)
        assert report.aside is None or report.aside.read_bytes() == spoilt
        with Library.open(path) as library:
            for thing, kept in content(library).items():
                bodies = [one["body"] for one in known[thing]]
                assert [one for one in kept["versions"] if one["body"] not in bodies] == []

    check()


def test_a_rescue_of_what_is_no_library_begins_a_new_one(tmp_path):
    path = tmp_path / "library.sqlite"
    path.write_text("a shopping list")
    report = rescue(path)
    assert (report.things, report.aside.read_text()) == (0, "a shopping list")
    with Library.open(path) as library:
        assert library.kept() == ()


# ---------------------------------------------------------------- places that do not serve


def test_folders_are_made_for_their_owner_only(tmp_path):
    path = tmp_path / "a" / "b" / "library.sqlite"
    with Library.open(path) as library:
        library.add("room", name="den", body={})
        assert {one.stat().st_mode & 0o777 for one in path.parent.iterdir()} == {0o600}
    assert path.parent.stat().st_mode & 0o777 == 0o700


def test_a_place_where_nothing_can_be_made_is_told_in_one_line(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match=r"library\.sqlite: cannot be made \(.*\); name another"):
        Library.open(tmp_path / "file" / "library.sqlite")
    with pytest.raises(LibraryError, match="no ordinary file"):
        Library.open(tmp_path)


@pytest.mark.parametrize(
    ("pragma", "told"),
    [("max_page_count = 1", "the disk is full"), ("query_only = ON", "may not be written")],
)
def test_a_disk_that_takes_nothing_is_told_and_all_stays_as_it_was(filled, pragma, told):
    with Library.open(filled) as library:
        before = content(library)
        line = library.kept()[0]
        with library._connections.reading() as db:
            pass
        db.execute(f"PRAGMA {pragma}")
        edit = {"text": "y" * 100_000}
        with pytest.raises(WriteError) as refusal:
            library.save(line.id, edit, base_revision=line.revision)
        assert told in str(refusal.value)
        assert "your edit is still on the screen" in str(refusal.value)
        assert content(library) == before
        db.execute("PRAGMA query_only = OFF")
        db.execute("PRAGMA max_page_count = 1000000")
        assert library.save(line.id, edit, base_revision=line.revision).body == edit


def test_a_file_held_by_another_program_is_told_after_a_while(filled, monkeypatch):
    monkeypatch.setattr("tapemark.store.library_opening.BUSY_S", 0.05)
    with Library.open(filled) as library, closing(sqlite3.connect(filled)) as other:
        line = library.kept()[0]
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(WriteError, match="being written by another program"):
            library.save(line.id, {}, base_revision=line.revision)
        assert library.get(line.id).revision == line.revision  # reading does not wait


def test_a_library_moved_away_while_open_is_not_written_into_the_void(filled):
    with Library.open(filled) as library:
        line = library.kept()[0]
        filled.rename(filled.with_name("elsewhere.sqlite"))
        with pytest.raises(LibraryError, match="was moved, deleted or replaced"):
            library.save(line.id, {}, base_revision=line.revision)


def test_a_closed_library_says_so(filled):
    library = Library.open(filled)
    library.kept()
    library.close()
    with pytest.raises(LibraryError, match="is closed"):
        library.kept()


def test_the_second_window_is_told_who_is_ahead(filled):
    with Library.open(filled) as one, Library.open(filled) as other:
        line = one.kept()[0]
        now = one.save(line.id, {"n": 100}, base_revision=line.revision)
        with pytest.raises(EditedElsewhere) as told:
            other.save(line.id, {"n": 200}, base_revision=line.revision)
        assert told.value.kept == now
