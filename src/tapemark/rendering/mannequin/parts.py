"""What the mannequin is made of: parts as triangles, and their materials."""

from dataclasses import dataclass, field
from typing import Literal

from tapemark.geometry import FloatArray
from tapemark.rendering.mannequin.looks import Color
from tapemark.rendering.mannequin.mesh import IntArray

MaterialKind = Literal[
    "skin",
    "hair",
    "cloth",
    "sclera",
    "iris",
    "pupil",
    "cornea",
    "tear",
    "lens",
    "plastic",
    "metal",
    "pad",
    "thread",
]


@dataclass(frozen=True, kw_only=True, slots=True)
class Material:
    """What a part is made of.

    Attributes
    ----------
    kind : str
        What it is; says how light behaves there.
    color : tuple of three floats
        Share of the light given back, for red, green and blue; of a metal, at right angles; of
        a lens, what the tint lets through in one pass. [-]
    roughness : float
        0 mirror-smooth to 1 dull: width of the highlights. [-]
    index : float
        Refractive index of the surface, or of the lens. [-]
    """

    kind: MaterialKind
    color: Color
    roughness: float
    index: float = 1.5


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """One part of the mannequin as triangles.

    Attributes
    ----------
    name : str
        Such as ``skin``, ``right lens`` (the sitter's own right).
    vertices, normals : (n, 3) arrays
        Corners in the world [m] and unit normals there [-].
    faces : (m, 3) int array
        Corners of the triangles, anticlockwise from outside.
    material : Material
        What it is made of.
    colors : (n, 3) array or None
        Reflectance at the corners, instead of the material's one color. [-]
    sections : dict
        First and last (left out) face of named areas: ``front``, ``back``, ``edge`` of a lens.
    """

    name: str
    vertices: FloatArray
    normals: FloatArray
    faces: IntArray
    material: Material
    colors: FloatArray | None = None
    sections: dict[str, tuple[int, int]] = field(default_factory=dict)
