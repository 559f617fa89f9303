"""Stories of help, version and the schema."""

import json
from typing import Any

import pytest

from tapemark import __version__


@pytest.mark.parametrize("command", ["check", "demo", "schema"])
def test_every_command_shows_an_example(run: Any, command: str) -> None:
    answer = run(command, "--help")
    assert answer.code == 0
    assert f"Example: tapemark {command}" in answer.out


def test_help_lists_the_commands(run: Any) -> None:
    answer = run("--help")
    assert answer.code == 0
    for command in ("check", "demo", "schema"):
        assert command in answer.out


def test_version(run: Any) -> None:
    assert run("--version").out.strip() == f"tapemark, version {__version__}"


def test_schema_describes_a_setup_file(run: Any) -> None:
    answer = run("schema")
    assert answer.code == 0
    schema = json.loads(answer.out)
    assert {"room", "sitter", "camera", "light"} <= set(schema["properties"])
