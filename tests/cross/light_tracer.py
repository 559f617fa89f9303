"""Light on the face by a path tracer that shares no line with us.

The tracer is given shapes and lamps and finds every path itself: what a lamp puts on a place,
what the head, a flag or a panel hides, and what a ceiling, a panel or the whole room sends back.
Of ours it gets the shape of the head and of the trunk, as meshes, and nothing else: where things
stand, how they are turned and how bright they are is worked out here anew from the numbers of the
case.

    brightness   a head of Q lm s, of which the share s leaves the front, has
        flat face         L = s Q/(pi A)
        hollow umbrella   L = s Q/(pi A), A of the opening: from outside a hollow thing with an
                          evenly bright inside is its opening
        bulging umbrella  L = s Q/(pi (A + pi h^2)), the area of a cap h deep; behind, b for s
        beam              I = s Q (m + 1)/(2 pi) cos^m, m from the angle where it has halved

A receiver is a white matt square of 0.04 mm as close above the skin, square to the normal of the
place; a ray that looks down at it reads E/pi, and the tracer aims paths from there at the lamps.
Places are corners of the mesh: beside the nose, 0.2 mm higher up see 0.1 stop more of a lamp.
The skin itself is black: what a face sends to itself is no part of our model. Lengths are in
millimetres from between the eyes, because the tracer starts each new ray (1 + |largest
coordinate|) times 1e-4 off the surface.
"""

import functools
import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from tests.cross.light_cases import EYES_M, PLACES, Board, Case, Lamp

from tapemark.anatomy import HeadSurface
from tapemark.geometry import FloatArray
from tapemark.studio import FaceMeasures

PER_MM = 1000.0  # millimetres of the tracer's scene in a metre
EFFICACY = 40.0  # [lm/W]
RECEIVER_MM, ABOVE_SKIN_MM, LOOKS_FROM_MM = 0.02, 0.03, 0.06  # half size; height of it and the eye
HEAD_CELLS = 180  # up and across the face, and as many behind
BEHIND_MM = 1.0  # the inside of a bulging umbrella lies so far behind its outside
BOWL_RINGS, BOWL_SPOKES = 24, 96
BEAM_PIXELS, BEAM_FIELD_DEG = 1024, 150.0
DIRECT, ONE_BOUNCE, ALL_BOUNCES = 2, 3, 40  # segments from the receiver to the lamp, and one more


@dataclass(frozen=True, kw_only=True, eq=False)
class Ellipsoids:
    """Black solids; middles and half axes (n, 3) [m], directions of these as columns (n, 3, 3)."""

    centers: FloatArray
    axes: FloatArray
    radii: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Receivers:
    """Places on the skin; points [m] and unit normals, (n, 3), in the frame named."""

    points: FloatArray
    normals: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading:
    """Illuminance times time at each place [lx s], and the error of its mean."""

    exposure: FloatArray
    error: FloatArray = field(repr=False)


@functools.cache
def face_places() -> Receivers:
    """Return the places on the average face, head frame: the nearest corners of its mesh."""
    head, step_m = HeadSurface(FaceMeasures()), 1e-3
    corners = _face_mesh(head).reshape(-1, 3)
    named = np.array([[side, up] for _, side, up in PLACES]) * 1e-3
    away = np.linalg.norm(corners[:, None, [0, 2]] - named, axis=-1)
    points = corners[np.argmin(away, axis=0)]
    x, z = points[:, 0], points[:, 2]
    slope_x = head.front_depth(x + step_m, z) - head.front_depth(x - step_m, z)
    slope_z = head.front_depth(x, z + step_m) - head.front_depth(x, z - step_m)
    normals = np.stack([-slope_x, np.full_like(x, 2.0 * step_m), -slope_z], axis=-1)
    return Receivers(
        points=points, normals=normals / np.linalg.norm(normals, axis=-1, keepdims=True)
    )


