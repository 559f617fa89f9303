"""`tapemark read`: what a test shot shows."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapemark.cli.out_files import FILE_TO_WRITE, is_same_file
from tapemark.cli.taps import boxes_option, pupils_option
from tapemark.errors import shown_name

if TYPE_CHECKING:
    from tapemark.photo import Hints, ShotReading
    from tapemark.photo.matching.result import ShotMatch

PUPILS = "The sitter's right and left pupil in pixels, where they were not found."
OUTLINE = "Boxes of the sitter's right and left lens, left,top,right,bottom each, in pixels."


@click.command(epilog="Example: tapemark read IMG_0412.jpg")
@click.argument("photo", type=click.Path(path_type=Path))
@click.option("--pupils", default="", callback=pupils_option, metavar="X,Y,X,Y", help=PUPILS)
@click.option("--outline", default="", callback=boxes_option, metavar="LIST", help=OUTLINE)
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

    _make_sense(setup, bare=no_glasses, outline=outline, corrected=corrected)
    _may_be_written(photo, setup, sitter, keep=keep, corrected=corrected)
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
    found = read_photo_file(photo, hints=hints)
    if keep is not None:
        _keep(found, keep)
    if as_json:
        click.echo(json.dumps(reading_as_plain(found), ensure_ascii=False))
    else:
        click.echo(reading_text(found))
    return 0 if found.trouble < 1.0 else 1


def _make_sense(setup: Path | None, *, bare: bool, outline: object, corrected: Path | None) -> None:
    """Refuse options that do not go together."""
    if bare and outline is not None:
        raise click.UsageError(
            "--no-glasses and --outline contradict each other: give the one that is true"
        )
    if corrected is not None and setup is None:
        raise click.UsageError("--corrected needs --setup: name the setup the photo was taken with")


def _may_be_written(
    photo: Path,
    setup: Path | None,
    sitter: Path | None,
    *,
    keep: Path | None,
    corrected: Path | None,
) -> None:
    """Refuse to write over what is read, and over what is no sitter file, before reading."""
    from tapemark.services.photos.photo_reading import may_hold_sitter

    read_from = {"PHOTO": photo, "SETUP": setup, "the file of --sitter": sitter}
    if keep is not None:
        _not_one_of("--keep", keep, {"PHOTO": photo, "SETUP": setup, "--corrected": corrected})
        may_hold_sitter(keep)
    if corrected is not None:
        _not_one_of("--corrected", corrected, read_from)


def _not_one_of(option: str, file: Path, others: "dict[str, Path | None]") -> None:
    for what, other in others.items():
        if other is not None and is_same_file(file, other):
            raise click.UsageError(
                f"{option} {shown_name(str(file))} is {what} itself, which is never written over: "
                "name another file"
            )


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
