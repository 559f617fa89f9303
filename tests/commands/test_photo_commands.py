"""Photos at the command line: one read, a folder sifted, a folder watched."""

import csv
import io
import json
import os
import shutil
import threading
import time
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PIL import Image

from tapemark.photo.batch_worker import Answer, Job
from tapemark.planning import Watch
from tapemark.services.photos import photo_batch
from tapemark.services.photos.photo_batch import read_many
from tapemark.services.photos.sift_files import write_sidecars
from tapemark.services.photos.sift_out import JOURNAL
from tapemark.services.photos.sifting import sift_folder
from tapemark.services.photos.watching_folder import watch_folder
from tapemark.services.photos.whose_light import read_learned
from tapemark.studio import Setup, setup_from_mapping, setup_to_toml

PICTURES = Path(__file__).resolve().parents[1] / "pictures"
VEILED, BARE = PICTURES / "shot-0001.jpg", PICTURES / "shot-0004.jpg"
XMP = {"tapemark": "urn:tapemark:reading:1#", "xmp": "http://ns.adobe.com/xap/1.0/"}
RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"


@pytest.fixture
def finals(tmp_path: Path) -> Path:
    """A folder with a veiled frame, one without glasses, a broken one and a note."""
    folder = tmp_path / "finals"
    folder.mkdir()
    shutil.copy(VEILED, folder / "a.jpg")
    shutil.copy(BARE, folder / "b.jpg")
    (folder / "c.jpg").write_bytes(VEILED.read_bytes()[:9000])
    (folder / "notes.txt").write_text("not a photo")
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix != ".xmp"}


def test_read_says_what_the_lenses_show(run):
    answer = run("read", VEILED)
    assert answer.code == 1
    assert "shot-0001.jpg: veiled" in answer.out
    assert "right lens reflection over the eye" in answer.out
    assert "stops against the skin" in answer.out


def test_read_answers_as_json(run):
    answer = run("read", VEILED, "--json")
    told = json.loads(answer.out)
    assert told["verdict"] == "veiled"
    assert told["size"] == [640, 800]
    lens = told["wearers"][0]["eyes"]["left"]["lens"]
    assert lens["verdict"] == "veiled"
    assert 0.05 < lens["lens_cover"] < 0.3
    assert len(lens["reflections"][0]["outline"]) >= 4


def test_read_refuses_with_one_line(run, tmp_path):
    broken = tmp_path / "x.jpg"
    broken.write_bytes(b"nothing")
    answer = run("read", broken)
    assert answer.code == 2
    assert answer.out == ""
    assert answer.err.count("\n") == 1
    assert "x.jpg" in answer.err


@pytest.mark.parametrize(
    "option",
    [
        ("--pupils", "1,2,3"),
        ("--pupils", "9,9,9,9"),
        ("--pupils", "400,300,200,300"),
        ("--outline", "5,5,1,1,9,9,20,20"),
        ("--outline", "400,300,480,360,200,300,280,360"),
    ],
)
def test_taps_that_make_no_sense_are_refused(run, option):
    answer = run("read", VEILED, *option)
    assert answer.code == 2
    assert option[1] in answer.err


@pytest.mark.parametrize(
    ("option", "said"),
    [
        (("--pupils", "300,300,5000,1"), "left pupil at 5000,1"),
        (("--outline", "9,900,90,990,100,300,180,360"), "box 9,900,90,990 of the right lens"),
    ],
)
def test_taps_outside_the_photo_are_refused_with_its_size(run, option, said):
    answer = run("read", VEILED, *option)
    assert answer.code == 2
    assert f"{said} is outside its 640 x 800 pixels" in answer.err
    assert answer.err.count("\n") == 1


def test_no_glasses_and_where_they_are_contradict_each_other(run):
    answer = run("read", VEILED, "--no-glasses", "--outline", "200,300,280,360,400,300,480,360")
    assert answer.code == 2
    assert "contradict each other" in answer.err


@pytest.mark.parametrize("option", ["--keep", "--corrected"])
def test_read_never_writes_over_what_it_reads(run, setup_file, tmp_path, option):
    photo, linked = tmp_path / "a.jpg", tmp_path / "linked.jpg"
    shutil.copy(VEILED, photo)
    linked.symlink_to(photo)
    before = contents(tmp_path)
    for target in (photo, linked, setup_file):
        answer = run("read", photo, "--setup", setup_file, option, target)
        assert answer.code == 2
        assert answer.out == ""
        assert "itself, which is never written over: name another file" in answer.err
    assert contents(tmp_path) == before


