"""The app on a port of this machine, in front or beside other work."""

import contextlib
import logging
import socket
import threading
import time
from collections.abc import Callable
from types import TracebackType

import uvicorn
from starlette.types import ASGIApp

from tapemark.web.messages import LARGEST

CLOSING_S = 3  # what requests under way get when the app is closed
START_LIMIT_S = 20.0


def listen(host: str, port: int) -> socket.socket:
    """Return a socket that listens; port 0 takes a free one.

    Raises
    ------
    OSError
        The port is taken, or not allowed.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    found = socket.socket(family, socket.SOCK_STREAM)
    try:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # where reuse would share the port
            found.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((host, port))
        found.listen(128)
    except OSError:
        found.close()
        raise
    return found


def serve(
    app: ASGIApp, listening: socket.socket, *, ready: Callable[[], None] = lambda: None
) -> None:
    """Serve the app until Ctrl-C or a request to end.

    Parameters
    ----------
    app : ASGI application
        The app.
    listening : socket
        From `listen`.
    ready : callable
        Called once, when it answers.
    """
    with contextlib.suppress(KeyboardInterrupt):
        _server(app, ready).run(sockets=[listening])


class ServedApp:
    """The app served from a thread, for as long as a ``with`` block lasts.

    Parameters
    ----------
    app : ASGI application
        The app.
    listening : socket
        From `listen`.
    """

    def __init__(self, app: ASGIApp, listening: socket.socket) -> None:
        self._server = _server(app)
        self._socket = listening
        self._thread = threading.Thread(target=self._run, name="app", daemon=True)

    @property
    def address(self) -> str:
        """Where a browser finds it."""
        host, port = self._socket.getsockname()[:2]
        return f"http://{host}:{port}"

    def __enter__(self) -> "ServedApp":
        self._thread.start()
        until = time.monotonic() + START_LIMIT_S
        while not self._server.started:
            if time.monotonic() > until or not self._thread.is_alive():
                raise RuntimeError("the app does not start")
            time.sleep(0.01)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._server.should_exit = True
        self._thread.join(timeout=START_LIMIT_S)

    def _run(self) -> None:
        self._server.run(sockets=[self._socket])


class _Server(uvicorn.Server):
    """A server that says when it answers."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            self._ready()


def _in_one_line(record: logging.LogRecord) -> bool:
    """Leave out where in the server a text that is no UTF-8 was met: the line says it all."""
    if record.exc_info and isinstance(record.exc_info[1], UnicodeDecodeError):
        record.exc_info = record.exc_text = None
    return True


def _server(app: ASGIApp, ready: Callable[[], None] = lambda: None) -> uvicorn.Server:
    logging.getLogger("uvicorn.error").addFilter(_in_one_line)
    return _Server(
        uvicorn.Config(
            app,
            ws="websockets-sansio",
            ws_max_size=LARGEST,
            ws_ping_interval=20.0,
            ws_ping_timeout=20.0,  # a half-open socket is noticed
            proxy_headers=False,  # nobody may say that they are somebody else
            server_header=False,
            access_log=False,  # addresses may carry a token
            log_level="warning",
            limit_concurrency=256,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=CLOSING_S,
            h11_max_incomplete_event_size=32_000,
        ),
        ready,
    )
