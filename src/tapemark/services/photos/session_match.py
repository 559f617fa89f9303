"""Whose light is in a kept frame, from its kept reading and the setup it was taken with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from tapemark.photo.matching.result import Estimate, LearnedGlasses
from tapemark.services.photos.kept_readings import reading_from_plain
from tapemark.services.plain import Plain
from tapemark.studio import setup_from_mapping, setup_to_mapping

__all__ = ["can_match", "match_kept", "named_reflections", "wants_move"]

_TO_CLEAR = ("edge", "veiled")


def can_match(reading: Plain | None) -> bool:
    """Return whether there is a lens in a kept reading whose light could be asked for."""
    return reading is not None and any(
        eye["lens"] is not None for one in reading["wearers"] for eye in one["eyes"].values()
    )


def wants_move(reading: Plain) -> bool:
    """Return whether anybody in a kept reading has a reflection that is to be cleared."""
    return any(one["verdict"] in _TO_CLEAR for one in reading["wearers"])


def match_kept(
    body: Plain, setup: Plain, *, moves: bool, learned: Mapping[str, Any] | None = None
) -> Plain:
    """Return whose light is in a frame, what to move, and where it contradicts the setup.

    Parameters
    ----------
    body : dict
        As the log keeps a reading.
    setup : dict
        The setup that the frame was taken with, as it is kept.
    moves : bool
        Whether to look for the one move too, which takes longer than all the rest.
    learned : mapping, optional
        What an earlier frame taught about the glasses of this sitter.

    Returns
    -------
    dict
        ``wearers``: each with ``number``, ``person``, ``named`` reflections, ``move``,
        ``contradictions``, ``learned`` and ``notes``; ``corrected``: the setup as the photo shows
        it, or None; ``moves``: whether the one move was looked for.
    """
    from tapemark.services.photos.whose_light import match_reading

    reading = reading_from_plain(body["reading"], shapes=body.get("shapes"))
    match = match_reading(
        reading,
        setup_from_mapping(setup, name="the setup"),
        moves=moves,
        glasses_learned=_learned(learned),
    )
    corrected = match.corrected_setup
    return {
        "wearers": [_wearer(one) for one in match.wearers],
        "corrected": None if corrected is None else setup_to_mapping(corrected),
        "notes": list(match.notes),
        "moves": moves,
    }


def named_reflections(match: Plain | None, number: int) -> dict[tuple[str, int], Plain]:
    """Return what each reflection of a wearer was found to be, by side and index."""
    for one in () if match is None else match["wearers"]:
        if one["number"] == number:
            return {(each["side"], each["index"]): each for each in one["named"]}
    return {}


def _learned(plain: Mapping[str, Any] | None) -> LearnedGlasses | None:
    if plain is None:
        return None
    return LearnedGlasses(**{name: Estimate(**one) for name, one in plain.items()})


def _wearer(one: Any) -> Plain:
    move = one.move
    return {
        "number": one.number,
        "person": one.person,
        "named": [
            {
                "side": each.side,
                "index": each.index,
                "light": each.light,
                "surface": each.surface,
                "both": each.both_surfaces,
                "probability": round(each.probability, 3),
                "runner_up": each.runner_up,
                "also": list(each.also),
            }
            for each in one.reflections
        ],
        "move": None
        if move is None
        else {
            "text": move.text,
            "verdict_after": move.verdict_after,
            "clean": move.clean,
            "side_effects": list(move.side_effects),
            "losses": list(move.losses),
        },
        "learned": None if one.learned is None else asdict(one.learned),
        "contradictions": [each.text for each in one.contradictions],
        "notes": list(one.notes),
    }
