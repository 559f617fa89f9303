"""Pictures of a lens pair by a path tracer that shares no line with us.

The tracer is given surfaces, a camera and lights, and finds every intersection, mirror and
refracted direction, and reflectance itself. The lenses are closed solids: meshes of the front
(a sphere), of the back (a sphere or torus) and of the edge between them, cut at the outline.

Meshes stand in for analytic shapes because the tracer has no torus and clips nothing. Their
vertices and vertex normals lie on the true surface, from closed forms written here anew; of our
optics nothing is used. With cells of 0.3 to 0.7 mm on radii of 50 mm and more, the flat facets
lie at most 1.2 micrometres inside the surface, and the interpolated normal of a sphere is that
of the place above the facet. What is left is single precision. Lengths are in millimetres from
the middle of the lens pair, because the tracer starts each new ray (1 + |largest coordinate|)
times 1e-4 off the surface.

Three pictures take the families of light paths apart, without the noise of a path tracer that
draws lots at every surface:

    front     the front is a mirror with the bare surface's reflectance
    back      the front lets through and mirrors nothing, the back is a mirror met from inside
    through   both surfaces let through and mirror nothing, the irises shine

and a fourth, `whole`, lets the front and the back of one dielectric solid do all they do.

Reflectance: a conductor of real index n and no absorption is a bare dielectric surface that is
drawn always; met from inside its index is 1/n. The tracer's own formula, for either side.
"""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from tapemark.anatomy import LensStack
from tapemark.geometry import FloatArray, superellipse_points

PER_MM = 1000.0  # millimetres of the tracer's scene in a metre
AROUND, OUTWARDS = 240, 72  # cells of a lens surface: around the outline, from middle to edge
#: Most segments from the camera to the light. Two more each, and a whole lens adds light that
#: was mirrored three times inside, two thousandths of the rest.
SEGMENTS = {"front": 2, "back": 4, "through": 3, "whole": 8}
ON_FRONT_M = 3e-5  # the bend of the front within a pixel and single precision make a tenth of it
_ROULETTE_NEVER = 100

