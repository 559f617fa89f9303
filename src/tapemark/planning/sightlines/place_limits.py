"""Where can a light not stand, whatever the lenses show: ceiling, stand, walls, frame, power?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis import CameraView, Scene, frame_view, light_face
from tapemark.analysis.camera_frame import LEAST_DEPTH_M
from tapemark.analysis.frame_clearance import light_parts
from tapemark.analysis.rigs import ASSUMED_STAND, rigs
from tapemark.analysis.shading import ROOM_KINDS
from tapemark.geometry import FloatArray
from tapemark.planning.reach import UNDER_CEILING_M
from tapemark.planning.sightlines.place_rows import PlaceRows
from tapemark.studio import Light, Setup

_CORNERS = 8  # of a round face that are followed
NEAREST_M = 0.25  # to anybody's eyes: a light nearer than this is inside the head
_AROUND = np.arange(12) * (2.0 * np.pi / 12)
#: Slanting directions of the picture in which a part may lie clear of the frame.
_SLANTING = np.stack([np.cos(_AROUND), np.sin(_AROUND)])[:, np.arange(12) % 3 != 0]


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaceLimits:
    """Places that are out of reach, (rows, sides) bool arrays by reason.

    Attributes
    ----------
    ceiling, floor, stand, wall, frame, power, person, blocked : (rows, sides) bool arrays
        Into the ceiling or the floor; higher than the stand reaches; into a wall; modifier or
        stand in the picture; more than full power needed; inside somebody; something else
        stands between its middle and the face.
    room_m : (rows,) array
        What is left of the way to ceiling, floor or stand, whichever is least; below 0 out of
        reach.
    """

    ceiling: np.ndarray
    floor: np.ndarray
    stand: np.ndarray
    wall: np.ndarray
    frame: np.ndarray
    power: np.ndarray
    person: np.ndarray
    blocked: np.ndarray
    room_m: np.ndarray

    def any(self) -> np.ndarray:
        """Return which places are out of reach for some reason."""
        found = np.zeros(self.wall.shape, dtype=bool)
        for mask in (self.ceiling, self.floor, self.stand, self.wall, self.frame):
            found |= mask
        return np.asarray(found | self.power | self.person | self.blocked)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Body:
    """A light as points fixed to it, from the middle of its lit face. [m]

    Attributes
    ----------
    points : (n, 3) array
        Corners of modifier and head together, taken as one convex thing.
    mount : (3,) array
        Where its stand or boom holds it.
    arm_m : float
        From there to the column.
    on_column : bool
        Whether a column goes down to the floor.
    """

    points: FloatArray
    mount: FloatArray
    arm_m: float
    on_column: bool


def reach_m(light: Light) -> float:
    """Return how high the stand of a light reaches: as described, else assumed. [m]"""
    stand = ASSUMED_STAND if light.stand is None else light.stand
    return stand.highest_m


def place_limits(
    scene: Scene, light: Light, rows: PlaceRows, *, power_stops: FloatArray
) -> PlaceLimits:
    """Return where a light cannot stand.

    Parameters
    ----------
    scene : Scene
        Room, camera and people.
    light : Light
        As described.
    rows : PlaceRows
        The places, the light aimed at the face from each.
    power_stops : (rows,) array
        Power that each row needs, counted from full. [stops]
    """
    setup = scene.setup
    body = _body(light, setup)
    high, mount = rows.upright(body.points)[1], rows.upright(body.mount[None])[1][:, 0]

    def all_around(mask: np.ndarray) -> np.ndarray:
        return np.broadcast_to(mask[:, None], rows.shape)

    over = setup.room.height_m - UNDER_CEILING_M - high.max(axis=1)
    under, up = high.min(axis=1), reach_m(light) - mount
    return PlaceLimits(
        ceiling=all_around(over < 0.0),
        floor=all_around(under < 0.0),
        stand=all_around(up < 0.0),
        wall=_in_wall(setup, body, rows),
        frame=_in_frame(scene, body, rows),
        power=all_around(power_stops > 1e-6),
        person=_in_person(setup, rows),
        blocked=_blocked(scene, rows),
        room_m=np.minimum(np.minimum(over, under), up),
    )


def _body(light: Light, setup: Setup) -> _Body:
    """Return a light as points fixed to it."""
    face = light_face(light, setup)
    parts = [points for name, points in light_parts(light, face, setup) if name == "body"]
    around = parts[0][:: max(len(parts[0]) // _CORNERS, 1)]
    points = np.concatenate([around, parts[-1][-4:]])
    rig = next(one for one in rigs(setup) if one.name == light.name)
    along = float((np.array(rig.head_m) - face.center) @ face.axes[:, 1])
    return _Body(
        points=(points - face.center) @ face.axes,
        mount=np.array([0.0, along, 0.0]),
        arm_m=rig.stand.boom_out_m if rig.stand.kind == "boom" else 0.0,
        on_column=rig.on_legs,
    )


def _in_wall(setup: Setup, body: _Body, rows: PlaceRows) -> np.ndarray:
    room, place = setup.room, rows.positions
    low, high = (room.x_min_m, room.y_min_m), (room.x_max_m, room.y_max_m)
    size = float(np.sqrt((body.points**2).sum(axis=1).max()))
    free = np.minimum(place[..., :2] - low, np.subtract(high, place[..., :2])).min(axis=-1)
    found = np.asarray(free < 0.0)
    row, side = np.nonzero((free >= 0.0) & (free < size))
    points = rows.points(body.points, row=row, side=side)[..., :2]
    found[row, side] = ((points < low) | (points > high)).any(axis=(1, 2))
    return found


def _in_person(setup: Setup, rows: PlaceRows) -> np.ndarray:
    place = rows.positions
    found = np.zeros(rows.shape, dtype=bool)
    for one in setup.people:
        eyes = np.array([*one.mark_m, one.eye_height_m])
        found |= ((place - eyes) ** 2).sum(axis=-1) < NEAREST_M**2
    return found


def _blocked(scene: Scene, rows: PlaceRows) -> np.ndarray:
    """Return where something else stands between the middle of the light and the face."""
    eye = np.array([0.0, 0.0, rows.eye_height_m])
    span = rows.positions - eye
    length = np.sqrt((span**2).sum(axis=-1))
    along = span / length[..., None]
    found = np.zeros(rows.shape, dtype=bool)
    for other in scene.emitters:
        if other.kind in ROOM_KINDS:
            continue
        offset = other.face.center - eye
        far = float(np.sqrt(offset @ offset))
        reach = min(other.face.reach_m / max(far, 1e-6), 1.0)
        near = np.nonzero((along @ (offset / far) > np.sqrt(1.0 - reach**2)) & (length > far / 2))
        if near[0].size:
            met = other.face.hits(np.broadcast_to(eye, along[near].shape), along[near]).distance
            with np.errstate(invalid="ignore"):
                found[near] |= met < length[near] - 1e-3
    return found


def _in_frame(scene: Scene, body: _Body, rows: PlaceRows) -> np.ndarray:
    """Return where some of the light, or of what it stands on, lies within the frame."""
    view = frame_view(scene)
    found = _column_in_frame(rows, body, view) if body.on_column else np.zeros(rows.shape, bool)
    row, side = np.nonzero(~found & _near_frame(rows, body, view))
    found[row, side] |= _overlaps(rows.points(body.points, row=row, side=side), view)
    return found


def _near_frame(rows: PlaceRows, body: _Body, view: CameraView) -> np.ndarray:
    """Return the places from which anything at all of the light could be in the frame."""
    local = (rows.positions - view.position) @ view.axes
    size = float(np.sqrt((body.points**2).sum(axis=1).max()))
    right, ahead, up = np.moveaxis(local, -1, 0)
    near = ahead > -size
    for off, half in ((right, view.half_width), (up, view.half_height)):
        near &= np.abs(off) < half * ahead + size * np.hypot(1.0, half)
    return np.asarray(near)


def _column_in_frame(rows: PlaceRows, body: _Body, view: CameraView) -> np.ndarray:
    """Return where the column of a stand or boom crosses the frame, taken as upright in it."""
    out, high = (one[:, 0] for one in rows.upright(body.mount[None]))
    side = np.deg2rad(rows.side_deg)
    away = np.where(out >= 0.0, out + body.arm_m, out - body.arm_m)[:, None]
    top = np.stack(
        [away * np.sin(side), away * np.cos(side), np.broadcast_to(high[:, None], rows.shape)], -1
    )
    local = (top - view.position) @ view.axes
    foot = local - high[:, None, None] * view.axes[2]
    depth = np.maximum(local[..., 1], LEAST_DEPTH_M)
    beside = np.minimum(np.abs(local[..., 0]), np.abs(foot[..., 0])) > view.half_width * depth
    under = local[..., 2] < -view.half_height * depth
    foot_depth = np.maximum(foot[..., 1], LEAST_DEPTH_M)
    over = foot[..., 2] > view.half_height * foot_depth
    return np.asarray((local[..., 1] > LEAST_DEPTH_M) & ~beside & ~under & ~over)


def _overlaps(points: FloatArray, view: CameraView) -> np.ndarray:
    """Return which convex parts, (k, n, 3) points in the world, overlap the frame."""
    local = ((points.reshape(-1, 3) - view.position) @ view.axes).reshape(points.shape)
    depth = np.maximum(local[..., 1], LEAST_DEPTH_M)
    ahead = np.asarray(local[..., 1].max(axis=1) > LEAST_DEPTH_M)
    across, down = local[..., 0] / depth, -local[..., 2] / depth
    half = np.array([view.half_width, view.half_height])
    for plane, own in ((across, half[0]), (down, half[1])):
        ahead &= (plane.min(axis=1) < own) & (plane.max(axis=1) > -own)
    left = np.flatnonzero(ahead)
    for way in _SLANTING.T:
        gap = (across[left] * way[0] + down[left] * way[1]).min(axis=1)
        ahead[left] &= gap < np.abs(way) @ half
    return ahead
