"""The session in process: photos sent and read, gone back to, and kept over a restart."""

import json
import os
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.asgi import HERE, PORT, Driven
from tests.laws.test_web_fuzz import BODY, SHARED, assert_sound

from tapemark.services.photos.session_log import begin_session, keep_match, standing
from tapemark.services.photos.session_queue import to_match
from tapemark.store.arriving_files import Arriving, waiting_name
from tapemark.studio import Setup, setup_to_mapping
from tapemark.web import Settings, create_app
from tapemark.web.pages.session_page import LARGE_BODIES
from tapemark.web.session import uploads

PICTURES = sorted((Path(__file__).resolve().parents[1] / "pictures").glob("*.jpg"))
BARE = PICTURES[3]  # nobody wears glasses in it, so no light has to be found
PATIENCE_S = 90.0  # machines are shared
RAW = {"origin": HERE, "accept": "application/json", "content-type": "application/octet-stream"}
PHONE = "192.168.1.77"


def served(path: Path, **settings: Any) -> Any:
    return create_app(Settings(port=PORT, library=path, ready=False, **settings))


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(served(path)) as found:
        yield found


def do(driven: Driven, work: Any) -> Any:
    return driven.run(driven.app.state.desk.library.do(work))


@pytest.fixture(scope="module")
def setup(driven: Driven) -> str:
    return do(driven, lambda library: library.add("setup", name="Desk", body=BODY)).id


@pytest.fixture
def session(driven: Driven, setup: str) -> str:
    return do(driven, lambda library: begin_session(library, setup_id=setup)).id


def send(driven: Driven, session: str, content: bytes, name: str = "IMG_1.jpg", **rest: Any) -> Any:
    target = f"/session/send/{session}?name={name}"
    return driven.ask("POST", target, headers=RAW, body=content, **rest)


def sent(answer: Any) -> Any:
    assert answer.status == 200, answer.text
    (one,) = json.loads(answer.text)["sent"]
    return one


def when_read(driven: Driven, session: str) -> None:
    """Wait until no frame of a session waits."""
    until = time.monotonic() + PATIENCE_S
    while json.loads(driven.get(f"/session/{session}/state").text)["waiting"]:
        assert time.monotonic() < until, "frames are not read"
        time.sleep(0.1)


def log_of(driven: Driven, session: str) -> Any:
    return do(driven, lambda library: library.log(session))


def waiting_files(driven: Driven, session: str = "") -> list[Path]:
    """Photos of a session that wait to be read; with those under way where none is named."""
    folder = do(driven, lambda library: Arriving(library.path).folder)
    found = sorted(folder.iterdir()) if folder.exists() else []
    return [one for one in found if one.suffix == ".part" or one.name.startswith(session)]


# ---------------------------------------------------------------------------- photos come in


def test_a_photo_is_read_and_what_stays_is_small(driven, session):
    told = sent(send(driven, session, BARE.read_bytes(), "IMG_0412.jpg"))
    assert (told["new"], told["refusal"]) == (True, "")
    when_read(driven, session)
    page = driven.get(f"/session/{session}")
    assert_sound(page)
    assert "IMG_0412.jpg" in page.text
    shown = re.findall(rf"/session/{session}/{told['frame']}/\w+\.jpg[^\"]*", page.text)
    assert len(shown) >= 2
    for address in shown:
        picture = driven.get(address)
        assert picture.headers["content-type"] == "image/jpeg"
        assert picture.body.startswith(b"\xff\xd8\xff")
        assert len(picture.body) <= 200_000
    assert waiting_files(driven, session) == []  # the photo itself is not kept
    assert not sent(send(driven, session, BARE.read_bytes(), "again.jpg"))["new"]
    assert waiting_files(driven, session) == []


def test_a_form_without_script_sends_several_and_says_what_was_refused(driven, session):
    body = b"".join(
        b'--xx\r\nContent-Disposition: form-data; name="photo"; filename="' + name + b'"\r\n'
        b"Content-Type: image/jpeg\r\n\r\n" + content + b"\r\n"
        for name, content in (
            (b"../../IMG_1.jpg", BARE.read_bytes()),
            (b"list.pdf", b"%PDF-1.4 " + bytes(40)),
        )
    )
    headers = {"origin": HERE, "content-type": "multipart/form-data; boundary=xx"}
    answer = driven.ask(
        "POST", f"/session/send/{session}", headers=headers, body=body + b"--xx--\r\n"
    )
    assert answer.status == 422
    assert "list.pdf is no photo" in answer.text
    (frame,) = log_of(driven, session).entries(("frame",))
    assert (frame.body["name"], frame.body["folder"]) == ("IMG_1.jpg", "")
    nothing = b'--xx\r\nContent-Disposition: form-data; name="a"\r\n\r\nb\r\n--xx--\r\n'
    answer = driven.ask("POST", f"/session/send/{session}", headers=headers, body=nothing)
    assert "No photo was chosen" in answer.text


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"GIF89a" + bytes(99), "is no photo"),
        (b"PK\x03\x04" + bytes(99), "is no photo"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>" * 9, "is no photo"),
    ],
    ids=["empty", "gif", "zip", "svg"],
)
def test_what_is_no_photo_is_refused_by_its_content(driven, session, content, said):
    assert said in sent(send(driven, session, content, "IMG_1.jpg"))["refusal"]
    assert log_of(driven, session).last("frame") is None
    assert waiting_files(driven, session) == []