def turned(places: Receivers, *, turn_deg: float) -> Receivers:
    """Return places of the head frame in the world, of a face turned to camera-left."""
    return Receivers(
        points=places.points @ _turn(turn_deg) + (0.0, 0.0, EYES_M),
        normals=places.normals @ _turn(turn_deg),
    )


def load_tracer() -> Any:
    """Return the path tracer, in its plain variant; one thread, so that times compare."""
    import drjit
    import mitsuba

    mitsuba.set_variant("scalar_rgb")
    drjit.set_thread_count(1)
    return mitsuba


def build_light_scene(
    tracer: Any,
    case: Case,
    *,
    places: Receivers,
    bounce: str,
    head: bool = True,
    solids: Ellipsoids | None = None,
) -> Any:
    """Return the tracer's scene: lamps, boards, the head, receivers and what sends light on.

    Parameters
    ----------
    tracer : module
        From `load_tracer`.
    case : Case
        What stands where.
    places : Receivers
        In the world.
    bounce : str
        "nothing", "ceiling", "boards" or "room": all six sides and the boards.
    head : bool
        Whether the sitter's head is there.
    solids : Ellipsoids, optional
        What else stands in the way.
    """
    scene: dict[str, Any] = {"type": "scene"}
    for number, lamp in enumerate(case.lamps):
        scene |= _load_lamp(tracer, lamp, case, name=f"lamp{number}")
    for number, board in enumerate(case.boards):
        matt = board.reflectance if bounce in ("boards", "room") else 0.0
        scene[f"board{number}"] = _load_board(tracer, board, matt)
    scene |= _load_room(tracer, case, bounce)
    if head:
        scene["head"] = _load_mesh(tracer, *_head_mesh(case.turn_deg))
    for number in range(0 if solids is None else len(solids.centers)):
        scene[f"solid{number}"] = _load_mesh(tracer, *_ellipsoid_mesh(solids, number))
    for number, (point, normal) in enumerate(zip(places.points, places.normals, strict=True)):
        scene[f"receiver{number}"] = _load_receiver(tracer, point, normal)
    return tracer.load_dict(scene)


def read_exposures(
    tracer: Any, scene: Any, places: Receivers, *, segments: int, samples: int, rounds: int
) -> Reading:
    """Return what falls on each receiver of a scene, `rounds` times `samples` paths each."""
    integrator = tracer.load_dict({"type": "path", "max_depth": segments, "rr_depth": 20})
    read = np.empty((len(places.points), rounds))
    for number, (point, normal) in enumerate(zip(places.points, places.normals, strict=True)):
        sensor = _load_meter(tracer, point, normal, samples)
        for turn in range(rounds):
            seed = 1 + turn + rounds * number
            image = tracer.render(scene, sensor=sensor, integrator=integrator, seed=seed)
            read[number, turn] = np.pi * float(np.array(image).ravel()[0])
    error = read.std(axis=1, ddof=1) / math.sqrt(rounds) if rounds > 1 else 0.0 * read[:, 0]
    return Reading(exposure=read.mean(axis=1) * PER_MM**2, error=error * PER_MM**2)


def beam_exponent(beam_deg: float) -> float:
    """Return m of a beam cos^m that has halved at the edge of its full angle."""
    return math.log(0.5) / math.log(math.cos(math.radians(beam_deg / 2.0)))


def position_m(distance_m: float, side_deg: float, height_m: float) -> FloatArray:
    """Return a place of the floor plan in the world. [m]"""
    side = math.radians(side_deg)
    return np.array([distance_m * math.sin(side), distance_m * math.cos(side), height_m])


def _turn(turn_deg: float) -> FloatArray:
    """Return the head's axes as rows: to the sitter's right, out of the face, up."""
    s, c = math.sin(math.radians(turn_deg)), math.cos(math.radians(turn_deg))
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def _aim_m(lamp: Lamp, case: Case) -> FloatArray:
    if lamp.aim == "face":
        return np.array([0.0, 0.0, EYES_M])
    at = position_m(lamp.distance_m, lamp.side_deg, lamp.height_m)
    return np.array([at[0] / 2.0, at[1] / 2.0, case.room_m[2]])


