"""The set as a model for any 3D viewer: binary glTF 2.0, metres, y up, names on every node.

    world                        glTF
    x to camera-left    ->      -x      so that somebody who stands behind the
    y towards the camera ->      z      camera mark and looks at the sitter
    z up                ->       y      sees camera-left on the left

Walls are seen from inside only: from outside one looks into the room.  What
sends light has an emissive face.

References
----------
[gltf-2-0]
"""

import numpy as np

from tapemark.analysis import BowlFace, Emitter, FlatFace, Scene, frame_view, light_face, rigs
from tapemark.anatomy import SIDES, edge_outline
from tapemark.drawing.gear import Part, camera_gear, camera_stand_legs, light_gear
from tapemark.drawing.solid.glb import TO_GLTF, GlbCamera, Rgb, Solid, glb_bytes
from tapemark.drawing.solid.gltf_meshes import (
    Mesh,
    ball,
    box,
    facing,
    fan,
    flat_shaded,
    grid,
    joined,
    loft,
    slab,
    tube,
    turned_over,
)
from tapemark.drawing.stands import stand_shape
from tapemark.geometry import FloatArray, to_local, to_world
from tapemark.studio import Light, Room

_ROD_M, _LEG_M = 0.012, 0.009  # radius of columns and arms, and of legs
_STOOL_M = (0.17, 0.05)  # radius and thickness of a seat
_HEAD_ROWS, _HEAD_COLUMNS = 72, 61
_LENS_AWAY_M = 0.002
_CLOTH_AWAY_M = 0.01  # the back of an umbrella behind its lit side
_BOWL_RINGS, _BACK_POINTS = 6, 40  # of an umbrella, and around the back of a box or dish
_WALL: Rgb = (0.82, 0.82, 0.80)
_FLOOR: Rgb = (0.45, 0.38, 0.30)
_CLOTH: Rgb = (0.33, 0.38, 0.46)
_SKIN: Rgb = (0.72, 0.56, 0.46)
_DARK: Rgb = (0.03, 0.03, 0.04)
_GREY: Rgb = (0.25, 0.26, 0.28)
_LIT: Rgb = (1.0, 0.95, 0.84)


def set_as_glb(scenes: tuple[Scene, ...]) -> bytes:
    """Return a setup as binary glTF 2.0, with its camera.

    Parameters
    ----------
    scenes : tuple of Scene
        About each person in it, the sitter first.

    References
    ----------
    [gltf-2-0] sections 3 and 4 (binary form).
    """
    view = frame_view(scenes[0])
    right, forward, up = (view.axes[:, k] for k in range(3))
    pose = np.eye(4)
    pose[:3, :3] = TO_GLTF @ np.stack([right, up, -forward], axis=-1)
    pose[:3, 3] = TO_GLTF @ view.position
    lens = GlbCamera(
        pose=pose,
        up_angle_rad=2 * float(np.arctan(view.half_height)),
        aspect=view.half_width / view.half_height,
    )
    return glb_bytes(set_solids(scenes), title=scenes[0].setup.title or "set", camera=lens)


def set_solids(scenes: tuple[Scene, ...]) -> tuple[Solid, ...]:
    """Return everything in a set as solids in the world."""
    scene = scenes[0]
    found = [*_room(scene.setup.room)]
    for emitter in scene.emitters:
        found += _flat_thing(emitter)
    for number, person in enumerate(scenes, 1):
        found += _person(person, person.sitter.name or f"person {number}")
    found += _camera(scene)
    for light in scene.setup.lights:
        found += _light(light, scene)
    return tuple(found)


def _room(room: Room) -> list[Solid]:
    """Return floor, walls and ceiling, each seen from inside the room only."""
    x0, x1, y0, y1, high = room.x_min_m, room.x_max_m, room.y_min_m, room.y_max_m, room.height_m
    planes = {
        "floor": ([(x0, y0, 0), (x1, y0, 0), (x1, y1, 0), (x0, y1, 0)], (0, 0, 1), _FLOOR),
        "ceiling": (
            [(x0, y0, high), (x1, y0, high), (x1, y1, high), (x0, y1, high)],
            (0, 0, -1),
            _WALL,
        ),
        "wall behind sitter": (
            [(x0, y0, 0), (x1, y0, 0), (x1, y0, high), (x0, y0, high)],
            (0, 1, 0),
            _WALL,
        ),
        "wall behind camera": (
            [(x0, y1, 0), (x1, y1, 0), (x1, y1, high), (x0, y1, high)],
            (0, -1, 0),
            _WALL,
        ),
        "wall camera-left": (
            [(x1, y0, 0), (x1, y1, 0), (x1, y1, high), (x1, y0, high)],
            (-1, 0, 0),
            _WALL,
        ),
        "wall camera-right": (
            [(x0, y0, 0), (x0, y1, 0), (x0, y1, high), (x0, y0, high)],
            (1, 0, 0),
            _WALL,
        ),
    }
    return [
        Solid(
            name=name,
            mesh=facing(np.array(outline, dtype=float), normal=np.array(normal, dtype=float)),
            color=color,
        )
        for name, (outline, normal, color) in planes.items()
    ]


