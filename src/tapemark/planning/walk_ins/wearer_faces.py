"""The heads, eyes and lenses of a sample of wearers in the world, before one setup.

What `head_pose`, `eyes` and `lens_stack` build for one person is built here for many at once,
by the same kernels; ``tests/cross/test_walkins_convergence.py`` holds both against each other.

Arrays over lenses (and eyes) run right, left, right, left and so on: lens 2 i and 2 i + 1 belong
to wearer i. The mark and the stool stay as they are in the setup.
"""

from dataclasses import dataclass, fields

import numpy as np

from tapemark.anatomy.eye import (
    ADAPTING_FIELD_DEG2,
    ADAPTING_LUMINANCE_CD_M2,
    ENTRANCE_PUPIL_M,
    LARGEST_DROP,
    LEAST_LID_M,
    OPENING_PLANE_M,
    ROTATION_CENTER_M,
    UPPER_LID_SHARE,
)
from tapemark.anatomy.frame import EDGE_ONLY_TUBE_M
from tapemark.anatomy.head_shape import REFERENCE
from tapemark.anatomy.lens import (
    MM_LOWER_PER_DEGREE_TILT,
    START_M,
    STEEPEST_BASE_CURVE_D,
    boxed_axes_in_head,
)
from tapemark.geometry import (
    FloatArray,
    cross,
    dot,
    normalize,
    rotation_from_yaw_pitch_roll,
    to_world,
)
from tapemark.optics import (
    LensOptics,
    front_curvature,
    front_point,
    ground_back,
    intersect_toric,
    normal_reflectance,
    pupil_diameter,
    vogel_base_curve,
)
from tapemark.planning.walk_ins.wearer_glasses import RIMS, SPORT_BASE_D
from tapemark.planning.walk_ins.wearers import Wearers
from tapemark.studio import LENS_KINDS, Population, Setup, Sitter
from tapemark.studio.sitter import SEATED_EYE_OVER_SEAT_M, SHOE_HEEL_M
from tapemark.units import MM

SEAT_RANGE_M = (0.3, 0.9)


@dataclass(frozen=True, kw_only=True, eq=False)
class WearerFaces:
    """Heads, eyes and lenses in the world; n wearers, L = 2 n lenses.

    Attributes
    ----------
    eye_height_m : (n,) array
        Eyes above the floor. [m]
    head_origin, head_axes : (n, 3), (n, 3, 3) arrays
        Head frames.
    head_scale : (n, 3) array
        Size of each head over the reference head, across, out and up. [-]
    skin : (n,) array
        Share of light that the skin gives back. [-]
    outward : (L,) array
        +1 right, -1 left.
    boxed_origin, boxed_axes, optical_origin, optical_axes : (L, 3), (L, 3, 3) arrays
        Frames of the lenses.
    half_width, half_height : (L,) arrays
        Half the box. [m]
    outline : (L,) int array
        Number of the outline.
    upper_tube, lower_tube : (L,) arrays
        Radius of the rim above and below. [m]
    front_curvature, back_curvature_a, back_curvature_b, back_axis, thickness_m, index,
    coating_reflectance : (L,) arrays
        As in `LensOptics`; bare surfaces carry their own reflectance.
    opening_center, gaze, iris_center, cornea_center : (L, 3) arrays
        Eyes, as in `Eyes`.
    opening_width, opening_height, upper_lid, corner_height : (L,) arrays
        Of the opening. [m]
    iris_radius, pupil_radius, cornea_radius : (L,) arrays
        Of the eyes. [m]
    """

    eye_height_m: FloatArray
    head_origin: FloatArray
    head_axes: FloatArray
    head_scale: FloatArray
    skin: FloatArray
    outward: FloatArray
    boxed_origin: FloatArray
    boxed_axes: FloatArray
    optical_origin: FloatArray
    optical_axes: FloatArray
    half_width: FloatArray
    half_height: FloatArray
    outline: np.ndarray
    upper_tube: FloatArray
    lower_tube: FloatArray
    front_curvature: FloatArray
    back_curvature_a: FloatArray
    back_curvature_b: FloatArray
    back_axis: FloatArray
    thickness_m: FloatArray
    index: FloatArray
    coating_reflectance: FloatArray
    opening_center: FloatArray
    gaze: FloatArray
    iris_center: FloatArray
    cornea_center: FloatArray
    opening_width: FloatArray
    opening_height: FloatArray
    upper_lid: FloatArray
    corner_height: FloatArray
    iris_radius: FloatArray
    pupil_radius: FloatArray
    cornea_radius: FloatArray

    def __len__(self) -> int:
        """Return how many wearers they are."""
        return len(self.eye_height_m)

    def only(self, chosen: np.ndarray) -> "WearerFaces":
        """Return some of the wearers, by their numbers."""
        lenses = (2 * chosen[:, None] + np.arange(2)).ravel()
        many = 2 * len(self)
        return WearerFaces(
            **{
                one.name: value[lenses if len(value) == many else chosen]
                for one in fields(self)
                for value in (getattr(self, one.name),)
            }
        )

    def in_single(self) -> "WearerFaces":
        """Return the same in single precision."""
        return WearerFaces(**{one.name: single(getattr(self, one.name)) for one in fields(self)})

    def optics(self, lenses: np.ndarray | slice = slice(None)) -> LensOptics:
        """Return the surfaces of some lenses, or of all."""
        names = [one.name for one in fields(LensOptics)]
        return LensOptics(**{name: getattr(self, name)[lenses] for name in names})


