"""What the page Session has computed: frames read, and whose light is in them."""

from __future__ import annotations

import json
from typing import Any

from tapemark.web.tasks import Plain, Tell


def read_frame(*, tell: Tell, **arguments: Any) -> Plain:
    """Return ``body``, as the log keeps it, and each small picture.

    See `tapemark.services.photos.session_queue.read_queued`.
    """
    from tapemark.services.photos.session_queue import read_queued

    del tell
    read = read_queued(**arguments)
    return {"body": json.dumps(read.body).encode(), **read.pictures}


def match(*, tell: Tell, **arguments: Any) -> Plain:
    """Return ``match``: whose light is in a frame, and the one move if that is asked for."""
    from tapemark.services.photos.session_match import match_kept

    del tell
    return {"match": match_kept(**arguments)}
