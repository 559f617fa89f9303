"""`tapemark order`: in which order many sitters come, and what is changed for each."""

import json
from pathlib import Path
from typing import Any

import click

from tapemark.cli.numbers import Number
from tapemark.cli.out_files import FILE_TO_WRITE
from tapemark.cli.sheet import PAPERS, Paper, form_of, page_files

MOST_MINUTES = 240


def _clock(context: click.Context, parameter: click.Parameter, value: str) -> int:
    from tapemark.errors import UnitError
    from tapemark.units import parse_clock_s

    try:
        return parse_clock_s(value)
    except UnitError as error:
        raise click.BadParameter(str(error), ctx=context, param=parameter) from None


@click.command(epilog="Example: tapemark order sitters.csv --setup reading-room.toml --minutes 8")
@click.argument("sitters", type=click.Path(path_type=Path))
@click.option(
    "--setup",
    required=True,
    type=click.Path(path_type=Path),
    help="The setup that the day starts from, right for the sitter in it.",
)
@click.option(
    "--minutes",
    default=8.0,
    show_default=True,
    type=Number(0.5, MOST_MINUTES),
    help="How long one sitting takes.",
)
@click.option(
    "--start",
    default="9:00",
    show_default=True,
    callback=_clock,
    help="When the first change begins.",
)
@click.option(
    "--sheet",
    type=FILE_TO_WRITE,
    metavar="FILE",
    help="Also write the day as pages to work down, .pdf, .svg or .png.",
)
@click.option(
    "--paper",
    type=click.Choice(PAPERS),
    help="Paper; letter for a setup in feet and inches, a4 otherwise.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def order(
    sitters: Path,
    *,
    setup: Path,
    minutes: float,
    start: Any,
    sheet: Path | None,
    paper: Paper | None,
    as_json: bool,
) -> int:
    """Put the SITTERS of a list in the order that needs the least re-rigging.

    SITTERS is a table saved as CSV, its first line the titles: name or number; height or eye
    height; posture, glasses, from, to or window, and minutes where you know them.

    Exit status: 0 done, 1 an appointment cannot be kept, a lens is not clear or it was
    interrupted, 2 the list or the setup cannot be read.
    """
    from tapemark.cli.report_order import order_text
    from tapemark.cli.watching import watching
    from tapemark.services import day_sheet_pages, order_as_plain, order_sitters, write_results

    form = "pdf" if sheet is None else form_of(sheet)
    with watching() as watch:
        report = order_sitters(
            sitters, setup=setup, start_s=start, sitting_s=round(60 * minutes), watch=watch
        )
    if as_json:
        click.echo(json.dumps(order_as_plain(report), indent=2, ensure_ascii=False))
    else:
        click.echo(order_text(report))
    if sheet is not None:
        pages = day_sheet_pages(report, paper=paper, form=form)
        for path in write_results(sheet.parent, page_files(sheet, pages)):
            click.echo(f"wrote {path}", err=True)
    if report.plan.interrupted:
        click.echo("Interrupted: this is the best order found so far.", err=True)
    return 1 if report.found_trouble else 0
