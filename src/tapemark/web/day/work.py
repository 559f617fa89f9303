"""Orders made in the background: of a new day, and again when somebody is late, away or early."""

import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from starlette.requests import Request

from tapemark.errors import EditedElsewhere, TapemarkError
from tapemark.web.day.state import Body, done_since, get_day, now_of
from tapemark.web.desk import desk_of
from tapemark.web.jobs import jobs_of
from tapemark.web.workers.pool import Tell

if TYPE_CHECKING:
    from tapemark.store import Kept, Library

TASKS = "tapemark.web.day.tasks:"
MOST_TRIES = 3

Ask = Callable[[Body], Mapping[str, Any]]
Note = Callable[[Body], Body]


def job_key(day: str) -> str:
    """Return what the ordering of a day is called among the works of the app."""
    return f"day:{day}"


def begin_order(request: Request, kept: "Kept") -> None:
    """Order a new day in the background, and keep the order."""
    desk, key, body = desk_of(request), job_key(kept.id), kept.body

    async def work(tell: Tell) -> None:
        parts = await desk.workers.long(
            key,
            f"{TASKS}order",
            tell=tell,
            **{name: body[name] for name in ("setup", "sitters", "start_s", "sitting_s")},
        )
        found = {name: json.loads(parts[name]) for name in ("order", "notes")}

        def save(library: "Library") -> None:
            now = get_day(library, kept.id)
            after = {**now.body, **found}
            library.save(kept.id, after, base_revision=now.revision, why="order made")

        await desk.library.do(save)

    jobs_of(request).begin(key, work, text="Looking at the list")


def begin_change(request: Request, day: str, *, ask: Ask, note: Note, words: str) -> None:
    """Order those still to come again, and keep that with what has happened.

    Parameters
    ----------
    request : Request
        Whose app.
    day : str
        Which day.
    ask : callable
        From the day as it is, what the new order is to heed; raises where it is out of date.
    note : callable
        From the day as it is, the day with what happened.
    words : str
        What happened, for the list of versions.
    """
    desk, key = desk_of(request), job_key(day)

    async def work(tell: Tell) -> None:
        for _ in range(MOST_TRIES):
            kept = await desk.library.do(lambda library: get_day(library, day))
            now_s, _own = now_of(kept.body)
            parts = await desk.workers.long(
                key,
                f"{TASKS}rearrange",
                tell=tell,
                order=kept.body["order"],
                done=done_since(kept.body),
                now_s=now_s,
                **ask(kept.body),
            )
            after = {**note(kept.body), "order": json.loads(parts["order"]), "last": words}
            try:
                await desk.library.do(
                    lambda library, kept=kept, after=after: library.save(  # type: ignore[misc]
                        day, after, base_revision=kept.revision, why=words
                    )
                )
            except EditedElsewhere:
                continue
            return
        raise TapemarkError("Too much changed meanwhile: say it again.")

    jobs_of(request).begin(key, work, text=f"{words}: ordering again")
