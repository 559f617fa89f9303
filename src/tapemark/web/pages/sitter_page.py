"""Sitters: what to say and ask, what is known of their glasses, and their last setup again."""

import json
from pathlib import Path
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.errors import EditedElsewhere, SetupError, TapemarkError
from tapemark.services.library.keeping import Library, open_setup, save
from tapemark.services.sitters.known_glasses import known_glasses
from tapemark.services.sitters.notes import (
    LONGEST_NOTES,
    erase_for_good,
    erase_notes,
    keep_notes,
    notes_of,
)
from tapemark.services.sitters.people import KeptPerson, keep_person, people, person
from tapemark.services.sitters.photo_glasses import glasses_from_photos
from tapemark.services.sitters.reproducing import reproduction
from tapemark.services.sitters.talk import what_to_say
from tapemark.store import KeptLine
from tapemark.store.user_folders import library_path
from tapemark.studio import Setup, setup_from_mapping
from tapemark.web import asking
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_fields
from tapemark.web.lists import when

NAV = (80, "/sitters", "Sitters")
MARKS = "tapemark.web.start.tasks:sheet_words"
MOST_SETUPS, MOST_VERSIONS = 200, 60
STALE = 409  # another window was faster
WISHES = (
    ("", "nobody asked yet"),
    ("on", "on"),
    ("off", "off"),
    ("both", "some of both"),
)
_SAID = {"kept": "It is kept.", "erased": "The notes are erased, with all their versions."}
_FLAGS = ("light_sensitive", "photosensitive")


async def sitters(request: Request) -> Response:
    """Answer with everybody who is kept, and those who only sat in a setup."""

    def looked(library: Library) -> tuple[Any, Any]:
        kept, others = people(library)
        lines = [
            {
                "id": one.id,
                "name": one.name,
                "glasses": one.sitter.glasses is not None,
                "care": one.sitter.photosensitive or one.sitter.light_sensitive,
                "last": when(one.setups[0].changed_at) if one.setups else "",
                "setup": one.setups[0].name if one.setups else "",
            }
            for one in kept
        ]
        return lines, [{"name": one.name, "setup": one.setup} for one in others]

    kept, others = await desk_of(request).library.do(looked)
    return page(request, "sitters.html", kept=kept, others=others)


async def keep(request: Request) -> Response:
    """Keep somebody who sat in a setup."""
    fields = await read_fields(request)
    made = await desk_of(request).library.do(
        lambda library: keep_person(library, fields.get("setup", ""), fields.get("name", ""))
    )
    return go_to(f"/sitters/{made.id}")


async def sitter(request: Request) -> Response:
    """Answer with everything about one sitter."""
    return await _show(request)


async def _show(
    request: Request, *, said: str = "", typed: dict[str, str] | None = None, status: int = 200
) -> Response:
    """Answer with the page; ``typed`` is what was refused, so that nothing of it is lost."""
    key, query = request.path_params["id"], request.query_params
    chosen = {name: query.get(name, "")[:64] for name in ("setup", "version", "now")}
    desk = desk_of(request)
    found = await desk.library.do(lambda library: _looked(library, key, chosen))
    who: KeptPerson = found["who"]
    marks = None
    if found["wanted_body"] and found["now"] == "empty":
        marks = await _marks(request, found["wanted_body"])
    library_file = Path(desk.settings.library or library_path())
    return page(
        request,
        "sitter.html",
        status=status,
        who=who,
        asks=what_to_say(who.sitter, glasses_wish=found["notes"].glasses),
        known=known_glasses(who.sitter),
        wishes=WISHES,
        typed=typed or {},
        meanwhile=status == STALE,
        longest=LONGEST_NOTES,
        marks=marks,
        said=said or _SAID.get(query.get("said", ""), ""),
        kept_in=str(library_file) if asking.on_this_machine(request.scope) else "",
        **{name: value for name, value in found.items() if name not in ("who", "wanted_body")},
    )


def _looked(library: Library, key: str, chosen: dict[str, str]) -> dict[str, Any]:
    """Return what the library has on one sitter, and the way to a setup of theirs."""
    kept, who = person(library, key)
    found: dict[str, Any] = {
        "who": who,
        "revision": kept.revision,
        "notes": notes_of(library, key),
        "photos": glasses_from_photos(library, who.sitter),
        "setups": [
            {"id": one.id, "name": one.name, "when": when(one.changed_at)} for one in who.setups
        ],
    }
    wanted = next((one for one in who.setups if one.id == chosen["setup"]), None)
    wanted = wanted or next(iter(who.setups), None)
    return found | _way(library, wanted, chosen)


