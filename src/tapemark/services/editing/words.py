"""What has changed between two setups, in one short sentence for a history."""

from collections.abc import Iterator, Mapping
from math import dist, hypot
from typing import Any

from tapemark.services.editing.texts import SAME_M, amount, turn_text
from tapemark.studio import Place, Setup, setup_to_mapping
from tapemark.studio.setup import LISTS
from tapemark.units import UnitSystem, dialled_power, format_length, format_side

MOST_PARTS = 3
_STANDING = ("lights", "panels", "screens")


def edits_in_words(before: Setup, after: Setup) -> str:
    """Return what changed from one setup to another, in plain words.

    Examples
    --------
    ``key: 9 cm up, now 1.44 m high``; ``sitter: head turned to 12° camera-left``; empty where
    nothing changed.
    """
    if before == after:
        return ""
    shift = _shift_of_sitter(before, after)
    if shift:
        return shift
    parts = list(dict.fromkeys(_parts(before, after)))
    more = len(parts) - MOST_PARTS
    shown = parts[:MOST_PARTS] + ([f"and {more} more"] if more > 0 else [])
    return "; ".join(shown)


def all_edits_in_words(before: Setup, after: Setup) -> tuple[str, ...]:
    """Return everything that changed from one setup to another, each change in plain words."""
    if before == after:
        return ()
    shift = _shift_of_sitter(before, after)
    return (shift,) if shift else tuple(dict.fromkeys(_parts(before, after)))


def changed_things(before: Setup, after: Setup) -> tuple[str, ...]:
    """Return what stands or is set otherwise than before, each thing once, by its name.

    A thing is what a *move* changes: a light, the sitter, the camera, a panel and so on. A stool
    that is moved with everything around it is one. Titles, units, names and meter readings are
    words about the set and do not count.

    Examples
    --------
    ``("key",)``; ``("key", "camera")``; empty where only a title was changed.
    """
    if before == after:
        return ()
    if _shift_of_sitter(before, after):
        return (after.sitter.name,)
    old, new = setup_to_mapping(before), setup_to_mapping(after)
    found: list[str] = []
    for kind in LISTS:
        found += _changed_in_list(kind, old.get(kind, []), new.get(kind, []))
    for key, name in (("camera", "camera"), ("sitter", after.sitter.name)):
        if _bare(old.get(key)) != _bare(new.get(key)):
            found.append(name)
    found += [key for key in ("room", "backdrop") if old.get(key) != new.get(key)]
    return tuple(dict.fromkeys(found))


def _changed_in_list(kind: str, old: list[Any], new: list[Any]) -> Iterator[str]:
    """Give the names of what is new, gone or other in a list; a new name alone is no change."""
    olds, news = ({one["name"]: _bare(one) for one in each} for each in (old, new))
    gone, come = ([n for n in one if n not in other] for one, other in ((olds, news), (news, olds)))
    if len(old) == len(new) and len(gone) == len(come) == 1:
        number = list(olds).index(gone[0])
        if list(news).index(come[0]) == number:
            olds[come[0]] = olds.pop(gone[0])
            gone, come = [], []
    yield from (_called(kind, name) for name in (*gone, *come))
    yield from (name for name in news if name in olds and olds[name] != news[name])


def _bare(thing: Any) -> Any:
    """Return a thing without its name and what a meter said of it."""
    if not isinstance(thing, Mapping):
        return thing
    return {key: value for key, value in thing.items() if key not in ("name", "meter")}


def _parts(before: Setup, after: Setup) -> Iterator[str]:
    for kind, field in LISTS.items():
        yield from _listed(kind, field, before=before, after=after)
    old, new = setup_to_mapping(before), setup_to_mapping(after)
    yield from _standing("camera", before.camera, after.camera, after.units)
    yield from _rest("camera", old.get("camera"), new.get("camera"), without=("place", "aim"))
    yield from _person(before.sitter, after.sitter, after.units)
    yield from _rest(
        after.sitter.name,
        old.get("sitter"),
        new.get("sitter"),
        without=("name", "turn", "chin", "tip", "eye_height"),
    )
    for key in ("room", "backdrop"):
        if (old.get(key) is None) != (new.get(key) is None):
            yield f"{key} {'added' if old.get(key) is None else 'taken away'}"
        else:
            yield from _rest(key, old.get(key), new.get(key))
    if before.title != after.title:
        yield f'title now "{after.title}"'
    if before.units != after.units:
        yield f"units now {after.units}"


def _listed(kind: str, field: str, *, before: Setup, after: Setup) -> Iterator[str]:
    """Tell the changes in one list; a thing in the same place under another name was renamed."""
    old, new = getattr(before, field), getattr(after, field)
    olds, news = ({one.name: one for one in each} for each in (old, new))
    gone, come = ([n for n in one if n not in other] for one, other in ((olds, news), (news, olds)))
    if len(old) == len(new) and len(gone) == len(come) == 1:
        number = list(olds).index(gone[0])
        if list(news).index(come[0]) == number:
            yield f"{gone[0]} is now called {come[0]}"
            gone, come = [], []
    yield from (f"{_called(kind, name)} taken away" for name in gone)
    yield from (f"{_called(kind, name)} added" for name in come)
    mapped = [
        {one["name"]: one for one in setup_to_mapping(each).get(kind, [])}
        for each in (before, after)
    ]
    for name in (one for one in news if one in olds):
        a, b = olds[name], news[name]
        if a == b:
            continue
        without: tuple[str, ...] = ("name",)
        if hasattr(b, "place"):
            yield from _standing(name, a, b, after.units)
            without += ("place", "aim")
        if kind == "companion":
            yield from _person(a, b, after.units)
            without += ("turn", "chin", "tip", "eye_height")
        if kind == "light":
            yield from _light(a, b)
            without += ("power", "on")
        yield from _rest(name, mapped[0][name], mapped[1][name], without=without)


