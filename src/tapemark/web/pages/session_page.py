"""The session: photos as they come, what their glasses show, whose light it is, and the log."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tapemark.errors import EditedElsewhere, NotKept, TapemarkError
from tapemark.photo.frame_pictures import EYES_SIZE
from tapemark.services.library.keeping import Library
from tapemark.services.photos.session_back import back_to, decide
from tapemark.services.photos.session_log import (
    SHOOT,
    add_note,
    begin_session,
    follow_setup,
    get_session,
    next_sitter,
    teach,
)
from tapemark.services.photos.session_meter import add_meter
from tapemark.store.arriving_files import LARGEST
from tapemark.web import asking
from tapemark.web.answering import go_to, page, wants_json
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_fields
from tapemark.web.guard import on_this_machine
from tapemark.web.lists import when
from tapemark.web.session.reader import reader_of
from tapemark.web.session.shown import shown_session
from tapemark.web.session.uploads import Sent, take_body, take_form
from tapemark.web.session.watching import watches_of
from tapemark.web.telling import tell_set

NAV = (35, "/session", "Session")
LARGE_BODIES = {"/session/send/": LARGEST + 1_000_000}
PICTURES = ("preview", "eyes1", "eyes2", "eyes3")
MOST_LISTED, MOST_SETUPS = 60, 300
LARGEST_POINT = 200_000.0  # pixels a side


async def sessions(request: Request) -> Response:
    """Answer with the sessions that are kept, and the form for a new one."""
    return await _sessions(request)


async def _sessions(request: Request, *, said: str = "", status: int = 200) -> Response:
    def looked(library: Library) -> tuple[Any, list[dict[str, Any]]]:
        found: list[dict[str, Any]] = []
        for line in library.kept("session", most=4 * MOST_LISTED):
            if len(found) < MOST_LISTED and library.get(line.id).body.get("what") == SHOOT:
                count = library.log(line.id).counts().get("frame", 0)
                told = "1 frame" if count == 1 else f"{count} frames"
                at = when(line.changed_at)
                found.append({"id": line.id, "name": line.name, "when": at, "told": told})
        return library.kept("setup", most=MOST_SETUPS), found

    setups, found = await desk_of(request).library.do(looked)
    chosen = request.query_params.get("setup", "")[:32]
    return page(
        request,
        "session_list.html",
        status=status,
        setups=setups,
        sessions=found,
        chosen=chosen,
        said=said,
    )


async def begin(request: Request) -> Response:
    """Begin a session, and go there."""
    fields = await read_fields(request)
    setup, name, sitter = (fields.get(key, "") for key in ("setup", "name", "sitter"))
    try:
        kept = await desk_of(request).library.do(
            lambda library: begin_session(library, name=name, setup_id=setup, sitter=sitter)
        )
    except (TapemarkError, LookupError) as error:
        return await _sessions(request, said=str(error), status=422)
    return go_to(f"/session/{kept.id}")


async def session(request: Request) -> Response:
    """Answer with a session: the newest frame, or the one that is asked for."""
    return await _show(request)


async def _show(
    request: Request,
    *,
    said: str = "",
    status: int = 200,
    typed: Mapping[str, str] = MappingProxyType({}),
) -> Response:
    key, desk = request.path_params["id"], desk_of(request)
    look_at, before, against = (_count(request, name) for name in ("frame", "before", "against"))
    on_machine = asking.on_this_machine(request.scope)
    shown = await desk.library.do(
        lambda library: shown_session(
            library, key, look_at=look_at, before=before, against=against, folders=on_machine
        )
    )
    reader, watches = reader_of(request), watches_of(request)
    await watches.resume(key)
    asked = shown.large is not None and bool(shown.large.naming)
    reader.stir(key, look_at=shown.large.number if asked and shown.large else None)
    return page(
        request,
        "session.html",
        status=status,
        session=shown,
        said=said,
        typed=typed,
        looking_back=bool(look_at) and look_at != shown.newest,
        later=bool(before),
        setups=await desk.library.do(lambda library: library.kept("setup", most=MOST_SETUPS)),
        on_machine=on_machine,
        watch_trouble=watches.trouble(key) if on_machine else "",
        eyes_size=EYES_SIZE,
    )


async def state(request: Request) -> Response:
    """Answer with how a session stands, as JSON."""
    key, desk = request.path_params["id"], desk_of(request)
    last, waiting = await desk.library.do(lambda library: _standing(library, key))
    reader, watches = reader_of(request), watches_of(request)
    await watches.resume(key)
    if waiting:
        reader.stir(key)
    text = "" if not waiting else f"{waiting} {'frame' if waiting == 1 else 'frames'} to be read"
    trouble = watches.trouble(key) if asking.on_this_machine(request.scope) else ""
    mark = f"{last}-{trouble}"
    return JSONResponse({"mark": mark, "waiting": waiting, "text": text})


def _standing(library: Library, key: str) -> tuple[int, int]:
    get_session(library, key)
    log = library.log(key)
    return log.counts()["last"], log.count_without("frame", "reading", again="taught")


async def send(request: Request) -> Response:
    """Take in photos: one as the body of a request of the page, or many in a form."""
    key, desk = request.path_params["id"], desk_of(request)
    if request.headers.get("content-type", "").startswith("multipart/form-data"):
        sent = await take_form(request, desk, key)
    else:
        name = request.query_params.get("name", "")[:300]
        sent = [await take_body(request, desk, key, name=name)]
    reader_of(request).stir(key)
    if wants_json(request):
        return JSONResponse({"sent": [_told(one) for one in sent]})
    refused = [one.refusal for one in sent if one.refusal]
    if not sent:
        refused = ["No photo was chosen: choose some and send them again."]
    if refused:
        return await _show(request, said=" ".join(refused), status=422)
    return go_to(f"/session/{key}")


def _told(sent: Sent) -> dict[str, Any]:
    return {
        "name": sent.name,
        "frame": sent.frame,
        "new": sent.new,
        "refusal": sent.refusal,
    }


@on_this_machine
async def watch(request: Request) -> Response:
    """Watch a folder of this machine from now on, or no longer."""
    key, fields = request.path_params["id"], await read_fields(request)
    await desk_of(request).library.do(lambda library: get_session(library, key))
    watches = watches_of(request)
    try:
        if fields.get("do") == "end":
            await watches.end(key)
        else:
            await watches.begin(key, fields.get("folder", ""), old_too="old" in fields)
    except (TapemarkError, OSError) as error:
        return await _show(request, said=str(error), status=422, typed=fields)
    return go_to(f"/session/{key}")


async def change(request: Request) -> Response:
    """Do what a button of the page says."""
    key, fields = request.path_params["id"], await read_fields(request)
    frame = int(fields["frame"]) if _is_count(fields.get("frame", "")) else 0
    try:
        await desk_of(request).library.do(lambda library: get_session(library, key))
        to = await _DONE[fields.get("do", "")](request, key, frame, fields)
    except KeyError:
        raise NotKept("this button") from None
    except EditedElsewhere:
        said = "Another window changed the setup meanwhile. Look at it, then say it again."
        return await _show(request, said=said, status=409, typed=fields)
    except (TapemarkError, LookupError) as error:
        return await _show(request, said=str(error), status=422, typed=fields)
    return go_to(to)


async def _note(request: Request, key: str, frame: int, fields: dict[str, str]) -> str:
    text = fields.get("text", "")
    await desk_of(request).library.do(
        lambda library: add_note(library, key, text, frame=frame or None)
    )
    return _back(key, frame, fields)


async def _sitter(request: Request, key: str, frame: int, fields: dict[str, str]) -> str:
    name = fields.get("name", "")
    await desk_of(request).library.do(lambda library: next_sitter(library, key, name))
    return f"/session/{key}"


async def _follow(request: Request, key: str, frame: int, fields: dict[str, str]) -> str:
    setup = fields.get("setup", "")
    await desk_of(request).library.do(lambda library: follow_setup(library, key, setup))
    return f"/session/{key}"


async def _meter(request: Request, key: str, frame: int, fields: dict[str, str]) -> str:
    def keep(library: Library) -> tuple[str, Any]:
        words = add_meter(
            library,
            key,
            light=fields.get("light", ""),
            reading=fields.get("reading", ""),
            distance=fields.get("distance", ""),
            power=fields.get("power", ""),
            gear_id=fields.get("head", ""),
        )
        setup = library.log(key).last("follow")
        return words, None if setup is None else library.get(setup.body["setup_id"])

    words, kept = await desk_of(request).library.do(keep)
    if kept is not None:
        await tell_set(desk_of(request), kept, words=words)
    return f"/session/{key}"


async def _back_to(request: Request, key: str, frame: int, fields: dict[str, str]) -> str:
    kept = await desk_of(request).library.do(lambda library: back_to(library, key, frame))
    await tell_set(desk_of(request), kept, words="as for an earlier frame")
    return f"/set/{kept.id}"


async def _decide(request: Request, key: str, frame: int, fields: dict[str, str]) -> str:
    take = fields.get("do") == "take"
    kept = await desk_of(request).library.do(lambda library: decide(library, key, frame, take=take))
    if kept is not None:
        await tell_set(desk_of(request), kept, words="as a photo shows it")
    return _back(key, frame, fields)


async def _teach(request: Request, key: str, frame: int, fields: dict[str, str]) -> str:
    said: dict[str, Any] = {"bare": True}
    if fields.get("do") == "pupils":
        right, left = sorted(_points(fields))
        said = {"pupils": [list(right), list(left)]}
    await desk_of(request).library.do(lambda library: teach(library.log(key), frame, said))
    reader_of(request).stir(key)
    return _back(key, frame, fields)


_DONE = {
    "note": _note,
    "sitter": _sitter,
    "follow": _follow,
    "meter": _meter,
    "back": _back_to,
    "take": _decide,
    "leave": _decide,
    "pupils": _teach,
    "bare": _teach,
}


def _points(fields: dict[str, str]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return two pupils as they were tapped or typed."""
    try:
        x1, y1, x2, y2 = (float(fields[name]) for name in ("x1", "y1", "x2", "y2"))
    except (KeyError, ValueError):
        raise TapemarkError("Tap both pupils in the picture, or write four numbers.") from None
    if not all(0.0 <= one <= LARGEST_POINT for one in (x1, y1, x2, y2)):
        raise TapemarkError("The pupils have to lie in the picture: tap them again.")
    if abs(x1 - x2) + abs(y1 - y2) < 8.0:
        raise TapemarkError("The two pupils are in one place: tap one eye, then the other.")
    return (x1, y1), (x2, y2)


