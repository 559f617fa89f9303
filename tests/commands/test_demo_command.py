"""Stories of `tapemark demo` and of pictures asked for with `tapemark check`."""

import struct
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from tapemark.services import DEMO_LISTS, DEMO_STEMS, write_results

VIEWS = ("plan", "elevation", "camera", "face", "distance")


def drawings_of(stem: str) -> set[str]:
    return {f"{stem}-{view}.{kind}" for view in VIEWS for kind in ("svg", "png")}


def assert_drawn(folder: Path, stem: str) -> None:
    """Each picture is there, can be read, and is large enough to print."""
    for view in VIEWS:
        root = ET.fromstring((folder / f"{stem}-{view}.svg").read_text("utf-8"))
        assert root.tag.endswith("svg")
        png = (folder / f"{stem}-{view}.png").read_bytes()
        assert png[:8] == b"\x89PNG\r\n\x1a\n"
        assert min(struct.unpack(">II", png[16:24])) >= 1400  # 170 dots an inch on A4


def test_demo_prints_both_reports_and_leaves_a_folder_to_look_at(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    answer = run("demo")
    assert answer.code == 0
    troubled, cured = answer.out.split("Quillmere Library, reading room: ")[1:]
    assert "VEILED" in troubled
    assert cured.count("CLEAR") == 2
    folder = tmp_path / "tapemark-demo"
    for command in ("moves", "plan", "map", "order", "walkins"):
        assert f"  tapemark {command} quillmere-" in cured
    assert answer.out.splitlines()[-1] == f"Setups, reports and pictures are in {folder}"
    *about, lists = answer.err.splitlines()
    assert about == [f"{stem}: wrote 12 files" for stem in DEMO_STEMS]
    assert lists == "brief and sitters: wrote 2 files"
    expected = set(DEMO_LISTS).union(
        *({f"{stem}.toml", f"{stem}.txt", *drawings_of(stem)} for stem in DEMO_STEMS)
    )
    assert {path.name for path in folder.iterdir()} == expected
    for stem in DEMO_STEMS:
        assert_drawn(folder, stem)


@pytest.mark.parametrize("name", [f"{DEMO_STEMS[0]}.toml", *DEMO_LISTS])
def test_demo_does_not_write_over_what_somebody_changed(
    run: Any, tmp_path: Path, name: str
) -> None:
    own = tmp_path / name
    own.write_text("# mine\n", encoding="utf-8")
    answer = run("demo", "--out", tmp_path)
    assert answer.code == 1
    assert str(own) in answer.err
    assert own.read_text("utf-8") == "# mine\n"


def test_results_replace_a_link_and_leave_what_it_led_to(tmp_path: Path) -> None:
    elsewhere, folder = tmp_path / "elsewhere.txt", tmp_path / "out"
    elsewhere.write_text("keep", encoding="utf-8")
    folder.mkdir()
    (folder / "a.txt").symlink_to(elsewhere)
    (folder / ".a.txt.part").symlink_to(elsewhere)
    write_results(folder, {"a.txt": "new"})
    assert elsewhere.read_text("utf-8") == "keep"
    assert (folder / "a.txt").read_text("utf-8") == "new"


def test_check_writes_pictures_named_after_the_setup_and_says_so_beside_the_report(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    folder = tmp_path / "new" / "pictures"
    answer = run("check", setups["cured"], "--pictures", folder)
    assert answer.code == 0
    stem = setups["cured"].stem
    assert {path.name for path in folder.iterdir()} == drawings_of(stem)
    assert_drawn(folder, stem)
    assert "wrote" not in answer.out
    assert answer.err.count("wrote") == 2 * len(VIEWS)


def test_folder_that_cannot_be_written_is_told_in_words(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    in_the_way = tmp_path / "a file"
    in_the_way.write_text("in the way", "utf-8")
    answer = run("check", setups["cured"], "--pictures", in_the_way)
    assert answer.code != 0
    assert f"{in_the_way}: cannot be written" in answer.err
    assert "name another folder" in answer.err
    assert "Traceback" not in answer.err
    assert in_the_way.read_text("utf-8") == "in the way"
