"""Sift: a folder of photos read, looked through the worst first, and taken along as lists."""

import asyncio
import json
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tapemark.errors import TapemarkError
from tapemark.services.photos.sift_files import sift_as_csv, sift_as_plain, write_sidecars
from tapemark.services.photos.sift_results import VERDICTS, Found, Results
from tapemark.services.photos.sift_shelf import SiftedFolder, results_size
from tapemark.services.photos.sifting import crop_of
from tapemark.web import asking
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_fields
from tapemark.web.guard import on_this_machine
from tapemark.web.jobs import jobs_of
from tapemark.web.lists import when
from tapemark.web.serving_files import file_response
from tapemark.web.sift.shown import choices, shown_people, thumbnail
from tapemark.web.sift.state import Sifting, begin_sift, being_read, job_key, sifting_of

NAV = (70, "/sift", "Sift")
A_PAGE = 60  # frames
PHOTO = "tapemark.web.sift.tasks:photo"
MOST_LISTED = 60
_FORMS = {"csv": "csv", "json": "json"}


async def folders(request: Request) -> Response:
    """Answer with the folders that were sifted, and the forms for another."""
    return await _folders(request)


async def _folders(
    request: Request,
    *,
    answers: dict[str, str] | None = None,
    errors: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    sifting, jobs = sifting_of(request), jobs_of(request)
    found = await asyncio.to_thread(sifting.shelf.folders)
    lines = [
        {"folder": one, "when": when(one.at), "job": jobs.get(job_key(one.key))}
        for one in found[:MOST_LISTED]
    ]
    return page(
        request,
        "sift_list.html",
        status=status,
        lines=lines,
        here_only=asking.on_this_machine(request.scope),
        root=str(sifting.shelf.root),
        answers={"photos": "", "results": "", "originals": "", **(answers or {})},
        errors={"photos": "", "results": "", **(errors or {})},
    )


@on_this_machine
async def begin(request: Request) -> Response:
    """Begin to read a folder that was typed, or open results that the command wrote."""
    fields = await read_fields(request)
    shelf = sifting_of(request).shelf
    opens = fields.get("do") == "open"
    try:
        if opens:
            folder = await asyncio.to_thread(
                shelf.open, fields.get("results", ""), photos=fields.get("originals", "")
            )
        else:
            folder = await asyncio.to_thread(shelf.begin, fields.get("photos", ""))
    except TapemarkError as error:
        wrong = {"results" if opens else "photos": str(error)}
        return await _folders(request, answers=fields, errors=wrong, status=422)
    if not opens:
        busy = await asyncio.to_thread(being_read, request)
        if busy is not None and busy != folder:
            wrong = {"photos": _wait_for(busy)}
            return await _folders(request, answers=fields, errors=wrong, status=409)
        if busy is None:
            begin_sift(request, folder)
    return go_to(f"/sift/{folder.key}")


def _wait_for(folder: SiftedFolder) -> str:
    return f"{folder.name} is being read just now: wait until that is done, or stop it there."


async def contact(request: Request) -> Response:
    """Answer with the frames of a folder as a contact sheet, the worst first."""
    return await _contact(request)


async def _contact(request: Request, *, said: str = "", status: int = 200) -> Response:
    folder, sifting = await _folder(request)
    results = await asyncio.to_thread(sifting.results, folder)
    total = await asyncio.to_thread(sifting.total, folder)
    kept = _filter(request)
    chosen = results.chosen(**kept)
    pages = max(1, -(-len(chosen) // A_PAGE))
    number = min(_number(request.query_params.get("page", "")), pages)
    job = jobs_of(request).get(job_key(folder.key))
    return page(
        request,
        "sift.html",
        status=status,
        folder=folder,
        size=await asyncio.to_thread(results_size, folder),
        read=len(results.frames),
        total=total,
        job=job,
        said=said,
        thumbs=[thumbnail(one) for one in chosen[(number - 1) * A_PAGE : number * A_PAGE]],
        count=len(chosen),
        number=number,
        pages=pages,
        choices=choices(results),
        kept=kept,
        query=urlencode({name: value for name, value in kept.items() if value}),
        here_only=asking.on_this_machine(request.scope),
    )


async def state(request: Request) -> Response:
    """Answer with how far the reading of a folder is, as JSON."""
    folder, sifting = await _folder(request)
    job = jobs_of(request).get(job_key(folder.key))
    text, busy = ("", False) if job is None else (job.text, job.busy)
    read = len((await asyncio.to_thread(sifting.results, folder)).frames)
    mark = f"{min(read, A_PAGE) if busy else 'all'}-{busy}"  # a full page is left in peace
    return JSONResponse({"busy": busy, "text": text, "mark": mark})


@on_this_machine
async def change(request: Request) -> Response:
    """Stop or go on, write sidecars beside the photos, or forget a folder."""
    folder, sifting = await _folder(request)
    fields, jobs = await read_fields(request), jobs_of(request)
    match fields.get("do", ""):
        case "stop":
            jobs.finish(job_key(folder.key))
        case "go" if folder.ours:
            busy = await asyncio.to_thread(being_read, request)
            if busy is not None and busy != folder:
                return await _contact(request, said=_wait_for(busy), status=409)
            if busy is None:
                begin_sift(request, folder)
        case "xmp":
            return await _sidecars(request, folder, sifting, rate=fields.get("rate") == "yes")
        case "forget":
            jobs.stop(job_key(folder.key))
            await asyncio.to_thread(sifting.forget, folder.key)
            return go_to("/sift")
    return go_to(f"/sift/{folder.key}")


async def _sidecars(
    request: Request, folder: SiftedFolder, sifting: Sifting, *, rate: bool
) -> Response:
    """Write a sidecar beside every photo that has none of another program."""
    photos = folder.photos_folder
    if photos is None or not photos.is_dir():
        said = "The folder of the photos is not there: sidecars lie beside photos."
        return await _contact(request, said=said, status=409)
    results = await asyncio.to_thread(sifting.results, folder)
    report = results.report(folder.name, total=len(results.frames), interrupted=False)
    try:
        done = await asyncio.to_thread(write_sidecars, report, folder=photos, rate=rate)
    except TapemarkError as error:
        return await _contact(request, said=str(error), status=409)
    said = f"{done.written} sidecars are written beside the photos; no photo was changed."
    if done.left_alone:
        said += f" {done.left_alone} were left alone: another program wrote them."
    return await _contact(request, said=said)


async def eyes(request: Request) -> Response:
    """Answer with the eyes of a frame, small, with what was found drawn in."""
    folder, found, _ = await _found(request)
    content = await asyncio.to_thread(crop_of, folder.results_folder, found.frame)
    if not content:
        raise HTTPException(404)
    return file_response(request, content, form="jpg")


async def photo(request: Request) -> Response:
    """Answer with a frame as large as a page shows it."""
    folder, found, _ = await _found(request)
    photos = folder.photos_folder
    if photos is None or found.frame.reading is None:
        raise HTTPException(404)
    parts = await desk_of(request).workers.long(
        f"photo:{folder.key}:{found.key}", PHOTO, path=str(photos / found.frame.file)
    )
    return file_response(request, parts["file"], form="jpg")


async def frame(request: Request) -> Response:
    """Answer with one frame, large, and everything that was found in it."""
    folder, found, results = await _found(request)
    kept = _filter(request)
    chosen = results.chosen(**kept)
    at = next((k for k, one in enumerate(chosen) if one.key == found.key), None)
    photos = folder.photos_folder
    large = photos is not None and await asyncio.to_thread((photos / found.frame.file).is_file)
    return page(
        request,
        "sift_frame.html",
        folder=folder,
        found=found,
        reading=found.frame.reading,
        people=shown_people(found),
        large=large and found.frame.reading is not None,
        before=None if at is None or at == 0 else chosen[at - 1].key,
        after=None if at is None or at + 1 >= len(chosen) else chosen[at + 1].key,
        place=None if at is None else at + 1,
        count=len(chosen),
        back=1 if at is None else at // A_PAGE + 1,
        query=urlencode({name: value for name, value in kept.items() if value}),
    )


async def export(request: Request) -> Response:
    """Answer with the list of a folder: a table, or JSON."""
    folder, sifting = await _folder(request)
    form = _FORMS.get(request.path_params["form"])
    if form is None:
        raise HTTPException(404)
    results = await asyncio.to_thread(sifting.results, folder)
    total = await asyncio.to_thread(sifting.total, folder)
    report = results.report(folder.name, total=total, interrupted=len(results.frames) < total)

    def made() -> bytes:
        if form == "csv":
            return sift_as_csv(report).encode()
        return (json.dumps(sift_as_plain(report), ensure_ascii=False, indent=1) + "\n").encode()

    content = await asyncio.to_thread(made)
    return file_response(request, content, form=form, name=f"{folder.name} sifted")


async def _folder(request: Request) -> tuple[SiftedFolder, Sifting]:
    sifting = sifting_of(request)
    folder = await asyncio.to_thread(sifting.shelf.get, request.path_params["key"])
    if folder is None:
        raise HTTPException(404)
    return folder, sifting


async def _found(request: Request) -> tuple[SiftedFolder, Found, Results]:
    folder, sifting = await _folder(request)
    key = request.path_params["frame"]
    found, results = await asyncio.to_thread(sifting.frame, folder, key)
    if found is None:
        raise HTTPException(404)
    return folder, found, results


def _filter(request: Request) -> dict[str, str]:
    query = request.query_params
    verdict = query.get("verdict", "")
    return {
        "verdict": verdict if verdict in VERDICTS else "",
        "wearer": query.get("wearer", "")[:8],
    }


def _number(text: str) -> int:
    return max(1, int(text)) if text.isascii() and text.isdigit() and len(text) < 7 else 1


ROUTES = [
    Route("/sift", folders),
    Route("/sift", begin, methods=["POST"]),
    Route("/sift/{key}.{form}", export),
    Route("/sift/{key}", contact),
    Route("/sift/{key}", change, methods=["POST"]),
    Route("/sift/{key}/state", state),
    Route("/sift/{key}/eyes/{frame}.jpg", eyes),
    Route("/sift/{key}/photo/{frame}.jpg", photo),
    Route("/sift/{key}/frame/{frame}", frame),
]
