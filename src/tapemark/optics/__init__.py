"""Reflection, refraction and the shapes and powers of lenses and eyes, on arrays."""

from tapemark.optics.camera_lens import (
    DIAGONAL_PER_CIRCLE,
    blur_circle,
    conjugate_distances,
    depth_of_field_limits,
    field_size,
    focal_length_for,
    hyperfocal_distance,
    image_distance,
    magnification,
    perspective_ratio,
)
from tapemark.optics.coating import surface_reflectance
from tapemark.optics.fresnel import (
    brewster_angle,
    fresnel_reflectance,
    normal_reflectance,
    unpolarised_reflectance,
)
from tapemark.optics.grinding import ground_back
from tapemark.optics.lens_power import (
    back_curvature,
    back_mirror_power_d,
    back_surface_power_d,
    back_vertex_power_d,
    front_curvature,
    front_mirror_power_d,
    front_power_d,
    front_radius_m,
)
from tapemark.optics.lens_trace import (
    LensOptics,
    LensPaths,
    TracedRays,
    front_point,
    leave_from_eye,
    leave_front,
    trace_lens,
)
from tapemark.optics.mirrors import (
    catchlight_size,
    convex_image_distance,
    convex_magnification,
    keratometer_radius,
    purkinje_image_depth,
    radius_from_magnification,
)
from tapemark.optics.prescription import (
    LEAST_BASE_CURVE_D,
    center_thickness_m,
    spherical_equivalent_d,
    transpose_prescription,
    vogel_base_curve,
)
from tapemark.optics.pupil import pupil_diameter
from tapemark.optics.reflection import reflect
from tapemark.optics.refraction import refract
from tapemark.optics.surfaces import (
    intersect_spherical,
    intersect_toric,
    spherical_normal,
    toric_normal,
)

__all__ = [
    "DIAGONAL_PER_CIRCLE",
    "LEAST_BASE_CURVE_D",
    "LensOptics",
    "LensPaths",
    "TracedRays",
    "back_curvature",
    "back_mirror_power_d",
    "back_surface_power_d",
    "back_vertex_power_d",
    "blur_circle",
    "brewster_angle",
    "catchlight_size",
    "center_thickness_m",
    "conjugate_distances",
    "convex_image_distance",
    "convex_magnification",
    "depth_of_field_limits",
    "field_size",
    "focal_length_for",
    "fresnel_reflectance",
    "front_curvature",
    "front_mirror_power_d",
    "front_point",
    "front_power_d",
    "front_radius_m",
    "ground_back",
    "hyperfocal_distance",
    "image_distance",
    "intersect_spherical",
    "intersect_toric",
    "keratometer_radius",
    "leave_from_eye",
    "leave_front",
    "magnification",
    "normal_reflectance",
    "perspective_ratio",
    "pupil_diameter",
    "purkinje_image_depth",
    "radius_from_magnification",
    "reflect",
    "refract",
    "spherical_equivalent_d",
    "spherical_normal",
    "surface_reflectance",
    "toric_normal",
    "trace_lens",
    "transpose_prescription",
    "unpolarised_reflectance",
    "vogel_base_curve",
]
