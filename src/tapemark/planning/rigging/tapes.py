r"""From which two points on the floor is everything taped, so that two tapes find every place?

Two tapes from known points meet at two places, one on each side of the line
between the points; which side is said in words.  They fix a place well where
they cross squarely, and badly where they run nearly along each other::

        first o----------o second
               \        /
                \      /        a good crossing: 30 to 150 degrees
                 \    /
                  X--'  the foot of a stand
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin, sqrt
from typing import Literal

from tapemark.analysis import rigs
from tapemark.studio import Setup
from tapemark.units import INCH, UnitSystem, format_length

#: Between these two angles two tapes are said to cross well. [deg]
LEAST_CROSSING_DEG, MOST_CROSSING_DEG = 30.0, 150.0
#: What a tape measure in a camera bag reaches; common practice. [m]
LONGEST_TAPE_M = 8.0
SHORTEST_BASE_M = 0.8  # nearer reference points are no base to measure from [m]
#: What is read off a tape: whole centimetres, or quarters of an inch. [m]
METRIC_TAPE_STEP_M, US_TAPE_STEP_M = 0.01, INCH / 4
HELPER_AWAY_M = {"metric": 2.0, "us": 72 * INCH}  # of the extra mark [m]
_ON_LINE_M = 0.005  # nearer to the line between the points no side is said [m]

ThingKind = Literal["sitter", "person", "camera", "light", "panel", "screen"]
Point = tuple[float, float]
FloorPlace = tuple[str, ThingKind, str, Point]  # name, kind, which point, where [m]


@dataclass(frozen=True, kw_only=True, slots=True)
class Reference:
    """A point on the floor from which tapes are run.

    Attributes
    ----------
    letter, name : str
        As on the plan and in the table, and in words.
    find : str
        How it is found in the room.
    x_m, y_m : float
        Where it is, world frame. [m]
    """

    letter: str
    name: str
    find: str
    x_m: float
    y_m: float


@dataclass(frozen=True, kw_only=True, slots=True)
class TapedThing:
    """A thing on the floor, found with two tapes.

    Attributes
    ----------
    name : str
        What the photographer calls it.
    kind : str
        ``sitter``, ``person``, ``camera``, ``light``, ``panel`` or ``screen``.
    point : str
        Which point of it is meant, such as ``foot of the stand``.
    x_m, y_m : float
        Where that is, world frame. [m]
    first_m, second_m : float
        Length of the tape from the first and from the second reference point. [m]
    side : str
        On which side of the line between them; empty where all is on one side, or on the line.
    crossing_deg : float
        Angle at which the two tapes meet. [deg]
    """

    name: str
    kind: ThingKind
    point: str
    x_m: float
    y_m: float
    first_m: float
    second_m: float
    side: str
    crossing_deg: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Tapes:
    """Two reference points and everything taped from them.

    Attributes
    ----------
    first, second : Reference
        The points.
    base_m : float
        From one to the other. [m]
    left_side, right_side : str
        What the two sides of the line are called, as seen from the first towards the second.
    side_note : str
        What is said once about sides.
    things : tuple of TapedThing
        Everything but the points themselves.
    """

    first: Reference
    second: Reference
    base_m: float
    left_side: str
    right_side: str
    side_note: str
    things: tuple[TapedThing, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Pair:
    """Two points, and what the sides of the line between them are called."""

    first: Reference
    second: Reference
    left: str  # of somebody who stands at the first and looks at the second
    right: str
    note: str


def tapes_of(setup: Setup) -> Tapes:
    """Return two reference points for a setup and the tapes from them.

    Notes
    -----
    Tried in this order: the sitter's and the camera's mark, two corners of the room on one wall
    (behind the sitter first), the sitter's mark and an extra mark square to the line of sight.
    The first pair wins that fixes everything with tapes that cross between 30 and 150 degrees
    and are no longer than a usual tape measure; else the one that fails for the fewest.
    """
    places = floor_places(setup)
    pairs = [pair for pair in _pairs(setup) if _base_m(pair) >= SHORTEST_BASE_M]
    best = min(
        enumerate(pairs or _pairs(setup)[-1:]),
        key=lambda ranked: (_failures(ranked[1], places), ranked[0]),
    )[1]
    here = {best.first.name, best.second.name}
    things = tuple(
        _taped(best, one) for one in places if _mark_name(one[0], one[1], setup) not in here
    )
    return Tapes(
        first=best.first,
        second=best.second,
        base_m=_base_m(best),
        left_side=best.left,
        right_side=best.right,
        side_note=best.note,
        things=things,
    )


def taped_place(
    tapes: Tapes, *, first_m: float, second_m: float, side: str
) -> tuple[float, float] | None:
    """Return where two tapes meet on one side of the line between the reference points.

    Parameters
    ----------
    tapes : Tapes
        The reference points.
    first_m, second_m : float
        Length of both tapes. [m]
    side : str
        The side, in the words of a `TapedThing`; empty for the one side there is.

    Returns
    -------
    tuple of two floats or None
        Place on the floor, world frame [m]; None where the tapes do not meet.
    """
    base = tapes.base_m
    along = (first_m**2 - second_m**2 + base**2) / (2 * base)
    squared = first_m**2 - along**2
    if squared < -1e-3:
        return None
    (ax, ay), (bx, by) = ((one.x_m, one.y_m) for one in (tapes.first, tapes.second))
    ux, uy = (bx - ax) / base, (by - ay) / base
    out = sqrt(max(squared, 0.0)) * (-1.0 if side == tapes.right_side else 1.0)
    return ax + along * ux - out * uy, ay + along * uy + out * ux


def format_tape(length_m: float, *, system: UnitSystem) -> str:
    """Return a length as it is read off a tape: to a centimetre or a quarter of an inch.

    Examples
    --------
    >>> format_tape(1.374, system="metric")
    '1.37 m'
    >>> format_tape(1.378, system="us"), format_tape(0.3048, system="us")
    ('4 ft 6 1/4 in', '1 ft 0 in')
    """
    if system == "metric":
        return f"{round(length_m / METRIC_TAPE_STEP_M) / 100:.2f} m"
    quarters = round(length_m / US_TAPE_STEP_M)
    feet, rest = divmod(quarters, 48)
    inches, part = divmod(rest, 4)
    parts = [f"{feet} ft"] if feet else []
    parts.append(f"{inches}" if inches or not part else "")
    parts += ["", "1/4", "1/2", "3/4"][part : part + 1] if part else []
    return " ".join(one for one in parts if one) + " in"


def floor_places(setup: Setup) -> tuple[FloorPlace, ...]:
    """Return name, kind, point and place of everything that is taped on the floor. [m]"""
    found: list[FloorPlace] = [
        (setup.sitter.name or "sitter", "sitter", "under the eyes", (0.0, 0.0))
    ]
    for number, one in enumerate(setup.companions, 2):
        found.append((one.name or f"person {number}", "person", "under the eyes", one.mark_m))
    x, y, _ = setup.camera.place.position_m
    found.append(("camera", "camera", "under the front of the lens", (x, y)))
    for rig in rigs(setup):
        x, y, _ = rig.light.place.position_m
        place: Point = rig.base_m if rig.on_legs else (x, y)
        foot = "foot of the column" if rig.on_legs else "under the lit face"
        found.append((rig.name, "light", foot, place))
    for panel in setup.panels:
        found.append((panel.name, "panel", "under its middle", panel.place.position_m[:2]))
    for screen in setup.screens:
        found.append((screen.name, "screen", "under its middle", screen.place.position_m[:2]))
    return tuple(found)


def _pairs(setup: Setup) -> list[_Pair]:
    """Return the pairs of reference points there are, the handiest first."""
    room, system = setup.room, setup.units
    mark = _at("S", "sitter mark", (0.0, 0.0), setup)
    x, y, _ = setup.camera.place.position_m
    camera = _at("C", "camera mark", (x, y), setup)
    left, right, back, front = room.x_max_m, room.x_min_m, room.y_min_m, room.y_max_m
    behind = [
        _corner("A", "camera-left", "behind the sitter", (left, back)),
        _corner("B", "camera-right", "behind the sitter", (right, back)),
    ]
    before = [
        _corner("D", "camera-left", "behind the camera", (left, front)),
        _corner("E", "camera-right", "behind the camera", (right, front)),
    ]
    on_walls = (
        # The room lies to the right of somebody who looks from the first to the second,
        (behind[0], behind[1], "right"),
        (before[0], before[1], "left"),  # or to the left.
        (behind[0], before[0], "left"),
        (behind[1], before[1], "right"),
    )
    corners = [_on_wall(one, other, room_on) for one, other, room_on in on_walls]
    away = HELPER_AWAY_M[system]
    helper = Reference(
        letter="H",
        name="helper mark",
        find=f"{format_length(away, system=system)} camera-left of S, square to the line from S "
        "to the camera: 3, 4 and 5 tape lengths make a square corner",
        x_m=away,
        y_m=0.0,
    )
    return [
        _Pair(
            first=mark,
            second=camera,
            left="camera-right",
            right="camera-left",
            note="Side: as seen from the camera, of the line from S to C.",
        ),
        *corners,
        _Pair(
            first=mark,
            second=helper,
            left="towards the camera",
            right="towards the backdrop",
            note="Side: of the line from S to H.",
        ),
    ]


def _at(letter: str, name: str, place: Point, setup: Setup) -> Reference:
    """Return a mark that is found from two walls, the one behind and the nearer one beside."""
    room, (x, y) = setup.room, place
    from_left, from_right = room.x_max_m - x, x - room.x_min_m
    beside, wall = min((from_left, "camera-left"), (from_right, "camera-right"))
    out, away = (format_tape(one, system=setup.units) for one in (y - room.y_min_m, beside))
    find = f"{out} from the wall behind the sitter, {away} from the wall on {wall}"
    return Reference(letter=letter, name=name, find=find, x_m=x, y_m=y)


def _corner(letter: str, side: str, where: str, place: Point) -> Reference:
    return Reference(
        letter=letter,
        name=f"corner {where}, {side}",
        find="at the floor, in the corner of the walls",
        x_m=place[0],
        y_m=place[1],
    )


def _on_wall(first: Reference, second: Reference, room_on: str) -> _Pair:
    """Return two corners of the room as reference points: all there is lies on one side."""
    sides = ("", "outside the room") if room_on == "left" else ("outside the room", "")
    note = "Side: everything lies inside the room."
    return _Pair(first=first, second=second, left=sides[0], right=sides[1], note=note)


def _mark_name(name: str, kind: ThingKind, setup: Setup) -> str:
    if kind == "sitter":
        return "sitter mark"
    return "camera mark" if kind == "camera" else name + " "


def _base_m(pair: _Pair) -> float:
    return hypot(pair.second.x_m - pair.first.x_m, pair.second.y_m - pair.first.y_m)


def _failures(pair: _Pair, places: Iterable[FloorPlace]) -> tuple[int, float]:
    """Return how many things a pair fixes badly, and how badly the worst."""
    count, worst = 0, 1.0
    for _, _, _, place in places:
        thing = _taped(pair, ("", "light", "", place))
        if min(thing.first_m, thing.second_m) < _ON_LINE_M:
            continue  # a reference point itself
        long = max(thing.first_m, thing.second_m) > LONGEST_TAPE_M
        crossing = thing.crossing_deg
        if long or not LEAST_CROSSING_DEG <= crossing <= MOST_CROSSING_DEG:
            count += 1
            worst = min(worst, sin(radians(crossing)))
    return count, -worst if count else 0.0


def _taped(pair: _Pair, thing: FloorPlace) -> TapedThing:
    name, kind, point, (x, y) = thing
    (ax, ay), (bx, by) = ((one.x_m, one.y_m) for one in (pair.first, pair.second))
    first, second = hypot(x - ax, y - ay), hypot(x - bx, y - by)
    turned = atan2(by - y, bx - x) - atan2(ay - y, ax - x)
    crossing = abs(degrees(atan2(sin(turned), cos(turned))))
    leftward = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / max(_base_m(pair), 1e-9)
    side = pair.left if leftward > 0.0 else pair.right
    return TapedThing(
        name=name,
        kind=kind,
        point=point,
        x_m=x,
        y_m=y,
        first_m=first,
        second_m=second,
        side="" if abs(leftward) < _ON_LINE_M else side,
        crossing_deg=crossing,
    )
