"""What one types to keep the log of a session, and what is left of it after a kill."""

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tapemark.services.photos.frame_reading import Fingerprint, read_frame
from tapemark.services.photos.reading_words import VERDICT_WORDS
from tapemark.services.photos.session_log import add_frame, begin_session, keep_reading
from tapemark.store import Library
from tapemark.store.library_rescue import rescue

PICTURES = sorted((Path(__file__).resolve().parents[1] / "pictures").glob("*.jpg"))
BARE = PICTURES[3]  # nobody wears glasses in it, so no light has to be found
JPEG = b"\xff\xd8\xff\xd9"


@pytest.fixture
def library(tmp_path, monkeypatch):
    """The file of this person's library; nothing is in it yet."""
    path = tmp_path / "own" / "library.sqlite"
    monkeypatch.setenv("TAPEMARK_LIBRARY", str(path))
    return path


def test_a_session_is_kept_from_the_first_frame_to_going_back(run, library, setups):
    assert run("log", "list").out == "There is no session yet.\n"
    begun = run("log", "start", setups["troubled"], "--name", "Portrait day")
    assert begun.out.startswith("Portrait day  (")
    added = run("log", "add", BARE, "--json")
    (frame,) = json.loads(added.out)
    assert (frame["kind"], frame["name"]) == ("frame", BARE.name)
    read = read_frame(BARE, name=BARE.name).body["reading"]
    assert frame["reading"]["reading"] == json.loads(json.dumps(read))
    number = frame["number"]
    assert run("log", "note", "chin down after this", "--frame", number).code == 0
    assert run("log", "meter", "f/8", "--light", "key").out.startswith("key: f/8.")
    assert run("log", "sitter", "Oriel").code == 0
    shown = run("log", "show").out
    assert shown.index(BARE.name) < shown.index("chin down") < shown.index("Meter: key f/8")
    assert VERDICT_WORDS[read["verdict"]] in shown
    back = run("log", "back", number)
    assert "now version 3" in back.out
    (line,) = json.loads(run("log", "list", "--json").out)
    assert (line["name"], line["frames"]) == ("Portrait day", 1)
    again = run("log", "add", BARE, "--json")  # the same photo is the same frame
    assert json.loads(again.out)[0]["number"] == number


def test_photos_stay_where_and_as_they_are(run, library, tmp_path):
    shot = tmp_path / "IMG_0001.jpg"
    shot.write_bytes(PICTURES[0].read_bytes())
    before = shot.stat()
    run("log", "start")
    assert "IMG_0001.jpg: " in run("log", "add", shot).out
    after = shot.stat()
    assert (after.st_mtime_ns, after.st_size) == (before.st_mtime_ns, before.st_size)
    with Library.open() as opened:
        (session,) = opened.kept("session")
        frame = opened.log(session.id).last("frame").body
    assert (frame["folder"], frame["size"]) == (str(tmp_path), before.st_size)
    assert library.stat().st_size < 2_000_000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("log", "add", PICTURES[0]), "begin one with: tapemark log start"),
        (("log", "show", "--session", "x"), "there is no session of that name"),
        (("log", "start", "nobody"), "there is no setup of that name"),
        (("log", "back", "3"), "begin one with"),
    ],
)
def test_what_is_not_there_is_told_in_one_line(run, library, words, said):
    answer = run(*words)
    assert answer.code == 2
    assert said in answer.err
    assert answer.err.count("\n") == 1


def test_an_odd_file_is_told_and_nothing_of_it_is_kept(run, library, tmp_path):
    run("log", "start")
    (tmp_path / "notes.jpg").write_text("not a photo")
    assert run("log", "add", tmp_path / "nope.jpg").code == 2
    answer = run("log", "add", tmp_path / "notes.jpg")
    assert "notes.jpg: is no picture that can be read" in answer.out
    assert run("log", "back", "1").err.endswith("the next frames remember it.\n")


# ---------------------------------------------------------------- killed while it writes

