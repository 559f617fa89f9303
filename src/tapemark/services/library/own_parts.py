"""Own things put into a setup, and taken out of one to be kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tapemark.errors import Problem, SetupError
from tapemark.studio import (
    Backdrop,
    BackgroundGear,
    Companion,
    Glasses,
    HeadGear,
    Light,
    Meter,
    Modifier,
    ModifierGear,
    Panel,
    PanelGear,
    Place,
    Room,
    Setup,
    Sitter,
    Stand,
    StandGear,
    changed,
)
from tapemark.studio.parts import Part, part_from_mapping, part_to_mapping

__all__ = ["insert_part", "part_of_setup"]

_POSE = ("turn_deg", "chin_deg", "tip_deg", "gaze")  # of the set, not of the person
_SEAT = ("posture", "seat_height_m")
_LEFT_AND_RIGHT_DEG = (40.0, -40.0, 70.0, -70.0, 20.0, -20.0)
_DISTANCES_M = (1.5, 1.2, 0.9, 0.6)


def insert_part(
    setup: Setup,
    kind: str,
    body: Mapping[str, object],
    *,
    light: str | None = None,
    person: str | None = None,
) -> Setup:
    """Return a setup with an own thing put into it.

    Parameters
    ----------
    setup : Setup
        The set.
    kind : "room", "gear", "glasses" or "sitter"
        What is put in.
    body : mapping
        The thing as it is kept.
    light : str, optional
        Which light a piece of gear goes to. Without it a head becomes a light of its own.
    person : str, optional
        Whose place a sitter takes, or who puts the glasses on; the main sitter if left out.

    Raises
    ------
    SetupError
        The body is not valid, there is no such light or person, or it does not fit the set.

    Notes
    -----
    A sitter keeps the turn of the head that the set has, unless the kept sitter states one. A
    head brings its meter reading and takes that of the head before away; a reading taken with
    another modifier remembers which.
    """
    thing = part_from_mapping(kind, body).thing
    if isinstance(thing, Room):
        return changed(setup, {"room": thing})
    if isinstance(thing, Glasses):
        return _with_person(setup, person, {"glasses": thing})
    if isinstance(thing, Sitter):
        return _with_sitter(setup, person, thing)
    if isinstance(thing, PanelGear):
        return _with_panel(setup, thing)
    if isinstance(thing, BackgroundGear):
        return _with_backdrop(setup, thing)
    if isinstance(thing, HeadGear) and light is None:
        return _with_new_light(setup, thing)
    return _with_gear(setup, thing, light)


def part_of_setup(
    setup: Setup, kind: str, *, light: str | None = None, person: str | None = None
) -> dict[str, Any]:
    """Return a part of a setup as an own thing to keep.

    Parameters
    ----------
    setup : Setup
        The set.
    kind : "room", "gear", "glasses" or "sitter"
        What is taken out; gear is the head of a light, with its meter reading.
    light : str, optional
        Whose head.
    person : str, optional
        Whose glasses, or which sitter; the main one if left out.

    Raises
    ------
    SetupError
        There is no such light or person, or they wear no glasses.
    """
    thing: Any
    if kind == "room":
        thing = setup.room
    elif kind == "gear":
        thing = _head_gear(_light_of(setup, light))
    else:
        who = setup.people[_index_of(setup, person)]
        thing = _without_pose(who) if kind == "sitter" else who.glasses
    if thing is None:
        raise _refused("glasses", given="none", allowed="somebody with glasses", who=setup)
    return part_to_mapping(Part(kind=kind, thing=thing, units=setup.units))


def _with_sitter(setup: Setup, person: str | None, sitter: Sitter) -> Setup:
    index = _index_of(setup, person)
    before = setup.people[index]
    kept = _POSE if "eye_height_m" in sitter.model_fields_set else (*_POSE, *_SEAT)
    values = {name: getattr(before, name) for name in kept if name in before.model_fields_set}
    values |= {name: getattr(sitter, name) for name in sitter.model_fields_set}
    if isinstance(before, Companion):
        values |= {"across_m": before.across_m, "back_m": before.back_m}
    return _with_people(setup, index, type(before).model_validate(values))


def _with_person(setup: Setup, person: str | None, changes: Mapping[str, object]) -> Setup:
    index = _index_of(setup, person)
    return _with_people(setup, index, changed(setup.people[index], changes))


def _with_people(setup: Setup, index: int, person: Sitter) -> Setup:
    if index == 0:
        return changed(setup, {"sitter": person})
    others = list(setup.companions)
    others[index - 1] = person  # type: ignore[call-overload]
    return changed(setup, {"companions": tuple(others)})


def _with_gear(setup: Setup, thing: object, name: str | None) -> Setup:
    """Put a head, a modifier or a stand to a light that is there."""
    light = _light_of(setup, name)
    if isinstance(thing, HeadGear):
        changes: dict[str, object] = {"head": thing.head, "meter": thing.meter}
    elif isinstance(thing, ModifierGear):
        meter = light.meter
        if meter is not None and meter.modifier is None:
            meter = changed(meter, {"modifier": light.modifier})
        changes = {"modifier": thing.modifier, "meter": meter}
    else:
        assert isinstance(thing, StandGear)
        stand: Stand = thing.stand
        if light.stand is not None and light.stand.base is not None:
            stand = changed(stand, {"base": light.stand.base})
        changes = {"stand": stand}
    lights = [changed(one, changes) if one is light else one for one in setup.lights]
    return changed(setup, {"lights": tuple(lights)})


def _with_new_light(setup: Setup, gear: HeadGear) -> Setup:
    """Add a light in the first usual place that the room has room for."""
    name = _free(gear.name, [one.name for one in setup.lights])
    modifier = Modifier(kind="bare", diameter_m=0.12, depth_m=0.1)
    if gear.meter is not None and gear.meter.modifier is not None:
        modifier = gear.meter.modifier
    refusal: SetupError | None = None
    for distance_m in _DISTANCES_M:
        for side_deg in _LEFT_AND_RIGHT_DEG:
            height_m = min(setup.sitter.eye_height_m + 0.4, setup.room.height_m - 0.5)
            place = Place(distance_m=distance_m, side_deg=side_deg, height_m=round(height_m, 2))
            light = Light(
                name=name, head=gear.head, modifier=modifier, place=place, meter=gear.meter
            )
            try:
                return changed(setup, {"lights": (*setup.lights, light)})
            except SetupError as error:
                refusal = refusal or error
    assert refusal is not None
    raise refusal


def _with_panel(setup: Setup, gear: PanelGear) -> Setup:
    panel = Panel(
        name=_free(gear.name, [one.name for one in setup.panels]),
        width_m=gear.width_m,
        height_m=gear.height_m,
        reflectance=gear.reflectance,
        place=Place(
            distance_m=0.8, side_deg=-60.0, height_m=round(setup.sitter.eye_height_m - 0.1, 2)
        ),
    )
    return changed(setup, {"panels": (*setup.panels, panel)})


def _with_backdrop(setup: Setup, gear: BackgroundGear) -> Setup:
    hung = setup.backdrop
    distance_m = gear.distance_m or (
        round(min(1.5, setup.room.behind_sitter_m), 2) if hung is None else hung.distance_m
    )
    values: dict[str, Any] = {
        "distance_m": distance_m,
        "width_m": gear.width_m,
        "height_m": gear.height_m,
        "reflectance": gear.reflectance,
    }
    if hung is not None and hung.look is not None:
        values["look"] = hung.look
    return changed(setup, {"backdrop": Backdrop(**values)})


def _head_gear(light: Light) -> HeadGear:
    meter: Meter | None = light.meter
    if meter is not None and meter.modifier is None:
        meter = changed(meter, {"modifier": light.modifier})
    values: dict[str, object] = {"name": light.head.preset or light.name, "head": light.head}
    return HeadGear.model_validate(values if meter is None else {**values, "meter": meter})


def _without_pose(person: Sitter) -> Sitter:
    kept = {
        name: getattr(person, name)
        for name in person.model_fields_set
        if name in Sitter.model_fields and name not in _POSE
    }
    return Sitter.model_validate(kept)


def _light_of(setup: Setup, name: str | None) -> Light:
    for light in setup.lights:
        if light.name == name:
            return light
    names = ", ".join(f'"{one.name}"' for one in setup.lights) or "(there is no light yet)"
    raise _refused("light", given="" if name is None else f'"{name}"', allowed=names, who=setup)


def _index_of(setup: Setup, name: str | None) -> int:
    names = [one.name for one in setup.people]
    if name is None:
        return 0
    if name in names:
        return names.index(name)
    allowed = ", ".join(f'"{one}"' for one in names)
    raise _refused("person", given=f'"{name}"', allowed=allowed, who=setup)


def _refused(key: str, *, given: str, allowed: str, who: Setup) -> SetupError:
    problem = Problem(key=key, given=given, allowed=allowed, advice="choose one that is in the set")
    return SetupError((problem,), name=who.title or "setup")


def _free(name: str, taken: list[str]) -> str:
    """Return a name that is not taken: itself, or with a number."""
    lower = {one.casefold() for one in taken}
    found, number = name, 2
    while found.casefold() in lower:
        found, number = f"{name[:55]} {number}", number + 1
    return found
