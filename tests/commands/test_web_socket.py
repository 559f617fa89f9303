"""Stories of a set's window: what it says over its socket, and what it hears."""

import json
import logging
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from tests.asgi import PORT, WITHIN_S, Closed, Driven, Window
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from tapemark.services import demo_setup_text
from tapemark.store import Library
from tapemark.studio import setup_from_toml, setup_to_mapping
from tapemark.web import ServedApp, Settings, create_app, listen
from tapemark.web.messages import LARGEST, MESSAGES, MessageError, read_message

BODY = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-troubled")))
NEAR = [{"move": "light.key", "x": 1.0, "y": 1.5}]
LOW = [{"set": "light.fill.place.height", "value": "1.2 m"}]


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


@pytest.fixture
def set_id(driven: Driven) -> str:
    return add_set(driven)


def add_set(driven: Driven) -> str:
    library = driven.app.state.desk.library
    return driven.run(library.do(lambda shelf: shelf.add("setup", name="Desk", body=BODY))).id


def kept(driven: Driven, set_id: str) -> Any:
    return driven.run(driven.app.state.desk.library.do(lambda shelf: shelf.get(set_id)))


def greeted(window: Window) -> dict[str, Any]:
    window.say({"do": "hello", "window": "test"})
    return window.hear("state")


def asked(window: Window, message: dict[str, Any]) -> dict[str, Any]:
    window.say(message)
    return window.hear("view", "taken", "elsewhere", "both", "error")


def key_of(view: dict[str, Any]) -> tuple[float, float]:
    key = next(one for one in view["lights"] if one["name"] == "key")
    return key["x"], key["y"]


def height_of(body: dict[str, Any], name: str) -> str:
    return next(one for one in body["light"] if one["name"] == name)["place"]["height"]


# ---------------------------------------------------------------------------- one window


