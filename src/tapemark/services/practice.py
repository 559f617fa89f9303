"""Practice in the app: drills as cards with pictures to tap on, made ahead and kept in the cache.

A card is a drill as plain data: what is asked, its pictures beside it, and what is right with the
reasons. `tapemark.services.practice_cards.make_cards` makes a round of them in the order in which
they are asked; the same base and seed give the same round, so that what was made once is there.
"""

import hashlib
import json
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tapemark.errors import Problem, SetupError
from tapemark.services.plain import Plain
from tapemark.store.result_files import write_results
from tapemark.store.user_folders import cache_folder
from tapemark.studio import Setup

ROUND, MOST_ROUNDS = 5, 40
FORMAT = "cards 1"
CLOSE_SHAPE = (16, 7)
PICTURES = ("close", "shot", "cured")
NEAR = 0.02  # a mark so near to a reflection is on it, as a share of the picture's width
LEAST_VEIL = 0.01  # what covers less of an eye is not asked for


@dataclass(frozen=True, kw_only=True, slots=True)
class CardAnswer:
    """What somebody answered to a card.

    Attributes
    ----------
    x, y : float
        Where the picture of the glasses was tapped, from its camera-left top corner, as shares
        of its width and height.
    light, surface, move : str
        What was chosen.
    """

    x: float
    y: float
    light: str
    surface: str
    move: str


def round_mark(base: Setup | None, seed: int) -> str:
    """Return the mark under which a round of cards is kept."""
    text = "" if base is None else base.model_dump_json()
    return hashlib.sha256(json.dumps([FORMAT, text, seed]).encode()).hexdigest()[:20]


def card_of(mark: str, number: int) -> Plain | None:
    """Return a card of a round if it was made."""
    try:
        found = json.loads(_file(mark, f"{number}.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) else None


def card_picture(mark: str, number: int, which: str) -> bytes | None:
    """Return a picture of a card as JPEG: ``close``, ``shot`` or ``cured``, if it was made."""
    if which not in PICTURES:
        return None
    try:
        return _file(mark, f"{number}-{which}.jpg").read_bytes()
    except OSError:
        return None


def write_round(mark: str, files: Mapping[str, str | bytes]) -> None:
    """Keep files of a round; each is there whole or not."""
    write_results(_file(mark, "").parent, dict(files))


def forget_old_rounds() -> None:
    """Delete the rounds that were made longest ago where there are too many of them."""
    try:
        found = [one for one in _file("", "").parent.iterdir() if one.is_dir()]
        found.sort(key=lambda one: one.stat().st_mtime, reverse=True)
    except OSError:
        return
    for one in found[MOST_ROUNDS:]:
        shutil.rmtree(one, ignore_errors=True)


def cards_made(mark: str) -> int | None:
    """Return how many cards a round has, None until that is known."""
    try:
        return int(_file(mark, "count").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None


def answer_card(card: Plain, answer: CardAnswer) -> Plain:
    """Return what an answer to a card is worth: each part right or not, with its reason.

    Raises
    ------
    SetupError
        One problem for each part that is none of the choices.
    """
    _refuse_other(card, answer)
    right, (told, on) = card["right"], _told_of_place(card, answer)
    return {
        "place": {"right": on, "reason": told},
        "light": {"right": answer.light == right["light"], "reason": right["light_reason"]},
        "surface": {"right": answer.surface == right["surface"], "reason": right["surface_reason"]},
        "move": {
            "right": answer.move in right["moves"],
            "reason": right["move_reasons"][answer.move],
        },
    }


# ---------------------------------------------------------------------------- answering


def _told_of_place(card: Plain, answer: CardAnswer) -> tuple[str, bool]:
    """Return what a mark is on, in words, and whether that was asked for."""
    right = card["right"]
    columns, rows = card["size"]
    mark = np.array([answer.x, answer.y * rows / columns])
    asked = [
        one
        for one in right["places"]
        if one["source"] == right["light"] and one["veil"] >= LEAST_VEIL
    ]
    where = " and ".join(dict.fromkeys(f"the {one['side']} lens" for one in asked))
    for one in sorted(asked, key=lambda place: -float(place["veil"])):
        if _on(one, mark, rows / columns):
            told = f"Your mark is on {one['source']}, mirrored by the {one['surface']}"
            return f"{told} of the {one['side']} lens.", True
    for one in right["places"]:
        if _on(one, mark, rows / columns):
            what = f"Your mark is on {one['source']} in the {one['side']} lens"
            return f"{what}, which is not what covers the eyes. Look at {where}.", False
    return f"Your mark is beside it. It covers the eye in {where}.", False


def _on(place: Plain, mark: np.ndarray, height: float) -> bool:
    """Whether a mark lies in a reflection, or within `NEAR` of its outline."""
    for ring in place["rings"]:
        line = np.array(ring) * (1.0, height)
        after = np.roll(line, -1, axis=0)
        (x, y), (x1, y1), (x2, y2) = mark, line.T, after.T
        spans = (y1 > y) != (y2 > y)
        with np.errstate(divide="ignore", invalid="ignore"):  # level edges span nothing
            crosses = spans & (x < x1 + (y - y1) * (x2 - x1) / (y2 - y1))
        along = after - line
        length = np.maximum((along**2).sum(axis=1), 1e-12)
        share = np.clip(((mark - line) * along).sum(axis=1) / length, 0.0, 1.0)
        near = np.linalg.norm(line + share[:, None] * along - mark, axis=1).min()
        if np.count_nonzero(crosses) % 2 or near <= NEAR:
            return True
    return False


def _refuse_other(card: Plain, answer: CardAnswer) -> None:
    """Refuse an answer that is none of the choices."""
    choices: dict[str, tuple[str, list[str]]] = {
        "light": (answer.light, card["lights"]),
        "surface": (answer.surface, card["surfaces"]),
        "move": (answer.move, [one["letter"] for one in card["moves"]]),
    }
    problems = [
        Problem(key=key, given=given[:60] or "nothing", allowed=", ".join(allowed), advice=_CHOOSE)
        for key, (given, allowed) in choices.items()
        if given not in allowed
    ]
    if not (0.0 <= answer.x <= 1.0 and 0.0 <= answer.y <= 1.0):
        problems.append(
            Problem(
                key="mark",
                given=f"{answer.x:.2f}, {answer.y:.2f}",
                allowed="a place on the picture",
                advice="tap the picture",
            )
        )
    if problems:
        raise SetupError(tuple(problems), name="the answer")


_CHOOSE = "choose one of these"


def _file(mark: str, name: str) -> Path:
    return cache_folder() / "practice" / mark / (name or "_")


def result_points(result: dict[str, Any]) -> int:
    """Return how many parts of an answer were right."""
    return sum(bool(one["right"]) for one in result.values())