def test_a_photo_cut_short_is_a_frame_that_says_so(driven, session):
    sent(send(driven, session, BARE.read_bytes()[:900], "cut.jpg"))
    when_read(driven, session)
    page = driven.get(f"/session/{session}").text
    assert "cut.jpg: is damaged or cut short" in page
    assert waiting_files(driven, session) == []


def test_what_is_too_large_is_refused_whether_it_is_announced_or_not(driven, session, monkeypatch):
    monkeypatch.setattr(uploads, "LARGEST", 50_000)
    answer = send(driven, session, [b"\xff\xd8\xff" + bytes(40_000), bytes(40_000)], "big.jpg")
    assert answer.status == 413
    most = LARGE_BODIES["/session/send/"]
    answer = driven.ask(
        "POST",
        f"/session/send/{session}?name=b.jpg",
        headers={**RAW, "content-length": str(most + 1)},
        body=b"\xff\xd8\xff",
    )
    assert answer.status == 413
    assert waiting_files(driven, session) == []
    assert log_of(driven, session).last("frame") is None


NAMES = st.text(max_size=60) | st.sampled_from(["../../etc/passwd", "C:\\x\\y.cr2", "a" * 999])
CONTENT = st.binary(max_size=400) | st.sampled_from(
    [
        b"\xff\xd8\xff",
        b"\x89PNG\r\n\x1a\n",
        b"II*\x00",
        b"\x00\x00\x00\x18ftypheic",
        b"RIFFxxxxWEBP",
    ]
).flatmap(lambda head: st.binary(max_size=400).map(lambda rest: head + rest))


@settings(max_examples=40, deadline=None, suppress_health_check=SHARED)
@given(name=NAMES, content=CONTENT, cut=st.integers(0, 400))
def test_whatever_is_sent_is_answered_and_stays_within_the_app(driven, setup, name, content, cut):
    from urllib.parse import quote

    key = do(driven, lambda library: begin_session(library)).id
    before = {one.name for one in waiting_files(driven)}
    body = [content[:cut], content[cut:]]
    answer = send(driven, key, body, quote(name.encode("utf-8", "replace"))[:300])
    assert_sound(answer)
    if answer.status == 200:
        told = sent(answer)
        assert "/" not in told["name"]
        assert "\\" not in told["name"]
        assert bool(told["frame"]) != bool(told["refusal"])
    new = {one.name for one in waiting_files(driven)} - before
    assert all(re.fullmatch(r"[0-9a-f]{32}-[0-9a-f]{40}\.\w+", one) for one in new)


def test_an_upload_to_no_session_is_refused_and_leaves_nothing(driven):
    assert send(driven, "0" * 32, BARE.read_bytes()).status == 404
    assert waiting_files(driven, "0" * 32) == []


# ---------------------------------------------------------------------------- said and gone back to


def test_notes_sitters_meters_and_setups_are_said_with_forms(driven, session, setup):
    path = f"/session/{session}"
    assert driven.post(path, {"do": "note", "text": "Zoë <b>blinks</b>"}).status == 303
    assert driven.post(path, {"do": "sitter", "name": "Oriel"}).status == 303
    meter = {"do": "meter", "light": "key", "reading": "f/8", "distance": "1.5 m"}
    assert driven.post(path, meter).status == 303
    page = driven.get(path).text
    assert "Zoë &lt;b&gt;blinks&lt;/b&gt;" in page
    assert "Oriel sits from here on." in page
    assert "Meter: key f/8. Your reading" in page
    for wrong, said in (
        ({"do": "note", "text": " "}, "The note is empty"),
        ({"do": "meter", "light": "key", "reading": "x"}, "an f-number"),
        ({"do": "meter", "light": "", "reading": "x"}, "an f-number"),
        ({"do": "follow", "setup": "none"}, "not in the library"),
        ({"do": "back", "frame": "999"}, "not in the library"),
        ({"do": "pupils", "frame": "1", "x1": "1"}, "Tap both pupils"),
    ):
        answer = driven.post(path, wrong)
        assert answer.status == 422, wrong
        assert said in answer.text
    far = {"do": "meter", "light": "fill", "reading": "f/<8", "distance": "1.2 m"}
    again = driven.post(path, far).text
    assert 'value="f/&lt;8"' in again
    assert 'value="1.2 m"' in again
    assert driven.post(path, {"do": "fly"}).status == 404


