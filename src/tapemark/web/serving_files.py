"""Files that were made from kept things: with an ETag, so that nothing is sent twice."""

import hashlib
import re
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

MEDIA = {
    "svg": "image/svg+xml",
    "png": "image/png",
    "csv": "text/csv; charset=utf-8",
    "jpg": "image/jpeg",
    "lights": "application/octet-stream",
    "pdf": "application/pdf",
    "glb": "model/gltf-binary",
    "json": "application/json",
    "toml": "application/toml",
}


def file_response(request: Request, content: bytes, *, form: str, name: str = "") -> Response:
    """Return a file.

    Parameters
    ----------
    request : Request
        What is answered; if it knows the same file it is told so.
    content : bytes
        The file.
    form : str
        Its ending.
    name : str
        What it is saved as; shown in the page where there is none.
    """
    mark = f'"{hashlib.sha256(content).hexdigest()[:20]}"'
    headers: dict[str, Any] = {"Cache-Control": "private, no-cache", "ETag": mark}
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    if name:
        headers["Content-Disposition"] = f'attachment; filename="{file_name(name)}.{form}"'
    return Response(content, media_type=MEDIA[form], headers=headers)


def file_name(name: str) -> str:
    """Return a name as a file can have it anywhere."""
    words = re.findall(r"[a-z0-9]+", name.casefold())
    return "-".join(words)[:60].strip("-") or "tapemark"
