"""Surfaces that send back what lights put on them: one diffuse bounce.

Ceilings and walls that a light is aimed at, panels and the backdrop become
emitters whose brightness varies from cell to cell.
"""

from typing import Literal

import numpy as np

from tapemark.analysis.emitter import Emitter, face_cells
from tapemark.analysis.light_faces import FlatFace
from tapemark.geometry import axes_facing, normalize
from tapemark.studio import Light, Panel, Room, Screen, Setup, aim_point_m

Surface = Literal[
    "ceiling", "wall behind", "wall behind camera", "wall camera-left", "wall camera-right"
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


def backdrop_surface(setup: Setup, lights: list[Emitter]) -> Emitter:
    """Return the backdrop as lit by the lights."""
    backdrop = setup.backdrop
    assert backdrop is not None
    center = np.array([0.0, -backdrop.distance_m, backdrop.height_m / 2])
    face = FlatFace(
        center=center,
        axes=np.eye(3),
        shape="rectangle",
        width_m=backdrop.width_m,
        height_m=backdrop.height_m,
    )
    return _lit_surface(
        "backdrop", "backdrop", face=face, reflectance=backdrop.reflectance, lights=lights
    )


def bounced_surfaces(setup: Setup, lights: list[Emitter]) -> list[Emitter]:
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
    finer: int = 1,
) -> Emitter:
    """Return a surface as lit by lights, each cell averaged over `finer` by `finer` places."""
    cells, _ = face_cells(face, count=LIT_CELLS * finer)
    received = np.zeros(len(cells))
    for light in lights:
        received += light.exposure_at(cells, normal=face.axes[:, 1])
    cut = received.reshape(LIT_CELLS, finer, LIT_CELLS, finer)
    lit_map = reflectance * cut.mean(axis=(1, 3)) / np.pi
    return Emitter(
        name=name,
        kind=kind,
        face=face,
        brightness=float(lit_map.max(initial=0.0)),
        lit_map=lit_map,
        fed_by=tuple(light.name for light in lights),
    )


def room_face(room: Room, surface: Surface) -> tuple[FlatFace, float]:
    """Return a ceiling or wall as a face into the room, and its reflectance."""
    middle_x, middle_y = (room.x_min_m + room.x_max_m) / 2, (room.y_min_m + room.y_max_m) / 2
    half_up = room.height_m / 2
    centers: dict[Surface, tuple[tuple[float, ...], tuple[float, ...]]] = {
        "ceiling": ((middle_x, middle_y, room.height_m), (0.0, 0.0, -1.0)),
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
        height_m=room.length_m if surface == "ceiling" else room.height_m,
    )
    share = room.ceiling_reflectance if surface == "ceiling" else room.wall_reflectance
    return face, share


def panel_surface(panel: Panel, setup: Setup, lights: list[Emitter]) -> Emitter:
    """Return a panel as lit by the lights."""
    face = standing_face(panel, setup)
    return _lit_surface(
        panel.name, "panel", face=face, reflectance=panel.reflectance, lights=lights
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