@pytest.mark.parametrize("held", ["", "[1]", '{"lenses": {}}', "my notes", "\xff"])
def test_a_sitter_is_kept_only_over_a_sitter(run, tmp_path, held):
    file = tmp_path / "notes.txt"
    file.write_text(held, encoding="latin-1")
    answer = run("read", VEILED, "--keep", file)
    assert answer.code == 2
    assert answer.out == ""
    assert "notes.txt: is no file of a sitter, and is not written over; keep" in answer.err
    assert file.read_text(encoding="latin-1") == held
    assert run("read", VEILED, "--keep", tmp_path).code == 2


def test_lenses_of_a_sitter_are_kept_and_used_again(run, tmp_path):
    kept = tmp_path / "sitter.json"
    assert run("read", VEILED, "--keep", kept).code == 1
    shape = json.loads(kept.read_text())["lenses"]
    assert 40 < shape["width_mm"] < 65
    assert run("read", VEILED, "--keep", kept).code == 1  # over its own
    assert run("read", VEILED, "--sitter", kept, "--json").code == 1
    kept.write_text('{"lenses": {"width_mm": 900}}')
    refused = run("read", VEILED, "--sitter", kept)
    assert refused.code == 2
    assert "no file about a sitter's lenses" in refused.err


def test_sift_lists_the_worst_first_and_touches_nothing(run, finals, tmp_path):
    before, out = contents(finals), tmp_path / "out"
    answer = run("sift", finals, "-o", out, "--workers", 1)
    assert answer.code == 1
    assert contents(finals) == before
    assert list(finals.glob("*.xmp")) == []
    rows = list(csv.DictReader(io.StringIO((out / "sifted.csv").read_text())))
    assert [row["file"] for row in rows] == ["c.jpg", "a.jpg", "b.jpg"]
    assert [row["verdict"] for row in rows] == ["unreadable", "veiled", "no glasses"]
    assert "cut short" in rows[0]["error"]
    told = json.loads((out / "sifted.json").read_text())
    assert told["verdicts"] == {"unreadable": 1, "veiled": 1, "no glasses": 1}
    with Image.open(out / "contact-sheet-01.jpg") as sheet:
        assert sheet.width > 1200


def test_sift_goes_on_where_it_was_broken_off(finals, tmp_path, monkeypatch):
    out, watch = tmp_path / "out", Watch()
    watch.tell = lambda text: setattr(watch, "stopped", True)
    first = sift_folder(finals, out=out, workers=1, watch=watch)
    assert first.interrupted
    assert len(first.frames) == 1
    asked = []
    monkeypatch.setattr(photo_batch, "read_one", lambda job: asked.append(job) or _sound(job))
    second = sift_folder(finals, out=out, workers=1)
    assert not second.interrupted
    assert second.taken_over == 1
    assert [Path(job.path).name for job in asked] == ["b.jpg", "c.jpg"]


def test_names_that_are_no_text_or_two_lines_break_nothing(run, finals, tmp_path):
    odd, out = os.fsdecode(b"bad\xff.jpg"), tmp_path / "out"
    try:
        (finals / "a.jpg").rename(finals / odd)
    except OSError:
        pytest.skip("names are always text on this disk")
    (finals / "c.jpg").rename(finals / "two\nlines.jpg")
    for _ in range(2):  # the second time from the journal
        answer = run("sift", finals, "-o", out, "--workers", 1, "--xmp")
        assert answer.code == 1
        assert "  bad\\xff.jpg" in answer.out
        assert "  two\\nlines.jpg" in answer.out
        rows = list(csv.DictReader(io.StringIO((out / "sifted.csv").read_text("utf-8"))))
        names = ["two\\nlines.jpg", "bad\\xff.jpg", "b.jpg"]
        assert [row["file"] for row in rows] == names
        told = json.loads((out / "sifted.json").read_text("utf-8"))
        assert [one["file"] for one in told["frames"]] == names
        assert told["verdicts"] == {"unreadable": 1, "veiled": 1, "no glasses": 1}
    assert (finals / os.fsdecode(b"bad\xff.xmp")).exists()
    assert run("read", finals / odd).out.startswith("bad\\xff.jpg: veiled\n")
    refused = run("read", finals / "two\nlines.jpg")
    assert "two\\nlines.jpg: is damaged" in refused.err
    assert refused.err.count("\n") == 1


def test_sift_never_writes_into_the_folder_of_the_photos(run, finals):
    for name in ("contact-sheet-01.jpg", "sifted.jpg"):
        shutil.copy(VEILED, finals / name)
    before = contents(finals)
    for out in (finals, finals / ".." / finals.name):
        answer = run("sift", finals, "--out", out)
        assert answer.code == 2
        assert "is the folder of the photos, which are only read; name another" in answer.err
        assert answer.err.count("\n") == 1
    assert contents(finals) == before


