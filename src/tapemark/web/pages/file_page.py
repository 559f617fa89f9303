"""A file opened again that has changed: a new version, a copy, or neither."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.errors import TapemarkError
from tapemark.services.editing.words import edits_in_words
from tapemark.services.library.opened_files import OpenedFile, open_copy, take_text
from tapemark.studio import setup_from_mapping
from tapemark.web.answering import go_to, page, trouble
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_fields
from tapemark.web.opened_files import opened_files_of

WAYS = {"version": take_text, "copy": open_copy}


async def choose(request: Request) -> Response:
    """Ask what to do with the file; then do it, and go on to the set."""
    mark = request.path_params["mark"]
    opened = opened_files_of(request).get(mark)
    if opened is None:
        text, advice = "This choice has been made, or tapemark was started anew.", "Open it again."
        return trouble(request, text, what_to_do=advice, status=404)
    if request.method != "POST":
        return page(request, "file_changed.html", opened=opened, changes=_changes(opened))
    do = (await read_fields(request)).get("do", "")
    if do == "leave":
        return go_to(f"/set/{opened.kept.id}")
    if do not in WAYS:
        return trouble(request, "No choice was made.", what_to_do="Go back and choose one.")
    kept = await desk_of(request).library.do(lambda library: WAYS[do](library, opened))
    opened_files_of(request).done(mark)
    return go_to(f"/set/{kept.id}")


def _changes(opened: OpenedFile) -> str:
    """Return what the file says otherwise, in words; nothing where the kept one is too old."""
    try:
        before = setup_from_mapping(opened.kept.body, name=opened.kept.name)
        return edits_in_words(before, setup_from_mapping(opened.body, name=opened.file_name))
    except TapemarkError:
        return ""


ROUTES = [Route("/file/{mark}", choose, methods=["GET", "POST"])]
