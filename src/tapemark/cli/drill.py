"""`tapemark drill`: practice on troubled setups."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tapemark.services.drill import Drill, DrillAnswer, DrillPictures, DrillScore

_PARTS = 3


def _answers(
    _context: click.Context, _option: click.Parameter, value: str | None
) -> "list[tuple[str, str, str]] | None":
    """Return answers like ``key,front,B; fill,both,A``."""
    if value is None:
        return None
    found = []
    for one in value.split(";"):
        parts = [part.strip() for part in one.split(",")]
        if len(parts) != _PARTS:
            raise click.BadParameter(
                f"{one.strip()}: write a light, a surface and a move like key,front,B; "
                "one drill after another with semicolons between"
            )
        found.append((parts[0], parts[1], parts[2]))
    return found


@click.command(epilog="Example: tapemark drill --seed 7")
@click.option(
    "--seed", type=click.IntRange(0, 1_000_000), default=0, metavar="N", help="Which drills."
)
@click.option("--count", type=click.IntRange(1, 20), default=5, show_default=True, metavar="N")
@click.option(
    "--setup",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Room, sitter and gear to practise with; the demo's if left out.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("tapemark-drill"),
    show_default=True,
    metavar="FOLDER",
    help="Where to write the pictures.",
)
@click.option("--open", "show", is_flag=True, help="Also open each picture in the usual viewer.")
@click.option("--no-pictures", is_flag=True, help="Ask without rendering anything.")
@click.option(
    "--answers",
    callback=_answers,
    metavar="LIST",
    help='Answer at once, like "key,front,B; fill,both,A".',
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def drill(
    *,
    seed: int,
    count: int,
    setup: Path | None,
    out: Path,
    show: bool,
    no_pictures: bool,
    answers: "list[tuple[str, str, str]] | None",
    as_json: bool,
) -> int:
    """Practise: which light shows, which surface mirrors it, which single move cures it.

    Each drill is a rendered test shot of a setup that went wrong. The same seed gives the same
    drills. Exit status: 0 done, 1 no drill could be made of that setup, 2 it cannot be read.
    """
    from tapemark.services import read_setup
    from tapemark.services.drill import DrillAnswer, draw_drill, drill_as_plain, make_drills, score

    base = None if setup is None else read_setup(setup)
    given = [DrillAnswer(light=a, surface=b, move=c) for a, b, c in answers or ()]
    told, points, asked = [], 0, 0
    for number, one in enumerate(make_drills(seed=seed, count=count, base=base)):
        pictures = None if no_pictures else draw_drill(one, folder=out)
        known = given[number] if number < len(given) else None
        if as_json:
            told.append(drill_as_plain(one, pictures=pictures, answer=known))
            continue
        click.echo("\n".join(_question(one, pictures)))
        if show and pictures is not None:
            click.launch(str(pictures.close))
        answer = known or (None if answers is not None else _asked(one))
        if answer is None:
            continue
        result = score(one, answer)
        points, asked = points + result.points, asked + 1
        click.echo("\n".join(_verdict(one, result, pictures)))
    if as_json:
        click.echo(json.dumps(told, ensure_ascii=False))
        return 0 if told else 1
    if asked:
        click.echo(f"{points} of {_PARTS * asked} right")
    return 0


def _question(one: "Drill", pictures: "DrillPictures | None") -> Iterator[str]:
    yield f"Drill {one.number}"
    if pictures is not None:
        yield f"  test shot  {pictures.shot}"
        yield f"  glasses    {pictures.close}"
    yield f"  lights     {', '.join(one.lights)}"
    yield "  moves"
    for move in one.moves:
        yield f"    {move.letter}  {move.text}"


def _asked(one: "Drill") -> "DrillAnswer":
    from tapemark.services.drill import SURFACE_ANSWERS, DrillAnswer

    letters = [move.letter for move in one.moves]
    return DrillAnswer(
        light=click.prompt("Which light do the lenses show?", type=click.Choice(one.lights)),
        surface=click.prompt(
            "Which surface mirrors it over the eyes?", type=click.Choice(SURFACE_ANSWERS)
        ),
        move=click.prompt(
            "Which single move cures it?", type=click.Choice(letters, case_sensitive=False)
        ),
    )


def _verdict(one: "Drill", result: "DrillScore", pictures: "DrillPictures | None") -> Iterator[str]:
    from tapemark.cli.lines import wrapped

    right = (result.light_right, result.surface_right, result.move_right)
    for good, reason in zip(right, result.reasons, strict=True):
        yield from wrapped("  right    " if good else "  no       ", reason)
    if not result.surface_right:
        yield f"           So it is: {one.surface}."
    if pictures is not None:
        yield f"  cured      {pictures.cured}"
    yield ""