def _called(kind: str, name: str) -> str:
    return name if name.startswith(kind) else f"{kind} {name}"


def _light(a: Any, b: Any) -> Iterator[str]:
    if a.on != b.on:
        yield f"{b.name} {'on' if b.on else 'off'}"
    if a.power_stops != b.power_stops:
        was, now = (
            dialled_power(one.power_stops, step_stops=one.head.power_step_stops) for one in (a, b)
        )
        yield f"{b.name}: power now {now}, was {was}"


def _standing(name: str, a: Any, b: Any, system: UnitSystem) -> Iterator[str]:
    """Tell how something that stands was moved, raised and aimed."""
    up = b.place.height_m - a.place.height_m
    gone = dist(a.place.position_m[:2], b.place.position_m[:2])
    steps, now = [], []
    if gone >= SAME_M:
        steps.append(f"moved {amount(gone, system=system)}")
        now.append(f"{_length(b.place.distance_m, system)} out, {_side(b.place)}")
    if abs(up) >= SAME_M:
        steps.append(f"{amount(abs(up), system=system)} {'up' if up > 0 else 'down'}")
        now.append(f"{_length(b.place.height_m, system)} high")
    if steps:
        yield f"{name}: {' and '.join(steps)}, now {', '.join(now)}"
    if a.aim != b.aim:
        at = "a place of its own" if isinstance(b.aim, Place) else f"the {b.aim}"
        yield f"{name}: aimed at {at}"


def _person(a: Any, b: Any, system: UnitSystem) -> Iterator[str]:
    name = b.name
    if a.name != b.name:
        yield f"{a.name} is now called {b.name}"
    if a.turn_deg != b.turn_deg:
        yield f"{name}: head turned to {turn_text(b.turn_deg)}"
    if a.chin_deg != b.chin_deg:
        yield f"{name}: chin {abs(b.chin_deg):g}° {'up' if b.chin_deg >= 0 else 'down'}"
    if a.tip_deg != b.tip_deg:
        yield f"{name}: head tipped to {turn_text(b.tip_deg)}"
    up = b.eye_height_m - a.eye_height_m
    if abs(up) >= SAME_M:
        way = f"{amount(abs(up), system=system)} {'up' if up > 0 else 'down'}"
        yield f"{name}: eyes {way}, now {_length(b.eye_height_m, system)} high"


def _rest(name: str, old: Any, new: Any, *, without: tuple[str, ...] = ()) -> Iterator[str]:
    """Tell every other field that has changed, by its key."""
    olds, news = (one if isinstance(one, Mapping) else {} for one in (old, new))
    for key in dict.fromkeys((*olds, *news)):
        a, b = olds.get(key), news.get(key)
        if key in without or a == b:
            continue
        words = key.replace("_", " ")
        if isinstance(a, Mapping) and isinstance(b, Mapping):
            if a.get("preset") != b.get("preset"):
                yield f"{name}: {words} now {b.get('preset') or 'of its own'}"
            else:
                yield from _rest(f"{name}: {words}" if ":" not in name else f"{name} {words}", a, b)
            continue
        joined = f"{name} {words}" if ":" in name else f"{name}: {words}"
        if b is None:
            yield f"{joined} taken away" if isinstance(a, Mapping) else f"{joined} no longer stated"
        elif isinstance(b, Mapping | list):
            yield f"{joined} {'added' if a is None else 'changed'}"
        else:
            yield f"{joined} now {b}" + (f", was {a}" if isinstance(a, str | int | float) else "")


def _shift_of_sitter(before: Setup, after: Setup) -> str:
    """Return how far the stool went where everything else stayed, else nothing."""
    dx = before.room.camera_left_m - after.room.camera_left_m
    dy = after.room.behind_sitter_m - before.room.behind_sitter_m
    if hypot(dx, dy) < SAME_M or before.camera.place == after.camera.place:
        return ""
    for field in (*_STANDING, "camera"):
        olds, news = (
            (one.camera,) if field == "camera" else getattr(one, field) for one in (before, after)
        )
        if len(olds) != len(news):
            return ""
        for a, b in zip(olds, news, strict=True):
            was, now = a.place.position_m, b.place.position_m
            if dist((was[0] - dx, was[1] - dy, was[2]), now) > 2 * SAME_M:
                return ""
    ways = []
    if abs(dx) >= SAME_M:
        side = "camera-left" if dx > 0 else "camera-right"
        ways.append(f"{amount(abs(dx), system=after.units)} to {side}")
    if abs(dy) >= SAME_M:
        way = "towards the camera" if dy > 0 else "towards the background"
        ways.append(f"{amount(abs(dy), system=after.units)} {way}")
    seat = "stool" if after.sitter.posture == "seated" else "mark"
    return f"{after.sitter.name}: {seat} moved {' and '.join(ways)}"


def _length(length_m: float, system: UnitSystem) -> str:
    return format_length(length_m, system=system)


def _side(place: Place) -> str:
    text = format_side(place.side_deg)
    return {"0°": "straight in front", "180°": "straight behind"}.get(text, text)
