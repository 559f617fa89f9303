"""`tapemark order`: what one types before a portrait day, and reads on it."""

import json
from importlib.resources import files

import pytest

SITTERS = files("tapemark.services").joinpath("examples", "quillmere-sitters.csv")


@pytest.fixture
def few(tmp_path):
    path = tmp_path / "few.csv"
    path.write_text(
        "name,eye height,posture,glasses,from,to\n"
        "Tova,1.17 m,seated,none,,\n"
        "Jory,1.72 m,standing,none,,\n"
        "Aurel,1.27 m,seated,progressive,9:00,9:30\n",
        encoding="utf-8",
    )
    return path


def test_example_day_is_ordered_and_can_be_read_aloud(run, setups, tmp_path):
    path = tmp_path / "sitters.csv"
    path.write_bytes(SITTERS.read_bytes())
    answer = run("order", path, "--setup", setups["cured"], "--json")
    assert answer.code == 0
    told = json.loads(answer.out)
    assert len(told["order"]) == 14
    assert sum(one["glasses"] != "none" for one in told["order"]) == 9
    assert {one["verdict"] for one in told["order"]} == {"clear"}
    assert told["least_s"] <= told["re_rigging_s"] < told["list_order_s"]
    assert told["moved"] == []
    assert [one["position"] for one in told["order"]] == list(range(1, 15))


def test_text_says_what_to_set_for_whom_and_when(run, few, setups):
    answer = run("order", few, "--setup", setups["cured"], "--start", "9:00", "--minutes", "10")
    assert answer.code == 0
    assert "3 sitters, 9:00 to " in answer.out
    assert "no order is better" in answer.out
    assert "Jory: standing, eyes at 1.72 m, no glasses" in answer.out
    assert "stool out, camera up " in answer.out
    assert "key and fill cannot follow the eyes up: the ceiling is in the way (Jory)" in answer.out
    assert "common practice" in answer.out
    assert all(len(line) <= 92 for line in answer.out.splitlines())


def test_us_units_are_inches(run, few, setups):
    setup = setups["cured"]
    setup.write_text(setup.read_text("utf-8").replace('"metric"', '"us"'), "utf-8")
    answer = run("order", few, "--setup", setup)
    assert "eyes at 3 ft 10 in" in answer.out
    assert " cm" not in answer.out
    changes = [
        change
        for one in json.loads(run("order", few, "--setup", setup, "--json").out)["order"]
        for change in one["changes"]
        if change["what"] in ("camera", "height")
    ]
    assert changes
    for change in changes:
        inches = change["amount"] / 0.0254
        assert inches == pytest.approx(round(inches), abs=0.01)


def test_colliding_appointments_are_named_with_the_fewest_to_move(run, tmp_path, setups):
    path = tmp_path / "full.csv"
    path.write_text(
        "name,height,window\nTova,171 cm,9:00-9:15\nBram,179 cm,9:00-9:15\nThea,170 cm,\n"
        "Noor,173 cm,9:00-12:00\n",
        encoding="utf-8",
    )
    answer = run("order", path, "--setup", setups["cured"])
    assert answer.code == 1
    assert "MOVE 1 appointment (the fewest there are): " in answer.out
    assert "The times of Tova and Bram cannot all be kept." in answer.out
    told = json.loads(run("order", path, "--setup", setups["cured"], "--json").out)
    assert told["moved"] in (["Tova"], ["Bram"])
    assert told["colliding"] == [["Tova", "Bram"]]


def test_bad_rows_are_told_with_their_lines(run, tmp_path, setups):
    path = tmp_path / "bad.csv"
    path.write_text("name,height\nTova,171\nBo,5 ft 8 in\nThea,tall\n", encoding="utf-8")
    answer = run("order", path, "--setup", setups["cured"])
    assert answer.code == 2
    assert answer.out == ""
    assert "2 problems" in answer.err
    assert 'line 2 "Tova", height: "171"' in answer.err
    assert 'line 4 "Thea", height: "tall"' in answer.err


def test_start_and_minutes_are_checked(run, few, setups):
    assert "write it like" in run("order", few, "--setup", setups["cured"], "--start", "25:00").err
    assert run("order", few, "--setup", setups["cured"], "--minutes", "0").code == 2
    assert run("order", few).code == 2
