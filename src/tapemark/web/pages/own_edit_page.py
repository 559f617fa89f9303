"""A new own thing, or one that is there, in a form; a head calibrated by a meter reading."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tapemark.errors import EditedElsewhere, NotKept, SetupError
from tapemark.services.library.calibrating import calibrated
from tapemark.services.library.keeping import Side, checked_body, keep, keep_both, merge, save
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.form_words import in_form_words
from tapemark.web.forms import read_fields
from tapemark.web.own.forms import (
    GEAR_WORDS,
    PRESETS,
    TABLE_OF,
    answers_of,
    beginning,
    body_from,
    groups_for,
)
from tapemark.web.own.words import KINDS

EDITABLE = (*TABLE_OF, "gear")
SIDES: dict[str, Side] = {"mine": "mine", "theirs": "theirs"}
READING = ("aperture", "illuminance", "distance", "power", "iso", "receptor", "modifier")


async def new(request: Request) -> Response:
    """Answer with the form of a new thing."""
    kind, what = _kind(request), request.query_params.get("what", "head")
    what = what if what in GEAR_WORDS else "head"
    units = "us" if request.query_params.get("units") == "us" else "metric"
    body = beginning(kind, what, preset=request.query_params.get("preset", ""), units=units)
    return _form(request, kind=kind, body=body, answers=answers_of(body))


async def keep_new(request: Request) -> Response:
    """Keep a new thing, or say what is wrong with it."""
    kind, fields = _kind(request), await read_fields(request)
    what = fields.get("what", "head") if fields.get("what") in GEAR_WORDS else "head"
    units = "us" if fields.get("units") == "us" else "metric"
    before: dict[str, Any] = {"units": units} if units == "us" else {}
    before |= {"what": what} if kind == "gear" else {}
    body = body_from(fields, groups_for(kind, what), before=before)
    name = fields.get("thing_name", "") or body.get("name", "")
    try:
        kept = await desk_of(request).library.do(
            lambda library: keep(library, kind, name=name, body=body, why="new")
        )
    except SetupError as error:
        return _form(request, kind=kind, body=body, answers=fields, error=error)
    return go_to(f"/own/{kept.id}")


async def edit(request: Request) -> Response:
    """Answer with the form of a thing that is kept."""
    kept = await _kept(request)
    return _form(request, kind=kept.kind, body=kept.body, answers=answers_of(kept.body), kept=kept)


async def keep_edit(request: Request) -> Response:
    """Keep what a thing is now; where another window changed it meanwhile, put both together."""
    kept, fields = await _kept(request), await read_fields(request)
    library, revision = desk_of(request).library, _revision(fields)
    base = await library.do(lambda shelf: shelf.body_at(kept.id, revision))
    body = body_from(fields, groups_for(kept.kind, base.get("what", "")), before=base)
    shown = {"kind": kept.kind, "body": body, "answers": fields, "kept": kept}
    try:
        return go_to(await _saved(request, kept, body, revision=revision, how=fields.get("do", "")))
    except SetupError as error:
        return _form(request, **shown, error=error, revision=revision)
    except EditedElsewhere:
        merged = await library.do(
            lambda shelf: merge(shelf, kept.id, body, base_revision=revision, why="edited")
        )
        if merged.kept is None:
            return _form(request, **shown, clash=merged, revision=revision)
        return go_to(f"/own/{kept.id}?said=merged")


async def _saved(request: Request, kept: Any, body: Any, *, revision: int, how: str) -> str:
    """Keep a body as the person chose, and return where to go."""
    library = desk_of(request).library
    if how == "both":
        made = await library.do(lambda shelf: keep_both(shelf, kept.id, body))
        return f"/own/{made.id}"
    if how in SIDES:
        side = SIDES[how]
        await library.do(
            lambda shelf: merge(
                shelf, kept.id, body, base_revision=revision, why="edited", prefer=side
            )
        )
    else:
        await library.do(
            lambda shelf: save(shelf, kept.id, body, base_revision=revision, why="edited")
        )
    return f"/own/{kept.id}"


def _revision(fields: dict[str, str]) -> int:
    text = fields.get("revision", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else 0


async def calibrate(request: Request) -> Response:
    """Keep a head with the person's own meter reading of it."""
    kept, fields = await _kept(request), await read_fields(request)
    reading: dict[str, Any] = {
        key: " ".join(fields[key].split())[:80] for key in READING if fields.get(key, "").strip()
    }
    if reading.get("iso", "").isascii() and reading.get("iso", "").isdigit():
        reading["iso"] = int(reading["iso"][:9])
    try:
        body = calibrated(kept.body, reading)
        checked_body("gear", body, name=kept.name)
    except SetupError as error:
        from tapemark.web.pages.own_thing_page import show

        wrong = {one.key.removeprefix("meter."): _words(one) for one in error.problems}
        return await show(request, kept, wrong=wrong, reading=fields, status=422)
    await desk_of(request).library.do(
        lambda library: save(
            library, kept.id, body, base_revision=kept.revision, why="meter reading"
        )
    )
    return go_to(f"/own/{kept.id}")


def _form(
    request: Request,
    *,
    kind: str,
    body: dict[str, Any],
    answers: Any,
    kept: Any = None,
    error: SetupError | None = None,
    clash: Any = None,
    revision: int = 0,
) -> Response:
    what = str(body.get("what", ""))
    groups = groups_for(kind, what)
    paths = {one.path for group in groups for one in group.fields}
    errors: dict[str, str] = {}
    for problem in () if error is None else error.problems:
        key = problem.key if problem.key in paths else ""
        lead = "" if key else f"{problem.key}: "
        errors.setdefault(key, lead + _words(problem))
    return page(
        request,
        "own_edit.html",
        status=422 if error else 409 if clash else 200,
        kind=kind,
        words=KINDS[kind],
        what=what,
        gear=GEAR_WORDS,
        presets=tuple(PRESETS.get(what, ())),
        groups=groups,
        answers=answers,
        errors=errors,
        kept=kept,
        clash=clash,
        units=str(body.get("units", "metric")),
        revision=revision or (kept.revision if kept else 0),
    )


def _words(problem: Any) -> str:
    given = f"{problem.given}: " if problem.given else ""
    return in_form_words(f"{given}{problem.advice} (allowed: {problem.allowed})")


def _kind(request: Request) -> str:
    kind: str = request.path_params["kind"]
    if kind not in EDITABLE:
        raise NotKept(f"a form for {kind[:20]!r}")
    return kind


async def _kept(request: Request) -> Any:
    key = request.path_params["id"]
    kept = await desk_of(request).library.do(lambda library: library.get(key))
    if kept.kind not in EDITABLE:
        raise NotKept(f"a form for {kept.kind} {kept.name!r}")
    return kept


ROUTES = [
    Route("/own/new/{kind}", new),
    Route("/own/new/{kind}", keep_new, methods=["POST"]),
    Route("/own/{id}/edit", edit),
    Route("/own/{id}/edit", keep_edit, methods=["POST"]),
    Route("/own/{id}/calibrate", calibrate, methods=["POST"]),
]
