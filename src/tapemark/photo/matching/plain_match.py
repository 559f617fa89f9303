"""A match as plain data, ready for JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from tapemark.photo.matching.result import (
    Contradiction,
    Estimate,
    FittedGlasses,
    FittedPose,
    LensEstimate,
    MoveFound,
    NamedReflection,
    ShotMatch,
    WearerMatch,
)
from tapemark.photo.plain_reading import reading_as_plain
from tapemark.studio import setup_to_mapping

Plain = dict[str, Any]
_DIGITS = 3


def match_as_plain(match: ShotMatch) -> Plain:
    """Return a match as dictionaries, lists, numbers and text, ready for JSON.

    Returns
    -------
    dict
        All of `reading_as_plain`, and ``match`` with ``notes`` and ``wearers``: each with
        ``number``, ``person``, ``pose``, ``glasses``, ``reflections``, ``contradictions``,
        ``corrected_setup``, ``corrected_toml``, ``fitted_setup``, ``lens_estimates``, ``move``
        and ``notes``. A fitted number is ``value`` and ``spread``, one standard deviation, in the
        unit of its name. Setups have the shape of a setup file. None stands for what is not
        there.
    """
    return {
        **reading_as_plain(match.reading),
        "match": {
            "notes": list(match.notes),
            "wearers": [_wearer(one) for one in match.wearers],
        },
    }


def _wearer(one: WearerMatch) -> Plain:
    corrected = one.corrected_setup
    return {
        "number": one.number,
        "person": one.person,
        "pose": _fitted(one.pose),
        "glasses": None if one.glasses is None else _fitted(one.glasses),
        "reflections": [_reflection(own) for own in one.reflections],
        "contradictions": [_contradiction(own) for own in one.contradictions],
        "corrected_setup": None if corrected is None else setup_to_mapping(corrected),
        "corrected_toml": one.corrected_toml,
        "fitted_setup": setup_to_mapping(one.fitted_setup),
        "lens_estimates": [_lens(own) for own in one.lens_estimates],
        "move": None if one.move is None else _move(one.move),
        "notes": list(one.notes),
    }


def _number(one: Estimate) -> Plain:
    return {"value": round(one.value, _DIGITS), "spread": round(one.spread, _DIGITS)}


def _fitted(one: FittedPose | FittedGlasses) -> Plain:
    return {name: _number(getattr(one, name)) for name in one.__slots__}


def _reflection(one: NamedReflection) -> Plain:
    plain = asdict(one)
    plain["also"] = list(one.also)
    for name in ("side_deg", "height_m", "distance_m"):
        if plain[name] is not None:
            plain[name] = round(plain[name], _DIGITS)
    return plain


def _contradiction(one: Contradiction) -> Plain:
    plain = asdict(one)
    for name in ("written", "shown", "spread"):
        plain[name] = round(plain[name], _DIGITS)
    return plain


def _lens(one: LensEstimate) -> Plain:
    return {
        "side": one.side,
        "light": one.light,
        "front_radius_mm": _number(one.front_radius_mm),
        "base_curve_d": _number(one.base_curve_d),
        "tilt_deg": _number(one.tilt_deg),
        "magnification": round(one.magnification, 5),
    }


def _move(one: MoveFound) -> Plain:
    return {
        "text": one.text,
        "what": one.what,
        "name": one.name,
        "verdict_after": one.verdict_after,
        "clean": one.clean,
        "side_effects": list(one.side_effects),
        "losses": list(one.losses),
        "setup": setup_to_mapping(one.setup),
    }