def test_a_frame_is_gone_back_to_and_its_setup_is_a_new_version(driven, session, setup):
    frame = sent(send(driven, session, BARE.read_bytes()))["frame"]
    when_read(driven, session)
    before = do(driven, lambda library: library.get(setup))
    changed = {**before.body, "title": f"changed for {session}"}
    do(driven, lambda library: library.save(setup, changed, base_revision=before.revision))
    answer = driven.post(f"/session/{session}", {"do": "back", "frame": str(frame)})
    assert answer.headers["location"] == f"/set/{setup}"
    now = do(driven, lambda library: library.get(setup))
    assert (now.body, now.version) == (before.body, before.version + 2)
    page = driven.get(f"/session/{session}?frame={frame}")
    assert_sound(page)


def test_two_pupils_are_read_again_in_any_order(driven, session):
    frame = sent(send(driven, session, BARE.read_bytes()))["frame"]
    when_read(driven, session)
    log = log_of(driven, session)
    (wearer,) = log.last("reading", about=frame).body["reading"]["wearers"]
    (rx, ry), (lx, ly) = (wearer["eyes"][side]["pupil"] for side in ("right", "left"))
    taps = {"do": "pupils", "frame": str(frame), "x1": lx, "y1": ly, "x2": rx, "y2": ry}
    outside = driven.post(f"/session/{session}", taps | {"x1": 5000, "x2": 6000})
    assert outside.status == 422
    assert "lie in the photo, " in outside.text
    assert driven.post(f"/session/{session}", taps).status == 303
    when_read(driven, session)
    assert len(log.entries(("reading",), about=frame)) == 2  # the first one stays
    body = log.last("reading", about=frame).body
    assert body["from_preview"]  # the photo itself was not kept
    assert body["reading"]["wearers"][0]["confidence"] == 1.0


def test_a_corrected_setup_is_offered_and_taken(driven, session, setup):
    frame = sent(send(driven, session, BARE.read_bytes()))["frame"]
    when_read(driven, session)
    before = do(driven, lambda library: library.get(setup))
    lights = [dict(one) for one in before.body["light"]]
    lights[0] = {**lights[0], "place": {**lights[0]["place"], "height": "1.33 m"}}
    told = {
        "wearers": [
            {
                "number": 1,
                "person": "Ines",
                "named": [],
                "move": None,
                "contradictions": ["key is 7 cm lower than written"],
                "notes": [],
            }
        ],
        "corrected": {**before.body, "light": lights},
        "notes": [],
    }
    do(driven, lambda library: keep_match(library.log(session), frame, told))
    page = driven.get(f"/session/{session}").text
    assert "key is 7 cm lower than written" in page
    assert "Correct the setup" in page
    assert driven.post(f"/session/{session}", {"do": "take", "frame": str(frame)}).status == 303
    assert "The setup was corrected." in driven.get(f"/session/{session}").text
    now = do(driven, lambda library: library.get(setup))
    assert now.body["light"][0]["place"]["height"] == "1.33 m"
    assert now.version == before.version + 1


def test_whose_light_it_is_is_found_for_the_frame_that_is_shown(driven):
    """The lights first, then the one move where anything is to be cleared; kept in the log."""
    shot = PICTURES[1]
    plain = json.loads(shot.with_suffix(".json").read_text())["setup"]
    body = setup_to_mapping(Setup.model_validate(plain))
    setup = do(driven, lambda library: library.add("setup", name="As rendered", body=body)).id
    key = do(driven, lambda library: begin_session(library, setup_id=setup)).id
    frame = sent(send(driven, key, shot.read_bytes(), "IMG_9.jpg"))["frame"]
    when_read(driven, key)
    assert "Looking whose light it is" in driven.get(f"/session/{key}").text
    until = time.monotonic() + PATIENCE_S
    while do(driven, lambda library: to_match(library, key, frame)) is not None:
        assert time.monotonic() < until
        time.sleep(0.2)
    match = log_of(driven, key).last("match", about=frame).body
    assert "error" not in match
    assert [one["person"] for one in match["wearers"]] == [body["sitter"]["name"]]
    known = {"unknown", *(one["name"] for one in body["light"])}
    named = {one["light"] for one in match["wearers"][0]["named"]}
    assert named & known == named
    page = driven.get(f"/session/{key}").text
    assert "Looking" not in page
    assert all(name in page for name in named - {"unknown"})


