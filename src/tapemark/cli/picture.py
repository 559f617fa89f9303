"""`tapemark picture`: what the camera would record."""

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapemark.cli.json_errors import JsonErrors
from tapemark.cli.out_files import FILE_TO_WRITE

if TYPE_CHECKING:
    from tapemark.rendering import Watching
    from tapemark.services.picture import Picture

MOST_STOPS = 20.0
SUFFIXES = (".png", ".jpg", ".jpeg", ".exr")
#: A light, an equals sign and stops, up to a comma; the name may have commas in it.
_WEIGHT = re.compile(r"\s*(.+?)\s*=\s*([^,=]*?)\s*(?:,|$)")
_SIZE = re.compile(r"(\d{1,5})\s*[xX\u00d7]\s*(\d{1,5})")


def _name(_context: click.Context, _option: click.Parameter, value: Path) -> Path:
    if value.suffix.lower() not in SUFFIXES:
        raise click.BadParameter(f"{value}: write a name that ends in {', '.join(SUFFIXES)}")
    return value


def _size(_context: click.Context, _option: click.Parameter, value: str) -> tuple[int, int]:
    match = _SIZE.fullmatch(value.strip())
    if match is None:
        raise click.BadParameter(f"{value}: write columns and rows like 480x600")
    return int(match[1]), int(match[2])


def _weights(_context: click.Context, _option: click.Parameter, value: str) -> dict[str, float]:
    found: dict[str, float] = {}
    rest = value.strip(" ,")
    while rest:
        match = _WEIGHT.match(rest)
        stops = _stops(match[2]) if match else None
        if match is None or stops is None:
            raise click.BadParameter(
                f"{rest}: write lights and stops, from -20 to +20, like key=+1,fill=-0.5"
            )
        if match[1] in found:
            raise click.BadParameter(f"{rest}: {match[1]} is named twice; name each light once")
        found[match[1]] = stops
        rest = rest[match.end() :].lstrip(" ,")
    return found


def _stops(text: str) -> float | None:
    """Return stops within bounds, or None where a text holds no such number."""
    try:
        found = float(text)
    except ValueError:
        return None
    return found if abs(found) <= MOST_STOPS else None


@click.command(cls=JsonErrors, epilog="Example: tapemark picture reading-room.toml -o shot.png")
@click.argument("setup", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--out",
    type=FILE_TO_WRITE,
    default=Path("shot.png"),
    show_default=True,
    callback=_name,
    metavar="FILE",
    help="Where to write it: .png, .jpg, or .exr with linear values.",
)
@click.option(
    "--size", default="480x600", show_default=True, callback=_size, metavar="WxH", help="In pixels."
)
@click.option(
    "--quality",
    type=click.Choice(["preview", "final"]),
    default="preview",
    show_default=True,
    help="Seconds, or minutes.",
)
@click.option("--seed", type=click.IntRange(0, 1_000_000), default=0, metavar="N", help="Of noise.")
@click.option(
    "--crop", type=click.Choice(["glasses"]), help="Look at the sitter's glasses closely."
)
@click.option("--clay", is_flag=True, help="All surfaces in one grey: the light alone.")
@click.option(
    "--lights",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Also keep each light's own picture, linear; used again where they fit.",
)
@click.option(
    "--weights",
    default="",
    callback=_weights,
    metavar="LIST",
    help="Turn lights up or down in stops, like key=+1,fill=-0.5; with --lights at once.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def picture(
    setup: Path,
    *,
    out: Path,
    size: tuple[int, int],
    quality: str,
    seed: int,
    crop: str | None,
    clay: bool,
    lights: Path | None,
    weights: dict[str, float],
    as_json: bool,
) -> int:
    """Render the picture that the camera of SETUP would take.

    The first look is in the file while the rest is rendered; Ctrl-C keeps what there is.
    Exit status: 0 done, 1 stopped early or cannot be written, 2 the setup or an option cannot be
    read.
    """
    from tapemark.cli.watching import watching
    from tapemark.rendering import Watching
    from tapemark.services import read_setup, write_results
    from tapemark.services.picture import (
        PictureWanted,
        refuse_unwritable,
        take_lights,
        take_picture,
    )

    studio = read_setup(setup)
    refuse_unwritable(out, lights=lights)
    wanted = PictureWanted(
        size=size,
        quality="final" if quality == "final" else "preview",
        seed=seed,
        crop="glasses" if crop else "",
        clay=clay,
    )
    with watching() as watch:
        waiting = Watching(tell=watch.tell, stopped=lambda: watch.stopped)
        _show_early(waiting, out)
        if lights is None and not weights:
            taken = take_picture(studio, wanted, watching=waiting)
        else:
            taken = take_lights(studio, wanted, folder=lights, weights=weights, watching=waiting)
    write_results(out.parent, {out.name: taken.file_bytes(out.suffix.lower())})
    _answer(taken, out, lights, weights=weights, as_json=as_json)
    return 0 if taken.complete else 1


def _show_early(waiting: "Watching", out: Path) -> None:
    """Have every state of the picture written to its file while the rest is rendered."""
    from tapemark.geometry import FloatArray
    from tapemark.rendering import image_bytes
    from tapemark.services import write_results

    suffix = out.suffix.lower()

    def show(values: FloatArray) -> None:
        write_results(out.parent, {out.name: image_bytes(values, suffix=suffix, in_passing=True)})

    waiting.show = show


def _answer(
    taken: "Picture",
    out: Path,
    lights: Path | None,
    *,
    weights: dict[str, float],
    as_json: bool,
) -> None:
    rows, columns = taken.values.shape[:2]
    names = [] if taken.lights is None else list(taken.lights.names)
    reason = "mixed from lights kept before" if taken.variant is None else taken.variant.reason
    if as_json:
        answer = {
            "file": str(out),
            "columns": columns,
            "rows": rows,
            "samples": taken.samples,
            "complete": taken.complete,
            "tracer": None if taken.variant is None else taken.variant.name,
            "reason": reason,
            "lights": names,
            "weights": weights,
            "remarks": list(taken.remarks),
        }
        click.echo(json.dumps(answer, ensure_ascii=False))
        return
    each = "1 sample" if taken.samples == 1 else f"{taken.samples} samples"
    passes = f", {each} a pixel" if taken.samples else ""
    click.echo(f"{out}: {columns} x {rows} pixels{passes}")
    click.echo(f"  traced  {reason}")
    if weights:
        told = ", ".join(f"{name}={stops:+g}" for name, stops in weights.items())
        click.echo(f"  weights {told}, in stops")
    for remark in taken.remarks:
        click.echo(f"  note    {remark}")
    if lights is not None:
        click.echo(f"  lights  {_kept(names, lights, complete=taken.complete)}")
    if not taken.complete:
        click.echo("Stopped early: the picture has what was rendered by then.", err=True)


def _kept(names: list[str], folder: Path, *, complete: bool) -> str:
    told = ", ".join(names)
    if complete:
        return f"{told}: in {folder}, turn them with --weights"
    return f"{told or 'none'} so far; none of them is kept in {folder}"
