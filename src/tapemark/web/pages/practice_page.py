"""Practice: drills as pictures to tap on, answered with words, told with reasons, scored."""

import asyncio
import math
import secrets
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tapemark.errors import NotKept, SetupError
from tapemark.services.library.keeping import Library, open_setup
from tapemark.services.practice import (
    PICTURES,
    ROUND,
    CardAnswer,
    answer_card,
    card_of,
    card_picture,
    cards_made,
    result_points,
    round_mark,
)
from tapemark.web.answering import go_to, page
from tapemark.web.desk import desk_of
from tapemark.web.forms import read_fields
from tapemark.web.jobs import jobs_of
from tapemark.web.practice.going_on import DEMO, broken_off
from tapemark.web.practice.words import PARTS, SURFACES, rings
from tapemark.web.serving_files import file_response
from tapemark.web.workers.pool import Tell

TASK = "tapemark.web.practice.tasks:cards"
MOST_SEED = 10_000
MOST_SETUPS = 60
A_PICTURE_S, LOOK_EVERY_S = 240.0, 0.2  # on a machine that is busy with more


@dataclass(frozen=True, kw_only=True, eq=False)
class Round:
    """A round of drills that an address names.

    Attributes
    ----------
    base, seed, number : str, int, int
        Of the address.
    mark : str
        Under which its cards are kept.
    body : dict or None
        The setup it is made from; None for the demo's.
    """

    base: str
    seed: int
    number: int
    mark: str
    body: dict[str, Any] | None

    @property
    def key(self) -> str:
        """What making it is called among the works of the app."""
        return f"practice:{self.mark}"

    def address(self, number: int) -> str:
        """Return the address of one of its drills."""
        return f"/practice/{self.base}/{self.seed}/{number}"


async def practice(request: Request) -> Response:
    """Answer with the score and the way into a round."""

    def read(library: Library) -> dict[str, Any]:
        own = library.kept("setup", most=MOST_SETUPS)
        return {
            "score": library.practice.score(),
            "own": [(one.id, one.name) for one in own],
            "broken_off": broken_off(library),
        }

    found = await desk_of(request).library.do(read)
    return page(request, "practice.html", **found, parts=PARTS, refused="")


async def begin(request: Request) -> Response:
    """Begin a new round."""
    fields = await read_fields(request)
    base = fields.get("base", DEMO) or DEMO
    seed = secrets.randbelow(MOST_SEED)
    if base != DEMO:
        kept = await desk_of(request).library.do(lambda library: library.get(base))
        if kept.kind != "setup":
            raise NotKept(f"a setup of id {base[:40]!r}")
        base = kept.id
    return go_to(f"/practice/{base}/{seed}/1")


async def drill(request: Request) -> Response:
    """Answer with a drill to look at, with what an answer was worth, or with how far it is."""
    asked = await _round(request)
    card = card_of(asked.mark, asked.number)
    if card is None:
        return await _waiting(request, asked)
    answer = _answer(request.query_params)
    result = None if answer is None else answer_card(card, answer)
    return await _show(request, asked, card, answer=answer, result=result)


async def send(request: Request) -> Response:
    """Score an answer, keep the score, and go on to what it was worth."""
    asked, fields = await _round(request), await read_fields(request)
    card = card_of(asked.mark, asked.number)
    if card is None:
        return go_to(asked.address(asked.number))
    answer = _answer(fields)
    if answer is None:
        told = "Tap the picture where a reflection covers an eye, and answer all three."
        return await _show(request, asked, card, fields=fields, refused=told)
    try:
        result = answer_card(card, answer)
    except SetupError as error:
        told = " ".join(f"{one.key}: {one.advice}." for one in error.problems)
        return await _show(request, asked, card, fields=fields, refused=told)
    right = {name: bool(one["right"]) for name, one in result.items()}
    base = "" if asked.body is None else asked.base
    await desk_of(request).library.do(
        lambda library: library.practice.keep(
            base=base, seed=asked.seed, number=asked.number, **right
        )
    )
    told = urlencode({name: fields[name] for name in ("x", "y", "light", "surface", "move")})
    return go_to(f"{asked.address(asked.number)}?{told}")


async def state(request: Request) -> Response:
    """Answer with how far a drill is, as JSON."""
    asked = await _round(request)
    job = jobs_of(request).get(asked.key)
    made = card_of(asked.mark, asked.number) is not None
    text, busy = ("", False) if job is None else (job.text, job.busy)
    return JSONResponse({"busy": busy and not made, "text": text})


