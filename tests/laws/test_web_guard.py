"""Who is let through to the app: Host, Origin, token, session, path and size, whatever is sent."""

import asyncio
import string
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.asgi import HOST, PORT, Answer, header_pairs, scope_of

from tapemark.web import Settings
from tapemark.web.asking import host_allowed, plain_path
from tapemark.web.guard import MOST_BODY, Guard
from tapemark.web.sessions import SESSION_LIFE_S, TOKEN_LIFE_S, Sessions

ALONE = Settings(port=PORT)
LAN = Settings(port=PORT, lan=True, names=("192.168.7.20", "studio.local"))
OWN_NAMES = ("127.0.0.1", "localhost", "[::1]")
PHONE = "192.168.7.31"
LAN_HOST = f"192.168.7.20:{PORT}"

names = st.text(string.ascii_lowercase + string.digits + ".-", min_size=1, max_size=30)
ports = st.one_of(st.just(""), st.integers(0, 99999).map(lambda port: f":{port}"))


async def inner(scope: Any, receive: Any, send: Any) -> None:
    """What is guarded: says that it was reached, after reading the whole body."""
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.accept"})
        return
    size, more = 0, True
    while more:
        message = await receive()
        size, more = size + len(message.get("body", b"")), message.get("more_body", False)
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": f"reached, {size}".encode()})


def asked(
    method: str = "GET",
    target: str | bytes = "/",
    *,
    settings: Settings = ALONE,
    sessions: Sessions | None = None,
    headers: Any = None,
    host: str | None = HOST,
    client: str = "127.0.0.1",
    body: tuple[bytes, ...] = (b"",),
    kind: str = "http",
    large: dict[str, int] | None = None,
) -> Answer:
    """What the guard, with `inner` behind it, answers; sockets give 101 or 403."""
    sent: list[dict[str, Any]] = []
    chunks = [
        {"type": "http.request", "body": one, "more_body": k < len(body) - 1}
        for k, one in enumerate(body)
    ]

    async def receive() -> dict[str, Any]:
        return chunks.pop(0) if kind == "http" else {"type": "websocket.connect"}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    guard = Guard(inner, settings=settings, sessions=sessions or Sessions(), large_bodies=large)
    scope = scope_of(kind, target, header_pairs(headers, host=host), client=client)
    scope |= {"method": method} if kind == "http" else {"subprotocols": []}
    asyncio.run(guard(scope, receive, send))
    if kind == "websocket":
        return Answer(101 if sent[0]["type"] == "websocket.accept" else 403, {}, b"")
    found = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return Answer(sent[0]["status"], found, b"".join(one.get("body", b"") for one in sent[1:]))


# ---------------------------------------------------------------------------- host


@given(name=names, port=ports)
def test_only_the_apps_own_names_and_port_are_answered(name, port):
    right = name in OWN_NAMES and port == f":{PORT}"
    assert host_allowed(f"{name}{port}", settings=ALONE) is right


@pytest.mark.parametrize("name", [*OWN_NAMES, "LOCALHOST"])
def test_every_name_of_this_machine_is_answered_on_the_right_port(name):
    assert host_allowed(f"{name}:{PORT}", settings=ALONE)
    assert not host_allowed(f"{name}:{PORT + 1}", settings=ALONE)
    assert not host_allowed(name, settings=ALONE)


def test_the_usual_port_is_left_out_as_browsers_do():
    assert host_allowed("127.0.0.1", settings=Settings(port=80))


@pytest.mark.parametrize(
    "host",
    [
        "evil.example:8431", "127.0.0.1.evil.example:8431", "localhost.:8431", "localhost:8431@x",
        "x@localhost:8431", "localhost:8431:8431", "[::1]:8431/", "127.0.0.1:08431", "", ":8431",
        "127.0.0.1:8431 ", "127.1:8431", "2130706433:8431", "0.0.0.0:8431", "0:8431", "[::]:8431",
        "192.168.7.20:8431",
    ],
)  # fmt: skip
def test_names_that_look_like_ours_are_not(host):
    assert not host_allowed(host, settings=ALONE)
    assert asked(host=host).status == 421


@given(address=st.ip_addresses(v=4))
def test_in_the_network_private_addresses_are_answered_and_public_ones_not(address):
    right = address.is_private and not address.is_unspecified
    assert host_allowed(f"{address}:{PORT}", settings=LAN) is right


@pytest.mark.parametrize("headers", [[], [(b"host", HOST.encode()), (b"host", b"evil.example")]])
def test_no_host_and_two_hosts_are_refused(headers):
    assert asked(headers=headers).status == 421
    assert asked(headers=headers, kind="websocket").status == 403


# ---------------------------------------------------------------------------- origin


