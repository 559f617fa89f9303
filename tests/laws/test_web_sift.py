"""The page Sift in process: who may name a folder, what is seen of it, what is taken along."""

import csv
import io
import json
import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.asgi import PORT, Driven
from tests.laws.sift_folder import EYES, reading, write_results_folder
from tests.laws.test_web_fuzz import assert_sound
from tests.laws.test_web_start import patience

from tapemark.web import Settings, create_app

__all__ = ["patience"]

PHONE, LAN_HOST = "192.168.7.31", f"192.168.7.20:{PORT}"
MANY = 500
A_FOLDER_S = 90.0  # some three where nothing else runs


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    settings = Settings(
        port=PORT, library=path, ready=False, lan=True, names=("192.168.7.20", "127.0.0.1")
    )
    with Driven(create_app(settings)) as found:
        yield found


@pytest.fixture(scope="module")
def phone(driven: Driven) -> dict[str, str]:
    """Headers of a device in the network that was let in."""
    token = driven.app.state.desk.sessions.invite()
    answer = driven.get(f"/?token={token}", client=PHONE, host=LAN_HOST)
    cookie = answer.headers["set-cookie"].partition(";")[0]
    return {"cookie": cookie, "origin": f"http://{LAN_HOST}"}


def photos_of(folder: Path, readings) -> Path:
    folder.mkdir()
    for one in readings:
        (folder / one["file"]).write_bytes(b"\xff\xd8\xff" + one["file"].encode())
    return folder


DAY = [reading("a.jpg"), reading("b.jpg", veil=0.4), reading("c & d.jpg", veil=None)]


@pytest.fixture
def opened(driven: Driven, tmp_path: Path) -> tuple[str, Path]:
    """Address of a folder whose results were opened, and its photos."""
    folder = photos_of(tmp_path / "photos", DAY)
    results = write_results_folder(tmp_path / "results", DAY)
    return open_results(driven, results, folder), folder


def open_results(driven: Driven, results: Path, originals: Path | str = "") -> str:
    form = {"do": "open", "results": str(results), "originals": str(originals)}
    answer = driven.post("/sift", form)
    assert answer.status == 303, answer.text
    return str(answer.headers["location"])


# ---------------------------------------------------------------------------- who may name folders


@pytest.mark.parametrize("do", ["begin", "open"])
def test_a_device_in_the_network_names_no_folder_though_it_was_let_in(driven, phone, tmp_path, do):
    results = write_results_folder(tmp_path / "r", DAY)
    photos_of(tmp_path / "p", DAY)
    form = {"do": do, "results": str(results), "photos": str(tmp_path / "p")}
    before = driven.get("/sift").text.count("/sift/")
    answer = driven.post("/sift", form, headers=phone, client=PHONE, host=LAN_HOST)
    assert answer.status == 403
    assert_sound(answer)
    assert driven.get("/sift").text.count("/sift/") == before


@pytest.mark.parametrize("do", ["stop", "go", "xmp", "forget"])
def test_a_device_in_the_network_changes_nothing_on_the_disk(driven, phone, opened, do):
    address, folder = opened
    files = sorted(folder.iterdir())
    answer = driven.post(address, {"do": do}, headers=phone, client=PHONE, host=LAN_HOST)
    assert answer.status == 403
    assert sorted(folder.iterdir()) == files
    assert driven.get(address).status == 200


def test_a_device_in_the_network_looks_on_and_learns_no_path(driven, phone, opened, tmp_path):
    address, _ = opened
    text = driven.get(address).text
    (frame, *_) = re.findall(rf"{address}/frame/[0-9a-f]+", text)
    eyes = frame.replace("/frame/", "/eyes/") + ".jpg"
    for target in ("/sift", address, frame, eyes, f"{address}.csv", f"{address}.json"):
        answer = driven.get(target, headers=phone, client=PHONE, host=LAN_HOST)
        assert answer.status == 200
        assert str(tmp_path).encode() not in answer.body
        assert b"library" not in answer.body or b"/library" not in answer.body
    here = driven.get(address).text
    assert str(tmp_path) in here


def test_a_stranger_in_the_network_sees_nothing(driven, opened):
    answer = driven.get(opened[0], client=PHONE, host=LAN_HOST)
    assert answer.status == 401


