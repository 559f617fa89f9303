"""One own thing: what it is, its versions, and what can be done with it."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.errors import EditedElsewhere, NotKept, TapemarkError
from tapemark.services.library.calibrating import calibration_of
from tapemark.services.library.keeping import (
    Library,
    export_fitting,
    free_name,
    insert_part,
    keep,
    open_setup,
    part_of_setup,
    rename,
    save,
)
from tapemark.studio import MODIFIER_PRESETS, PARTS, setup_to_mapping
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.drawn import drawn_file
from tapemark.web.forms import read_fields
from tapemark.web.lists import when
from tapemark.web.own.forms import fact_lines
from tapemark.web.own.words import KINDS, address, summary
from tapemark.web.serving_files import file_response
from tapemark.web.telling import tell_set

MOST_VERSIONS = 200
SAID = {
    "merged": "Another window had changed it meanwhile; both changes are kept together.",
    "kept": "It is kept.",
}


async def thing(request: Request) -> Response:
    """Answer with one thing, as it is or as it was in one version."""
    return await show(request, await _kept(request))


async def show(
    request: Request,
    kept: Any,
    *,
    said: str = "",
    wrong: dict[str, str] | None = None,
    reading: Any = None,
    status: int = 200,
) -> Response:
    """Return the page of one thing."""
    query = request.query_params
    chosen, into = query.get("version", ""), query.get("into", "")

    def looked(library: Library) -> dict[str, Any]:
        body, number = kept.body, kept.version
        if chosen.isascii() and chosen.isdigit() and len(chosen) < 9:
            body, number = library.version_body(kept.id, int(chosen)), int(chosen)
        versions = [
            {
                "number": one.number,
                "when": when(one.saved_at),
                "why": one.why or "changed",
                "current": one.current,
            }
            for one in reversed(library.versions(kept.id)[-MOST_VERSIONS:])
        ]
        setups = library.kept("setup") if kept.kind in PARTS else ()
        return {
            "body": body,
            "number": number,
            "versions": versions,
            "setups": setups,
            "target": open_setup(library, into) if into else None,
            "parts": _parts_in(open_setup(library, kept.id)) if kept.kind == "setup" else [],
        }

    found = await desk_of(request).library.do(looked)
    body = found.pop("body")
    head = kept.kind == "gear" and body.get("what") == "head"
    return page(
        request,
        "own_thing.html",
        status=status,
        kept=kept,
        words=KINDS[kept.kind],
        summary=summary(kept.kind, body),
        facts=[] if kept.kind in ("setup", "session") else fact_lines(body),
        to=address(kept.kind, kept.id, body),
        changed=when(kept.changed_at),
        head=head,
        calibration=calibration_of(body) if head else None,
        meter=body.get("meter", {}),
        modifiers=tuple(MODIFIER_PRESETS),
        wrong=wrong or {},
        reading=reading or {},
        into=into,
        what=body.get("what", ""),
        said=said or SAID.get(query.get("said", ""), ""),
        **found,
    )


async def change(request: Request) -> Response:
    """Do what a button of the page says, and show what came of it."""
    kept, fields = await _kept(request), await read_fields(request)
    library, what = desk_of(request).library, fields.get("do", "")
    try:
        return go_to(await _DONE[what](request, library, kept, fields))
    except KeyError:
        raise NotKept("this button") from None
    except EditedElsewhere as error:
        now = error.kept
        said = f"Another window changed it meanwhile (to {now.name!r}). Look at it, then try again."
        return await show(request, now, said=said, status=409)
    except (TapemarkError, LookupError) as error:
        return await show(request, kept, said=str(error), status=422)


async def export(request: Request) -> Response:
    """Answer with one thing and all its versions as a file."""
    kept = await _kept(request)
    text, whole = await desk_of(request).library.do(
        lambda library: export_fitting(library, [kept.id])
    )
    name = f"{kept.name} {'' if whole else 'without pictures '}tapemark library"
    return file_response(request, text.encode(), form="json", name=name)


async def _rename(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    await library.do(lambda shelf: rename(shelf, kept.id, fields.get("name", "")))
    return f"/own/{kept.id}"


async def _duplicate(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    made = await library.do(
        lambda shelf: shelf.duplicate(
            kept.id, name=free_name(shelf, kept.kind, f"{kept.name} (copy)")
        )
    )
    return f"/own/{made.id}"


async def _bin(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    await library.do(lambda shelf: shelf.bin(kept.id))
    return f"/own?kind={kept.kind}"


async def _unbin(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    await library.do(lambda shelf: shelf.unbin(kept.id))
    return f"/own/{kept.id}"


async def _erase(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    await library.do(lambda shelf: shelf.erase(kept.id))
    return "/own?bin"


async def _restore(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    number, revision = _count(fields, "version"), _count(fields, "revision")
    now = await library.do(lambda shelf: shelf.restore(kept.id, number, revision))
    await tell_set(desk_of(request), now, words=f"version {number} again")
    return f"/own/{kept.id}"


async def _put_into(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    """Put a part into a setup, and go there."""
    target = fields.get("setup", "")
    light, person = fields.get("light") or None, fields.get("person") or None

    def put(shelf: Library) -> Any:
        now = shelf.get(target)
        setup = insert_part(
            open_setup(shelf, target), kept.kind, kept.body, light=light, person=person
        )
        return save(
            shelf,
            target,
            setup_to_mapping(setup),
            base_revision=now.revision,
            why=f"{kept.name} put in",
        )

    now = await library.do(put)
    await tell_set(desk_of(request), now, words=f"{kept.name} put in")
    return f"/set/{target}"


async def _keep_part(request: Request, library: Any, kept: Any, fields: dict[str, str]) -> str:
    """Keep a part of a setup as a thing of its own."""
    kind, _, name = fields.get("part", "").partition(":")
    if kind not in PARTS:
        raise TapemarkError("Choose what to keep.")

    def take(shelf: Library) -> Any:
        setup = open_setup(shelf, kept.id)
        body = part_of_setup(
            setup,
            kind,
            light=name if kind == "gear" else None,
            person=name if kind in ("glasses", "sitter") else None,
        )
        called = body.get("name") or name or f"{KINDS[kind][1]} of {kept.name}"
        return keep(shelf, kind, name=str(called), body=body, why=f"from {kept.name}")

    made = await library.do(take)
    return f"/own/{made.id}?said=kept"


_DONE = {
    "rename": _rename,
    "duplicate": _duplicate,
    "bin": _bin,
    "unbin": _unbin,
    "erase": _erase,
    "restore": _restore,
    "put": _put_into,
    "keep": _keep_part,
}


def _parts_in(setup: Any) -> list[tuple[str, str]]:
    """Return what can be kept of a setup: value and words of each choice."""
    found = [("room:", "the room")]
    for one in setup.people:
        found.append((f"sitter:{one.name}", f"{one.name}, the sitter"))
        if one.glasses is not None:
            found.append((f"glasses:{one.name}", f"the glasses of {one.name}"))
    found += [(f"gear:{light.name}", f"the head of {light.name}") for light in setup.lights]
    return found


def _count(fields: dict[str, str], name: str) -> int:
    text = fields.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else 0


async def _kept(request: Request) -> Any:
    key = request.path_params["id"]
    return await desk_of(request).library.do(lambda library: library.get(key))


async def picture(request: Request) -> Response:
    """Answer with a drawing of one version of a setup; as a picture, which has its typeface."""
    kept, which = await _kept(request), request.path_params["which"]
    number = request.path_params["version"]
    if kept.kind != "setup" or which not in ("plan", "camera") or number > 1_000_000:
        raise NotKept("this drawing")
    body = await desk_of(request).library.do(lambda library: library.version_body(kept.id, number))
    content = await drawn_file(request, "plate", setup=body, which=which)
    return file_response(request, content, form="png")


ROUTES = [
    Route("/own/{id}.json", export),
    Route("/own/{id}/{version:int}/{which}.png", picture),
    Route("/own/{id}", thing),
    Route("/own/{id}", change, methods=["POST"]),
]
