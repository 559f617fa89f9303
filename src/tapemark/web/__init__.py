"""The app in the browser: thin ASGI over the services, on this machine unless asked otherwise."""

import importlib
import typing

if typing.TYPE_CHECKING:
    from tapemark.web.app import create_app
    from tapemark.web.serving import ServedApp, listen, serve
    from tapemark.web.settings import Settings

__all__ = ["ServedApp", "Settings", "create_app", "listen", "serve"]

#: Where names are; the processes that compute have no use for any of them.
_LATER = {
    "ServedApp": "tapemark.web.serving",
    "Settings": "tapemark.web.settings",
    "create_app": "tapemark.web.app",
    "listen": "tapemark.web.serving",
    "serve": "tapemark.web.serving",
}


def __getattr__(name: str) -> object:
    """Return a public name whose module is loaded when it is first asked for."""
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(_LATER[name]), name)
