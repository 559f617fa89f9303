"""Solids written as binary glTF 2.0: one file that any 3D viewer opens.

The same solids give the same bytes.

References
----------
[gltf-2-0]
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import trimesh
from trimesh.visual import TextureVisuals
from trimesh.visual.material import PBRMaterial

from tapemark.drawing.solid.gltf_meshes import Mesh, cleaned, normals
from tapemark.geometry import FloatArray

Rgb = tuple[float, float, float]

#: Rows: the glTF axes in the world; x to camera-right, y up, z towards the camera.
TO_GLTF = np.array([(-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)])
_NEAREST_M = 0.01
_MATT = 0.9  # roughness


@dataclass(frozen=True, kw_only=True, eq=False)
class Solid:
    """One node of the model.

    Attributes
    ----------
    name : str
        As viewers list it.
    mesh : Mesh
        Its shape, world. [m]
    color : tuple of three floats
        Linear red, green and blue, 0 to 1. [-]
    emits : bool
        Whether it sends light.
    both_sides : bool
        Whether it is seen from behind too.
    opacity : float
        0 to 1. [-]
    """

    name: str
    mesh: Mesh
    color: Rgb
    emits: bool = False
    both_sides: bool = False
    opacity: float = 1.0


@dataclass(frozen=True, kw_only=True, eq=False)
class GlbCamera:
    """A camera of the model.

    Attributes
    ----------
    pose : (4, 4) array
        From the camera's axes (x right, y up, looking along -z) to those of the model.
    up_angle_rad : float
        Full upright angle of view. [rad]
    aspect : float
        Width over height of the frame. [-]
    """

    pose: FloatArray
    up_angle_rad: float
    aspect: float

    @property
    def across_angle_rad(self) -> float:
        """Full angle of view across. [rad]"""
        return float(2 * np.arctan(self.aspect * np.tan(self.up_angle_rad / 2)))


def glb_bytes(solids: tuple[Solid, ...], *, title: str, camera: GlbCamera | None = None) -> bytes:
    """Return solids as binary glTF 2.0.

    Parameters
    ----------
    solids : tuple of Solid
        Each becomes a node with its name.
    title : str
        Name of the scene.
    camera : GlbCamera, optional
        Becomes the last node.
    """
    scene = trimesh.Scene()
    for solid in solids:
        scene.add_geometry(_body(solid), node_name=solid.name, geom_name=solid.name)
    if camera is not None:
        scene.camera = trimesh.scene.Camera(
            name="camera: view", fov=np.degrees([camera.across_angle_rad, camera.up_angle_rad])
        )
        scene.camera_transform = camera.pose

    def finish(tree: dict[str, Any]) -> None:
        """Name the scene, and write the camera's frame: the library divides the two angles."""
        tree["asset"]["generator"] = "tapemark"
        tree["scenes"][0]["name"] = title
        if camera is not None:
            lens = {"aspectRatio": camera.aspect, "znear": _NEAREST_M}
            tree["cameras"][0]["perspective"] |= lens

    written: bytes = scene.export(file_type="glb", include_normals=True, tree_postprocessor=finish)
    return written


def _body(solid: Solid) -> trimesh.Trimesh:
    """Return a solid in the axes of the model, with its look."""
    mesh = cleaned(solid.mesh)
    return trimesh.Trimesh(
        vertices=mesh.points @ TO_GLTF.T,
        faces=mesh.triangles,
        vertex_normals=normals(mesh) @ TO_GLTF.T,
        visual=TextureVisuals(material=_material(solid)),
        process=False,
    )


def _material(solid: Solid) -> PBRMaterial:
    """Return how a solid looks: matt, and bright where it sends light."""
    return PBRMaterial(
        name="lit" if solid.emits else "matt",
        baseColorFactor=[*solid.color, solid.opacity],
        emissiveFactor=list(solid.color) if solid.emits else None,
        metallicFactor=0.0,
        roughnessFactor=_MATT,
        doubleSided=solid.both_sides,
        alphaMode="BLEND" if solid.opacity < 1.0 else None,
    )
