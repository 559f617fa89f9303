"""Own things: lists of what is kept, with search; all of it to one file, and back from one."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.errors import TapemarkError
from tapemark.services.library.keeping import Library, export_fitting, import_bytes
from tapemark.store.library_bundle import LARGEST_BUNDLE
from tapemark.web.answering import page
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_upload
from tapemark.web.lists import when
from tapemark.web.own.forms import GEAR_WORDS
from tapemark.web.own.words import KINDS, address, summary
from tapemark.web.serving_files import file_response

LARGE_BODIES = {"/own/import": LARGEST_BUNDLE + 10_000}
MOST_LINES = 200
LONGEST_SEARCH = 200


async def own(request: Request) -> Response:
    """Answer with what is kept: of one kind or all, with all words of a search."""
    query = request.query_params
    kind = query.get("kind", "") if query.get("kind") in KINDS else ""
    search, binned = query.get("q", "")[:LONGEST_SEARCH], "bin" in query
    lines, counts = await desk_of(request).library.do(
        lambda library: _looked(library, kind=kind, search=search, binned=binned)
    )
    return page(
        request,
        "own.html",
        kinds=KINDS,
        kind=kind,
        search=search,
        binned=binned,
        lines=lines,
        counts=counts,
        gear=GEAR_WORDS,
        most=MOST_LINES,
    )


def _looked(
    library: Library, *, kind: str, search: str, binned: bool
) -> tuple[list[dict[str, Any]], dict[str, int]]:
    found = []
    for line in library.kept(kind or None, search, binned=binned, most=MOST_LINES):
        told = {"id": line.id, "kind": line.kind, "name": line.name, "summary": "", "to": ("", "")}
        told["when"] = when(line.changed_at)
        try:
            body = library.get(line.id).body
            told |= {
                "summary": summary(line.kind, body),
                "to": address(line.kind, line.id, body),
            }
        except TapemarkError as error:
            told["summary"] = str(error)
        found.append(told)
    counts = dict.fromkeys(KINDS, 0)
    for line in library.kept(None, search, binned=binned):
        counts[line.kind] += 1
    return found, counts


async def export_all(request: Request) -> Response:
    """Answer with everything that is kept as one file; pictures of sessions if they fit in."""
    text, whole = await desk_of(request).library.do(export_fitting)
    name = f"everything {'' if whole else 'without pictures of sessions '}tapemark library"
    return file_response(request, text.encode(), form="json", name=name)


async def take_in(request: Request) -> Response:
    """Take in an exported file, whole or not at all, and report what came with it."""
    try:
        upload = await read_upload(request, "file", kinds=("text",), most=LARGEST_BUNDLE)
        report = await desk_of(request).library.do(
            lambda library: import_bytes(library, upload.content, name=upload.shown_name)
        )
    except TapemarkError as error:
        return page(
            request, "own_import.html", status=422, refusal=str(error), report=None, kinds=KINDS
        )
    return page(
        request,
        "own_import.html",
        refusal="",
        report=report,
        name=upload.shown_name,
        kinds=KINDS,
    )


NAV = (30, "/own", "Own things")
ROUTES = [
    Route("/own", own),
    Route("/own/export", export_all),
    Route("/own/import", take_in, methods=["POST"]),
]
