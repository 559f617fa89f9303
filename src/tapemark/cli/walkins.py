"""`tapemark walkins`: for how many strangers with glasses a setup is clear as it stands."""

import json
from pathlib import Path

import click


@click.command(epilog="Example: tapemark walkins reading-room.toml --population town.toml")
@click.argument("setup", type=click.Path(path_type=Path))
@click.option(
    "--population",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Who comes, as TOML; without it, adult wearers of glasses.",
)
@click.option(
    "--count",
    type=click.IntRange(50, 100_000),
    default=2000,
    show_default=True,
    metavar="N",
    help="How many wearers to draw.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, 1_000_000),
    default=1,
    show_default=True,
    metavar="N",
    help="Another number draws other people; the same one gives the same answer.",
)
@click.option(
    "--moves/--no-moves",
    default=True,
    show_default=True,
    help="Also look for the one change that would gain most.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def walkins(
    setup: Path,
    *,
    population: Path | None,
    count: int,
    seed: int,
    moves: bool,
    as_json: bool,
) -> int:
    """Say for which share of walk-in wearers SETUP is clear without touching it.

    Also who is not, what their lenses show, and which one change would gain most. Sitters differ
    in height, face, pose, frame, prescription and coating; stool, lights and camera stay.

    Exit status: 0 done, 1 stopped early, 2 a file cannot be read.
    """
    from tapemark.cli.report_walkins import walk_ins_text
    from tapemark.cli.watching import watching
    from tapemark.services import read_setup, walk_ins_as_plain, walk_ins_for

    planned = read_setup(setup)
    with watching() as watch:
        found = walk_ins_for(
            planned, population=population, count=count, seed=seed, moves=moves, watch=watch
        )
    if as_json:
        click.echo(json.dumps(walk_ins_as_plain(found), indent=2, ensure_ascii=False))
    else:
        click.echo(walk_ins_text(found, system=planned.units))
    if found.interrupted:
        click.echo("Interrupted: this is what was found by then.", err=True)
    return 1 if found.interrupted else 0
