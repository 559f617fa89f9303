"""What a request says of itself: to whom, where from, which way, with which token."""

import ipaddress
import re
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qsl, urlencode, urlsplit

from starlette.datastructures import Headers
from starlette.types import Scope

from tapemark.web.settings import LOOPBACK_NAMES, Settings

LONGEST_PATH, LONGEST_QUERY = 512, 4096
TOKEN = "token"
_CODED = re.compile(rb"%(?:2f|5c|2e|00|[01][0-9a-f]|7f)", re.IGNORECASE)


def host_allowed(host: str, *, settings: Settings) -> bool:
    """Whether a Host header names this app.

    Names are compared as they stand. With devices in the network, any private address is right
    too: a browser that writes an address there has reached that address, and only names can be
    pointed elsewhere.
    """
    name, port = _split(host.lower())
    if port != self_port(settings):
        return False
    if name in LOOPBACK_NAMES or name in settings.names:
        return True
    return settings.lan and _private(name)


def self_port(settings: Settings) -> str:
    """Return the port as a Host header writes it; browsers leave out the usual one."""
    return "" if settings.port == 80 else str(settings.port)


def plain_path(scope: Scope) -> bool:
    """Whether path and query are short, and name a page without tricks."""
    path: str = scope["path"]
    raw: bytes = scope.get("raw_path") or path.encode("utf-8", "surrogatepass")
    query: bytes = scope.get("query_string", b"")
    if len(raw) > LONGEST_PATH or len(query) > LONGEST_QUERY:
        return False
    if not path.startswith("/") or path.startswith("//") or _CODED.search(raw):
        return False
    if "\\" in path or any(not letter.isprintable() for letter in path):
        return False
    return not any(part in {".", ".."} for part in path.split("/"))


def from_here(headers: Headers, *, host: str, changes: bool, scope: Scope) -> bool:
    """Whether a page of this app asked, or somebody who followed a link or typed an address."""
    origins = headers.getlist("origin")
    if len(origins) > 1:
        return False
    if not origins and changes:
        return False
    told = bool(origins) and (changes or origins[0] != "null")
    if told and _origin(origins[0]) != ("http", host.lower()):
        return False
    site = headers.get("sec-fetch-site", "same-origin")
    visit = headers.get("sec-fetch-mode", "navigate") == "navigate" and scope["type"] == "http"
    return site in {"same-origin", "none"} or visit


def _origin(origin: str) -> tuple[str, str] | None:
    """Return scheme and host with port of an origin, or None where it is none."""
    try:
        found = urlsplit(origin)
    except ValueError:
        return None
    if found.path or found.query or found.fragment or "@" in found.netloc:
        return None
    return found.scheme.lower(), found.netloc.lower()


def _split(host: str) -> tuple[str, str]:
    """Return name and port of a Host header; brackets stay with the name."""
    found = re.fullmatch(r"(\[[0-9a-f:.]+\]|[^:\[\]/@\s]+)(?::([0-9]{1,5}))?", host)
    return ("", "-") if found is None else (found[1], found[2] or "")


def _private(name: str) -> bool:
    try:
        address = ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return address.is_private and not address.is_unspecified


def on_this_machine(scope: Scope) -> bool:
    """Whether who asks is on the machine that the app runs on."""
    try:
        return ipaddress.ip_address((scope.get("client") or ("", 0))[0]).is_loopback
    except ValueError:
        return False


def cookie_of(headers: Headers, name: str) -> str:
    """Return the value of a cookie, "" where there is none."""
    for line in headers.getlist("cookie"):
        try:
            found = SimpleCookie(line).get(name)
        except CookieError:
            continue
        if found is not None:
            return found.value
    return ""


def _query(scope: Scope) -> list[tuple[str, str]]:
    try:
        text = scope.get("query_string", b"").decode("ascii")
        return parse_qsl(text, keep_blank_values=True, max_num_fields=64)
    except ValueError:
        return []


def token_of(scope: Scope) -> str | None:
    """Return the token in the address, if there is one."""
    return next((value for key, value in _query(scope) if key == TOKEN), None)


def without_token(scope: Scope) -> str:
    """Return the address within the app, without the token."""
    rest = urlencode([(key, value) for key, value in _query(scope) if key != TOKEN])
    raw: bytes = scope.get("raw_path") or b"/"
    path = raw.split(b"?")[0].decode("ascii", "replace").replace("\N{REPLACEMENT CHARACTER}", "_")
    path = "/" + path.lstrip("/")
    return f"{path}?{rest}" if rest else path
