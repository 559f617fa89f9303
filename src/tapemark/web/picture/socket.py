"""The socket of a setup's picture: what is kept of it, a new one looked at while it is taken.

`tapemark.web.messages.PICTURE_MESSAGES` has what a window may say. It hears ``state`` (the
setup's revision, the mark of its picture, lights and powers), ``progress``, ``look`` (one lies
ready under a mark), ``done``, ``stopped``, ``taken`` and, whenever the setup is changed
anywhere, ``changed`` with the new state. A picture under way of what is no more is stopped then.
"""

import json
from typing import TYPE_CHECKING, Any

from starlette.websockets import WebSocket

from tapemark.errors import EditedElsewhere, NotKept, TapemarkError
from tapemark.web.jobs import jobs_of
from tapemark.web.messages import PICTURE_MESSAGES, Message, read_message
from tapemark.web.talk import Talk, held, spliced
from tapemark.web.telling import tell_set
from tapemark.web.windows import Window
from tapemark.web.workers.pool import Tell

if TYPE_CHECKING:
    from tapemark.store import Kept, Library

TASKS = "tapemark.web.picture.tasks:"
READY = "picture:ready"
NO_SUCH_SET = 4404
Body = dict[str, Any]


async def picture_socket(socket: WebSocket) -> None:
    """Serve one window's picture of a set until it goes."""
    await socket.accept()
    await held(socket, PictureTalk(socket))


class PictureTalk(Talk):
    """The talk with a window about the picture of one set, or of an older version of it.

    Parameters
    ----------
    socket : WebSocket
        An accepted socket; ``version`` in its address names an older version, ``like`` the set
        as whose camera this one's is exposed.
    """

    def __init__(self, socket: WebSocket) -> None:
        super().__init__(socket)
        self._id = socket.path_params["id"]
        asked = socket.query_params
        self._version = int(asked["version"]) if _is_number(asked.get("version", "")) else None
        self._like_id = asked.get("like", "")
        self._jobs = jobs_of(socket)
        self._window = Window(self._id, stirred=self.stirred, close=self.app_ends)
        self._seen: dict[str, bool] = {}
        self._mark = ""  # of the picture that is being taken
        self._kept: Kept | None = None
        self._body: Body = {}
        self._like: Body | None = None

    async def hold(self) -> None:
        """Talk until the window goes; of a set that is not there, only to say so."""
        try:
            await self._open()
        except TapemarkError as error:
            await self.end(NO_SUCH_SET, str(error))
            return
        self.desk.windows.add(self._window)
        try:
            await super().hold()
        finally:
            self.desk.windows.remove(self._window)

    def read(self, text: str) -> Message:
        """Return a message of the table."""
        return read_message(text, table=PICTURE_MESSAGES)

    def put(self, message: Message) -> None:
        """Put a message in its place; to stop is done at once."""
        match message["do"]:
            case "stop":
                self._stop()
            case "enough":
                self.desk.workers.finish_long(self.key)
            case "here":
                return
            case _:
                super().put(message)

    async def answer(self, message: Message) -> str | None:
        """Answer at once, or begin to take the picture."""
        if message["do"] == "powers":
            return await self._turn(message)
        self._seen = {name: message.get(name, False) for name in ("glasses", "clay")}
        about = await self._about()
        if message["do"] == "hello":
            if json.loads(about["about"])["kept"]:
                self._get_ready()
            return spliced({"say": "state", "n": message["n"], **self._summary()}, about)
        self._take(message, mark=json.loads(about["about"])["mark"])
        return None

    async def between(self) -> None:
        """Hear what another window changed, and stop what is no longer the set's picture."""
        change = self._window.take()
        if change is None or self._version is not None or change.revision <= self._now.revision:
            return
        await self._open()
        about = await self._about()
        if json.loads(about["about"])["mark"] != self._mark:
            self._stop()
        await self.send(spliced({"say": "changed", **self._summary()}, about))

    # ------------------------------------------------------------------ steps

    @property
    def _now(self) -> "Kept":
        assert self._kept is not None
        return self._kept

    def _summary(self) -> dict[str, Any]:
        return {"revision": self._now.revision, "name": self._now.name}

    async def _open(self) -> None:
        """Read the set, and the one whose exposure it is shown with."""
        self._kept, self._body, self._like = await self.desk.library.do(self._read)

    def _read(self, library: "Library") -> "tuple[Kept, Body, Body | None]":
        kept = _setup(library, self._id)
        like = _setup(library, self._like_id).body if self._like_id else None
        if self._version is None:
            return kept, kept.body, like
        return kept, library.version_body(self._id, self._version), like

    def _asked(self) -> dict[str, Any]:
        wanted: dict[str, Any] = {**self._seen, "rows": self.desk.settings.picture_rows}
        return {"setup": self._body, "wanted": wanted, "like": self._like}

    async def _about(self) -> dict[str, bytes]:
        return await self.desk.workers.live(f"{TASKS}about", **self._asked())

    def _take(self, message: Message, *, mark: str) -> None:
        number, asked = message["n"], self._asked()
        self._mark = mark

        async def told(text: str) -> None:
            said = json.loads(text)
            await self.say({"say": "look" if "mark" in said else "progress", "n": number, **said})

        async def work(tell: Tell) -> str:
            del tell
            parts = await self.desk.workers.long(
                self.key, f"{TASKS}take", tell=told, finer=message.get("finer", False), **asked
            )
            return spliced({"say": "done", "n": number}, parts)

        self.begin(message, work)

    def _stop(self) -> None:
        """Stop the picture under way at once, and have the next one begin without waiting."""
        if self.desk.workers.stop_long(self.key):
            self._get_ready()

    def _get_ready(self) -> None:
        """Have a process load what taking a picture needs, without waiting for it."""

        async def warm(tell: Tell) -> None:
            del tell
            await self.desk.workers.long(READY, f"{TASKS}ready")

        if not self._jobs.busy(READY):
            self._jobs.begin(READY, warm)

    async def _turn(self, message: Message) -> str:
        """Set the powers of lights as one change of the set."""
        if self._version is not None:
            raise TapemarkError("This is an older version: set powers in the one that is current.")
        base = message["base"]
        parts = await self.desk.workers.live(
            f"{TASKS}powers", setup=self._body, stops=message["stops"]
        )
        body, words = json.loads(parts["body"]), json.loads(parts["words"])
        try:
            kept = await self.desk.library.do(
                lambda library: library.save(self._id, body, base_revision=base, why=words)
            )
        except EditedElsewhere:
            raise TapemarkError(
                "The set was changed in another window meanwhile: look, then set them again."
            ) from None
        await self._open()
        if len(self.desk.windows.showing(self._id)) > 1:  # first: this one may go when it knows
            await tell_set(self.desk, kept, words=words)
        head = {"say": "taken", "n": message["n"], "words": words, **self._summary()}
        return spliced(head, await self._about())


def _setup(library: "Library", key: str) -> "Kept":
    kept = library.get(key)
    if kept.kind != "setup":
        raise NotKept(f"a set of id {key[:40]!r}")
    return kept


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 9
