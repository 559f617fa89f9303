"""What a picture is made of: things with a shape, a surface and perhaps their own light."""

from dataclasses import dataclass, field, replace
from typing import Literal, Self

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.meshes import Mesh

Rgb = tuple[float, float, float]
BLACK: Rgb = (0.0, 0.0, 0.0)
#: Shares of red, green and blue in luminance (linear sRGB), [wcag22].
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])

#: ``person``: skin, hair and clothes; ``eye``: what lies in the lid opening; ``frame``: rims and
#: arms of glasses; ``room``: walls, backdrop and panels; ``lamp``: housings and lit faces.
Kind = Literal["person", "eye", "frame", "room", "lamp"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Material:
    """How a surface sends light back.

    Attributes
    ----------
    color : three floats
        Share of red, green and blue that it gives back, matt. [-]
    colors : (n, 3) array or None
        The same at each point of the mesh, where it is not even.
    roughness : float or None
        Of a sheen over it, 0.05 (wet) to 0.6 (dull); None for a wholly matt one. [-]
    index : float
        Refractive index of that sheen. [-]
    metal : bool
        Whether it is bare metal: it mirrors in its colour.
    """

    color: Rgb = (0.5, 0.5, 0.5)
    colors: FloatArray | None = field(default=None)
    roughness: float | None = None
    index: float = 1.4
    metal: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """One thing in the picture.

    Attributes
    ----------
    name : str
        For messages; unique in a picture.
    kind : str
        See `Kind`.
    mesh : Mesh
        Its shape, world.
    material : Material
        Its surface.
    sends : three floats
        Its own light, luminous exposure of red, green and blue on the outer side. [cd·s/m²]
    sends_at : (n, 3) array or None
        The same at each point of the mesh, where it is not even.
    both_sides : bool
        Whether it can be seen from behind as well.
    weight : float
        Of a lamp: how often it is looked at, against other lamps. [-]
    """

    name: str
    kind: Kind
    mesh: Mesh
    material: Material = field(default_factory=Material)
    sends: Rgb = BLACK
    sends_at: FloatArray | None = None
    both_sides: bool = False
    weight: float = 1.0

    @property
    def shines(self) -> bool:
        """Whether it sends light of its own."""
        if self.sends_at is not None:
            return bool((self.sends_at > 0.0).any())
        return max(self.sends) > 0.0

    def dark(self) -> Self:
        """Return the same thing with its light switched off."""
        return replace(self, sends=BLACK, sends_at=None)

    def black(self) -> Self:
        """Return the same thing as something that only stands in the way."""
        return replace(self, material=Material(color=BLACK), sends=BLACK, sends_at=None)


@dataclass(frozen=True, kw_only=True, eq=False)
class Beam:
    """A lamp whose light is not spread evenly, taken as a point.

    Attributes
    ----------
    name : str
        For messages.
    position : (3,) array
        World. [m]
    axes : (3, 3) array
        Columns; y is where it points.
    slide : (n, n) array
        Intensity times time in each direction of a field of `field_deg`: over the places of a
        plane square to the axis, rows downwards, columns to its right. [cd·s]
    field_deg : float
        Full angle of the field.
    color : three floats
        Of the light, of luminance 1.
    weight : float
        How often it is looked at, against other lamps. [-]
    """

    name: str
    position: FloatArray
    axes: FloatArray
    slide: FloatArray
    field_deg: float
    color: Rgb
    weight: float = 1.0
