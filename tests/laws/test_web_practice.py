"""The page Practice in process: a round begun, made ahead, tapped, told, and scored once."""

import json
import re
import time
from collections.abc import Iterator

import pytest
from tests.asgi import PORT, Driven
from tests.laws.test_practice import CARD
from tests.laws.test_web_start import SETUP, WITHIN_S, keep, patience

from tapemark.analysis.glare import CLEAR_LENS_COVER, CLEAR_VEIL
from tapemark.services.practice import round_mark
from tapemark.store import write_results
from tapemark.store.user_folders import cache_folder
from tapemark.web import Settings, create_app

__all__ = ["patience"]

ROWS = 60
JPEG = b"\xff\xd8\xff\xd9"
RIGHT = {"x": "0.3", "y": "0.4", "light": "key", "surface": "front", "move": "A"}


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    folder = tmp_path_factory.mktemp("library")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TAPEMARK_CACHE", str(folder / "cache"))
        library = folder / "library.sqlite"
        settings = Settings(port=PORT, library=library, ready=False, picture_rows=ROWS)
        with Driven(create_app(settings)) as found:
            yield found


def made(seed: int, *, cards: int = 2) -> str:
    """Put a round into the cache as if it had been made, and return its address."""
    files: dict[str, str | bytes] = {"count": str(cards)}
    for number in range(1, cards + 1):
        files[f"{number}.json"] = json.dumps(CARD | {"number": number})
        files |= {f"{number}-{which}.jpg": JPEG for which in ("close", "shot", "cured")}
    write_results(cache_folder() / "practice" / round_mark(None, seed), files)
    return f"/practice/demo/{seed}"


def test_a_round_is_made_while_one_waits_and_then_shown(driven):
    begun = driven.post("/practice", {"base": "demo"})
    assert begun.status == 303
    assert re.fullmatch(r"/practice/demo/\d+/1", begun.headers["location"])
    address = "/practice/demo/7/1"
    assert "Placing lights badly" in driven.get(address).text
    until = time.monotonic() + WITHIN_S
    while driven.get(f"{address}/state").text.startswith('{"busy":true'):
        assert time.monotonic() < until
        time.sleep(0.2)
    text = driven.get(address).text
    assert "Drill 1 of 5" in text
    assert "The lenses show" not in text  # nothing is told before it is answered
    picture = driven.get(f"{address}/close.jpg")
    assert picture.headers["content-type"] == "image/jpeg"
    assert picture.body.startswith(JPEG[:2])


def test_an_answer_is_told_with_reasons_and_only_the_first_counts(driven):
    address = made(101)
    first = driven.post(f"{address}/1", RIGHT | {"move": "B"})
    assert first.status == 303
    told = driven.get(first.headers["location"]).text
    assert "3 of 4 right" in told
    assert "still veiled" in told
    assert told.count("<polygon") == 2
    again = driven.get(driven.post(f"{address}/1", RIGHT).headers["location"]).text
    assert "4 of 4 right" in again  # this answer is right
    assert "3 of 4 right in this round" in again  # but the first one counts
    assert f'href="{address}/2"' in again
    driven.post(f"{address}/2", RIGHT)
    assert "7 of 8 right in this round" in driven.get(f"{address}/2").text
    score = driven.get("/practice").text
    assert "2 drills answered so far" in score
    assert "1 of 2" in score


@pytest.mark.parametrize(
    ("changes", "says"),
    [({"x": ""}, "Tap the picture"), ({"x": "NaN"}, "Tap the picture"), ({"x": "9"}, "mark"),
     ({"light": "<b>sun"}, "light"), ({"move": "Z"}, "move")],
)  # fmt: skip
def test_what_is_no_answer_is_refused_and_what_was_chosen_stays(driven, changes, says):
    address = made(102)
    answer = driven.post(f"{address}/1", RIGHT | changes)
    assert answer.status == 422
    assert says in answer.text
    assert "<b>sun" not in answer.text
    assert 'value="front" required checked' in answer.text
    assert "Nothing answered in this round yet" in driven.get(f"{address}/1").text


def test_what_clear_means_is_said_as_it_is_counted(driven):
    address = made(106)
    told = driven.get(driven.post(f"{address}/1", RIGHT).headers["location"]).text
    assert f"under {100 * CLEAR_VEIL:g} % of each eye" in told
    assert f"under {100 * CLEAR_LENS_COVER:g} % of each lens" in told


def test_a_round_that_was_broken_off_is_gone_on_with(driven):
    address = made(105)
    driven.post(f"{address}/1", RIGHT)
    text = driven.get("/practice").text
    assert f'href="{address}/2">Go on with drill 2' in text
    driven.post(f"{address}/2", RIGHT)
    assert "Go on with drill" not in driven.get("/practice").text  # it is through


def test_after_the_last_drill_comes_the_score(driven):
    address = made(103, cards=1)
    told = driven.get(driven.post(f"{address}/1", RIGHT).headers["location"]).text
    assert 'href="/practice">To the score' in told
    assert "All drills of this round are answered" in driven.get(f"{address}/2").text


@pytest.mark.parametrize(
    "address",
    ["demo/x/1", "demo/99999/1", "demo/1/0", "demo/1/9", "nobody/1/1", "demo/101/1/secret.jpg",
     "demo/104/1/close.jpg"],
)  # fmt: skip
def test_what_is_no_drill_is_not_there(driven, address):
    assert driven.get(f"/practice/{address}").status == 404


def test_a_setup_that_nothing_can_be_asked_about_says_why(driven):
    bare = {**SETUP, "sitter": {k: v for k, v in SETUP["sitter"].items() if k != "glasses"}}
    key = keep(driven, "setup", bare, "No glasses")
    address = driven.post("/practice", {"base": key}).headers["location"]
    until = time.monotonic() + WITHIN_S
    while "glasses" not in (text := driven.get(address).text):
        assert time.monotonic() < until
        time.sleep(0.2)
    assert "To the score" in text
    room = keep(driven, "room", {"width": "4 m", "length": "6 m", "height": "2.7 m"})
    assert driven.post("/practice", {"base": room}).status == 404