def test_any_two_frames_are_held_against_each_other(driven, session):
    numbers = [
        sent(send(driven, session, one.read_bytes(), one.name))["frame"] for one in PICTURES[2:5]
    ]
    when_read(driven, session)
    page = driven.get(f"/session/{session}?frame={numbers[2]}&against={numbers[0]}").text
    pair = page[page.index("Before and after") : page.index("The log")]
    assert f"/{numbers[0]}/eyes1.jpg" in pair
    assert f"/{numbers[2]}/eyes1.jpg" in pair
    assert driven.get(f"/session/{session}?frame=1").status == 404
    assert driven.get(f"/own/{session}").status == 200


# ---------------------------------------------------------------------------- a watched folder


def test_a_folder_is_watched_and_what_lay_there_is_passed_over(driven, session, tmp_path):
    (tmp_path / "old.jpg").write_bytes(PICTURES[0].read_bytes())
    form = {"do": "begin", "folder": str(tmp_path)}
    assert driven.post(f"/session/watch/{session}", form).status == 303
    half = BARE.read_bytes()[:20_000]
    (tmp_path / "new.jpg").write_bytes(half)
    time.sleep(1.0)
    (tmp_path / "new.jpg").write_bytes(BARE.read_bytes())
    log, until = log_of(driven, session), time.monotonic() + PATIENCE_S
    while log.last("reading") is None:
        assert time.monotonic() < until
        time.sleep(0.1)
    (frame,) = log.entries(("frame",))
    assert (frame.body["name"], frame.body["folder"]) == ("new.jpg", str(tmp_path))
    assert log.last("reading").body["error"] == ""
    assert sorted(one.name for one in tmp_path.iterdir()) == ["new.jpg", "old.jpg"]
    assert driven.post(f"/session/watch/{session}", {"do": "end"}).status == 303
    assert standing(log).watched == ""


@pytest.mark.parametrize(
    "folder", ["", "capture", "/no/such/folder", "~nobody-at-all/x", "x" * 2000, "\0"]
)
def test_a_folder_that_is_none_is_told(driven, session, folder):
    answer = driven.post(f"/session/watch/{session}", {"do": "begin", "folder": folder})
    assert answer.status == 422
    assert standing(log_of(driven, session)).watched == ""


def test_a_device_in_the_network_cannot_name_a_folder(tmp_path):
    with Driven(served(tmp_path / "library.sqlite", lan=True, names=("192.168.1.5",))) as driven:
        key = do(driven, lambda library: begin_session(library)).id
        token = driven.app.state.desk.sessions.invite()
        host = f"192.168.1.5:{PORT}"
        let_in = driven.get(f"/session/{key}?token={token}", host=host, client=PHONE)
        cookie = let_in.headers["set-cookie"].partition(";")[0]
        there = {"origin": f"http://{host}", "cookie": cookie}
        page = driven.get(f"/session/{key}", headers={"cookie": cookie}, host=host, client=PHONE)
        assert page.status == 200
        assert 'name="folder"' not in page.text
        capture = tmp_path / "capture"
        capture.mkdir()
        here = driven.post(f"/session/watch/{key}", {"do": "begin", "folder": str(capture)})
        assert here.status == 303
        page = driven.get(f"/session/{key}", headers={"cookie": cookie}, host=host, client=PHONE)
        assert "A folder was named" in page.text
        assert str(capture) not in page.text
        assert str(capture) in driven.get(f"/session/{key}").text
        driven.post(f"/session/watch/{key}", {"do": "end"})
        refused = driven.post(
            f"/session/watch/{key}",
            {"do": "begin", "folder": str(tmp_path)},
            headers=there,
            host=host,
            client=PHONE,
        )
        assert refused.status == 403
        assert standing(log_of(driven, key)).watched == ""
        told = driven.ask(
            "POST",
            f"/session/send/{key}?name=a.jpg",
            headers={**RAW, **there},
            body=BARE.read_bytes(),
            host=host,
            client=PHONE,
        )
        assert sent(told)["new"]  # but it may send its own photos
        stranger = {**RAW, "origin": f"http://{host}"}
        told = driven.ask(
            "POST",
            f"/session/send/{key}?name=a.jpg",
            headers=stranger,
            body=BARE.read_bytes(),
            host=host,
            client=PHONE,
        )
        assert told.status == 401


