"""`tapemark map`: where one light may stand."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapemark.cli.out_files import FILE_TO_WRITE

if TYPE_CHECKING:
    from tapemark.services import MapReport

PICTURES = (".svg", ".png")


def _picture_name(
    _context: click.Context, _option: click.Parameter, value: Path | None
) -> Path | None:
    if value is not None and value.suffix.lower() not in PICTURES:
        raise click.BadParameter(f"{value}: write a name that ends in {' or '.join(PICTURES)}")
    return value


@click.command(name="map", epilog="Example: tapemark map reading-room.toml --light key")
@click.argument("setup", type=click.Path(path_type=Path))
@click.option("--light", "light_name", required=True, metavar="NAME", help="Which light.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
@click.option(
    "--csv",
    "table",
    type=FILE_TO_WRITE,
    metavar="FILE",
    help="Also write every place as a line of a table.",
)
@click.option(
    "--picture",
    type=FILE_TO_WRITE,
    metavar="FILE",
    callback=_picture_name,
    help="Also write the map as a drawing, .svg or .png.",
)
def map_command(
    setup: Path, *, light_name: str, as_json: bool, table: Path | None, picture: Path | None
) -> int:
    """Map where one light of SETUP may stand: places open to it, and closed by the lenses.

    The light is aimed at the face from every place, its power corrected. Exit status: 0 an open
    place found, 1 none within reach or only one that costs an eye its only catchlight, 2 the
    setup cannot be read or has no such light.
    """
    from tapemark.services import map_as_csv, map_as_plain, map_light, read_setup, write_results

    report = map_light(read_setup(setup), light_name)
    if as_json:
        click.echo(json.dumps(map_as_plain(report), ensure_ascii=False))
    else:
        click.echo("\n".join(_lines(report)))
    if table is not None:
        write_results(table.parent, {table.name: map_as_csv(report)})
        click.echo(f"wrote {table}", err=True)
    if picture is not None:
        write_results(picture.parent, {picture.name: _drawn(report, picture)})
        click.echo(f"wrote {picture}", err=True)
    return 0 if report.map.best is not None and not report.map.least_bad else 1


def _drawn(report: "MapReport", picture: Path) -> str | bytes:
    from tapemark.services import map_picture, picture_bytes

    svg = map_picture(report)
    return picture_bytes(svg) if picture.suffix.lower() == ".png" else svg


def _lines(report: "MapReport") -> Iterator[str]:
    """Yield the answer: now, best, open heights and what limits them."""
    from tapemark.cli.lines import folded, wrapped
    from tapemark.planning.sightlines.map_words import (
        air_text,
        heights_text,
        move_text,
        place_text,
        reach_text,
        state_text,
    )
    from tapemark.units import format_mark, format_side

    found = report.map
    setup = found.setup
    yield f"Sightline map of {found.light.name}, aimed at the face from every place"
    yield f"  now      {place_text(found.now, setup)}"
    yield f"           {state_text(found.now)}"
    if found.best is not None and found.best != found.now:
        lead = "least bad" if found.least_bad else "best"
        yield f"  {lead:<8} {place_text(found.best, setup)}"
        yield f"           {state_text(found.best)}"
    yield from wrapped("  ->      ", move_text(found))
    if report.still_shown:
        shown = " and ".join(report.still_shown)
        yield from wrapped("          ", f"The lenses also show {shown}: map that too.")
    yield ""
    out = format_mark(found.light.place.distance_m, system=setup.units)
    yield f"Open heights {out} out; in reach {reach_text(found.heights, setup)}"
    for one in report.heights:
        told = f"{format_side(one.side_deg):<18} {heights_text(one, setup)}"
        yield from folded(told, indent=2)
    if air := air_text(found.heights, setup):
        yield from folded(air, indent=2)
