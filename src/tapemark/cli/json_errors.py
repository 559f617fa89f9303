"""A command whose errors are JSON as well, where JSON was asked for.

The text goes to stderr as ever; stdout gets ``{"error": {"text", "problems": [...]}}``, each
problem with ``key``, ``given``, ``allowed`` and ``what_to_do``.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import click

from tapemark.errors import SetupError, TapemarkError

OPTION = "--json"


class JsonErrors(click.Command):
    """A command that has the option ``--json``."""

    def make_context(
        self,
        info_name: str | None,
        args: list[str],
        parent: click.Context | None = None,
        **extra: Any,
    ) -> click.Context:
        """Return the context of a call; what is wrong with its options is told as JSON."""
        with _told(as_json=OPTION in args):
            return super().make_context(info_name, args, parent, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; what goes wrong is told as JSON."""
        with _told(as_json=bool(ctx.params.get("as_json"))):
            return super().invoke(ctx)


def error_as_plain(error: TapemarkError | click.ClickException) -> dict[str, Any]:
    """Return an error as plain data."""
    problems = error.problems if isinstance(error, SetupError) else ()
    text = error.format_message() if isinstance(error, click.ClickException) else str(error)
    rows = [
        {"key": one.key, "given": one.given, "allowed": one.allowed, "what_to_do": one.advice}
        for one in problems
    ]
    return {"error": {"text": text, "problems": rows}}


@contextmanager
def _told(*, as_json: bool) -> Iterator[None]:
    try:
        yield
    except (TapemarkError, click.ClickException) as error:
        if as_json:
            click.echo(json.dumps(error_as_plain(error), ensure_ascii=False))
        raise
