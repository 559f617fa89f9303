"""Whatever is sent to any address of the app: no fault, no trace of the code, no file of the disk.

Addresses come from the app's own list of routes and messages from the table that says what a
window may say, so that a new page or message is met here without being written down again.
"""

import json
import string
import tracemalloc
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from starlette.routing import Mount, Route, WebSocketRoute
from tests.asgi import HERE, HOST, PORT, Driven

from tapemark.services import demo_setup_text
from tapemark.studio import setup_from_toml, setup_to_mapping
from tapemark.web import Settings, create_app
from tapemark.web.messages import LARGEST, MESSAGES, MessageError, read_message
from tapemark.web.static_files import static_table

BODY = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-troubled")))
TRACES = ("Traceback", 'File "', "site-packages", "sqlite3.", "tapemark/web/", ".py")
METHODS = ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "TRACE", "BREW")
KINDS = (
    "application/json", "application/x-www-form-urlencoded", "text/plain", "", "application/json;;",
    "multipart/form-data; boundary=x", "multipart/form-data", "image/jpeg", "\x7f",
)  # fmt: skip

PAGES = [route for route in create_app(Settings(port=PORT)).routes if isinstance(route, Route)]
SHARED = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
A_PAGE = settings(max_examples=8, suppress_health_check=SHARED)
A_TALK = settings(max_examples=12, suppress_health_check=SHARED)


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    path = tmp_path_factory.mktemp("library") / "library.sqlite"
    with Driven(create_app(Settings(port=PORT, library=path, ready=False))) as found:
        yield found


@pytest.fixture(scope="module")
def set_id(driven: Driven) -> str:
    library = driven.app.state.desk.library
    return driven.run(library.do(lambda shelf: shelf.add("setup", name="Desk", body=BODY))).id


def assert_sound(answer: Any) -> None:
    assert answer.status < 500, answer.body[:500]
    if answer.headers.get("content-type", "").startswith(("text/html", "application/json")):
        assert [one for one in TRACES if one in answer.body.decode()] == []
    assert answer.headers["content-security-policy"].startswith("default-src 'self'")


# ---------------------------------------------------------------------------- pages

words = st.text(string.printable + "é\u202e\U0001f4a1", max_size=40)
values = st.one_of(words, st.sampled_from(["", "null", "-1", "0", "9" * 400, "NaN", "[]", "{}"]))


def forms(data: st.DataObject) -> bytes:
    """Bodies of requests: bytes, forms, JSON, broken uploads."""
    pairs = st.dictionaries(words, values, max_size=5)
    json_text = st.recursive(
        st.none() | st.booleans() | st.floats() | words, st.lists, max_leaves=8
    )
    found = data.draw(
        st.one_of(
            st.binary(max_size=200),
            pairs.map(lambda form: "&".join(f"{k}={v}" for k, v in form.items()).encode()),
            json_text.map(lambda value: json.dumps(value).encode()),
            st.binary(max_size=80).map(
                lambda raw: (
                    b'--x\r\nContent-Disposition: form-data; name="file"; '
                    b'filename="../../x"\r\nContent-Type: image/png\r\n\r\n'
                    + raw
                    + b"\r\n--x--\r\n"
                )
            ),
        )
    )
    assert isinstance(found, bytes)
    return found


@pytest.mark.parametrize("route", PAGES, ids=lambda route: route.path)
@A_PAGE
@given(data=st.data())
def test_no_request_to_any_page_makes_a_fault(driven, set_id, route, data):
    pieces = st.one_of(st.just(set_id), st.text(string.ascii_letters + "-._~:+%é", max_size=20))
    path = route.path
    for name in route.param_convertors:
        piece = data.draw(pieces) if route.path != "/static/{name:path}" else data.draw(words)
        path = path.replace(f"{{{name}:path}}", piece).replace(f"{{{name}}}", piece)
    method = data.draw(st.sampled_from(METHODS))
    assume(not (method in {"GET", "HEAD"} and set_id in path))  # looked at below, once
    query = data.draw(st.one_of(st.just(""), words.map(lambda text: f"?{text}")))
    headers = {
        "origin": HERE,
        "content-type": data.draw(st.sampled_from(KINDS)),
        "accept": data.draw(st.sampled_from(["text/html", "application/json", "*/*", ""])),
        "cookie": data.draw(st.sampled_from(["", "tapemark_theme=\x7f", ";;=;", "a=b; a=c"])),
    }
    body = forms(data) if method not in {"GET", "HEAD"} else b""
    target = (path + query).encode("utf-8", "surrogatepass")
    assert_sound(driven.ask(method, target, headers=headers, body=body))


@pytest.mark.parametrize("route", PAGES, ids=lambda route: route.path)
def test_every_page_of_a_set_that_is_there_can_be_looked_at(driven, set_id, route):
    path = route.path
    for name in route.param_convertors:
        path = path.replace(f"{{{name}:path}}", set_id).replace(f"{{{name}}}", set_id)
    assert_sound(driven.get(path))


def test_the_routes_are_pages_and_sockets_and_no_folder_is_served():
    routes = create_app(Settings(port=PORT)).routes
    assert [route for route in routes if isinstance(route, Mount)] == []
    assert len(PAGES) >= 4
    assert [route.path for route in routes if isinstance(route, WebSocketRoute)]