def test_a_window_sees_the_set_tries_takes_and_undoes(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        state = greeted(window)
        assert (state["revision"], state["can_undo"], state["name"]) == (1, False, "Desk")
        assert {"verdict", "lights", "drawings", "findings"} <= set(state["view"])
        before = key_of(state["view"])

        tried = asked(window, {"do": "try", "n": 1, "edits": NEAR})
        assert (tried["say"], tried["n"]) == ("view", 1)
        assert key_of(tried["view"]) == pytest.approx((1.0, 1.5), abs=0.02)
        assert kept(driven, set_id).revision == 1  # nothing is kept by trying

        small = asked(window, {"do": "try", "n": 5, "edits": NEAR, "drawings": ["side"]})
        assert set(small["view"]["drawings"]) == {"side"}  # a phone shows one at a time
        assert small["view"]["verdict"] == tried["view"]["verdict"]
        has = small["view"]["drawings"]["side"]["marks"]
        again = {"do": "try", "n": 6, "edits": NEAR, "drawings": ["side"], "has": has}
        known = asked(window, again)["view"]["drawings"]["side"]
        assert (known["marks"], known["parts"]) == (has, {})  # nothing is sent twice

        taken = asked(window, {"do": "take", "n": 2, "base": 1, "edits": NEAR})
        assert (taken["say"], taken["n"], taken["revision"]) == ("taken", 2, 2)
        assert "key" in taken["words"]
        assert taken["can_undo"]
        assert kept(driven, set_id).revision == 2

        undone = asked(window, {"do": "undo", "n": 3, "base": 2})
        assert (undone["revision"], undone["can_redo"]) == (3, True)
        assert key_of(undone["view"]) == before
        assert re.fullmatch(r"undone: key, moved \d+ cm", undone["words"])
        assert "nothing to undo" in asked(window, {"do": "undo", "n": 8, "base": 3})["words"]
        redone = asked(window, {"do": "redo", "n": 4, "base": 3})
        assert key_of(redone["view"]) == key_of(taken["view"])
        assert redone["words"] == undone["words"].replace("undone", "done again")


def test_what_cannot_be_is_refused_in_one_line_and_the_talk_goes_on(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        edit = {"set": "light.key.place.height", "value": "1.9"}
        refused = asked(window, {"do": "take", "n": 7, "base": 1, "edits": [edit]})
        assert (refused["say"], refused["n"]) == ("error", 7)
        assert "1.9" in refused["text"]
        assert "Traceback" not in refused["text"]
        nobody = asked(window, {"do": "try", "n": 8, "edits": [{"move": "light.nobody", "x": 0}]})
        assert nobody["say"] == "error"
        assert asked(window, {"do": "try", "n": 9, "edits": NEAR})["say"] == "view"
    assert kept(driven, set_id).revision == 1


def test_a_whole_setup_as_a_move_offers_it_can_be_tried_and_taken(driven, set_id):
    whole = json.loads(json.dumps(BODY))
    whole["light"][0]["place"]["height"] = "1.95 m"
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        assert asked(window, {"do": "try", "n": 1, "setup": whole})["say"] == "view"
        taken = asked(window, {"do": "take", "n": 2, "base": 1, "setup": whole, "why": "move 1"})
        assert taken["say"] == "taken"
        bad = asked(window, {"do": "take", "n": 3, "base": 2, "setup": {"room": 3}})
        assert (bad["say"], bool(bad["problems"])) == ("error", True)
    assert kept(driven, set_id).body["light"][0]["place"]["height"] == "1.95 m"


def test_an_answer_that_got_lost_is_asked_for_again_and_kept_once(driven, set_id):
    take = {"do": "take", "n": 2, "base": 1, "edits": NEAR}
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        first = asked(window, take)
    with driven.socket(f"/live/{set_id}") as window:
        assert greeted(window)["revision"] == 2
        again = asked(window, take)
    assert (again["say"], again["revision"]) == ("taken", first["revision"])


def test_of_tries_that_wait_only_the_newest_is_answered(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        for n in range(1, 31):
            edits = [{"move": "light.key", "x": 0.5 + n / 100, "y": 1.5}]
            window.say({"do": "try", "n": n, "edits": edits})
        heard = []
        while 30 not in heard:
            heard.append(window.hear("view")["n"])
        assert heard == sorted(heard)
        assert len(heard) < 30
        assert window.waiting() == 0


def test_a_set_that_is_not_there_is_told_and_closed(driven):
    with driven.socket("/live/nothing") as window:
        told = window.hear("error")
        assert "library" in told["text"]
        assert window.end().code == 4404


# ---------------------------------------------------------------------------- two windows


def test_another_window_hears_of_a_change(driven, set_id):
    with driven.socket(f"/live/{set_id}") as mine, driven.socket(f"/live/{set_id}") as theirs:
        greeted(mine), greeted(theirs)
        taken = asked(mine, {"do": "take", "n": 1, "base": 1, "edits": NEAR})
        changed = theirs.hear("changed")
        assert changed["revision"] == taken["revision"]
        assert changed["view"] == taken["view"]
        assert changed["words"] == taken["words"]


def test_changes_of_different_things_are_merged_and_none_is_lost(driven, set_id):
    with driven.socket(f"/live/{set_id}") as mine, driven.socket(f"/live/{set_id}") as theirs:
        greeted(mine), greeted(theirs)
        asked(theirs, {"do": "take", "n": 1, "base": 1, "edits": NEAR})
        late = asked(mine, {"do": "take", "n": 5, "base": 1, "edits": LOW})
        assert (late["say"], late["can_merge"], late["clashes"]) == ("elsewhere", True, [])
        assert kept(driven, set_id).revision == 2
        merged = asked(mine, {"do": "merge", "n": 5})
        assert (merged["say"], merged["revision"]) == ("taken", 3)
    body = kept(driven, set_id).body
    assert height_of(body, "fill") == "1.2 m"
    assert body["light"][0]["place"] != BODY["light"][0]["place"]


def test_changes_of_the_same_thing_clash_and_both_can_be_kept(driven, set_id):
    high = [{"set": "light.key.place.height", "value": "2.1 m"}]
    higher = [{"set": "light.key.place.height", "value": "2.2 m"}]
    with driven.socket(f"/live/{set_id}") as mine, driven.socket(f"/live/{set_id}") as theirs:
        greeted(mine), greeted(theirs)
        asked(theirs, {"do": "take", "n": 1, "base": 1, "edits": high})
        late = asked(mine, {"do": "take", "n": 5, "base": 1, "edits": higher})
        assert (late["say"], late["can_merge"]) == ("elsewhere", False)
        assert "2.2 m" in late["clashes"][0]
        assert asked(mine, {"do": "merge", "n": 5})["say"] == "elsewhere"
        both = asked(mine, {"do": "keep both", "n": 5})
        assert both["say"] == "both"
        assert asked(mine, {"do": "keep both", "n": 5})["say"] == "error"  # decided already
    assert height_of(kept(driven, set_id).body, "key") == "2.1 m"
    assert height_of(kept(driven, both["id"]).body, "key") == "2.2 m"


def test_a_clash_can_be_settled_for_one_side(driven, set_id):
    high = [{"set": "light.key.place.height", "value": "2.1 m"}]
    higher = [{"set": "light.key.place.height", "value": "2.2 m"}]
    with driven.socket(f"/live/{set_id}") as mine, driven.socket(f"/live/{set_id}") as theirs:
        greeted(mine), greeted(theirs)
        asked(theirs, {"do": "take", "n": 1, "base": 1, "edits": high})
        asked(mine, {"do": "take", "n": 5, "base": 1, "edits": higher})
        settled = asked(mine, {"do": "merge", "n": 5, "prefer": "mine"})
    assert settled["say"] == "taken"
    assert height_of(kept(driven, set_id).body, "key") == "2.2 m"


def test_undo_of_a_stale_window_changes_nothing(driven, set_id):
    with driven.socket(f"/live/{set_id}") as mine, driven.socket(f"/live/{set_id}") as theirs:
        greeted(mine), greeted(theirs)
        asked(theirs, {"do": "take", "n": 1, "base": 1, "edits": NEAR})
        stale = asked(mine, {"do": "undo", "n": 2, "base": 1})
    assert (stale["say"], stale["revision"]) == ("elsewhere", 2)
    assert kept(driven, set_id).revision == 2


# ---------------------------------------------------------------------------- what is not sense

NONSENSE = [
    "", "{", "null", "[]", "7", '"hello"', "[" * 5000, '{"do":"try","n":NaN,"edits":[]}',
    '{"do":"fly"}', '{"do":"try"}', '{"do":"try","n":-1,"edits":[]}', '{"do":["try"],"n":1}',
    '{"do":"try","n":1,"edits":[1]}', '{"do":"try","n":1,"edits":[],"setup":{}}',
    '{"do":"map","n":1,"light":"\\ud800"}', '{"do":"take","n":1e400,"base":1,"edits":[]}',
    '{"do":"undo","n":1,"base":1,"more":true}', '{"do":"undo","n":true,"base":1}',
]  # fmt: skip


@pytest.mark.parametrize("text", NONSENSE)
def test_nonsense_cannot_be_read(text):
    with pytest.raises(MessageError) as refused:
        read_message(text)
    assert "\n" not in str(refused.value)


def test_nonsense_is_answered_and_the_talk_goes_on_until_it_is_too_much(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        for text in NONSENSE[:10]:
            window.frame(text=text)
            assert window.hear()["say"] == "error"
        assert asked(window, {"do": "try", "n": 1, "edits": NEAR})["say"] == "view"
        for text in NONSENSE[:10]:
            window.frame(text=text)
        closed = window.end()
    assert closed.code == 1008


def test_bytes_instead_of_text_end_the_talk(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        window.frame(bytes=b"\x00\xff")
        closed = window.end()
    assert closed.code == 1003


@pytest.mark.parametrize("message", [{"do": "here"}, {"do": "undo", "n": 1, "base": 1}])
def test_a_flood_ends_the_talk_with_a_reason(driven, set_id, message):
    with driven.socket(f"/live/{set_id}") as window:
        for _ in range(1000):
            window.say(message)
        closed = window.end()
    assert closed.code == 1008
    assert "messages" in closed.reason.lower()
    assert len(driven.app.state.desk.windows) == 0


def test_a_message_larger_than_the_limit_is_refused():
    with pytest.raises(MessageError, match="larger"):
        read_message(json.dumps({"do": "hello", "window": "x" * LARGEST}))


def test_every_message_is_answered_somewhere():
    handled = "".join(
        Path(sys.modules[f"tapemark.web.set_screen.{one}"].__file__).read_text(encoding="utf-8")
        for one in ("live_set", "live_socket")
    )
    assert [one for one in MESSAGES if f'"{one}"' not in handled] == []


# ---------------------------------------------------------------------------- long work


def test_long_work_tells_how_far_it_is_and_another_window_is_not_kept_waiting(driven, set_id):
    with driven.socket(f"/live/{set_id}") as busy, driven.socket(f"/live/{set_id}") as other:
        greeted(busy), greeted(other)
        busy.say({"do": "moves", "n": 1, "keep": ["pattern"]})
        assert busy.hear("progress")["n"] == 1
        assert asked(other, {"do": "try", "n": 2, "edits": NEAR})["say"] == "view"
        assert asked(busy, {"do": "try", "n": 3, "edits": NEAR})["say"] == "view"
        found = busy.hear("moves")
        assert found["n"] == 1
        assert {"what", "name", "change", "setup"} <= set(found["moves"][0])


def test_newer_long_work_takes_the_place_of_older_and_can_be_stopped(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        window.say({"do": "moves", "n": 1})
        window.hear("progress")
        window.say({"do": "moves", "n": 2})
        assert window.hear("stopped")["n"] == 1
        window.say({"do": "stop", "n": 3})
        assert window.hear("stopped")["n"] == 2


def test_a_map_comes_as_layers_of_a_light_that_there_is(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        window.say({"do": "map", "n": 4, "light": "nobody"})
        assert window.hear("map", "error")["say"] == "error"
        window.say({"do": "map", "n": 1, "light": "key"})
        found = window.hear("map", "error")
    assert {"svg", "side_svg", "words"} <= set(found)
    assert found["light"] == "key"


# ---------------------------------------------------------------------------- processes


def alive(pid: int) -> bool:
    """Whether a process runs; one that ended and was not collected does not."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"


def gone_within(pids: tuple[int, ...], seconds: float) -> bool:
    until = time.monotonic() + seconds
    while any(alive(pid) for pid in pids) and time.monotonic() < until:
        time.sleep(0.02)
    return not any(alive(pid) for pid in pids)


needs_proc = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")


def test_a_process_that_dies_is_replaced_and_nobody_notices(driven, set_id):
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        for pid in driven.app.state.desk.workers.pids:
            os.kill(pid, signal.SIGKILL)
        assert asked(window, {"do": "try", "n": 1, "edits": NEAR})["say"] == "view"


def test_a_window_that_goes_in_mid_try_costs_no_process(driven, set_id):
    workers = driven.app.state.desk.workers
    with driven.socket(f"/live/{set_id}") as window:
        greeted(window)
        before = set(workers.pids)
        window.say({"do": "try", "n": 1, "edits": NEAR})
    with driven.socket(f"/live/{set_id}") as window:
        assert asked(window, {"do": "try", "n": 1, "edits": LOW})["say"] == "view"
    assert before <= set(workers.pids)


@needs_proc
def test_nothing_is_left_behind_when_the_app_ends_in_mid_work(tmp_path):
    with Driven(
        create_app(Settings(port=PORT, library=tmp_path / "l.sqlite", ready=False))
    ) as driven:
        set_id = add_set(driven)
        with driven.socket(f"/live/{set_id}") as window:
            window.say({"do": "moves", "n": 1})
            window.hear("progress")
            pids = driven.app.state.desk.workers.pids
            assert pids
    assert gone_within(pids, 5.0)


ALONE = """
import asyncio, sys
from tapemark.web.workers.team import Workers

async def main():
    workers = Workers(ready=False)
    await workers.start()
    await workers.live("tapemark.web.tasks:ready")
    print(*workers.pids, flush=True)
    await asyncio.sleep(60)

asyncio.run(main())
"""


@needs_proc
def test_nothing_is_left_behind_when_the_app_is_killed():
    app = subprocess.Popen([sys.executable, "-c", ALONE], stdout=subprocess.PIPE, text=True)
    assert app.stdout is not None
    with app, app.stdout:
        pids = tuple(int(word) for word in app.stdout.readline().split())
        app.kill()
    assert pids
    assert gone_within(pids, 5.0)


# ---------------------------------------------------------------------------- over a real port


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str, Any]]:
    """Address of a served app, of a set's socket there, and the app."""
    path = tmp_path_factory.mktemp("served") / "library.sqlite"
    with Library.open(path) as library:
        set_id = library.add("setup", name="Desk", body=BODY).id
    listening = listen("127.0.0.1", 0)
    app = create_app(Settings(port=listening.getsockname()[1], library=path, ready=False))
    with ServedApp(app, listening) as running:
        live = f"{running.address.replace('http', 'ws')}/live/"
        yield running.address, live + set_id, app


def test_a_text_that_is_no_text_ends_the_talk_and_is_told_in_one_line(served):
    address, where, _ = served
    told: list[logging.LogRecord] = []
    listener = logging.Handler()
    listener.emit = told.append  # type: ignore[method-assign]
    log = logging.getLogger("uvicorn.error")
    log.addHandler(listener)
    try:
        with connect(where, origin=address) as window:
            window.send(b"\xff\xfe", text=True)
            with pytest.raises(ConnectionClosed):
                window.recv(timeout=WITHIN_S)
    finally:
        log.removeHandler(listener)
    assert [one.getMessage() for one in told if "UTF-8" in one.getMessage()]
    assert all(one.exc_info is None for one in told)


def test_only_pages_of_the_app_reach_a_socket_over_a_real_port(served):
    origin, where, _ = served
    for wrong in ("http://evil.example", None, origin.replace("127.0.0.1", "localhost")):
        with pytest.raises(InvalidStatus, match="403"), connect(where, origin=wrong):
            pass
    with connect(where.rpartition("/")[0] + "/nothing", origin=origin) as window:
        assert json.loads(window.recv(WITHIN_S))["say"] == "error"
        with pytest.raises(ConnectionClosed) as closed:
            window.recv(WITHIN_S)
    assert closed.value.rcvd.code == 4404


def test_a_frame_that_is_too_large_and_a_killed_browser_harm_nobody(served):
    origin, where, app = served
    with connect(where, origin=origin) as staying:
        with connect(where, origin=origin) as large:
            large.send("x" * (LARGEST + 1))
            with pytest.raises(ConnectionClosed) as closed:
                large.recv(WITHIN_S)
        assert closed.value.rcvd.code == 1009
        with connect(where, origin=origin) as killed:
            killed.socket.shutdown(socket.SHUT_RDWR)  # as when a browser is killed
        staying.send(json.dumps({"do": "hello", "window": "w"}))
        assert json.loads(staying.recv(WITHIN_S))["say"] == "state"
        assert len(app.state.desk.windows) == 1


RUBBISH = [
    b"\x16\x03\x01\x02\x00", b"GET / HTTP/9.9\r\n\r\n", b"\r\n" * 50, b"GET " + b"a" * 70_000,
    b"POST / HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nZZ\r\n",
    b"GET / HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\n",
    b"GET /live/x HTTP/1.1\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\r\n",
]  # fmt: skip


def test_rubbish_on_the_port_and_connections_left_open_harm_nobody(served):
    origin, where, _ = served
    place = ("127.0.0.1", int(origin.rpartition(":")[2]))
    with ExitStack() as left_open:
        for raw in RUBBISH:
            one = left_open.enter_context(socket.create_connection(place, WITHIN_S))
            one.sendall(raw)
        half = left_open.enter_context(socket.create_connection(place, WITHIN_S))
        half.sendall(b"GET / HTTP/1.1\r\nHo")
        with connect(where, origin=origin) as window:
            window.send("{")
            assert json.loads(window.recv(WITHIN_S))["say"] == "error"


def test_work_that_is_asked_for_by_name_answers_or_refuses(driven):
    driven.app.state.work["nothing"] = "tapemark.web.tasks:nothing"
    with driven.socket("/work") as window:
        window.say({"do": "begin", "n": 1, "work": "os.system", "with": {"x": 1}})
        assert "no work called" in window.hear("error")["text"]
        window.say({"do": "begin", "n": 2, "work": "nothing", "with": []})
        assert window.hear("error")["n"] == 2
        window.say({"do": "begin", "n": 3, "work": "nothing"})
        fault = window.hear("error")  # there is no such function: a fault, with a mark
        assert fault["n"] == 3
        assert re.search(r"fault [0-9a-f]{6}", fault["text"])
        window.say({"do": "try", "n": 4, "edits": []})
        assert window.hear("error")["n"] == 4
    with pytest.raises(Closed), driven.socket("/work", headers={"origin": "http://x.example"}):
        pass


def test_when_the_app_ends_its_windows_are_told_so(tmp_path):
    listening = listen("127.0.0.1", 0)
    port = listening.getsockname()[1]
    with Library.open(tmp_path / "l.sqlite") as library:
        set_id = library.add("setup", name="Desk", body=BODY).id
    app = create_app(Settings(port=port, library=tmp_path / "l.sqlite", ready=False))
    with ExitStack() as windows:
        with ServedApp(app, listening) as running:
            where = f"ws://127.0.0.1:{port}/live/{set_id}"
            window = windows.enter_context(connect(where, origin=running.address))
        with pytest.raises(ConnectionClosed) as closed:
            window.recv(WITHIN_S)
    assert closed.value.rcvd.code == 1012
