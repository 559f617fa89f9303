"""Own things in process: kept, found, changed in two windows, taken out of setups and put in."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.asgi import HERE, PORT, Driven
from tests.laws.test_web_fuzz import assert_sound
from tests.laws.test_web_start import SETUP, keep, kept, patience, upload

from tapemark.services.library.keeping import checked_body
from tapemark.store.library_bundle import LARGEST_BUNDLE
from tapemark.web import Settings, create_app
from tapemark.web.own.forms import GEAR_WORDS, answers_of, beginning, body_from, groups_for

__all__ = ["patience"]

GLASSES = {"preset": "mild short-sighted, medium frame"}
HEAD = {"what": "head", "name": "My 400", "head": {"preset": "400 Ws studio head"}}
KINDS = [("room", ""), ("glasses", ""), ("sitter", ""), *(("gear", what) for what in GEAR_WORDS)]


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


def made(driven: Driven, answer: Any) -> Any:
    """What a form led to."""
    assert answer.status == 303, answer.text
    return kept(driven, answer.headers["location"].partition("?")[0].rpartition("/")[2])


# ---------------------------------------------------------------------------- forms


@pytest.mark.parametrize(("kind", "what"), KINDS)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_what_a_new_thing_begins_with_is_valid_and_the_form_has_all_of_it(kind, what, units):
    body = beginning(kind, what, units=units)
    assert checked_body(kind, body)
    asked = {one.path for group in groups_for(kind, what) for one in group.fields}
    assert set(answers_of(body)) - {"units", "what"} <= asked


@pytest.mark.parametrize(("kind", "what"), KINDS)
@settings(max_examples=8)
@given(data=st.data())
def test_a_form_sent_back_as_it_came_changes_nothing(kind, what, data):
    body = checked_body(kind, beginning(kind, what))
    groups = groups_for(kind, what)
    asked = [one for group in groups for one in group.fields]
    some = data.draw(st.lists(st.sampled_from(asked), max_size=3))
    shown = answers_of(body)
    fields = {one.path: shown.get(one.path, "") for one in [*some, *asked]}
    assert body_from(fields, groups, before=body) == body


@pytest.mark.parametrize(("kind", "what"), KINDS)
def test_a_thing_is_made_with_the_form_and_shown(driven, kind, what):
    path = f"/own/new/{kind}?what={what}"
    assert driven.get(path).status == 200
    fields = answers_of(beginning(kind, what)) | {"what": what, "thing_name": "Attic"}
    thing = made(driven, driven.post(f"/own/new/{kind}", fields))
    assert thing.kind == kind
    assert driven.get(f"/own/{thing.id}").status == 200
    assert driven.get(f"/own/{thing.id}/edit").status == 200


def test_what_is_wrong_stands_beside_its_field_and_nothing_is_kept(driven):
    before = len(driven.run(shelf(driven, lambda library: library.kept("room"))))
    answer = driven.post("/own/new/room", {"width": "4", "length": "6 m", "height": "2.7 m"})
    assert answer.status == 422
    assert re.search(r'name="width"[^>]*aria-invalid="true"', answer.text)
    assert "no unit" in answer.text
    assert len(driven.run(shelf(driven, lambda library: library.kept("room")))) == before


def shelf(driven: Driven, work: Any) -> Any:
    return driven.app.state.desk.library.do(work)


def test_there_is_no_form_for_a_setup_or_nonsense(driven):
    setup = keep(driven, "setup", SETUP)
    for path in ("/own/new/setup", "/own/new/secret", f"/own/{setup}/edit"):
        assert driven.get(path).status == 404


# ---------------------------------------------------------------------------- two windows


def test_two_windows_that_change_different_fields_are_put_together(driven):
    one = keep(driven, "glasses", GLASSES)
    first = driven.post(f"/own/{one}/edit", {"revision": "1", "lens_width": "54 mm"})
    second = driven.post(f"/own/{one}/edit", {"revision": "1", "lens_height": "35 mm"})
    assert (first.status, second.status) == (303, 303)
    assert second.headers["location"].endswith("?said=merged")
    body = kept(driven, one).body
    assert (body["lens_width"], body["lens_height"]) == ("54 mm", "35 mm")


@pytest.mark.parametrize(
    ("how", "left"), [("mine", "50 mm"), ("theirs", "54 mm"), ("both", "54 mm")]
)
def test_two_windows_that_change_the_same_field_are_asked(driven, how, left):
    one = keep(driven, "glasses", GLASSES)
    driven.post(f"/own/{one}/edit", {"revision": "1", "lens_width": "54 mm"})
    mine = {"revision": "1", "lens_width": "50 mm"}
    asked = driven.post(f"/own/{one}/edit", mine)
    assert asked.status == 409
    assert "Keep both, as two" in asked.text
    assert kept(driven, one).body["lens_width"] == "54 mm"  # nothing was written over
    answer = driven.post(f"/own/{one}/edit", mine | {"do": how})
    assert kept(driven, one).body["lens_width"] == left
    assert (made(driven, answer).id == one) == (how != "both")


def test_a_version_is_brought_back_only_by_who_has_seen_the_current_one(driven):
    one = keep(driven, "glasses", GLASSES)
    driven.post(f"/own/{one}/edit", {"revision": "1", "lens_width": "54 mm"})
    stale = driven.post(f"/own/{one}", {"do": "restore", "version": "1", "revision": "1"})
    assert stale.status == 409
    assert "Another window changed it" in stale.text
    assert driven.get(f"/own/{one}?version=1").text.count("This is version 1") == 1
    driven.post(f"/own/{one}", {"do": "restore", "version": "1", "revision": "2"})
    now = kept(driven, one)
    assert "lens_width" not in now.body
    assert now.can_undo
    assert driven.get(f"/own/{one}?version=99").status == 404


# ---------------------------------------------------------------------------- doing things


def test_a_thing_is_renamed_duplicated_binned_and_found(driven):
    one = keep(driven, "sitter", {"name": "Wystan"}, "Wystan Éclair")
    driven.post(f"/own/{one}", {"do": "rename", "name": "Wystan <b>"})
    assert "Wystan &lt;b&gt;" in driven.get("/own?q=wystan").text
    copy = made(driven, driven.post(f"/own/{one}", {"do": "duplicate"}))
    assert copy.name == "Wystan <b> (copy)"
    driven.post(f"/own/{one}", {"do": "bin"})
    assert f"/own/{one}" not in driven.get("/own?kind=sitter").text
    assert f"/own/{one}" in driven.get("/own?bin").text
    assert driven.post(f"/own/{copy.id}", {"do": "erase"}).status == 422
    driven.post(f"/own/{one}", {"do": "unbin"})
    assert f"/own/{one}" in driven.get("/own?kind=sitter").text
    assert driven.post(f"/own/{one}", {"do": "burn"}).status == 404


def test_a_head_is_calibrated_by_a_reading(driven):
    one = keep(driven, "gear", HEAD)
    reading = {"aperture": "f/11", "distance": "1.5", "modifier": "reflector dish 18 cm"}
    refused = driven.post(f"/own/{one}/calibrate", reading)
    assert refused.status == 422
    assert "no unit" in refused.text
    driven.post(f"/own/{one}/calibrate", reading | {"distance": "1.5 m", "iso": "100"})
    assert "Your reading says" in driven.get(f"/own/{one}").text
    assert "calibrated by your meter reading" in driven.get("/own?kind=gear").text


def test_a_part_goes_into_a_setup_and_out_of_it(driven):
    setup = keep(driven, "setup", SETUP)
    who = SETUP["sitter"]["name"]
    thing = made(driven, driven.post(f"/own/{setup}", {"do": "keep", "part": f"sitter:{who}"}))
    assert (thing.kind, thing.body["name"]) == ("sitter", who)
    glasses = keep(driven, "glasses", GLASSES | {"lens_width": "55 mm"})
    chosen = driven.get(f"/own/{glasses}?into={setup}").text
    assert f">{who}</option>" in chosen
    driven.post(f"/own/{glasses}", {"do": "put", "setup": setup, "person": who})
    assert kept(driven, setup).body["sitter"]["glasses"]["lens_width"] == "55 mm"
    for wrong in ({"setup": setup, "person": "Nobody"}, {"setup": "0" * 32}):
        assert driven.post(f"/own/{glasses}", {"do": "put"} | wrong).status == 422
    assert driven.post(f"/own/{setup}", {"do": "keep", "part": "wall:"}).status == 422


def test_an_open_set_window_sees_what_was_put_in(driven):
    setup, glasses = keep(driven, "setup", SETUP), keep(driven, "glasses", GLASSES)
    with driven.socket(f"/live/{setup}") as window:
        window.say({"do": "hello", "window": "w"})
        window.hear("state")
        driven.post(f"/own/{glasses}", {"do": "put", "setup": setup})
        told = window.hear("changed")
    assert told["setup"]["sitter"]["glasses"]["preset"] == GLASSES["preset"]
    assert told["view"]["people"]


# ---------------------------------------------------------------------------- one file


def test_everything_goes_into_one_file_and_comes_back(driven, tmp_path):
    keep(driven, "glasses", GLASSES, "Taken along")
    file = driven.get("/own/export").body
    again = upload(driven, "/own/import", file, name="all.json")
    assert "already here" in again.text
    empty = create_app(Settings(port=PORT, library=tmp_path / "other.sqlite", ready=False))
    with Driven(empty) as other:
        report = upload(other, "/own/import", file, name="all.json")
        assert "Taken along" in report.text
        assert "Taken along" in other.get("/own?q=along").text


def test_a_file_that_is_too_large_is_refused_as_soon_as_it_says_so(driven):
    headers = {"origin": HERE, "content-type": "multipart/form-data; boundary=xx"}
    headers["content-length"] = str(LARGEST_BUNDLE + 20_000)
    answer = driven.ask("POST", "/own/import", headers=headers, body=b"--xx\r\n")
    assert answer.status == 413
    assert "200 MB" in answer.text


@pytest.mark.parametrize(
    ("content", "status"),
    [
        (b"", 422),
        (b"{}", 422),
        (b"PK\x03\x04" + b"\x00" * 200, 422),
        (b"[" * 100_000, 422),
        (json.dumps({"tapemark": "library", "things": [{}]}).encode(), 422),
    ],
    ids=["empty", "an object", "a zip", "nested", "no thing"],
)
def test_a_file_that_is_no_library_changes_nothing(driven, content, status):
    before = all_things(driven)
    answer = upload(driven, "/own/import", content)
    assert_sound(answer)
    assert answer.status == status
    assert all_things(driven) == before


def all_things(driven: Driven) -> list[Any]:
    """What is kept, without the time of the export."""
    found = json.loads(driven.get("/own/export").body)
    return [value for value in found.values() if isinstance(value, list)]


def test_a_damaged_file_is_refused_whole(driven):
    keep(driven, "room", {"width": "4 m", "length": "6 m", "height": "2.7 m"}, "Whole")
    file = driven.get("/own/export").body.replace(b"2.7 m", b"9.9 m")
    answer = upload(driven, "/own/import", file)
    assert answer.status == 422
    assert "as it was" in answer.text
