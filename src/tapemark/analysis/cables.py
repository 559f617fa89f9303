"""Which cables lie across a way that people walk, and which stands are in it?

A cable is taken to run straight over the floor, from the foot of the stand to the outlet of
its circuit.
"""

from dataclasses import dataclass
from math import hypot

from tapemark.analysis.circuits import circuit_of
from tapemark.analysis.rigs import Rig
from tapemark.studio import Setup, Walkway

Point2 = tuple[float, float]

CAMERA_LINE = "the line from camera to sitter"
#: What the photographer keeps free to step into, from side to side (assumption). [m]
CAMERA_LINE_WIDTH_M = 0.6


@dataclass(frozen=True, kw_only=True, slots=True)
class CableCrossing:
    """One cable across one way.

    Attributes
    ----------
    light, circuit : str
        Whose cable, and to which outlet.
    way : str
        Name of the walkway, or `CAMERA_LINE`.
    walkway : bool
        Whether it is a described walkway.
    """

    light: str
    circuit: str
    way: str
    walkway: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class StandInWay:
    """One stand whose legs reach into a walkway.

    Attributes
    ----------
    light, way : str
        Name of the light and of the walkway.
    """

    light: str
    way: str


@dataclass(frozen=True, kw_only=True, slots=True)
class CableRun:
    """One cable over the floor.

    Attributes
    ----------
    light, circuit : str
        Whose cable, and to which outlet.
    start_m, end_m : tuple of two floats
        Foot of the column, and outlet. [m]
    """

    light: str
    circuit: str
    start_m: Point2
    end_m: Point2


def cable_runs(setup: Setup, rigs: tuple[Rig, ...]) -> tuple[CableRun, ...]:
    """Return the cables to described outlets.

    Notes
    -----
    Heads on a battery have no cable. Lights whose circuit has no outlet on the floor plan are
    left out.
    """
    found = []
    for rig in rigs:
        circuit = circuit_of(rig.light, setup=setup)
        if circuit is None or circuit.outlet is None or rig.light.head.mains_w == 0.0:
            continue
        found.append(
            CableRun(
                light=rig.name,
                circuit=circuit.name,
                start_m=rig.base_m,
                end_m=circuit.outlet.position_m,
            )
        )
    return tuple(found)


def cable_crossings(setup: Setup, rigs: tuple[Rig, ...]) -> tuple[CableCrossing, ...]:
    """Return the cables across walkways or the line from camera to sitter."""
    ways = [(way.name, walkway_corners(way), True) for way in setup.walkways]
    camera = setup.camera.place.position_m[:2]
    ways.append((CAMERA_LINE, _strip(camera, (0.0, 0.0), CAMERA_LINE_WIDTH_M), False))
    return tuple(
        CableCrossing(light=run.light, circuit=run.circuit, way=name, walkway=walkway)
        for run in cable_runs(setup, rigs)
        for name, corners, walkway in ways
        if crosses(run.start_m, run.end_m, corners=corners)
    )


def stands_in_the_way(setup: Setup, rigs: tuple[Rig, ...]) -> tuple[StandInWay, ...]:
    """Return the stands whose legs reach into a walkway."""
    return tuple(
        StandInWay(light=rig.name, way=way.name)
        for way in setup.walkways
        for rig in rigs
        if rig.on_legs
        and floor_distance_m(rig.base_m, way.start.position_m, way.end.position_m)
        < way.width_m / 2 + rig.stand.leg_radius_m
    )


def crosses(start: Point2, end: Point2, *, corners: tuple[Point2, ...]) -> bool:
    """Return whether a straight line over the floor lies in or crosses a convex area.

    Parameters
    ----------
    start, end : tuple of two floats
        Ends of the line. [m]
    corners : tuple of points
        Of the area, one after the other, from x towards y. [m]

    Notes
    -----
    The line is cut by the half plane of each side in turn; what is left lies inside. A line
    that only touches does not cross.
    """
    first, last = 0.0, 1.0
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        inward = (-(by - ay), bx - ax)
        at_start = (start[0] - ax) * inward[0] + (start[1] - ay) * inward[1]
        at_end = (end[0] - ax) * inward[0] + (end[1] - ay) * inward[1]
        if at_start <= 0.0 and at_end <= 0.0:
            return False
        if at_start < 0.0:
            first = max(first, at_start / (at_start - at_end))
        elif at_end < 0.0:
            last = min(last, at_start / (at_start - at_end))
    return first < last


def walkway_corners(way: Walkway) -> tuple[Point2, ...]:
    """Return the corners of a way on the floor, one after the other, from x towards y [m]."""
    return _strip(way.start.position_m, way.end.position_m, way.width_m)


def _strip(start: Point2, end: Point2, width_m: float) -> tuple[Point2, ...]:
    """Return the corners of a straight way; a square where both ends are one spot."""
    along = (end[0] - start[0], end[1] - start[1])
    size = hypot(*along)
    x, y = (along[0] / size, along[1] / size) if size > 0.0 else (1.0, 0.0)
    half = width_m / 2
    back, front = (
        (start, end) if size > 0.0 else ((start[0] - half, start[1]), (end[0] + half, end[1]))
    )
    right, left = (y * half, -x * half), (-y * half, x * half)
    return (
        (back[0] + right[0], back[1] + right[1]),
        (front[0] + right[0], front[1] + right[1]),
        (front[0] + left[0], front[1] + left[1]),
        (back[0] + left[0], back[1] + left[1]),
    )


def floor_distance_m(point: Point2, start: Point2, end: Point2) -> float:
    """Return how far a point is from a line between two ends. [m]"""
    along = (end[0] - start[0], end[1] - start[1])
    away = (point[0] - start[0], point[1] - start[1])
    squared = along[0] ** 2 + along[1] ** 2
    share = 0.0
    if squared > 0.0:
        share = min(max((away[0] * along[0] + away[1] * along[1]) / squared, 0.0), 1.0)
    return hypot(away[0] - share * along[0], away[1] - share * along[1])