# ---------------------------------------------------------------------------- static files

SECRET = "root"
CLIMBS = ("../", "..%2f", "%2e%2e/", "....//", "..\\", "..%5c", "/", "%252e%252e%252f", ".%00./")


@given(
    climb=st.sampled_from(CLIMBS),
    times=st.integers(1, 9),
    name=st.sampled_from(
        ["app.py", "templates/base.html", "etc/hosts", "css/base.css", "__init__.py"]
    ),
)
@settings(max_examples=40, suppress_health_check=SHARED)
def test_nothing_but_the_listed_files_is_ever_sent(driven, climb, times, name):
    answer = driven.get(f"/static/{climb * times}{name}")
    assert answer.status in {303, 400, 404}
    assert SECRET not in answer.text


@pytest.mark.parametrize("name", sorted(static_table()))
def test_each_listed_file_comes_with_its_kind_and_only_once(driven, name):
    answer = driven.get(f"/static/{name}")
    assert answer.status == 200
    assert answer.body == static_table()[name].content
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert not answer.headers["content-type"].startswith("text/html")
    again = driven.get(f"/static/{name}", headers={"if-none-match": answer.headers["etag"]})
    assert (again.status, again.body) == (304, b"")


# ---------------------------------------------------------------------------- messages

FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "count": st.integers(0, 5),
    "count or null": st.none() | st.integers(0, 5),
    "name": st.sampled_from(["key", "fill", "nobody"]) | st.text(min_size=1, max_size=20),
    "words": st.text(max_size=40),
    "names": st.lists(st.sampled_from(["pattern", "ratio", "nothing"]), max_size=3),
    "marks": st.lists(st.sampled_from(["0123456789ab", "", "x"]), max_size=3),
    "setup": st.just(BODY) | st.dictionaries(st.text(max_size=8), st.integers(), max_size=3),
    "side": st.sampled_from(["mine", "theirs"]),
    "edits": st.lists(
        st.dictionaries(
            st.sampled_from(["set", "move", "raise", "turn", "add", "remove", "rename", "value",
                             "x", "y", "z", "deg", "body", "name", "aim", "at"]),
            st.one_of(
                st.sampled_from(["light.key", "light.key.place.height", "sitter.head", "camera",
                                 "light", "1.4 m", "key"]),
                st.floats(), st.none(), st.text(max_size=12), st.just({}), st.just([[]]),
            ),
            max_size=3,
        ),
        max_size=3,
    ),
}  # fmt: skip


@st.composite
def messages(draw: st.DrawFn) -> dict[str, Any]:
    """Messages as the table has them, now and then with a field missing, changed or too many."""
    what = draw(st.sampled_from(sorted(set(MESSAGES) - {"map", "moves"})))
    found = {"do": what}
    for name, field in MESSAGES[what].items():
        if field.needed or draw(st.booleans()):
            found[name] = draw(FIELDS[field.kind])
    if what in {"try", "take"} and draw(st.integers(0, 9)):
        found.pop("setup" if "edits" in found else "edits", None)
    if not draw(st.integers(0, 7)):
        found[draw(st.sampled_from(["n", "base", "edits", "x"]))] = draw(
            st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.lists(st.none())
        )
    return found


@given(st.one_of(st.text(), st.binary().map(lambda raw: raw.decode("latin-1")),
                 messages().map(json.dumps)))  # fmt: skip
@settings(max_examples=150)
@example("[" * 60_000)
@example('{"a":' * 10_000)
@example('{"n":' + "9" * 60_000 + "}")
def test_a_text_is_a_message_of_the_table_or_refused_in_one_line(text):
    message, refused = {}, ""
    try:
        message = read_message(text)
    except MessageError as error:
        refused = str(error)
    assert bool(message) is not bool(refused)
    assert len(refused) < 300
    assert "\n" not in refused
    assert not message or set(message) - {"do"} <= set(MESSAGES[message["do"]])


@A_TALK
@given(said=st.lists(messages(), min_size=1, max_size=8))
def test_no_messages_make_a_fault_and_the_next_window_is_served(driven, set_id, said):
    with driven.socket(f"/live/{set_id}") as window:
        last = {"do": "undo", "n": 77, "base": 2**40}  # answered after all others
        for message in [*said, last]:
            window.say(message)
        heard: dict[str, Any] = {}
        while heard.get("n") != 77:
            heard = window.hear()
            assert "fault" not in heard.get("text", ""), (said, heard)
        assert heard["say"] == "elsewhere"
    assert len(driven.app.state.desk.windows) == 0


def test_a_window_that_never_stops_costs_bounded_memory(driven, set_id):
    frame = json.dumps({"do": "try", "n": 1, "edits": [{"set": "x" * 50_000}]})
    assert len(frame) < LARGEST
    tracemalloc.start()
    try:
        for _ in range(5):
            with driven.socket(f"/live/{set_id}") as window:
                for _ in range(400):
                    window.frame(text=frame)
                assert window.end().code == 1008
        now, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < 120_000_000  # five times 400 frames are 100 MB; most are never kept
    assert now < 10_000_000
    assert HOST.startswith("127.0.0.1")
