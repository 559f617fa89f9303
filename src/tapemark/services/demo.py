"""The built-in example: a library's portrait day, before and after the cure."""

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from tapemark.errors import WriteError
from tapemark.services.check import CheckReport, check_setup
from tapemark.services.pictures import picture_files
from tapemark.store import read_bytes
from tapemark.studio import setup_from_toml

DEMO_STEMS = ("quillmere-troubled", "quillmere-cured")
#: What to plan and to order with, beside the two setups.
DEMO_LISTS = ("quillmere-brief.toml", "quillmere-sitters.csv")


@dataclass(frozen=True, kw_only=True, eq=False)
class DemoStep:
    """One setup of the demo.

    Attributes
    ----------
    stem : str
        Name of its files without ending.
    report : CheckReport
        What the check found.
    files : dict of str to str or bytes
        Setup file and drawings, by file name.
    """

    stem: str
    report: CheckReport
    files: dict[str, str | bytes]


def demo_setup_text(stem: str) -> str:
    """Return one of the built-in setup files as text."""
    return _example(f"{stem}.toml")


def demo_lists() -> dict[str, str | bytes]:
    """Return the brief and the list of sitters of the portrait day, by file name."""
    return {name: _example(name) for name in DEMO_LISTS}


def run_demo() -> tuple[DemoStep, ...]:
    """Return the demo's setups, checked and drawn, troubled first."""
    steps = []
    for stem in DEMO_STEMS:
        text = demo_setup_text(stem)
        report = check_setup(setup_from_toml(text, name=f"{stem}.toml"))
        drawn = picture_files(report, stem=stem)
        steps.append(DemoStep(stem=stem, report=report, files={f"{stem}.toml": text, **drawn}))
    return tuple(steps)


def refuse_edited(folder: Path) -> None:
    """Refuse to write over an example that somebody changed after an earlier demo.

    Raises
    ------
    WriteError
        A setup, brief or list in the folder differs from the built-in one.
    """
    for name in (*(f"{stem}.toml" for stem in DEMO_STEMS), *DEMO_LISTS):
        path = folder / name
        if path.is_file() and read_bytes(path) != _example(name).encode():
            raise WriteError(
                str(path),
                reason="was changed since the demo wrote it",
                advice="rename it to keep it, or name another folder with --out",
            )


def _example(name: str) -> str:
    return files("tapemark.services").joinpath("examples", name).read_text("utf-8")