def _load_lamp(tracer: Any, lamp: Lamp, case: Case, *, name: str) -> dict[str, Any]:
    at, aim = position_m(lamp.distance_m, lamp.side_deg, lamp.height_m), _aim_m(lamp, case)
    sent = lamp.joules * EFFICACY * lamp.share
    if lamp.kind == "beam":
        return {name: _load_beam(tracer, at, aim, lamp.beam_deg, sent)}
    if lamp.kind == "box":
        luminance = sent / (math.pi * lamp.width_m * lamp.face_height_m)
        shape = _rectangle(tracer, at, aim, lamp.width_m, lamp.face_height_m)
        return {name: {**shape, "bsdf": _matt(0.0), "emitter": _shining(luminance)}}
    opening = math.pi * lamp.width_m**2 / 4.0
    if lamp.kind == "hollow umbrella":
        bowl = _bowl_mesh(at, aim, lamp, apex_forwards=False)
        return {name: _load_mesh(tracer, *bowl, luminance=sent / (math.pi * opening))}
    luminance = sent / (math.pi * (opening + math.pi * lamp.depth_m**2))
    points, triangles = _bowl_mesh(at, aim, lamp, apex_forwards=True)
    found = {name: _load_mesh(tracer, points, triangles, luminance=luminance)}
    if lamp.back_share > 0.0:
        behind = points - (aim - at) / np.linalg.norm(aim - at) * (BEHIND_MM / PER_MM)
        spill = luminance * lamp.back_share / lamp.share
        found[f"{name}_back"] = _load_mesh(tracer, behind, triangles[:, ::-1], luminance=spill)
    return found


def _load_beam(
    tracer: Any, at: FloatArray, aim: FloatArray, beam_deg: float, sent: float
) -> dict[str, Any]:
    """Return a point that shines with cos^m: a projector whose slide is dark towards the edge.

    A slide one unit away, lit with G, stands for an intensity of pi G/cos^3; a test holds the
    pi, the tracer's own convention, against the closed form.
    """
    m, half = beam_exponent(beam_deg), math.tan(math.radians(BEAM_FIELD_DEG / 2.0))
    steps = ((np.arange(BEAM_PIXELS) + 0.5) / BEAM_PIXELS * 2.0 - 1.0) * half
    cosine = 1.0 / np.sqrt(1.0 + steps[:, None] ** 2 + steps[None, :] ** 2)
    slide = (sent * (m + 1.0) / (2.0 * math.pi) / math.pi * cosine ** (m + 3.0))[..., None]
    bitmap = tracer.Bitmap(np.repeat(slide, 3, axis=-1).astype(np.float32))
    return {
        "type": "projector",
        "irradiance": {"type": "bitmap", "bitmap": bitmap, "raw": True},
        "fov": BEAM_FIELD_DEG,
        "to_world": _look_at(tracer, at, aim),
    }


def _load_board(tracer: Any, board: Board, reflectance: float) -> dict[str, Any]:
    at = position_m(board.distance_m, board.side_deg, board.height_m)
    shape = _rectangle(
        tracer, at, np.array([0.0, 0.0, EYES_M]), board.width_m, board.board_height_m
    )
    return {**shape, "bsdf": _matt(reflectance)}  # matt on the side that it faces, black behind


