"""The page Day in process: lists with faults, an order, and all that can happen on the day."""

import json
import re
import time
from collections.abc import Iterator
from datetime import datetime, tzinfo
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.asgi import HERE, PORT, Driven
from tests.laws.test_web_fuzz import assert_sound
from tests.laws.test_web_start import keep, kept, patience

from tapemark.errors import TapemarkError
from tapemark.services import demo_lists, demo_setup_text
from tapemark.services.day_keeping import day_as_kept, day_from_kept, rearranged, taken_next
from tapemark.studio import setup_from_toml, setup_to_mapping
from tapemark.web import Settings, create_app
from tapemark.web.day.state import comes_at, now_of
from tapemark.web.day.tasks import order
from tapemark.web.pages.day_page import DEMO_LIST

__all__ = ["patience"]

SETUP = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-cured")))
LIST = """name,height,posture,glasses,from,to
Tova,171 cm,seated,none,9:00,10:00
Mirren,160 cm,seated,reading,,
Jory,186 cm,standing,none,,
Thea,170 cm,seated,none,,
Linnet,158 cm,seated,none,,
"""
START_S, SITTING_S = 9 * 3600, 8 * 60
WITHIN_S = 240.0


@pytest.fixture(scope="module")
def ordered() -> dict[str, Any]:
    return order(
        tell=lambda text: None, setup=SETUP, sitters=LIST, start_s=START_S, sitting_s=SITTING_S
    )


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


