"""Who may ask, from where, for what, and how much may be sent: before any page is reached.

One pure ASGI layer for pages and sockets alike. In this order:

1. *Host* must be a name this app answers to, so that no other name can be pointed at it.
2. The path must be plain: no dot segments, no coded slashes, no control characters.
3. What changes something, and every socket, must come from a page of this app (*Origin*); what
   another site embeds is refused as well (*Sec-Fetch-Site*).
4. A device in the network needs a session, which it gets once for a token.
5. Bodies end at a limit.

Answers leave with a strict content policy.
"""

import functools
import re
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tapemark.web import asking
from tapemark.web.answering import trouble
from tapemark.web.asking import (
    cookie_of,
    from_here,
    host_allowed,
    plain_path,
    token_of,
    without_token,
)
from tapemark.web.sessions import SESSION_LIFE_S, Sessions
from tapemark.web.settings import Settings

SAFE = ("GET", "HEAD")
METHODS = (*SAFE, "POST", "PUT", "DELETE")
MOST_BODY = 1_000_000  # a filled-in form, or a setup [bytes]
OPEN_TO_ALL = "/static/"  # the app's own styles, so that a refusal can be read

_FIXED = {
    "X-Content-Type-Options": "nosniff",
    # not "no-referrer": browsers then send "Origin: null" with the app's own forms
    "Referrer-Policy": "same-origin",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
}


Answers = Callable[[Request], Awaitable[Response]]


def on_this_machine(page: Answers) -> Answers:
    """Return a page that answers only who asks on the machine that the app runs on.

    For whatever names files or folders of that machine: a device in the network is refused,
    whether it was let in or not. `tapemark.web.asking.on_this_machine` tells which of both it is,
    to leave out what would be refused.
    """

    @functools.wraps(page)
    async def answered(request: Request) -> Response:
        if asking.on_this_machine(request.scope):
            return await page(request)
        return trouble(
            request,
            "This is for the computer only that tapemark runs on: it names folders there.",
            what_to_do="Do it on that computer, or choose another page here.",
            status=403,
        )

    return answered


@dataclass(frozen=True, kw_only=True, slots=True)
class Refusal:
    """Why a request goes no further.

    Attributes
    ----------
    status : int
        HTTP status.
    text, what_to_do : str
        For whoever reads it.
    """

    status: int
    text: str
    what_to_do: str


