"""Files that people send: taken by their content, within bounds, their names never used."""

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from tests.asgi import Answer, Driven

from tapemark.errors import TapemarkError
from tapemark.web.forms import LONGEST_SHOWN, read_fields, read_upload, shown_name

MOST = 2_000_000
PNG = b"\x89PNG\r\n\x1a\n" + bytes(100)


async def take(request: Request) -> Response:
    try:
        found = await read_upload(request, "file", kinds=("PNG", "text"), most=MOST)
    except TapemarkError as error:
        return PlainTextResponse(str(error), status_code=400)
    return PlainTextResponse(f"{found.kind} {len(found.content)} {found.shown_name}")


async def fields(request: Request) -> Response:
    found = await read_fields(request)
    return PlainTextResponse(repr(sorted(found.items())))


@pytest.fixture(scope="module")
def driven() -> Iterator[Driven]:
    routes = [Route("/take", take, methods=["POST"]), Route("/fields", fields, methods=["POST"])]
    with Driven(Starlette(routes=routes)) as found:
        yield found


def sent(driven: Driven, content: bytes, *, name: str = "a.png", field: str = "file") -> Answer:
    body = (
        f'--x\r\nContent-Disposition: form-data; name="{field}"; filename="{name}"\r\n'
        "Content-Type: image/png\r\n\r\n"
    ).encode() + content + b"\r\n--x--\r\n"  # fmt: skip
    headers = {"content-type": "multipart/form-data; boundary=x"}
    return driven.ask("POST", "/take", headers=headers, body=body)


def test_a_file_is_taken_by_what_is_in_it(driven):
    assert sent(driven, PNG, name="notes.exe").text == f"PNG {len(PNG)} notes.exe"
    assert sent(driven, b"room = 1", name="a.png").text.startswith("text 8")
    refused = sent(driven, b"MZ\x00\x90", name="a.png")
    assert (refused.status, "PNG or text" in refused.text) == (400, True)


def test_no_file_an_empty_one_and_one_too_large_are_refused(driven):
    assert "chosen" in sent(driven, PNG, field="other").text
    assert "empty" in sent(driven, b"").text
    assert sent(driven, PNG + bytes(MOST)).status == 413


@given(name=st.text(max_size=200))
def test_a_name_is_one_short_printable_word(name):
    shown = shown_name(name)
    assert 0 < len(shown) <= LONGEST_SHOWN
    assert shown.isprintable()
    assert "/" not in shown
    assert "\\" not in shown


@pytest.mark.parametrize(
    "name", ["../../x.toml", "..\\..\\x.toml", "C:\\studio\\x.toml", "/srv/x.toml/"]
)
def test_folders_are_no_part_of_a_name(name):
    assert shown_name(name) == "x.toml"


def test_a_form_has_only_so_many_fields_and_no_files(driven):
    headers = {"content-type": "application/x-www-form-urlencoded"}
    few = driven.ask("POST", "/fields", headers=headers, body=b"a=1&b=%C3%A9")
    assert few.text == "[('a', '1'), ('b', 'é')]"
    many = "&".join(f"f{k}=1" for k in range(500)).encode()
    assert driven.ask("POST", "/fields", headers=headers, body=many).status == 400
    headers = {"content-type": "multipart/form-data; boundary=x"}
    file = b'--x\r\nContent-Disposition: form-data; name="a"; filename="b"\r\n\r\nc\r\n--x--\r\n'
    assert driven.ask("POST", "/fields", headers=headers, body=file).status == 400
