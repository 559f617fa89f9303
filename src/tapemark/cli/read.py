"""`tapemark read`: what a test shot shows."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tapemark.photo import ShotReading

PUPILS = "The sitter's right and left pupil in pixels, where they were not found."
OUTLINE = "Boxes of the sitter's right and left lens, left,top,right,bottom each, in pixels."


def _numbers(count: int, like: str, value: str) -> tuple[float, ...] | None:
    """Return so many numbers between commas, or None for nothing."""
    if not value:
        return None
    try:
        found = tuple(float(one) for one in value.split(","))
    except ValueError:
        found = ()
    if len(found) != count or not all(abs(one) < 1e6 for one in found):
        raise click.BadParameter(f"{value}: write {count} numbers like {like}")
    return found


def _pupils(_context: click.Context, _option: click.Parameter, value: str) -> object:
    found = _numbers(4, "812,940,1066,938", value)
    if found is not None and abs(found[0] - found[2]) + abs(found[1] - found[3]) < 8:
        raise click.BadParameter(f"{value}: the pupils have to be apart")
    return found and (found[:2], found[2:])


def _boxes(_context: click.Context, _option: click.Parameter, value: str) -> object:
    found = _numbers(8, "702,880,930,1040,952,880,1180,1040", value)
    if found is None:
        return None
    boxes = (found[:4], found[4:])
    if any(one[2] - one[0] < 4 or one[3] - one[1] < 4 for one in boxes):
        raise click.BadParameter(f"{value}: left before right, top before bottom in each box")
    return boxes


@click.command(epilog="Example: tapemark read IMG_0412.jpg")
@click.argument("photo", type=click.Path(path_type=Path))
@click.option("--pupils", default="", callback=_pupils, metavar="X,Y,X,Y", help=PUPILS)
@click.option("--outline", default="", callback=_boxes, metavar="LIST", help=OUTLINE)
@click.option("--no-glasses", is_flag=True, help="Nobody in it wears glasses.")
@click.option(
    "--keep",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Keep the shape of the sitter's lenses for further frames.",
)
@click.option(
    "--sitter",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The lenses to look for, as kept by --keep from another frame.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def read(
    photo: Path,
    *,
    pupils: "tuple[tuple[float, float], tuple[float, float]] | None",
    outline: "tuple[tuple[float, ...], tuple[float, ...]] | None",
    no_glasses: bool,
    keep: Path | None,
    sitter: Path | None,
    as_json: bool,
) -> int:
    """Say what the glasses in PHOTO show: a test shot as JPEG, PNG, TIFF, HEIC or raw.

    For everybody in it: reflections in each lens, how much of the eye they cover, how bright
    they are against the skin and whether they can be mended; clipped skin, focus, blinks.

    Exit status: 0 clear, 1 something to see to, 2 the photo cannot be read.
    """
    from tapemark.cli.report_photo import reading_text
    from tapemark.photo import Hints
    from tapemark.services.photos.photo_reading import (
        read_photo_file,
        read_sitter,
        reading_as_plain,
    )

    hints = Hints(
        pupils=pupils,
        boxes=outline,  # type: ignore[arg-type]
        shape=None if sitter is None else read_sitter(sitter),
        bare=no_glasses,
    )
    found = read_photo_file(photo, hints=hints)
    if keep is not None:
        _keep(found, keep)
    if as_json:
        click.echo(json.dumps(reading_as_plain(found), ensure_ascii=False))
    else:
        click.echo(reading_text(found))
    return 0 if found.trouble < 1.0 else 1


def _keep(found: "ShotReading", keep: Path) -> None:
    from tapemark.services import write_results
    from tapemark.services.photos.photo_reading import kept_sitter

    text = kept_sitter(found)
    if text is None:
        click.echo("Nothing kept: the photo has to show one person with glasses.", err=True)
        return
    write_results(keep.parent, {keep.name: text})