# ---------------------------------------------------------------------------- restarts


def test_what_waits_and_what_is_watched_goes_on_after_a_restart(tmp_path):
    path, folder = tmp_path / "library.sqlite", tmp_path / "capture"
    folder.mkdir()
    with Driven(served(path, long_workers=1)) as driven:
        key = do(driven, lambda library: begin_session(library)).id
        form = {"do": "begin", "folder": str(folder)}
        assert driven.post(f"/session/watch/{key}", form).status == 303
        for number, picture in enumerate(PICTURES):
            sent(send(driven, key, picture.read_bytes(), f"{number}.jpg"))
    (folder / "meanwhile.jpg").write_bytes(BARE.read_bytes() + b"\0")
    with Driven(served(path)) as driven:
        log, until = log_of(driven, key), time.monotonic() + PATIENCE_S
        while len(log.entries(("reading",))) < len(PICTURES) + 1:
            assert time.monotonic() < until
            driven.get(f"/session/{key}/state")
            time.sleep(0.2)
        names = {one.body["name"] for one in log.entries(("frame",))}
        assert names == {"meanwhile.jpg", *(f"{n}.jpg" for n in range(len(PICTURES)))}
        assert [one.body["error"] for one in log.entries(("reading",))] == [""] * 6
        assert waiting_files(driven) == []


def test_what_was_left_over_is_swept_and_what_waits_is_not(tmp_path):
    arriving = Arriving(tmp_path / "library.sqlite")
    for content in (b"waits", b"left over", b"just came"):
        with arriving.begin("a1", suffix=".jpg") as file:
            file.write(content)
            known = file.keep()
        if content != b"just came":
            os.utime(known.path, (1.0, 1.0))
        if content == b"waits":
            wanted = known.digest
    arriving.sweep({waiting_name("a1", wanted)})
    assert sorted(one.read_bytes() for one in arriving.folder.iterdir()) == [b"just came", b"waits"]
    arriving.done("b2", wanted)  # another session's
    assert arriving.path_of("a1", wanted) is not None
    arriving.done("a1", wanted)
    assert arriving.path_of("a1", wanted) is None
    assert arriving.path_of("a1", "../library") is None


ODD = st.none() | st.integers(-9, 9) | st.text(max_size=5) | st.lists(st.integers(), max_size=2)


@settings(max_examples=40, deadline=None, suppress_health_check=SHARED)
@given(data=st.data())
def test_a_log_from_elsewhere_that_says_odd_things_is_answered(driven, read_session, data):
    """Whatever an imported file has in its entries, its page is shown or says it cannot be."""
    bundle = json.loads(read_session)
    (thing,) = bundle["things"]
    thing["id"] = data.draw(st.integers(1, 10**9)).__format__("032x")
    entry = data.draw(st.sampled_from(thing["log"]))
    place = entry["body"]
    for _ in range(data.draw(st.integers(0, 3))):
        inner = [one for one in place.values() if isinstance(one, dict) and one]
        place = data.draw(st.sampled_from(inner)) if inner else place
    place[data.draw(st.sampled_from(sorted(place)))] = data.draw(ODD)
    raw = json.dumps(bundle).encode()
    (came,) = do(driven, lambda library: library.import_bytes(raw)).things
    for path in ("", "?frame=3", "/state"):
        assert_sound(driven.get(f"/session/{came.id}{path}"))


@pytest.fixture(scope="module")
def read_session(driven: Driven, setup: str) -> str:
    """A session of two frames as a file has it."""
    key = do(driven, lambda library: begin_session(library, setup_id=setup)).id
    for picture in (PICTURES[0], BARE):
        sent(send(driven, key, picture.read_bytes()))
    when_read(driven, key)
    bundle = json.loads(do(driven, lambda library: library.export_text([key])))
    del bundle["digest"]
    return json.dumps(bundle)


def test_a_long_log_is_shown_in_parts(driven, session):
    def many(library: Any) -> None:
        log = library.log(session)
        for number in range(70):
            log.add("note", {"text": f"note number {number}."})

    do(driven, many)
    page, seen = driven.get(f"/session/{session}").text, []
    for _ in range(4):
        seen += re.findall(r"note number (\d+)\.", page)
        earlier = re.search(rf"/session/{session}\?before=\d+", page)
        if earlier is None:
            break
        page = driven.get(earlier[0]).text
    assert list(map(int, seen)) == list(range(69, -1, -1))
