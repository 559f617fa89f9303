"""The room around the sitter, for the path tracer: walls, floor, ceiling, backdrop, panels."""

from dataclasses import replace

from tapemark.analysis import FlatFace, Scene
from tapemark.analysis.lit_surfaces import room_face, standing_face
from tapemark.rendering.meshes import polygon_mesh
from tapemark.rendering.parts import LUMINANCE, Material, Part, Rgb

#: Colours of a room; each surface keeps its own luminance. Ours, for the look alone. [-]
OAK: Rgb = (1.25, 0.95, 0.70)
PLAIN: Rgb = (1.0, 1.0, 1.0)
BEFORE_WALL_M = 2e-3  # a backdrop that hangs on a wall lies so far before it
_SIDES = (
    "ceiling",
    "floor",
    "wall behind",
    "wall behind camera",
    "wall camera-left",
    "wall camera-right",
)


def room_parts(scene: Scene) -> tuple[Part, ...]:
    """Return ceiling, floor and walls of a scene, facing inwards; the ceiling first."""
    found = []
    for name in _SIDES:
        face, reflectance = room_face(scene.setup.room, name)  # type: ignore[arg-type]
        tint = OAK if name == "floor" else PLAIN
        found.append(_flat(name, face, color=_tinted(tint, reflectance)))
    return tuple(found)


def standing_parts(scene: Scene) -> tuple[Part, ...]:
    """Return backdrop and panels of a scene; a panel is black behind."""
    setup = scene.setup
    found = [
        _flat(one.name, standing_face(one, setup), color=_tinted(PLAIN, one.reflectance))
        for one in setup.panels
    ]
    for emitter in scene.emitters:
        if emitter.kind == "backdrop" and isinstance(emitter.face, FlatFace):
            assert setup.backdrop is not None
            gray = _tinted(PLAIN, setup.backdrop.reflectance)
            face = emitter.face
            before = replace(face, center=face.center + BEFORE_WALL_M * face.axes[:, 1])
            found.append(_flat("backdrop", before, color=gray, both_sides=True))
    return tuple(found)


def _flat(name: str, face: FlatFace, *, color: Rgb, both_sides: bool = False) -> Part:
    return Part(
        name=name,
        kind="room",
        mesh=polygon_mesh(face.outline(), facing=face.axes[:, 1]),
        material=Material(color=color),
        both_sides=both_sides,
    )


def _tinted(tint: Rgb, reflectance: float) -> Rgb:
    """Return a tint brought to a reflectance; no part gives back more than it gets."""
    luminance = sum(float(share) * one for share, one in zip(LUMINANCE, tint, strict=True))
    red, green, blue = (min(one * reflectance / luminance, 0.98) for one in tint)
    return red, green, blue
