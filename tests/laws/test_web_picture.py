"""The picture of a set in process: looked at while it is taken, turned, compared, never stale."""

import io
import json
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from tests.asgi import PORT, Closed, Driven
from tests.laws.test_web_start import SETUP, keep, kept, patience

from tapemark.rendering import developed
from tapemark.services.light_pictures import mixed_lights
from tapemark.store.light_files import light_file, read_light_file
from tapemark.web import Settings, create_app
from tapemark.web.messages import PICTURE_MESSAGES, MessageError, read_message

__all__ = ["patience"]

ROWS = 50
A_TALK = settings(
    max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture]
)  # fmt: skip
HIGH = [{"set": "light.key.place.height", "value": "1.95 m"}]


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    folder = tmp_path_factory.mktemp("library")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TAPEMARK_CACHE", str(folder / "cache"))
        library = folder / "library.sqlite"
        settings = Settings(port=PORT, library=library, ready=False, picture_rows=ROWS)
        with Driven(create_app(settings)) as found:
            yield found


@pytest.fixture
def set_id(driven: Driven) -> str:
    return keep(driven, "setup", SETUP, "Reading room")


def greeted(window: Any, **seen: bool) -> dict[str, Any]:
    window.say({"do": "hello", "n": 1, **seen})
    return dict(window.hear("state"))


def taken(window: Any, n: int = 2, **wanted: bool) -> dict[str, Any]:
    window.say({"do": "expose", "n": n, **wanted})
    return dict(window.hear("done", "error", "stopped"))


def power_of(driven: Driven, set_id: str, name: str) -> str:
    return str(
        next(one for one in kept(driven, set_id).body["light"] if one["name"] == name)["power"]
    )


def test_a_picture_is_looked_at_while_it_is_taken_and_kept(driven, set_id):
    with driven.socket(f"/picture/{set_id}/live") as window:
        state = greeted(window)
        assert (state["revision"], state["name"]) == (1, "Reading room")
        assert state["about"]["kept"] is None
        assert "f/8" in state["about"]["camera"]
        window.say({"do": "expose", "n": 2})
        look = window.hear("look")
        answer = driven.get(f"/picture/lights/{look['mark']}")
        assert answer.body.count(b"\n") >= 1
        assert json.loads(answer.body.partition(b"\n")[0])["lights"] == [
            {"name": "", "power_stops": 0.0}
        ]
        done = window.hear("done")
        assert done["mark"] == state["about"]["mark"]
    found = json.loads(driven.get(f"/picture/lights/{done['mark']}").body.partition(b"\n")[0])
    assert [one["name"] for one in found["lights"]] == ["key", "fill"]
    with driven.socket(f"/picture/{set_id}/live") as window:  # there at once next time
        assert greeted(window)["about"]["kept"] == {"fine": False}


def test_a_saved_picture_is_turned_as_on_the_screen(driven, set_id):
    with driven.socket(f"/picture/{set_id}/live") as window:
        greeted(window)
        mark = taken(window)["mark"]
    answer = driven.get(f"/picture/{set_id}/{mark}.png?stops=1,-2")
    assert 'filename="reading-room-picture.png"' in answer.headers["content-disposition"]
    found = read_light_file(light_file(mark))
    assert found is not None
    pixels = np.asarray(Image.open(io.BytesIO(answer.body)))
    assert np.array_equal(pixels, developed(mixed_lights(found, [1.0, -2.0])))
    odd = driven.get(f"/picture/{set_id}/{mark}.png?stops=NaN,1e999,x&shown")
    assert odd.status == 200
    assert driven.get(f"/picture/{set_id}/{'0' * 20}.png").status == 404
    assert driven.get(f"/picture/{set_id}/{mark}.gif").status == 404
    assert driven.get(f"/picture/nobody/{mark}.png").status == 404


def test_powers_are_set_as_one_change_that_undo_takes_back(driven, set_id):
    before = power_of(driven, set_id, "key")
    with driven.socket(f"/live/{set_id}") as other:
        other.say({"do": "hello", "window": "w"})
        other.hear("state")
        with driven.socket(f"/picture/{set_id}/live") as window:
            mark = greeted(window)["about"]["mark"]
            stops = {"key": 0.5, "fill": -1.0}
            window.say({"do": "powers", "n": 3, "base": 1, "stops": stops})
            told = window.hear("taken", "error")
            assert told["say"] == "taken"
            assert told["revision"] == 2
            assert told["about"]["mark"] == mark  # nothing is to be taken again
            assert "power now" in told["words"]
        assert other.hear("changed")["revision"] == 2
    assert power_of(driven, set_id, "key") != before
    library = driven.app.state.desk.library
    driven.run(library.do(lambda shelf: shelf.undo(set_id, 2)))
    assert power_of(driven, set_id, "key") == before
    assert power_of(driven, set_id, "fill") == SETUP["light"][1]["power"]


@pytest.mark.parametrize(
    ("stops", "base", "says"),
    [({"key": 3.0}, 2, "full power"), ({"nobody": 1.0}, 2, "nobody"), ({"key": 0.1}, 1, "another")],
)
def test_what_cannot_be_set_is_refused_in_one_line(driven, set_id, stops, base, says):
    library = driven.app.state.desk.library
    high = json.loads(json.dumps(SETUP))
    high["light"][0]["place"]["height"] = "1.95 m"
    driven.run(library.do(lambda shelf: shelf.save(set_id, high, base_revision=1)))
    with driven.socket(f"/picture/{set_id}/live") as window:
        greeted(window)
        window.say({"do": "powers", "n": 3, "base": base, "stops": stops})
        told = window.hear("error", "taken")
    assert told["say"] == "error"
    assert says in told["text"]
    assert kept(driven, set_id).revision == 2