WRITER = """
import json, os, random, sys
from pathlib import Path
from tapemark.services.photos.frame_reading import Fingerprint
from tapemark.services.photos.session_log import add_frame, add_note, keep_reading
from tapemark.store import Library

def write(path, session, seed):
    dice = random.Random(seed)
    library = Library.open(path)
    log = library.log(session)
    for n in range(100_000):
        mark = Fingerprint(size=n + 1, digest=f"{seed}x{n}")
        frame = add_frame(library, session, name=f"{seed}-{n}", folder="", mark=mark, where="sent")
        tell(frame.entry, None)
        picture = b"\\xff\\xd8\\xff" + bytes([n % 251]) * dice.randrange(60_000)
        tell(keep_reading(log, frame.entry.number, {"n": n}, {"preview": picture}), len(picture))
        tell(add_note(library, session, f"note {n}", frame=frame.entry.number), None)

def tell(entry, size):
    told = {"number": entry.number, "kind": entry.kind, "about": entry.about, "size": size}
    os.write(1, (json.dumps({**told, "body": entry.body}) + "\\n").encode())

path, session = Path(sys.argv[1]), sys.argv[2]
for line in sys.stdin:
    child = os.fork()
    if not child:
        write(path, session, int(line))
    os.write(1, (json.dumps({"child": child}) + "\\n").encode())
    os.waitpid(child, 0)
    os.write(1, (json.dumps({"ended": child}) + "\\n").encode())
"""


def kill_once(nursery, seed, acknowledged):
    """Have a writer write, kill it in the middle, and note all that it said was kept."""
    nursery.stdin.write(f"{seed}\n")
    nursery.stdin.flush()
    child, left = None, random.Random(seed).randrange(1, 30)
    for line in nursery.stdout:
        told = json.loads(line)
        if "ended" in told:
            return
        child = told.get("child", child)
        if "number" in told:
            acknowledged[told["number"]] = told
            left -= 1
        if left <= 0 and child is not None:
            os.kill(child, signal.SIGKILL)
            left = 1_000_000


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a process as systems with fork do")
def test_a_log_killed_again_and_again_has_every_entry_it_said_was_kept(tmp_path):
    path = tmp_path / "library.sqlite"
    with Library.open(path) as library:
        session = begin_session(library).id
    acknowledged: dict[int, dict] = {}
    nursery = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), session],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with nursery:
        for seed in range(12):
            kill_once(nursery, seed, acknowledged)
            with closing(sqlite3.connect(path)) as db:
                assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
                assert db.execute("PRAGMA foreign_key_check").fetchall() == []
        nursery.stdin.close()
    assert len(acknowledged) > 60
    with Library.open(path) as library:
        log = library.log(session)
        for number, told in acknowledged.items():
            entry = log.get(number)
            assert (entry.kind, entry.about, entry.body) == (
                told["kind"],
                told["about"],
                told["body"],
            )
            if told["size"] is not None:
                assert len(log.picture(told["about"], "preview")) == told["size"]
        # a reading is there with its picture, or not at all
        for one in log.entries(("reading",)):
            assert log.picture(one.about, "preview").startswith(JPEG[:3])


def test_a_rescue_keeps_the_log_but_for_what_was_damaged(tmp_path):
    path = tmp_path / "library.sqlite"
    with Library.open(path) as library:
        session = begin_session(library, sitter="Ines").id
        log = library.log(session)
        for number in range(40):
            mark = Fingerprint(size=number + 1, digest=f"{number:x}")
            name = f"IMG_{number}.jpg"
            frame = add_frame(
                library, session, name=name, folder="", mark=mark, where="sent"
            ).entry.number
            content = JPEG + bytes([number]) * 3000
            keep_reading(log, frame, {"text": "x" * 500}, {"preview": content})
        known = {one.number: one.body for one in log.entries()}
    raw = bytearray(path.read_bytes())
    page = 4096
    hit = next(at for at in range(8 * page, len(raw), page) if b"xxxx" in raw[at : at + page])
    raw[hit : hit + 300] = bytes(300)
    path.write_bytes(raw)
    assert rescue(path).aside is not None
    with Library.open(path) as library:
        left = {one.number: one.body for one in library.log(session).entries()}
    assert 60 < len(left) < len(known)
    assert {number: known[number] for number in left} == left
