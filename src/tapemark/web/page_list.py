"""What the pages of the app offer, put together."""

import importlib
import pkgutil
from collections.abc import Iterator
from types import ModuleType

from starlette.routing import BaseRoute

from tapemark.web import pages


def page_routes() -> list[BaseRoute]:
    """Return the routes of all pages."""
    return [route for page in _pages() for route in page.ROUTES]


def large_bodies() -> dict[str, int]:
    """Return the paths to which more may be sent than a filled-in form. [bytes]"""
    return {
        path: most for page in _pages() for path, most in getattr(page, "LARGE_BODIES", {}).items()
    }


def page_work() -> dict[str, str]:
    """Return the tasks that windows may begin, by name."""
    return {name: task for page in _pages() for name, task in getattr(page, "WORK", {}).items()}


def page_tabs() -> tuple[tuple[str, str], ...]:
    """Return address and word of every page in the head, in the order of their ranks."""
    found = sorted(page.NAV for page in _pages() if hasattr(page, "NAV"))
    return tuple((path, word) for _, path, word in found)


def _pages() -> Iterator[ModuleType]:
    names = sorted(found.name for found in pkgutil.iter_modules(pages.__path__))
    for name in names:
        if name.endswith("_page"):
            yield importlib.import_module(f"{pages.__name__}.{name}")
