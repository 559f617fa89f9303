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

    One setup with trouble in the lenses and one that cures it: a folder with the two setup files,
    both reports, floor plans, side elevations and camera views.
    """
    from tapemark.cli.report import report_text
    from tapemark.services import refuse_edited, run_demo, write_results

    steps = run_demo()
    refuse_edited(out, steps)
    for step in steps:
        text = report_text(step.report, color=False)
        click.echo(f"{text}\n")
        written = write_results(out, {**step.files, f"{step.stem}.txt": f"{text}\n"})
        click.echo(f"{step.stem}: wrote {len(written)} files", err=True)
    click.echo(f"Setups, reports and pictures are in {out.resolve()}")
    return 0
