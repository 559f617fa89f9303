"""The day: sitters imported and ordered, the change list, a big view of who is next."""

import asyncio
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tapemark.errors import EditedElsewhere, FileError, SetupError, TapemarkError, UnitError
from tapemark.services import demo_lists
from tapemark.services.library.keeping import Library, keep
from tapemark.store import sitters_from_text
from tapemark.store.sitter_lists import LARGEST_LIST_FILE, list_text
from tapemark.units import format_clock, parse_clock_s
from tapemark.web.answering import go_to, page, wants_json
from tapemark.web.day.state import (
    DAY,
    Body,
    comes_at,
    get_day,
    new_day,
    now_of,
    shown_day,
    turn_of,
    with_done,
)
from tapemark.web.day.work import Ask, Note, begin_change, begin_order, job_key
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_fields, read_form
from tapemark.web.jobs import jobs_of
from tapemark.web.lists import setup_lines, when
from tapemark.web.phone_link import phone_link
from tapemark.web.serving_files import file_response

LARGE_BODIES = {"/day": LARGEST_LIST_FILE + 300_000}
MOST_MINUTES = 240
DEMO_LIST = "quillmere-sitters.csv"
STALE = (
    "Another window changed this day meanwhile. This is how it stands now: say it again if it "
    "still holds."
)


async def days(request: Request) -> Response:
    """Answer with the days that are kept, and the form for a new one."""
    answers = {"start": "9:00", "minutes": "8", "sitters": "", "setup": ""}
    if request.query_params.get("list") == "demo":
        answers["sitters"] = str(demo_lists()[DEMO_LIST])
    answers["setup"] = request.query_params.get("setup", "")[:32]
    return await _days(request, answers, errors={})


async def _days(
    request: Request, answers: dict[str, str], *, errors: dict[str, Any], status: int = 200
) -> Response:
    def looked(library: Library) -> tuple[Any, list[dict[str, str]]]:
        found = []
        for line in library.kept("session", most=60):
            body = library.get(line.id).body
            if body.get("what") == DAY:
                there, order = len(body["done"]), body.get("order") or {"turns": ()}
                told = f"{there} done, {max(0, len(order['turns']) - there)} to come"
                found.append(
                    {"id": line.id, "name": line.name, "when": when(line.changed_at), "told": told}
                )
        return setup_lines(library), found

    setups, found = await desk_of(request).library.do(looked)
    return page(
        request,
        "day_list.html",
        status=status,
        setups=setups,
        days=found,
        answers=answers,
        errors=errors,
    )


async def begin(request: Request) -> Response:
    """Keep a new day, or say everything that is wrong with it, and order it."""
    fields, sent = await read_form(request, "file", kinds=("text", "table"), most=LARGEST_LIST_FILE)
    answers = {key: fields.get(key, "") for key in ("setup", "sitters", "start", "minutes")}
    errors: dict[str, Any] = {}
    if fields.get("list") == "demo":  # what was chosen besides stays
        answers["sitters"] = str(demo_lists()[DEMO_LIST])
        return await _days(request, answers, errors={})
    name = "the list"
    if sent is not None:
        name = sent.shown_name
        try:
            answers["sitters"] = list_text(sent.content, name=name)
        except FileError as error:
            errors["sitters"] = [str(error)]
    start_s, sitting_s = _times(answers, errors)
    if not errors.get("sitters"):
        errors |= await asyncio.to_thread(_list_errors, answers["sitters"], name, sitting_s)
    body = (
        None
        if errors
        else await _new_body(request, answers, errors, start_s=start_s, sitting_s=sitting_s)
    )
    if errors or body is None:
        return await _days(request, answers, errors=errors, status=422)
    title = body["setup"].get("title") or "Day"
    kept = await desk_of(request).library.do(
        lambda library: keep(
            library, "session", name=f"{title}, from {format_clock(start_s)}", body=body, why="new"
        )
    )
    begin_order(request, kept)
    return go_to(f"/day/{kept.id}")


