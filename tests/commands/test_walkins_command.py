"""What one types and reads for walk-ins."""

import json
from pathlib import Path
from typing import Any

SMALL = ("--count", "60", "--no-moves")


def test_text_says_how_many_strangers_can_sit_down(run: Any, setups: dict[str, Path]) -> None:
    answer = run("walkins", setups["cured"], *SMALL)
    assert answer.code == 0
    for words in (
        "60 wearers drawn from: adult wearers of glasses (seed 1)",
        "Of 100 strangers with glasses about",
        "CLEAR OR EDGE",
        "a catchlight in both eyes",
        "Wilson score interval",
        "by prescription",
        "Everybody sits on the same stool, 0.42 m high",
    ):
        assert words in answer.out


def test_table_says_what_a_trace_is(run: Any, setups: dict[str, Path]) -> None:
    answer = run("walkins", setups["cured"], *SMALL)
    assert "What shows a trace" in answer.out
    assert "A trace: 0.5 % of an eye or of a lens" in answer.out
    assert "a lens is clear until 3 % of it" in " ".join(answer.out.split())


def test_moves_are_told_with_their_gain(run: Any, setups: dict[str, Path]) -> None:
    answer = run("walkins", setups["troubled"], "--count", "100")
    assert answer.code == 0
    assert "One change that would gain most" in answer.out
    assert "nothing over an eye +" in answer.out
    assert "Setting the stool for each sitter" in answer.out


def test_json_has_what_the_documents_promise(run: Any, setups: dict[str, Path]) -> None:
    plain = json.loads(run("walkins", setups["troubled"], *SMALL, "--json").out)
    assert plain["count"] == plain["asked"] == 60
    assert plain["method"] == "Wilson score interval"
    for key in ("clear", "clear_or_edge", "catchlights_in_both_eyes", "clear_with_catchlights"):
        share = plain[key]
        assert share["low"] <= share["share"] <= share["high"]
        assert share["of"] == 60
    assert {"source", "over_eye", "on_lens"} == set(plain["shown"][0])
    assert {"by", "name", "part", "clear", "clear_or_edge"} == set(plain["groups"][0])
    assert plain["moves"] == []
    assert plain["interrupted"] is False


def test_same_seed_same_answer(run: Any, setups: dict[str, Path]) -> None:
    first, again = (run("walkins", setups["cured"], *SMALL, "--json").out for _ in range(2))
    assert first == again
    assert first != run("walkins", setups["cured"], *SMALL, "--json", "--seed", "7").out


def test_population_file_is_used(run: Any, setups: dict[str, Path], tmp_path: Path) -> None:
    path = tmp_path / "town.toml"
    path.write_text('title = "readers of Quillmere"\nseat = "set for each"\n', "utf-8")
    answer = run("walkins", setups["cured"], *SMALL, "--population", path)
    assert "drawn from: readers of Quillmere" in answer.out
    assert "The stool is set for each sitter" in answer.out


def test_bad_population_is_refused_in_words(
    run: Any, setups: dict[str, Path], tmp_path: Path
) -> None:
    path = tmp_path / "town.toml"
    path.write_text("coatd = 0.4\n[poses]\nturn = 5\n", "utf-8")
    answer = run("walkins", setups["cured"], "--population", path)
    assert answer.code == 2
    assert 'did you mean "coated"?' in answer.err
    assert '"5 deg"' in answer.err
    assert answer.out == ""
    missing = run("walkins", setups["cured"], "--population", tmp_path / "none.toml")
    assert missing.code == 2
    assert "there is no such file" in missing.err


def test_too_few_wearers_are_refused(run: Any, setups: dict[str, Path]) -> None:
    answer = run("walkins", setups["cured"], "--count", "3")
    assert answer.code == 2
    assert "50" in answer.err