def single(values: np.ndarray) -> np.ndarray:
    """Return numbers in single precision; whole numbers and truths as they are.

    Vectors keep each component together in memory, see `join_components`.
    """
    return values.astype(np.float32, order="K") if values.dtype == np.float64 else values


def faces_before(setup: Setup, wearers: Wearers, *, population: Population) -> WearerFaces:
    """Return the wearers as they sit or stand before a setup.

    Parameters
    ----------
    setup : Setup
        Mark, stool, pose and camera.
    wearers : Wearers
        The sample.
    population : Population
        Whether the stool is set for each.
    """
    sitter = setup.sitter
    height = eye_heights_m(sitter, wearers, population=population)
    axes = rotation_from_yaw_pitch_roll(
        np.deg2rad(sitter.turn_deg + wearers.turn_deg),
        pitch=np.deg2rad(sitter.chin_deg + wearers.chin_deg),
        roll=np.deg2rad(sitter.tip_deg + wearers.tip_deg),
    )
    origin = np.stack([wearers.across_m, -wearers.back_m, height], axis=-1)
    camera = np.array(setup.camera.place.position_m)
    looks_at = camera if sitter.gaze == "camera" else None
    return WearerFaces(
        eye_height_m=height,
        head_origin=origin,
        head_axes=axes,
        head_scale=_head_scale(wearers),
        skin=wearers.skin_reflectance,
        outward=np.tile([1.0, -1.0], len(wearers)),
        outline=np.repeat(wearers.outline, 2),
        half_width=_pairs(wearers.lens_width_mm) * MM / 2,
        half_height=_pairs(wearers.lens_height_mm) * MM / 2,
        **_rims(wearers),
        **_lenses(wearers, origin, axes),
        **_eyes(wearers, origin, axes, looks_at),
    )


def eye_heights_m(sitter: Sitter, wearers: Wearers, *, population: Population) -> FloatArray:
    """Return the eye heights of wearers on the sitter's mark, (n,) [m]."""
    if population.seat == "set for each":
        return np.full(len(wearers), sitter.eye_height_m)
    if sitter.posture == "standing":
        return wearers.standing_eye_m + SHOE_HEEL_M
    return wearers.seated_eye_m + seat_of(sitter, population=population)