def _load_room(tracer: Any, case: Case, bounce: str) -> dict[str, Any]:
    """Return the sides of the room that send light on; the others are as good as black."""
    if bounce not in ("ceiling", "room"):
        return {}
    width, length, height, behind = case.room_m
    middle_y = length / 2.0 - behind
    up, y_axis, x_axis = np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]), np.eye(3)[0]
    ceiling, wall, floor = case.room_reflectances
    sides = {
        "ceiling": ((0.0, middle_y, height), -up, (width, length), ceiling),
        "floor": ((0.0, middle_y, 0.0), up, (width, length), floor),
        "behind": ((0.0, -behind, height / 2), y_axis, (width, height), wall),
        "in_front": ((0.0, length - behind, height / 2), -y_axis, (width, height), wall),
        "left": ((width / 2, middle_y, height / 2), -x_axis, (length, height), wall),
        "right": ((-width / 2, middle_y, height / 2), x_axis, (length, height), wall),
    }
    built = {}
    for name, (middle, inwards, (across, along), share) in sides.items():
        if bounce == "room" or name == bounce:
            center = np.array(middle)
            shape = _rectangle(tracer, center, center + inwards, across, along)
            built[name] = {**shape, "bsdf": _matt(share)}
    return built


def _load_receiver(tracer: Any, point: FloatArray, normal: FloatArray) -> dict[str, Any]:
    at = point + normal * (ABOVE_SKIN_MM / PER_MM)
    size = 2.0 * RECEIVER_MM / PER_MM
    return {**_rectangle(tracer, at, at + normal, size, size), "bsdf": _matt(1.0)}


def _load_meter(tracer: Any, point: FloatArray, normal: FloatArray, samples: int) -> Any:
    start = _to_scene(point + normal * (LOOKS_FROM_MM / PER_MM))
    film = {"type": "hdrfilm", "width": 1, "height": 1, "rfilter": {"type": "box"}}
    return tracer.load_dict(
        {
            "type": "radiancemeter",
            "origin": start.tolist(),
            "direction": (-normal).tolist(),
            "film": {**film, "pixel_format": "rgb", "component_format": "float32"},
            "sampler": {"type": "multijitter", "sample_count": samples},
        }
    )


def _rectangle(
    tracer: Any, at: FloatArray, aim: FloatArray, width_m: float, height_m: float
) -> dict[str, Any]:
    half = [width_m / 2.0 * PER_MM, height_m / 2.0 * PER_MM, 1.0]
    turned_to = _look_at(tracer, at, aim)
    return {"type": "rectangle", "to_world": turned_to @ tracer.ScalarTransform4f().scale(half)}


def _look_at(tracer: Any, at: FloatArray, aim: FloatArray) -> Any:
    towards = (aim - at) / np.linalg.norm(aim - at)
    upright = [0.0, 0.0, 1.0] if abs(towards[2]) < 0.999 else [0.0, 1.0, 0.0]
    origin = _to_scene(at)
    return tracer.ScalarTransform4f().look_at(
        origin=origin.tolist(), target=(origin + PER_MM * towards).tolist(), up=upright
    )


def _to_scene(points: FloatArray) -> FloatArray:
    return (points - np.array([0.0, 0.0, EYES_M])) * PER_MM


def _matt(reflectance: float) -> dict[str, Any]:
    return {"type": "diffuse", "reflectance": {"type": "rgb", "value": reflectance}}


def _shining(luminance: float) -> dict[str, Any]:
    return {"type": "area", "radiance": {"type": "rgb", "value": luminance / PER_MM**2}}


def _face_mesh(head: HeadSurface) -> FloatArray:
    return head.mesh(rows=HEAD_CELLS + 1, columns=HEAD_CELLS + 1)


def _head_mesh(turn_deg: float) -> tuple[FloatArray, np.ndarray]:
    head = HeadSurface(FaceMeasures())
    front = _face_mesh(head)
    rear = head.rear_mesh(rows=front.shape[0], columns=front.shape[1])
    rows, columns, _ = front.shape
    row, column = np.meshgrid(np.arange(rows - 1), np.arange(columns - 1), indexing="ij")
    a = (row * columns + column).ravel()
    quads = np.concatenate(
        [
            np.stack([a, a + 1, a + columns + 1], -1),
            np.stack([a, a + columns + 1, a + columns], -1),
        ]
    )
    points = np.concatenate([front.reshape(-1, 3), rear.reshape(-1, 3)])
    triangles = np.concatenate([quads, quads + rows * columns])
    return points @ _turn(turn_deg) + (0.0, 0.0, EYES_M), triangles


