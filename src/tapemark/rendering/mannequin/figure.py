r"""The mannequin: a sitter as triangle meshes in the world, for the rendered picture.

Head, eyes, lenses and rims lie where `tapemark.anatomy` puts them, so that what the analyses
predict is what the picture shows; everything else (lids, lips, hair, clothes) is drawn.

        .--.
       ( oo )   skin, brows, hair, ears; eyes; glasses
        `--'
       /|  |\   neck and clothes

Where the two differ: lids follow the ball of the eye, where the analyses cut the opening out of
a plane (the same from straight ahead, up to about 3 mm at the corners from 30 degrees aside); the
nose has planes and wings and the mouth its lips over the anatomy's, whose landmarks stay; flesh
sinks with age, up to 3.6 mm at the jowls; jaws are up to 13 % narrower at the chin; the skull is
as high as the head is long and broad, 13 mm higher in a child of seven; shoulders from 8 %
narrower to 1 % broader than the body that throws the shadows; the bridge bows forward, and the
sides of the nose give way, where a frame would run through the nose; temples reach 9 mm farther
back, over the root of the ear.  Hair is not in the way of light in any analysis.

References
----------
See `tapemark.rendering.mannequin.looks` for the skin and `tapemark.anatomy` for every measure.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapemark.analysis import Scene
from tapemark.anatomy import (
    SIDES,
    Eyes,
    HeadPose,
    LensStack,
    body_of,
    body_pose,
    head_surface,
)
from tapemark.geometry import to_world
from tapemark.rendering.mannequin.ages import childhood
from tapemark.rendering.mannequin.clothes import (
    body_size,
    collar,
    jumper,
    shoes,
    sized,
    sleeve_drop,
    trousers,
)
from tapemark.rendering.mannequin.ears import ear
from tapemark.rendering.mannequin.eyes import cornea, eyeball, iris, pupil
from tapemark.rendering.mannequin.face import FaceShape
from tapemark.rendering.mannequin.fit import pressed
from tapemark.rendering.mannequin.frame import frame_meshes
from tapemark.rendering.mannequin.hair import covers_ears, hair
from tapemark.rendering.mannequin.hair_lines import brows, lashes
from tapemark.rendering.mannequin.hands import hands
from tapemark.rendering.mannequin.head import SkinMesh, skin_mesh
from tapemark.rendering.mannequin.lenses import lens_solid
from tapemark.rendering.mannequin.lids import caruncle, tear_line
from tapemark.rendering.mannequin.looks import Look, look_of
from tapemark.rendering.mannequin.mesh import Mesh, vertex_normals
from tapemark.rendering.mannequin.neck import neck_size
from tapemark.rendering.mannequin.parts import Material, Part
from tapemark.rendering.mannequin.skin import skin_colors
from tapemark.studio import Sitter
from tapemark.units import MM

__all__ = ["Mannequin", "Material", "Part", "mannequin", "mannequin_of"]

#: Breadth of shoulders against the body of the analyses, and how much it differs (assumption).
_SHOULDERS = (0.965, 0.045)
CHILD_UP_TO_YEARS = 13.0  # whose brows are thin (assumption)


@dataclass(frozen=True, kw_only=True, eq=False)
class Mannequin:
    """A sitter as parts; see `Part`."""

    parts: tuple[Part, ...]
    look: Look

    def part(self, name: str) -> Part:
        """Return one part by its name."""
        return next(part for part in self.parts if part.name == name)


def mannequin_of(scene: Scene, *, fineness: float = 1.0, look: Look | None = None) -> Mannequin:
    """Return the mannequin of the person whom a scene is about."""
    return mannequin(
        scene.sitter,
        pose=scene.pose,
        eyes=scene.eyes,
        lenses=scene.lenses,
        fineness=fineness,
        look=look,
    )


def mannequin(
    sitter: Sitter,
    *,
    pose: HeadPose,
    eyes: Eyes,
    lenses: LensStack | None,
    fineness: float = 1.0,
    look: Look | None = None,
) -> Mannequin:
    """Return a sitter as triangle meshes in the world.

    Parameters
    ----------
    sitter : Sitter
        Measures of face and body, age, skin, glasses; the name decides what is not stated.
    pose : HeadPose
        Where the head is.
    eyes : Eyes
        Where the eyes are and what they look at.
    lenses : LensStack or None
        The lens pair; None leaves the glasses off.
    fineness : float
        Points along a line against the usual number: 0.7 for a preview, 2 for a close crop. [-]
    look : Look, optional
        Hair, colors and clothes; by the sitter's name if left out.
    """
    look = look_of(sitter) if look is None else look
    face = FaceShape(
        head=head_surface(sitter.face),
        eyes=eyes,
        age_years=look.age_years,
        lips=look.build[0],
        nose=look.build[1],
        jaw=look.build[2] * (1.0 - childhood(look.age_years)),
    )
    worn = None if sitter.glasses is None else lenses
    parts = [
        *_head_parts(sitter, face, look=look, pose=pose, lenses=worn, fineness=fineness),
        *_eye_parts(eyes, look, fineness=fineness),
        *_corner_parts(face, look, pose),
        *_clothes_parts(sitter, look, pose=pose, fineness=fineness),
    ]
    if lenses is not None and sitter.glasses is not None:
        parts += _glasses_parts(sitter, look, pose=pose, lenses=lenses, fineness=fineness)
    return Mannequin(parts=tuple(parts), look=look)


def _head_parts(
    sitter: Sitter,
    face: FaceShape,
    *,
    look: Look,
    pose: HeadPose,
    lenses: LensStack | None,
    fineness: float,
) -> list[Part]:
    skin = skin_mesh(face, fineness=fineness)
    if lenses is not None:
        skin = pressed(skin, lenses=lenses, pose=pose)
    material = Material(kind="skin", color=look.skin_color, roughness=0.42, index=1.4)
    hair_like = Material(kind="hair", color=look.hair_color, roughness=0.42, index=1.36)
    brow_like = Material(kind="hair", color=look.brow_color, roughness=0.5, index=1.36)
    lash_like = Material(kind="hair", color=(0.02, 0.015, 0.013), roughness=0.5, index=1.55)
    colors = skin_colors(face, skin, look=look)
    parts = [replace(_skin_part(sitter, pose, skin, material=material), colors=colors)]
    for side, outward in zip(SIDES, (1.0, -1.0), strict=True):
        if not covers_ears(look):
            shell = ear(face.head, outward=outward, fineness=fineness)
            red, green, blue = (np.array(look.skin_color) * (1.02, 0.90, 0.89)).tolist()
            warm = replace(material, color=(red, green, blue))
            parts.append(_in_head(f"{side} ear", shell, pose, warm))
        seed = look.seed % 1000 + int(outward)
        brow = brows(face, outward=outward, seed=seed, full=_brow_fullness(look))
        parts.append(_in_head(f"{side} brow", brow, pose, brow_like))
        for upper in (True, False):
            hairs = lashes(face, outward=outward, seed=seed, upper=upper)
            name = f"{side} {'upper' if upper else 'lower'} lashes"
            parts.append(_in_head(name, hairs, pose, lash_like))
    mass = hair(face.head, look=look, fineness=fineness)
    if mass is not None:
        parts.append(_in_head("hair", mass, pose, hair_like))
    return parts


def _brow_fullness(look: Look) -> float:
    if look.age_years < CHILD_UP_TO_YEARS:
        return 0.55
    return (0.7 if look.hair == "bald" else 0.9) + 0.15 * look.build[2]


def _skin_part(sitter: Sitter, pose: HeadPose, skin: SkinMesh, *, material: Material) -> Part:
    """Return the skin in the world: the head goes with the head, the neck's foot with the body."""
    body = body_pose(pose)
    with_head = to_world(skin.vertices * MM, origin=pose.origin, axes=pose.axes)
    size = body_size(body_of(sitter, pose=pose))
    lower = sized(skin.vertices, size=size, neck=1.0, foot=size / neck_size(sitter.face))
    with_body = to_world(lower * MM, origin=body.origin, axes=body.axes)
    vertices = with_head + (with_body - with_head) * skin.neck[:, None]
    return Part(
        name="skin",
        vertices=vertices,
        normals=vertex_normals(vertices, skin.faces),
        faces=skin.faces,
        material=material,
    )


