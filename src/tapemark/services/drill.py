"""Practice on troubled setups: pictures to look at, answers scored with their reasons.

A round: `make_drills`, for each `draw_drill` and `drill_choices` to ask with, `read_answer` to
refuse what is none of them (a `SetupError` with one problem a part), `score`, and `tally` at the
end. Drills that nobody answered count neither way.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tapemark.errors import Problem, SetupError
from tapemark.planning.drill import SURFACE_ANSWERS, Drill, drills
from tapemark.planning.drill_answers import (
    DrillAnswer,
    DrillScore,
    DrillTally,
    drill_choices,
    read_answer,
    score,
    tally,
)
from tapemark.rendering import check_writable
from tapemark.services.demo import DEMO_STEMS, demo_setup_text
from tapemark.services.picture import PictureWanted, take_picture
from tapemark.services.plain import Plain
from tapemark.store import write_results
from tapemark.studio import Setup, setup_from_toml, setup_to_mapping

CLOSE_SIZE = (640, 280)

__all__ = [
    "SURFACE_ANSWERS",
    "Drill",
    "DrillAnswer",
    "DrillPictures",
    "DrillScore",
    "DrillTally",
    "draw_drill",
    "drill_as_plain",
    "drill_choices",
    "make_drills",
    "read_answer",
    "refuse_unwritable",
    "score",
    "tally",
]


@dataclass(frozen=True, kw_only=True, slots=True)
class DrillPictures:
    """Where the pictures of a drill are.

    Attributes
    ----------
    shot, close, cured : Path
        The test shot, a close look at the glasses, and the same after the cure.
    """

    shot: Path
    close: Path
    cured: Path


def make_drills(*, seed: int, count: int, base: Setup | None = None) -> Iterator[Drill]:
    """Yield drills; see `tapemark.planning.drill.drills`.

    Parameters
    ----------
    seed, count : int
        The same seed gives the same drills.
    base : Setup, optional
        Room, sitter and gear; by default the reading room of the demo.
    """
    if base is None:
        name = DEMO_STEMS[0]
        base = setup_from_toml(demo_setup_text(name), name=f"{name}.toml")
    if not any(one.on for one in base.lights):
        raise SetupError(
            (
                Problem(
                    key="light",
                    given="none of them is on",
                    allowed="a light that is on",
                    advice="switch a light on, or add one: a drill is about what it does",
                ),
            ),
            name=base.title or "setup",
        )
    yield from drills(base, seed=seed, count=count)


def refuse_unwritable(folder: Path) -> None:
    """Make the folder of a round's pictures, or raise a `WriteError` where that cannot be."""
    check_writable(folder)


def draw_drill(drill: Drill, *, folder: Path) -> DrillPictures:
    """Write the pictures of a drill into a folder."""
    stem = f"drill-{drill.number}"
    close = PictureWanted(size=CLOSE_SIZE, crop="glasses")
    wanted = {
        f"{stem}.png": (drill.setup, None),
        f"{stem}-glasses.png": (drill.setup, close),
        f"{stem}-cured.png": (drill.cured, close),
    }
    files: dict[str, str | bytes] = {
        name: take_picture(setup, how).file_bytes(".png") for name, (setup, how) in wanted.items()
    }
    shot, near, cured = write_results(folder, files)
    return DrillPictures(shot=shot, close=near, cured=cured)


def drill_as_plain(
    drill: Drill,
    *,
    pictures: DrillPictures | None = None,
    answer: DrillAnswer | None = None,
) -> Plain:
    """Return a drill as plain data: `answered`, and its score where it was."""
    found: Plain = {
        "number": drill.number,
        "lights": list(drill.lights),
        "surfaces": list(SURFACE_ANSWERS),
        "moves": [{"letter": one.letter, "change": one.text} for one in drill.moves],
        "setup": setup_to_mapping(drill.setup),
    }
    found["answered"] = answer is not None
    if pictures is not None:
        found["pictures"] = {"shot": str(pictures.shot), "glasses": str(pictures.close)}
    if answer is None:
        return found
    result = score(drill, answer)
    found["answer"] = {"light": answer.light, "surface": answer.surface, "move": answer.move}
    found["score"] = {
        "points": result.points,
        "light": result.light_right,
        "surface": result.surface_right,
        "move": result.move_right,
        "reasons": list(result.reasons),
        "right": {
            "light": drill.light,
            "surface": drill.surface,
            "moves": [one.letter for one in drill.moves if one.cures],
        },
    }
    found["cured"] = setup_to_mapping(drill.cured)
    if pictures is not None:
        found["pictures"]["cured"] = str(pictures.cured)
    return found
