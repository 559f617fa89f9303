"""The socket of a set's window: the set as it is, while it is dragged, and after it is changed.

`tapemark.web.messages` has what a window may say, `live_set` beside this what it is answered.
"""

from starlette.websockets import WebSocket

from tapemark.errors import TapemarkError
from tapemark.web.messages import Message, read_message
from tapemark.web.set_screen.live_set import LiveSet
from tapemark.web.talk import Talk, held
from tapemark.web.windows import Window
from tapemark.web.workers.pool import Tell

NO_SUCH_SET = 4404


async def live_socket(socket: WebSocket) -> None:
    """Serve one window of a set until it goes."""
    await socket.accept()
    await held(socket, LiveTalk(socket, thing_id=socket.path_params["id"]))


class LiveTalk(Talk):
    """The talk with a window of a set.

    Parameters
    ----------
    socket : WebSocket
        An accepted socket.
    thing_id : str
        The set.
    """

    def __init__(self, socket: WebSocket, *, thing_id: str) -> None:
        super().__init__(socket)
        self._window = Window(thing_id, stirred=self.stirred, close=self.app_ends)
        self._set = LiveSet(self.desk, self._window)

    async def hold(self) -> None:
        """Talk until the window goes; of a set that is not there, only to say so."""
        try:
            await self._set.open()
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
        return read_message(text)

    def put(self, message: Message) -> None:
        """Put a message in its place; a newer try takes that of an older one."""
        if message["do"] == "stop":
            self.desk.workers.stop_long(self.key)
        elif message["do"] != "here":
            if message["do"] == "try":
                self.waiting_without("try")
            super().put(message)

    async def answer(self, message: Message) -> str | None:
        """Answer at once, or begin long work."""
        if message["do"] not in {"map", "moves"}:
            return await self._set.answer(message)

        async def work(tell: Tell) -> str:
            return await self._set.work(message, key=self.key, tell=tell)

        self.begin(message, work)
        return None

    async def between(self) -> None:
        """Pass on what another window changed."""
        change = self._window.take()
        if change is not None and await self._set.follow(change):
            await self.send(change.text)
