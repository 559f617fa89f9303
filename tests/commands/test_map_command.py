"""Stories of `tapemark map`: where may this light stand?"""

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from tapemark.studio import setup_from_mapping


def test_the_move_and_the_open_heights_are_told(run: Any, setups: dict[str, Path]) -> None:
    answer = run("map", setups["troubled"], "--light", "key")
    assert answer.code == 0
    assert "closed, over the eye" in answer.out
    assert "key: raise 5" in answer.out
    assert "30° camera-left    open above 1.9" in answer.out
    assert "in reach 0.40 m (floor) to 2.28 m (ceiling)" in answer.out
    assert "3 cm of air are kept" in answer.out
    assert "The lenses also show fill: map that too." in answer.out


def test_an_open_light_is_left_alone(run: Any, setups: dict[str, Path]) -> None:
    answer = run("map", setups["cured"], "--light", "key")
    assert answer.code == 0
    assert "Leave key where it is: open." in answer.out


def test_json_holds_every_place_of_both_sheets(run: Any, setups: dict[str, Path]) -> None:
    answer = run("map", setups["troubled"], "--light", "key", "--json")
    told = json.loads(answer.out)
    assert answer.code == 0
    assert set(told) == {"light", "people", "now", "best", "still_shown", "open_heights"} | {
        "least_bad",
        "heights",
        "floor",
        "setup",
    }
    sheet = told["heights"]
    rows, sides = len(sheet["height_m"]), len(sheet["side_deg"])
    assert rows >= 80
    assert sides >= 180
    for one in (sheet["verdict"], sheet["pattern"], sheet["veil"][0][0], sheet["lens_cover"][0][1]):
        assert len(one) == rows
        assert {len(line) for line in one} == {sides}
    assert {word for line in sheet["verdict"] for word in line} == {"clear", "edge", "veiled"}
    assert told["now"]["verdict"] == "veiled"
    assert told["best"]["verdict"] == "clear"
    moved = setup_from_mapping(told["setup"])
    assert moved.lights[0].place.height_m == pytest.approx(told["best"]["height_m"], abs=1e-4)


def test_the_table_has_a_line_for_each_place(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    table = tmp_path / "key.csv"
    answer = run("map", setups["troubled"], "--light", "key", "--csv", table)
    assert f"wrote {table}" in answer.err
    lines = list(csv.DictReader(io.StringIO(table.read_text("utf-8"))))
    heights = [line for line in lines if line["sheet"] == "heights"]
    assert len(heights) >= 180 * 80
    closed = [line for line in heights if line["verdict"] != "clear"]
    assert 0.2 < len(closed) / len(heights) < 0.8
    assert any("ceiling" in line["against"] for line in heights)
    assert "veil, Ines, reader services left" in lines[0]


@pytest.mark.parametrize(("name", "starts"), [("key.svg", b"<svg"), ("key.PNG", b"\x89PNG")])
def test_the_picture_is_written_as_asked(
    run: Any, setups: dict[str, Path], tmp_path: Path, name: str, starts: bytes
) -> None:
    picture = tmp_path / name
    answer = run("map", setups["cured"], "--light", "fill", "--picture", picture)
    assert answer.code == 0
    assert picture.read_bytes().startswith(starts)


def test_another_kind_of_picture_is_refused(run: Any, setups: dict[str, Path]) -> None:
    answer = run("map", setups["cured"], "--light", "fill", "--picture", "key.jpg")
    assert answer.code == 2
    assert ".svg or .png" in answer.err


def test_a_light_that_is_not_there_is_named_with_those_that_are(
    run: Any, setups: dict[str, Path]
) -> None:
    answer = run("map", setups["troubled"], "--light", "hair")
    assert answer.code == 2
    assert 'light: "hair"' in answer.err
    assert 'allowed: "key", "fill"' in answer.err


def test_no_open_place_exits_with_one(run: Any, setups: dict[str, Path], tmp_path: Path) -> None:
    low = tmp_path / "low.toml"
    text = (
        setups["troubled"].read_text("utf-8").replace('height = "2.75 m"', 'height = "1.90 m"', 1)
    )
    text = text.replace('height = "2.5 m"', 'height = "1.9 m"').replace(
        'width = "5.4 m"', 'width = "1.9 m"'
    )
    text = text.replace('camera_left = "2.7 m"', 'camera_left = "0.95 m"')
    text = text.replace('width = "2.7 m"', 'width = "1.8 m"')
    low.write_text(text, encoding="utf-8")
    answer = run("map", low, "--light", "key")
    assert answer.code == 1
    assert "No open place for key within reach on this map." in answer.out
