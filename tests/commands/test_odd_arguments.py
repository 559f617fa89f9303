"""What one mistypes at the command line is answered in one clear line."""

from pathlib import Path
from typing import Any

import pytest

LIST = "name,height\nTova,171 cm\n"


@pytest.mark.parametrize("minutes", ["nan", "inf", "-inf", "0", "soon"])
def test_minutes_are_a_number_within_bounds(
    run: Any, setups: dict[str, Path], tmp_path: Path, minutes: str
) -> None:
    path = tmp_path / "one.csv"
    path.write_text(LIST, encoding="utf-8")
    answer = run("order", path, "--setup", setups["cured"], f"--minutes={minutes}")
    assert answer.code == 2
    assert f'"{minutes}"' in answer.err
    assert "0.5 to 240" in answer.err
    assert answer.out == ""


def test_an_open_quote_in_a_list_is_named_with_its_line(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    path = tmp_path / "open.csv"
    path.write_text(f'{LIST}"Bram,179 cm\nThea,170 cm\nNoor,173 cm\n', encoding="utf-8")
    answer = run("order", path, "--setup", setups["cured"])
    assert answer.code == 2
    assert "line 3" in answer.err
    assert "a quote is not closed" in answer.err
    assert "1 problem\n" in answer.err


def test_what_to_keep_is_read_in_any_case_and_never_empty(
    run: Any, setups: dict[str, Path]
) -> None:
    answer = run("moves", setups["cured"], "--keep", "Pattern, RATIO")
    assert answer.code == 0
    for empty in ("", " , "):
        answer = run("moves", setups["cured"], "--keep", empty)
        assert answer.code == 2
        assert "nothing to keep" in answer.err
        assert "pattern, catchlight, ratio, background" in answer.err


@pytest.mark.parametrize("best", ["x", "0", "21", "1.5"])
def test_how_many_moves_is_answered_in_one_line(
    run: Any, setups: dict[str, Path], best: str
) -> None:
    answer = run("moves", setups["cured"], "--best", best)
    assert answer.code == 2
    assert f'"{best}": write a whole number from 1 to 20' in answer.err


def test_a_folder_in_place_of_a_file_is_called_by_its_name(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    answer = run("map", setups["cured"], "--light", "key", "--csv", tmp_path)
    assert answer.code == 1
    assert f"{tmp_path}: cannot be written (it is a folder)" in answer.err
    assert f'"{tmp_path.parent}"' not in answer.err


FILES = {
    "sheet": ("-o", "out.pdf"),
    "export": ("-o", "out.svg"),
    "picture": ("-o", "out.png"),
    "map": ("--light", "key", "--csv", "out.csv"),
    "map ": ("--light", "key", "--picture", "out.svg"),
}


@pytest.mark.parametrize("command", FILES)
def test_a_file_in_a_folder_that_is_not_there_is_refused_at_once_and_nothing_is_made(
    run: Any, setups: dict[str, Path], tmp_path: Path, command: str
) -> None:
    *options, name = FILES[command]
    answer = run(command.strip(), setups["cured"], *options, tmp_path / "slip" / name)
    assert answer.code == 2
    assert f'the folder "{tmp_path / "slip"}" is not there; make it first' in answer.err
    assert answer.out == ""
    assert not (tmp_path / "slip").exists()


def test_a_folder_of_results_is_made_and_the_option_says_so(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    out = tmp_path / "not" / "yet"
    assert run("check", setups["cured"], "--pictures", out).code == 0
    assert len(list(out.iterdir())) > 5
    for command in ("check", "demo", "drill", "plan", "sift"):
        help_text = " ".join(run(command, "--help").out.split())
        assert "made if it is not there" in help_text or "made if not there" in help_text
