"""A process that computes for the app: reads jobs, answers with JSON text, ends with its parent.

Started as ``python -m tapemark.web.workers.process live`` or ``long``; the latter gives way to
everything else on the machine.
"""

import contextlib
import importlib
import json
import logging
import os
import queue
import secrets
import signal
import sys
import threading
from collections.abc import Callable
from typing import Any, BinaryIO

from tapemark.errors import SetupError, TapemarkError
from tapemark.web.finishing import FINISHING
from tapemark.web.workers.frames import PREFIX, pack, unpack

NICE = 10  # long work
_TASKS = "tapemark.web."
_LOG = logging.getLogger("tapemark.work")

Send = Callable[[bytes], None]


def main() -> None:
    """Work until the pipe from the app ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the app, which then ends this
    logging.basicConfig(format="%(message)s", stream=sys.stderr)
    if sys.argv[1:] == ["long"] and hasattr(os, "nice"):
        os.nice(NICE)
    jobs: queue.Queue[dict[str, Any]] = queue.Queue()
    send = _sender()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, jobs), daemon=True).start()
    send(pack({"ready": os.getpid()}))
    while True:
        _do(jobs.get(), send)


def _sender() -> Send:
    """Return what answers; whatever else is printed goes to stderr, not among the answers."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb", buffering=0)
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())

    def send(frame: bytes) -> None:
        left = memoryview(frame)
        try:
            while left:
                left = left[answers.write(left) or 0 :]
        except BrokenPipeError:
            os._exit(0)

    return send


def _listen(jobs_in: BinaryIO, jobs: "queue.Queue[dict[str, Any]]") -> None:
    """Put jobs into the queue; end the process when the app is gone, whatever it is doing."""
    while True:
        prefix = jobs_in.read(PREFIX.size)
        body = jobs_in.read(PREFIX.unpack(prefix)[0]) if len(prefix) == PREFIX.size else b""
        if not body:
            os._exit(0)
        head = unpack(body)[0]
        if "finish" in head:
            FINISHING.ask(head["finish"])
        else:
            jobs.put(head)


def _do(job: dict[str, Any], send: Send) -> None:
    FINISHING.begin(job["job"])

    def tell(text: str) -> None:
        send(pack({"job": job["job"], "progress": text}))

    try:
        found = _task(job["task"])(tell=tell, **job["arguments"])
        parts = {name: _as_json(value) for name, value in found.items()}
        send(pack({"job": job["job"], "done": True}, parts))
    except TapemarkError as error:
        send(pack({"job": job["job"], "refused": str(error), "problems": _problems(error)}))
    except Exception:
        mark = secrets.token_hex(3)
        _LOG.exception("%s: fault %s", job["task"], mark)
        send(pack({"job": job["job"], "fault": mark}))


def _as_json(value: Any) -> bytes:
    if isinstance(value, bytes):
        return value
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def _task(name: str) -> Callable[..., dict[str, Any]]:
    """Return the function ``module:function`` within the app's own modules."""
    module, _, function = name.partition(":")
    if not module.startswith(_TASKS):
        raise ValueError(f"{name} is no task of the app")
    found: Callable[..., dict[str, Any]] = getattr(importlib.import_module(module), function)
    return found


def _problems(error: TapemarkError) -> list[dict[str, str]]:
    if not isinstance(error, SetupError):
        return []
    return [
        {"key": one.key, "given": one.given, "allowed": one.allowed, "advice": one.advice}
        for one in error.problems
    ]


if __name__ == "__main__":
    with contextlib.suppress(KeyboardInterrupt):
        main()
