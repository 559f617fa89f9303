"""Stories of a round of `tapemark drill`: refused, left out, cut short, told as JSON.

SOURCE    the command's own promises (docs/picture.md, Practice); no outside source
"""

import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest

from tapemark.planning.drill import _covered
from tapemark.services import demo_setup_text

ROUND = ("drill", "--seed", "0", "--no-pictures", "--count")


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Return a function that sets what is read as input."""
    return lambda text: monkeypatch.setattr(sys, "stdin", io.StringIO(text))


def test_what_is_none_of_the_choices_is_refused_and_not_scored(run: Any, typed: Any) -> None:
    typed("key\nmirror\nB\n")
    answer = run(*ROUND, 1)
    assert answer.code == 2
    assert "surface: mirror" in answer.err
    assert "front, back, both" in answer.err
    assert "right" not in answer.out.splitlines()[-1]


def test_a_wrong_line_of_a_file_leaves_the_score_so_far(run: Any, typed: Any) -> None:
    typed("key\nfront\nB\nkey\nmirror\nB\n")
    answer = run(*ROUND, 2)
    assert answer.code == 2
    assert "drill 2" in answer.err
    assert answer.out.splitlines()[-1].startswith("So far ")
    assert answer.out.splitlines()[-1].endswith(" of 3 right.")


def test_the_moves_are_shown_after_the_light_is_named(run: Any, typed: Any) -> None:
    typed("key\nfront\nB\n")
    told = run(*ROUND, 1).out
    assert told.index("Which surface") < told.index("  moves") < told.index("Which single move")


def test_ctrl_c_while_pictures_are_taken_ends_the_round(
    run: Any, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed(*_given: object, **_options: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tapemark.services.drill.draw_drill", pressed)
    answer = run("drill", "--out", tmp_path / "drill")
    assert answer.code == 0
    assert answer.out.splitlines()[-1] == "Nothing answered; not answered and not counted: 5 drills"


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, "nothing"), (0.004, "less than 1 %"), (0.0099, "less than 1 %"), (0.07, "up to 7 %")],
)
def test_no_mirror_covers_up_to_nothing(share: float, told: str) -> None:
    assert _covered(share) == told


def test_end_of_input_ends_the_round_with_the_score_so_far(run: Any, typed: Any) -> None:
    typed("KEY\n front \nb\nkey\n")
    answer = run(*ROUND, 3)
    assert answer.code == 0
    assert answer.out.splitlines()[-1].endswith(
        "of 3 right; not answered and not counted: 2 drills"
    )


def test_fewer_answers_than_drills_are_told_apart_from_wrong_ones(run: Any) -> None:
    answer = run(*ROUND, 2, "--answers", "key,front,A")
    assert answer.code == 0
    assert answer.out.splitlines()[-1].endswith("of 3 right; not answered and not counted: 1 drill")
    first, second = json.loads(run(*ROUND, 2, "--answers", "key,front,A", "--json").out)
    assert first["answered"]
    assert not second["answered"]
    assert "score" not in second


@pytest.mark.parametrize(
    ("answers", "key", "given"),
    [
        ("lamp,front,A", "light", "lamp"),
        ("key,front,Q", "move", "Q"),
        ("key,front,A; key,front,A", "--answers", "2 answers"),
    ],
)
def test_errors_are_json_where_json_was_asked_for(run: Any, answers, key, given) -> None:
    answer = run(*ROUND, 1, "--answers", answers, "--json")
    assert answer.code == 2
    (problem,) = json.loads(answer.out)["error"]["problems"]
    assert (problem["key"], problem["given"]) == (key, given)
    assert given in answer.err


def test_a_setup_without_glasses_is_refused(run: Any, setups: Any) -> None:
    text = setups["troubled"].read_text()
    head, _, rest = text.partition("[sitter.glasses]")
    setups["troubled"].write_text(head + "[camera]" + rest.partition("[camera]")[2])
    answer = run(*ROUND, 1, "--setup", setups["troubled"])
    assert answer.code == 2
    assert "sitter.glasses" in answer.err


def test_a_setup_with_every_light_off_says_so(run: Any, tmp_path: Path) -> None:
    dark = tmp_path / "dark.toml"
    text = demo_setup_text("quillmere-troubled")
    dark.write_text(text.replace("[[light]]", "[[light]]\non = false"), encoding="utf-8")
    answer = run("drill", "--setup", dark, "--no-pictures", "--count", "1")
    assert answer.code == 2
    assert "none of them is on" in answer.err
