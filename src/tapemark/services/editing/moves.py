"""Moving, raising, turning and aiming one thing of a setup, as a page asks for it.

Places come in the world frame in metres and are rounded and written in the person's own units.
Only what was asked for changes: a light that is aimed at the face stays aimed at it, one that is
aimed at a place keeps that place.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan2, degrees, dist, hypot, isfinite
from typing import Any, get_args

from tapemark.services.editing.limits import height_limits
from tapemark.services.editing.paths import (
    Body,
    Named,
    Steps,
    find_named,
    refused,
    thing_of,
    value_at,
    with_value,
)
from tapemark.services.editing.texts import (
    SAME_DEG,
    SAME_M,
    floor_place,
    polar,
    rounded_length,
    rounded_side,
    rounded_turn,
)
from tapemark.studio import AimName, Place, Setup, aim_point_m
from tapemark.studio.checks_around import NEAREST_BACKDROP_M
from tapemark.units import format_length, write_chin_deg, write_side_deg

STANDING = ("light", "panel", "screen", "camera")
AT_FACE_M = 0.05  # an aim this near to the middle between the eyes is the face
_TURNS = {"head": "turn", "chin": "chin", "tip": "tip"}
_SPOTS = (("start",), ("end",), ("outlet",), ("stand",))
_MOST_M = 100.0
_ROUNDED_M = 0.0064  # half of what lengths are rounded to, so that they stay within


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """A place asked for in the world frame; None leaves a part of it as it is. [m]"""

    named: Named
    x: float | None = None
    y: float | None = None
    z: float | None = None


def moved(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after a ``move``: a thing is elsewhere on the floor.

    Raises
    ------
    EditError
        There is no such thing, or it cannot be moved that way.
    """
    named = find_named(edit["move"], setup)
    at = Asked(named=named, **{one: metres(edit, one) for one in "xyz"})
    if named.rest == ("aim",) and named.kind in STANDING:
        return _aimed_at(setup, body, at)
    if named.rest in _SPOTS:
        return _spot_moved(setup, body, at)
    _no_rest(named, "move")
    if named.kind in STANDING:
        body = _stood(setup, body, at)
        return body if at.z is None else _raised_to(setup, body, named, z=at.z)
    others = {
        "companion": _companion_moved,
        "window": _window_moved,
        "backdrop": _backdrop_moved,
        "walkway": _walkway_moved,
        "circuit": _outlet_moved,
    }
    if named.kind not in others:
        raise refused(
            named.thing,
            "",
            allowed="lights, camera, sitter, companions, panels, screens, windows, backdrop",
            advice="this has no place on the floor",
        )
    body = others[named.kind](setup, body, at)
    return body if at.z is None else _raised_to(setup, body, named, z=at.z)