# ---------------------------------------------------------------------------- what is seen


def test_frames_are_shown_worst_first_with_their_eyes(driven, opened):
    address, _ = opened
    text = driven.get(address).text
    shown = re.findall(r'class="name" dir="auto">([^<]+)<', text)
    assert shown == ["b.jpg", "a.jpg", "c &amp; d.jpg"]
    eyes = re.findall(r'src="([^"]+/eyes/[^"]+)"', text)
    assert len(eyes) == 3
    answer = driven.get(eyes[0])
    assert (answer.body, answer.headers["content-type"]) == (EYES, "image/jpeg")
    assert 'loading="lazy"' in text


def test_an_edge_is_ringed_lighter_than_a_veil_and_each_frame_keeps_the_focus(driven, tmp_path):
    edge = reading("edge.jpg", veil=0.001) | {"verdict": "edge", "trouble": 1.0}
    (wearer,) = edge["wearers"]
    wearer["verdict"] = wearer["eyes"]["right"]["lens"]["verdict"] = "edge"
    frames = [edge, reading("veil.jpg", veil=0.2), reading("clear.jpg")]
    text = driven.get(open_results(driven, write_results_folder(tmp_path / "e", frames))).text
    found = re.findall(r'<li class="(\w*)"><a id="(frame-\w+)"', text)
    assert [ring for ring, _ in found] == ["bad", "mild", ""]
    assert len({mark for _, mark in found}) == len(frames)  # to which a renewed page goes back


def test_a_frame_tells_what_was_found_and_leads_to_the_next(driven, opened):
    address, _ = opened
    first = re.findall(rf"{address}/frame/[0-9a-f]+", driven.get(address).text)[0]
    text = driven.get(first).text
    assert "Right lens: a reflection over the eye, 40 % of the eye and 10 % of the lens" in text
    assert "green, 1.2 stops over the lit skin" in text
    assert "Left lens: clear." in text
    assert 'rel="next"' in text
    assert 'rel="prev"' not in text


def test_filters_hold_from_page_to_page_and_to_the_next_frame(driven, opened):
    address, _ = opened
    text = driven.get(f"{address}?verdict=no+glasses&wearer=none").text
    assert re.findall(r'class="name" dir="auto">([^<]+)<', text) == ["c &amp; d.jpg"]
    frame = re.search(rf'href="({address}/frame/[^"]+)"', text)[1].replace("&amp;", "&")
    assert "1 of 1" in driven.get(frame).text


def test_five_hundred_frames_come_in_pages_of_sixty(driven, tmp_path):
    readings = [reading(f"f{k:03d}.jpg", veil=0.001 * k) for k in range(MANY)]
    address = open_results(driven, write_results_folder(tmp_path / "r", readings))
    seen = []
    for number in range(1, 10):
        text = driven.get(f"{address}?page={number}").text
        shown = re.findall(r'class="name" dir="auto">([^<]+)<', text)
        assert len(shown) <= 60
        seen += shown
    assert seen == [f"f{k:03d}.jpg" for k in reversed(range(MANY))]
    assert driven.get(f"{address}?page=9999999999999").status == 200
    assert driven.get(f"{address}?page=-3&verdict=%00&wearer=" + "9" * 300).status == 200


def test_a_page_of_five_hundred_frames_costs_little_more_than_one_of_sixty(driven, tmp_path):
    costs = []
    for count in (60, MANY):
        readings = [reading(f"f{k:03d}.jpg", veil=0.001 * k) for k in range(count)]
        address = open_results(driven, write_results_folder(tmp_path / f"r{count}", readings))
        driven.get(address)
        began = time.process_time()
        for _ in range(10):
            assert driven.get(address).status == 200
        costs.append(time.process_time() - began)
    assert costs[1] < 3 * costs[0]


# ---------------------------------------------------------------------------- what is taken along


def test_the_table_and_the_json_are_those_of_the_command(driven, opened):
    address, _ = opened
    rows = list(csv.DictReader(io.StringIO(driven.get(f"{address}.csv").text)))
    assert [(one["file"], one["verdict"]) for one in rows] == [
        ("b.jpg", "veiled"),
        ("a.jpg", "clear"),
        ("c & d.jpg", "no glasses"),
    ]
    found = json.loads(driven.get(f"{address}.json").text)
    assert (found["photos"], found["read"], found["interrupted"]) == (3, 3, False)


