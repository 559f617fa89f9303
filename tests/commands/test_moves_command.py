"""What one types and reads when the lenses show a light."""

import json

import pytest

from tapemark.planning import KEEPS
from tapemark.services import check_setup
from tapemark.studio import setup_from_mapping

KEYS = {
    "what",
    "name",
    "change",
    "amount",
    "verdict_after",
    "side_effects",
    "power_change_stops",
    "setup",
}

#: A room of glass on three sides: whichever way one turns, some of it shows.
PAVILION = """
title = "Glass pavilion"
[room]
width = "6 m"
length = "7 m"
height = "3 m"
[sitter]
name = "Ana"
eye_height = "1.2 m"
glasses = "mild short-sighted, medium frame"
[camera]
place = { distance = "2.0 m", height = "1.2 m" }
focal_length = "85 mm"
[[window]]
name = "front glass"
wall = "behind camera"
sill = "0.1 m"
width = "6 m"
height = "2.8 m"
[[window]]
name = "left glass"
wall = "camera-left"
along = "2 m towards camera"
sill = "0.1 m"
width = "6 m"
height = "2.8 m"
[[window]]
name = "right glass"
wall = "camera-right"
along = "2 m towards camera"
sill = "0.1 m"
width = "6 m"
height = "2.8 m"
"""


@pytest.fixture
def one_light(setups, tmp_path):
    """The troubled setup with its key alone."""
    text = setups["troubled"].read_text(encoding="utf-8")
    key_only = text[: text.index('[[light]]\nname = "fill"')]
    path = tmp_path / "key-only.toml"
    path.write_text(key_only, encoding="utf-8")
    return path


def test_the_best_moves_are_told_in_order(run, setups):
    answer = run("moves", setups["troubled"], "--best", "2")
    assert answer.code == 0
    assert answer.err == ""
    lines = answer.out.splitlines()
    assert lines[0] == "Quillmere Library, reading room: first try"
    assert "Right lens veiled" in lines[1]
    first, then = (
        next(line for line in lines if line.strip(" 1").startswith(word))
        for word in ("First ", "Then ")
    )
    assert "fill" in first + then
    assert "key" in first + then
    assert lines[-1] == "One change at a time, then a test shot."


def test_json_has_what_was_promised_and_checks_again(run, setups):
    answer = run("moves", setups["troubled"], "--json", "--best", "1")
    assert answer.code == 0
    (move,) = json.loads(answer.out)
    assert move.keys() >= KEYS
    assert move["what"] in ("light", "sitter", "camera")
    assert move["amount"].endswith((" m", " deg"))
    assert check_setup(setup_from_mapping(move["setup"])).verdict == move["verdict_after"]
    assert [step["name"] for step in move["steps"]]


def test_one_light_is_cleared_by_one_move(run, one_light):
    answer = run("moves", one_light, "--json", "--best", "2")
    assert answer.code == 0
    best, *_ = json.loads(answer.out)
    assert len(best["steps"]) == 1
    assert best["change"].startswith("raise key ")
    assert best["verdict_after"] == "clear"


def test_a_cured_setup_needs_nothing(run, setups):
    answer = run("moves", setups["cured"])
    assert answer.code == 0
    assert "nothing has to move" in answer.out
    assert json.loads(run("moves", setups["cured"], "--json").out) == []


def test_what_is_kept_is_said(run, one_light):
    answer = run("moves", one_light, "--keep", "catchlight, ratio", "--best", "1")
    assert "  keeping Catchlight, ratio" in answer.out


def test_what_cannot_be_kept_is_refused(run, setups):
    answer = run("moves", setups["troubled"], "--keep", "mood")
    assert answer.code == 2
    assert '"mood" cannot be kept' in answer.err
    assert ", ".join(KEEPS) in answer.err


def test_lenses_that_cannot_be_cleared_end_in_1_with_the_least_bad(run, tmp_path):
    path = tmp_path / "pavilion.toml"
    path.write_text(PAVILION, encoding="utf-8")
    answer = run("moves", path, "--best", "2")
    assert answer.code == 1
    assert "cannot be cleared without loss" in answer.out
    assert "COST" in answer.out
    moves = json.loads(run("moves", path, "--best", "2", "--json").out)
    assert moves
    for move in moves:
        assert not move["clean"]
        assert move["losses"]
        assert check_setup(setup_from_mapping(move["setup"])).verdict == move["verdict_after"]
