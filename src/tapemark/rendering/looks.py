"""What a camera sees of things without any light: what they are made of and where they are.

Every part is made to shine with its own answer, and a picture of depth 1 reads it: on one core
twenty times faster than asking the tracer for the same as extra channels.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from tapemark.geometry import FloatArray, dot
from tapemark.rendering.meshes import Mesh
from tapemark.rendering.parts import BLACK, LUMINANCE, Part
from tapemark.rendering.tracer import PER_MM, Tracer, floats, matt
from tapemark.rendering.view import View, Window

#: Added to places so that none is negative: nothing lies farther away. [mm]
PLACE_OFFSET_MM = 1.0e4
SEED = 7
KEPT_WHOLE = "skin"  # a camera behind a lens that starts in it has to see it from within

#: ``both``: how far normals point right and up in the picture, and the luminance of albedo.
Look = Literal["albedo", "normal", "place", "both"]


@dataclass(kw_only=True, eq=False)
class Looks:
    """Parts that shine with what they are made of.

    Attributes
    ----------
    tracer : Tracer
        The path tracer.
    scene : object
        Its scene.
    albedos : tuple of arrays
        Reflectance at the points of each part; 1 where it shines.
    meshes : tuple of Mesh
        Their shapes.
    shown : str
        What they shine with now.
    """

    tracer: Tracer
    scene: Any
    albedos: tuple[FloatArray, ...]
    meshes: tuple[Mesh, ...]
    shown: Look = "albedo"

    def guides(self, window: Window) -> tuple[FloatArray, FloatArray]:
        """Return albedo, without its colour, and normals of what a camera sees, in one go.

        Two of the three parts of a normal say the third: what is seen faces the camera.
        """
        image = self.picture(window, look="both")
        across, up = (2.0 * image[..., axis] - 1.0 for axis in (0, 1))
        depth = np.sqrt(np.maximum(1.0 - across**2 - up**2, 0.0))
        normal = np.stack([across, up, depth], axis=-1)
        empty = image.max(axis=-1, keepdims=True) <= 0.0
        return np.repeat(image[..., 2:], 3, axis=-1), np.where(empty, 0.0, normal)

    def picture(
        self,
        window: Window,
        *,
        look: Look,
        samples: int = 1,
        pinhole: bool = False,
        near_m: float | None = None,
    ) -> FloatArray:
        """Return what a camera sees of the parts, (rows, columns, 3).

        Parameters
        ----------
        window, samples, pinhole, near_m
            As for a picture of `Tracer`.
        look : str
            ``albedo``; ``normal``, 0 where there is nothing; or ``place``, world [m], NaN where
            there is nothing.
        """
        self._show(look, window.view)
        image = self.tracer.picture(
            self.scene, window, samples=samples, depth=1, seed=SEED, pinhole=pinhole, near_m=near_m
        )
        empty = image.max(axis=-1, keepdims=True) <= 0.0
        if look == "normal":
            return np.where(empty, 0.0, 2.0 * image - 1.0).astype(np.float32)
        if look == "place":
            away = (image.astype(np.float64) - PLACE_OFFSET_MM) / PER_MM
            return np.where(empty, np.nan, away + self.tracer.origin)
        return image

    def _show(self, look: Look, view: View) -> None:
        if look == self.shown:
            return
        fields = self.tracer.module.traverse(self.scene)
        for number, (mesh, albedo) in enumerate(zip(self.meshes, self.albedos, strict=True)):
            assert mesh.normals is not None
            if look == "albedo":
                colors = albedo
            elif look == "normal":
                colors = (mesh.normals + 1.0) / 2.0
            elif look == "both":
                turned = (mesh.normals @ view.axes[:, [0, 2]] + 1.0) / 2.0
                colors = np.column_stack([turned, albedo @ LUMINANCE])
            else:
                colors = self.tracer.to_scene(mesh.points) + PLACE_OFFSET_MM
            fields[f"part{number}.vertex_color"] = floats(colors)
        fields.update()
        self.shown = look


def looks_of(tracer: Tracer, parts: Iterable[Part], *, seen_from: View | None = None) -> Looks:
    """Return parts as a scene that shows what they are made of.

    Parameters
    ----------
    tracer : Tracer
        The path tracer.
    parts : iterable of Part
        What there is.
    seen_from : View, optional
        Where all cameras stand: what they cannot see is left out.
    """
    meshes: list[Mesh] = []
    albedos: list[FloatArray] = []
    found: dict[str, Any] = {"type": "scene"}
    shining = {"type": "mesh_attribute", "name": "vertex_color"}
    for part in parts:
        own = part.material.colors
        if own is None:
            own = np.tile(part.material.color, (len(part.mesh.points), 1))
        mesh = part.mesh
        if seen_from is not None and not part.name.endswith(KEPT_WHOLE):
            kept = _facing_camera(part, seen_from)
            if not kept.any():
                continue
            mesh = replace(mesh, triangles=mesh.triangles[kept])
        if mesh.normals is None:
            own, mesh = own[mesh.triangles].reshape(-1, 3), faceted(mesh)
        own = np.ones_like(own) if part.shines else own
        found[f"part{len(meshes)}"] = tracer.mesh(mesh, matt(BLACK), colors=own, sends=shining)
        meshes.append(mesh)
        albedos.append(own)
    scene = tracer.module.load_dict(found)
    return Looks(tracer=tracer, scene=scene, albedos=tuple(albedos), meshes=tuple(meshes))


def _facing_camera(part: Part, view: View) -> np.ndarray:
    """Return which triangles of a part a camera may see: it looks at their outer side, (k,)."""
    corners = part.mesh.points[part.mesh.triangles]
    ahead = ((corners - view.position) @ view.axes[:, 1]).max(axis=1) > 0.0
    if part.both_sides:
        return np.asarray(ahead)
    outwards = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(outwards, axis=-1)
    towards = dot(outwards, view.position - corners[:, 0])
    return np.asarray(ahead & (towards > -view.aperture_m * size))


def faceted(mesh: Mesh) -> Mesh:
    """Return a mesh whose triangles share no points, each with its own normal."""
    corners = mesh.points[mesh.triangles]
    facets = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(facets, axis=-1, keepdims=True)
    normals = np.repeat(facets / np.where(size > 0.0, size, 1.0), 3, axis=0)
    return Mesh(
        points=corners.reshape(-1, 3),
        triangles=np.arange(len(corners) * 3).reshape(-1, 3),
        normals=normals,
    )
