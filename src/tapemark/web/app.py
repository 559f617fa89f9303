"""The app, put together: pages, sockets, static files, and the guard before them all."""

import contextlib
from collections.abc import AsyncIterator, Callable
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route, WebSocketRoute

from tapemark.errors import TapemarkError
from tapemark.web.answering import go_to, trouble
from tapemark.web.desk import Desk, Shelf, desk_of
from tapemark.web.faults import Faults
from tapemark.web.guard import Guard
from tapemark.web.opened_files import OpenedFiles
from tapemark.web.page_list import large_bodies, page_routes, page_tabs, page_work
from tapemark.web.sessions import Sessions
from tapemark.web.set_screen.live_socket import live_socket
from tapemark.web.settings import Settings
from tapemark.web.static_files import static_file
from tapemark.web.windows import Windows
from tapemark.web.work_socket import work_socket
from tapemark.web.workers.team import Workers

if TYPE_CHECKING:
    from tapemark.store.library import Library


def create_app(
    settings: Settings, *, open_library: "Callable[[], Library] | None" = None
) -> Starlette:
    """Return the app.

    Parameters
    ----------
    settings : Settings
        Port, library and who may use it.
    open_library : callable, optional
        Opens the library; without it the file of the settings, or the user's own.
    """
    sessions = Sessions()
    desk = Desk(
        settings=settings,
        library=Shelf(open_library or _opener(settings)),
        workers=Workers(
            live=settings.live_workers, long=settings.long_workers, ready=settings.ready
        ),
        sessions=sessions,
        windows=Windows(),
    )
    app = Starlette(
        routes=_routes(),
        lifespan=_lifespan,
        exception_handlers={HTTPException: _refused, TapemarkError: _foreseen},
        middleware=[
            Middleware(Guard, settings=settings, sessions=sessions, large_bodies=large_bodies()),
            Middleware(Faults),
        ],
    )
    app.state.desk = desk
    app.state.work = page_work()
    app.state.tabs = page_tabs()
    app.state.opened_files = OpenedFiles()
    app.state.endings = []  # awaited when the app ends: what pages have going on in it
    return app


def _routes() -> list[BaseRoute]:
    return [
        Route("/", _last_set),
        Route("/set", _last_set),
        Route("/static/{name:path}", static_file),
        WebSocketRoute("/live/{id}", live_socket),
        WebSocketRoute("/work", work_socket),
        *page_routes(),
    ]


@contextlib.asynccontextmanager
async def _lifespan(app: Starlette) -> AsyncIterator[None]:
    desk: Desk = app.state.desk
    await desk.workers.start()
    try:
        yield
    finally:
        for end in app.state.endings:
            await end()
        await desk.windows.close()
        await desk.workers.stop()
        await desk.library.close()


def _opener(settings: Settings) -> "Callable[[], Library]":
    def open_it() -> "Library":
        from tapemark.store.library import Library

        return Library.open(settings.library)

    return open_it


async def _last_set(request: Request) -> Response:
    """Go to the set that was worked on last; with none, to the start."""
    lines = await desk_of(request).library.do(lambda library: library.kept("setup"))
    last = max(lines, key=lambda line: line.changed_at, default=None)
    return go_to("/start" if last is None else f"/set/{last.id}")


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        text, advice = "There is no such page.", "Choose a page above."
    elif error.status_code == 405:
        text, advice = "This page does not take that.", "Go back and try again."
    else:
        text, advice = str(error.detail), "Go back and try again."
    answer = trouble(request, text, what_to_do=advice, status=error.status_code)
    answer.headers.update(error.headers or {})
    return answer


async def _foreseen(request: Request, error: Exception) -> Response:
    status = 404 if isinstance(error, LookupError) else 400
    return trouble(request, str(error), what_to_do="Go back and try again.", status=status)
