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
    return files("tapemark.services").joinpath("examples", f"{stem}.toml").read_text("utf-8")


def run_demo() -> tuple[DemoStep, ...]:
    """Return the demo's setups, checked and drawn, troubled first."""
    steps = []
    for stem in DEMO_STEMS:
        text = demo_setup_text(stem)
        report = check_setup(setup_from_toml(text, name=f"{stem}.toml"))
        drawn = picture_files(report, stem=stem)
        steps.append(DemoStep(stem=stem, report=report, files={f"{stem}.toml": text, **drawn}))
    return tuple(steps)


def refuse_edited(folder: Path, steps: tuple[DemoStep, ...]) -> None:
    """Refuse to write over a setup that somebody changed after an earlier demo.

    Raises
    ------
    WriteError
        A setup file in the folder differs from the built-in one.
    """
    for step in steps:
        path = folder / f"{step.stem}.toml"
        if path.is_file() and read_bytes(path) != demo_setup_text(step.stem).encode():
            raise WriteError(
                str(path),
                reason="was changed since the demo wrote it",
                advice="rename it to keep it, or name another folder with --out",
            )