@given(
    scheme=st.sampled_from(["http", "https", "file", "null", ""]),
    name=st.one_of(st.sampled_from(OWN_NAMES), names),
    port=ports,
    method=st.sampled_from(["POST", "PUT", "DELETE"]),
)
def test_what_changes_something_must_come_from_this_very_address(scheme, name, port, method):
    origin = f"{scheme}://{name}{port}"
    right = origin == f"http://{HOST}"
    answer = asked(method, headers={"origin": origin})
    assert (answer.status == 200) is right
    assert asked(headers={"origin": origin}, kind="websocket").status == (101 if right else 403)


@pytest.mark.parametrize(
    "headers",
    [
        {}, {"origin": "null"}, {"origin": ""}, {"origin": f"http://{HOST}/"},
        {"origin": f"http://{HOST}", "sec-fetch-site": "cross-site", "sec-fetch-mode": "cors"},
        {"origin": f"http://x@{HOST}"}, {"origin": "http://[::1"},
        {"origin": f"http://localhost:{PORT}"},  # another name of this machine: not this page
    ],
)  # fmt: skip
def test_origins_that_say_nothing_or_something_else_are_refused(headers):
    assert asked("POST", headers=headers).status == 403
    assert asked(headers=headers, kind="websocket").status == 403


def test_two_origins_are_refused():
    pairs = [(b"host", HOST.encode()), *[(b"origin", f"http://{HOST}".encode())] * 2]
    assert asked("POST", headers=pairs).status == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_other_sites_may_link_here_but_not_embed(site):
    for mode in ("no-cors", "cors", "websocket"):
        embedding = {"sec-fetch-site": site, "sec-fetch-mode": mode}
        assert asked(headers=embedding).status == 403
    link = {"sec-fetch-site": site, "sec-fetch-mode": "navigate"}
    assert asked(headers=link).status == 200


@pytest.mark.parametrize("method", ["TRACE", "CONNECT", "OPTIONS", "PATCH", "PROPFIND"])
def test_unusual_methods_are_refused(method):
    assert asked(method, headers={"origin": f"http://{HOST}"}).status == 405


# ---------------------------------------------------------------------------- devices


def test_a_device_in_the_network_is_let_in_once_for_a_token():
    sessions = Sessions()
    ask = {"settings": LAN, "sessions": sessions, "host": LAN_HOST}
    assert asked(client=PHONE, **ask).status == 401
    token = sessions.invite()
    exchanged = asked(target=f"/set/1?token={token}&tab=2", client=PHONE, **ask)
    assert (exchanged.status, exchanged.headers["location"]) == (303, "/set/1?tab=2")
    cookie = exchanged.headers["set-cookie"]
    assert cookie.startswith(f"tapemark_{PORT}=")
    assert {"HttpOnly", "SameSite=Lax", "Path=/"} <= set(cookie.split("; "))
    assert token not in cookie
    held = {"cookie": cookie.split(";")[0], "origin": f"http://{LAN_HOST}"}
    assert asked(headers=held, client=PHONE, **ask).status == 200
    assert asked(headers=held, client=PHONE, kind="websocket", **ask).status == 101
    assert asked(target=f"/?token={token}", client="192.168.7.99", **ask).status == 401


def test_a_token_in_the_path_never_leads_off_the_app():
    sessions = Sessions()
    ask = {"settings": LAN, "sessions": sessions, "host": LAN_HOST, "client": PHONE}
    away = asked(target=f"//evil.example/?token={sessions.invite()}", **ask)
    assert away.status == 400
    near = asked(target=f"/?token={sessions.invite()}&next=http://evil.example", **ask)
    assert near.headers["location"].startswith("/?next=http%3A")


@given(token=st.text(max_size=60), session=st.text(max_size=60))
def test_no_made_up_token_or_session_lets_anybody_in(token, session):
    sessions = Sessions()
    sessions.invite()
    assert sessions.redeem(token, device=PHONE) is None
    assert not sessions.holds(session)
    safe = "".join(letter for letter in session if letter.isalnum() and letter.isascii())
    answer = asked(
        target=f"/?token={safe}",
        settings=LAN, sessions=sessions, client=PHONE, host=LAN_HOST,
        headers={"cookie": f"tapemark_{PORT}={safe}"},
    )  # fmt: skip
    assert answer.status == 401


def test_tokens_and_sessions_run_out():
    now = [0.0]
    sessions = Sessions(clock=lambda: now[0])
    early, late = sessions.invite(), sessions.invite()
    session = sessions.redeem(early, device=PHONE)
    assert session is not None
    now[0] = TOKEN_LIFE_S + 1.0
    assert sessions.redeem(late, device=PHONE) is None
    now[0] = SESSION_LIFE_S - 1.0
    assert sessions.holds(session)
    now[0] += SESSION_LIFE_S - 1.0  # its use has kept it alive
    assert sessions.holds(session)
    now[0] += SESSION_LIFE_S + 1.0
    assert not sessions.holds(session)