@pytest.mark.parametrize("name", ["Contact-sheet-01.jpg", "sifted.csv", "sifted.json", JOURNAL])
def test_sift_replaces_only_what_it_wrote(run, finals, tmp_path, monkeypatch, name):
    monkeypatch.setattr(photo_batch, "read_one", _sound)
    out = tmp_path / "out"
    out.mkdir()
    (out / name).write_text("of somebody else")
    answer = run("sift", finals, "--out", out, "--workers", 1)
    assert answer.code == 2
    assert f"{name}: was not written by tapemark sift, and is not replaced; name" in answer.err
    assert [one.name for one in out.iterdir()] == [name]
    (out / name).unlink()
    for _ in range(2):
        assert run("sift", finals, "--out", out, "--workers", 1).code == 0


def test_sift_reads_a_frame_again_that_has_changed(finals, tmp_path, monkeypatch):
    monkeypatch.setattr(photo_batch, "read_one", _sound)
    sift_folder(finals, out=tmp_path / "out", workers=1)
    shutil.copy(BARE, finals / "a.jpg")
    again = sift_folder(finals, out=tmp_path / "out", workers=1)
    assert again.taken_over == 2


def test_a_journal_that_is_torn_is_read_as_far_as_it_is_whole(finals, tmp_path, monkeypatch):
    monkeypatch.setattr(photo_batch, "read_one", _sound)
    out = tmp_path / "out"
    sift_folder(finals, out=out, workers=1)
    journal = out / JOURNAL
    journal.write_bytes(journal.read_bytes()[:-30] + b'\n[1]\n{"file": 3}\n\xff\xfe\n')
    assert sift_folder(finals, out=out, workers=1).taken_over == 2


def test_many_processes_answer_as_one_does(finals, tmp_path):
    one = sift_folder(finals, out=tmp_path / "one", workers=1)
    two = sift_folder(finals, out=tmp_path / "two", workers=2)
    assert one.frames == two.frames


class Crash:
    """Ends the process that it is handed to."""

    def __reduce__(self):
        return os._exit, (3,)


def test_a_photo_that_crashes_its_process_is_reported_and_the_rest_goes_on(finals):
    jobs = [Job(path=str(finals / "c.jpg")), Job(path="crash.jpg", hints=Crash())]
    answers = {Path(one.path).name: one for one in read_many(jobs, workers=2, watch=Watch())}
    assert "crashed" in answers["crash.jpg"].error
    assert "cut short" in answers["c.jpg"].error


def test_sidecars_are_written_beside_photos_but_never_over_others(run, finals, tmp_path):
    (finals / "b.xmp").write_text("<x:xmpmeta xmlns:x='adobe:ns:meta/'>mine</x:xmpmeta>")
    answer = run("sift", finals, "-o", tmp_path / "out", "--workers", 1, "--xmp")
    assert "1 sidecars written" in answer.err
    assert "1 left alone" in answer.err
    assert "mine" in (finals / "b.xmp").read_text()
    found = ElementTree.fromstring((finals / "a.xmp").read_text().partition("?>\n")[2])
    description = next(found.iter(f"{RDF}Description"))
    assert description.get(f"{{{XMP['tapemark']}}}Verdict") == "veiled"
    assert description.get(f"{{{XMP['xmp']}}}Rating") is None


def test_a_rating_is_written_only_when_asked(finals, tmp_path):
    report = sift_folder(finals, out=tmp_path / "out", workers=1)
    write_sidecars(report, folder=finals, rate=True)
    assert 'xmp:Rating="1"' in (finals / "a.xmp").read_text()
    write_sidecars(report, folder=finals, rate=False)
    assert "Rating" not in (finals / "a.xmp").read_text()


def test_a_folder_that_is_not_there_is_refused(run, tmp_path):
    answer = run("sift", tmp_path / "nowhere")
    assert answer.code == 2
    assert "nowhere" in answer.err


def test_a_folder_without_photos_is_not_called_sound(run, tmp_path):
    (tmp_path / "empty").mkdir()
    answer = run("sift", tmp_path / "empty", "--out", tmp_path / "out")
    assert answer.code == 1
    assert "there is no photo in it" in answer.out


def test_a_time_that_is_no_number_does_not_watch_for_ever(run, tmp_path):
    answer = run("watch", tmp_path, "--seconds", "nan", "--count", "1")
    assert answer.code == 2
    assert '"nan": write a number from 0.1 to' in answer.err


