"""`tapemark read`: what a test shot shows."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapemark.cli.out_files import FILE_TO_WRITE

if TYPE_CHECKING:
    from tapemark.photo import Hints, ShotReading
    from tapemark.photo.matching.result import ShotMatch

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
    type=FILE_TO_WRITE,
    metavar="FILE",
    help="Keep the shape of the sitter's lenses for further frames.",
)
@click.option(
    "--sitter",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The lenses to look for, as kept by --keep from another frame.",
)
@click.option(
    "--setup",
    type=click.Path(path_type=Path),
    metavar="SETUP",
    help="The setup it was taken with: whose light is it, and which move clears the lenses?",
)
@click.option(
    "--corrected",
    type=FILE_TO_WRITE,
    metavar="FILE",
    help="Write the setup as the photo shows it, where that contradicts SETUP.",
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
    setup: Path | None,
    corrected: Path | None,
    as_json: bool,
) -> int:
    """Say what the glasses in PHOTO show: a test shot as JPEG, PNG, TIFF, HEIC or raw.

    For everybody in it: reflections in each lens, how much of the eye they cover, how bright
    they are against the skin and whether they can be mended; clipped skin, focus, blinks.

    With --setup also whose light each reflection is, how sure that is, where the photo
    contradicts the setup, what the lenses are like, and the single move that clears them.

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
    if setup is not None:
        return _against_setup(
            photo, setup, hints=hints, sitter=sitter, keep=keep, corrected=corrected, plain=as_json
        )
    if corrected is not None:
        raise click.UsageError("--corrected needs --setup: name the setup the photo was taken with")
    found = read_photo_file(photo, hints=hints)
    if keep is not None:
        _keep(found, keep)
    if as_json:
        click.echo(json.dumps(reading_as_plain(found), ensure_ascii=False))
    else:
        click.echo(reading_text(found))
    return 0 if found.trouble < 1.0 else 1


def _against_setup(
    photo: Path,
    setup: Path,
    *,
    hints: "Hints",
    sitter: Path | None,
    keep: Path | None,
    corrected: Path | None,
    plain: bool,
) -> int:
    """Answer with a setup: whose light it is, and what to do."""
    from tapemark.cli.report_match import match_text
    from tapemark.cli.report_photo import reading_text
    from tapemark.services import read_setup
    from tapemark.services.photos.whose_light import (
        keep_sitter,
        match_as_plain,
        match_shot,
        read_learned,
    )

    if corrected is not None and corrected.resolve() == setup.resolve():
        raise click.UsageError(
            f"--corrected {corrected} is SETUP itself, which is never written over: "
            "name another file"
        )
    learned = None if sitter is None else read_learned(sitter)
    match = match_shot(photo, read_setup(setup), hints=hints, glasses_learned=learned)
    if keep is not None:
        _write_kept(keep_sitter(match), keep)
    if corrected is not None:
        _write_corrected(match, corrected)
    if plain:
        click.echo(json.dumps(match_as_plain(match), ensure_ascii=False))
    else:
        click.echo(f"{reading_text(match.reading)}\n{match_text(match)}")
    return 0 if match.reading.trouble < 1.0 else 1


def _write_corrected(match: "ShotMatch", corrected: Path) -> None:
    from tapemark.services import write_results

    text = next((one.corrected_toml for one in match.wearers if one.corrected_toml), None)
    if text is None:
        click.echo(
            "Nothing written: the photo does not contradict the setup beyond what is uncertain.",
            err=True,
        )
        return
    write_results(corrected.parent, {corrected.name: text})


def _keep(found: "ShotReading", keep: Path) -> None:
    from tapemark.services.photos.photo_reading import kept_sitter

    _write_kept(kept_sitter(found), keep)


def _write_kept(text: str | None, keep: Path) -> None:
    from tapemark.services import write_results

    if text is None:
        click.echo("Nothing kept: the photo has to show one person with glasses.", err=True)
        return
    write_results(keep.parent, {keep.name: text})