def _back(key: str, frame: int, fields: dict[str, str]) -> str:
    """Return where the person was: at an earlier frame, or at the newest."""
    return f"/session/{key}?frame={frame}" if "stay" in fields and frame else f"/session/{key}"


async def picture(request: Request) -> Response:
    """Answer with a small picture of a frame."""
    key, number, what = (request.path_params[name] for name in ("id", "frame", "what"))
    if what not in PICTURES or number > 100_000_000:
        raise NotKept("this picture")
    content = await desk_of(request).library.do(
        lambda library: library.log(key).picture(number, what)
    )
    headers = {"Cache-Control": "private, max-age=86400"}
    return Response(content, media_type="image/jpeg", headers=headers)


def _count(request: Request, name: str) -> int:
    text = request.query_params.get(name, "")
    return int(text) if _is_count(text) else 0


def _is_count(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 9


ROUTES = [
    Route("/session", sessions),
    Route("/session", begin, methods=["POST"]),
    Route("/session/send/{id}", send, methods=["POST"]),
    Route("/session/watch/{id}", watch, methods=["POST"]),
    Route("/session/{id}/state", state),
    Route("/session/{id}/{frame:int}/{what}.jpg", picture),
    Route("/session/{id}", session),
    Route("/session/{id}", change, methods=["POST"]),
]
