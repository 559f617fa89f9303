"""How much of whom is in the frame, and does the face look natural from there?"""

from dataclasses import dataclass

import numpy as np

from tapemark.analysis.camera_frame import (
    EDGES,
    CameraView,
    body_boxes,
    focus_depth_m,
    frame_view,
    head_marks,
)
from tapemark.analysis.scene import Scene
from tapemark.anatomy import Body, body_pose
from tapemark.geometry import FloatArray, to_world
from tapemark.optics import conjugate_distances, focal_length_for, perspective_ratio
from tapemark.studio import Sitter, aim_point_m
from tapemark.units import FOOT, MM

#: Frame height at the sitter that goes with each crop; common practice, no published
#: source. A seated sitter is shorter. [m]
CROPS_M = {
    "tight head": 0.35,
    "head and shoulders": 0.6,
    "half length": 1.0,
    "three-quarter length": 1.4,
    "full length": 1.9,
}
SEATED_CROPS_M = {**CROPS_M, "three-quarter length": 1.2, "full length": 1.55}
GROUP_MARGIN = 0.04  # of the frame, kept free around a group (assumption)
#: At least 6 ft between camera and sitter, with 85 or 105 mm; [portrait-distance]. [m]
ADVISED_DISTANCE_M = 6 * FOOT
ROOM_BEHIND_CAMERA_M = 0.5  # for who stands there (assumption)
PARALLEL = 1e-9  # a direction cosine: a wall is then met nowhere in any room [-]
_CUT = 0.003  # of the frame: less past an edge is not told

# Lowest height of each part of the body under the eyes of somebody 1.69 m tall [m]: as drawn,
# ±0.04 m (assumption). Somebody seated has the legs in front, by their height over the floor.
_LEVELS_M = {
    "chin": -0.125,
    "neck": -0.19,
    "shoulders": -0.33,
    "chest": -0.48,
    "waist": -0.66,
    "hips": -0.80,
    "thighs": -1.05,
    "knees": -1.18,
    "shins": -1.47,
    "ankles": -1.56,
    "feet": -1.61,
}
_STANDING_EYE_M, _SEATED_EYE_M = 1.606, 0.776  # over the floor, over the seat
_SHINS_FORWARD_M = 0.38  # of the eyes, seated


