"""The people in a picture, for the path tracer: skin, eyes, hair, clothes and frames."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tapemark.analysis import Scene
from tapemark.rendering.meshes import Mesh
from tapemark.rendering.parts import Kind, Material, Part

if TYPE_CHECKING:
    from tapemark.rendering.mannequin.figure import Part as MannequinPart

#: What each kind of surface of the mannequin counts as; lenses and corneas are layers of their own.
_KINDS: dict[str, Kind] = {
    "skin": "person",
    "hair": "person",
    "cloth": "person",
    "sclera": "eye",
    "iris": "eye",
    "pupil": "eye",
    "tear": "eye",
    "plastic": "frame",
    "metal": "frame",
    "pad": "frame",
    "thread": "frame",
}
_MATT = ("cloth", "iris", "pupil")
_THIN = ("hair", "cloth")


@dataclass(frozen=True, kw_only=True, eq=False)
class Person:
    """One person in a picture.

    Attributes
    ----------
    scene : Scene
        The setup about them.
    body : tuple of Part
        Everything of them but the frame of their glasses.
    frame : tuple of Part
        Rims, bridge and arms; empty without glasses.
    """

    scene: Scene
    body: tuple[Part, ...]
    frame: tuple[Part, ...]


def person_of(scene: Scene, *, fineness: float = 1.0) -> Person:
    """Return the person whom a scene is about.

    Parameters
    ----------
    scene : Scene
        Pose, eyes and glasses.
    fineness : float
        Of the mannequin: 0.2 for a first look, 0.7 coarse, 1 normal, 2 for a close look. [-]
    """
    # Only here: whoever was kept is read without all that builds people, which loads in 30 ms.
    from tapemark.rendering.mannequin.figure import mannequin_of

    parts = [
        _part(one, name=scene.sitter.name)
        for one in mannequin_of(scene, fineness=fineness).parts
        if one.material.kind in _KINDS
    ]
    return Person(
        scene=scene,
        body=tuple(one for one in parts if one.kind != "frame"),
        frame=tuple(one for one in parts if one.kind == "frame"),
    )


def _part(one: "MannequinPart", *, name: str) -> Part:
    kind = one.material.kind
    red, green, blue = (float(share) for share in one.material.color)
    return Part(
        name=f"{name} {one.name}",
        kind=_KINDS[kind],
        mesh=Mesh(points=one.vertices, triangles=one.faces, normals=one.normals),
        material=Material(
            color=(red, green, blue),
            colors=one.colors,
            roughness=None if kind in _MATT else one.material.roughness,
            index=one.material.index,
            metal=kind == "metal",
        ),
        both_sides=kind in _THIN or "lashes" in one.name or "brow" in one.name,
    )