def _flat_thing(emitter: Emitter) -> list[Solid]:
    """Return a backdrop, panel, window or screen; nothing for what is drawn elsewhere."""
    if emitter.kind not in {"backdrop", "panel", "window", "screen"}:
        return []
    rim, normal = emitter.face.outline(), emitter.face.axes[:, 1]
    body = Solid(
        name=emitter.name,
        mesh=slab(rim - 0.004 * normal, normal=normal, thick_m=0.015),
        color=_GREY if emitter.kind in {"window", "screen"} else _WALL,
    )
    if emitter.kind in {"window", "screen"}:
        lit = Solid(
            name=f"{emitter.name}: lit face",
            mesh=facing(rim, normal=normal),
            color=_LIT,
            emits=True,
        )
        return [body, lit]
    return [body]


def _person(scene: Scene, name: str) -> list[Solid]:
    """Return head, body, lenses and stool of somebody."""
    head, pose = scene.head, scene.pose
    face = head.mesh(rows=_HEAD_ROWS, columns=_HEAD_COLUMNS)
    back = head.rear_mesh(rows=_HEAD_ROWS, columns=_HEAD_COLUMNS)
    skins = [grid(to_world(part, origin=pose.origin, axes=pose.axes)) for part in (face, back)]
    # Rows run up and columns towards the sitter's right: the face looks the other way.
    head_mesh = joined([turned_over(skins[0]), skins[1]])
    found = [Solid(name=f"{name}: head", mesh=head_mesh, color=_SKIN, both_sides=True)]
    body = scene.body
    for part in dict.fromkeys(one for one in body.names if one not in {"head"}):
        own = body.only(part)
        balls = [
            ball(center, axes=axes, radii=radii)
            for center, axes, radii in zip(own.centers, own.axes, own.radii, strict=True)
        ]
        color = _SKIN if part == "neck" else _CLOTH
        found.append(Solid(name=f"{name}: {part}", mesh=joined(balls), color=color))
    if scene.lenses is not None:
        found += [_lens(scene, index, side, name) for index, side in enumerate(SIDES)]
    if scene.sitter.posture == "seated":
        found.append(Solid(name=f"{name}: stool", mesh=_stool(scene), color=_GREY))
    return found


def _lens(scene: Scene, index: int, side: str, name: str) -> Solid:
    assert scene.lenses is not None
    rim = edge_outline(scene.lenses, index=index)
    return Solid(
        name=f"{name}: {side} lens",
        mesh=facing(rim + _LENS_AWAY_M * scene.pose.axes[:, 1], normal=scene.pose.axes[:, 1]),
        color=(0.85, 0.9, 0.95),
        both_sides=True,
        opacity=0.35,
    )


def _stool(scene: Scene) -> Mesh:
    x, y = scene.sitter.mark_m
    radius, thick = _STOOL_M
    middle = np.array([x, y - 0.1, scene.sitter.seat_height_m])
    low = middle - (0.0, 0.0, thick)
    seat = tube(low, middle, radius_m=radius)
    post = tube(np.array([x, y - 0.1, 0.03]), low, radius_m=0.025)
    foot = tube(np.array([x, y - 0.1, 0.0]), np.array([x, y - 0.1, 0.03]), radius_m=radius)
    return joined([seat, post, foot])


def _camera(scene: Scene) -> list[Solid]:
    gear = camera_gear(scene.setup, axes=frame_view(scene).axes)
    body, lens = gear.parts
    corners = body.points.reshape(2, 2, 2, 3)
    ring = [corners[0, 0, 0], corners[1, 0, 0], corners[1, 1, 0], corners[0, 1, 0]]
    top = [corners[0, 0, 1], corners[1, 0, 1], corners[1, 1, 1], corners[0, 1, 1]]
    legs = [tube(leg[0], leg[1], radius_m=_LEG_M) for leg in camera_stand_legs(gear.mount)]
    return [
        Solid(
            name="camera: body",
            mesh=flat_shaded(loft([np.array(ring), np.array(top)], closed=True)),
            color=_DARK,
            both_sides=True,
        ),
        Solid(name="camera: lens", mesh=_tubed(lens), color=_DARK, both_sides=True),
        Solid(name="camera: tripod", mesh=joined(legs), color=_GREY),
    ]


