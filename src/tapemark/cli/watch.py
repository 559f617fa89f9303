"""`tapemark watch`: photos read as a tethered camera writes them."""

import json
import time
from pathlib import Path

import click

from tapemark.cli.numbers import Number
from tapemark.errors import shown_name


@click.command(epilog="Example: tapemark watch capture")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--sitter",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The lenses to look for, as kept by tapemark read --keep.",
)
@click.option("--all", "old_too", is_flag=True, help="First read what is there already.")
@click.option(
    "--count",
    type=click.IntRange(1, 1_000_000),
    metavar="N",
    help="End after so many photos; without it, with Ctrl-C.",
)
@click.option(
    "--seconds",
    type=Number(0.1, 1e6),
    metavar="S",
    help="End after so many seconds.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer with a line of JSON for each photo.")
def watch(
    folder: Path,
    *,
    sitter: Path | None,
    old_too: bool,
    count: int | None,
    seconds: float | None,
    as_json: bool,
) -> int:
    """Read every photo that arrives in FOLDER within two seconds, and say what its glasses show.

    For the folder that a tethered camera writes into. Photos still being written are waited for.

    Exit status: 0 ended as asked, 2 the folder cannot be read.
    """
    from tapemark.cli.report_photo import reading_text
    from tapemark.photo import Hints
    from tapemark.services.photos.photo_reading import read_sitter, reading_as_plain
    from tapemark.services.photos.watching_folder import watch_folder

    hints = None if sitter is None else Hints(shape=read_sitter(sitter))
    ends = None if seconds is None else time.monotonic() + seconds
    told = 0
    if not as_json:
        click.echo(f"Watching {shown_name(str(folder))}; Ctrl-C ends it.", err=True)
    try:
        for one in watch_folder(
            folder,
            hints=hints,
            old_too=old_too,
            stopped=lambda: ends is not None and time.monotonic() > ends,
        ):
            if one is None:
                continue
            told += 1
            if as_json:
                plain = (
                    {"file": shown_name(one.path.name), "error": one.error}
                    if one.reading is None
                    else reading_as_plain(one.reading)
                )
                click.echo(json.dumps({**plain, "after_s": round(one.waited_s, 2)}))
            else:
                click.echo(one.error or reading_text(one.reading))  # type: ignore[arg-type]
            if told == count:
                break
    except KeyboardInterrupt:
        click.echo(f"Ended: {told} photos read.", err=True)
    return 0
