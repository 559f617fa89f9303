"""Making the cards of practice: drills, their pictures, and where reflections show in them."""

import json
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from tapemark.services.plain import Plain
from tapemark.services.practice import (
    CLOSE_SHAPE,
    PICTURES,
    ROUND,
    card_of,
    card_picture,
    forget_old_rounds,
    round_mark,
    write_round,
)
from tapemark.studio import Setup

if TYPE_CHECKING:
    from tapemark.services.drill import Drill

WIDTH = 720  # of a close look [pixels]
WHOLE_SHAPE = (4, 5)


def make_cards(
    base: Setup | None,
    *,
    seed: int,
    count: int = ROUND,
    width: int = WIDTH,
    tell: Callable[[str], None] = lambda text: None,
) -> int:
    """Make a round of cards, each whole before the next; return how many there are.

    Parameters
    ----------
    base : Setup, optional
        Room, sitter and gear; the demo's if left out.
    seed, count : int
        Which round, and how many cards at most.
    width : int
        Of the close look. [pixels]
    tell : callable
        Told in words how far it is.
    """
    from tapemark.services.drill import make_drills

    mark, number = round_mark(base, seed), 0
    forget_old_rounds()
    tell("Placing lights badly")
    for drill in make_drills(seed=seed, count=count, base=base):
        number += 1
        _make_card(drill, mark=mark, number=number, width=width, tell=tell)
    write_round(mark, {"count": str(number)})
    return number


def _make_card(
    drill: "Drill", *, mark: str, number: int, width: int, tell: Callable[[str], None]
) -> None:
    if card_of(mark, number) is not None and card_picture(mark, number, PICTURES[-1]) is not None:
        return
    size = (width, width * CLOSE_SHAPE[1] // CLOSE_SHAPE[0])
    rows = width * 5 // 8
    whole = (rows * WHOLE_SHAPE[0] // WHOLE_SHAPE[1], rows)
    wanted = {
        "close": (drill.setup, size, True),
        "shot": (drill.setup, whole, False),
        "cured": (drill.cured, size, True),
    }
    for which, (setup, pixels, close) in wanted.items():
        tell(f"Drill {number}: {_WORDS[which]}")
        write_round(mark, {f"{number}-{which}.jpg": _picture(setup, pixels, close=close)})
        if which == "close":  # the page can be shown; the others come while it is looked at
            card = _card(drill, number=number, size=size)
            text = json.dumps(card, ensure_ascii=False, allow_nan=False)
            write_round(mark, {f"{number}.json": text})


_WORDS = {
    "close": "looking closely at the glasses",
    "shot": "taking the whole frame",
    "cured": "taking it again after the move",
}


def _picture(setup: Setup, size: tuple[int, int], *, close: bool) -> bytes:
    from tapemark.services.picture import PictureWanted, take_picture

    wanted = PictureWanted(size=size, crop="glasses" if close else "")
    return take_picture(setup, wanted).file_bytes(".jpg")


def _card(drill: "Drill", *, number: int, size: tuple[int, int]) -> Plain:
    from tapemark.services.drill import SURFACE_ANSWERS, DrillAnswer, score

    def reason(letter: str) -> str:
        answer = DrillAnswer(light=drill.light, surface=drill.surface, move=letter)
        return score(drill, answer).reasons[2]

    letters = [one.letter for one in drill.moves]
    first = score(drill, DrillAnswer(light=drill.light, surface=drill.surface, move=letters[0]))
    cure = next(one for one in drill.moves if one.cures)
    return {
        "number": number,
        "size": list(size),
        "sitter": drill.setup.sitter.name,
        "lights": list(drill.lights),
        "surfaces": list(SURFACE_ANSWERS),
        "moves": [{"letter": one.letter, "text": one.text} for one in drill.moves],
        "right": {
            "light": drill.light,
            "light_reason": first.reasons[0],
            "surface": drill.surface,
            "surface_reason": first.reasons[1],
            "moves": [one.letter for one in drill.moves if one.cures],
            "move_reasons": {letter: reason(letter) for letter in letters},
            "cure": f"{cure.letter}: {cure.text}",
            "places": _places(drill, size),
        },
    }


def _places(drill: "Drill", size: tuple[int, int]) -> list[Plain]:
    """Return where the reflections show in the close look, as shares of its width and height."""
    from tapemark.rendering.lens_solids import lens_solid
    from tapemark.rendering.photographer import CLOSE_MARGIN
    from tapemark.rendering.view import close_window, whole_window
    from tapemark.services.check import check_setup, outlines_of

    report = check_setup(drill.setup)
    scene = report.people[0].scene
    assert scene.lenses is not None
    points = np.concatenate([lens_solid(scene.lenses, index=k).front.points for k in (0, 1)])
    whole = whole_window(scene, size=size)
    window = close_window(whole, points, margin=CLOSE_MARGIN)
    veils = {
        (part.source, part.surface, lens.side): part.veil
        for lens in report.lenses
        for part in lens.reflections
    }
    return [
        {
            "source": one.source,
            "surface": one.surface,
            "side": one.side,
            "veil": round(veils.get((one.source, one.surface, one.side), 0.0), 4),
            "rings": [
                np.round(window.pixels(np.array(line)) / size, 4).tolist() for line in one.polygons
            ],
        }
        for one in outlines_of(report)
    ]
