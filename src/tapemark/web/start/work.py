"""Planning in the background: begun from the form, followed by any window, kept with its brief."""

import contextlib
import json
from typing import Any

from starlette.requests import Request

from tapemark.errors import NotKept
from tapemark.web.desk import desk_of
from tapemark.web.jobs import jobs_of
from tapemark.web.start.drafts import keep_plans
from tapemark.web.workers.pool import Tell

TASK = "tapemark.web.start.tasks:plan"
COUNT = 3


def job_key(draft: str) -> str:
    """Return what the planning of a brief is called among the works of the app."""
    return f"brief:{draft}"


def begin_plan(request: Request, draft: str, brief: dict[str, Any]) -> None:
    """Plan a brief in the background, and keep what is found."""
    desk, key = desk_of(request), job_key(draft)

    async def work(tell: Tell) -> None:
        parts = await desk.workers.long(key, TASK, tell=tell, brief=brief, count=COUNT)
        plans = json.loads(parts["plans"])
        with contextlib.suppress(NotKept):  # the brief was erased meanwhile
            await desk.library.do(lambda library: keep_plans(library, draft, plans))

    jobs_of(request).begin(key, work, text="Getting ready to plan")
