"""Stories of `tapemark check`: what a photographer types and reads."""

import json
from pathlib import Path
from typing import Any

import pytest

from tapemark.studio import setup_from_toml, setup_to_toml


def test_verdict_of_each_eye_comes_first(run: Any, setups: dict[str, Path]) -> None:
    answer = run("check", setups["troubled"])
    lines = answer.out.splitlines()
    assert lines[0] == "Quillmere Library, reading room: first try"
    assert lines[2].endswith("troubles")
    assert lines[4] == "EYES"
    assert lines[5].startswith("  RIGHT EYE")
    assert "VEILED" in lines[5]
    assert lines[6].startswith("  LEFT EYE")


def test_trouble_exits_with_one_and_says_what_to_do(run: Any, setups: dict[str, Path]) -> None:
    answer = run("check", setups["troubled"])
    assert answer.code == 1
    assert "TROUBLE" in answer.out
    assert "-> Raise" in answer.out
    assert answer.err == ""


def test_cured_setup_is_clear_and_exits_with_zero(run: Any, setups: dict[str, Path]) -> None:
    answer = run("check", setups["cured"])
    assert answer.code == 0
    assert answer.out.count("CLEAR") == 2
    assert "TROUBLE" not in answer.out


def test_no_line_is_wider_than_the_report(run: Any, setups: dict[str, Path]) -> None:
    for path in setups.values():
        assert max(map(len, run("check", path).out.splitlines())) <= 100


def _shape(value: Any) -> Any:
    """Return the keys of an answer, however deep, and the kinds of its values."""
    if isinstance(value, dict):
        return {key: _shape(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_shape(value[0])] if value else []
    return type(value).__name__


def test_json_answer_keeps_its_promises(run: Any, setups: dict[str, Path]) -> None:
    answer = run("check", setups["troubled"], "--json")
    assert answer.code == 1
    plain = json.loads(answer.out)
    assert plain["verdict"] in {"clear", "edge", "veiled"}
    assert set(plain["eyes"]) == {"left", "right"}
    eye = plain["eyes"]["left"]
    assert _shape({key: eye[key] for key in ("verdict", "veil", "lens_cover")}) == {
        "verdict": "str",
        "veil": "float",
        "lens_cover": "float",
    }
    assert _shape(eye["reflections"])[0] == {
        "source": "str",
        "surface": "str",
        "lens_cover": "float",
        "veil": "float",
        "stops_over_skin": "float",
    }
    catchlight = _shape(eye["catchlights"])[0]
    assert {"source": "str", "clock": "float", "visible": "bool"}.items() <= catchlight.items()
    exposure = plain["exposure"]
    assert {"aperture", "ratio", "lights"} <= set(exposure)
    assert {"name", "aperture", "power_stops"} <= set(exposure["lights"][0])
    assert {"code", "severity", "text", "what_to_do", "topic"} <= set(plain["findings"][0])
    for part in ("modelling", "color", "background", "framing", "safety", "people"):
        assert plain[part], part


def test_json_shares_add_up(run: Any, setups: dict[str, Path]) -> None:
    plain = json.loads(run("check", setups["troubled"], "--json").out)
    for eye in plain["eyes"].values():
        assert 0.0 <= eye["veil"] <= 1.0
        for surface in ("front", "back"):
            parts = [one["veil"] for one in eye["reflections"] if one["surface"] == surface]
            assert sum(parts) <= eye["veil"] + 1e-3


def test_setup_that_was_written_back_gives_the_same_answer(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    again = tmp_path / "again.toml"
    setup = setup_from_toml(setups["troubled"].read_text("utf-8"), name="troubled")
    again.write_text(setup_to_toml(setup), "utf-8")
    answers = [run("check", path, "--json").out for path in (setups["troubled"], again)]
    assert json.loads(answers[0])["title"] == setup.title
    assert answers[0] == answers[1]


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"\xff\xfe\x00", "is not UTF-8 text"),
        (b"[room\nwidth = 1", "line 1"),
        (b'[room]\nwidht = "5 m"\n', "width"),
        (b"", "room"),
        (b"x" * 1_500_000, "is larger than"),
    ],
)
def test_bad_file_is_refused_in_words(
    run: Any, tmp_path: Path, content: bytes, expected: str
) -> None:
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    answer = run("check", path)
    assert answer.code == 2
    assert expected in answer.err
    assert "Traceback" not in answer.err
    assert answer.out == ""


@pytest.mark.parametrize(
    ("line", "replacement", "expected"),
    [
        ('height = "2.75 m"', "height = 2.75", "unit"),
        ('height = "1.40 m" }', 'height = "3.40 m" }', "ceiling"),
        ('distance = "2.0 m", side = "0 deg"', 'distance = "0.1 m", side = "0 deg"', "camera"),
        ('aim = "face"', 'aim = "facial"', "face"),
    ],
)
def test_impossible_setup_names_key_and_cure(
    run: Any, setups: dict[str, Path], line: str, replacement: str, expected: str
) -> None:
    path = setups["troubled"]
    text = path.read_text("utf-8")
    assert line in text
    path.write_text(text.replace(line, replacement, 1), "utf-8")
    answer = run("check", path)
    assert answer.code == 2
    assert expected in answer.err


def test_missing_file_and_folder_are_named(run: Any, tmp_path: Path) -> None:
    for path, reason in ((tmp_path / "none.toml", "no such file"), (tmp_path, "is a folder")):
        answer = run("check", path)
        assert answer.code == 2
        assert str(path) in answer.err
        assert reason in answer.err


def test_wrong_words_on_the_command_line_exit_with_two(run: Any) -> None:
    assert run("check").code == 2
    assert run("checks").code == 2
    assert run("check", "a.toml", "--jsn").code == 2


def test_sitter_without_glasses_is_checked_for_catchlights(
    run: Any, setups: dict[str, Path]
) -> None:
    text = setups["troubled"].read_text("utf-8")
    start, end = text.index("[sitter.glasses]"), text.index("[camera]")
    setups["troubled"].write_text(text[:start] + text[end:], "utf-8")
    answer = run("check", setups["troubled"])
    assert answer.code == 0
    assert "no lens" in answer.out
    assert "key at" in answer.out


def test_all_lights_off_is_a_finding_not_a_crash(run: Any, setups: dict[str, Path]) -> None:
    text = setups["troubled"].read_text("utf-8").replace('aim = "face"\npower', "on = false\npower")
    setups["troubled"].write_text(text, "utf-8")
    answer = run("check", setups["troubled"])
    assert answer.code == 1
    assert "No light reaches the face." in answer.out
