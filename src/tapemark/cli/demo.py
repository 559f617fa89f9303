"""`tapemark demo`: the main job on the built-in example."""

from pathlib import Path

import click

NEXT = (
    "Next, in that folder:",
    "  tapemark moves quillmere-troubled.toml   the smallest changes that clear the lenses",
    "  tapemark plan quillmere-brief.toml       whole setups from the gear that is there",
    "  tapemark map quillmere-troubled.toml --light key",
    "                                           where one light may stand",
    "  tapemark order quillmere-sitters.csv --setup quillmere-cured.toml",
    "                                           who comes when, for the least re-rigging",
    "  tapemark walkins quillmere-cured.toml    how many strangers with glasses would be clear",
)


@click.command(epilog="Example: tapemark demo --out my-demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("tapemark-demo"),
    show_default=True,
    metavar="FOLDER",
    help="Where to write setups, reports and pictures; made if it is not there.",
)
def demo(*, out: Path) -> int:
    """Run the portrait day of the invented Quillmere Library.

    One setup with trouble in the lenses and one that cures it: a folder with the two setup files,
    both reports and drawings, and a brief and a list of sitters to plan and order with.
    """
    from tapemark.cli.report import report_text
    from tapemark.services import demo_lists, refuse_edited, run_demo, write_results

    steps = run_demo()
    refuse_edited(out)
    for step in steps:
        text = report_text(step.report, color=False)
        click.echo(f"{text}\n")
        written = write_results(out, {**step.files, f"{step.stem}.txt": f"{text}\n"})
        click.echo(f"{step.stem}: wrote {len(written)} files", err=True)
    written = write_results(out, demo_lists())
    click.echo(f"brief and sitters: wrote {len(written)} files", err=True)
    for line in NEXT:
        click.echo(line)
    click.echo(f"Setups, reports and pictures are in {out.resolve()}")
    return 0
