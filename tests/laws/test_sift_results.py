"""Results of sifting in the app: read as they grow, sorted, told apart, never trusted."""

import json
import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.laws.sift_folder import reading, write_results_folder

from tapemark.errors import FileError
from tapemark.services.photos.glasses_alike import ALIKE_MM
from tapemark.services.photos.sift_out import JOURNAL
from tapemark.services.photos.sift_results import SiftJournal, frame_key
from tapemark.services.photos.sift_shelf import ABOUT, SiftShelf

DAY = [
    reading("a.jpg", veil=0.0),
    reading("b.jpg", veil=0.4),
    reading("c.jpg", veil=None),
    reading("d.jpg", veil=0.1, width=116.0),
    reading("e.jpg", veil=0.0, blink=True),
]


def names(found) -> list[str]:
    return [one.frame.file for one in found]


def test_the_worst_frame_is_first_and_every_verdict_is_counted(tmp_path: Path):
    results = SiftJournal(write_results_folder(tmp_path / "r", DAY)).results()
    assert names(results.frames) == ["e.jpg", "b.jpg", "d.jpg", "a.jpg", "c.jpg"]
    assert results.counts == {"veiled": 2, "clear": 2, "no glasses": 1}


def test_frames_are_filtered_by_verdict_and_by_who_wears_what(tmp_path: Path):
    results = SiftJournal(write_results_folder(tmp_path / "r", DAY)).results()
    assert names(results.chosen(verdict="veiled")) == ["b.jpg", "d.jpg"]
    assert names(results.chosen(wearer="none")) == ["c.jpg"]
    assert names(results.chosen(wearer="1")) == ["e.jpg", "b.jpg", "a.jpg"]
    assert names(results.chosen(wearer="2", verdict="veiled")) == ["d.jpg"]
    assert results.chosen(wearer="77") == ()


def test_sizes_of_glasses_are_told_by_the_pupils(tmp_path: Path):
    # SOURCE: pupils 126 px apart stand for 63 mm, so that 100 px are 50 mm and 72 px are 36 mm
    results = SiftJournal(write_results_folder(tmp_path / "r", DAY)).results()
    first, second = results.glasses
    assert (first.width_mm, first.height_mm, first.gap_mm) == pytest.approx((50.0, 36.0, 13.0))
    assert second.width_mm == pytest.approx(58.0)
    assert (first.frames, second.frames) == (3, 1)


@settings(max_examples=20)
@given(apart=st.floats(0.0, 8.0), count=st.integers(1, 6))
def test_glasses_are_alike_within_the_limit_and_not_beyond(tmp_path_factory, apart, count):
    frames = [reading(f"a{k}.jpg", width=100.0) for k in range(count)]
    frames.append(reading("z.jpg", width=100.0 + 2 * apart))
    folder = write_results_folder(tmp_path_factory.mktemp("r") / "r", frames)
    # wider lenses about the same pupils also leave a narrower gap, by as much
    assert len(SiftJournal(folder).results().glasses) == (1 if apart <= ALIKE_MM else 2)


def test_a_journal_that_grows_is_read_on_from_where_it_was(tmp_path: Path):
    folder = write_results_folder(tmp_path / "r", DAY[:2])
    journal = SiftJournal(folder)
    assert len(journal.results().frames) == 2
    entry = {"file": "b.jpg", "reading": reading("b.jpg", veil=0.0), "error": ""}
    half = json.dumps(entry)
    with (folder / JOURNAL).open("a") as file:
        file.write(half[:100])
    assert names(journal.results().chosen(verdict="veiled")) == ["b.jpg"]
    with (folder / JOURNAL).open("a") as file:
        file.write(half[100:] + "\n")
    assert journal.results().chosen(verdict="veiled") == ()
    assert len(journal.results().frames) == 2


odd = st.one_of(
    st.none(), st.integers(), st.text(max_size=8), st.just([]), st.just({}), st.floats()
)


@settings(max_examples=60)
@given(data=st.data())
def test_a_journal_that_is_not_sound_is_passed_over_line_by_line(tmp_path_factory, data):
    broken = reading("x.jpg", veil=0.3)
    path = data.draw(
        st.sampled_from(
            [
                ("size",), ("wearers",), ("trouble",), ("verdict",), ("wearers", 0, "eyes"),
                ("wearers", 0, "skin"), ("wearers", 0, "questions"),
                ("wearers", 0, "eyes", "right", "lens"), ("wearers", 0, "eyes", "right", "pupil"),
                ("wearers", 0, "eyes", "right", "lens", "outline"),
                ("wearers", 0, "eyes", "right", "lens", "reflections"),
            ]
        )
    )  # fmt: skip
    part = broken
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = data.draw(odd)
    lines = ["", "[]", "{}", "null", "\x00\xff", '{"file": 3}', "{" * 3000]
    folder = write_results_folder(
        tmp_path_factory.mktemp("r") / "r", [reading("a.jpg"), broken, *lines]
    )
    results = SiftJournal(folder).results()
    assert "a.jpg" in names(results.frames)


