"""`tapemark check`: what is right and wrong with a setup."""

import json
from pathlib import Path

import click


@click.command(epilog="Example: tapemark check reading-room.toml --json")
@click.argument("setup", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
@click.option("--assumed", is_flag=True, help="Also list what was not stated and is assumed.")
@click.option(
    "--pictures",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Also write plan, elevation and camera view into FOLDER; made if it is not there.",
)
def check(setup: Path, *, as_json: bool, assumed: bool, pictures: Path | None) -> int:
    """Check SETUP: what each lens shows, whether both eyes live, what the light meters.

    Exit status: 0 nothing in the way, 1 trouble found, 2 the setup cannot be read.
    """
    from tapemark.cli.report import report_text
    from tapemark.services import (
        check_setup,
        picture_files,
        read_setup,
        report_as_plain,
        write_results,
    )

    report = check_setup(read_setup(setup))
    if as_json:
        click.echo(json.dumps(report_as_plain(report), indent=2, ensure_ascii=False))
    else:
        click.echo(report_text(report, color=_color_wanted(), assumed=assumed))
    if pictures is not None:
        for path in write_results(pictures, picture_files(report, stem=setup.stem)):
            click.echo(f"wrote {path}", err=True)
    return 1 if report.found_trouble else 0


def _color_wanted() -> bool:
    import os
    import sys

    return sys.stdout.isatty() and "NO_COLOR" not in os.environ
