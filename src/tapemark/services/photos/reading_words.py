"""What a kept reading says, in sentences for a page or a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tapemark.services.plain import Plain

__all__ = ["VERDICT_WORDS", "EyeWords", "eye_words", "light_words", "wearer_words"]

VERDICT_WORDS: Mapping[str, str] = {
    "clear": "clear",
    "edge": "reflection on the lens, beside the eye",
    "veiled": "reflection over the eye",
    "unsure": "not sure",
    "no glasses": "no glasses",
}
_ASKS = {
    "where the pupils are": "Where are the pupils? Tap them in the picture.",
    "whether these are glasses": "Are these glasses? Tap the pupils, or say that there are none.",
    "for less exposure": "The skin is clipped: beside it no reflection can be told. Expose less.",
}
_SURE = 0.8  # a light is named without its probability


@dataclass(frozen=True, kw_only=True, slots=True)
class EyeWords:
    """What is said of one eye.

    Attributes
    ----------
    side : str
        The sitter's own ``right`` or ``left``.
    verdict : str
        ``clear``, ``edge``, ``veiled`` or ``no glasses``.
    text : str
        The verdict in words, with what is covered.
    reflections : tuple of str
        Each reflection, the largest first.
    """

    side: str
    verdict: str
    text: str
    reflections: tuple[str, ...]


def eye_words(wearer: Plain, named: Mapping[tuple[str, int], Plain]) -> tuple[EyeWords, ...]:
    """Return what is said of both eyes of a wearer.

    Parameters
    ----------
    wearer : dict
        Of a kept reading.
    named : mapping
        What each reflection was found to be, by side and index; empty where nobody asked.
    """
    found = []
    for side in ("right", "left"):
        lens = wearer["eyes"][side]["lens"]
        if lens is None:
            found.append(EyeWords(side=side, verdict="no glasses", text="no lens", reflections=()))
            continue
        told = VERDICT_WORDS[lens["verdict"]]
        if lens["reflections"]:
            told += f": {percent(lens['lens_cover'])} of the lens"
            told += f", {percent(lens['veil'])} of the eye"
        lines = tuple(
            _reflection(one, named.get((side, index)))
            for index, one in enumerate(lens["reflections"])
        )
        found.append(EyeWords(side=side, verdict=lens["verdict"], text=told, reflections=lines))
    return tuple(found)


def wearer_words(wearer: Plain) -> tuple[str, ...]:
    """Return what else is said of a wearer: eyes, focus, clipped skin, and what is asked."""
    found = []
    if wearer["open"] is False:
        found.append("Eyes shut, or nearly so.")
    if not wearer["sharp"]:
        near = f"The {wearer['near_eye']} eye, the nearer one," if wearer["near_eye"] else "Neither"
        found.append(f"{near} is not sharp." if wearer["near_eye"] else "Neither eye is sharp.")
    clipped = wearer["skin"]["clipped_share"]
    if clipped > 0.01:
        found.append(f"{percent(clipped)} of the skin around the glasses is clipped.")
    for asked in wearer["questions"]:
        found += [words for begins, words in _ASKS.items() if asked.startswith(begins)]
    return tuple(found)


def light_words(named: Plain) -> str:
    """Return whose light a reflection is, and how sure that is."""
    light = named["light"]
    if light == "unknown":
        return "something that the setup does not have"
    surface = " (both surfaces)" if named["both"] else f" ({named['surface']} surface)"
    if named.get("also"):
        light = f"{light} with {' and '.join(named['also'])}"
    if named["probability"] >= _SURE:
        return f"{light}{surface}"
    other = named.get("runner_up")
    doubt = f"{100 * named['probability']:.0f} % sure"
    return f"{light}{surface}, {doubt}" + (f"; else {other}" if other else "")


def percent(share: float) -> str:
    """Return a share as people read it.

    Examples
    --------
    >>> percent(0.0312), percent(0.0004), percent(0.31)
    ('3.1 %', 'less than 0.1 %', '31 %')
    """
    if 0.0 < share < 0.001:
        return "less than 0.1 %"
    return f"{100 * share:.0f} %" if share >= 0.1 or share == 0.0 else f"{100 * share:.1f} %"


def _reflection(one: Plain, named: Plain | None) -> str:
    stops = one["stops_over_skin"]
    over = f"{abs(stops):.1f} stops {'over' if stops >= 0 else 'under'} the skin"
    mend = "can be brought back" if one["recoverable"] else "cannot be brought back"
    whose = light_words(named) if named is not None else f"{_a(one['color'])} reflection"
    return f"{whose}: {percent(one['lens_cover'])} of the lens, {over}; what is behind {mend}"


def _a(color: Any) -> str:
    return f"an {color}" if str(color).startswith("a") else f"a {color}"
