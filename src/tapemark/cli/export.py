"""`tapemark export`: drawings and the set itself, for other programs."""

from pathlib import Path

import click

from tapemark.cli.out_files import FILE_TO_WRITE
from tapemark.cli.sheet import form_of

SET_ENDING = ".glb"


@click.command(epilog="Example: tapemark export reading-room.toml -o plan.svg --what plan")
@click.argument("setup", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--out",
    required=True,
    type=FILE_TO_WRITE,
    metavar="FILE",
    help="Where to write: .svg, .png or .pdf for a drawing, .glb for the set.",
)
@click.option(
    "--what",
    metavar="DRAWING",
    help="plan, elevation, camera, face or distance; camera-2, face-2 for the second person.",
)
def export(setup: Path, *, out: Path, what: str | None) -> int:
    """Write a drawing of SETUP, or the whole set as glTF for any 3D viewer.

    Exit status: 0 written, 1 cannot be written, 2 SETUP cannot be read or has no such drawing.
    """
    from tapemark.services import (
        drawing_names,
        export_drawing,
        export_set,
        read_setup,
        write_results,
    )

    whole = out.suffix.lower() == SET_ENDING
    if whole and what is not None:
        raise click.UsageError("--what chooses a drawing; a .glb is the whole set: leave it out")
    form = "svg" if whole else form_of(out)
    described = read_setup(setup)
    if whole:
        content = export_set(described)
    else:
        names = drawing_names(described)
        which = what or names[0]
        if which not in names:
            raise click.UsageError(f'--what "{which}": there are {", ".join(names)}')
        content = export_drawing(described, which, form)
    for path in write_results(out.parent, {out.name: content}):
        click.echo(f"wrote {path}", err=True)
    return 0