Family = Literal["front", "back", "through", "whole"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """What the camera sees of one lens; axes (row, column).

    Attributes
    ----------
    brightness : (rows, columns) array
        Luminance over that of the light. [-]
    coverage : (rows, columns) array
        Share of each pixel that looks at the lens, its edge included. [-]
    x, z : (rows, columns) arrays
        Where on the lens each pixel looks, boxed frame. [m]
    on_front : (rows, columns) bool array
        True where all of the pixel looks at the front of the lens, not past it or at its edge.
    """

    brightness: FloatArray
    coverage: FloatArray
    x: FloatArray
    z: FloatArray
    on_front: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Light:
    """A flat light, lit on one side.

    Attributes
    ----------
    center, target : (3,) arrays
        Its middle and the point it faces, world. [m]
    width, height : float
        Full size; `height` in the upright plane through the direction it faces. [m]
    disc : bool
        True for a disc of diameter `width`.
    """

    center: FloatArray
    target: FloatArray
    width: float
    height: float
    disc: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class _Mesh:
    points: FloatArray
    normals: FloatArray
    triangles: np.ndarray


def load_tracer() -> Any:
    """Return the path tracer, in its plain variant; one thread, so that times compare."""
    import drjit
    import mitsuba

    mitsuba.set_variant("scalar_rgb")
    drjit.set_thread_count(1)
    return mitsuba


def build_tracer_scene(
    tracer: Any, lenses: LensStack, *, family: Family, lights: tuple[Light, ...]
) -> Any:
    """Return the tracer's scene of a lens pair and its lights, without rim and head."""
    middle = lenses.boxed_origin.mean(axis=0)
    scene: dict[str, Any] = {"type": "scene"}
    for index in range(len(lenses.outward)):
        index_of_refraction = float(lenses.index[index])
        for part, mesh in lens_solid(lenses, index=index).items():
            material = _material(family, part, index_of_refraction)
            if material is None:
                continue
            scene[f"{part}{index}"] = _load_mesh(tracer, mesh, material, middle)
    for number, light in enumerate(lights):
        scene[f"light{number}"] = _load_light(tracer, light, middle)
    return tracer.load_dict(scene)


def take_picture(
    tracer: Any,
    scene: Any,
    lenses: LensStack,
    *,
    index: int,
    camera: FloatArray,
    family: Family,
    columns: int,
    samples: int,
    with_places: bool = True,
) -> Picture:
    """Return the camera's picture of one lens, framed to its outline.

    Parameters
    ----------
    tracer, scene : module, scene
        From `load_tracer` and `build_tracer_scene`.
    lenses : LensStack
        The pair in the scene.
    index : int
        Which lens.
    camera : (3,) array
        Entrance pupil, world. [m]
    family : str
        Which paths; sets how long they may be.
    columns : int
        Pixels across; rows follow, pixels are square.
    samples : int
        Rays per pixel; a square number.
    with_places : bool
        Whether to find where each pixel looks as well; NaN and False without.
    """
    sensor = _load_sensor(tracer, lenses, index, camera, size=(columns, samples))
    paths = {"type": "path", "max_depth": SEGMENTS[family], "rr_depth": _ROULETTE_NEVER}
    if with_places:
        paths = {"type": "aov", "aovs": "place:position", "paths": paths}
    integrator = tracer.load_dict(paths)
    image = np.array(tracer.render(scene, sensor=sensor, integrator=integrator), dtype=float)
    shown = {"brightness": image[..., 1], "coverage": image[..., 3]}
    if not with_places:
        nowhere = np.full(image.shape[:2], np.nan)
        return Picture(**shown, x=nowhere, z=nowhere, on_front=nowhere > 0)
    world = image[..., -3:] / PER_MM + lenses.boxed_origin.mean(axis=0)
    boxed = (world - lenses.boxed_origin[index]) @ lenses.boxed_axes[index]
    on_sphere, _ = _sphere(boxed[..., [0, 2]].reshape(-1, 2), lenses.front_curvature[index])
    off_front_m = np.abs(boxed[..., 1] - on_sphere[:, 1].reshape(boxed.shape[:2]))
    return Picture(
        **shown,
        x=boxed[..., 0],
        z=boxed[..., 2],
        on_front=(image[..., 3] > 1.0 - 1e-6) & (off_front_m < ON_FRONT_M),
    )


def pixel_of(
    points: FloatArray, lenses: LensStack, *, index: int, camera: FloatArray, columns: int
) -> tuple[FloatArray, FloatArray]:
    """Return row and column, counted from the middle of the first pixel, where points show.

    Parameters
    ----------
    points : (..., 3) array
        World. [m]
    lenses, index, camera, columns
        As in `take_picture`.
    """
    towards, distance, width = _framing(lenses, index, camera)
    right = np.cross(towards, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    spread = (points - camera) / ((points - camera) @ towards)[..., None]
    scale = columns * distance / width
    across, up = spread @ right * scale, spread @ np.cross(right, towards) * scale
    return (_rows(lenses, columns) - 1) / 2 - up, (columns - 1) / 2 + across


def lens_solid(lenses: LensStack, *, index: int) -> dict[str, _Mesh]:
    """Return front, back and edge of one lens as meshes in the world. [m]

    The edge is ground parallel to the optical axis.
    """
    flat = _spread_from_middle(lenses)
    curvature = lenses.front_curvature[index]
    front_boxed, tilt = _sphere(flat, curvature)
    axes, origin = lenses.boxed_axes[index], lenses.boxed_origin[index]
    front = _Mesh(
        points=front_boxed @ axes.T + origin, normals=tilt @ axes.T, triangles=_triangles()
    )
    axes, origin = lenses.optical_axes[index], lenses.optical_origin[index]
    optical = (front.points - origin) @ axes
    back_optical, tilt = _torus(
        optical[:, [0, 2]],
        lenses.back_curvature_a[index],
        lenses.back_curvature_b[index],
        lenses.back_axis[index],
    )
    back_optical[:, 1] -= lenses.thickness_m[index]
    back = _Mesh(
        points=back_optical @ axes.T + origin,
        normals=-tilt @ axes.T,
        triangles=_triangles()[:, ::-1],
    )
    return {"front": front, "back": back, "edge": _edge(front, back)}


def _framing(lenses: LensStack, index: int, camera: FloatArray) -> tuple[FloatArray, float, float]:
    """Return the direction to one lens [-], its distance and the width to show there [m]."""
    towards = lenses.boxed_origin[index] - camera
    distance = float(np.linalg.norm(towards))
    return towards / distance, distance, 2.1 * lenses.half_width


def _rows(lenses: LensStack, columns: int) -> int:
    return round(columns * float(lenses.half_height / lenses.half_width))


def _load_sensor(
    tracer: Any, lenses: LensStack, index: int, camera: FloatArray, *, size: tuple[int, int]
) -> Any:
    middle = lenses.boxed_origin.mean(axis=0)
    _, distance, width = _framing(lenses, index, camera)
    columns, samples = size
    return tracer.load_dict(
        {
            "type": "perspective",
            "fov_axis": "x",
            "fov": float(np.rad2deg(2.0 * np.arctan2(width / 2.0, distance))),
            "near_clip": 10.0,
            "far_clip": 1e5,
            "to_world": tracer.ScalarTransform4f().look_at(
                origin=((camera - middle) * PER_MM).tolist(),
                target=((lenses.boxed_origin[index] - middle) * PER_MM).tolist(),
                up=[0.0, 0.0, 1.0],
            ),
            "film": {
                "type": "hdrfilm",
                "width": columns,
                "height": _rows(lenses, columns),
                "rfilter": {"type": "box"},
                "pixel_format": "rgba",
                "component_format": "float32",
            },
            "sampler": {"type": "stratified", "sample_count": samples},
        }
    )


def _spread_from_middle(lenses: LensStack) -> FloatArray:
    """Return places (x, z) in the boxed frame: rings from the middle to the outline. [m]"""
    squareness, taper = lenses.outline_shape
    outline = superellipse_points(
        AROUND,
        half_width=lenses.half_width,
        half_height=lenses.half_height,
        exponent=squareness,
        taper=taper,
    )
    rings = np.arange(1, OUTWARDS + 1) / OUTWARDS
    flat = (rings[:, None, None] * outline[None]).reshape(-1, 2)
    return np.concatenate([np.zeros((1, 2)), flat])


def _triangles() -> np.ndarray:
    """Return the triangles of the rings, seen counter-clockwise from +y."""
    ring = np.arange(AROUND)
    after = (ring + 1) % AROUND
    fan = np.stack([np.zeros_like(ring), 1 + after, 1 + ring], axis=-1)
    bands = [fan]
    for inner in range(OUTWARDS - 1):
        a, b = 1 + inner * AROUND, 1 + (inner + 1) * AROUND
        bands.append(np.stack([a + ring, b + after, b + ring], axis=-1))
        bands.append(np.stack([a + ring, a + after, b + after], axis=-1))
    return np.concatenate(bands)


def _sphere(flat: FloatArray, curvature: float) -> tuple[FloatArray, FloatArray]:
    """Return points of a sphere through the origin above flat places, and normals to +y."""
    x, z = flat.T
    root = np.sqrt(1.0 - curvature**2 * (x * x + z * z))
    sag = curvature * (x * x + z * z) / (1.0 + root)
    normals = np.stack([curvature * x, root, curvature * z], axis=-1)
    return np.stack([x, -sag, z], axis=-1), normals


def _torus(
    flat: FloatArray, curvature_a: float, curvature_b: float, axis: float
) -> tuple[FloatArray, FloatArray]:
    """Return points and normals of the torus that a circle makes, turned about a line.

    The circle (curvature b, in the plane of v) lies at r(v) = 1/a - s_v from the line; at u
    the surface is s = 1/a - sqrt(r^2 - u^2) deep. Multiplied by a, so that a may be 0.
    """
    x, z = flat.T
    u, v = x * np.cos(axis) + z * np.sin(axis), z * np.cos(axis) - x * np.sin(axis)
    circle_root = np.sqrt(1.0 - (curvature_b * v) ** 2)
    depth_v = curvature_b * v * v / (1.0 + circle_root)
    from_line = 1.0 - curvature_a * depth_v
    root = np.sqrt(from_line**2 - (curvature_a * u) ** 2)
    depth = (2.0 * depth_v - curvature_a * depth_v**2 + curvature_a * u * u) / (1.0 + root)
    slope_u = curvature_a * u / root
    slope_v = curvature_b * v / circle_root * from_line / root
    normals = np.stack(
        [
            slope_u * np.cos(axis) - slope_v * np.sin(axis),
            np.ones_like(u),
            slope_u * np.sin(axis) + slope_v * np.cos(axis),
        ],
        axis=-1,
    )
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    return np.stack([x, -depth, z], axis=-1), normals


def _edge(front: _Mesh, back: _Mesh) -> _Mesh:
    rim_front, rim_back = front.points[-AROUND:], back.points[-AROUND:]
    outward = rim_front - rim_front.mean(axis=0)
    outward /= np.linalg.norm(outward, axis=-1, keepdims=True)
    ring = np.arange(AROUND)
    after = (ring + 1) % AROUND
    triangles = np.concatenate(
        [
            np.stack([ring, after, AROUND + after], axis=-1),
            np.stack([ring, AROUND + after, AROUND + ring], axis=-1),
        ]
    )
    return _Mesh(
        points=np.concatenate([rim_front, rim_back]),
        normals=np.concatenate([outward, outward]),
        triangles=triangles,
    )


def _material(family: Family, part: str, index: float) -> dict[str, Any] | None:
    black = {"type": "diffuse", "reflectance": {"type": "rgb", "value": 0.0}}
    solid: dict[str, Any] = {"type": "dielectric", "int_ior": index, "ext_ior": 1.0}
    lets_through = {**solid, "specular_reflectance": 0.0}
    mirror = {"type": "conductor", "eta": index, "k": 0.0}
    from_inside = {"type": "twosided", "mirror": {**mirror, "eta": 1.0 / index}}
    made_of: dict[str, dict[str, dict[str, Any]]] = {
        "front": {"front": mirror},
        "back": {"front": lets_through, "back": from_inside, "edge": black},
        "through": {"front": lets_through, "back": lets_through, "edge": black},
        "whole": {"front": solid, "back": solid, "edge": black},
    }
    return made_of[family].get(part)


def _load_mesh(tracer: Any, mesh: _Mesh, material: dict[str, Any], middle: FloatArray) -> Any:
    properties = tracer.Properties()
    properties["mesh_bsdf"] = tracer.load_dict(material)
    loaded = tracer.Mesh(
        "lens",
        vertex_count=len(mesh.points),
        face_count=len(mesh.triangles),
        has_vertex_normals=True,
        props=properties,
    )
    fields = tracer.traverse(loaded)
    fields["vertex_positions"] = ((mesh.points - middle) * PER_MM).ravel()
    fields["vertex_normals"] = mesh.normals.ravel()
    fields["faces"] = mesh.triangles.ravel()
    fields.update()
    return loaded


def _load_light(tracer: Any, light: Light, middle: FloatArray) -> dict[str, Any]:
    upright = tracer.ScalarTransform4f().look_at(
        origin=((light.center - middle) * PER_MM).tolist(),
        target=((light.target - middle) * PER_MM).tolist(),
        up=[0.0, 0.0, 1.0],
    )
    half = [light.width / 2.0 * PER_MM, light.height / 2.0 * PER_MM, 1.0]
    return {
        "type": "disk" if light.disc else "rectangle",
        "to_world": upright @ tracer.ScalarTransform4f().scale(half),
        "emitter": {"type": "area", "radiance": {"type": "rgb", "value": 1.0}},
    }
