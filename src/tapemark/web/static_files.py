"""The app's own files for the browser, read once: no path of a request reaches the file system.

A request for ``/static/css/base.css`` looks a name up in a table. The table is made when the app
starts from what the package and the typeface package contain.
"""

import functools
import gzip
import hashlib
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".ico": "image/x-icon",
    ".ttf": "font/ttf",
    ".otf": "font/otf",
    ".webmanifest": "application/manifest+json",
}
FONTS = {
    "font/regular.otf": "SourceSansPro-Regular.otf",
    "font/semibold.otf": "SourceSansPro-Semibold.otf",
}
_PACKED = (".css", ".js", ".svg", ".ttf", ".otf", ".webmanifest")
_WEEK = "public, max-age=604800"  # typefaces
_AGAIN = "no-cache"  # ask every time; unchanged is answered in a few bytes
_KEEP = "public, max-age=31536000, immutable"  # the address changes with the content


@dataclass(frozen=True, kw_only=True, slots=True)
class StaticFile:
    """One file for the browser.

    Attributes
    ----------
    content, packed : bytes
        As it is, and compressed with gzip; the latter empty where that gains nothing.
    kind : str
        Media type.
    mark : str
        Short digest of the content.
    """

    content: bytes
    packed: bytes
    kind: str
    mark: str


@functools.cache
def static_table() -> dict[str, StaticFile]:
    """Return the app's files by name, such as ``css/base.css``."""
    found = {name: _file(name, path) for name, path in _walk(files("tapemark.web") / "static", "")}
    fonts = files("font_source_sans_pro") / "files"
    found |= {name: _file(name, fonts / there) for name, there in FONTS.items()}
    return found


def static_address(name: str) -> str:
    """Return the address of one of the app's files; it changes when the content does."""
    return f"/static/{name}?v={static_table()[name].mark}"


async def static_file(request: Request) -> Response:
    """Answer with one of the app's files."""
    found = static_table().get(request.path_params["name"])
    if found is None:
        return PlainTextResponse("There is no such file in the app.", status_code=404)
    headers = {
        "ETag": f'"{found.mark}"',
        "Cache-Control": _how_long(found, asked=request.query_params.get("v", "")),
        "Vary": "Accept-Encoding",
    }
    if found.mark in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if found.packed and "gzip" in request.headers.get("accept-encoding", ""):
        headers["Content-Encoding"] = "gzip"
        return Response(found.packed, media_type=found.kind, headers=headers)
    return Response(found.content, media_type=found.kind, headers=headers)


def _how_long(found: StaticFile, *, asked: str) -> str:
    if asked == found.mark:
        return _KEEP
    return _WEEK if found.kind.startswith("font/") else _AGAIN


def _walk(folder: Traversable, before: str) -> list[tuple[str, Traversable]]:
    found: list[tuple[str, Traversable]] = []
    for one in folder.iterdir():
        if one.is_dir():
            found += _walk(one, f"{before}{one.name}/")
        elif _ending(one.name) in KINDS:
            found.append((f"{before}{one.name}", one))
    return found


def _file(name: str, path: Traversable) -> StaticFile:
    content = path.read_bytes()
    packed = gzip.compress(content, 6, mtime=0) if _ending(name) in _PACKED else b""
    return StaticFile(
        content=content,
        packed=packed if len(packed) < len(content) else b"",
        kind=KINDS[_ending(name)],
        mark=hashlib.sha256(content).hexdigest()[:12],
    )


def _ending(name: str) -> str:
    return "." + name.rpartition(".")[2].lower()