def seat_of(sitter: Sitter, *, population: Population) -> float:
    """Return the height of the stool [m].

    Notes
    -----
    As stated for the population, else for the sitter; else the one that brings the eyes of the
    average adult to the height stated for the sitter.
    """
    if population.seat_height_m is not None:
        return population.seat_height_m
    if "seat_height_m" in sitter.model_fields_set or sitter.eye_height_guessed:
        return sitter.seat_height_m
    return float(np.clip(sitter.eye_height_m - SEATED_EYE_OVER_SEAT_M, *SEAT_RANGE_M))


def _pairs(values: FloatArray) -> FloatArray:
    """Return a value of each wearer for both lenses."""
    return np.repeat(values, 2, axis=0)


def _head_scale(wearers: Wearers) -> FloatArray:
    wide = wearers.bizygomatic_mm / REFERENCE["bizygomatic"]
    tall = wearers.face_height_mm / REFERENCE["face_height"]
    return np.stack([wide, np.ones_like(wide), tall], axis=-1)


def _rims(wearers: Wearers) -> dict[str, FloatArray]:
    full = wearers.rim_width_mm * MM / 2
    upper = np.where(wearers.rim == RIMS.index("none"), EDGE_ONLY_TUBE_M, full)
    lower = np.where(wearers.rim == RIMS.index("full"), full, EDGE_ONLY_TUBE_M)
    return {"upper_tube": _pairs(upper), "lower_tube": _pairs(lower)}


def _surfaces(wearers: Wearers) -> dict[str, FloatArray]:
    index = _pairs(wearers.index)
    along = wearers.sphere_d.ravel()
    square = along + wearers.cylinder_d.ravel()
    predicted = np.minimum(vogel_base_curve((along + square) / 2), STEEPEST_BASE_CURVE_D)
    sport = _pairs(wearers.kind == LENS_KINDS.index("sport wrap"))
    base = np.where(sport, SPORT_BASE_D, predicted) + _pairs(wearers.base_shift_d)
    base = np.maximum(base, 0.0)
    diameter = _pairs(np.hypot(wearers.lens_width_mm, wearers.lens_height_mm)) * MM
    thickness, curves = ground_back(
        np.stack([along, square]), base_curve_d=base, diameter_m=diameter, index=index
    )
    coating = np.where(_pairs(wearers.coated), _pairs(wearers.coating_reflectance), np.nan)
    return {
        "front_curvature": front_curvature(base),
        "back_curvature_a": curves[0],
        "back_curvature_b": curves[1],
        "back_axis": np.pi - np.deg2rad(wearers.axis_deg.ravel()),
        "thickness_m": thickness,
        "index": index,
        "coating_reflectance": np.where(np.isnan(coating), normal_reflectance(index), coating),
    }


def _lenses(wearers: Wearers, origin: FloatArray, axes: FloatArray) -> dict[str, FloatArray]:
    outward = np.tile([1.0, -1.0], len(wearers))
    tilt = _pairs(wearers.pantoscopic_tilt_deg)
    boxed_axes = boxed_axes_in_head(
        outward, tilt_deg=tilt, face_form_deg=_pairs(wearers.face_form_deg)
    )
    shape = _surfaces(wearers)
    pitch = _pairs(wearers.lens_width_mm + wearers.bridge_mm)
    pupil = _pairs(wearers.pupil_height_mm - wearers.lens_height_mm / 2)
    across = outward * (_pairs(wearers.interpupillary_mm) - pitch) / 2
    up = pupil - MM_LOWER_PER_DEGREE_TILT * tilt
    curvature = shape["front_curvature"]
    point = front_point(across * MM, up * MM, curvature=curvature)
    normal = curvature[:, None] * point + np.array([0.0, 1.0, 0.0])
    flat = np.hypot(normal[:, 0], normal[:, 1])
    level = np.stack([normal[:, 1] / flat, -normal[:, 0] / flat, np.zeros_like(flat)], axis=-1)
    optical_axes = boxed_axes @ np.stack([level, normal, cross(level, normal)], axis=-1)
    boxed_origin = np.stack([outward * pitch * MM / 2, np.zeros_like(pitch), -pupil * MM], axis=-1)
    to_optical = (boxed_axes @ point[..., None])[..., 0]
    boxed_origin[:, 1] = _depth(wearers, shape, boxed_origin + to_optical, optical_axes)
    head_origin, head_axes = _pairs(origin), _pairs(axes)
    return {
        **shape,
        "boxed_origin": to_world(boxed_origin, origin=head_origin, axes=head_axes),
        "boxed_axes": head_axes @ boxed_axes,
        "optical_origin": to_world(boxed_origin + to_optical, origin=head_origin, axes=head_axes),
        "optical_axes": head_axes @ optical_axes,
    }


