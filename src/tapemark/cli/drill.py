"""`tapemark drill`: practice on troubled setups."""

import json
import sys
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tapemark.errors import Problem, SetupError, TapemarkError

if TYPE_CHECKING:
    from tapemark.services.drill import Drill, DrillAnswer, DrillPictures, DrillScore, DrillTally

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
    not answered counts neither way. Exit status: 0 done, 1 no drill could be made of that setup, 2
    setup or answers cannot be read.
    """
    folder = None if no_pictures else out
    try:
        made = _round(seed=seed, count=count, setup=setup, answers=answers)
        if as_json:
            told = [_told(one, answer, out=folder) for one, answer in made]
            click.echo(json.dumps(told, ensure_ascii=False))
            return 0 if told else 1
        return _in_text(made, asks=answers is None, count=count, out=folder, show=show)
    except TapemarkError as error:
        if as_json:
            click.echo(json.dumps(_error_told(error), ensure_ascii=False))
        raise


def _round(
    *,
    seed: int,
    count: int,
    setup: Path | None,
    answers: "list[tuple[str, str, str]] | None",
) -> "Iterator[tuple[Drill, DrillAnswer | None]]":
    """Yield drills with the answers given beforehand, all of which are read before the first."""
    from tapemark.services import read_setup
    from tapemark.services.drill import make_drills, read_answer

    base = None if setup is None else read_setup(setup)
    made = make_drills(seed=seed, count=count, base=base)
    if answers is None:
        yield from ((one, None) for one in made)
        return
    known = list(made)
    if len(answers) > len(known):
        raise SetupError((_too_many(len(answers), len(known)),), name="--answers")
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
    from tapemark.services.drill import draw_drill, score, tally

    scores, asked = [], 0
    try:
        for one, known in made:
            pictures = None if out is None else draw_drill(one, folder=out)
            asked += 1
            click.echo("\n".join(_question(one, pictures)))
            if show and pictures is not None:
                click.launch(str(pictures.close))
            answer = _asked(one) if asks else known
            if answer is None:
                click.echo("  not answered\n")
                continue
            scores.append(score(one, answer))
            click.echo("\n".join(_verdict(one, scores[-1], pictures)))
    except click.Abort:  # the end of the input, or Ctrl-C at a question
        asked = count
        click.echo("\n\nThe round ends here.")
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


def _error_told(error: TapemarkError) -> dict[str, Any]:
    problems = error.problems if isinstance(error, SetupError) else ()
    rows = [
        {"key": one.key, "given": one.given, "allowed": one.allowed, "what_to_do": one.advice}
        for one in problems
    ]
    return {"error": {"text": str(error), "problems": rows}}


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
    """Return what somebody answers to each question; see `_part` for what is refused."""
    from tapemark.services.drill import DrillAnswer, drill_choices

    choices = drill_choices(one)
    return DrillAnswer(**{part: _part(one, part, choices[part]) for part in choices})


def _part(one: "Drill", part: str, choices: tuple[str, ...]) -> str:
    """Return one answer. In a terminal another try follows; a wrong line of a file ends the run."""
    by_name = {choice.casefold(): choice for choice in choices}
    while True:
        text = click.prompt(
            f"{_QUESTIONS[part]} ({', '.join(choices)})", default="", show_default=False
        )
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
    for good, reason in zip(right, result.reasons, strict=True):
        yield from wrapped("  right    " if good else "  no       ", reason)
    if not result.surface_right:
        yield f"           So it is: {one.surface}."
    if pictures is not None:
        yield f"  cured      {pictures.cured}"
    yield ""