def _times(answers: dict[str, str], errors: dict[str, Any]) -> tuple[int, int]:
    start_s = sitting_s = 0
    try:
        start_s = parse_clock_s(answers["start"])
    except UnitError as error:
        errors["start"] = str(error)
    minutes = answers["minutes"].strip()
    if minutes.isascii() and minutes.isdigit() and 1 <= int(minutes[:4]) <= MOST_MINUTES:
        sitting_s = 60 * int(minutes)
    else:
        errors["minutes"] = f"Whole minutes from 1 to {MOST_MINUTES}, such as 8."
    return start_s, sitting_s


def _list_errors(text: str, name: str, sitting_s: int) -> dict[str, list[str]]:
    if not text.strip():
        return {"sitters": ["Paste the list here, or choose its file below."]}
    try:
        sitters_from_text(text, name=name, sitting_s=sitting_s or 60)
    except SetupError as error:
        return {
            "sitters": [
                f"{one.key}: {one.given + '; ' if one.given else ''}{one.advice} "
                f"(allowed: {one.allowed})"
                for one in error.problems
            ]
        }
    except TapemarkError as error:
        return {"sitters": [str(error)]}
    return {}


async def _new_body(
    request: Request,
    answers: dict[str, str],
    errors: dict[str, Any],
    *,
    start_s: int,
    sitting_s: int,
) -> Body | None:
    try:
        kept = await desk_of(request).library.do(lambda library: library.get(answers["setup"]))
        if kept.kind != "setup":
            raise TapemarkError("that is no setup")
    except TapemarkError:
        errors["setup"] = "Choose the setup that the day starts from."
        return None
    return new_day(
        setup_id=kept.id,
        setup=kept.body,
        sitters=answers["sitters"],
        start_s=start_s,
        sitting_s=sitting_s,
    )


async def day(request: Request) -> Response:
    """Answer with the order of a day and its changes."""
    return await _show(request, "day.html")


async def next_up(request: Request) -> Response:
    """Answer with who is next, large enough to read at arm's length."""
    return await _show(request, "day_next.html")


async def phone(request: Request) -> Response:
    """Answer with a code that lets a phone in, and shows there who is next."""
    return await _show(request, "day.html", with_code=True)


async def _show(
    request: Request, template: str, *, said: str = "", status: int = 200, with_code: bool = False
) -> Response:
    kept = await _kept(request)
    shown = await desk_of(request).library.do(lambda _: shown_day(kept))
    return page(
        request,
        template,
        status=status,
        id=kept.id,
        name=kept.name,
        day=shown,
        revision=kept.revision,
        job=jobs_of(request).get(job_key(kept.id)),
        said=said,
        phone=await phone_link(request, f"/day/{kept.id}/next", asked=with_code),
    )


async def state(request: Request) -> Response:
    """Answer with how a day stands, as JSON."""
    kept = await _kept(request)
    job = jobs_of(request).get(job_key(kept.id))
    text, busy = ("", False) if job is None else (job.text, job.busy)
    mark = f"{kept.revision}-{busy}-{'' if job is None else job.refusal}"
    return JSONResponse({"busy": busy, "text": text, "mark": mark})


async def happened(request: Request) -> Response:
    """Take in what happened: somebody done, away, late, early, back; or take the last back."""
    fields = await read_fields(request)
    view = "/next" if fields.get("view") == "next" else ""
    template = "day_next.html" if view else "day.html"
    try:
        await _take_in(request, fields)
    except (TapemarkError, LookupError) as error:
        said = STALE if isinstance(error, EditedElsewhere) else str(error)
        if wants_json(request):
            return JSONResponse({"error": {"text": said}}, status_code=409)
        return await _show(request, template, said=said, status=409)
    return go_to(f"/day/{request.path_params['id']}{view}")


