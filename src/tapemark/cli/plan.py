"""`tapemark plan`: whole setups from a brief."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tapemark.services import PlanReport

MOST_PLANS = 12


@click.command(epilog="Example: tapemark plan portrait-day.toml --out plans")
@click.argument("brief", type=click.Path(path_type=Path))
@click.option(
    "--count",
    type=click.IntRange(1, MOST_PLANS),
    default=3,
    show_default=True,
    metavar="N",
    help="How many different plans.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, 1_000_000),
    default=0,
    show_default=True,
    help="Another number looks elsewhere; the same one gives the same plans.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Also write each plan, a setup file with drawings, into FOLDER; made if not there.",
)
@click.option(
    "--walkins",
    is_flag=True,
    help="For a day of strangers: plans that leave most of them clear, those first.",
)
@click.option(
    "--sheets", is_flag=True, help="With --out: also write each plan as a page to rig from."
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def plan(
    brief: Path,
    *,
    count: int,
    seed: int,
    out: Path | None,
    walkins: bool,
    sheets: bool,
    as_json: bool,
) -> int:
    """Plan BRIEF: different setups from the gear that is there, each ready to be rigged.

    Where the wishes cannot all be met, says which to give up. Fewer lights come first.

    Exit status: 0 planned, 1 not possible as wished or stopped early, 2 BRIEF cannot be read.
    """
    from tapemark.cli.report_plan import plan_text
    from tapemark.cli.watching import watching
    from tapemark.planning import WalkIns
    from tapemark.services import plan_as_plain, plan_brief, read_brief

    if sheets and out is None:
        raise click.UsageError("--sheets needs a folder: add --out FOLDER")
    wished = read_brief(brief)
    with watching() as watch:
        strangers = WalkIns.drawn(seed=seed) if walkins else None
        report = plan_brief(wished, seed=seed, count=count, watch=watch, walk_ins=strangers)
    if as_json:
        click.echo(json.dumps(plan_as_plain(report), indent=2, ensure_ascii=False))
    else:
        click.echo(plan_text(report))
    whole = True
    if out is not None and (report.plans or report.instead):
        whole = _write(report, out, stem=brief.stem, sheets=sheets)
    if report.interrupted:
        found = "these are the plans" if report.plans else "nothing was"
        click.echo(f"Interrupted: {found} found by then.", err=True)
    return 0 if report.plans and whole and not report.interrupted else 1


def _write(report: "PlanReport", out: Path, *, stem: str, sheets: bool) -> bool:
    """Write setups, then drawings one by one; say what is there if somebody stops that."""
    from tapemark.cli.watching import watching
    from tapemark.services import plan_files, write_results

    setups: tuple[Path, ...] = ()
    with watching(at_once=True) as watch:
        watch.stopped = report.interrupted  # who is in a hurry gets the setups alone
        try:
            for files in plan_files(report, stem=stem, sheets=sheets, watch=watch):
                paths = write_results(out, files)
                setups = setups or paths
                for path in paths:
                    click.echo(f"wrote {path}", err=True)
        except KeyboardInterrupt:
            watch.stopped = True
    if watch.stopped and setups:
        click.echo(
            f"Not all is drawn. The setups are there: tapemark check {setups[0]} --pictures {out} "
            "draws one.",
            err=True,
        )
    return not watch.stopped
