"""Runs the command line in process, as the installed script does."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tapemark.cli import main
from tapemark.services import DEMO_STEMS, demo_setup_text


@dataclass(frozen=True)
class Answer:
    """What a command answered."""

    code: int
    out: str
    err: str


Run = Callable[..., Answer]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a function that runs `tapemark` with the arguments given."""

    def _run(*arguments: object) -> Answer:
        monkeypatch.setattr(sys, "argv", ["tapemark", *map(str, arguments)])
        with pytest.raises(SystemExit) as stop:
            main()
        captured = capsys.readouterr()
        assert isinstance(stop.value.code, int)
        return Answer(code=stop.value.code, out=captured.out, err=captured.err)

    return _run


@pytest.fixture
def setups(tmp_path: Path) -> dict[str, Path]:
    """Return the demo's setup files, written into a temporary folder."""
    found = {}
    for stem in DEMO_STEMS:
        path = tmp_path / f"{stem}.toml"
        path.write_text(demo_setup_text(stem), encoding="utf-8")
        found[stem.removeprefix("quillmere-")] = path
    return found