@dataclass(frozen=True, kw_only=True, slots=True)
class Overhang:
    """A part past an edge of the frame.

    Attributes
    ----------
    edge : str
        ``camera-left``, ``top``, ``camera-right`` or ``bottom``.
    by_m : float
        How far, at the sitter. [m]
    """

    edge: str
    by_m: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PersonInFrame:
    """One person as framed.

    Attributes
    ----------
    sitter : str
        Who.
    distance_m : float
        Camera to the midpoint between the eyes. [m]
    seen : bool
        Whether any of the head is within the frame.
    face_whole : bool
        Whether chin, brow and both sides of the face are within it.
    head_share : float
        Crown to chin, without the hair, as a share of the frame's height; NaN behind the
        camera. [-]
    head_mm : float
        The same on the sensor. [mm]
    headroom : float
        From the hair up to the top edge, as a share of the frame's height; negative where the
        top of the head is cut. [-]
    eyes_up : float
        Height of the eyes in the frame, as a share from the bottom edge. [-]
    lower_edge : str
        Where the bottom edge cuts the body; ``below the feet`` if it does not.
    head_past, body_past : tuple of Overhang
        Edges that cut head and hair, and the sides that cut shoulders and arms.
    """

    sitter: str
    distance_m: float
    seen: bool
    face_whole: bool
    head_share: float
    head_mm: float
    headroom: float
    eyes_up: float
    lower_edge: str
    head_past: tuple[Overhang, ...]
    body_past: tuple[Overhang, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Perspective:
    """How distance draws the face that is nearest to the camera.

    Attributes
    ----------
    sitter : str
        Whose face.
    distance_m : float
        Camera to the midpoint between the eyes. [m]
    nose_to_ear_m : float
        Depth of the head from the tip of the nose to the ear's tragion. [m]
    nose_over_ear : float
        How much larger the nose is drawn than an ear, facing the camera. [-]
    advised_distance_m : float
        The usual least distance, or what the room leaves. [m]
    matching_focal_length_mm : float
        Focal length that draws the head as large from there; NaN where it is no farther. [mm]
    handbook_focal_length_mm : float
        Long and short side of the frame together: least for head and shoulders. [mm]

    References
    ----------
    [army-ss0510] p. 11, focal length; [portrait-distance] at least 6 ft.
    """

    sitter: str
    distance_m: float
    nose_to_ear_m: float
    nose_over_ear: float
    advised_distance_m: float
    matching_focal_length_mm: float
    handbook_focal_length_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Framing:
    """What the frame takes in.

    Attributes
    ----------
    people : tuple of PersonInFrame
        Everybody, the sitter first.
    frame_width_m, frame_height_m : float
        What the frame takes in at the sitter's nearer eye; NaN if that is not in front. [m]
    crop : str
        Nearest name for that height: ``tight head``, ``head and shoulders``, ``half length``,
        ``three-quarter length`` or ``full length``; ``group`` where that was wished for and
        everybody is in it.
    wish : str or None
        What was meant.
    wish_distance_m, wish_focal_length_mm : float
        Distance with this lens, or lens from this distance, that would give the wish; NaN
        without one, or where the sitter is not in front. [m, mm]
    farthest_m : float
        How far back the room lets the camera go along its line to the sitter. [m]
    perspective : Perspective
        Of the nearest face.
    """

    people: tuple[PersonInFrame, ...]
    frame_width_m: float
    frame_height_m: float
    crop: str
    wish: str | None
    wish_distance_m: float
    wish_focal_length_mm: float
    farthest_m: float
    perspective: Perspective


def framing(scenes: tuple[Scene, ...]) -> Framing:
    """Return who and how much is in the frame.

    Parameters
    ----------
    scenes : tuple of Scene
        One setup seen for each of its people, the sitter first.

    Notes
    -----
    For the thin lens focused on the sitter's nearer eye.  A lens that focuses inside takes in
    up to focal length over distance more, 4 % at 2 m and 85 mm.
    """
    first = scenes[0]
    view = frame_view(first)
    boxes = [_head_and_body(view, one) for one in scenes]
    people = tuple(_person(one, view, *box) for one, box in zip(scenes, boxes, strict=True))
    aim = np.array(aim_point_m(first.setup.camera, setup=first.setup))
    depth = focus_depth_m(first, target=aim)
    width, height = view.field_m(depth) if np.isfinite(depth) else (np.nan, np.nan)
    wish = first.setup.camera.framing
    crop = _crop(height, first.sitter)
    if wish == "group" and all(one.face_whole and not one.body_past for one in people):
        crop = wish
    wished = _wished_height_m(wish, first.sitter, height_m=height, boxes=boxes)
    distance, focal = _ways_to(wished, scene=first, depth_m=depth)
    return Framing(
        people=people,
        frame_width_m=width,
        frame_height_m=height,
        crop=crop,
        wish=wish,
        wish_distance_m=distance,
        wish_focal_length_mm=focal,
        farthest_m=_farthest_m(first),
        perspective=_perspective(min(scenes, key=_distance_m)),
    )


def _person(scene: Scene, view: CameraView, head: FloatArray, body: FloatArray) -> PersonInFrame:
    """Return one person as framed, from the boxes around head and body."""
    pose = scene.pose
    world = to_world(head_marks(scene.head), origin=pose.origin, axes=pose.axes)
    shares, eyes = view.shares(world), view.shares(pose.origin)
    within = (shares[1:] >= 0.0) & (shares[1:] <= 1.0)  # all but the crown
    field = view.field_m(float(view.depth(pose.origin)))
    tall = (shares[5] - shares[0]) * field
    head_share = float(np.hypot(*tall)) / field[1]
    return PersonInFrame(
        sitter=scene.sitter.name,
        distance_m=_distance_m(scene),
        seen=bool(np.all(head[:2] < 1.0) and np.all(head[2:] > 0.0)),
        face_whole=bool(within.all()),
        head_share=head_share,
        head_mm=head_share * scene.setup.camera.frame_height_mm,
        headroom=float(head[1]),
        eyes_up=1.0 - float(eyes[1]),
        lower_edge=_lower_edge(scene, view),
        head_past=_past(head, field),
        body_past=tuple(one for one in _past(body, field) if one.edge.startswith("camera")),
    )


def _head_and_body(view: CameraView, scene: Scene) -> tuple[FloatArray, FloatArray]:
    """Return the boxes around the head and around shoulders and arms, each (4,) [-]."""
    boxes = body_boxes(view, scene.body)
    return _around(boxes, scene.body, "head"), _around(boxes, scene.body, "trunk", "arm")


def _around(boxes: FloatArray, body: Body, *names: str) -> FloatArray:
    rows = boxes[[name in names for name in body.names]]
    return np.concatenate([rows[:, :2].min(axis=0), rows[:, 2:].max(axis=0)])


def _past(box: FloatArray, field: tuple[float, float]) -> tuple[Overhang, ...]:
    """Return the edges that a box crosses while some of it is within the frame."""
    beyond = np.concatenate([-box[:2], box[2:] - 1.0])
    return tuple(
        Overhang(edge=edge, by_m=float(by) * size)
        for edge, by, size in zip(EDGES, beyond, (*field, *field), strict=True)
        if by > _CUT
    )


def _lower_edge(scene: Scene, view: CameraView) -> str:
    """Return what part of the body the bottom edge of the frame cuts."""
    sitter, body = scene.sitter, body_pose(scene.pose)
    along = view.axes[:, 2] + view.half_height * view.axes[:, 1]

    def height_over(forward_m: float) -> float:
        foot = body.origin + forward_m * body.axes[:, 1] - view.position
        return float(body.origin[2] - foot @ along / along[2])

    if along[2] < 0.05 or not view.depth(scene.pose.origin) > 0:
        return "unknown"
    seated = sitter.posture == "seated"
    above = sitter.eye_height_m - (sitter.seat_height_m if seated else 0.0)
    size = above / (_SEATED_EYE_M if seated else _STANDING_EYE_M)
    height = height_over(-0.1 * size)
    lap = sitter.seat_height_m + 0.15
    if seated and height < lap:
        return _seated_level(height_over(_SHINS_FORWARD_M), sitter)
    below = (height - float(body.origin[2])) / size
    return next((name for name, low in _LEVELS_M.items() if below > low), "below the feet")


def _seated_level(height_m: float, sitter: Sitter) -> str:
    levels = {"lap": 0.1, "knees": -0.08}
    over = height_m - sitter.seat_height_m
    for name, low in levels.items():
        if over > low:
            return name
    return "shins" if height_m > 0.15 else "feet" if height_m > 0.0 else "below the feet"


def _crops_m(sitter: Sitter) -> dict[str, float]:
    return SEATED_CROPS_M if sitter.posture == "seated" else CROPS_M


def _crop(height_m: float, sitter: Sitter) -> str:
    """Return the crop whose frame height is nearest, by ratio."""
    if not height_m > 0:
        return "nobody"
    crops = _crops_m(sitter)
    return min(crops, key=lambda name: abs(np.log(height_m / crops[name])))


def _wished_height_m(
    wish: str | None,
    sitter: Sitter,
    *,
    height_m: float,
    boxes: list[tuple[FloatArray, FloatArray]],
) -> float:
    """Return the frame height at the sitter that the wish asks for; NaN without one [m]."""
    if wish != "group":
        return np.nan if wish is None else _crops_m(sitter)[wish]
    everything = np.array([part for pair in boxes for part in pair])
    heads = everything[::2]
    across = everything[:, 2].max() - everything[:, 0].min()
    down = heads[:, 3].max() - heads[:, 1].min()
    return float(height_m * max(across, down) / (1.0 - 2.0 * GROUP_MARGIN))


def _ways_to(height_m: float, *, scene: Scene, depth_m: float) -> tuple[float, float]:
    """Return the distance [m] with this lens and the lens [mm] from this depth."""
    camera = scene.setup.camera
    drawn = camera.frame_height_mm * MM / height_m
    distance, _ = conjugate_distances(drawn, focal_length_m=camera.focal_length_mm * MM)
    focal = focal_length_for(drawn, object_distance_m=depth_m if np.isfinite(depth_m) else np.nan)
    return float(distance), float(focal) / MM


def _distance_m(scene: Scene) -> float:
    return float(np.linalg.norm(scene.camera - scene.pose.origin))


def _farthest_m(scene: Scene) -> float:
    """Return how far from the sitter the camera can go back in the room, along its line [m]."""
    room, here = scene.setup.room, scene.camera[:2]
    span = here - scene.pose.origin[:2]
    length = float(np.hypot(*span))
    if length == 0.0:
        return _distance_m(scene)
    limits = ((room.x_min_m, room.x_max_m), (room.y_min_m, room.y_max_m))
    left = [
        (limit[1 if way > 0 else 0] - at) / way
        for at, way, limit in zip(here, span / length, limits, strict=True)
        if abs(way) > PARALLEL
    ]
    return float(max(length + min(left) - ROOM_BEHIND_CAMERA_M, length))


def _perspective(scene: Scene) -> Perspective:
    camera, depths = scene.setup.camera, head_marks(scene.head)[:, 1]
    nose, ear = float(depths[2]), float(depths[3])
    distance = _distance_m(scene)
    advised = min(ADVISED_DISTANCE_M, _farthest_m(scene))
    focal = camera.focal_length_mm * MM
    match = np.nan
    if advised > distance > 2.0 * focal:
        match = float(focal_length_for(focal / (distance - focal), object_distance_m=advised)) / MM
    tip = distance - nose
    return Perspective(
        sitter=scene.sitter.name,
        distance_m=distance,
        nose_to_ear_m=nose - ear,
        nose_over_ear=float(perspective_ratio(tip, depth_m=nose - ear)) if tip > 0 else np.nan,
        advised_distance_m=advised,
        matching_focal_length_mm=match,
        handbook_focal_length_mm=camera.frame_width_mm + camera.frame_height_mm,
    )
