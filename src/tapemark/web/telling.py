"""Telling the open set windows of a setup that another page changed it."""

from typing import TYPE_CHECKING, Any

from tapemark.web.desk import Desk
from tapemark.web.set_screen.live_set import summary
from tapemark.web.talk import spliced
from tapemark.web.windows import Change

if TYPE_CHECKING:
    from tapemark.store import Kept


async def tell_set(desk: Desk, kept: "Kept", *, words: str) -> None:
    """Tell the windows of a set what it is now; nothing where no window shows it."""
    if kept.kind != "setup" or not desk.windows.showing(kept.id):
        return
    parts = await desk.workers.live("tapemark.web.tasks:view", setup=kept.body, detail="full")
    head: dict[str, Any] = {"say": "changed", "words": words, **summary(kept)}
    desk.windows.tell(kept.id, Change(revision=kept.revision, text=spliced(head, parts)))