def _depth(
    wearers: Wearers, shape: dict[str, FloatArray], origin: FloatArray, axes: FloatArray
) -> FloatArray:
    """Return the depth of the boxed centres that gives the vertex distances, (L,) [m]."""
    outward = np.tile([1.0, -1.0], len(wearers))
    half = outward * _pairs(wearers.interpupillary_mm) * MM / 2
    start = np.stack([half, np.full_like(half, START_M), np.zeros_like(half)], axis=-1)
    local = ((start - origin)[:, None, :] @ axes)[:, 0]
    distance = intersect_toric(
        local,
        -axes[:, 1, :],
        curvature_a=shape["back_curvature_a"],
        curvature_b=shape["back_curvature_b"],
        axis_angle=shape["back_axis"],
        vertex_y=-shape["thickness_m"],
    )
    own = _pairs(wearers.vertex_distance_mm) * MM - (START_M - distance)
    return _pairs(own.reshape(-1, 2).mean(axis=1))


def _eyes(
    wearers: Wearers, origin: FloatArray, axes: FloatArray, looks_at: FloatArray | None
) -> dict[str, FloatArray]:
    half = np.tile([1.0, -1.0], len(wearers)) * _pairs(wearers.interpupillary_mm) * MM / 2
    head_origin, head_axes = _pairs(origin), _pairs(axes)
    right, ahead, up = (head_axes[:, :, k] for k in range(3))
    rest = head_origin + half[:, None] * right
    pivot = rest - ROTATION_CENTER_M * ahead
    gaze = ahead if looks_at is None else normalize(looks_at - pivot)
    vertex = pivot + ROTATION_CENTER_M * gaze
    cornea = _pairs(wearers.cornea_mm) * MM
    width, height = _pairs(wearers.opening_width_mm) * MM, _pairs(wearers.opening_height_mm) * MM
    lift = _pairs(ROTATION_CENTER_M * dot(gaze, up).reshape(-1, 2).mean(axis=1))
    iris = _pairs(wearers.iris_mm) * MM
    drop = np.minimum((iris - height) / 2, LARGEST_DROP * height)
    pupil = pupil_diameter(
        ADAPTING_LUMINANCE_CD_M2, age_years=wearers.age_years, field_deg2=ADAPTING_FIELD_DEG2
    )
    return {
        "opening_center": rest - OPENING_PLANE_M * ahead,
        "gaze": gaze,
        "iris_center": vertex - ENTRANCE_PUPIL_M * gaze,
        "cornea_center": vertex - cornea[:, None] * gaze,
        "opening_width": width,
        "opening_height": height,
        "upper_lid": np.maximum(height / 2 + UPPER_LID_SHARE * lift, LEAST_LID_M),
        "corner_height": (1.0 - UPPER_LID_SHARE) * lift - drop,
        "iris_radius": iris / 2,
        "pupil_radius": _pairs(np.asarray(pupil)) / 2,
        "cornea_radius": cornea,
    }
