"""The socket of work that takes seconds, for any page: begin it, hear how far it is, stop it.

A page says what may be asked for: ``WORK``, a mapping of names to tasks (see
`tapemark.web.workers.team.Workers.live`). A window says ``{"do": "begin", "n": 1, "work": name,
"with": {...}}`` and hears ``progress``, then ``done`` with the parts of the answer, ``error`` or
``stopped``. One work a window: the newest wins.
"""

from collections.abc import Mapping

from starlette.websockets import WebSocket

from tapemark.errors import TapemarkError
from tapemark.web.messages import WORK_MESSAGES, Message, read_message
from tapemark.web.talk import Talk, held, spliced
from tapemark.web.windows import Window
from tapemark.web.workers.pool import Tell


async def work_socket(socket: WebSocket) -> None:
    """Serve the work of one window until it goes."""
    await socket.accept()
    await held(socket, WorkTalk(socket, tasks=socket.app.state.work))


class WorkTalk(Talk):
    """The talk with a window about work that takes seconds.

    Parameters
    ----------
    socket : WebSocket
        An accepted socket.
    tasks : mapping of str to str
        What may be asked for.
    """

    def __init__(self, socket: WebSocket, *, tasks: Mapping[str, str]) -> None:
        super().__init__(socket)
        self._tasks = tasks
        self._window = Window("", stirred=self.stirred, close=self.app_ends)

    async def hold(self) -> None:
        """Talk until the window goes."""
        self.desk.windows.add(self._window)
        try:
            await super().hold()
        finally:
            self.desk.windows.remove(self._window)

    def read(self, text: str) -> Message:
        """Return a message of the table."""
        return read_message(text, table=WORK_MESSAGES)

    def put(self, message: Message) -> None:
        """Put a message in its place."""
        if message["do"] == "stop":
            self.desk.workers.stop_long(self.key)
        elif message["do"] != "here":
            super().put(message)

    async def answer(self, message: Message) -> str | None:
        """Begin the work."""
        task = self._tasks.get(message["work"])
        if task is None:
            raise TapemarkError(f"There is no work called {message['work'][:40]!r}.")

        async def work(tell: Tell) -> str:
            parts = await self.desk.workers.long(
                self.key, task, tell=tell, given=message.get("with", {})
            )
            return spliced({"say": "done", "n": message["n"], "work": message["work"]}, parts)

        self.begin(message, work)
        return None
