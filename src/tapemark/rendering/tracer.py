"""The path tracer behind the pictures, spoken to here and nowhere else.

Lengths go in as metres in the world and are turned into millimetres from the middle of the face,
because the tracer starts each new ray (1 + |largest coordinate|) times 1e-4 off the surface.
"""

import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.rendering.interruption import Patience
from tapemark.rendering.meshes import Mesh
from tapemark.rendering.parts import BLACK, Beam, Material, Part
from tapemark.rendering.view import Window

PER_MM = 1000.0  # millimetres of the tracer's scene in a metre
ROULETTE = 2  # segments after which faint paths are ended by lot; on average nothing is lost
MIRROR_ALPHA = 0.02  # smoother sheens are taken as so rough, or their light is never found
#: A lamp that is off: where any shines the tracer wants one that its paths can look for.
UNLIT = {"type": "point", "intensity": {"type": "rgb", "value": 0.0}}
PRINCIPLED_SPECULAR = 0.08  # what the tracer mirrors square on where its "specular" is 1

Family = Literal["front", "back", "cornea", "dark cornea"]
Role = Literal["front", "back", "edge", "cornea"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Glass:
    """A surface of a lens, or a cornea, in a scene of mirrors.

    Attributes
    ----------
    name : str
        Its key in the scene.
    mesh : Mesh
        Its shape, world.
    role : str
        ``front``, ``back``, ``edge`` or ``cornea``.
    index : float
        Of the solid behind it. [-]
    mirrors, passes : float
        Against what a bare surface mirrors, and lets through. [-]
    """

    name: str
    mesh: Mesh
    role: Role
    index: float = 1.5
    mirrors: float = 1.0
    passes: float = 1.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Tracer:
    """The path tracer in one variant.

    Attributes
    ----------
    module : module
        The library, its variant set.
    origin : (3,) array
        Point of the world that becomes the tracer's origin. [m]
    patience : Patience
        Of whoever waits for its pictures.
    """

    module: Any
    origin: FloatArray = field(default_factory=lambda: np.zeros(3))
    patience: Patience = field(default_factory=Patience)

    @property
    def plain(self) -> bool:
        """Whether it is the variant that can be at several pictures at once."""
        return str(self.module.variant()).startswith("scalar")

    def scene(
        self,
        parts: Iterable[Part],
        *,
        glass: Iterable[Glass] = (),
        beams: Iterable[Beam] = (),
    ) -> Any:
        """Return the tracer's scene of parts, glass and beams."""
        parts = tuple(parts)
        found: dict[str, Any] = {"type": "scene"}
        for number, part in enumerate(parts):
            found[f"part{number}"] = self.mesh(
                part.mesh,
                _material(part.material, both_sides=part.both_sides and not part.shines),
                colors=part.material.colors if part.sends_at is None else part.sends_at,
                sends=_lamp(part) if part.shines else None,
                weight=part.weight if part.sends_at is None else 0.0,
            )
        for one in glass:
            found[one.name] = self.mesh(one.mesh, _glass_material(one))
        slides: dict[int, Any] = {}  # the points of one face share theirs
        for number, beam in enumerate(beams):
            key = id(beam.slide)
            slides[key] = slides.get(key) or self._slide(beam)
            found[f"beam{number}"] = self._beam(beam, slides[key])
        if any(one.sends_at is not None for one in parts):
            found["unlit"] = UNLIT
        return self.module.load_dict(found)

    def choose_family(self, scene: Any, glass: Iterable[Glass], family: Family) -> None:
        """Make the surfaces of a scene of mirrors act for one family of light paths.

        Parameters
        ----------
        scene : object
            From `scene`, with that glass.
        glass : iterable of Glass
            What is in it.
        family : str
            ``front``: the fronts mirror. ``back``: the fronts let through, the backs mirror.
            ``cornea``: lenses let through and corneas mirror. ``dark cornea``: these are black.
        """
        fields = self.module.traverse(scene)
        for one in glass:
            if one.role in ("front", "back"):
                clear = family in ("cornea", "dark cornea") or one.role != family
                fields[f"{one.name}.bsdf.weight.value"] = float(clear)
            elif one.role == "cornea":
                key = f"{one.name}.bsdf.specular_reflectance.value"
                fields[key] = [0.0 if family == "dark cornea" else one.mirrors] * 3
        fields.update()

    def picture(
        self,
        scene: Any,
        window: Window,
        *,
        samples: int,
        depth: int,
        seed: int = 0,
        pinhole: bool = False,
        near_m: float | None = None,
        far_m: float | None = None,
        roulette: bool = True,
    ) -> np.ndarray:
        """Return a picture of a scene, (rows, columns, 3) [cd·s/m²].

        Parameters
        ----------
        scene : object
            From `scene`.
        window : Window
            Camera and the part of its frame to show.
        samples : int
            Paths for each pixel.
        depth : int
            Most segments of a path, from the camera to the light.
        seed : int
            Of the lots drawn.
        pinhole : bool
            Whether everything is in focus.
        near_m, far_m : float, optional
            Depths along the view up to which, and from which on, nothing is seen. [m]
        roulette : bool
            Whether faint paths may be ended by lot.

        Raises
        ------
        Dropped
            Nobody wants it any more.
        """
        cut = ROULETTE if roulette else depth + 1
        paths = self.module.load_dict({"type": "path", "max_depth": depth, "rr_depth": cut})
        sensor = self._sensor(window, samples=samples, pinhole=pinhole, reach=(near_m, far_m))

        def render() -> np.ndarray:
            image = self.module.render(scene, sensor=sensor, integrator=paths, seed=seed)
            return np.array(image, dtype=np.float32)[..., :3]

        return self.patience.during(render, cancel=paths.cancel)

    def to_scene(self, points: FloatArray) -> FloatArray:
        """Return world points [m] in the tracer's frame. [mm]"""
        return np.asarray((points - self.origin) * PER_MM)

    def mesh(
        self,
        mesh: Mesh,
        material: dict[str, Any],
        *,
        colors: FloatArray | None = None,
        sends: dict[str, Any] | None = None,
        weight: float = 1.0,
    ) -> Any:
        """Return a mesh of the tracer's.

        Parameters
        ----------
        mesh : Mesh
            World.
        material, sends : dict
            Its surface, and the radiance it sends, in the tracer's words.
        colors : (n, 3) array, optional
            Attribute ``vertex_color`` of its points.
        weight : float
            How often paths look for its light, against other lamps: 0 where it differs over the
            mesh, which the tracer cannot. [-]
        """
        library = self.module
        properties = library.Properties()
        properties["mesh_bsdf"] = library.load_dict(material)
        if sends is not None:
            lamp = {"type": "area", "radiance": sends, "sampling_weight": weight}
            properties["mesh_emitter"] = library.load_dict(lamp)
        loaded = library.Mesh(
            "mesh",
            vertex_count=len(mesh.points),
            face_count=len(mesh.triangles),
            has_vertex_normals=mesh.normals is not None,
            props=properties,
        )
        if colors is not None:  # of a list, numbers are taken over four times as fast
            loaded.add_attribute("vertex_color", 3, floats(colors).tolist())
        fields = library.traverse(loaded)
        self._put(fields, "vertex_positions", floats(self.to_scene(mesh.points)))
        if mesh.normals is not None:
            self._put(fields, "vertex_normals", floats(mesh.normals))
        self._put(fields, "faces", np.ascontiguousarray(mesh.triangles, dtype=np.uint32).ravel())
        fields.update()
        return loaded

    def _put(self, fields: Any, name: str, values: np.ndarray) -> None:
        """Put values in the place of those of a mesh.

        The plain variant's lie in memory that numpy can write to; assigned, each number would be
        compared with the one before, which takes 30 times as long.
        """
        if self.plain:
            np.asarray(fields[name])[:] = values
            fields.set_dirty(name)
        else:
            fields[name] = values

    def _beam(self, beam: Beam, slide: Any) -> dict[str, Any]:
        """Return a point that shines through a slide."""
        return {
            "type": "projector",
            "irradiance": slide,
            "fov": beam.field_deg,
            "to_world": self._looking(beam.position, beam.axes),
            "sampling_weight": beam.weight,
        }

    def _slide(self, beam: Beam) -> Any:
        """Return the slide of a beam.

        A slide one unit away, lit with G, stands for an intensity of pi G/cos³; the cosine is
        that to the axis.
        """
        side = len(beam.slide)
        half = np.tan(np.deg2rad(beam.field_deg / 2.0))
        steps = ((np.arange(side) + 0.5) / side * 2.0 - 1.0) * half
        cosine = 1.0 / np.sqrt(1.0 + steps[:, None] ** 2 + steps[None, :] ** 2)
        lit = (beam.slide / np.pi * cosine**3)[..., None] * np.array(beam.color) * PER_MM**2
        bitmap = self.module.Bitmap(np.ascontiguousarray(lit, dtype=np.float32))
        return self.module.load_dict({"type": "bitmap", "bitmap": bitmap, "raw": True})

    def _sensor(
        self,
        window: Window,
        *,
        samples: int,
        pinhole: bool,
        reach: tuple[float | None, float | None],
    ) -> Any:
        view, (width, height) = window.view, window.whole_size
        near_m, far_m = reach
        film: dict[str, Any] = {
            "type": "hdrfilm",
            "width": width,
            "height": height,
            "crop_offset_x": window.left,
            "crop_offset_y": window.top,
            "crop_width": window.columns,
            "crop_height": window.rows,
            "rfilter": {"type": "box"},
            "pixel_format": "rgb",
            "component_format": "float32",
        }
        found: dict[str, Any] = {
            "type": "perspective",
            "fov_axis": "x",
            "fov": float(np.rad2deg(2.0 * np.arctan(view.half_width))),
            "near_clip": 10.0 if near_m is None else near_m * PER_MM,
            "far_clip": 1e6 if far_m is None else far_m * PER_MM,
            "to_world": self._looking(view.position, view.axes),
            "film": film,
            "sampler": {"type": "independent", "sample_count": samples},
        }
        if not pinhole and view.aperture_m > 0.0:
            found |= {
                "type": "thinlens",
                "aperture_radius": view.aperture_m / 2.0 * PER_MM,
                "focus_distance": view.focus_m * PER_MM,
            }
        return self.module.load_dict(found)

    def _looking(self, position: FloatArray, axes: FloatArray) -> Any:
        """Return the tracer's transform of something at a place that looks along y, z up."""
        at = self.to_scene(position)
        return self.module.ScalarTransform4f().look_at(
            origin=at.tolist(),
            target=(at + PER_MM * axes[:, 1]).tolist(),
            up=axes[:, 2].tolist(),
        )


def load_tracer(
    variant: str,
    *,
    origin: FloatArray,
    threads: int | None = None,
    patience: Patience | None = None,
) -> Tracer:
    """Return the path tracer in a variant.

    Parameters
    ----------
    variant : str
        Its name, from `choose_variant`.
    origin : (3,) array
        Middle of what matters, world. [m]
    threads : int, optional
        Of the processor; by default as many as this process may use.
    patience : Patience, optional
        Of whoever waits for its pictures.
    """
    import drjit
    import mitsuba

    mitsuba.set_variant(variant)
    mitsuba.set_log_level(mitsuba.LogLevel.Error)
    drjit.set_thread_count(threads or _cores())
    return Tracer(module=mitsuba, origin=origin, patience=patience or Patience())


def _cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def matt(color: tuple[float, float, float]) -> dict[str, Any]:
    """Return a matt surface in the tracer's words."""
    return {"type": "diffuse", "reflectance": {"type": "rgb", "value": list(color)}}


def floats(values: FloatArray) -> np.ndarray:
    """Return an array as the tracer takes it: flat, single precision."""
    return np.ascontiguousarray(values, dtype=np.float32).ravel()


def _lamp(part: Part) -> dict[str, Any]:
    if part.sends_at is not None:
        return {"type": "mesh_attribute", "name": "vertex_color"}
    return {"type": "rgb", "value": list(part.sends)}


def _material(material: Material, *, both_sides: bool) -> dict[str, Any]:
    own: Any = {"type": "rgb", "value": list(material.color)}
    if material.colors is not None:
        own = {"type": "mesh_attribute", "name": "vertex_color"}
    found: dict[str, Any] = {"type": "diffuse", "reflectance": own}
    if material.metal:
        found = {
            "type": "roughconductor",
            "material": "none",
            "distribution": "ggx",
            "alpha": material.roughness or MIRROR_ALPHA,
            "specular_reflectance": own,
        }
    elif material.roughness is not None:
        mirrored = ((material.index - 1.0) / (material.index + 1.0)) ** 2
        found = {
            "type": "principled",
            "base_color": own,
            "roughness": max(material.roughness, MIRROR_ALPHA) ** 0.5,
            "specular": min(mirrored / PRINCIPLED_SPECULAR, 1.0),
        }
    return {"type": "twosided", "material": found} if both_sides else found


def _glass_material(one: Glass) -> dict[str, Any]:
    """Return a surface that `choose_family` makes a mirror or lets light through.

    A conductor of real index n and no absorption is a bare dielectric surface that mirrors
    without drawing lots; met from inside its index is 1/n.
    """
    mirror: dict[str, Any] = {
        "type": "conductor",
        "eta": 1.0 / one.index if one.role == "back" else one.index,
        "k": 0.0,
        "specular_reflectance": {"type": "rgb", "value": one.mirrors},
    }
    if one.role == "edge":
        return matt(BLACK)
    if one.role == "cornea":
        return mirror
    clear = {
        "type": "dielectric",
        "int_ior": one.index,
        "ext_ior": 1.0,
        "specular_reflectance": 0.0,
        "specular_transmittance": one.passes,
    }
    either = mirror if one.role == "front" else {"type": "twosided", "mirror": mirror}
    return {"type": "blendbsdf", "weight": 0.0, "mirror": either, "clear": clear}
