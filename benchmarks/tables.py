"""Small pieces of Markdown that the sections of the page share."""

from collections.abc import Iterable
from textwrap import fill

LINE = 100


def filled(text: str) -> str:
    """Return a paragraph in lines of the page's width."""
    return fill(" ".join(text.split()), width=LINE, break_on_hyphens=False)


def verdict(*, kept: bool) -> str:
    """Return whether a promise was kept, in a word."""
    return "kept" if kept else "missed"


def table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    """Return a table."""
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
