"""`tapemark drill`: practice on troubled setups."""

import json
import sys
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tapemark.cli.json_errors import JsonErrors
from tapemark.errors import OptionError, Problem, SetupError

if TYPE_CHECKING:
    from tapemark.services.drill import Drill, DrillAnswer, DrillPictures, DrillScore, DrillTally
    from tapemark.studio import Setup

_PARTS = 3
_QUESTIONS = {
    "light": "Which light do the lenses show?",
    "surface": "Which surface mirrors it over the eyes?",
    "move": "Which single move cures it?",
}


def _answers(
    _context: click.Context, _option: click.Parameter, value: str | None
) -> "list[tuple[str, str, str]] | None":
    """Return answers like ``key,front,B; fill,both,A``."""
    if value is None:
        return None
    found = []
    for one in value.removesuffix(";").split(";"):
        parts = [part.strip() for part in one.split(",")]
        if len(parts) != _PARTS:
            raise click.BadParameter(
                f"{one.strip() or 'nothing'}: write a light, a surface and a move like "
                "key,front,B; one drill after another with semicolons between"
            )
        found.append((parts[0], parts[1], parts[2]))
    return found


@click.command(cls=JsonErrors, epilog="Example: tapemark drill --seed 7")
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
    type=click.Path(path_type=Path),
    default=Path("tapemark-drill"),
    show_default=True,
    metavar="FOLDER",
    help="Where to write the pictures; made if it is not there.",
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
    drills. Without --answers it asks, or reads a light, a surface and a move from its input, one a
    line; the end of the input ends the round. What is none of the choices is refused, and what is
    not answered counts neither way. Exit status: 0 done, 1 no drill could be made of that setup or
    its pictures cannot be written, 2 setup or answers cannot be read.
    """
    from tapemark.services import read_setup
    from tapemark.services.drill import refuse_unwritable

    base = None if setup is None else read_setup(setup)
    folder = None if no_pictures else out
    if folder is not None:
        refuse_unwritable(folder)
    made = _round(seed=seed, count=count, base=base, answers=answers)
    if as_json:
        told = [_told(one, answer, out=folder) for one, answer in made]
        click.echo(json.dumps(told, ensure_ascii=False))
        return 0 if told else 1
    return _in_text(made, asks=answers is None, count=count, out=folder, show=show)


def _round(
    *,
    seed: int,
    count: int,
    base: "Setup | None",
    answers: "list[tuple[str, str, str]] | None",
) -> "Iterator[tuple[Drill, DrillAnswer | None]]":
    """Yield drills with the answers given beforehand, all of which are read before the first."""
    from tapemark.services.drill import make_drills, read_answer

    made = make_drills(seed=seed, count=count, base=base)
    if answers is None:
        yield from ((one, None) for one in made)
        return
    known = list(made)
    if len(answers) > len(known):
        raise OptionError(_too_many(len(answers), len(known)))
    pairs = zip(known, answers, strict=False)
    read = [read_answer(one, light=a, surface=b, move=c) for one, (a, b, c) in pairs]
    yield from zip_longest(known, read)


def _too_many(given: int, drills: int) -> Problem:
    return Problem(
        key="--answers",
        given=f"{given} answers",
        allowed=f"up to {drills}, one for each drill",
        advice="leave some out, or ask for more drills with --count",
    )


def _in_text(
    made: "Iterator[tuple[Drill, DrillAnswer | None]]",
    *,
    asks: bool,
    count: int,
    out: Path | None,
    show: bool,
) -> int:
    """Go through a round in the terminal and return its exit status."""
    from tapemark.services.drill import score, tally

    scores, asked = [], 0
    try:
        for one, known in made:
            pictures = _drawn(one, out, show=show)
            asked += 1
            click.echo("\n".join(_question(one, pictures)))
            if not asks:
                click.echo("\n".join(_moves(one)))
            answer = _asked(one) if asks else known
            if answer is None:
                click.echo("  not answered\n")
                continue
            scores.append(score(one, answer))
            click.echo("\n".join(_verdict(one, scores[-1], pictures)))
    except (click.Abort, KeyboardInterrupt):  # the end of the input, or Ctrl-C
        asked = count
        click.echo("\n\nThe round ends here.")
    except SetupError:  # a line that is no answer
        if scores:
            click.echo(f"\n\nSo far {_summary(tally(scores, asked=len(scores)))}.")
        raise
    if not asked:
        click.echo("No drill could be made of this setup: no single move cures its troubles.")
        return 1
    click.echo(_summary(tally(scores, asked=asked)))
    return 0


def _summary(found: "DrillTally") -> str:
    told = f"{found.points} of {found.possible} right" if found.answered else "Nothing answered"
    if not found.unanswered:
        return told
    drills = "1 drill" if found.unanswered == 1 else f"{found.unanswered} drills"
    return f"{told}; not answered and not counted: {drills}"


def _told(one: "Drill", answer: "DrillAnswer | None", *, out: Path | None) -> dict[str, Any]:
    from tapemark.services.drill import draw_drill, drill_as_plain

    pictures = None if out is None else draw_drill(one, folder=out)
    return drill_as_plain(one, pictures=pictures, answer=answer)


def _drawn(one: "Drill", out: Path | None, *, show: bool) -> "DrillPictures | None":
    from tapemark.services.drill import draw_drill

    if out is None:
        return None
    click.echo(f"Taking the pictures of drill {one.number} ...", err=True)
    pictures = draw_drill(one, folder=out)
    if show:
        click.launch(str(pictures.close))
    return pictures


def _question(one: "Drill", pictures: "DrillPictures | None") -> Iterator[str]:
    yield f"Drill {one.number}"
    if pictures is not None:
        yield f"  test shot  {pictures.shot}"
        yield f"  glasses    {pictures.close}"
    yield f"  lights     {', '.join(one.lights)}"


def _moves(one: "Drill") -> Iterator[str]:
    yield "  moves"
    for move in one.moves:
        yield f"    {move.letter}  {move.text}"


def _asked(one: "Drill") -> "DrillAnswer":
    """Return what somebody answers to each question; see `_part` for what is refused.

    The moves are shown last: they name the light that the first question asks for.
    """
    from tapemark.services.drill import DrillAnswer, drill_choices

    choices, found = drill_choices(one), {}
    for part in choices:
        if part == "move":
            click.echo("\n".join(_moves(one)))
        found[part] = _part(one, part, choices[part])
    return DrillAnswer(**found)


def _part(one: "Drill", part: str, choices: tuple[str, ...]) -> str:
    """Return one answer. In a terminal another try follows; a wrong line of a file ends the run."""
    by_name = {choice.casefold(): choice for choice in choices}
    while True:
        text = click.prompt(
            f"{_QUESTIONS[part]} ({', '.join(choices)})", default="", show_default=False
        )
        if not sys.stdin.isatty():
            click.echo(text.strip())  # a terminal shows what is typed by itself
        found = by_name.get(text.strip().casefold())
        if found is not None:
            return found
        problem = Problem(
            key=part,
            given=text.strip() or "nothing",
            allowed=", ".join(choices),
            advice="answer one of these",
        )
        if not sys.stdin.isatty():
            raise SetupError((problem,), name=f"drill {one.number}")
        click.echo(f"  {problem.given} is none of the choices: {problem.allowed}")


def _verdict(one: "Drill", result: "DrillScore", pictures: "DrillPictures | None") -> Iterator[str]:
    from tapemark.cli.lines import wrapped

    right = (result.light_right, result.surface_right, result.move_right)
    light, surface, move = result.reasons
    if not result.surface_right:
        surface = f"{surface} So it is: {one.surface}."
    for good, reason in zip(right, (light, surface, move), strict=True):
        yield from wrapped("  right    " if good else "  no       ", reason)
    if pictures is not None:
        yield f"  cured      {pictures.cured}"
    yield ""
