"""Which limit binds a plan: what stops its lights from going higher, lower or brighter?"""

from dataclasses import dataclass

from tapemark.analysis import frame_clearances, light_face
from tapemark.planning.judge import Judged
from tapemark.planning.lens_judge import lenses_only
from tapemark.studio import Setup, changed, with_light
from tapemark.units import format_length

LOWERED_M = (0.05, 0.1, 0.2, 0.4)  # the key is tried so much lower
#: What counts as ample room, by which limits are compared: in metres, and in stops.
NEAR_BACKDROP_M = 1.2  # nearer than this one hangs it only if one has to
AMPLE_M, AMPLE_STOPS = 0.3, 1.5


@dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """One thing that a plan comes up against.

    Attributes
    ----------
    what : str
        ``lenses``, ``ceiling``, ``stand``, ``frame`` or ``power``.
    text : str
        In words, with the room that is left.
    left : float
        Share of what counts as ample; 0 where there is none left. [-]
    """

    what: str
    text: str
    left: float


def limits_of(judged: Judged, *, gap_chosen: bool = False) -> tuple[Limit, ...]:
    """Return what a setup comes up against, the tightest first.

    Parameters
    ----------
    judged : Judged
        The setup.
    gap_chosen : bool
        Whether the plan chose how far away the backdrop hangs.
    """
    found = [
        *_lenses(judged),
        *_ceiling(judged.setup),
        *_stands(judged.setup),
        *_frame(judged),
        *_power(judged.setup),
        *(_backdrop(judged.setup) if gap_chosen else []),
    ]
    return tuple(sorted(found, key=lambda one: one.left))


def _lenses(judged: Judged) -> list[Limit]:
    """Return how far the key may come down before the lenses show it."""
    setup = judged.setup
    if all(one.glasses is None for one in setup.people) or not setup.lights:
        return []
    key, seen = setup.lights[0], judged.seen
    if judged.verdict != "clear":
        return [Limit(what="lenses", text="the lenses: they show an edge of a light", left=0.0)]
    for down in LOWERED_M:
        if key.place.height_m - down < 0.3:
            break
        place = changed(key.place, {"height_m": key.place.height_m - down})
        lower = with_light(setup, changed(key, {"place": place}))
        if lenses_only(lower, like=seen).verdict != "clear":
            far = format_length(down, system=setup.units)
            text = f"the lenses: {far} lower and they show the {key.name}"
            return [Limit(what="lenses", text=text, left=down / 2.0 / AMPLE_M)]
    return []


def _ceiling(setup: Setup) -> list[Limit]:
    found = []
    for light in setup.lights:
        top = float(light_face(light, setup).outline()[:, 2].max())
        left = setup.room.height_m - top
        far = format_length(left, system=setup.units)
        text = f"the ceiling: {far} over the top of the {light.name}"
        found.append(Limit(what="ceiling", text=text, left=max(left - 0.1, 0.0) / AMPLE_M))
    return sorted(found, key=lambda one: one.left)[:1]


def _stands(setup: Setup) -> list[Limit]:
    found = []
    for light in setup.lights:
        if light.stand is None:
            continue
        left = light.stand.highest_m - light.place.height_m
        far = format_length(max(left, 0.0), system=setup.units)
        text = f"the stand of the {light.name}: {far} more reach"
        found.append(Limit(what="stand", text=text, left=max(left, 0.0) / AMPLE_M))
    return sorted(found, key=lambda one: one.left)[:1]


def _frame(judged: Judged) -> list[Limit]:
    nearest = [one for one in frame_clearances(judged.seen.scenes[0]) if one.gap >= 0.0]
    if not nearest:
        return []
    one = nearest[0]
    far = format_length(one.gap_m, system=judged.setup.units)
    text = f"the frame: {one.name} clears its {one.edge} edge by {far}"
    if one.gap_m < 0.005:
        text = f"the frame: {one.name} is just past a corner of it"
    return [Limit(what="frame", text=text, left=one.gap_m / AMPLE_M)]


def _power(setup: Setup) -> list[Limit]:
    found = []
    for light in setup.lights:
        up, down = -light.power_stops, light.power_stops - light.head.lowest_power_stops
        left = max(min(up, down), 0.0)
        way = "full power" if up <= down else "lowest power"
        text = f"the power of the {light.name}: {left:.1f} stops from {way}"
        if left < 0.05:
            text = f"the power of the {light.name}: it is at its {way}"
        found.append(Limit(what="power", text=text, left=left / AMPLE_STOPS))
    return sorted(found, key=lambda one: one.left)[:1]


def _backdrop(setup: Setup) -> list[Limit]:
    """Return that a background as seen keeps the backdrop near, where it does."""
    hung = setup.backdrop
    if hung is None or hung.look != "as seen" or hung.distance_m > NEAR_BACKDROP_M:
        return []
    near = format_length(hung.distance_m, system=setup.units)
    text = f"the background as seen: farther than {near} behind the sitter it gets too dark"
    return [Limit(what="background", text=text, left=0.3)]
