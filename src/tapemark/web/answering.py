"""Answers of the pages: a filled-in template, a way on, or what went wrong and what to do."""

import functools
import logging
import secrets
from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from tapemark.web.apart import apart
from tapemark.web.static_files import static_address

THEMES = ("light", "dark")
_LOG = logging.getLogger("tapemark.web")


@functools.cache
def _templates() -> jinja2.Environment:
    found = jinja2.Environment(
        loader=jinja2.PackageLoader("tapemark.web"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals["static"] = static_address
    found.filters["apart"] = apart
    return found


def page(request: Request, template: str, *, status: int = 200, **context: Any) -> Response:
    """Return a page from a template in ``web/templates``.

    Parameters
    ----------
    request : Request
        What is answered.
    template : str
        Name of the template, such as ``"start.html"``.
    status : int
        HTTP status.
    **context
        What the template shows. ``theme`` (the stored choice or ""), ``here`` (the path) and
        ``tabs`` (address and word of each page) are always there.
    """
    theme = request.cookies.get("tapemark_theme", "")
    text = (
        _templates()
        .get_template(template)
        .render(
            theme=theme if theme in THEMES else "",
            here=request.url.path,
            tabs=request.app.state.tabs,
            **context,
        )
    )
    return HTMLResponse(text, status_code=status, headers={"Cache-Control": "no-store"})


def go_to(path: str) -> Response:
    """Return the way on to another page of the app, after a form or from an old address."""
    return RedirectResponse(path, status_code=303)


def trouble(request: Request, text: str, *, what_to_do: str, status: int = 400) -> Response:
    """Return a page, or JSON where that was asked for, that says what went wrong."""
    if wants_json(request):
        return JSONResponse({"error": {"text": text, "what_to_do": what_to_do}}, status_code=status)
    return page(request, "error.html", status=status, text=text, what_to_do=what_to_do)


def wants_json(request: Request) -> bool:
    """Whether the sender is one of the app's scripts, not somebody following a link."""
    accepts = request.headers.get("accept", "")
    return "application/json" in accepts and "text/html" not in accepts


def log_fault(error: BaseException, *, where: str) -> str:
    """Write an unforeseen error to the log under a short mark, and return the mark."""
    mark = secrets.token_hex(3)
    _LOG.error("%s: fault %s", where, mark, exc_info=error)
    return mark