class Guard:
    """The layer before all pages.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    settings : Settings
        Port, names, and whether devices in the network may join.
    sessions : Sessions
        Which of them may.
    large_bodies : mapping of str to int
        Paths, or beginnings of paths with a slash at their end, to which more may be sent than
        `MOST_BODY`. [bytes]
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        settings: Settings,
        sessions: Sessions,
        large_bodies: Mapping[str, int] | None = None,
    ) -> None:
        self._app = app
        self._settings = settings
        self._sessions = sessions
        self._large = dict(large_bodies or {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it here."""
        if scope["type"] not in {"http", "websocket"}:
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = self._refusal(scope, headers)
        if scope["type"] == "websocket":
            if refused is None:
                await self._app(scope, receive, send)
            else:
                await send({"type": "websocket.close", "code": 1008, "reason": refused.text[:100]})
            return
        send = _with_headers(send, _policy(headers.get("host", "") if refused is None else ""))
        token = token_of(scope) if refused is None or refused.status == 401 else None
        if token is not None:
            await self._let_in(token, scope, headers, send)
        elif refused is not None:
            await _answer(refused, send)
        else:
            await self._bounded(scope, receive, send)

    def _refusal(self, scope: Scope, headers: Headers) -> Refusal | None:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not host_allowed(hosts[0], settings=self._settings):
            return Refusal(
                status=421,
                text="This address does not belong to tapemark.",
                what_to_do="Open the address that tapemark printed when it started.",
            )
        if not plain_path(scope):
            return Refusal(
                status=400,
                text="This address cannot be read.",
                what_to_do="Go back to the first page of tapemark.",
            )
        changes = scope["type"] == "websocket" or scope["method"] not in SAFE
        if not from_here(headers, host=hosts[0], changes=changes, scope=scope):
            return Refusal(
                status=403,
                text="This came from another site, so nothing was done.",
                what_to_do="Use the pages of tapemark itself.",
            )
        if scope["type"] == "http" and scope["method"] not in METHODS:
            return Refusal(
                status=405,
                text="This cannot be asked of tapemark.",
                what_to_do="Go back to the first page of tapemark.",
            )
        return self._stranger(scope, headers)

    def _stranger(self, scope: Scope, headers: Headers) -> Refusal | None:
        """Refuse a device in the network that has no session."""
        if not self._settings.lan or asking.on_this_machine(scope):
            return None
        if scope["path"].startswith(OPEN_TO_ALL):
            return None
        if self._sessions.holds(cookie_of(headers, self._settings.cookie)):
            return None
        return Refusal(
            status=401,
            text="This device has not been let in, or the link has been used or has run out.",
            what_to_do="Ask for a new link where tapemark was started, and open it here.",
        )

    async def _let_in(self, token: str, scope: Scope, headers: Headers, send: Send) -> None:
        """Exchange a token for a session, and go on to the same address without it."""
        device = (scope.get("client") or ("", 0))[0]
        session = self._sessions.redeem(token, device=device) if scope["method"] == "GET" else None
        answer = [(b"location", without_token(scope).encode("ascii")), (b"content-length", b"0")]
        if session is not None:
            cookie = (
                f"{self._settings.cookie}={session}; Path=/; HttpOnly; SameSite=Lax; "
                f"Max-Age={int(SESSION_LIFE_S)}"
            )
            answer.append((b"set-cookie", cookie.encode("ascii")))
        elif (refused := self._stranger(scope, headers)) is not None:
            await _answer(refused, send)
            return
        await send({"type": "http.response.start", "status": 303, "headers": answer})
        await send({"type": "http.response.body", "body": b""})

    def _most(self, path: str) -> int:
        """Return how much may be sent to a path; one listed with a slash at its end has many."""
        if path in self._large:
            return self._large[path]
        found = [
            most for one, most in self._large.items() if one[-1] == "/" and path.startswith(one)
        ]
        return max(found, default=MOST_BODY)

    async def _bounded(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on; its body ends at the limit."""
        most = self._most(scope["path"])
        left = most
        refused = Refusal(
            status=413,
            text=f"This is larger than {_size(most)}, the most that can be sent here.",
            what_to_do="Choose a smaller file.",
        )
        announced = Headers(scope=scope).get("content-length", "0")
        if not announced.isascii() or not announced.isdigit() or len(announced) > 18:
            await _answer(Refusal(status=400, text="This cannot be read.", what_to_do=""), send)
            return
        if int(announced) > most:
            await _answer(refused, send)
            return

        async def counted() -> Message:
            nonlocal left
            message = await receive()
            left -= len(message.get("body", b""))
            if left < 0:
                raise HTTPException(413, refused.text)
            return message

        await self._app(scope, counted, send)


def _policy(host: str) -> dict[str, str]:
    """Return the headers that every answer carries."""
    socket = f" ws://{host}" if re.fullmatch(r"[\w.:\[\]-]+", host) else ""
    rules = (
        "default-src 'self'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        f"connect-src 'self'{socket}",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
    return {"Content-Security-Policy": "; ".join(rules), **_FIXED}


def _with_headers(send: Send, fixed: Mapping[str, str]) -> Send:
    async def answered(message: Message) -> None:
        if message["type"] == "http.response.start":
            message.setdefault("headers", [])
            headers = MutableHeaders(scope=message)
            for name, value in fixed.items():
                headers[name] = value
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return answered


async def _answer(refused: Refusal, send: Send) -> None:
    """Answer in plain HTML: it must not depend on anything that may be at fault."""
    text = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>tapemark</title>'
        '<meta name="viewport" content="width=device-width">'
        '<link rel="stylesheet" href="/static/css/base.css"></head><body class="page">'
        f'<main><div class="sheet narrow"><h1>tapemark</h1><p class="lead">{refused.text}</p>'
        f"<p>{refused.what_to_do}</p></div></main></body></html>"
    ).encode()
    headers = [
        (b"content-type", b"text/html; charset=utf-8"),
        (b"content-length", str(len(text)).encode()),
    ]
    if refused.status == 413:
        headers.append((b"connection", b"close"))
    await send({"type": "http.response.start", "status": refused.status, "headers": headers})
    await send({"type": "http.response.body", "body": text})


def _size(most: int) -> str:
    return f"{most // 1_000_000} MB" if most >= 1_000_000 else f"{most // 1000} kB"