async def _take_in(request: Request, fields: dict[str, str]) -> None:
    kept, what = await _kept(request), fields.get("do", "")
    library, jobs, key = desk_of(request).library, jobs_of(request), job_key(kept.id)
    name, revision = fields.get("name", ""), _revision(fields)
    if what == "order":
        begin_order(request, kept)
    elif what == "enough":
        jobs.finish(key)
    elif not kept.body.get("order"):
        raise TapemarkError("This day has no order yet.")
    elif what == "undo":
        jobs.stop(key)
        await library.do(lambda shelf: shelf.undo(kept.id, revision))
    elif what == "done":
        await _done(request, kept, name=name, revision=revision)
    elif jobs.busy(key):
        raise TapemarkError("The order is just being made anew: a moment, then say it again.")
    elif revision != kept.revision:
        raise EditedElsewhere(kept)
    else:
        _reorder(request, kept, what=what, name=name, until=fields.get("until", ""))


async def _done(request: Request, kept: Any, *, name: str, revision: int) -> None:
    """Keep that somebody was photographed, once, however many press the button."""
    if any(one["name"] == name for one in kept.body["done"]):
        return
    now_s, _own = now_of(kept.body)
    after = with_done(kept.body, name, now_s=now_s)
    await desk_of(request).library.do(
        lambda shelf: shelf.save(kept.id, after, base_revision=revision, why=f"{name} done")
    )


def _reorder(request: Request, kept: Any, *, what: str, name: str, until: str) -> None:
    """Begin a new order for somebody who is away, late, early, or there after all."""
    ask, note, words = _asked(kept.body, what=what, name=name, until=until)
    begin_change(request, kept.id, ask=ask, note=note, words=words)


def _asked(body: Body, *, what: str, name: str, until: str) -> tuple[Ask, Note, str]:
    """Return what a new order is to heed, what is noted of it, and the words for it."""
    if what == "back":
        if name not in body["absent"]:
            raise TapemarkError(f'"{name[:60]}" was not given up.')
        return (
            lambda now: {"back": now["absent"][name]},
            lambda now: {**now, "absent": {k: v for k, v in now["absent"].items() if k != name}},
            f"{name} is there after all",
        )
    turn_of(body, name)
    if what == "absent":
        return (
            lambda now: {"absent": [name]},
            lambda now: {**now, "absent": {**now["absent"], name: turn_of(now, name)}},
            f"{name} does not come",
        )
    if what == "late":
        at_s = comes_at(until, now_s=now_of(body)[0])
        words = f"{name} comes at {format_clock(at_s)}"
        return lambda now: {"late": {name: at_s}}, lambda now: now, words
    if what == "early":
        return lambda now: {"first": name}, lambda now: now, f"{name} is next"
    raise TapemarkError("That cannot be said of somebody.")


async def paper(request: Request) -> Response:
    """Answer with the day on paper."""
    kept = await _kept(request)
    if not kept.body.get("order"):
        raise TapemarkError("This day has no order yet.")
    size = "letter" if kept.body["setup"].get("units") == "us" else "a4"
    if request.query_params.get("paper") in ("a4", "letter"):
        size = request.query_params["paper"]
    parts = await desk_of(request).workers.long(
        f"paper:{kept.id}",
        "tapemark.web.day.tasks:paper",
        order=kept.body["order"],
        notes=kept.body["notes"],
        paper=size,
    )
    return file_response(request, parts["file"], form="pdf", name=f"{kept.name} order")


async def _kept(request: Request) -> Any:
    key = request.path_params["id"]
    return await desk_of(request).library.do(lambda library: get_day(library, key))


def _revision(fields: dict[str, str]) -> int:
    text = fields.get("revision", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else 0


NAV = (40, "/day", "Day")
ROUTES = [
    Route("/day", days),
    Route("/day", begin, methods=["POST"]),
    Route("/day/{id}.pdf", paper),
    Route("/day/{id}/next", next_up),
    Route("/day/{id}/state", state),
    Route("/day/{id}/phone", phone, methods=["POST"]),
    Route("/day/{id}", day),
    Route("/day/{id}", happened, methods=["POST"]),
]
