"""What an answer to a drill is worth, and how a round of them went.

An answer that is none of the choices is refused, never counted as wrong; a drill that nobody
answered counts neither way.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from tapemark.errors import Problem, SetupError
from tapemark.planning.drill import SURFACE_ANSWERS, Drill

PARTS = 3  # light, surface, move


@dataclass(frozen=True, kw_only=True, slots=True)
class DrillAnswer:
    """What somebody answered: a light, a surface and the letter of a move."""

    light: str
    surface: str
    move: str


@dataclass(frozen=True, kw_only=True, slots=True)
class DrillScore:
    """What an answer is worth.

    Attributes
    ----------
    light_right, surface_right, move_right : bool
        Which parts are right.
    reasons : tuple of str
        Why, one for each part.
    """

    light_right: bool
    surface_right: bool
    move_right: bool
    reasons: tuple[str, str, str]

    @property
    def points(self) -> int:
        """How many of the three are right."""
        return int(self.light_right) + int(self.surface_right) + int(self.move_right)


@dataclass(frozen=True, kw_only=True, slots=True)
class DrillTally:
    """How a round of drills went.

    Attributes
    ----------
    points, possible : int
        Right parts, and parts of what was answered.
    answered, unanswered : int
        Drills.
    """

    points: int
    possible: int
    answered: int
    unanswered: int


def read_answer(drill: Drill, *, light: str, surface: str, move: str) -> DrillAnswer:
    """Return an answer as the drill spells it, whatever the case and the blanks around it.

    Raises
    ------
    SetupError
        One problem for each part that is none of the choices.
    """
    given = {"light": light, "surface": surface, "move": move}
    found, problems = {}, []
    for part, choices in drill_choices(drill).items():
        wanted = given[part].strip().casefold()
        match = next((one for one in choices if one.casefold() == wanted), None)
        if match is None:
            problems.append(_not_a_choice(part, given[part], choices))
        else:
            found[part] = match
    if problems:
        raise SetupError(tuple(problems), name=f"drill {drill.number}")
    return DrillAnswer(**found)


def drill_choices(drill: Drill) -> dict[str, tuple[str, ...]]:
    """Return what can be answered to each part: light, surface, move."""
    return {
        "light": drill.lights,
        "surface": SURFACE_ANSWERS,
        "move": tuple(one.letter for one in drill.moves),
    }


def score(drill: Drill, answer: DrillAnswer) -> DrillScore:
    """Return what an answer to a drill is worth, and why.

    Raises
    ------
    SetupError
        The answer is none of the choices; see `read_answer`.
    """
    answer = read_answer(drill, light=answer.light, surface=answer.surface, move=answer.move)
    chosen = next(one for one in drill.moves if one.letter == answer.move)
    cure = next(one for one in drill.moves if one.cures)
    told = chosen.reason
    if not chosen.cures:
        told = f"{chosen.letter}: {chosen.reason} {cure.letter} does: {cure.reason}"
    return DrillScore(
        light_right=answer.light == drill.light,
        surface_right=answer.surface == drill.surface,
        move_right=chosen.cures,
        reasons=(f"The lenses show {drill.light}.", drill.surface_reason, told),
    )


def tally(scores: Iterable[DrillScore], *, asked: int) -> DrillTally:
    """Return how a round of drills went: what was not answered counts neither way."""
    points = [one.points for one in scores]
    return DrillTally(
        points=sum(points),
        possible=PARTS * len(points),
        answered=len(points),
        unanswered=asked - len(points),
    )


def _not_a_choice(part: str, given: str, choices: tuple[str, ...]) -> Problem:
    return Problem(
        key=part,
        given=given.strip() or "nothing",
        allowed=", ".join(choices),
        advice="answer one of these",
    )
