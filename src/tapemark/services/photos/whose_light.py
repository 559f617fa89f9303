"""Whose light is in which lens: a photo against the setup that it was taken with."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from tapemark.errors import FileError
from tapemark.photo import Hints, ShotReading
from tapemark.photo.matching.plain_match import match_as_plain
from tapemark.photo.matching.result import (
    Estimate,
    LearnedGlasses,
    MoveFound,
    ShotMatch,
    WearerMatch,
)
from tapemark.photo.matching.shot_match import matched
from tapemark.planning import Watch, find_moves
from tapemark.services.photos.photo_reading import MOST_SITTER_BYTES, kept_sitter, read_photo_file
from tapemark.studio import Setup

__all__ = [
    "keep_sitter",
    "match_as_plain",
    "match_reading",
    "match_shot",
    "read_learned",
]

#: What a sitter file may say of glasses: lowest and highest value, and spread.
_LIMITS = {
    "base_curve_d": (0.0, 12.0),
    "pantoscopic_tilt_deg": (-10.0, 30.0),
    "face_form_deg": (-10.0, 35.0),
    "vertex_distance_mm": (4.0, 35.0),
    "pupil_height_mm": (1.0, 60.0),
    "lens_width_mm": (30.0, 70.0),
    "lens_height_mm": (18.0, 65.0),
    "bridge_mm": (8.0, 32.0),
}
_MOST_SPREAD = 20.0

NO_MOVE_FOUND = "No move of one or two things clears these lenses: change glasses, light or pose."
NONE_NEEDED = "No move: as fitted to this photo the setup shows no trouble."


def match_shot(
    photo: Path,
    setup: Setup,
    *,
    hints: Hints | None = None,
    glasses_learned: LearnedGlasses | None = None,
    watch: Watch | None = None,
    moves: bool = True,
) -> ShotMatch:
    """Return what a photo says about the setup that it was taken with.

    Parameters
    ----------
    photo : Path
        JPEG, PNG, TIFF, HEIC, WebP or raw; it is only read.
    setup : Setup
        As written.
    hints : Hints, optional
        What a person said about the photo, or what is known of the sitter's glasses.
    glasses_learned : LearnedGlasses, optional
        What an earlier frame taught about them.
    watch : Watch, optional
        Who waits.
    moves : bool
        Whether to look for the single move that clears the lenses, which takes longer than all
        the rest.

    Raises
    ------
    FileError
        Why the photo cannot be read, in one line.
    """
    watch = watch or Watch()
    watch.tell("reading the photo")
    reading = read_photo_file(photo, hints=hints)
    return match_reading(reading, setup, glasses_learned=glasses_learned, watch=watch, moves=moves)


def match_reading(
    reading: ShotReading,
    setup: Setup,
    *,
    glasses_learned: LearnedGlasses | None = None,
    watch: Watch | None = None,
    moves: bool = True,
) -> ShotMatch:
    """Return what a reading says about the setup that the photo was taken with.

    Parameters
    ----------
    reading : ShotReading
        What was read from the photo alone.
    setup : Setup
        As written.
    glasses_learned : LearnedGlasses, optional
        What an earlier frame taught about the sitter's glasses.
    watch : Watch, optional
        Who waits.
    moves : bool
        Whether to look for the single move that clears the lenses.
    """
    watch = watch or Watch()
    watch.tell("naming the lights")
    found = matched(reading, setup, learned=glasses_learned)
    if not moves or watch.stopped:
        return found
    wearers = []
    for one in found.wearers:
        if one.reflections and not watch.stopped:
            watch.tell("looking for the move")
            wearers.append(_with_move(one))
        else:
            wearers.append(one)
    return replace(found, wearers=tuple(wearers))


def keep_sitter(match: ShotMatch) -> str | None:
    """Return what is worth keeping of a sitter for the next frames, as JSON text.

    It holds what `kept_sitter` keeps of the reading, and what the lights taught about the lenses.
    None where nobody in the photo wears glasses for sure, or more than one person does.
    """
    text = kept_sitter(match.reading)
    if text is None:
        return None
    kept = json.loads(text)
    learned = next((one.learned for one in match.wearers if one.learned is not None), None)
    if learned is not None:
        kept["glasses"] = {
            name: {key: round(value, 4) for key, value in own.items()}
            for name, own in asdict(learned).items()
        }
    return json.dumps(kept, indent=2) + "\n"


def read_learned(path: Path) -> LearnedGlasses | None:
    """Return what a sitter file says about glasses; None where it says nothing of them.

    Raises
    ------
    FileError
        The file cannot be read, or what it says cannot be.
    """
    try:
        with path.open("rb") as file:
            given: Any = json.loads(file.read(MOST_SITTER_BYTES).decode("utf-8"))
        own = given.get("glasses")
        if own is None:
            return None
        values = {name: _estimate(own[name], _LIMITS[name]) for name in _LIMITS}
    except OSError as error:
        raise FileError(
            str(path),
            reason=f"cannot be read ({error.strerror or error})",
            advice="name a file that tapemark read --keep wrote",
        ) from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise FileError(
            str(path),
            reason="is no file about a sitter's lenses",
            advice="name a file that tapemark read --keep wrote",
        ) from None
    return LearnedGlasses(**values)


def _estimate(given: Any, limits: tuple[float, float]) -> Estimate:
    value, spread = float(given["value"]), float(given["spread"])
    if not (limits[0] <= value <= limits[1] and 0.0 <= spread <= _MOST_SPREAD):
        raise ValueError("out of range")
    return Estimate(value=value, spread=spread)


def _with_move(one: WearerMatch) -> WearerMatch:
    found = find_moves(one.fitted_setup, best=1)
    if not found.moves:
        why = NO_MOVE_FOUND if found.needed else NONE_NEEDED
        return replace(one, notes=(*one.notes, why))
    best = found.moves[0]
    return replace(
        one,
        move=MoveFound(
            text=best.text,
            what=best.steps[0].what,
            name=best.steps[0].name,
            verdict_after=best.verdict_after,
            clean=best.clean,
            side_effects=best.side_effects,
            losses=best.losses,
            setup=best.setup,
        ),
    )
