"""Adding, taking away, renaming and typing: edits that change what a setup holds."""

from collections.abc import Mapping
from typing import Any

from tapemark.services.editing.moves import spot_texts
from tapemark.services.editing.paths import (
    Body,
    Named,
    find_named,
    refused,
    thing_of,
    value_at,
    with_value,
)
from tapemark.services.editing.texts import floor_place, rounded_length
from tapemark.studio import Place, Setup, aim_point_m
from tapemark.studio.setup import LISTS

_SIDES_DEG = (40.0, -40.0, 70.0, -70.0, 20.0, -20.0, 110.0, -110.0, 150.0, -150.0)
_OUT_M, _LIGHT_UP_M, _FROM_WALL_M = 1.6, 1.9, 0.3
_APART_M = 0.5
_OPTIONAL = ("backdrop",)


def typed(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after a ``set``: a field holds what was typed, as it was typed."""
    named = find_named(edit["set"], setup)
    if "value" not in edit:
        raise refused(str(edit["set"]), "", allowed="a value or null", advice="say value")
    value = edit["value"]
    if not named.rest:
        if named.kind in ("title", "units") or isinstance(value, Mapping) or value is None:
            return _whole(setup, body, named, value)
        raise refused(
            named.thing, value, allowed="a table", advice="name a field of it to set one value"
        )
    if named.rest == ("name",) and named.kind in LISTS:
        return renamed(setup, body, {"rename": named.thing, "name": value})
    body = _with_aim_as_place(setup, body, named)
    return with_value(body, (*named.steps, *named.rest), value)


def added(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after an ``add``; what the body does not say is filled in."""
    kind, own = edit["add"], edit.get("body") or {}
    if not isinstance(own, Mapping):
        raise refused(f"add {kind}", own, allowed="a table", advice="say body, a table")
    if kind in _OPTIONAL:
        if getattr(setup, kind) is not None:
            raise refused(kind, "", allowed="one", advice="there is one already: change that")
        return with_value(body, (kind,), {**_usual_backdrop(setup), **own})
    if kind not in LISTS:
        allowed = ", ".join((*LISTS, *_OPTIONAL))
        raise refused("add", kind, allowed=allowed, advice="say what to add, like light")
    new = {"name": _free_name(kind, setup), **_usual(kind, setup), **own}
    return with_value(body, (kind,), [*(value_at(body, (kind,)) or ()), new])


def removed(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after a ``remove`` of a thing or of an optional part of one."""
    named = find_named(edit["remove"], setup)
    if named.rest:
        return with_value(body, (*named.steps, *named.rest), None)
    if named.kind in _OPTIONAL:
        return with_value(body, named.steps, None)
    if named.kind not in LISTS:
        raise refused(
            named.thing, "", allowed=", ".join((*LISTS, *_OPTIONAL)), advice="a setup needs it"
        )
    kept = [one for k, one in enumerate(body[named.kind]) if k != named.steps[1]]
    body = with_value(body, (named.kind,), kept or None)
    return _circuits_renamed(setup, body, named.name, None) if named.kind == "circuit" else body


def renamed(setup: Setup, body: Body, edit: Mapping[str, Any]) -> Body:
    """Return a setup's mapping after a ``rename``; lights follow their circuit's new name."""
    named = find_named(edit["rename"], setup)
    new = edit.get("name")
    if not isinstance(new, str) or not new.strip():
        raise refused(f"{named.thing} name", new, allowed="a name", advice="say name, some text")
    if named.rest or (named.kind not in LISTS and named.kind != "sitter"):
        raise refused(
            str(edit["rename"]), "", allowed="sitter, light.NAME and such", advice="it has no name"
        )
    body = with_value(body, (*named.steps, "name"), new.strip())
    if named.kind == "circuit":
        body = _circuits_renamed(setup, body, named.name, new.strip())
    return body


def _whole(setup: Setup, body: Body, named: Named, value: object) -> Body:
    """Return the mapping with a whole table set; null takes it away."""
    if value is None and named.kind not in ("title", "units"):
        return removed(setup, body, {"remove": named.thing})
    return with_value(body, named.steps, value)


def _circuits_renamed(setup: Setup, body: Body, old: str, new: str | None) -> Body:
    for index, light in enumerate(setup.lights):
        if light.circuit == old:
            body = with_value(body, ("light", index, "circuit"), new)
    return body


def _with_aim_as_place(setup: Setup, body: Body, named: Named) -> Body:
    """Return the mapping with an aim that is a word told as a place, to set a part of it."""
    if len(named.rest) != 2 or named.rest[0] != "aim":
        return body
    thing = thing_of(setup, named)
    if isinstance(getattr(thing, "aim", None), Place):
        return body
    x, y, z = aim_point_m(thing, setup=setup)
    place = spot_texts(x, y, setup=setup) | {"height": rounded_length(z, system=setup.units)}
    return with_value(body, (*named.steps, "aim"), place)


def _free_name(kind: str, setup: Setup) -> str:
    taken: set[str] = {setup.sitter.name.casefold()}
    for field in LISTS.values():
        taken |= {one.name.casefold() for one in getattr(setup, field)}
    usual = ("key", "fill", "hair") if kind == "light" else (kind,)
    names: list[str] = [*usual, *(f"{kind} {number}" for number in range(2, 200))]
    return next(one for one in names if one.casefold() not in taken)


def _usual(kind: str, setup: Setup) -> dict[str, Any]:
    """Return what a new thing is like unless the body says otherwise."""

    def m(length_m: float) -> str:
        return rounded_length(length_m, system=setup.units)

    if kind == "light":
        like = setup.lights[-1] if setup.lights else None
        gear: dict[str, Any] = {
            "head": "400 Ws studio head",
            "modifier": "medium softbox 60x90 cm",
            "power": "1/8",
        }
        if like is not None and like.head.preset and len(like.head.model_fields_set) == 1:
            gear["head"] = like.head.preset
        return gear | {"place": _free_place(setup, up_m=_LIGHT_UP_M), "aim": "face"}
    if kind == "panel":
        place = _free_place(setup, up_m=setup.sitter.eye_height_m - 0.1, out_m=0.9)
        return {"width": m(0.6), "height": m(1.0), "place": place, "reflectance": 0.85}
    if kind == "screen":
        return {"width": m(0.33), "height": m(0.21), "place": _free_place(setup, up_m=0.9)}
    if kind == "window":
        return {"wall": "camera-left", "width": m(1.2), "height": m(1.4), "along": m(0.0)}
    if kind == "companion":
        return {"across": m(_free_seat(setup)), "back": m(0.15)}
    if kind == "circuit":
        us = setup.units == "us"
        return {"voltage": "120 V" if us else "230 V", "breaker": "15 A" if us else "16 A"}
    room = setup.room
    y = 0.7 * room.y_max_m
    ends = ((room.x_max_m - 0.1, y), (room.x_min_m + 0.1, y))
    start, end = (spot_texts(*one, setup=setup) for one in ends)
    return {"start": start, "end": end}


def _usual_backdrop(setup: Setup) -> dict[str, Any]:
    room = setup.room
    free = 2 * min(room.x_max_m, -room.x_min_m) - 0.1
    sizes = {
        "distance": min(1.5, 0.8 * room.behind_sitter_m),
        "width": min(2.7, free),
        "height": min(2.4, room.height_m - 0.1),
    }
    return {key: rounded_length(size, system=setup.units) for key, size in sizes.items()}


def _free_place(setup: Setup, *, up_m: float, out_m: float = _OUT_M) -> dict[str, str]:
    """Return a place in the room away from everything that stands in it."""
    room = setup.room
    places = [one.place for one in setup.lights] + [one.place for one in setup.panels]
    places += [one.place for one in setup.screens] + [setup.camera.place]
    taken = [one.position_m[:2] for one in places] + [one.mark_m for one in setup.people]
    best, most = (0.0, out_m), -1.0
    for side in _SIDES_DEG:
        x, y = floor_place(out_m, side)
        x = min(max(x, room.x_min_m + _FROM_WALL_M), room.x_max_m - _FROM_WALL_M)
        y = min(max(y, room.y_min_m + _FROM_WALL_M), room.y_max_m - _FROM_WALL_M)
        nearest = min((((x - a) ** 2 + (y - b) ** 2) ** 0.5 for a, b in taken), default=9.0)
        if nearest >= _APART_M:
            best = (x, y)
            break
        if nearest > most:
            best, most = (x, y), nearest
    height = rounded_length(min(up_m, setup.room.height_m - 0.5), system=setup.units)
    return spot_texts(*best, setup=setup) | {"height": height}


def _free_seat(setup: Setup) -> float:
    """Return how far beside the sitter nobody is yet [m]."""
    taken = [one.mark_m[0] for one in setup.people]
    choices = [sign * step * 0.55 for step in range(1, 9) for sign in (1, -1)]
    return next((one for one in choices if min(abs(one - x) for x in taken) > 0.4), 0.55)