def test_sidecars_are_written_beside_the_photos_and_over_nothing(driven, opened):
    address, folder = opened
    before = {one.name: one.read_bytes() for one in folder.iterdir()}
    (folder / "b.xmp").write_text("<x:xmpmeta>of another program</x:xmpmeta>")
    answer = driven.post(address, {"do": "xmp", "rate": "yes"})
    assert "2 sidecars are written" in answer.text
    assert "1 were left alone" in answer.text
    assert (folder / "b.xmp").read_text() == "<x:xmpmeta>of another program</x:xmpmeta>"
    assert 'xmp:Rating="3"' in (folder / "a.xmp").read_text()
    assert {name: (folder / name).read_bytes() for name in before} == before


def test_without_the_photos_sidecars_are_refused_and_frames_show_their_eyes(driven, tmp_path):
    address = open_results(driven, write_results_folder(tmp_path / "r", DAY))
    answer = driven.post(address, {"do": "xmp"})
    assert answer.status == 409
    frame = re.findall(rf"{address}/frame/[0-9a-f]+", driven.get(address).text)[0]
    assert "/eyes/" in driven.get(frame).text
    assert driven.get(frame.replace("/frame/", "/photo/") + ".jpg").status == 404


# ---------------------------------------------------------------------------- odd requests


@pytest.mark.parametrize("typed", ["", "nowhere", "/nowhere/at/all", "\x00", "~", "/"])
def test_a_folder_that_cannot_be_sifted_is_refused_where_it_was_typed(driven, typed, monkeypatch):
    monkeypatch.setenv("HOME", "/nowhere")
    answer = driven.post("/sift", {"do": "begin", "photos": typed})
    assert answer.status == 422
    assert_sound(answer)
    assert 'id="photos-wrong"' in answer.text


@pytest.mark.parametrize(
    "target",
    [
        "/sift/0123456789abcdef",
        "/sift/..",
        "/sift/x/frame/y",
        "/sift/0123456789abcdef/eyes/0.jpg",
        "/sift/0123456789abcdef.csv",
        "/sift/0123456789abcdef.exe",
    ],
)
def test_what_is_not_there_is_not_found(driven, target):
    answer = driven.get(target)
    assert answer.status in (400, 404)
    assert_sound(answer)


def test_a_frame_of_another_name_is_not_found_in_a_folder(driven, opened):
    address, _ = opened
    for part in ("eyes/zz.jpg", "photo/zz.jpg", "frame/zz", "eyes/..%2f..%2fa.jpg"):
        assert driven.get(f"{address}/{part}").status in (400, 404)


# ---------------------------------------------------------------------------- reading


def test_one_folder_is_read_at_a_time_and_what_cannot_be_read_is_said(driven, tmp_path):
    first = photos_of(tmp_path / "first", DAY)
    other = photos_of(tmp_path / "other", DAY)
    answer = driven.post("/sift", {"do": "begin", "photos": str(first)})
    address = answer.headers["location"]
    refused = driven.post("/sift", {"do": "begin", "photos": str(other)})
    assert refused.status == 409
    assert "first is being read just now" in refused.text
    assert (
        driven.post("/sift", {"do": "begin", "photos": str(first)}).headers["location"] == address
    )
    until = time.monotonic() + A_FOLDER_S
    while json.loads(driven.get(f"{address}/state").text)["busy"] and time.monotonic() < until:
        time.sleep(0.2)
    text = driven.get(address).text
    assert "3 of 3 photos read." in text
    assert text.count("cannot be read") >= 3
    assert str(first) not in driven.get(f"{address}.csv").text
    (first / "a.jpg").unlink()
    (first / "new.jpg").write_bytes(b"\xff\xd8\xff")
    assert "Go on with the rest" in driven.get(address).text
    assert driven.post(address, {"do": "forget"}).status == 303
    assert sorted(one.name for one in first.iterdir()) == ["b.jpg", "c & d.jpg", "new.jpg"]
