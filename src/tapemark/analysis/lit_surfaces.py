"""Surfaces that send back what lights put on them: one diffuse bounce.

Ceilings and walls that a light is aimed at, a white floor, panels and the
backdrop become emitters whose brightness varies from cell to cell.  What
stands between a light and a cell keeps its light off it; the sitter does not.
"""

from typing import Literal

import numpy as np

from tapemark.analysis.emitter import Emitter, face_cells
from tapemark.analysis.light_faces import FlatFace
from tapemark.analysis.shading import ROOM_KINDS, blocked_paths
from tapemark.geometry import FloatArray, axes_facing, dot, normalize
from tapemark.studio import Backdrop, Light, Panel, Room, Screen, Setup, aim_point_m

Surface = Literal[
    "ceiling",
    "floor",
    "wall behind",
    "wall behind camera",
    "wall camera-left",
    "wall camera-right",
]
BOUNCE_SURFACES: dict[str, Surface] = {
    "ceiling": "ceiling",
    "wall behind": "wall behind",
    "wall behind camera": "wall behind camera",
    "wall camera-left": "wall camera-left",
    "wall camera-right": "wall camera-right",
}
LIT_CELLS = 16  # cells along each side of a surface lit by other lights
SPOT_SAMPLES = 2  # places along each side of a cell where a light is aimed at the surface
#: What is followed of a spot on a ceiling or wall: so many times the way from the light to
#: where it is aimed, on each side; a matt face puts 0.9 of its light there, a dish more.
SPOT_REACH = 3.0
LEAST_SPOT_M = 1.0
FLOOR_REACH_M = 2.5  # around the sitter: the part of a floor that lights a face
_HALF_WAY_OUT = 0.6  # where on a light, from its middle to its edge, paths end


def unlit_surfaces(setup: Setup) -> list[Emitter]:
    """Return panels and backdrop as things that stand in the way, without any light."""
    found = [
        Emitter(name=one.name, kind="panel", face=standing_face(one, setup), brightness=0.0)
        for one in setup.panels
    ]
    if setup.backdrop is not None:
        face = _backdrop_face(setup.backdrop)
        found.append(Emitter(name="backdrop", kind="backdrop", face=face, brightness=0.0))
    return found


def backdrop_surface(setup: Setup, lights: list[Emitter], *, between: list[Emitter]) -> Emitter:
    """Return the backdrop as lit by the lights."""
    backdrop = setup.backdrop
    assert backdrop is not None
    return _lit_surface(
        "backdrop",
        "backdrop",
        face=_backdrop_face(backdrop),
        reflectance=backdrop.reflectance,
        lights=lights,
        between=between,
    )


def floor_surface(setup: Setup, lights: list[Emitter], *, between: list[Emitter]) -> Emitter:
    """Return the floor around the sitter as lit by the lights."""
    whole, reflectance = room_face(setup.room, "floor")
    around = np.array([[-FLOOR_REACH_M, -FLOOR_REACH_M, 0.0], [FLOOR_REACH_M, FLOOR_REACH_M, 0.0]])
    corners = (around - whole.center) @ whole.axes
    return _lit_surface(
        "floor",
        "floor",
        face=_part(whole, corners.min(axis=0), corners.max(axis=0)),
        reflectance=reflectance,
        lights=lights,
        between=between,
    )


def bounced_surfaces(
    setup: Setup, lights: list[Emitter], *, between: list[Emitter]
) -> list[Emitter]:
    """Return the ceiling and walls that lights are aimed at, each with all its lights."""
    by_name = {emitter.name: emitter for emitter in lights}
    aimed: dict[Surface, list[Light]] = {}
    for light in setup.lights:
        surface = BOUNCE_SURFACES.get(light.aim) if isinstance(light.aim, str) else None
        if light.on and surface is not None:
            aimed.setdefault(surface, []).append(light)
    found = []
    for surface, own in aimed.items():
        whole, reflectance = room_face(setup.room, surface)
        found.append(
            _lit_surface(
                f"{' + '.join(light.name for light in own)} (off the {surface})",
                "ceiling" if surface == "ceiling" else "wall",
                face=_lit_part(whole, own, setup),
                reflectance=reflectance,
                lights=[by_name[light.name] for light in own],
                between=between,
                finer=SPOT_SAMPLES,
            )
        )
    return found


def _lit_part(whole: FlatFace, lights: list[Light], setup: Setup) -> FlatFace:
    """Return the part of a surface that lights aimed at it brighten, so that cells stay small."""
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for light in lights:
        aim = np.array(aim_point_m(light, setup=setup))
        reach = float(np.linalg.norm(aim - np.array(light.place.position_m)))
        middle, half = (aim - whole.center) @ whole.axes, max(SPOT_REACH * reach, LEAST_SPOT_M)
        low, high = np.minimum(low, middle - half), np.maximum(high, middle + half)
    return _part(whole, low, high)


def _backdrop_face(backdrop: Backdrop) -> FlatFace:
    return FlatFace(
        center=np.array([0.0, -backdrop.distance_m, backdrop.height_m / 2]),
        axes=np.eye(3),
        shape="rectangle",
        width_m=backdrop.width_m,
        height_m=backdrop.height_m,
    )


