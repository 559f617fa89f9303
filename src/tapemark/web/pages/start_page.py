"""The start: a brief in five steps, the demo, an empty set, or a setup from a file."""

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tapemark.errors import TapemarkError
from tapemark.services.library.keeping import Library, keep
from tapemark.services.library.new_setups import blank_setup, demo_setups
from tapemark.store import Kept
from tapemark.studio import setup_from_mapping, setup_from_toml, setup_to_mapping
from tapemark.web.answering import go_to, page, trouble
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_fields, read_upload
from tapemark.web.jobs import jobs_of
from tapemark.web.start.brief import (
    Answers,
    ReadBrief,
    in_units,
    read_brief,
    tidy_answers,
    usual_answers,
)
from tapemark.web.start.drafts import get_draft, keep_draft, last_draft
from tapemark.web.start.fields import STEPS
from tapemark.web.start.work import begin_plan, job_key

LARGEST_SETUP = 1_000_000
LARGE_BODIES = {"/start/file": LARGEST_SETUP + 10_000}
NO_ERRORS = ReadBrief(brief=None)


async def start(request: Request) -> Response:
    """Answer with the form: the brief that was worked on last, or an untouched one."""
    query = request.query_params

    def looked(library: Library) -> tuple[Any, Any, bool]:
        kept: Kept | None
        if query.get("brief"):
            kept = get_draft(library, query["brief"])
        else:
            kept = None if "anew" in query else last_draft(library)
        return kept, library.kept("gear"), bool(library.kept("setup", most=1))

    kept, gear, been_here = await desk_of(request).library.do(looked)
    answers = usual_answers("metric") if kept is None else kept.body["answers"]
    if query.get("units") in ("metric", "us"):
        answers = in_units(answers, query["units"])
    return _form(
        request,
        answers,
        read=NO_ERRORS,
        draft="" if kept is None else kept.id,
        gear=gear,
        been_here=been_here,
    )


async def send(request: Request) -> Response:
    """Keep the answers; unless only that was asked, begin to plan."""
    fields = await read_fields(request)
    answers, draft = tidy_answers(fields), fields.get("draft", "")
    desk = desk_of(request)
    kept = await desk.library.do(lambda library: keep_draft(library, answers, thing_id=draft))
    if fields.get("do") == "keep":
        return JSONResponse({"draft": kept.id})
    if fields.get("do") in ("metric", "us"):
        changed = in_units(answers, fields["do"])
        await desk.library.do(lambda library: keep_draft(library, changed, thing_id=kept.id))
        return go_to(f"/start?brief={kept.id}")
    read = await desk.library.do(lambda library: read_with_own(library, answers))
    if read.brief is None:
        gear = await desk.library.do(lambda library: library.kept("gear"))
        return _form(
            request, answers, read=read, draft=kept.id, gear=gear, been_here=True, status=422
        )
    if not kept.body.get("plans") or jobs_of(request).busy(job_key(kept.id)):
        begin_plan(request, kept.id, read.brief)
    return go_to(f"/start/{kept.id}")


def read_with_own(library: Library, answers: Answers) -> ReadBrief:
    """Return the answers as a brief, with the own gear that they count."""
    own, wrong = [], {}
    for key, text in answers.items():
        if not key.startswith("own:"):
            continue
        if not (text.isascii() and text.isdigit()) or int(text) > 12:
            wrong[key] = f'"{text}" is no whole number from 0 to 12.'
        elif int(text):
            own.append((library.get(key.removeprefix("own:")).body, int(text)))
    read = read_brief(answers, own=own)
    return ReadBrief(brief=None, errors=read.errors | wrong) if wrong else read


def _form(
    request: Request,
    answers: Answers,
    *,
    read: ReadBrief,
    draft: str,
    gear: Any,
    been_here: bool,
    status: int = 200,
) -> Response:
    return page(
        request,
        "start.html",
        status=status,
        steps=STEPS,
        answers=answers,
        errors=read.errors,
        first=read.first_step,
        draft=draft,
        gear=gear,
        been_here=been_here,
        demos=demo_setups(),
    )


async def begin(request: Request) -> Response:
    """Keep one of the ready setups, or an empty one, and go to it."""
    fields = await read_fields(request)
    which = fields.get("which", "")
    if which == "empty":
        setup = blank_setup("us" if fields.get("units") == "us" else "metric")
        name, why = "Empty set", "an empty set"
    else:
        found = next((one for one in demo_setups() if one.stem == which), None)
        if found is None:
            advice = "Choose the demo or the empty set."
            return trouble(request, "There is no such setup to begin with.", what_to_do=advice)
        setup, name, why = found.setup, found.title, "the demo"
    return await _into_library(request, name=name, body=setup_to_mapping(setup), why=why)


async def take_file(request: Request) -> Response:
    """Keep the setup in a file, and go to it."""
    upload = await read_upload(request, "file", kinds=("text",), most=LARGEST_SETUP)
    text = upload.content.decode("utf-8-sig")
    if text.lstrip().startswith("{"):
        setup = setup_from_mapping(_json(text, upload.shown_name), name=upload.shown_name)
    else:
        setup = setup_from_toml(text, name=upload.shown_name)
    name = setup.title or upload.shown_name.rpartition(".")[0] or upload.shown_name
    body, why = setup_to_mapping(setup), f"from {upload.shown_name}"
    return await _into_library(request, name=name, body=body, why=why)


def _json(text: str, name: str) -> dict[str, Any]:
    import json

    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        raise TapemarkError(f"{name} is no setup: it is neither TOML nor JSON.") from None
    if not isinstance(found, dict):
        raise TapemarkError(f"{name} is no setup: its JSON is no object.")
    return found


async def _into_library(request: Request, *, name: str, body: Any, why: str) -> Response:
    kept = await desk_of(request).library.do(
        lambda library: keep(library, "setup", name=name, body=body, why=why)
    )
    return go_to(f"/set/{kept.id}")


NAV = (20, "/start", "Start")
ROUTES = [
    Route("/start", start),
    Route("/start", send, methods=["POST"]),
    Route("/start/begin", begin, methods=["POST"]),
    Route("/start/file", take_file, methods=["POST"]),
]
