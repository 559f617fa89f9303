"""A set as one window works on it: tried, taken, undone, merged."""

import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tapemark.errors import EditedElsewhere, NotKept, TapemarkError
from tapemark.services.library.keeping import keep_both, merge_bodies
from tapemark.services.library.stepping import step
from tapemark.web.desk import Desk
from tapemark.web.messages import Message
from tapemark.web.talk import spliced
from tapemark.web.windows import Change, Window
from tapemark.web.workers.pool import Tell

if TYPE_CHECKING:
    from tapemark.services.library.merging import Side
    from tapemark.store import Kept

TASKS = "tapemark.web.tasks:"
MOST_PENDING = 8

Body = dict[str, Any]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Pending:
    """A change that met another one, until the person decides."""

    base: Body
    mine: Body
    why: str


class LiveSet:
    """A set as one window works on it.

    Parameters
    ----------
    desk : Desk
        What the app shares.
    window : Window
        The window.
    """

    def __init__(self, desk: Desk, window: Window) -> None:
        self._desk = desk
        self._window = window
        self._id = window.thing_id
        self._kept: Kept | None = None
        self._pending: dict[int, _Pending] = {}

    async def open(self) -> None:
        """Read the set.

        Raises
        ------
        NotKept
            There is none of that id.
        """
        kept = await self._desk.library.do(lambda library: library.get(self._id))
        if kept.kind != "setup":
            raise NotKept(f"a set of id {self._id!r}")
        self._kept = kept

    async def follow(self, change: Change) -> bool:
        """Take over what another window changed; return whether it is news."""
        if change.revision <= self._now.revision:
            return False
        self._kept = await self._desk.library.do(lambda library: library.get(self._id))
        return True

    async def answer(self, message: Message) -> str:
        """Return the answer to a message, as JSON."""
        number = message.get("n", 0)
        match message["do"]:
            case "hello":
                await self.open()
                return await self._state()
            case "try":
                return await self._tried(message)
            case "take":
                return await self._taken(message)
            case "undo" | "redo":
                return await self._stepped(message)
            case "merge":
                return await self._merged(number, prefer=message.get("prefer"))
            case "keep both":
                return await self._kept_both(number)
        raise TapemarkError(f"{message['do']} is not understood here.")

    async def work(self, message: Message, *, key: str, tell: Tell) -> str:
        """Return the answer to a message that takes seconds, as JSON."""
        setup = self._now.body
        if message["do"] == "map":
            parts = await self._desk.workers.long(
                key, f"{TASKS}sightlines", tell=tell, setup=setup, light=message["light"]
            )
            told = {"say": "map", "n": message["n"], "light": message["light"]}
        else:
            parts = await self._desk.workers.long(
                key, f"{TASKS}moves", tell=tell, setup=setup, keep=message.get("keep", [])
            )
            told = {"say": "moves", "n": message["n"]}
        return spliced(told, parts)

    # ------------------------------------------------------------------ steps

    @property
    def _now(self) -> "Kept":
        assert self._kept is not None
        return self._kept

    async def _state(self) -> str:
        return spliced({"say": "state", **summary(self._now)}, await self._view(self._now.body))

    async def _view(self, body: Body) -> dict[str, bytes]:
        """Return the whole view; one that was shown lately, as after an undo, is there at once."""
        mark = hashlib.sha256(json.dumps(body).encode()).hexdigest()
        known = self._desk.windows.view(mark)
        if known is None:
            known = await self._desk.workers.live(f"{TASKS}view", setup=body, detail="full")
            self._desk.windows.keep_view(mark, known)
        return known

    async def _tried(self, message: Message) -> str:
        shown = {"drawings": message["drawings"]} if "drawings" in message else {}
        shown["known"] = message.get("has", [])
        parts = await self._desk.workers.live(
            f"{TASKS}view", setup=self._now.body, detail="drag", **shown, **_change_of(message)
        )
        return spliced({"say": "view", "n": message["n"]}, parts)

    async def _taken(self, message: Message) -> str:
        number, why = message["n"], message.get("why", "")
        base = await self._body_at(message["base"])
        parts = await self._desk.workers.live(f"{TASKS}take", setup=base, **_change_of(message))
        mine, words = json.loads(parts["body"]), json.loads(parts["words"])
        try:
            kept = await self._desk.library.do(
                lambda library: library.save(
                    self._id, mine, base_revision=message["base"], why=why or words
                )
            )
        except EditedElsewhere as error:
            self._remember(number, _Pending(base=base, mine=mine, why=why or words))
            return await self._elsewhere(number, error.kept)
        return await self._done(number, kept, words=words)

    async def _body_at(self, revision: int) -> Body:
        """Return the set as the window saw it when it was changed there."""
        if revision == self._now.revision:
            return self._now.body
        try:
            return await self._desk.library.do(lambda library: library.body_at(self._id, revision))
        except NotKept:
            return self._now.body

    async def _stepped(self, message: Message) -> str:
        try:
            stepped = await self._desk.library.do(
                lambda library: step(
                    library, self._id, message["do"], base_revision=message["base"]
                )
            )
        except EditedElsewhere as error:
            self._kept = error.kept
            told = {"say": "elsewhere", "n": message["n"], "can_merge": False, "clashes": []}
            return spliced({**told, **summary(error.kept)}, await self._view(error.kept.body))
        return await self._done(message["n"], stepped.kept, words=stepped.words)

    async def _elsewhere(self, number: int, theirs: "Kept") -> str:
        pending = self._pending[number]
        self._kept = theirs
        found = merge_bodies(pending.base, pending.mine, theirs.body)
        told = {
            "say": "elsewhere",
            "n": number,
            "can_merge": not found.clashes,
            "clashes": [one.text for one in found.clashes],
        }
        return spliced({**told, **summary(theirs)}, await self._view(theirs.body))

    async def _merged(self, number: int, *, prefer: "Side | None") -> str:
        pending = self._waiting_for(number)
        theirs = await self._desk.library.do(lambda library: library.get(self._id))
        found = merge_bodies(pending.base, pending.mine, theirs.body, prefer=prefer or "mine")
        if found.clashes and prefer is None:
            return await self._elsewhere(number, theirs)
        # read as a setup before it is kept: two sound changes need not be sound together
        parts = await self._desk.workers.live(f"{TASKS}take", setup=theirs.body, whole=found.body)
        body, words = json.loads(parts["body"]), json.loads(parts["words"])
        try:
            kept = await self._desk.library.do(
                lambda library: library.save(
                    self._id, body, base_revision=theirs.revision, why=f"merged: {pending.why}"
                )
            )
        except EditedElsewhere as error:
            return await self._elsewhere(number, error.kept)
        del self._pending[number]
        return await self._done(number, kept, words=words)

    async def _kept_both(self, number: int) -> str:
        pending = self._waiting_for(number)
        kept = await self._desk.library.do(
            lambda library: keep_both(library, self._id, pending.mine)
        )
        del self._pending[number]
        told = {"say": "both", "n": number, "id": kept.id, "name": kept.name}
        return json.dumps(told, ensure_ascii=False)

    async def _done(self, number: int, kept: "Kept", *, words: str) -> str:
        """Return what a change came to, and tell the other windows."""
        self._kept = kept
        parts = await self._view(kept.body)
        changed = spliced({"say": "changed", "words": words, **summary(kept)}, parts)
        self._desk.windows.tell(
            self._id, Change(revision=kept.revision, text=changed), but=self._window
        )
        return spliced({"say": "taken", "n": number, "words": words, **summary(kept)}, parts)

    def _remember(self, number: int, pending: _Pending) -> None:
        self._pending[number] = pending
        while len(self._pending) > MOST_PENDING:
            del self._pending[next(iter(self._pending))]

    def _waiting_for(self, number: int) -> _Pending:
        if number not in self._pending:
            raise TapemarkError("There is nothing to merge: make the change again.")
        return self._pending[number]


def summary(kept: "Kept") -> dict[str, Any]:
    """Return what a window is told of a set besides its view."""
    return {
        "revision": kept.revision,
        "can_undo": kept.can_undo,
        "can_redo": kept.can_redo,
        "name": kept.name,
        "setup": kept.body,
    }


def _change_of(message: Message) -> dict[str, Any]:
    if "setup" in message:
        return {"whole": message["setup"]}
    return {"edits": message.get("edits", [])}
