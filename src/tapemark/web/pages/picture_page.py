"""The rendered picture of a setup: taken, re-lit, compared with another, saved and printed."""

import asyncio
import math
from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route, WebSocketRoute

from tapemark.errors import FileError, NotKept
from tapemark.services.library.keeping import Library
from tapemark.store.light_files import light_file
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.lists import setup_lines, when
from tapemark.web.messages import MOST_STOPS
from tapemark.web.picture.socket import picture_socket
from tapemark.web.serving_files import file_response

FORMS = ("png", "jpg")
MOST_VERSIONS, MOST_SETUPS = 30, 60
MOST_EXPONENT = 2 * MOST_STOPS  # a power set anew, and a slider on top of it
FILE = "tapemark.web.picture.tasks:file"


@dataclass(frozen=True, kw_only=True, slots=True)
class Seen:
    """One setup, or an older version of one, whose picture a page shows.

    Attributes
    ----------
    id, title : str
        Of the setup, and what is written over its picture.
    version : int or None
        Which older version; None for the setup as it is.
    like : str
        Id of the setup as whose camera it is exposed; empty for its own.
    """

    id: str
    title: str
    version: int | None = None
    like: str = ""

    @property
    def address(self) -> str:
        """Of its socket."""
        asked = [] if self.version is None else [f"version={self.version}"]
        asked += [f"like={self.like}"] if self.like else []
        return f"/picture/{self.id}/live" + ("?" + "&".join(asked) if asked else "")


async def pictures(request: Request) -> Response:
    """Answer with the setups that a picture can be taken of; with one, go to it."""
    lines = await desk_of(request).library.do(setup_lines)
    if len(lines) == 1:
        return go_to(f"/picture/{lines[0].id}")
    return page(request, "picture_list.html", lines=lines)


async def picture(request: Request) -> Response:
    """Answer with the picture of a setup, and of one beside it where that is asked for."""
    key, beside = request.path_params["id"], request.query_params.get("beside", "")

    def read(library: Library) -> dict[str, Any]:
        kept = _setup(library, key)
        second = _beside(library, beside, key) if beside else None
        others = library.kept("setup", most=MOST_SETUPS)
        versions = [one for one in library.versions(key) if not one.current][-MOST_VERSIONS:]
        return {
            "id": key,
            "name": kept.name,
            "seen": [Seen(id=key, title=kept.name), *([second] if second else [])],
            "beside": beside,
            "others": [(one.id, one.name) for one in others if one.id != key],
            "versions": [(f"{key}.{one.number}", _version_line(one)) for one in reversed(versions)],
        }

    return page(request, "picture.html", **await desk_of(request).library.do(read))


async def lights(request: Request) -> Response:
    """Answer with a kept picture light by light, as it lies on the disk."""

    def read() -> Response:
        try:
            content = light_file(request.path_params["mark"]).read_bytes()
        except (FileError, OSError):
            raise NotKept("this picture") from None
        return file_response(request, content, form="lights")

    return await asyncio.to_thread(read)  # some megabytes: no other page waits for them


async def shot(request: Request) -> Response:
    """Answer with a kept picture as a file, its lights turned up or down."""
    form, mark, key = (request.path_params[name] for name in ("form", "mark", "id"))
    if form not in FORMS:
        raise NotKept(f"a picture as {form[:10]!r}")
    desk = desk_of(request)
    kept = await desk.library.do(lambda library: _setup(library, key))
    stops = _stops(request.query_params.get("stops", ""))
    about = f"{kept.name}, computed by tapemark"
    parts = await desk.workers.live(FILE, mark=mark, stops=stops, form=form, about=about)
    if not parts["file"]:
        raise NotKept("this picture")
    shown = "shown" in request.query_params
    name = "" if shown else f"{kept.name} picture"
    return file_response(request, parts["file"], form=form, name=name)


def _beside(library: Library, text: str, key: str) -> Seen:
    """Return what is shown beside a setup: ``ID`` of another, or ``ID.VERSION``."""
    other, _, version = text.partition(".")
    kept = _setup(library, other)
    like = "" if other == key and not version else key
    if not version:
        return Seen(id=other, title=kept.name, like=like)
    found = [one for one in library.versions(other) if str(one.number) == version]
    if not found:
        raise NotKept(f"version {version[:10]!r} of {kept.name!r}")
    title = f"{kept.name}, {_version_line(found[0])}"
    return Seen(id=other, title=title, version=found[0].number, like=like)


def _version_line(one: Any) -> str:
    return f"version {one.number}, {when(one.saved_at)}" + (f": {one.why}" if one.why else "")


def _setup(library: Library, key: str) -> Any:
    kept = library.get(key)
    if kept.kind != "setup":
        raise NotKept(f"a setup of id {key[:40]!r}")
    return kept


def _stops(text: str) -> list[float]:
    """Return numbers like ``0.5,-1``; what is none stays 0."""
    found = []
    for one in text.split(",")[:64]:
        try:
            value = float(one)
        except ValueError:
            value = 0.0
        found.append(min(max(value, -MOST_EXPONENT), MOST_EXPONENT) if math.isfinite(value) else 0)
    return found


NAV = (60, "/picture", "Picture")
ROUTES: list[BaseRoute] = [
    Route("/picture", pictures),
    Route("/picture/lights/{mark}", lights),
    WebSocketRoute("/picture/{id}/live", picture_socket),
    Route("/picture/{id}/{mark}.{form}", shot),
    Route("/picture/{id}", picture),
]
