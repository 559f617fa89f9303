"""`tapemark demo`: the main job on the built-in example."""

from pathlib import Path

import click


@click.command(epilog="Example: tapemark demo --out my-demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("tapemark-demo"),
    show_default=True,
    metavar="FOLDER",
    help="Where to write setups, reports and pictures.",
)
def demo(*, out: Path) -> int:
    """Run the portrait day of the invented Quillmere Library.

    One setup with trouble in the lenses and one that cures it: both reports, and a folder with
    the two setup files, floor plans, side elevations and camera views.
    """
    from tapemark.cli.report import report_text
    from tapemark.services import run_demo, write_results

    for shown in run_demo():
        click.echo(report_text(shown.report, color=False))
        click.echo()
        written = write_results(out, shown.files)
        click.echo(f"{shown.stem}: wrote {len(written)} files", err=True)
    click.echo(f"Setups and pictures are in {out.resolve()}")
    return 0