class Evening(datetime):
    """The clock on the evening before: far from the day's hours, whenever the tests run."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> "Evening":
        return cls(2026, 3, 2, 21, 30, tzinfo=tz)


@pytest.fixture(autouse=True)
def evening(monkeypatch: pytest.MonkeyPatch) -> None:
    """What `late +30` means depends on the time of day."""
    monkeypatch.setattr("tapemark.web.day.state.datetime", Evening)


@pytest.fixture
def day(driven: Driven, ordered: dict[str, Any]) -> str:
    body = {
        "what": "day", "setup_id": "", "setup": SETUP, "sitters": LIST, "start_s": START_S,
        "sitting_s": SITTING_S, "done": [], "absent": {}, "last": "", **ordered,
    }  # fmt: skip
    return keep(driven, "session", body, "A day")


def coming(driven: Driven, day: str) -> list[str]:
    return re.findall(r'<div class="who"><b>(\w+)</b>', driven.get(f"/day/{day}").text)


def say(driven: Driven, day: str, what: str, name: str = "", **more: str) -> Any:
    """Press a button of the page as it is now, and wait for what comes of it."""
    told = {"do": what, "name": name, "revision": str(kept(driven, day).revision)} | more
    answer = driven.post(f"/day/{day}", told)
    until = time.monotonic() + WITHIN_S
    while json.loads(driven.get(f"/day/{day}/state").body)["busy"]:
        assert time.monotonic() < until
        time.sleep(0.02)
    return answer


# ---------------------------------------------------------------------------- keeping an order


def test_a_kept_order_reads_back_as_equal(ordered):
    text = json.dumps(ordered["order"])
    plan = day_from_kept(json.loads(text))
    assert json.loads(json.dumps(day_as_kept(plan))) == json.loads(text)


def test_somebody_back_is_in_the_order_again_and_somebody_early_is_first(ordered):
    plan = day_from_kept(ordered["order"])
    names = [turn.appointment.name for turn in plan.turns]
    away = ordered["order"]["turns"][2]
    without = rearranged(plan, done=names[:1], now_s=START_S + 900, absent=[names[2]])
    assert {turn.appointment.name for turn in without.turns} == {*names} - {names[0], names[2]}
    again = rearranged(without, done=(), now_s=START_S + 900, back=away)
    assert {turn.appointment.name for turn in again.turns} == {*names[1:]}
    early = taken_next(plan, names[-1], done=names[:1], now_s=START_S + 900)
    assert early.turns[0].appointment.name == names[-1]
    assert {turn.appointment.name for turn in early.turns} == {*names[1:]}
    assert early.turns[1].start_s >= early.turns[0].end_s  # nobody at once with somebody else


# ---------------------------------------------------------------------------- a new day


def test_everything_wrong_with_a_list_is_said_at_once_with_its_line(driven):
    setup = keep(driven, "setup", SETUP)
    wrong = LIST.replace("171 cm", "171").replace("reading", "telescope")
    form = {"setup": setup, "start": "25:00", "minutes": "none", "sitters": wrong}
    answer = driven.post("/day", form)
    assert answer.status == 422
    told = re.findall(r"<li>(line \d+)", answer.text)
    assert told == ["line 2", "line 3"]
    for part in ("0:00 to 23:59", "Whole minutes from 1", "telescope", "171"):
        assert part in answer.text
    assert driven.post("/day", form | {"sitters": ""}).status == 422


def test_the_list_of_the_demo_leaves_what_was_chosen_besides(driven):
    keep(driven, "setup", SETUP)
    setup = keep(driven, "setup", SETUP, "The one chosen")
    form = {"setup": setup, "start": "7:35", "minutes": "11", "sitters": "", "list": "demo"}
    answer = driven.post("/day", form)
    assert answer.status == 200
    for part in (f'value="{setup}" selected', 'value="7:35"', 'value="11"'):
        assert part in answer.text
    assert str(demo_lists()[DEMO_LIST]).splitlines()[1] in answer.text


def test_a_list_makes_a_day_that_is_ordered_and_stays(driven):
    setup = keep(driven, "setup", SETUP)
    answer = driven.post("/day", {"setup": setup, "start": "9:00", "minutes": "8", "sitters": LIST})
    day = answer.headers["location"].removeprefix("/day/")
    until = time.monotonic() + WITHIN_S
    while json.loads(driven.get(f"/day/{day}/state").body)["busy"]:
        assert time.monotonic() < until
        time.sleep(0.02)
    assert sorted(coming(driven, day)) == ["Jory", "Linnet", "Mirren", "Thea", "Tova"]
    assert f"/day/{day}" in driven.get("/day").text
    assert driven.get(f"/day/{day}.pdf").body.startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("content", "status", "says"),
    [
        (LIST.encode("utf-16"), 303, ""),
        (LIST.replace("Thea", "Théa").encode("cp1252"), 303, ""),
        (b"\x89PNG\r\n\x1a\n" + b"\x00" * 99, 400, "not what can be read here"),
        (b"a;b\n" * 4, 422, "titles"),
        (b"name,height\n" + b"Zoe,1.7 m\n" * 90_000, 422, "90000 sitters"),
        (b"name,height\n" + b"a" * 140_000 + b",1.7 m\n", 422, "a cell that does not end"),
        (b"a" * 1_400_000, 413, "1 MB"),
    ],
    ids=["utf-16", "windows-1252", "a picture", "no titles", "too many", "a bomb", "too large"],
)
def test_a_file_is_read_as_spreadsheets_write_it_or_refused_in_words(driven, content, status, says):
    setup = keep(driven, "setup", SETUP)
    parts = [
        f'--B\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in {"setup": setup, "start": "9:00", "minutes": "8", "sitters": ""}.items()
    ]
    head = '--B\r\nContent-Disposition: form-data; name="file"; filename="../x.csv"\r\n\r\n'
    body = "".join(parts).encode() + head.encode() + content + b"\r\n--B--\r\n"
    headers = {"content-type": "multipart/form-data; boundary=B", "origin": HERE}
    answer = driven.ask("POST", "/day", headers=headers, body=body)
    assert_sound(answer)
    assert answer.status == status, answer.text
    assert says in answer.text


# ---------------------------------------------------------------------------- on the day


def test_done_goes_on_to_the_next_and_twice_is_once(driven, day):
    first, second = coming(driven, day)[:2]
    old = str(kept(driven, day).revision)
    say(driven, day, "done", first)
    assert coming(driven, day)[0] == second
    again = driven.post(f"/day/{day}", {"do": "done", "name": first, "revision": old})
    assert again.status == 303  # two people pressed it
    assert [one["name"] for one in kept(driven, day).body["done"]] == [first]
    assert f"Done: {second}" in driven.get(f"/day/{day}/next").text


def test_somebody_late_away_early_and_back(driven, day):
    names = coming(driven, day)
    say(driven, day, "late", names[0], until="+30")
    assert coming(driven, day)[0] != names[0]
    assert sorted(coming(driven, day)) == sorted(names)
    say(driven, day, "absent", names[1])
    assert names[1] not in coming(driven, day)
    say(driven, day, "back", names[1])
    assert names[1] in coming(driven, day)
    last = coming(driven, day)[-1]
    say(driven, day, "early", last)
    assert coming(driven, day)[0] == last
    say(driven, day, "undo")
    assert coming(driven, day)[0] != last
    assert sorted(coming(driven, day)) == sorted(names)


def test_a_window_that_is_behind_is_told_and_nothing_is_lost(driven, day):
    names = coming(driven, day)
    old = str(kept(driven, day).revision)
    say(driven, day, "done", names[0])
    for told in ({"do": "absent", "name": names[1]}, {"do": "done", "name": names[1]}):
        answer = driven.post(f"/day/{day}", told | {"revision": old, "view": "next"})
        assert answer.status == 409
        assert "Another window changed this day" in answer.text
    assert coming(driven, day) == names[1:]


@pytest.mark.parametrize(
    "told",
    [
        {"do": "done", "name": "Nobody"},
        {"do": "late", "name": "Thea", "until": "soon"},
        {"do": "late", "name": "Thea", "until": "1:00"},
        {"do": "back", "name": "Thea"},
        {"do": "dance", "name": "Thea"},
    ],
    ids=lambda told: f"{told['do']} {told.get('until', '')}",
)
def test_what_cannot_be_is_refused_and_the_page_stays(driven, day, told):
    before = kept(driven, day).body
    answer = driven.post(f"/day/{day}", told | {"revision": "1"})
    assert answer.status == 409
    assert 'role="alert"' in answer.text
    assert kept(driven, day).body == before


def test_the_day_goes_on_after_the_app_was_closed(day, driven):
    path = driven.app.state.desk.settings.library
    first = coming(driven, day)[0]
    say(driven, day, "done", first)
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as again:
        assert coming(again, day) == coming(driven, day)


# ---------------------------------------------------------------------------- the clock


def test_far_from_the_day_its_own_plan_is_the_clock(ordered):
    body = {"start_s": START_S, "done": [], **ordered}
    assert now_of(body, clock=datetime(2026, 5, 4, 9, 30)) == (9 * 3600 + 1800, True)
    assert now_of(body, clock=datetime(2026, 5, 4, 23, 0)) == (START_S, False)
    turn = ordered["order"]["turns"][0]
    done = {**body, "done": [{"name": turn["appointment"]["name"], "at_s": 0}]}
    assert now_of(done, clock=datetime(2026, 5, 4, 23, 0)) == (turn["end_s"], False)


@settings(max_examples=60)
@given(text=st.text(max_size=12), now_s=st.integers(0, 86_399))
def test_when_somebody_comes_is_read_or_refused_and_never_in_the_past(text, now_s):
    try:
        at_s = comes_at(text, now_s=now_s)
    except TapemarkError:
        return
    assert at_s >= now_s
