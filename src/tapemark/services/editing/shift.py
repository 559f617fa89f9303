"""Moving the sitter: everything is counted from the sitter's mark, so all of it is told anew."""

from collections.abc import Mapping
from math import hypot
from typing import Any

from tapemark.errors import EditError, SetupError
from tapemark.services.editing.moves import metres
from tapemark.services.editing.paths import Body, refused
from tapemark.services.editing.texts import SAME_M, fine_length, rounded_length
from tapemark.studio import Setup, setup_to_mapping
from tapemark.units import UnitSystem, format_length, parse_length_m

NEAREST_WALL_M = 0.2  # a body is half as deep as this (assumption)


def sitter_moved(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after the sitter has moved to x, y while all else stays.

    Notes
    -----
    The new mark is then the origin of the world frame.  The backdrop hangs behind the sitter
    still, for a file knows no other.
    """
    from tapemark.planning.moves.stool_shift import shifted_person  # planning is slow to load

    dx, dy = (
        parse_length_m(rounded_length(metres(edit, key) or 0.0, system=setup.units))
        for key in ("x", "y")
    )
    if hypot(dx, dy) < SAME_M:
        return body
    _within_room(setup, dx, dy)
    try:
        shifted = shifted_person(setup, index=0, across_m=dx, forward_m=dy)
    except SetupError as error:
        raise EditError(error.problems[0]) from None
    old, new = setup_to_mapping(setup), setup_to_mapping(shifted)
    merged: Body = _as_typed(new, old, body, setup.units)
    return merged


def _within_room(setup: Setup, x: float, y: float) -> None:
    """Refuse a mark at or outside a wall."""
    room = setup.room
    ends = ((x, room.x_min_m, room.x_max_m), (y, room.y_min_m, room.y_max_m))
    if all(low + NEAREST_WALL_M < value < high - NEAREST_WALL_M for value, low, high in ends):
        return
    nearest = format_length(NEAREST_WALL_M, system=setup.units)
    raise refused(
        "sitter",
        "",
        allowed=f"{nearest} and more from every wall",
        advice="the sitter would be outside the room; keep the stool inside",
    )


def _as_typed(new: Any, old: Any, own: Any, system: UnitSystem) -> Any:
    """Return new data with the texts of one's own wherever nothing has changed."""
    if new == old and own is not None:
        return own
    if isinstance(new, Mapping):
        olds, owns = (one if isinstance(one, Mapping) else {} for one in (old, own))
        return {
            key: _as_typed(value, olds.get(key), owns.get(key), system)
            for key, value in new.items()
        }
    if isinstance(new, list):
        before, typed = (
            one if isinstance(one, list) and len(one) == len(new) else [None] * len(new)
            for one in (old, own)
        )
        return [
            _as_typed(item, was, text, system)
            for item, was, text in zip(new, before, typed, strict=True)
        ]
    if system == "us" and isinstance(new, str) and new.endswith(" m"):
        return fine_length(parse_length_m(new), system=system)
    return new
