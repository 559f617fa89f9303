"""Plans for a brief: how far it is, what was found, and what to give up where nothing fits."""

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tapemark.errors import NotKept
from tapemark.services.library.keeping import keep
from tapemark.studio import changed, setup_from_mapping, setup_to_mapping
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.drawn import drawn_file
from tapemark.web.forms import read_fields
from tapemark.web.jobs import jobs_of
from tapemark.web.pages.start_page import read_with_own
from tapemark.web.serving_files import file_response
from tapemark.web.start.drafts import get_draft, keep_draft, mark_taken
from tapemark.web.start.work import begin_plan, job_key

WISHES = {
    "framing": "framing",
    "aperture": "aperture",
    "mood": "mood",
    "pattern": "pattern",
    "face": "side of the face",
    "background": "background",
    "time": "time to build",
}
VIEWS = ("camera", "plan")


async def plans(request: Request) -> Response:
    """Answer with the plans of a brief, or with how far they are."""
    kept = await _draft(request)
    job = jobs_of(request).get(job_key(kept.id))
    found = kept.body.get("plans")
    return page(
        request,
        "plans.html",
        id=kept.id,
        name=kept.name.removeprefix("Brief: "),
        job=job,
        found=found,
        wishes=WISHES,
    )


async def state(request: Request) -> Response:
    """Answer with how far planning is, as JSON."""
    kept = await _draft(request)
    job = jobs_of(request).get(job_key(kept.id))
    text, busy = ("", False) if job is None else (job.text, job.busy)
    return JSONResponse({"busy": busy, "text": text, "mark": f"{kept.revision}-{busy}"})


async def change(request: Request) -> Response:
    """Do what a button of the page says: end, stop, plan again, give up wishes, or take a plan."""
    kept, fields = await _draft(request), await read_fields(request)
    jobs, key = jobs_of(request), job_key(kept.id)
    match fields.get("do", ""):
        case "enough":
            jobs.finish(key)
        case "stop":
            jobs.stop(key)
        case "again":
            await _plan_again(request, kept)
        case "without":
            await _give_up(request, kept, number=fields.get("number", ""))
        case "take":
            return await _take(request, kept, letter=fields.get("letter", ""))
    return go_to(f"/start/{kept.id}")


async def picture(request: Request) -> Response:
    """Answer with a drawing of a plan."""
    kept, letter = await _draft(request), request.path_params["letter"]
    view = request.path_params["view"]
    if view not in VIEWS:
        raise NotKept(f"a drawing {view[:20]!r}")
    setup = _plan(kept, letter)["setup"]
    content = await drawn_file(request, "plate", setup=setup, which=view)
    return file_response(request, content, form="png")


async def _draft(request: Request) -> Any:
    key = request.path_params["id"]
    return await desk_of(request).library.do(lambda library: get_draft(library, key))


async def _plan_again(request: Request, kept: Any) -> None:
    read = await desk_of(request).library.do(
        lambda library: read_with_own(library, kept.body["answers"])
    )
    if read.brief is not None:
        begin_plan(request, kept.id, read.brief)


async def _give_up(request: Request, kept: Any, *, number: str) -> None:
    """Change the wishes as a proposal says, and plan again."""
    found = (kept.body.get("plans") or {}).get("give_up", [])
    if not number.isdigit() or int(number) >= len(found):
        raise NotKept("this proposal")
    proposal = found[int(number)]
    setup, answers = proposal["plan"]["setup"], dict(kept.body["answers"])
    for wish in proposal["wishes"]:
        if wish == "aperture":
            answers["aperture"] = setup["camera"]["aperture"]
        elif wish == "framing":
            answers["framing"] = setup["camera"].get("framing", answers["framing"])
        else:
            answers[wish] = "" if wish == "time" else "any"
    changed_draft = await desk_of(request).library.do(
        lambda library: keep_draft(library, answers, thing_id=kept.id)
    )
    await _plan_again(request, changed_draft)


async def _take(request: Request, kept: Any, *, letter: str) -> Response:
    plan = _plan(kept, letter)
    setup = setup_from_mapping(plan["setup"], name="the plan")
    lead = kept.body["answers"].get("title") or setup.title or setup.sitter.name
    title = f"{lead}, plan {letter}: {plan['title']}"[:200]
    body = setup_to_mapping(changed(setup, {"title": title}))

    def take(library: Any) -> Any:
        made = keep(library, "setup", name=title, body=body, why=f"plan {letter}")
        mark_taken(library, kept.id, made.id)
        return made

    made = await desk_of(request).library.do(take)
    return go_to(f"/set/{made.id}")


def _plan(kept: Any, letter: str) -> dict[str, Any]:
    found = kept.body.get("plans") or {}
    offered = [*found.get("plans", ()), *(one["plan"] for one in found.get("give_up", ()))]
    for plan in offered:
        if plan["letter"] == letter:
            return dict(plan)
    raise NotKept(f"plan {letter[:20]!r} of this brief")


ROUTES = [
    Route("/start/{id}", plans),
    Route("/start/{id}", change, methods=["POST"]),
    Route("/start/{id}/state", state),
    Route("/start/{id}/{letter}/{view}.png", picture),
]