def _light(light: Light, scene: Scene) -> list[Solid]:
    """Return modifier, lit face, head and stand of a light."""
    gear, face = light_gear(light, setup=scene.setup), light_face(light, scene.setup)
    found = []
    for part in gear.parts:
        if part.role == "face" and isinstance(face, FlatFace):
            mesh = facing(part.points + 0.002 * gear.facing, normal=gear.facing)
            name, color = f"{light.name}: lit face", _LIT
            found.append(Solid(name=name, mesh=mesh, color=color, emits=light.on))
        elif part.role == "body":
            found += _modifier(light, part, face)
        elif part.role == "head":
            found.append(Solid(name=f"{light.name}: head", mesh=_tubed(part), color=_DARK))
        elif part.role == "rod":
            rod = tube(part.points[0], part.points[1], radius_m=0.004)
            found.append(Solid(name=f"{light.name}: shaft", mesh=rod, color=_GREY))
    return found + _stand(light, scene)


def _modifier(light: Light, part: Part, face: FlatFace | BowlFace) -> list[Solid]:
    """Return the skin of a modifier: an umbrella shines on its hollow side, or through."""
    name = f"{light.name}: modifier"
    if isinstance(face, BowlFace):
        count = len(part.points) // _BOWL_RINGS
        rings = [part.points[k * count : (k + 1) * count] for k in range(_BOWL_RINGS)]
        skin = loft(rings)
        inside = Solid(
            name=f"{light.name}: lit face", mesh=skin, color=_LIT, emits=light.on, both_sides=True
        )
        outside = Mesh(
            points=skin.points - _CLOTH_AWAY_M * face.axes[:, 1], triangles=skin.triangles
        )
        cloth = _DARK if face.hollow_front else _LIT
        return [inside, Solid(name=name, mesh=outside, color=cloth, both_sides=True)]
    back = part.points[-_BACK_POINTS:]
    rim = _resampled(part.points[:-_BACK_POINTS], back, face)
    return [
        Solid(name=name, mesh=loft([back, rim]), color=_DARK, both_sides=True),
        Solid(name=f"{name} back", mesh=fan(back), color=_DARK, both_sides=True),
    ]


def _resampled(rim: FloatArray, back: FloatArray, face: FlatFace) -> FloatArray:
    """Return as many points along a convex rim as a ring behind it has, at the same angles."""
    flat, ring = (
        to_local(part, origin=face.center, axes=face.axes)[:, (0, 2)] for part in (rim, back)
    )
    following = np.roll(flat, -1, axis=0)
    edge = following - flat
    ways = ring / np.linalg.norm(ring, axis=1, keepdims=True)
    cross = ways[:, None, 0] * edge[None, :, 1] - ways[:, None, 1] * edge[None, :, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        out = (flat[:, 0] * edge[:, 1] - flat[:, 1] * edge[:, 0])[None] / cross
        share = (flat[None, :, 0] * ways[:, None, 1] - flat[None, :, 1] * ways[:, None, 0]) / cross
    met = (out > 0) & (share >= -1e-9) & (share <= 1 + 1e-9)
    reach = np.where(met, out, np.inf).min(axis=1)
    place = ways * reach[:, None]
    local = np.stack([place[:, 0], np.zeros(len(place)), place[:, 1]], axis=-1)
    return to_world(local, origin=face.center, axes=face.axes)


def _tubed(part: Part) -> Mesh:
    """Return the two rings of a round part as a closed skin."""
    count = len(part.points) // 2
    return loft([part.points[:count], part.points[count:]], closed=True)


def _stand(light: Light, scene: Scene) -> list[Solid]:
    rig = next(one for one in rigs(scene.setup) if one.name == light.name)
    shape = stand_shape(rig)
    bars = [tube(leg[0], leg[1], radius_m=_LEG_M) for leg in shape.legs]
    runs = [one for one in (shape.column, shape.arm) if one is not None]
    bars += [
        tube(run[k], run[k + 1], radius_m=_ROD_M)
        for run in runs
        for k in range(len(run) - 1)
        if float(np.linalg.norm(run[k + 1] - run[k])) > _ROD_M
    ]
    found = [Solid(name=f"{light.name}: stand", mesh=joined(bars), color=_GREY)] if bars else []
    if shape.counterweight is not None:
        low, high = shape.counterweight.min(axis=0), shape.counterweight.max(axis=0)
        found.append(Solid(name=f"{light.name}: counterweight", mesh=box(low, high), color=_DARK))
    return found
