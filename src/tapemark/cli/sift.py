"""`tapemark sift`: a folder of photos, the ones with trouble first."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapemark.errors import shown_name

if TYPE_CHECKING:
    from tapemark.services.photos.sifting import SiftReport

SHOWN = 20


@click.command(epilog="Example: tapemark sift finals")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Where lists and sheets go, made if not there; without it, tapemark-sift/NAME here.",
)
@click.option(
    "--sitter",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The lenses to look for, where all frames are of one sitter: from tapemark read --keep.",
)
@click.option("--xmp", is_flag=True, help="Write an XMP sidecar beside every photo without one.")
@click.option("--rate", is_flag=True, help="With --xmp: also a rating, 1 spoilt to 3 sound.")
@click.option(
    "--workers",
    type=click.IntRange(0, 64),
    default=0,
    metavar="N",
    help="Processes; without it, as many as there are processors.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def sift(
    folder: Path,
    *,
    out: Path | None,
    sitter: Path | None,
    xmp: bool,
    rate: bool,
    workers: int,
    as_json: bool,
) -> int:
    """Judge every photo in FOLDER: reflections in glasses, focus of the near eye, blinks.

    Writes a table, the same as JSON, and contact sheets with the worst frames first. Photos are
    only read. Ctrl-C keeps what is done; the same command goes on from there.

    Exit status: 0 all sound, 1 something to see to, no photo there or stopped early, 2 the folder
    cannot be read.
    """
    from tapemark.cli.watching import watching
    from tapemark.photo import Hints
    from tapemark.services.photos.photo_reading import read_sitter
    from tapemark.services.photos.sift_files import sift_as_plain, write_sidecars, write_sifted
    from tapemark.services.photos.sifting import sift_folder

    if rate and not xmp:
        raise click.UsageError("--rate goes into sidecars: give --xmp too")
    hints = None if sitter is None else Hints(shape=read_sitter(sitter))
    out = out or Path("tapemark-sift") / (folder.resolve().name or "photos")
    with watching() as watch:
        report = sift_folder(folder, out=out, hints=hints, workers=workers, watch=watch)
    written = write_sifted(report, out=out)
    if xmp:
        done = write_sidecars(report, folder=folder, rate=rate)
        click.echo(f"{done.written} sidecars written beside the photos", err=True)
        if done.left_alone:
            click.echo(f"{done.left_alone} left alone: another program wrote them", err=True)
    if as_json:
        click.echo(json.dumps(sift_as_plain(report), ensure_ascii=False))
    else:
        click.echo(_text(report, out, [one.name for one in written]))
    if report.interrupted:
        click.echo("Stopped early: the same command goes on from here.", err=True)
    sound = report.total > 0 and all(one.trouble < 1.0 for one in report.frames)
    return 0 if sound and not report.interrupted else 1


def _text(report: "SiftReport", out: Path, written: list[str]) -> str:
    from tapemark.services.photos.sift_files import sheet_line, verdict_counts

    if not report.total:
        return (
            f"{report.folder}: there is no photo in it; name the folder that holds the photos "
            "themselves, as JPEG, PNG, TIFF, HEIC, WebP or raw files"
        )
    counts = ", ".join(f"{count} {name}" for name, count in verdict_counts(report).items())
    lines = [f"{report.folder}: {len(report.frames)} of {report.total} photos read"]
    if counts:
        lines.append(f"  {counts}")
    bad = [one for one in report.frames if one.trouble >= 1.0]
    for frame in bad[:SHOWN]:
        lines.append(f"  {shown_name(frame.file):28s} {sheet_line(frame)}")
        if frame.error:
            lines.append(f"    {frame.error}")
    if len(bad) > SHOWN:
        lines.append(f"  and {len(bad) - SHOWN} more with something to see to: see the table")
    sheets = sum(one.startswith("contact-sheet") for one in written)
    count = "a contact sheet" if sheets == 1 else f"{sheets} contact sheets"
    lines.append(f"  in {shown_name(str(out))}: sifted.csv, sifted.json, {count}")
    return "\n".join(lines)