def _way(library: Library, wanted: KeptLine | None, chosen: dict[str, str]) -> dict[str, Any]:
    """Return the versions of a setup, what may stand now, and the way from there to a version."""
    others = library.kept("setup", most=MOST_SETUPS)
    found: dict[str, Any] = {
        "others": others,
        "wanted": wanted,
        "wanted_body": None,
        "versions": [],
        "version": 0,
        "now": "empty",
        "way": None,
        "trouble": "",
    }
    if wanted is None:
        return found
    lines = library.versions(wanted.id)[-MOST_VERSIONS:]
    number = _count(chosen, "version")
    number = number if any(one.number == number for one in lines) else wanted.version
    told = next((one for one in lines if one.number == number), None)
    found["versions"] = [
        {"number": one.number, "when": when(one.saved_at), "why": one.why or "changed"}
        for one in reversed(lines)
    ]
    found["version"] = number
    found["wanted_when"] = when(wanted.changed_at if told is None else told.saved_at)
    found["now"] = _set_as_it_stands(others, wanted, chosen["now"], old=number != wanted.version)
    try:
        body = library.version_body(wanted.id, number)
        goal = setup_from_mapping(body, name=wanted.name)
    except TapemarkError as error:
        return found | {"trouble": _told(error)}  # another one may still be chosen
    return found | {"wanted_body": body} | _from_now(library, goal, found["now"], chosen["now"])


def _from_now(library: Library, goal: Setup, now: str, asked: str) -> dict[str, Any]:
    """Return the way to a setup; one that cannot be read is nothing to start from."""
    if now == "empty":
        return {}
    try:
        return {"way": reproduction(open_setup(library, now), goal)}
    except TapemarkError as error:
        return {"now": "empty", "trouble": _told(error) if asked == now else ""}


def _told(error: TapemarkError) -> str:
    """Return an error in one line: of a setup which, what of it, and what to do."""
    if not isinstance(error, SetupError):
        return str(error)
    parts = "; ".join(f"{one.key}: {one.advice}" for one in error.problems)
    return f"{error.name} cannot be read. {parts}. Open it on the set, or choose another."


def _set_as_it_stands(
    lines: tuple[KeptLine, ...], wanted: KeptLine, asked: str, *, old: bool
) -> str:
    """Return the id of the setup that stands now, or ``empty``."""
    if any(one.id == asked for one in lines):
        return asked
    others = [one for one in lines if one.id != wanted.id]
    if asked == "empty" or not (others or old):
        return "empty"
    newest = max(others, key=lambda one: one.changed_at, default=wanted)
    return wanted.id if old else newest.id


async def _marks(request: Request, body: dict[str, Any]) -> dict[str, Any]:
    """Return the marks, the order of work and the cautions of a setup, for an empty room."""
    key = f"marks:{request.path_params['id']}"
    parts = await desk_of(request).workers.long(key, MARKS, setup=body)
    found: dict[str, Any] = json.loads(parts["sheet"])
    return found


async def change(request: Request) -> Response:
    """Keep notes, erase them, or erase everything that is kept of somebody."""
    fields, key = await read_fields(request), request.path_params["id"]
    library = desk_of(request).library
    match fields.get("do", ""):
        case "notes":
            return await _keep_notes(request, fields)
        case "erase":
            await library.do(lambda shelf: (person(shelf, key), erase_notes(shelf, key)))
            return go_to(f"/sitters/{key}?said=erased")
        case "forget":
            await library.do(lambda shelf: _forget(shelf, key))
            return go_to("/sitters")
    raise HTTPException(404)


def _forget(library: Library, key: str) -> None:
    """Erase the notes on somebody and what is kept of them, for good."""
    person(library, key)
    erase_notes(library, key)
    erase_for_good(library, key)


async def _keep_notes(request: Request, fields: dict[str, str]) -> Response:
    key = request.path_params["id"]

    def take(library: Library) -> None:
        kept, who = person(library, key)
        body = _with_flags(kept.body, fields)
        if body != kept.body:
            setup_number = _count(fields, "revision")
            save(library, key, body, base_revision=setup_number, why="asked")
        keep_notes(
            library,
            key,
            name=who.name,
            glasses=fields.get("glasses", ""),
            text=fields.get("text", ""),
            revision=_count(fields, "notes_revision"),
        )

    try:
        await desk_of(request).library.do(take)
    except EditedElsewhere:
        said = "Another window changed this meanwhile: look at both, then keep one text."
        return await _show(request, said=said, typed=fields, status=STALE)
    except TapemarkError as error:
        return await _show(request, said=str(error), typed=fields, status=422)
    return go_to(f"/sitters/{key}?said=kept")


def _with_flags(body: dict[str, Any], fields: dict[str, str]) -> dict[str, Any]:
    """Return the body of a sitter with what was ticked; what was never asked stays out."""
    found = dict(body)
    for name in _FLAGS:
        if fields.get(name) == "yes":
            found[name] = True
        elif name in found:
            found[name] = False
    return found


def _count(fields: dict[str, str], name: str) -> int:
    text = fields.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else 0


ROUTES = [
    Route("/sitters", sitters),
    Route("/sitters", keep, methods=["POST"]),
    Route("/sitters/{id}", sitter),
    Route("/sitters/{id}", change, methods=["POST"]),
]
