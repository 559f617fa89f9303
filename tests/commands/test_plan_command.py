"""Stories of `tapemark plan`: what a photographer types and reads."""

import json
import signal
from pathlib import Path
from typing import Any

import pytest

from tapemark.services import check_setup, demo_setup_text, read_brief, read_setup

FLASH = """
title = "Quillmere Library, returns desk"
aperture = "f/4"
[room]
width = "4 m"
length = "5 m"
height = "2.5 m"
[sitter]
eye_height = "1.2 m"
glasses = "strong short-sighted, small frame"
[camera]
lenses = ["85 mm"]
highest_iso = 800
[[head]]
head = "small camera flash 60 Ws"
[[modifier]]
modifier = "bare small flash"
[[modifier]]
modifier = "shoot-through umbrella 100 cm"
[[stand]]
stand = "light stand"
"""


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    path = tmp_path / "returns-desk.toml"
    path.write_text(FLASH, encoding="utf-8")
    return path


def test_plans_can_be_rigged_from(run: Any, brief: Path) -> None:
    answer = run("plan", brief)
    assert answer.code == 0
    lines = answer.out.splitlines()
    assert lines[0] == "Quillmere Library, returns desk"
    assert lines[1] == "Wished: head and shoulders, f/4"
    for part in ("PLAN A", "PLAN B", "PLAN C", "Why", "Binds", "tape A", "Pack", "Build"):
        assert part in answer.out
    assert "power" in answer.out
    assert "reads f/4" in answer.out
    assert max(map(len, lines)) <= 100


def test_json_holds_whole_setups(run: Any, brief: Path, tmp_path: Path) -> None:
    answer = run("plan", brief, "--json", "--count", "1")
    assert answer.code == 0
    plain = json.loads(answer.out)
    assert {"title", "seed", "plans", "give_up", "interrupted"} <= set(plain)
    (plan,) = plain["plans"]
    wanted = {"letter", "verdict", "setup", "marks", "lights", "packing", "build", "test_shots"}
    assert wanted <= set(plan)
    assert {"name", "dial", "power_stops", "aperture"} <= set(plan["lights"][0])
    assert {"distance_m", "side_deg", "height_m", "from_a_m", "from_b_m"} <= set(plan["marks"][1])
    assert plan["setup"]["light"][0]["name"] == "key"


def test_a_folder_gets_setups_and_drawings(run: Any, brief: Path, tmp_path: Path) -> None:
    folder = tmp_path / "plans"
    answer = run("plan", brief, "--count", "1", "--out", folder)
    assert answer.code == 0
    names = {path.name for path in folder.iterdir()}
    assert {"returns-desk-a.toml", "returns-desk-a-plan.svg", "returns-desk-a-camera.png"} <= names
    setup = read_setup(folder / "returns-desk-a.toml")
    assert not check_setup(setup).found_trouble
    assert "plan A" in setup.title


def test_stopping_the_drawing_stops_at_once_and_leaves_the_setups(
    run: Any, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(checked: Any, *, stem: str) -> Any:
        yield {f"{stem}-plan.svg": "<svg/>"}
        signal.raise_signal(signal.SIGINT)
        pytest.fail("went on drawing")

    monkeypatch.setattr("tapemark.services.plan.picture_files_in_turn", stopped)
    folder = tmp_path / "plans"
    answer = run("plan", brief, "--count", "2", "--out", folder)
    assert answer.code == 1
    names = {path.name for path in folder.iterdir()}
    assert names == {"returns-desk-a.toml", "returns-desk-b.toml", "returns-desk-a-plan.svg"}
    assert "Not all is drawn" in answer.err
    assert "returns-desk-a.toml --pictures" in answer.err


def test_an_impossible_brief_exits_with_one_and_names_the_wish(run: Any, brief: Path) -> None:
    brief.write_text(FLASH.replace("f/4", "f/22").replace("800", "100"), encoding="utf-8")
    answer = run("plan", brief)
    assert answer.code == 1
    assert "Not possible as wished. It is enough to give up one wish:" in answer.out
    assert "Aperture" in answer.out


def test_a_wrong_brief_exits_with_two_and_says_what_to_write(run: Any, brief: Path) -> None:
    brief.write_text(FLASH.replace('"2.5 m"', "2.5"), encoding="utf-8")
    answer = run("plan", brief)
    assert answer.code == 2
    assert "room.height: 2.5" in answer.err
    assert 'write "2.5 m"' in answer.err


def test_a_setup_in_place_of_a_brief_is_told_in_one_line(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "setup.toml"
    path.write_text(demo_setup_text("quillmere-cured"), encoding="utf-8")
    answer = run("plan", path)
    assert answer.code == 2
    assert answer.err.splitlines() == [
        f"{path}: is a setup, not a brief; look at it with tapemark check, or give a brief"
    ]


def test_a_brief_that_is_not_there_says_so(run: Any, tmp_path: Path) -> None:
    answer = run("plan", tmp_path / "none.toml")
    assert answer.code == 2
    assert "none.toml" in answer.err


def test_the_built_in_brief_is_valid(tmp_path: Path) -> None:
    path = tmp_path / "quillmere-brief.toml"
    path.write_text(demo_setup_text("quillmere-brief"), encoding="utf-8")
    assert read_brief(path).title == "Quillmere Library, portrait day"
