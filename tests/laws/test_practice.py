"""Practice: what an answer is worth, whatever is tapped, and a score that only grows."""

import json
import os
import sqlite3
from contextlib import closing

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapemark.errors import SetupError
from tapemark.services import demo_setup_text
from tapemark.services.practice import (
    NEAR,
    CardAnswer,
    answer_card,
    card_of,
    card_picture,
    cards_made,
    forget_old_rounds,
    result_points,
    round_mark,
    write_round,
)
from tapemark.services.practice_cards import make_cards
from tapemark.store import Library
from tapemark.store.library_rescue import rescue
from tapemark.studio import setup_from_toml, with_light

SETUP = setup_from_toml(demo_setup_text("quillmere-troubled"))
LEFT, TOP, RIGHT, BOTTOM = 0.2, 0.2, 0.4, 0.6
SQUARE = [[LEFT, TOP], [RIGHT, TOP], [RIGHT, BOTTOM], [LEFT, BOTTOM], [LEFT, TOP]]
OTHER = [[0.7, 0.2], [0.8, 0.2], [0.8, 0.4], [0.7, 0.4], [0.7, 0.2]]
WIDE, TALL = 640, 280


def place(source, ring, *, veil=0.3, side="right", surface="front"):
    return {"source": source, "surface": surface, "side": side, "veil": veil, "rings": [ring]}


CARD = {
    "number": 1,
    "size": [WIDE, TALL],
    "sitter": "Ines",
    "lights": ["key", "fill"],
    "surfaces": ["front", "back", "both"],
    "moves": [{"letter": "A", "text": "raise key"}, {"letter": "B", "text": "lower key"}],
    "right": {
        "light": "key",
        "light_reason": "The lenses show key.",
        "surface": "front",
        "surface_reason": "front 30 %",
        "moves": ["A"],
        "move_reasons": {"A": "clear", "B": "still veiled"},
        "cure": "A: raise key",
        "places": [place("key", SQUARE), place("fill", OTHER, side="left")],
    },
}


def answered(**changes):
    given = {"x": 0.3, "y": 0.4, "light": "key", "surface": "front", "move": "A"} | changes
    return answer_card(CARD, CardAnswer(**given))


def test_all_right_is_worth_four_and_every_part_says_why():
    result = answered()
    assert result_points(result) == 4
    assert [one["reason"] for one in result.values()] == [
        "Your mark is on key, mirrored by the front of the right lens.",
        "The lenses show key.", "front 30 %", "clear",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [({"light": "fill"}, "light"), ({"surface": "both"}, "surface"), ({"move": "B"}, "move"),
     ({"x": 0.75, "y": 0.3}, "place"), ({"x": 0.5}, "place")],
)  # fmt: skip
def test_each_part_is_judged_alone(changes, wrong):
    result = answered(**changes)
    assert [name for name, one in result.items() if not one["right"]] == [wrong]


def test_a_mark_on_another_light_is_told_apart_from_one_beside_all():
    assert "is on fill in the left lens" in answered(x=0.75, y=0.3)["place"]["reason"]
    assert "beside it" in answered(x=0.5)["place"]["reason"]


@given(x=st.floats(0.0, 1.0), y=st.floats(0.0, 1.0))
def test_a_mark_is_on_a_reflection_inside_it_or_as_near_as_a_finger(x, y):
    inside = LEFT < x < RIGHT and TOP < y < BOTTOM
    aside = np.hypot(
        max(LEFT - x, 0.0, x - RIGHT), max(TOP - y, 0.0, y - BOTTOM) * TALL / WIDE
    )  # fmt: skip
    if abs(aside - NEAR) < 1e-9:
        return
    assert answered(x=x, y=y)["place"]["right"] is bool(inside or aside < NEAR)


@pytest.mark.parametrize(
    ("changes", "says"),
    [({"light": "sun"}, "sun"), ({"surface": "rim"}, "rim"), ({"move": "Z"}, "Z"),
     ({"x": 1.5}, "1.50"), ({"y": float("nan")}, "nan"), ({"light": ""}, "nothing")],
)  # fmt: skip
def test_what_is_no_choice_is_refused_and_never_counted(changes, says):
    with pytest.raises(SetupError, match=says):
        answered(**changes)


# ---------------------------------------------------------------------------- the score


