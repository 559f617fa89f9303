"""The page Start in process: answers, errors beside their fields, files, plans taken and left."""

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.asgi import HERE, PORT, Driven
from tests.laws.test_web_fuzz import assert_sound

from tapemark.services import demo_setup_text
from tapemark.studio import brief_from_mapping, setup_from_toml, setup_to_mapping
from tapemark.web import Settings, create_app
from tapemark.web.start.brief import in_units, read_brief, tidy_answers, usual_answers
from tapemark.web.start.fields import ASKED

TOML = demo_setup_text("quillmere-troubled")
SETUP = setup_to_mapping(setup_from_toml(TOML))
WITHIN_S = 240.0  # the machines that run this are shared


@pytest.fixture(scope="module", autouse=True)
def patience() -> Iterator[None]:
    """Wait long for what processes of low priority make."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("tests.asgi.WITHIN_S", WITHIN_S)
        yield


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


def keep(driven: Driven, kind: str, body: dict[str, Any], name: str = "one") -> str:
    library = driven.app.state.desk.library
    return str(driven.run(library.do(lambda shelf: shelf.add(kind, name=name, body=body))).id)


def kept(driven: Driven, thing_id: str) -> Any:
    library = driven.app.state.desk.library
    return driven.run(library.do(lambda shelf: shelf.get(thing_id)))


def upload(driven: Driven, path: str, content: bytes, *, name: str = "a.toml") -> Any:
    head = f'--B\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'
    headers = {"content-type": "multipart/form-data; boundary=B", "origin": HERE}
    body = head.encode() + content + b"\r\n--B--\r\n"
    return driven.ask("POST", path, headers=headers, body=body)


def a_plan(letter: str = "A", **changes: Any) -> dict[str, Any]:
    plan = {
        "letter": letter, "title": "one light", "verdict": "clear", "pattern": "loop",
        "ratio": "3:1", "reading": "f/8", "iso": 100, "minutes": 14.0, "why": ["It is clear."],
        "limits": [{"what": "ceiling", "text": "the ceiling", "left": 0.1}], "findings": [],
        "setup": SETUP,
    }  # fmt: skip
    return plan | changes


def a_brief(driven: Driven, **plans: Any) -> str:
    found = {"plans": [], "give_up": [], "nearest": "", "interrupted": False} | plans
    body = {"what": "brief", "answers": usual_answers("metric"), "plans": found}
    return keep(driven, "session", body)


# ---------------------------------------------------------------------------- answers


@pytest.mark.parametrize("units", ["metric", "us"])
def test_an_untouched_form_is_a_brief(units):
    read = read_brief(usual_answers(units))
    assert read.errors == {}
    assert read.brief is not None
    assert brief_from_mapping(read.brief).units == units


def test_other_units_change_what_was_never_touched_and_nothing_else():
    typed = usual_answers("metric") | {"width": "3.5 m"}
    changed = in_units(typed, "us")
    assert changed["width"] == "3.5 m"
    assert changed["ceiling"] == "9 ft"
    assert in_units(changed, "metric") == typed


@pytest.mark.parametrize(
    ("field", "text", "says"),
    [
        ("ceiling", "27", "no unit"),
        ("height", "172", "no unit"),
        ("age", "old", "whole number"),
        ("aperture", "f/0", "f/"),
        ("lenses", "", "lenses"),
        ("head:400 Ws studio head", "99", "0 to 12"),
        ("right_sphere", "-2", "-2 D"),
        ("title", "x" * 290, "200"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(driven, field, text, says):
    answers = usual_answers("metric") | {field: text, "glasses": "describe"}
    answers |= {"lens_width": "52 mm", "lens_height": "36 mm", "bridge": "18 mm"}
    read = read_brief(answers)
    assert list(read.errors) == [field]
    assert says in read.errors[field]
    answer = driven.post("/start", answers | {"do": "plan", "draft": ""})
    assert answer.status == 422
    assert 'aria-invalid="true"' in answer.text


def test_nothing_to_light_with_is_said_in_the_words_of_the_form():
    bare = {key: "0" for key in ASKED if key.startswith(("head:", "modifier:"))}
    errors = read_brief(usual_answers("metric") | bare).errors
    assert [text for text in errors.values() if "Count at least one head" in text]
    assert [text for text in errors.values() if "Count at least one modifier" in text]


@settings(max_examples=30)
@given(
    fields=st.dictionaries(
        st.sampled_from([*ASKED, "units", "own:" + "0" * 32, "nonsense"]),
        st.text(max_size=40),
    )
)
def test_no_answers_make_a_fault(fields):
    answers = tidy_answers(usual_answers("metric") | fields)
    assert "nonsense" not in answers
    read = read_brief(answers)
    assert (read.brief is None) == bool(read.errors)


# ---------------------------------------------------------------------------- drafts and ways in


def test_answers_are_kept_and_found_again(driven):
    typed = usual_answers("metric") | {"name": "Oriel", "do": "keep", "draft": ""}
    draft = json.loads(driven.post("/start", typed).body)["draft"]
    again = json.loads(driven.post("/start", typed | {"draft": draft, "age": "29"}).body)["draft"]
    assert again == draft
    assert 'value="Oriel"' in driven.get(f"/start?brief={draft}").text
    assert kept(driven, draft).body["answers"]["age"] == "29"


def test_a_setup_is_no_brief(driven):
    setup = keep(driven, "setup", SETUP)
    for answer in (driven.get(f"/start?brief={setup}"), driven.get(f"/start/{setup}")):
        assert answer.status == 404


@pytest.mark.parametrize("which", ["quillmere-troubled", "quillmere-cured", "empty"])
def test_one_can_begin_without_a_brief(driven, which):
    answer = driven.post("/start/begin", {"which": which, "units": "us"})
    assert answer.status == 303
    assert answer.headers["location"].startswith("/set/")
    assert driven.post("/start/begin", {"which": "../secret"}).status == 400


@pytest.mark.parametrize("text", [TOML, json.dumps(SETUP)], ids=["toml", "json"])
def test_a_setup_file_becomes_a_setup(driven, text):
    answer = upload(driven, "/start/file", text.encode(), name="../../etc/Reading.toml")
    assert answer.status == 303
    made = kept(driven, answer.headers["location"].rpartition("/")[2])
    assert made.kind == "setup"
    assert "/" not in made.name


@pytest.mark.parametrize(
    ("content", "status", "says"),
    [
        (b"", 400, "empty"),
        (b"\x89PNG\r\n\x1a\n" + b"\x00" * 64, 400, "not what can be read here"),
        (b"tapemark = 1\n", 400, "room"),
        (b"{" * 5000, 400, "neither TOML nor JSON"),
        (b"[1, 2]", 400, ""),
        (b"a" * 1_100_000, 413, "1 MB"),
        (b"x = " + b"[" * 4000, 400, ""),
    ],
)
def test_what_is_no_setup_file_is_refused_in_words(driven, content, status, says):
    answer = upload(driven, "/start/file", content)
    assert_sound(answer)
    assert answer.status == status
    assert says in answer.text


# ---------------------------------------------------------------------------- plans


def test_plans_are_shown_with_pictures_reasons_and_what_binds(driven):
    brief = a_brief(driven, plans=[a_plan("A"), a_plan("B")])
    text = driven.get(f"/start/{brief}").text
    for part in ("Take plan B", "It is clear.", "The ceiling", f"/start/{brief}/A/camera.png"):
        assert part in text
    picture = driven.get(f"/start/{brief}/A/plan.png")
    assert picture.headers["content-type"].startswith("image/png")
    same = driven.get(
        f"/start/{brief}/A/plan.png", headers={"if-none-match": picture.headers["etag"]}
    )
    assert (same.status, same.body) == (304, b"")
    assert driven.get(f"/start/{brief}/Z/plan.png").status == 404
    assert driven.get(f"/start/{brief}/A/secret.png").status == 404


def test_a_plan_that_is_taken_becomes_a_setup_and_ends_the_draft(driven):
    brief = a_brief(driven, plans=[a_plan("A")])
    answer = driven.post(f"/start/{brief}", {"do": "take", "letter": "A"})
    setup = answer.headers["location"].removeprefix("/set/")
    assert "plan A: one light" in kept(driven, setup).name
    assert kept(driven, brief).body["taken"] == setup
    assert driven.post(f"/start/{brief}", {"do": "take", "letter": "Q"}).status == 404


def test_giving_up_a_wish_changes_the_brief_and_plans_again(driven):
    body_of_plan = SETUP | {"camera": SETUP["camera"] | {"aperture": "f/5.6"}}
    proposal = {
        "wishes": ["aperture", "mood"], "text": "aperture: f/5.6 in place of f/16",
        "plan": a_plan("A", setup=body_of_plan),
    }  # fmt: skip
    brief = a_brief(driven, give_up=[proposal])
    assert "f/5.6 in place of f/16" in driven.get(f"/start/{brief}").text
    assert driven.post(f"/start/{brief}", {"do": "without", "number": "7"}).status == 404
    assert driven.post(f"/start/{brief}", {"do": "without", "number": "0"}).status == 303
    answers = kept(driven, brief).body["answers"]
    assert (answers["aperture"], answers["mood"]) == ("f/5.6", "any")
    assert json.loads(driven.get(f"/start/{brief}/state").body)["busy"]
    driven.post(f"/start/{brief}", {"do": "stop"})
    wait_until_still(driven, brief)
    assert "It was stopped." in driven.get(f"/start/{brief}").text


def test_a_search_that_is_ended_early_keeps_what_it_found(driven):
    brief = a_brief(driven)
    driven.post(f"/start/{brief}", {"do": "again"})
    until = time.monotonic() + WITHIN_S
    while "Looking" not in json.loads(driven.get(f"/start/{brief}/state").body)["text"]:
        assert time.monotonic() < until
        time.sleep(0.05)
    driven.post(f"/start/{brief}", {"do": "enough"})
    wait_until_still(driven, brief)
    assert kept(driven, brief).body["plans"]["interrupted"]
    assert "was found by then" in driven.get(f"/start/{brief}").text


def wait_until_still(driven: Driven, brief: str) -> None:
    until = time.monotonic() + WITHIN_S
    while json.loads(driven.get(f"/start/{brief}/state").body)["busy"]:
        assert time.monotonic() < until
        time.sleep(0.05)


def test_others_windows_and_circuits_are_told_in_plain_words_and_only_if_begun():
    plain = read_brief(usual_answers("metric")).brief
    assert plain is not None
    assert not {"companion", "window", "circuit"} & set(plain)
    more = {
        "other2:name": "Cy", "other2:side": "camera-right", "other2:beside": "0.7 m",
        "other2:glasses": "mild short-sighted, medium frame",
        "window1:wall": "camera-left", "window1:along": "1 m towards camera",
        "mains1:name": "by the door", "mains1:load": "800 W",
    }  # fmt: skip
    found = read_brief(usual_answers("metric") | more)
    assert found.errors == {}
    brief = brief_from_mapping(found.brief, name="brief")
    (other,), (window,), (circuit,) = brief.companions, brief.windows, brief.circuits
    assert (other.name, other.across_m) == ("Cy", -0.7)
    assert other.glasses is not None
    assert (window.wall, window.along_m, window.width_m) == ("camera-left", 1.0, 1.2)
    assert (circuit.name, circuit.voltage_v, circuit.other_load_w) == ("by the door", 230.0, 800.0)


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize(
    ("field", "begun"),
    [("other2:beside", "other2:name"), ("window2:width", "window2:wall"),
     ("mains2:breaker", "mains2:name"), ("other1:behind", "other1:name")],
)  # fmt: skip
def test_what_is_wrong_around_is_said_beside_its_field(units, field, begun):
    begun_with = {"other2:name": "Cy", "window2:wall": "camera-left", "mains2:name": "door"}
    answers = usual_answers(units) | {begun: begun_with.get(begun, "Bo"), field: "quite a lot"}
    errors = read_brief(answers).errors
    assert set(errors) == {field}
    assert "quite a lot" in errors[field]