def test_watch_reads_a_photo_that_is_written_bit_by_bit(tmp_path):
    data = VEILED.read_bytes()

    def camera() -> None:
        with (tmp_path / "shot.jpg").open("wb") as file:
            for start in range(0, len(data), len(data) // 4):
                file.write(data[start : start + len(data) // 4])
                file.flush()
                os.fsync(file.fileno())
                time.sleep(0.15)

    (tmp_path / "old.jpg").write_bytes(data)
    writing = threading.Thread(target=camera)
    looks, ends = watch_folder(tmp_path), time.monotonic() + 30.0
    next(looks)
    writing.start()
    arrived = next(one for one in looks if one is not None or time.monotonic() > ends)
    writing.join()
    assert arrived.path.name == "shot.jpg"
    assert arrived.error == ""
    assert arrived.reading.verdict == "veiled"


def test_watch_says_so_when_a_photo_stays_broken(tmp_path, monkeypatch):
    monkeypatch.setattr("tapemark.services.photos.watching_folder.GIVE_UP_S", 0.6)
    looks, ends = watch_folder(tmp_path), time.monotonic() + 30.0
    next(looks)
    (tmp_path / "shot.jpg").write_bytes(VEILED.read_bytes()[:5000])
    arrived = next(one for one in looks if one is not None or time.monotonic() > ends)
    assert arrived.reading is None
    assert "cut short" in arrived.error


def test_watch_says_so_when_a_photo_stays_empty(tmp_path, monkeypatch):
    monkeypatch.setattr("tapemark.services.photos.watching_folder.GIVE_UP_S", 0.6)
    (tmp_path / "old.jpg").touch()
    looks, ends = watch_folder(tmp_path), time.monotonic() + 30.0
    next(looks)
    (tmp_path / "shot.jpg").touch()
    arrived = next(one for one in looks if one is not None or time.monotonic() > ends)
    assert arrived.path.name == "shot.jpg"
    assert arrived.error.endswith("shot.jpg: is empty; copy it again from the camera")


def test_watch_tells_a_line_of_json_for_each_photo(run, tmp_path):
    shutil.copy(VEILED, tmp_path / "a.jpg")
    answer = run("watch", tmp_path, "--all", "--count", 1, "--seconds", 30, "--json")
    assert answer.code == 0
    told = json.loads(answer.out)
    assert told["file"] == "a.jpg"
    assert told["verdict"] == "veiled"


def _sound(job: Job) -> Answer:
    reading = {"file": Path(job.path).name, "verdict": "clear", "trouble": 0.0, "wearers": []}
    return Answer(path=job.path, reading=reading, error="", crop=b"")


@pytest.fixture
def setup_file(tmp_path: Path) -> Path:
    """The setup that the veiled picture was rendered from, as a file."""
    known = json.loads(VEILED.with_suffix(".json").read_text())
    kept = known["setup"]
    setup = Setup.model_validate(kept) if "width_m" in kept["room"] else setup_from_mapping(kept)
    file = tmp_path / "shot.toml"
    file.write_text(setup_to_toml(setup))
    return file


def test_read_against_a_setup_names_the_light_and_the_move(run, setup_file):
    answer = run("read", VEILED, "--setup", setup_file)
    assert answer.code == 1
    assert "right lens, reflection 1: key in " in answer.out
    assert "left lens, reflection 1: key in " in answer.out
    assert "head     turned" in answer.out
    assert "MOVE " in answer.out
    assert "One change at a time, then a test shot." in answer.out


def test_read_against_a_setup_answers_as_json(run, setup_file):
    told = json.loads(run("read", VEILED, "--setup", setup_file, "--json").out)
    assert told["verdict"] == "veiled"
    (wearer,) = told["match"]["wearers"]
    largest = [one for one in wearer["reflections"] if one["index"] == 0]
    assert [one["light"] for one in largest] == ["key", "key"]
    assert all(one["probability"] > 0.9 for one in largest)
    assert wearer["pose"]["yaw_deg"]["spread"] > 0
    assert wearer["move"]["verdict_after"] == "clear"
    assert setup_from_mapping(wearer["move"]["setup"]).lights[0].name == "key"
    assert setup_from_mapping(wearer["fitted_setup"]).sitter.glasses is not None


def test_a_corrected_setup_is_never_written_over_the_original(run, setup_file, tmp_path):
    before = setup_file.read_bytes()
    answer = run("read", VEILED, "--setup", setup_file, "--corrected", setup_file)
    assert answer.code == 2
    assert "never written over" in answer.err
    assert setup_file.read_bytes() == before
    assert run("read", VEILED, "--corrected", tmp_path / "new.toml").code == 2
    assert not (tmp_path / "new.toml").exists()


def test_what_was_learned_of_glasses_is_kept_and_used(run, setup_file, tmp_path):
    kept = tmp_path / "sitter.json"
    assert run("read", VEILED, "--setup", setup_file, "--keep", kept).code == 1
    learned = read_learned(kept)
    assert learned is not None
    assert 0.0 < learned.base_curve_d.spread < 1.0
    assert run("read", VEILED, "--setup", setup_file, "--sitter", kept, "--json").code == 1
    data = json.loads(kept.read_text())
    data["glasses"]["base_curve_d"]["value"] = 400
    kept.write_text(json.dumps(data))
    refused = run("read", VEILED, "--setup", setup_file, "--sitter", kept)
    assert refused.code == 2
    assert "no file about a sitter's lenses" in refused.err
