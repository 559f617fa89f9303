"""What nobody foresaw: a line in the log with a short mark, and a page that says what to do."""

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tapemark.web.answering import log_fault, trouble


class Faults:
    """The layer that keeps an unforeseen error from the person.

    Parameters
    ----------
    app : ASGI application
        What may fail.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on; answer it where that fails."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began = False

        async def watched(message: Message) -> None:
            nonlocal began
            began = True
            await send(message)

        try:
            await self._app(scope, receive, watched)
        except Exception as error:
            request = Request(scope)
            if isinstance(error, HTTPException):
                text, advice, status = (
                    str(error.detail),
                    "Go back and try again.",
                    error.status_code,
                )
            else:
                mark = log_fault(error, where=f"{scope['method']} {scope['path']}")
                text = f"Something in tapemark went wrong (fault {mark}). Your work is kept."
                advice = (
                    "Load the page again. If it stays, the terminal where tapemark runs says more "
                    "under that number."
                )
                status = 500
            if not began:
                await trouble(request, text, what_to_do=advice, status=status)(scope, receive, send)