def _ellipsoid_mesh(solids: Ellipsoids, number: int) -> tuple[FloatArray, np.ndarray]:
    rows, columns = 48, 96
    polar, around = (
        np.linspace(0.0, math.pi, rows + 1),
        np.arange(columns) * 2.0 * math.pi / columns,
    )
    ring = np.stack([np.cos(around), np.sin(around), np.ones_like(around)], axis=-1)
    heights = np.stack([np.sin(polar), np.sin(polar), np.cos(polar)], axis=-1)
    unit = (heights[:, None] * ring).reshape(-1, 3)
    row, column = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    a, b = (row * columns + column).ravel(), (row * columns + (column + 1) % columns).ravel()
    triangles = np.concatenate(
        [np.stack([a, a + columns, b], -1), np.stack([b, a + columns, b + columns], -1)]
    )
    points = (unit * solids.radii[number]) @ solids.axes[number].T + solids.centers[number]
    return points, triangles


def _bowl_mesh(
    at: FloatArray, aim: FloatArray, lamp: Lamp, *, apex_forwards: bool
) -> tuple[FloatArray, np.ndarray]:
    """Return a cap of a sphere with its opening at `at`; triangles shine the way it aims."""
    half, depth = lamp.width_m / 2.0, lamp.depth_m
    radius = (half**2 + depth**2) / (2.0 * depth)
    edge = math.atan2(half, radius - depth)
    polar = np.linspace(0.0, edge, BOWL_RINGS + 1)[1:]
    around = np.arange(BOWL_SPOKES) * (2.0 * math.pi / BOWL_SPOKES)
    ring_r, ring_y = radius * np.sin(polar), radius * np.cos(polar) - (radius - depth)
    y = np.concatenate([[depth], np.repeat(ring_y, BOWL_SPOKES)]) * (1 if apex_forwards else -1)
    x = np.concatenate([[0.0], np.outer(ring_r, np.cos(around)).ravel()])
    z = np.concatenate([[0.0], np.outer(ring_r, np.sin(around)).ravel()])
    out = (aim - at) / np.linalg.norm(aim - at)
    side = np.cross(out, (0.0, 0.0, 1.0))
    side /= np.linalg.norm(side)
    axes = np.stack([side, out, np.cross(side, out)])
    spoke = np.arange(BOWL_SPOKES)
    after = (spoke + 1) % BOWL_SPOKES
    triangles = [np.stack([np.zeros_like(spoke), 1 + after, 1 + spoke], -1)]
    for ring in range(BOWL_RINGS - 1):
        a, b = 1 + ring * BOWL_SPOKES, 1 + (ring + 1) * BOWL_SPOKES
        triangles.append(np.stack([a + spoke, b + after, b + spoke], -1))
        triangles.append(np.stack([a + spoke, a + after, b + after], -1))
    return np.stack([x, y, z], axis=-1) @ axes + at, np.concatenate(triangles)


def _load_mesh(
    tracer: Any, points: FloatArray, triangles: np.ndarray, *, luminance: float = 0.0
) -> Any:
    properties = tracer.Properties()
    properties["mesh_bsdf"] = tracer.load_dict(_matt(0.0))
    if luminance > 0.0:
        properties["mesh_emitter"] = tracer.load_dict(_shining(luminance))
    loaded = tracer.Mesh(
        "mesh", vertex_count=len(points), face_count=len(triangles), props=properties
    )
    fields = tracer.traverse(loaded)
    fields["vertex_positions"] = _to_scene(points).ravel()
    fields["faces"] = triangles.ravel()
    fields.update()
    return loaded
