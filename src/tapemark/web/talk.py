"""A talk over a web socket: text frames of JSON, within bounds, with long work beside it.

One task reads, one answers in the order of asking, and long work runs beside them. Whoever sends
bytes, nonsense or far too much is told why and goes; nobody else notices.
"""

import asyncio
import json
import time
from collections import deque
from collections.abc import Awaitable, Callable
from typing import Any

from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from tapemark.errors import TapemarkError
from tapemark.web.answering import log_fault
from tapemark.web.desk import Desk, desk_of
from tapemark.web.form_words import in_form_words
from tapemark.web.messages import Message, MessageError
from tapemark.web.workers.pool import Fault, Refused, Stopped, Tell

MOST_WAITING = 32  # messages not yet answered
BURST, A_SECOND = 240, 120.0  # messages; a drag on a fast screen sends 60 a second
MOST_UNREADABLE = 20
UNUSUAL, TOO_MUCH, FAULT, ENDED, FULL = 1003, 1008, 1011, 1012, 1013

Work = Callable[[Tell], Awaitable[str]]


class Talk:
    """A talk with one window; what it is about is said by those who inherit.

    Parameters
    ----------
    socket : WebSocket
        An accepted socket.
    """

    def __init__(self, socket: WebSocket) -> None:
        self.desk: Desk = desk_of(socket)
        self.key = f"{id(self):x}"  # whose long work it is
        self.stirred = asyncio.Event()
        self._socket = socket
        self._waiting: deque[Message] = deque()
        self._sending = asyncio.Lock()
        self._long: set[asyncio.Task[None]] = set()

    # ------------------------------------------------------------------ what it is about

    def read(self, text: str) -> Message:
        """Return a message, or raise MessageError."""
        raise NotImplementedError

    def put(self, message: Message) -> None:
        """Put a message in its place among those that wait."""
        self._waiting.append(message)

    async def answer(self, message: Message) -> str | None:
        """Return the answer to a message as JSON; None where it comes later."""
        raise NotImplementedError

    async def between(self) -> None:
        """Do what is to be done when no message waits."""

    # ------------------------------------------------------------------ running

    async def hold(self) -> None:
        """Talk until the window goes."""
        answering = asyncio.create_task(self._answer_all())
        try:
            await self._read_all()
        finally:
            self.desk.workers.stop_long(self.key)
            for task in (answering, *self._long):
                task.cancel()
            await asyncio.gather(answering, *self._long, return_exceptions=True)

    async def end(self, code: int, text: str) -> None:
        """Say why, and close."""
        if self._socket.application_state is not WebSocketState.CONNECTED:
            return
        try:
            await self.say({"say": "error", "text": text, "last": True})
            await self._socket.close(code, text[:100])
        except (RuntimeError, WebSocketDisconnect):
            pass

    async def app_ends(self) -> None:
        """Close, because the app does."""
        await self._socket.close(ENDED, "tapemark was closed")

    def waiting_without(self, what: str) -> None:
        """Forget messages of a kind that wait: a newer one has come."""
        self._waiting = deque(one for one in self._waiting if one["do"] != what)

    def begin(self, message: Message, work: Work) -> None:
        """Begin long work; its answer comes when it is done."""
        task = asyncio.create_task(self._work(message["n"], work))
        self._long.add(task)
        task.add_done_callback(self._long.discard)

    async def say(self, message: dict[str, Any]) -> None:
        """Send a message."""
        await self.send(json.dumps(message, ensure_ascii=False))

    async def send(self, text: str) -> None:
        """Send a message that is JSON already."""
        async with self._sending:
            try:
                await self._socket.send_text(text)
            except (RuntimeError, OSError):  # it is gone
                raise WebSocketDisconnect from None

    # ------------------------------------------------------------------ inside

    async def _read_all(self) -> None:
        allowance, last, unreadable = float(BURST), time.monotonic(), 0
        while True:
            frame = await self._socket.receive()
            if frame["type"] == "websocket.disconnect":
                return
            now = time.monotonic()
            allowance = min(BURST, allowance + (now - last) * A_SECOND) - 1.0
            last = now
            if allowance < 0.0:
                await self.end(TOO_MUCH, "Too many messages came from this window.")
                return
            text = frame.get("text")
            if text is None:
                await self.end(UNUSUAL, "Only text is understood here.")
                return
            try:
                self.put(self.read(text))
                self.stirred.set()
            except MessageError as error:
                unreadable += 1
                await self.say({"say": "error", "n": error.number, "text": str(error)})
            if unreadable >= MOST_UNREADABLE:
                await self.end(TOO_MUCH, "Too many messages could not be read.")
                return
            if len(self._waiting) > MOST_WAITING:
                await self.end(TOO_MUCH, "Too many messages wait for an answer.")
                return

    async def _answer_all(self) -> None:
        while True:
            await self.stirred.wait()
            self.stirred.clear()
            while self._waiting:
                await self._answer(self._waiting.popleft())
            await self.between()

    async def _answer(self, message: Message) -> None:
        try:
            text = await self.answer(message)
            if text is not None:
                await self.send(text)
        except WebSocketDisconnect:
            raise
        except Exception as error:
            await self.say(refusal(error, number=message.get("n")))

    async def _work(self, number: int, work: Work) -> None:
        async def tell(text: str) -> None:
            await self.say({"say": "progress", "n": number, "text": text})

        try:
            await self.send(await work(tell))
        except Stopped:
            await self.say({"say": "stopped", "n": number})
        except WebSocketDisconnect:
            pass
        except Exception as error:
            await self.say(refusal(error, number=number))


async def held(socket: WebSocket, talk: Talk) -> None:
    """Hold a talk, if one more window may be open.

    Whatever nobody foresaw is logged, told in one line, and ends it.
    """
    if talk.desk.windows.full:
        await talk.end(FULL, "Too many windows are open. Close one, and load this again.")
        return
    try:
        await talk.hold()
    except WebSocketDisconnect:
        pass
    except Exception as error:
        mark = log_fault(error, where=socket.url.path)
        await talk.end(FAULT, f"Something in tapemark went wrong (fault {mark}).")


def refusal(error: Exception, *, number: int | None) -> dict[str, Any]:
    """Return what a window is told when its message came to nothing."""
    said: dict[str, Any] = {"say": "error", "n": number, "text": str(error)}
    if isinstance(error, Refused):
        said |= {"text": in_form_words(str(error)), "problems": error.problems}
    elif not isinstance(error, TapemarkError | Fault):
        mark = log_fault(error, where="socket")
        said["text"] = f"Something in tapemark went wrong (fault {mark}). Your work is kept."
    return said


def spliced(head: dict[str, Any], parts: dict[str, bytes]) -> str:
    """Return a JSON object of a head and of parts that are JSON already."""
    text = json.dumps(head, ensure_ascii=False, separators=(",", ":"))
    rest = "".join(f',"{name}":{part.decode()}' for name, part in parts.items())
    return f"{text[:-1]}{rest}}}"
