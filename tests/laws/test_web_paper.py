"""The page Paper in process: words for the floor, files of every kind, the phone let in or told."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from tests.asgi import PORT, Driven
from tests.laws.test_web_start import SETUP, keep, patience

from tapemark.web import Settings, create_app

__all__ = ["patience"]

NETWORK = "192.168.7.20"


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


@pytest.fixture(scope="module")
def setup_id(driven: Driven) -> str:
    return keep(driven, "setup", SETUP, "Reading room: “A/B”")


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    """The app as devices in the network may join it."""
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    settings = Settings(port=PORT, library=path, ready=False, lan=True, names=(NETWORK,))
    with Driven(create_app(settings)) as found:
        yield found


def test_the_page_says_in_words_what_the_assistant_needs(driven, setup_id):
    text = driven.get(f"/paper/{setup_id}").text
    for light in SETUP["light"]:
        assert f"{light['name']}</bdi></h3>" in text
    assert re.findall(r"tape from \w</dt><dd class=\"big\">\d", text)
    for part in ("Order of work", "To pack", "Test shots", "Cautions inform and never certify"):
        assert part in text


@pytest.mark.parametrize(
    ("form", "begins"),
    [("pdf", b"%PDF-"), ("svg", b"<svg"), ("png", b"\x89PNG"), ("glb", b"glTF")],
)
def test_each_file_is_what_its_ending_says(driven, setup_id, form, begins):
    answer = driven.get(f"/paper/{setup_id}.{form}?paper=letter")
    assert answer.status == 200
    assert answer.body.lstrip().startswith(begins)
    saved_as = answer.headers["content-disposition"]
    name = re.fullmatch(r'attachment; filename="([a-z0-9-]+)\.\w+"', saved_as)
    assert name is not None  # nothing of what a setup is called can break out of the header
    assert name[1].startswith("reading-room-a-b")


def test_a_sheet_is_made_once_and_shown_in_the_page(driven, setup_id):
    first = driven.get(f"/paper/{setup_id}.svg?shown")
    assert "content-disposition" not in first.headers
    again = driven.get(
        f"/paper/{setup_id}.svg?shown", headers={"if-none-match": first.headers["etag"]}
    )
    assert again.status == 304


@pytest.mark.parametrize("which", ["plan.svg", "camera.png", "face.pdf"])
def test_single_drawings_come_as_files(driven, setup_id, which):
    assert driven.get(f"/paper/{setup_id}/{which}").status == 200


@pytest.mark.parametrize("address", [".exe", "/secret.svg", "/plan.exe", "/camera-2.svg", ".pdf/x"])
def test_what_cannot_be_made_is_not_there(driven, setup_id, address):
    assert driven.get(f"/paper/{setup_id}{address}").status == 404


def test_only_setups_go_on_paper(driven):
    room = keep(driven, "room", {"width": "4 m", "length": "6 m", "height": "2.7 m"})
    assert driven.get(f"/paper/{room}").status == 404
    assert driven.get(f"/paper/{room}.pdf").status == 404


def test_with_one_setup_the_tab_leads_to_it(driven, setup_id):
    assert driven.get("/paper").headers["location"] == f"/paper/{setup_id}"


def test_on_this_computer_alone_no_code_is_shown_and_the_way_is_said(driven, setup_id):
    assert "tapemark open --lan" in driven.get(f"/paper/{setup_id}").text
    answer = driven.post(f"/paper/{setup_id}/phone")
    assert (answer.status, answer.headers["location"]) == (303, f"/paper/{setup_id}")


def test_a_phone_scans_a_code_once_and_sees_the_same_page(shared):
    setup = keep(shared, "setup", SETUP)
    text = shared.post(f"/paper/{setup}/phone").text
    link = re.search(rf"http://{NETWORK}:{PORT}(/paper/{setup}\?token=\w+)", text)
    assert link is not None
    assert "<svg" in text
    there: dict[str, Any] = {"host": f"{NETWORK}:{PORT}", "client": "192.168.7.31"}
    assert shared.get(f"/paper/{setup}", **there).status == 401
    let_in = shared.get(link[1], **there)
    cookie = let_in.headers["set-cookie"].partition(";")[0]
    seen = shared.get(let_in.headers["location"], headers={"cookie": cookie}, **there)
    assert seen.status == 200
    assert shared.get(link[1], **{**there, "client": "192.168.7.32"}).status == 401
