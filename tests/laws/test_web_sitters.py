"""The page Sitters in process: kept, asked, noted, erased; and their setup again."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.asgi import PORT, Driven
from tests.laws.test_web_fuzz import assert_sound
from tests.laws.test_web_start import keep, kept, patience

from tapemark.errors import NotKept
from tapemark.services.library.new_setups import demo_setups
from tapemark.studio import changed, setup_to_mapping
from tapemark.web import Settings, create_app

__all__ = ["patience"]

TROUBLED, CURED = (one.setup for one in demo_setups()[:2])
OTHER = changed(TROUBLED, {"sitter": changed(TROUBLED.sitter, {"name": "Otto, local history"})})


@pytest.fixture
def driven(tmp_path: Path) -> Iterator[Driven]:
    path = tmp_path / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


def kept_sitter(driven: Driven) -> tuple[str, str]:
    """Keep a setup and its sitter; return the ids of both."""
    setup = keep(driven, "setup", setup_to_mapping(CURED), name="Last spring")
    answer = driven.post("/sitters", {"setup": setup, "name": "Ines, reader services"})
    assert answer.status == 303, answer.text
    return setup, answer.headers["location"].rpartition("/")[2]


def revisions(text: str) -> dict[str, str]:
    return dict(re.findall(r'name="(revision|notes_revision)" value="(\d+)"', text))


def test_with_an_empty_library_the_page_says_what_to_do(driven):
    text = driven.get("/sitters").text
    assert "Nobody is kept yet" in text
    assert 'href="/own/new/sitter"' in text


def test_somebody_in_a_setup_is_kept_and_their_page_has_everything(driven):
    setup, ines = kept_sitter(driven)
    keep(driven, "setup", setup_to_mapping(OTHER), name="Today")
    text = driven.get(f"/sitters/{ines}").text
    for words in ("Say and ask", "Glasses on or off", "52 × 37 mm", "Learned from photos"):
        assert words in text
    assert "key: moved 24 cm and 70 cm up" in text
    assert f'href="/paper/{setup}"' in text
    assert "library.sqlite" in text


def test_from_an_empty_room_the_marks_and_the_order_of_work_are_told(driven):
    _, ines = kept_sitter(driven)
    text = driven.get(f"/sitters/{ines}").text
    assert "Order of work" in text
    assert "2.05 m" in text


def test_an_older_version_of_the_same_setup_can_be_had_again(driven):
    setup, ines = kept_sitter(driven)
    library = driven.app.state.desk.library
    higher = tuple(
        changed(one, {"place": changed(one.place, {"height_m": one.place.height_m + 0.09})})
        for one in CURED.lights
    )
    body = setup_to_mapping(changed(CURED, {"lights": higher}))
    now = kept(driven, setup)
    driven.run(
        library.do(lambda shelf: shelf.save(setup, body, base_revision=now.revision, why="up"))
    )
    text = driven.get(f"/sitters/{ines}?setup={setup}&version=1&now={setup}").text
    assert "key: 9 cm down, now 2.10 m high" in text
    assert driven.get(f"/sitters/{ines}?setup={setup}&version=77&now=x").status == 200


def test_notes_and_answers_are_kept_and_asked_accordingly(driven):
    _, ines = kept_sitter(driven)
    address = f"/sitters/{ines}"
    form = {"do": "notes", "glasses": "both", "text": "<b>low</b> stool", "photosensitive": "yes"}
    form |= revisions(driven.get(address).text)
    assert driven.post(address, form).status == 303
    text = driven.get(address).text
    assert "&lt;b&gt;low&lt;/b&gt; stool" in text
    assert "Flashing light can harm them" in text
    assert "some with your glasses and some without" in text
    assert kept(driven, ines).body["photosensitive"] is True
    form = {"do": "notes", "glasses": "both", "text": ""} | revisions(text)
    assert driven.post(address, form).status == 303
    assert kept(driven, ines).body["photosensitive"] is False


def test_notes_that_another_window_changed_are_not_written_over(driven):
    _, ines = kept_sitter(driven)
    address = f"/sitters/{ines}"
    stale = revisions(driven.get(address).text)
    first = {"do": "notes", "glasses": "on", "text": "first"} | stale
    assert driven.post(address, first).status == 303
    mine = {"do": "notes", "glasses": "off", "text": "mine"} | stale
    answer = driven.post(address, mine)
    assert answer.status == 409
    assert "mine" in answer.text
    assert "What the other window kept" in answer.text
    assert ">first</p>" in answer.text  # to be seen beside one's own
    assert "first" in driven.get(address).text


def test_a_setup_that_cannot_be_read_does_not_stand_in_the_way(driven):
    setup, ines = kept_sitter(driven)
    broken = keep(driven, "setup", {"light": "none"}, name="Half a setup")
    text = driven.get(f"/sitters/{ines}").text
    assert "Order of work" in text  # from an empty room: what cannot be read is passed over
    assert 'class="trouble"' not in text
    text = driven.get(f"/sitters/{ines}?setup={setup}&now={broken}").text
    assert "Half a setup cannot be read." in text  # asked for, it is named,
    assert 'name="now"' in text  # and another can be chosen


def test_erasing_takes_notes_and_person_for_good_and_leaves_setups(driven):
    setup, ines = kept_sitter(driven)
    address = f"/sitters/{ines}"
    form = {"do": "notes", "glasses": "on", "text": "a secret"} | revisions(
        driven.get(address).text
    )
    driven.post(address, form)
    assert driven.post(address, {"do": "erase"}).status == 303
    assert "a secret" not in driven.get(address).text
    driven.post(address, form | revisions(driven.get(address).text))
    assert driven.post(address, {"do": "forget"}).headers["location"] == "/sitters"
    with pytest.raises(NotKept):
        kept(driven, ines)
    assert "a secret" not in driven.get("/own/export").text
    assert kept(driven, setup).name == "Last spring"


@pytest.mark.parametrize("do", ["", "nothing", "erase", "forget", "notes"])
def test_somebody_who_is_not_kept_is_not_found(driven, do):
    setup = keep(driven, "setup", setup_to_mapping(CURED), name="Last spring")
    for key in ("nobody", setup):
        answer = driven.post(f"/sitters/{key}", {"do": do, "text": "x"})
        assert answer.status in (404, 422)
        assert_sound(answer)
    assert driven.get(f"/sitters/{setup}").status == 404
    assert kept(driven, setup).name == "Last spring"


def test_a_device_in_the_network_is_not_told_where_the_library_lies(tmp_path):
    host = f"192.168.7.20:{PORT}"
    lan = Settings(
        port=PORT,
        library=tmp_path / "library.sqlite",
        ready=False,
        lan=True,
        names=("192.168.7.20", "127.0.0.1"),
    )
    with Driven(create_app(lan)) as driven:
        _, ines = kept_sitter(driven)
        token = driven.app.state.desk.sessions.invite()
        phone = {"client": "192.168.7.31", "host": host}
        let_in = driven.get(f"/?token={token}", **phone).headers["set-cookie"].partition(";")[0]
        answer = driven.get(f"/sitters/{ines}", headers={"cookie": let_in}, **phone)
        assert answer.status == 200
        assert str(tmp_path) not in answer.text
        assert str(tmp_path) in driven.get(f"/sitters/{ines}").text
