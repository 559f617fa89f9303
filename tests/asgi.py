"""Drives the app in process, below any HTTP library: raw paths, raw headers, raw frames.

with Driven(app) as driven:
    answer = driven.get("/start")
    with driven.socket("/live/1") as window:
        window.say({"do": "hello", "window": "w"})
        answer = window.hear("state")
"""

import asyncio
import contextlib
import json
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote_to_bytes, urlencode

PORT = 8431
HOST = f"127.0.0.1:{PORT}"
HERE = f"http://{HOST}"
WITHIN_S = 30.0

Pairs = list[tuple[bytes, bytes]]


@dataclass(frozen=True)
class Answer:
    """What came back for a request."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode("utf-8")


class Closed(Exception):
    """The app closed the socket."""

    def __init__(self, code: int, reason: str) -> None:
        super().__init__(f"{code} {reason}")
        self.code = code
        self.reason = reason


def header_pairs(headers: Mapping[str, str] | Pairs | None, *, host: str | None) -> Pairs:
    if isinstance(headers, list):
        return headers
    given = {} if host is None else {"host": host}
    given |= {name.lower(): value for name, value in (headers or {}).items()}
    return [(name.encode("latin-1"), value.encode("latin-1")) for name, value in given.items()]


def scope_of(kind: str, target: str | bytes, headers: Pairs, *, client: str) -> dict[str, Any]:
    raw = target if isinstance(target, bytes) else target.encode("latin-1")
    path, _, query = raw.partition(b"?")
    return {
        "type": kind,
        "asgi": {"version": "3.0", "spec_version": "2.4"},
        "http_version": "1.1",
        "scheme": "http" if kind == "http" else "ws",
        "path": unquote_to_bytes(path).decode("utf-8", "replace"),
        "raw_path": path,
        "query_string": query,
        "root_path": "",
        "headers": headers,
        "client": (client, 50123),
        "server": ("127.0.0.1", PORT),
        "state": {},
    }


class Window:
    """One web socket to the app."""

    def __init__(self, driven: "Driven", scope: dict[str, Any]) -> None:
        self._driven = driven
        self._in: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        self._out: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        scope |= {"subprotocols": []}
        self._in.put_nowait({"type": "websocket.connect"})
        self._task = driven.start(driven.app(scope, self._in.get, self._out.put))
        first = self._next()
        if first["type"] != "websocket.accept":
            raise Closed(first.get("code", 1000), first.get("reason", ""))

    def frame(self, **frame: Any) -> None:
        self._driven.loop.call_soon_threadsafe(
            self._in.put_nowait, {"type": "websocket.receive", **frame}
        )

    def say(self, message: Any) -> None:
        self.frame(text=json.dumps(message))

    def hear(self, *kinds: str) -> dict[str, Any]:
        """The next message, of one of the kinds if there are any; others are passed over."""
        while True:
            event = self._next()
            if event["type"] == "websocket.close":
                raise Closed(event.get("code", 1000), event.get("reason", ""))
            message: dict[str, Any] = json.loads(event["text"])
            if not kinds or message["say"] in kinds:
                return message

    def end(self) -> Closed:
        """How the app closes the socket, after whatever it still says."""
        while True:
            try:
                self.hear()
            except Closed as closed:
                return closed

    def waiting(self) -> int:
        return self._out.qsize()

    def leave(self) -> None:
        self._driven.loop.call_soon_threadsafe(
            self._in.put_nowait, {"type": "websocket.disconnect", "code": 1001}
        )
        self._task.result(WITHIN_S)

    def _next(self) -> dict[str, Any]:
        return self._driven.run(asyncio.wait_for(self._out.get(), WITHIN_S))


class Driven:
    """The app, started, with its event loop in a thread."""

    def __init__(self, app: Any) -> None:
        self.app = app
        self.loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._turn, daemon=True)
        self._lifespan: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        self._answers: asyncio.Queue[dict[str, Any]] = asyncio.Queue()

    def __enter__(self) -> "Driven":
        self._thread.start()
        self._alive = self.start(
            self.app({"type": "lifespan", "state": {}}, self._lifespan.get, self._answers.put)
        )
        self._lifespan_step("startup")
        return self

    def __exit__(self, *_: object) -> None:
        self._lifespan_step("shutdown")
        self._alive.result(WITHIN_S)
        self.run(self.loop.shutdown_default_executor())
        self.loop.call_soon_threadsafe(self.loop.stop)
        self._thread.join(WITHIN_S)
        self.loop.close()

    def start(self, work: Any) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self.loop)

    def run(self, work: Any) -> Any:
        return self.start(work).result(WITHIN_S)

    def get(self, target: str | bytes, **rest: Any) -> Answer:
        return self.ask("GET", target, **rest)

    def post(self, target: str, form: Mapping[str, str] | None = None, **rest: Any) -> Answer:
        """Send a form as a page of the app would."""
        headers = {"content-type": "application/x-www-form-urlencoded", "origin": HERE}
        headers |= rest.pop("headers", {})
        return self.ask(
            "POST", target, headers=headers, body=urlencode(form or {}).encode(), **rest
        )

    def ask(
        self,
        method: str,
        target: str | bytes,
        *,
        headers: Mapping[str, str] | Pairs | None = None,
        body: bytes | list[bytes] = b"",
        host: str | None = HOST,
        client: str = "127.0.0.1",
    ) -> Answer:
        scope = scope_of("http", target, header_pairs(headers, host=host), client=client)
        return self.run(self._asked(scope | {"method": method}, body))

    @contextlib.contextmanager
    def socket(
        self,
        target: str | bytes,
        *,
        headers: Mapping[str, str] | Pairs | None = None,
        host: str | None = HOST,
        client: str = "127.0.0.1",
    ) -> Iterator[Window]:
        if headers is None:
            headers = {"origin": HERE}
        scope = scope_of("websocket", target, header_pairs(headers, host=host), client=client)
        window = Window(self, scope)
        try:
            yield window
        finally:
            window.leave()

    async def _asked(self, scope: dict[str, Any], body: bytes | list[bytes]) -> Answer:
        chunks = [body] if isinstance(body, bytes) else list(body)
        events = [
            {"type": "http.request", "body": one, "more_body": k < len(chunks) - 1}
            for k, one in enumerate(chunks)
        ]
        sent: list[dict[str, Any]] = []

        async def receive() -> dict[str, Any]:
            if events:
                return events.pop(0)
            await asyncio.sleep(0)
            return {"type": "http.disconnect"}

        async def send(message: dict[str, Any]) -> None:
            sent.append(message)

        await asyncio.wait_for(self.app(scope, receive, send), WITHIN_S)
        first = sent[0]
        headers = {k.decode("latin-1"): v.decode("latin-1") for k, v in first["headers"]}
        return Answer(first["status"], headers, b"".join(one.get("body", b"") for one in sent[1:]))

    def _lifespan_step(self, step: str) -> None:
        self.loop.call_soon_threadsafe(self._lifespan.put_nowait, {"type": f"lifespan.{step}"})
        answer = self.run(asyncio.wait_for(self._answers.get(), WITHIN_S))
        assert answer["type"] == f"lifespan.{step}.complete", answer

    def _turn(self) -> None:
        asyncio.set_event_loop(self.loop)
        self.loop.run_forever()