@pytest.mark.parametrize("name", ["../up.jpg", "/etc/passwd", "a/b.jpg", "", "..", "x\n.jpg"])
def test_a_name_that_is_none_of_a_file_in_the_folder_is_passed_over(tmp_path: Path, name):
    entry = json.dumps({"file": name, "reading": None, "error": "no"})
    folder = write_results_folder(tmp_path / "r", [reading("a.jpg"), entry])
    assert names(SiftJournal(folder).results().frames) == ["a.jpg"]


def test_what_a_frame_says_of_itself_names_no_folder(tmp_path: Path):
    said = f"{tmp_path}/secret/z.jpg: is no picture"
    entry = json.dumps({"file": "z.jpg", "reading": None, "error": said})
    (found,) = SiftJournal(write_results_folder(tmp_path / "r", [entry])).results().frames
    assert found.frame.error == "z.jpg: is no picture"
    assert found.key == frame_key("z.jpg")


# ---------------------------------------------------------------------------- the shelf


def photos(folder: Path) -> Path:
    folder.mkdir()
    (folder / "one.jpg").write_bytes(b"\xff\xd8\xff")
    return folder


def test_a_folder_that_was_sifted_before_goes_on_under_the_same_key(tmp_path: Path):
    shelf, folder = SiftShelf(tmp_path / "shelf"), photos(tmp_path / "day")
    first = shelf.begin(str(folder))
    assert shelf.begin(f' "{folder}" ') == first
    assert shelf.folders() == (first,)
    assert shelf.get(first.key) == first
    assert Path(first.results).parent == shelf.root


@pytest.mark.parametrize("typed", ["", "  ", "day", "./day", "../day", "\x00", "x" * 5000, "~no"])
def test_a_path_that_is_not_whole_is_refused(tmp_path: Path, monkeypatch, typed):
    photos(tmp_path / "day")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FileError, match="type the whole path"):
        SiftShelf(tmp_path / "shelf").begin(typed)


def test_a_folder_without_photos_is_refused(tmp_path: Path):
    (tmp_path / "empty").mkdir()
    with pytest.raises(FileError, match="no photos"):
        SiftShelf(tmp_path / "shelf").begin(str(tmp_path / "empty"))


def test_results_of_the_command_are_opened_where_they_lie_and_only_forgotten(tmp_path: Path):
    shelf, folder = SiftShelf(tmp_path / "shelf"), write_results_folder(tmp_path / "r", DAY)
    opened = shelf.open(str(folder))
    assert not opened.ours
    assert shelf.open(str(folder)) == opened
    shelf.forget(opened.key)
    assert shelf.folders() == ()
    assert (folder / JOURNAL).exists()


def test_forgetting_removes_results_made_here_and_no_photo(tmp_path: Path):
    shelf, folder = SiftShelf(tmp_path / "shelf"), photos(tmp_path / "day")
    begun = shelf.begin(str(folder))
    write_results_folder(Path(begun.results) / "inner", DAY)
    shelf.forget(begun.key)
    assert not Path(begun.results).exists()
    assert (folder / "one.jpg").exists()
    shelf.forget("../day")
    assert (folder / "one.jpg").exists()


@pytest.mark.skipif(os.name != "posix", reason="rights are those of POSIX")
def test_pictures_of_people_are_for_their_owner_alone(tmp_path: Path):
    shelf = SiftShelf(tmp_path / "shelf")
    shelf.begin(str(photos(tmp_path / "day")))
    assert shelf.root.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"key": 1}', "\xff"])
def test_what_is_on_the_shelf_and_not_sound_is_passed_over(tmp_path: Path, text):
    shelf = SiftShelf(tmp_path / "shelf")
    key = "0123456789abcdef"
    (shelf.root / key).mkdir(parents=True)
    (shelf.root / key / ABOUT).write_text(text)
    assert shelf.folders() == ()
    assert shelf.get(key) is None
    assert shelf.get("../x") is None
