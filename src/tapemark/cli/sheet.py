"""`tapemark sheet`: one page that an assistant rigs from."""

from pathlib import Path
from typing import Literal

import click

from tapemark.cli.out_files import FILE_TO_WRITE

Form = Literal["pdf", "svg", "png"]
Paper = Literal["a4", "letter"]

FORMS: dict[str, Form] = {".pdf": "pdf", ".svg": "svg", ".png": "png"}
PAPERS: tuple[Paper, ...] = ("a4", "letter")
LONGEST_LINK = 500


def _link(_context: click.Context, _option: click.Parameter, value: str | None) -> str | None:
    if value is not None and not 0 < len(value) <= LONGEST_LINK:
        raise click.BadParameter(
            f"a link of {len(value)} characters: write one of 1 to {LONGEST_LINK}"
        )
    return value


@click.command(epilog="Example: tapemark sheet reading-room.toml -o sheet.pdf")
@click.argument("setup", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--out",
    type=FILE_TO_WRITE,
    metavar="FILE",
    help="Where to write; the name of the setup with -sheet.pdf if left out.",
)
@click.option(
    "--paper",
    type=click.Choice(PAPERS),
    help="Paper; letter for a setup in feet and inches, a4 otherwise.",
)
@click.option(
    "--format",
    "form",
    type=click.Choice([*FORMS.values()]),
    help="By the ending of FILE if left out.",
)
@click.option(
    "--link",
    metavar="URL",
    callback=_link,
    help="Where a phone finds the same page: printed as a QR code.",
)
def sheet(
    setup: Path, *, out: Path | None, paper: Paper | None, form: Form | None, link: str | None
) -> int:
    """Write one page to rig SETUP from: tapes, heights, power, packing list, order of work.

    Every stand is found with two tapes from two marked points. Exit status: 0 written, 1 cannot
    be written, 2 SETUP cannot be read.
    """
    from tapemark.services import read_setup, sheet_pages, write_results

    chosen = form or form_of(out)
    target = out or Path(f"{setup.stem}-sheet.{chosen}")
    pages = sheet_pages(read_setup(setup), paper=paper, form=chosen, link=link)
    for path in write_results(target.parent, page_files(target, pages)):
        click.echo(f"wrote {path}", err=True)
    return 0


def page_files(target: Path, pages: tuple[bytes, ...]) -> dict[str, str | bytes]:
    """Return pages as files: the first as named, others with their number."""
    return {
        f"{target.stem}{'' if number == 1 else f'-{number}'}{target.suffix}": page
        for number, page in enumerate(pages, 1)
    }


def form_of(out: Path | None) -> Form:
    """Return the form that the ending of a file name asks for; a PDF without a name."""
    if out is None:
        return "pdf"
    form = FORMS.get(out.suffix.lower())
    if form is None:
        raise click.UsageError(f"{out.name}: write a name that ends in {', '.join(FORMS)}")
    return form