def _in_head(name: str, mesh: Mesh, pose: HeadPose, material: Material) -> Part:
    """Return a mesh of the head frame [mm] as a part in the world."""
    return Part(
        name=name,
        vertices=to_world(mesh.vertices * MM, origin=pose.origin, axes=pose.axes),
        normals=mesh.normals @ pose.axes.T,
        faces=mesh.faces,
        material=material,
        colors=mesh.colors,
    )


def _part(name: str, mesh: Mesh, material: Material) -> Part:
    return Part(
        name=name,
        vertices=mesh.vertices,
        normals=mesh.normals,
        faces=mesh.faces,
        material=material,
        colors=mesh.colors,
    )


def _eye_parts(eyes: Eyes, look: Look, *, fineness: float) -> list[Part]:
    white = Material(kind="sclera", color=(0.63, 0.57, 0.53), roughness=0.12, index=1.376)
    colored = Material(kind="iris", color=look.eye_color, roughness=0.6)
    black = Material(kind="pupil", color=(0.004, 0.004, 0.004), roughness=1.0)
    clear = Material(kind="cornea", color=(1.0, 1.0, 1.0), roughness=0.0, index=1.376)
    parts = []
    for index, side in enumerate(SIDES):
        ring = iris(eyes, index=index, color=look.eye_color, seed=look.seed, fineness=fineness)
        parts += [
            _part(f"{side} eyeball", eyeball(eyes, index=index, fineness=fineness), white),
            _part(f"{side} iris", ring, colored),
            _part(f"{side} pupil", pupil(eyes, index=index), black),
            _part(f"{side} cornea", cornea(eyes, index=index, fineness=fineness), clear),
        ]
    return parts