def _part(whole: FlatFace, low: FloatArray, high: FloatArray) -> FlatFace:
    """Return the part of a face between two corners (3,) in its own frame [m]."""
    edge = np.array([whole.width_m, 0.0, whole.height_m]) / 2
    low, high = np.clip(low, -edge, edge), np.clip(high, -edge, edge)
    return FlatFace(
        center=whole.center + whole.axes @ ((low + high) / 2),
        axes=whole.axes,
        shape="rectangle",
        width_m=float(high[0] - low[0]),
        height_m=float(high[2] - low[2]),
    )


def _lit_surface(
    name: str,
    kind: str,
    *,
    face: FlatFace,
    reflectance: float,
    lights: list[Emitter],
    between: list[Emitter],
    finer: int = 1,
) -> Emitter:
    """Return a surface as lit by lights, each cell averaged over `finer` by `finer` places."""
    cells, _ = face_cells(face, count=LIT_CELLS * finer)
    received = np.zeros((len(lights), LIT_CELLS, LIT_CELLS))
    others = [one for one in between if one.name != name]
    for own, light in zip(received, lights, strict=True):
        if light.brightness > 0:
            arriving = light.exposure_at(cells, normal=face.axes[:, 1])
            cut = arriving.reshape(LIT_CELLS, finer, LIT_CELLS, finer)
            own += cut.mean(axis=(1, 3)) * _free_share(face, light, others=others)
    each = received.sum(axis=(1, 2))
    total = float(each.sum())
    lit_map = reflectance * received.sum(axis=0) / np.pi
    return Emitter(
        name=name,
        kind=kind,
        face=face,
        brightness=float(lit_map.max(initial=0.0)),
        lit_map=lit_map,
        fed_by=tuple(light.name for light in lights),
        fed_shares=tuple(float(one) / total if total > 0 else 0.0 for one in each),
    )


def _free_share(face: FlatFace, light: Emitter, *, others: list[Emitter]) -> FloatArray | float:
    """Return the share of a light that each cell of a surface sees, (16, 16), or 1."""
    in_the_way = tuple(one for one in others if _may_stand_between(one, face, light))
    if not in_the_way:
        return 1.0
    cells, _ = face_cells(face, count=LIT_CELLS)
    outline = light.face.outline()
    ring = light.face.center + _HALF_WAY_OUT * (outline[:: len(outline) // 4] - light.face.center)
    ends = np.concatenate([light.face.center[None], ring])
    targets = np.broadcast_to(ends, (len(cells), *ends.shape))
    hidden = blocked_paths(cells[:, None], targets, emitter=light, others=in_the_way)
    return np.asarray(1.0 - hidden.mean(axis=-1).reshape(LIT_CELLS, LIT_CELLS))


def _may_stand_between(one: Emitter, face: FlatFace, light: Emitter) -> bool:
    """Return whether a thing is before both the surface and the light that lights it."""
    if one.name == light.name or one.kind in ROOM_KINDS:
        return False
    reach = one.face.reach_m
    before = float(dot(one.face.center - face.center, face.axes[:, 1])) > -reach
    ahead = float(dot(one.face.center - light.face.center, light.face.axes[:, 1])) > -reach
    return before and (ahead or light.back_brightness > 0)


def room_face(room: Room, surface: Surface) -> tuple[FlatFace, float]:
    """Return a ceiling, floor or wall as a face into the room, and its reflectance."""
    middle_x, middle_y = (room.x_min_m + room.x_max_m) / 2, (room.y_min_m + room.y_max_m) / 2
    half_up = room.height_m / 2
    centers: dict[Surface, tuple[tuple[float, ...], tuple[float, ...]]] = {
        "ceiling": ((middle_x, middle_y, room.height_m), (0.0, 0.0, -1.0)),
        "floor": ((middle_x, middle_y, 0.0), (0.0, 0.0, 1.0)),
        "wall behind": ((middle_x, room.y_min_m, half_up), (0.0, 1.0, 0.0)),
        "wall behind camera": ((middle_x, room.y_max_m, half_up), (0.0, -1.0, 0.0)),
        "wall camera-left": ((room.x_max_m, middle_y, half_up), (-1.0, 0.0, 0.0)),
        "wall camera-right": ((room.x_min_m, middle_y, half_up), (1.0, 0.0, 0.0)),
    }
    center, normal = centers[surface]
    side_wall = surface in ("wall camera-left", "wall camera-right")
    face = FlatFace(
        center=np.array(center),
        axes=axes_facing(np.array(normal)),
        shape="rectangle",
        width_m=room.length_m if side_wall else room.width_m,
        height_m=room.length_m if surface in ("ceiling", "floor") else room.height_m,
    )
    level = {"ceiling": room.ceiling_reflectance, "floor": room.floor_reflectance}
    return face, level.get(surface, room.wall_reflectance)


def panel_surface(
    panel: Panel, setup: Setup, lights: list[Emitter], *, between: list[Emitter]
) -> Emitter:
    """Return a panel as lit by the lights."""
    return _lit_surface(
        panel.name,
        "panel",
        face=standing_face(panel, setup),
        reflectance=panel.reflectance,
        lights=lights,
        between=between,
    )


def standing_face(thing: Panel | Screen, setup: Setup) -> FlatFace:
    """Return the face of something on a stand, turned to what it is aimed at."""
    center = np.array(thing.place.position_m)
    towards = normalize(np.array(aim_point_m(thing, setup=setup)) - center)
    return FlatFace(
        center=center,
        axes=axes_facing(towards),
        shape="rectangle",
        width_m=thing.width_m,
        height_m=thing.height_m,
    )