def raised(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after a ``raise``: a thing is at another height.

    Raises
    ------
    EditError
        There is no such thing, it has no height, or its stand does not reach there.
    """
    named = find_named(edit["raise"], setup)
    z = metres(edit, "z")
    if z is None:
        raise refused(named.thing, edit.get("z", ""), allowed="metres", advice="say z, its height")
    if named.rest == ("aim",) and named.kind in STANDING:
        return _aimed_at(setup, body, Asked(named=named, z=z))
    _no_rest(named, "raise")
    return _raised_to(setup, body, named, z=z)


def turned(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after a ``turn`` of a head, a light, a panel or the camera.

    A head turns to so many degrees from the camera mark, camera-left positive. What stands is
    turned to so many degrees from the line to the face, clockwise seen from above positive; at 0
    it is aimed at the face.
    """
    named = find_named(edit["turn"], setup)
    angle: Any = edit.get("deg")
    if not _is_number(angle):
        raise refused(named.thing, angle, allowed="degrees", advice="say deg, a number")
    if named.kind in STANDING and not named.rest:
        return _beam_turned(setup, body, named, angle=float(angle))
    key = _TURNS.get(named.rest[0] if named.rest else "head") if len(named.rest) < 2 else None
    if named.kind not in ("sitter", "companion") or key is None:
        raise refused(
            str(edit["turn"]),
            "",
            allowed="sitter.head, sitter.chin, sitter.tip, a light, a panel or the camera",
            advice="the body follows the head by half: turn the head"
            if named.rest == ("body",)
            else "this cannot be turned",
        )
    now = getattr(thing_of(setup, named), f"{key}_deg")
    if abs(now - angle) < SAME_DEG:
        return body
    write = write_chin_deg if key == "chin" else write_side_deg
    return with_value(body, (*named.steps, key), write(rounded_turn(float(angle))))


def aimed(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after an ``aim``: at a word, or at a place in the room."""
    named = find_named(edit["aim"], setup)
    _no_rest(named, "aim")
    if named.kind not in STANDING:
        raise refused(
            named.thing, "", allowed="lights, panels, screens, camera", advice="this is not aimed"
        )
    word = edit.get("at")
    if word is None:
        at = {one: metres(edit, one) for one in "xyz"}
        return _aimed_at(setup, body, Asked(named=named, **at))
    if word not in get_args(AimName):
        allowed = ", ".join(get_args(AimName))
        raise refused(f"{named.thing} aim", word, allowed=allowed, advice="say one of these")
    return with_value(body, (*named.steps, "aim"), word)


def spot_texts(x_m: float, y_m: float, *, setup: Setup) -> dict[str, str]:
    """Return distance and side of a place on the floor as a setup file has them."""
    distance, side = polar(x_m, y_m)
    return {
        "distance": rounded_length(distance, system=setup.units),
        "side": rounded_side(side, distance_m=distance),
    }


def _stood(setup: Setup, body: Body, at: Asked) -> Body:
    """Return the mapping with something that stands elsewhere; its column goes along."""
    thing = thing_of(setup, at.named)
    old = thing.place.position_m
    new = (old[0] if at.x is None else at.x, old[1] if at.y is None else at.y)
    if dist(new, old[:2]) < SAME_M:
        return body
    body = _put_spot(body, (*at.named.steps, "place"), new, old=thing.place, setup=setup)
    stand = getattr(thing, "stand", None)
    if stand is not None and stand.base is not None:
        base = stand.base.position_m
        along = (base[0] + new[0] - old[0], base[1] + new[1] - old[1])
        body = _put_spot(
            body, (*at.named.steps, "stand", "base"), along, old=stand.base, setup=setup
        )
    return body


def _put_spot(
    body: Body, steps: Steps, new: tuple[float, float], *, old: Any, setup: Setup
) -> Body:
    """Return the mapping with a spot elsewhere; a distance or side that stays is left as typed."""
    texts = spot_texts(*new, setup=setup)
    distance, side = polar(*new)
    if abs(distance - old.distance_m) >= SAME_M:
        body = with_value(body, (*steps, "distance"), texts["distance"])
    if abs((side - old.side_deg + 180.0) % 360.0 - 180.0) * max(distance, 0.1) >= 0.1:
        body = with_value(body, (*steps, "side"), texts["side"])
    return body


def _raised_to(setup: Setup, body: Body, named: Named, *, z: float) -> Body:
    """Return the mapping with a thing at another height."""
    thing, system = thing_of(setup, named), setup.units
    steps: Steps
    if named.kind in STANDING:
        steps, now = ("place", "height"), thing.place.height_m
        if named.kind == "light" and abs(now - z) >= SAME_M:
            _within_reach(thing, setup, named, z=z)
    elif named.kind in ("sitter", "companion"):
        steps, now = ("eye_height",), thing.eye_height_m
    elif named.kind == "window":
        steps, now, z = ("sill",), thing.sill_m, z - thing.height_m / 2
    elif named.kind == "backdrop" and thing is not None:
        steps, now = ("height",), thing.height_m
    else:
        raise refused(named.thing, "", allowed="things with a height", advice="it has no height")
    if abs(now - z) < SAME_M:
        return body
    return with_value(body, (*named.steps, *steps), rounded_length(z, system=system))


def _within_reach(light: Any, setup: Setup, named: Named, *, z: float) -> None:
    """Refuse a height that stand, ceiling or floor do not leave to a light.

    A stand that nobody described refuses nothing, and what is beyond already may come back.
    """
    limits, now = height_limits(light, setup), light.place.height_m
    top = limits.highest_m if limits.stated else limits.ceiling_m
    low, high, given = (format_length(one, system=setup.units) for one in (limits.lowest_m, top, z))
    if z < min(limits.lowest_m, now) - SAME_M:
        advice = f"it would touch the floor; {low} is the lowest there"
    elif z > max(limits.ceiling_m, now) + SAME_M:
        advice = f"it would touch the ceiling; {high} is the highest there"
    elif z > max(top, now) + SAME_M:
        advice = f"its stand reaches no higher than {high}; take a taller one or a boom"
    else:
        return
    raise refused(f"{named.thing} height", given, allowed=f"{low} to {high}", advice=advice)


def _companion_moved(setup: Setup, body: Body, at: Asked) -> Body:
    one = thing_of(setup, at.named)
    for key, now, new in (
        ("across", one.across_m, at.x),
        ("back", one.back_m, None if at.y is None else -at.y),
    ):
        if new is not None and abs(new - now) >= SAME_M:
            text = rounded_length(new, system=setup.units)
            body = with_value(body, (*at.named.steps, key), text)
    return body


def _window_moved(setup: Setup, body: Body, at: Asked) -> Body:
    one = thing_of(setup, at.named)
    new = at.y if one.wall.startswith("camera-") else at.x
    if new is None or abs(new - one.along_m) < SAME_M:
        return body
    return with_value(body, (*at.named.steps, "along"), rounded_length(new, system=setup.units))


def _backdrop_moved(setup: Setup, body: Body, at: Asked) -> Body:
    if setup.backdrop is None:
        raise refused("backdrop", "", allowed="a backdrop", advice="there is none; add it first")
    if at.y is None:
        return body
    # Dragged on, it stays at the wall behind or at the sitter's back.
    most = setup.room.behind_sitter_m - _ROUNDED_M
    far = min(max(-at.y, NEAREST_BACKDROP_M + _ROUNDED_M), most)
    if abs(far - setup.backdrop.distance_m) < SAME_M:
        return body
    return with_value(body, (*at.named.steps, "distance"), rounded_length(far, system=setup.units))


def _walkway_moved(setup: Setup, body: Body, at: Asked) -> Body:
    """Return the mapping with a walkway shifted so that its middle is elsewhere."""
    one = thing_of(setup, at.named)
    start, end = one.start.position_m, one.end.position_m
    dx = 0.0 if at.x is None else at.x - (start[0] + end[0]) / 2
    dy = 0.0 if at.y is None else at.y - (start[1] + end[1]) / 2
    if hypot(dx, dy) < SAME_M:
        return body
    for key, (px, py), old in (("start", start, one.start), ("end", end, one.end)):
        body = _put_spot(body, (*at.named.steps, key), (px + dx, py + dy), old=old, setup=setup)
    return body


def _outlet_moved(setup: Setup, body: Body, at: Asked) -> Body:
    outlet = Named(kind=at.named.kind, name=at.named.name, steps=at.named.steps, rest=("outlet",))
    return _spot_moved(setup, body, Asked(named=outlet, x=at.x, y=at.y))


def _spot_moved(setup: Setup, body: Body, at: Asked) -> Body:
    """Return the mapping with the end of a walkway, an outlet or a column elsewhere."""
    key = at.named.rest[0]
    steps = (*at.named.steps, "stand", "base") if key == "stand" else (*at.named.steps, key)
    owner = thing_of(setup, at.named)
    if key == "stand":
        old = getattr(getattr(owner, "stand", None), "base", None)
    else:
        old = getattr(owner, key, None)
    start = (0.0, 0.0) if old is None else old.position_m
    new = (start[0] if at.x is None else at.x, start[1] if at.y is None else at.y)
    if old is None:
        return with_value(body, steps, spot_texts(*new, setup=setup))
    return body if dist(new, start) < SAME_M else _put_spot(body, steps, new, old=old, setup=setup)


def _aimed_at(setup: Setup, body: Body, at: Asked) -> Body:
    """Return the mapping with a thing aimed at a place; near the face, at the face."""
    thing = thing_of(setup, at.named)
    old = aim_point_m(thing, setup=setup)
    new = tuple(
        now if asked is None else asked for asked, now in zip((at.x, at.y, at.z), old, strict=True)
    )
    if dist(new, old) < SAME_M:
        return body
    steps = (*at.named.steps, "aim")
    face = (0.0, 0.0, setup.sitter.eye_height_m)
    if at.named.kind != "camera" and dist(new, face) < AT_FACE_M:
        return with_value(body, steps, "face")
    if isinstance(thing.aim, Place) and isinstance(value_at(body, steps), Mapping):
        body = _put_spot(body, steps, (new[0], new[1]), old=thing.aim, setup=setup)
        if abs(new[2] - old[2]) < SAME_M:
            return body
        height = rounded_length(max(new[2], 0.0), system=setup.units)
        return with_value(body, (*steps, "height"), height)
    height = rounded_length(max(new[2], 0.0), system=setup.units)
    return with_value(body, steps, spot_texts(new[0], new[1], setup=setup) | {"height": height})


def _beam_turned(setup: Setup, body: Body, named: Named, *, angle: float) -> Body:
    """Return the mapping with a thing turned in its place, so far from the line to the face."""
    thing = thing_of(setup, named)
    angle = rounded_turn(angle)
    if angle == 0.0:
        return with_value(body, (*named.steps, "aim"), "face")
    if abs(angle - beam_turn_deg(thing, setup)) < SAME_DEG:
        return body
    x, y, _ = thing.place.position_m
    out, side = polar(-x, -y)
    dx, dy = floor_place(max(out, 0.5), side + angle)
    height = aim_point_m(thing, setup=setup)[2]
    return _aimed_at(setup, body, Asked(named=named, x=x + dx, y=y + dy, z=height))


def beam_turn_deg(thing: Any, setup: Setup) -> float:
    """Return how far something is turned from the line to the face, seen from above. [deg]"""
    x, y, _ = thing.place.position_m
    end = aim_point_m(thing, setup=setup)
    away, line = degrees(atan2(end[0] - x, end[1] - y)), degrees(atan2(-x, -y))
    return (away - line + 180.0) % 360.0 - 180.0


def _no_rest(named: Named, verb: str) -> None:
    if named.rest:
        raise refused(
            ".".join((named.thing, *named.rest)),
            "",
            allowed=f"a thing, like {named.thing}",
            advice=f"only whole things can be used with {verb}",
        )


def metres(edit: Mapping[str, Any], key: str) -> float | None:
    """Return a number of metres in an edit; None where it says nothing of it."""
    value = edit.get(key)
    if value is None:
        return None
    if not _is_number(value) or abs(value) > _MOST_M:
        verb = next(iter(edit))
        raise refused(f"{verb} {key}", value, allowed="a number of metres", advice="say where")
    return float(value)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)