def test_a_picture_of_a_set_that_is_changed_meanwhile_is_stopped_at_once(driven, set_id):
    with driven.socket(f"/live/{set_id}") as other:
        other.say({"do": "hello", "window": "w"})
        other.hear("state")
        with driven.socket(f"/picture/{set_id}/live") as window:
            mark = greeted(window)["about"]["mark"]
            window.say({"do": "expose", "n": 2, "finer": True})
            window.hear("look")
            other.say({"do": "take", "n": 1, "base": 1, "edits": HIGH})
            assert other.hear("taken", "error")["say"] == "taken"
            heard = [window.hear("stopped", "changed", "done") for _ in range(2)]
    assert sorted(one["say"] for one in heard) == ["changed", "stopped"]
    changed = next(one for one in heard if one["say"] == "changed")
    assert changed["about"]["mark"] != mark
    assert changed["revision"] == 2
    assert read_light_file(light_file(mark)) is None or not read_light_file(light_file(mark)).fine


def test_the_newest_picture_wins_and_one_can_be_stopped(driven, set_id):
    with driven.socket(f"/picture/{set_id}/live") as window:
        greeted(window)
        window.say({"do": "expose", "n": 2, "finer": True, "clay": True})
        window.hear("progress")
        window.say({"do": "expose", "n": 3, "clay": True})
        assert window.hear("stopped")["n"] == 2
        assert window.hear("done")["n"] == 3
        # A stop may come after the last pass: then the picture is whole, and another is begun.
        marks = []
        for n, close in ((4, False), (5, True)):
            window.say({"do": "expose", "n": n, "finer": True, "glasses": close})
            window.hear("progress")
            window.say({"do": "enough"})
            done = window.hear("done")
            assert done["n"] == n
            marks.append(done["mark"])
            if marks[-1] == "":
                break
        assert "" in marks


def test_two_are_exposed_alike_and_an_older_version_is_only_looked_at(driven, set_id):
    bright = json.loads(json.dumps(SETUP))
    bright["camera"]["aperture"] = "f/4"
    bright["camera"]["iso"] = 400
    library = driven.app.state.desk.library
    other = keep(driven, "setup", bright, "Brighter")
    driven.run(library.do(lambda shelf: shelf.save(set_id, bright, base_revision=1)))
    page = driven.get(f"/picture/{set_id}?beside={set_id}.1").text
    assert f'data-picture="/picture/{set_id}/live?version=1&amp;like={set_id}"' in page
    assert "exposed as beside it" in page
    with driven.socket(f"/picture/{set_id}/live?version=1&like={other}") as window:
        alike = greeted(window)["about"]
        window.say({"do": "powers", "n": 3, "base": 2, "stops": {"key": 1.0}})
        assert "older version" in window.hear("error", "taken")["text"]
    with driven.socket(f"/picture/{set_id}/live") as window:
        own = greeted(window)["about"]
    assert alike["camera"] == own["camera"]
    assert alike["mark"] == own["mark"]  # they differed in their exposure alone
    assert driven.get(f"/picture/{set_id}?beside={set_id}.99").status == 404
    assert driven.get(f"/picture/{set_id}?beside=nobody").status == 404


def test_what_is_no_set_is_told_and_closed(driven):
    room = keep(driven, "room", {"width": "4 m", "length": "6 m", "height": "2.7 m"})
    for key in ("nobody", room):
        assert driven.get(f"/picture/{key}").status == 404
        with driven.socket(f"/picture/{key}/live") as window:
            window.hear("error")
            assert window.end().code == 4404


# ---------------------------------------------------------------------------- what is not sense

STOPS = st.dictionaries(
    st.sampled_from(["key", "fill", "nobody", "", "é"]),
    st.one_of(st.integers(-13, 13), st.floats(), st.none(), st.text(max_size=3)),
    max_size=3,
)
FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "count": st.integers(0, 3),
    "flag": st.booleans(),
    "stops": STOPS,
}


@st.composite
def messages(draw: st.DrawFn) -> dict[str, Any]:
    """Messages as the table has them, now and then with a field missing, changed or too many."""
    what = draw(st.sampled_from(sorted(set(PICTURE_MESSAGES) - {"expose"})))
    found: dict[str, Any] = {"do": what}
    for name, field in PICTURE_MESSAGES[what].items():
        if field.needed or draw(st.booleans()):
            found[name] = draw(FIELDS[field.kind])
    if not draw(st.integers(0, 7)):
        found[draw(st.sampled_from(["n", "base", "stops", "clay", "x"]))] = draw(
            st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.lists(st.none())
        )
    return found


@given(messages().map(json.dumps))
def test_a_text_is_a_message_of_the_table_or_refused_in_one_line(text):
    message, refused = {}, ""
    try:
        message = read_message(text, table=PICTURE_MESSAGES)
    except MessageError as error:
        refused = str(error)
    assert bool(message) is not bool(refused)
    assert len(refused) < 300
    assert not message or set(message) - {"do"} <= set(PICTURE_MESSAGES[message["do"]])


@A_TALK
@given(said=st.lists(messages(), min_size=1, max_size=6))
def test_no_messages_make_a_fault_and_the_next_window_is_served(driven, said):
    set_id = keep(driven, "setup", SETUP)
    with driven.socket(f"/picture/{set_id}/live") as window:
        for message in [*said, {"do": "hello", "n": 77}]:
            window.say(message)
        heard: dict[str, Any] = {}
        try:
            while heard.get("n") != 77:
                heard = window.hear()
                assert "fault" not in heard.get("text", ""), (said, heard)
        except Closed as closed:
            pytest.fail(f"closed: {closed}")
    assert len(driven.app.state.desk.windows) == 0
