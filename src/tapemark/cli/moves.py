"""`tapemark moves`: the smallest changes that clear the lenses."""

import json
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapemark.cli.numbers import WholeNumber

if TYPE_CHECKING:
    from tapemark.planning import Keep, Move, MovesFound

_COLUMN = 10  # where texts begin
_KEEPS: "tuple[Keep, ...]" = ("pattern", "catchlight", "ratio", "background")


def _keeps(
    _context: click.Context, _option: click.Parameter, value: str | None
) -> "tuple[Keep, ...]":
    if value is None:
        return ()
    wanted = [part.strip().lower() for part in value.split(",") if part.strip()]
    if not wanted:
        raise click.BadParameter(
            f"nothing to keep is named: write any of {', '.join(_KEEPS)}, with commas between, "
            "or leave --keep out"
        )
    unknown = [one for one in wanted if one not in _KEEPS]
    if unknown:
        raise click.BadParameter(
            f'"{unknown[0]}" cannot be kept; allowed are {", ".join(_KEEPS)}, with commas between'
        )
    return tuple(one for one in _KEEPS if one in wanted)


@click.command(epilog="Example: tapemark moves reading-room.toml --keep pattern,ratio")
@click.argument("setup", type=click.Path(path_type=Path))
@click.option(
    "--keep",
    callback=_keeps,
    metavar="LIST",
    help="What must stay: pattern, catchlight, ratio, background; commas between.",
)
@click.option(
    "--best",
    type=WholeNumber(1, 20),
    default=5,
    show_default=True,
    metavar="N",
    help="How many moves to show at most.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON instead of text.")
def moves(setup: Path, *, keep: "tuple[Keep, ...]", best: int, as_json: bool) -> int:
    """Find the smallest moves that clear the lenses in SETUP, best first.

    One light, one person or the camera at a time; a pair where one move is not enough. Ceiling,
    walls and the reach of the stands always count.

    Exit status: 0 clear already or a move found, 1 none without loss, 2 SETUP cannot be read.
    """
    from tapemark.services import moves_as_plain, moves_for, read_setup

    found = moves_for(read_setup(setup), keep=keep, best=best, tell=_teller())
    if as_json:
        click.echo(json.dumps(moves_as_plain(found), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_text(found)))
    if not found.complete:
        click.echo("Interrupted: these are the moves found by then.", err=True)
        return 1
    return 0 if found.clean else 1


def _teller() -> Callable[[str], None]:
    """Return what tells the progress on a terminal, once it takes longer than a second."""
    import sys
    import time

    start, shown = time.monotonic(), sys.stderr.isatty()

    def tell(text: str) -> None:
        if shown and time.monotonic() - start > 1.0:
            click.echo(f"{text} ...", err=True)

    return tell


def _text(found: "MovesFound") -> Iterator[str]:
    from tapemark.cli.lines import folded
    from tapemark.planning.moves.words import also_found

    setup = found.before.setup
    yield setup.title or "Untitled setup"
    if not found.needed:
        yield from _nothing_to_move(found)
        return
    yield from _hanging("  now", _now(found))
    if troubles := also_found(found.before):
        yield from _hanging("  check", f"also finds: {' '.join(troubles)} See to that first.")
    if found.keep:
        kept = ", ".join(one for one in _KEEPS if one in found.keep)
        yield from _hanging("  keeping", kept)
    yield ""
    if not found.moves:
        yield "No move of a light, the sitter or the camera helps."
        yield "tapemark check says what shows in the lenses, and what to cover."
        return
    yield from folded(_heading(found), indent=0)
    for number, one in enumerate(found.moves, 1):
        yield ""
        yield from _move(number, one)
    yield ""
    yield "One change at a time, then a test shot."


def _nothing_to_move(found: "MovesFound") -> Iterator[str]:
    """Yield that the lenses are clear, and what fails all the same."""
    from tapemark.cli.lines import folded
    from tapemark.planning.moves.words import also_found

    troubles = also_found(found.before)
    if not troubles:
        yield "All lenses are clear: nothing has to move."
        return
    yield "All lenses are clear: no light has to move for them."
    yield from folded(f"But check finds: {' '.join(troubles)}", indent=0)


def _now(found: "MovesFound") -> str:
    """Return what each lens that is not clear shows."""
    several = len(found.before.people) > 1
    parts = []
    for person in found.before.people:
        for lens in person.lenses:
            if lens.verdict != "clear":
                names = list(dict.fromkeys(one.source for one in lens.reflections))
                whose = f"{person.name.partition(',')[0]}, " if several else ""
                parts.append(f"{whose}{lens.side} lens {lens.verdict} ({', '.join(names)})")
    return "; ".join(parts)


def _heading(found: "MovesFound") -> str:
    if not found.clean:
        return (
            "The lenses cannot be cleared without loss by one move or a pair. "
            "Least bad, each with its cost:"
        )
    pairs = [len(one.steps) > 1 for one in found.moves]
    if all(pairs):
        return "One move is not enough. Pairs that clear all lenses, least disturbing first:"
    if any(pairs):
        return (
            "Moves that clear all lenses, least disturbing first; where there are two, both "
            "are needed:"
        )
    return "Moves that clear all lenses, least disturbing first:"


def _move(number: int, one: "Move") -> Iterator[str]:
    for index, step in enumerate(one.steps):
        order = ("", "") if len(one.steps) == 1 else ("First ", "Then ")
        lead = f"{number:>2}" if index == 0 else ""
        yield from _hanging(lead, f"{order[index]}{step.text}.")
    for text in one.losses:
        yield from _hanging("    COST", f"{text}.")
    if one.clear_to:
        yield from _hanging("    also", f"stays clear up to about {one.clear_to}")
    for text in one.side_effects:
        yield from _hanging("    also", text.rstrip("."))


def _hanging(lead: str, text: str) -> Iterator[str]:
    """Yield a text in a column beside its lead, never broken at a hyphen."""
    from tapemark.cli.lines import WIDTH

    sentence = f"{text[:1].upper()}{text[1:]}"
    indent = f"{'':<{_COLUMN}}"
    yield from textwrap.wrap(
        sentence,
        WIDTH,
        initial_indent=f"{lead:<{_COLUMN}}",
        subsequent_indent=indent,
        break_on_hyphens=False,
    )