def test_the_first_answer_to_a_drill_counts_and_all_add_up(tmp_path):
    right = {"place": True, "light": True, "surface": False, "move": True}
    with Library.open(tmp_path / "library.sqlite") as library:
        first = library.practice.keep(base="", seed=7, number=1, **right)
        again = library.practice.keep(base="", seed=7, number=1, **dict.fromkeys(right, True))
        library.practice.keep(base="", seed=7, number=2, **dict.fromkeys(right, False))
        library.practice.keep(base="own", seed=7, number=1, **dict.fromkeys(right, True))
        assert again == first
        assert first.points == 3
        assert [one.points for one in library.practice.answered(base="", seed=7)] == [3, 0]
    with Library.open(tmp_path / "library.sqlite") as library:
        score = library.practice.score()
    assert (score.drills, score.place, score.light, score.surface, score.move) == (3, 2, 2, 1, 2)


@pytest.mark.parametrize(
    "which", [{"seed": -1}, {"number": 0}, {"seed": 2**60}, {"base": "x" * 999}]
)
def test_no_other_drill_can_be_scored(tmp_path, which):
    drill = {"base": "", "seed": 1, "number": 1} | which
    right = dict.fromkeys(("place", "light", "surface", "move"), True)
    with Library.open(tmp_path / "library.sqlite") as library:
        with pytest.raises(ValueError, match="drill"):
            library.practice.keep(**drill, **right)
        assert library.practice.score().drills == 0


def test_a_rescued_library_still_has_its_score(tmp_path):
    path = tmp_path / "library.sqlite"
    right = dict.fromkeys(("place", "light", "surface", "move"), True)
    with Library.open(path) as library:
        library.add("room", name="attic", body={"width": "4 m"})
        library.practice.keep(base="", seed=7, number=1, **right)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("UPDATE versions SET body = '{}'")  # not what was written
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute("INSERT INTO practice VALUES ('', 7, 2, 'now', 1, 1, 1, 5)")
    assert rescue(path).aside is not None
    with Library.open(path) as library:
        assert library.practice.score().drills == 1
        assert library.practice.answered(base="", seed=7)[0].points == 4


# ---------------------------------------------------------------------------- making cards


def test_cards_are_made_with_their_pictures_and_are_there_next_time(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEMARK_CACHE", str(tmp_path))
    told: list[str] = []
    assert make_cards(None, seed=7, count=1, width=64, tell=told.append) == 1
    mark = round_mark(None, 7)
    card = card_of(mark, 1)
    assert card is not None
    assert cards_made(mark) == 1
    for which in ("close", "shot", "cured"):
        picture = card_picture(mark, 1, which)
        assert picture is not None
        assert picture.startswith(b"\xff\xd8")
    right = card["right"]
    asked = [
        one for one in right["places"] if one["source"] == right["light"] and one["veil"] >= 0.01
    ]
    assert asked
    for one in asked:  # the middle of what covers an eye is on it
        middle = np.array(max(one["rings"], key=len)).mean(axis=0)
        answer = CardAnswer(
            x=middle[0], y=middle[1], light=right["light"], surface=right["surface"],
            move=right["moves"][0],
        )  # fmt: skip
        assert result_points(answer_card(card, answer)) == 4
    told.clear()
    before = json.dumps(card)
    make_cards(None, seed=7, count=1, width=64, tell=told.append)
    assert told == ["Placing lights badly"]  # nothing is taken again
    assert json.dumps(card_of(mark, 1)) == before
    assert card_of(mark, 2) is None
    assert card_picture(mark, 1, "../1") is None


def test_old_rounds_are_forgotten_before_new_ones_are_made(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEMARK_CACHE", str(tmp_path))
    monkeypatch.setattr("tapemark.services.practice.MOST_ROUNDS", 2)
    marks = [round_mark(None, seed) for seed in range(4)]
    for number, mark in enumerate(marks):
        write_round(mark, {"1.json": json.dumps(CARD)})
        os.utime(tmp_path / "practice" / mark, (number, number))
    forget_old_rounds()
    assert [card_of(mark, 1) is not None for mark in marks] == [False, False, True, True]


def test_another_round_or_room_is_kept_apart():
    light = SETUP.lights[0]
    moved = with_light(SETUP, light.model_copy(update={"power_stops": -1.0}))
    assert len({round_mark(None, 1), round_mark(None, 2), round_mark(SETUP, 1)}) == 3
    assert round_mark(moved, 1) != round_mark(SETUP, 1)