def test_a_token_is_of_one_device_that_may_scan_it_again():
    sessions = Sessions()
    token = sessions.invite()
    first, again = (sessions.redeem(token, device=PHONE) for _ in range(2))
    assert first
    assert again
    assert first != again
    assert sessions.redeem(token, device="192.168.7.99") is None


def test_a_thousand_links_leave_little_behind():
    sessions = Sessions()
    held = [sessions.redeem(sessions.invite(), device=PHONE) for _ in range(1000)]
    assert sum(sessions.holds(one) for one in held if one) <= 64


def test_the_header_of_a_proxy_makes_nobody_local():
    spoofed = {"x-forwarded-for": "127.0.0.1", "forwarded": "for=127.0.0.1"}
    answer = asked(headers=spoofed, settings=LAN, client=PHONE, host=LAN_HOST)
    assert answer.status == 401


def test_styles_are_there_for_whoever_is_refused_and_nothing_else_is():
    ask = {"settings": LAN, "client": PHONE, "host": LAN_HOST}
    assert asked(target="/static/css/base.css", **ask).status == 200
    assert asked(target="/static/../own", **ask).status == 400


# ---------------------------------------------------------------------------- paths and sizes

TRICKS = [
    "/static/../../hosts", "/static/%2e%2e/%2e%2e/hosts", "/static/..%2f..%2fetc/passwd",
    "/static/..%5c..%5cwindows", "/static/%00", "/%0d%0aset-cookie:x=1", "//evil.example/",
    "/static/.../..", "/a\\b", "/static/%2E%2E/x", "/x%7f", "/\x00", "/" + "a" * 600,
]  # fmt: skip


@pytest.mark.parametrize("target", TRICKS)
def test_tricks_with_paths_are_refused(target):
    answer = asked(target=target.encode("latin-1"))
    assert answer.status == 400
    assert b"reached" not in answer.body


@given(raw=st.binary(max_size=80))
def test_no_path_with_dots_slashes_or_controls_in_code_is_plain(raw):
    scope = scope_of("http", b"/" + raw.replace(b"?", b""), [], client="127.0.0.1")
    if plain_path(scope):
        parts = scope["path"].split("/")
        assert not {".", ".."} & set(parts)
        assert scope["path"].isprintable()
        assert "\\" not in scope["path"]
        assert b"%2f" not in scope["raw_path"].lower()


@given(sizes=st.lists(st.integers(0, MOST_BODY // 2), max_size=6), announced=st.booleans())
def test_bodies_end_at_the_limit_announced_or_not(sizes, announced):
    headers = {"origin": f"http://{HOST}"}
    if announced:
        headers["content-length"] = str(sum(sizes))
    body = tuple(bytes(size) for size in sizes) or (b"",)
    if sum(sizes) <= MOST_BODY:
        assert asked("POST", headers=headers, body=body).body == f"reached, {sum(sizes)}".encode()
    elif announced:
        assert asked("POST", headers=headers, body=body).status == 413
    else:
        with pytest.raises(Exception, match="413"):  # the app's own layers turn it into a page
            asked("POST", headers=headers, body=body)


@pytest.mark.parametrize(
    ("target", "taken"),
    [("/own/import", True), ("/photo/7", True), ("/own/importer", False), ("/photo", False)],
)
def test_more_may_be_sent_only_where_a_page_says_so(target, taken):
    large = {"/own/import": 3 * MOST_BODY, "/photo/": 3 * MOST_BODY}
    headers = {"origin": f"http://{HOST}", "content-length": str(2 * MOST_BODY)}
    body = (bytes(2 * MOST_BODY),)
    answer = asked("POST", target, headers=headers, body=body, large=large)
    assert answer.status == (200 if taken else 413)


@pytest.mark.parametrize("length", ["-1", "1e9", "٣", "9" * 40, "", "0x10"])
def test_odd_lengths_are_refused(length):
    if not length.isascii():
        length = length.encode().decode("latin-1")
    headers = {"origin": f"http://{HOST}", "content-length": length}
    assert asked("POST", headers=headers).status == 400


def test_every_answer_carries_the_policy():
    for answer in (asked(), asked(host="evil.example"), asked(target="/../x")):
        policy = dict(
            rule.split(" ", 1) for rule in answer.headers["content-security-policy"].split("; ")
        )
        assert policy["default-src"] == "'self'"
        assert policy["script-src"] == policy["style-src"] == "'self'"
        assert policy["frame-ancestors"] == policy["object-src"] == policy["base-uri"] == "'none'"
        assert "unsafe" not in answer.headers["content-security-policy"]
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["cross-origin-opener-policy"] == "same-origin"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