async def picture(request: Request) -> Response:
    """Answer with a picture of a drill, when it is there."""
    asked, which = await _round(request), request.path_params["which"]
    if which not in PICTURES:
        raise NotKept(f"a picture {which[:20]!r}")
    waited = 0.0
    while (content := card_picture(asked.mark, asked.number, which)) is None:
        if waited >= A_PICTURE_S or not jobs_of(request).busy(asked.key):
            raise NotKept("this picture")
        await asyncio.sleep(LOOK_EVERY_S)
        waited += LOOK_EVERY_S
    return file_response(request, content, form="jpg")


# ---------------------------------------------------------------------------- steps


async def _round(request: Request) -> Round:
    base, seed, number = (request.path_params[name] for name in ("base", "seed", "number"))
    if not _is_count(seed, MOST_SEED) or not _is_count(number, ROUND + 1) or int(number) < 1:
        raise NotKept(f"a drill {number[:10]!r} of round {seed[:10]!r}")
    body, setup = None, None
    if base != DEMO:
        setup = await desk_of(request).library.do(lambda library: open_setup(library, base))
        body = (await desk_of(request).library.do(lambda library: library.get(base))).body
    return Round(
        base=base,
        seed=int(seed),
        number=int(number),
        mark=round_mark(setup, int(seed)),
        body=body,
    )


async def _waiting(request: Request, asked: Round) -> Response:
    """Begin to make the round unless that is under way, and say how far it is."""
    jobs, made = jobs_of(request), cards_made(asked.mark)
    job = jobs.get(asked.key)
    over = made is not None and asked.number > made
    if not over and (job is None or (not job.busy and not job.refusal)):
        _make(request, asked)
        job = jobs.get(asked.key)
    refused = "" if job is None or job.busy else job.refusal
    if over:
        refused = (
            "All drills of this round are answered."
            if made
            else "No single move cures what lights like these can do here. Practise with another."
        )
    if refused and job is not None:
        jobs.forget(asked.key)
    address = f"{asked.address(asked.number)}/state"
    return page(
        request,
        "practice_wait.html",
        address=address,
        job=job,
        refused=refused,
        number=asked.number,
    )


def _make(request: Request, asked: Round) -> None:
    desk = desk_of(request)
    width = desk.settings.picture_rows * 6 // 5

    async def work(tell: Tell) -> None:
        await desk.workers.long(
            asked.key, TASK, tell=tell, base=asked.body, seed=asked.seed, width=width
        )

    jobs_of(request).begin(asked.key, work, text="Placing lights badly")


async def _show(
    request: Request,
    asked: Round,
    card: dict[str, Any],
    *,
    answer: CardAnswer | None = None,
    result: dict[str, Any] | None = None,
    fields: dict[str, str] | None = None,
    refused: str = "",
) -> Response:
    if cards_made(asked.mark) is None and not jobs_of(request).busy(asked.key):
        _make(request, asked)  # what comes after this one
    base = "" if asked.body is None else asked.base
    known = await desk_of(request).library.do(
        lambda library: library.practice.answered(base=base, seed=asked.seed)
    )
    last = asked.number >= (cards_made(asked.mark) or ROUND)
    return page(
        request,
        "practice_drill.html",
        status=422 if refused else 200,
        card=card,
        address=asked.address(asked.number),
        after="/practice" if last else asked.address(asked.number + 1),
        last=last,
        number=asked.number,
        count=cards_made(asked.mark) or ROUND,
        answered=len(known),
        points=sum(one.points for one in known),
        before=any(one.number == asked.number for one in known) and result is None,
        answer=answer,
        result=result,
        right=0 if result is None else result_points(result),
        places=[] if result is None else rings(card),
        parts=PARTS,
        surfaces=SURFACES,
        lights=[(one, one) for one in card["lights"]],
        moves=[(one["letter"], f"{one['letter']}  {one['text']}") for one in card["moves"]],
        given=fields or {},
        refused=refused,
    )


def _answer(fields: Any) -> CardAnswer | None:
    """Return an answer from fields; None where a part of it is missing."""
    texts = {name: fields.get(name, "")[:200] for name in ("x", "y", "light", "surface", "move")}
    if not all(texts.values()):
        return None
    try:
        x, y = float(texts["x"]), float(texts["y"])
    except ValueError:
        return None
    if not (math.isfinite(x) and math.isfinite(y)):
        return None
    return CardAnswer(x=x, y=y, light=texts["light"], surface=texts["surface"], move=texts["move"])


def _is_count(text: str, most: int) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 7 and int(text) <= most


NAV = (80, "/practice", "Practice")
ROUTES = [
    Route("/practice", practice),
    Route("/practice", begin, methods=["POST"]),
    Route("/practice/{base}/{seed}/{number}", drill),
    Route("/practice/{base}/{seed}/{number}", send, methods=["POST"]),
    Route("/practice/{base}/{seed}/{number}/state", state),
    Route("/practice/{base}/{seed}/{number}/{which}.jpg", picture),
]