def _corner_parts(face: FaceShape, look: Look, pose: HeadPose) -> list[Part]:
    """Return what is wet and pink between the lids: tear line and inner corner."""
    skin = np.array(look.skin_color)
    red, green, blue = (0.70 * skin + np.array([0.12, 0.065, 0.06])).tolist()
    pink = Material(kind="tear", color=(red, green, blue), roughness=0.08, index=1.34)
    parts = []
    for side, outward in zip(SIDES, (1.0, -1.0), strict=True):
        parts.append(_in_head(f"{side} tear line", tear_line(face, outward=outward), pose, pink))
        parts.append(_in_head(f"{side} caruncle", caruncle(face, outward=outward), pose, pink))
    return parts


def _clothes_parts(sitter: Sitter, look: Look, *, pose: HeadPose, fineness: float) -> list[Part]:
    wool = Material(kind="cloth", color=look.cloth_color, roughness=1.0)
    shirt = Material(kind="cloth", color=(0.62, 0.64, 0.66), roughness=1.0)
    dark = Material(kind="cloth", color=(0.035, 0.037, 0.045), roughness=1.0)
    leather = Material(kind="cloth", color=(0.05, 0.03, 0.02), roughness=1.0)
    body = body_of(sitter, pose=pose)
    grown = body_size(body)
    broad = _SHOULDERS[0] + _SHOULDERS[1] * look.build[2]
    own = Material(kind="skin", color=look.skin_color, roughness=0.42, index=1.4)
    drop = sleeve_drop(body, body_pose(pose))
    parts = [
        _part("hands", hands(sitter, pose=pose, size=grown, drop=drop), own),
        _part("shoes", shoes(sitter, pose=pose, fineness=fineness), leather),
        _part(
            "jumper",
            jumper(sitter, pose=pose, fineness=fineness, under_collar=look.collar, broad=broad),
            wool,
        ),
        _part("trousers", trousers(sitter, pose=pose, fineness=fineness), dark),
    ]
    if look.collar:
        mesh = collar(sitter, pose=pose, fineness=fineness, broad=broad)
        parts.append(_part("collar", mesh, shirt))
    return parts


def _glasses_parts(
    sitter: Sitter, look: Look, *, pose: HeadPose, lenses: LensStack, fineness: float
) -> list[Part]:
    glasses = sitter.glasses
    assert glasses is not None
    frame = Material(
        kind="metal" if look.metal_frame else "plastic",
        color=look.frame_color,
        roughness=0.22 if look.metal_frame else 0.12,
    )
    meshes = frame_meshes(
        glasses,
        lenses=lenses,
        sitter=sitter,
        pose=pose,
        head=head_surface(sitter.face),
        fineness=fineness,
    )
    parts = []
    for index, side in enumerate(SIDES):
        solid = lens_solid(lenses, index=index, fineness=fineness)
        tint = glasses.tint_transmission
        clear = Material(
            kind="lens",
            color=(tint, tint, tint),
            roughness=0.0,
            index=float(lenses.index[index]),
        )
        mesh = solid.mesh
        parts.append(
            Part(
                name=f"{side} lens",
                vertices=mesh.vertices,
                normals=mesh.normals,
                faces=mesh.faces,
                material=clear,
                sections=solid.sections,
            )
        )
        parts.append(_part(f"{side} temple", meshes.temples[side], frame))
        if side in meshes.rims:
            parts.append(_part(f"{side} rim", meshes.rims[side], frame))
        if side in meshes.threads:
            nylon = Material(kind="thread", color=(0.5, 0.5, 0.5), roughness=0.3)
            parts.append(_part(f"{side} thread", meshes.threads[side], nylon))
    red, green, blue = (0.65 * np.array(look.skin_color) + 0.05).tolist()
    silicone = Material(kind="pad", color=(red, green, blue), roughness=0.25, index=1.45)
    parts.append(_part("nose pads", meshes.pads, silicone))
    parts.append(_part("pad arms", meshes.pad_arms, frame))
    parts.append(_part("bridge", meshes.bridge, frame))
    return parts
