"""Paper: the page that an assistant rigs from, on the screen, as files, and on a phone."""

import json
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.errors import NotKept
from tapemark.services.library.keeping import Library, open_setup
from tapemark.services.paper.exports import DRAWING_FORMS, drawing_names
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.drawn import drawn_file
from tapemark.web.lists import setup_lines
from tapemark.web.phone_link import network_address, phone_link
from tapemark.web.serving_files import file_response

PAPERS = (("a4", "A4"), ("letter", "US Letter"))
SHEET_FORMS = ("pdf", "svg", "png")
DRAWINGS = {
    "plan": ("Floor plan", "everything from above, with tape distances"),
    "elevation": ("From the side", "heights of lights, camera and eyes"),
    "camera": ("Through the camera", "the sitter, with what the lenses show"),
    "face": ("Light on the face", "how bright each part of the face is"),
    "distance": ("Light over distance", "how fast it falls off behind the sitter"),
}
WORDS = "tapemark.web.start.tasks:sheet_words"


async def papers(request: Request) -> Response:
    """Answer with the setups that can be put on paper; with one, go to it."""
    lines = await desk_of(request).library.do(setup_lines)
    if len(lines) == 1:
        return go_to(f"/paper/{lines[0].id}")
    return page(request, "paper_list.html", lines=lines)


async def paper(request: Request) -> Response:
    """Answer with the page about a setup, as a picture and in words."""
    return await _show(request)


async def phone(request: Request) -> Response:
    """Answer with a code that lets the assistant's phone in, and opens the same page there."""
    desk, key = desk_of(request), request.path_params["id"]
    if network_address(desk, "") is None:
        return go_to(f"/paper/{key}")
    return await _show(request, with_code=True)


async def sheet_file(request: Request) -> Response:
    """Answer with the page about a setup as a file, or with the set as a model."""
    form, key = request.path_params["form"], request.path_params["id"]
    kept = await _kept(request, key)
    if form == "glb":
        content = await drawn_file(request, "model", setup=kept.body)
        return file_response(request, content, form=form, name=kept.name)
    if form not in SHEET_FORMS:
        raise NotKept(f"a sheet as {form[:10]!r}")
    desk = desk_of(request)
    content = await drawn_file(
        request,
        "sheet",
        setup=kept.body,
        paper=_paper(request, kept),
        form=form,
        link=network_address(desk, f"/paper/{key}"),
        page=_number(request.query_params.get("page", "1")),
    )
    shown = "shown" in request.query_params
    return file_response(request, content, form=form, name="" if shown else f"{kept.name} sheet")


async def drawing_file(request: Request) -> Response:
    """Answer with one drawing of a setup as a file."""
    which, form = request.path_params["which"], request.path_params["form"]
    kept = await _kept(request, request.path_params["id"])
    setup = await desk_of(request).library.do(lambda library: open_setup(library, kept.id))
    if form not in DRAWING_FORMS or which not in drawing_names(setup):
        raise NotKept(f"a drawing {which[:20]!r} as {form[:10]!r}")
    content = await drawn_file(request, "picture", setup=kept.body, which=which, form=form)
    return file_response(request, content, form=form, name=f"{kept.name} {which}")


async def _show(request: Request, *, with_code: bool = False) -> Response:
    desk, key = desk_of(request), request.path_params["id"]
    kept = await _kept(request, key)
    setup = await desk.library.do(lambda library: open_setup(library, kept.id))
    parts = await desk.workers.live(WORDS, setup=kept.body)
    return page(
        request,
        "paper.html",
        id=kept.id,
        name=kept.name,
        sheet=json.loads(parts["sheet"]),
        paper=_paper(request, kept),
        papers=PAPERS,
        drawings=_drawings(drawing_names(setup)),
        phone=await phone_link(request, f"/paper/{kept.id}", asked=with_code),
    )


def _drawings(names: tuple[str, ...]) -> list[tuple[str, str, str]]:
    found = []
    for name in names:
        kind, _, number = name.partition("-")
        title, why = DRAWINGS[kind]
        found.append((name, f"{title}, person {number}" if number else title, why))
    return found


async def _kept(request: Request, key: str) -> Any:
    def get(library: Library) -> Any:
        kept = library.get(key)
        if kept.kind != "setup":
            raise NotKept(f"a setup of id {key[:40]!r}")
        return kept

    return await desk_of(request).library.do(get)


def _paper(request: Request, kept: Any) -> str:
    chosen = request.query_params.get("paper", "")
    if chosen in dict(PAPERS):
        return chosen
    return "letter" if kept.body.get("units") == "us" else "a4"


def _number(text: str) -> int:
    return min(int(text), 50) if text.isascii() and text.isdigit() and 0 < len(text) < 4 else 1


NAV = (50, "/paper", "Paper")
ROUTES = [
    Route("/paper", papers),
    Route("/paper/{id}/phone", phone, methods=["POST"]),
    Route("/paper/{id}/{which}.{form}", drawing_file),
    Route("/paper/{id}.{form}", sheet_file),
    Route("/paper/{id}", paper),
]
