"""The spectacle lenses as surfaces in the world, from glasses data.

Many lenses are held as one stack of arrays, so that a pair of lenses, or a
pair in many guessed variants, is traced in one pass.

Two frames per lens.  *Boxed*: origin at the boxed centre on the front
surface, y along the frame-plane normal.  *Optical*: origin at the optical
centre on the front surface, y along the front normal there.  A spherical
front sits in its rim so that its normal at the boxed centre is the frame
plane's normal; the back surface is centred on the optical axis.

        temporal  ______ nasal        seen from above, right lens
                 (      )
          boxed -> .  . <- optical centre (in front of the pupil)

References
----------
Boxing, pantoscopic angle, face form, vertex distance, decentration and the
rule "1 mm lower for each 2 degrees of tilt": [iso-8624], [rodenstock-manual],
[opticaltraining-frames].
"""

from dataclasses import dataclass

import numpy as np

from tapemark.anatomy.pose import HeadPose
from tapemark.errors import Problem, SetupError
from tapemark.geometry import FloatArray, cross, superellipse_points, to_world
from tapemark.optics import (
    front_curvature,
    front_point,
    ground_back,
    intersect_toric,
    spherical_equivalent_d,
    vogel_base_curve,
)
from tapemark.studio import Glasses, Prescription, Sitter
from tapemark.units import MM

#: Glasses that slip down the nose also move forward along its ridge by about
#: half as much (assumption: ridge slope of the average nose).
SLIP_FORWARD_SHARE = 0.5
STEEPEST_BASE_CURVE_D = 12.0  # no steeper blank is predicted (assumption)
EDGE_POINTS = 48  # at which the surfaces must reach the edge
STEEPEST_SLOPE = 0.99  # sine of the slope of a surface at the edge of its lens [-]
START_M = 0.1  # probes for the back surface start this far in front of the eyes
MM_LOWER_PER_DEGREE_TILT = 0.5  # optical-centre rule, [opticaltraining-frames]


@dataclass(frozen=True, kw_only=True, eq=False)
class LensStack:
    """Lenses in the world; leading axis: one lens after another.

    Attributes
    ----------
    outward : (L,) array
        +1 right lens, -1 left lens.
    optical_origin, optical_axes : (L, 3), (L, 3, 3) arrays
        Optical frame in the world; columns are its axes. [m], [-]
    boxed_origin, boxed_axes : (L, 3), (L, 3, 3) arrays
        Boxed frame in the world. [m], [-]
    front_curvature : (L,) array
        Curvature of the front [1/m].
    back_curvature_a, back_curvature_b : (L,) arrays
        Principal back curvatures [1/m]; `a` along `back_axis`.
    back_axis : (L,) array
        Angle of meridian `a` from the lens x axis towards z. [rad]
    thickness_m, index : (L,) arrays
        Centre thickness [m] and refractive index [-].
    coating_reflectance : float or None
        Reflectance of each surface at normal incidence; None if bare. [-]
    tint_transmission : float
        Share of light the tint lets through in one pass. [-]
    half_width, half_height : float
        Half of the boxed A and B. [m]
    outline_shape : tuple of two floats
        Squareness and taper of the outline, see `superellipse_margin`. [-]
    """

    outward: FloatArray
    optical_origin: FloatArray
    optical_axes: FloatArray
    boxed_origin: FloatArray
    boxed_axes: FloatArray
    front_curvature: FloatArray
    back_curvature_a: FloatArray
    back_curvature_b: FloatArray
    back_axis: FloatArray
    thickness_m: FloatArray
    index: FloatArray
    coating_reflectance: float | None
    tint_transmission: float
    half_width: float
    half_height: float
    outline_shape: tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class LensGuess:
    """One choice for the inputs of a lens pair that nobody measured.

    Attributes
    ----------
    base_curve_shift_d : float
        Added to the stated or predicted base curve. [D]
    sphere_shift_d : float
        Added to both spheres, from which an unknown base curve follows. [D]
    pantoscopic_tilt_deg, face_form_deg : float or None
        Used instead of the glasses' own values. [deg]
    """

    base_curve_shift_d: float = 0.0
    sphere_shift_d: float = 0.0
    pantoscopic_tilt_deg: float | None = None
    face_form_deg: float | None = None


def lens_stack(
    glasses: Glasses,
    *,
    sitter: Sitter,
    pose: HeadPose,
    guesses: tuple[LensGuess, ...] = (LensGuess(),),
) -> LensStack:
    """Return the lens pair for each guess: right, left, right, left and so on.

    Parameters
    ----------
    glasses : Glasses
        Frame [mm, deg], lenses [D] and coating.
    sitter : Sitter
        Whose pupils the lenses are centred on.
    pose : HeadPose
        Head frame in the world.
    guesses : tuple of LensGuess
        One pair of lenses is built for each.
    """
    outward = np.tile([1.0, -1.0], len(guesses))
    each = [guess for guess in guesses for _ in range(2)]
    tilt = np.array([_or(one.pantoscopic_tilt_deg, glasses.pantoscopic_tilt_deg) for one in each])
    wrap = np.array([_or(one.face_form_deg, glasses.face_form_deg) for one in each])
    boxed_axes = boxed_axes_in_head(outward, tilt_deg=tilt, face_form_deg=wrap)
    shape = _surfaces(glasses, guesses=guesses)
    center = _optical_center(glasses, sitter=sitter, outward=outward, tilt_deg=tilt)
    if guesses == (LensGuess(),):
        _refuse_unbuildable(glasses, shape, center)
    point, on_axis = _front_frame(center, curvature=shape["front_curvature"])
    optical_axes = boxed_axes @ on_axis
    to_optical = (boxed_axes @ point[..., None])[..., 0]
    boxed_origin = _boxed_center(glasses, outward=outward)
    boxed_origin[:, 1] = _depth_for_vertex_distance(
        glasses,
        sitter=sitter,
        shape=shape,
        outward=outward,
        optical_axes=optical_axes,
        optical_origin=boxed_origin + to_optical,
    )
    return LensStack(
        **shape,
        outward=outward,
        optical_origin=to_world(boxed_origin + to_optical, origin=pose.origin, axes=pose.axes),
        optical_axes=pose.axes @ optical_axes,
        boxed_origin=to_world(boxed_origin, origin=pose.origin, axes=pose.axes),
        boxed_axes=pose.axes @ boxed_axes,
        coating_reflectance=glasses.assumed_coating_reflectance,
        tint_transmission=glasses.tint_transmission,
        half_width=glasses.lens_width_mm * MM / 2,
        half_height=glasses.lens_height_mm * MM / 2,
        outline_shape=glasses.outline_shape,
    )


def predicted_base_curve_d(glasses: Glasses, *, prescription: Prescription) -> float:
    """Return the base curve: stated, else by Vogel's rule from the prescription [D]."""
    if glasses.base_curve_d is not None:
        return glasses.base_curve_d
    equivalent = spherical_equivalent_d(prescription.sphere_d, cylinder_d=prescription.cylinder_d)
    return min(float(vogel_base_curve(equivalent)), STEEPEST_BASE_CURVE_D)


def boxed_axes_in_head(
    outward: FloatArray, *, tilt_deg: FloatArray, face_form_deg: FloatArray
) -> FloatArray:
    """Return the boxed axes (columns) in the head frame.

    Parameters
    ----------
    outward : (...) array
        +1 right lens, -1 left lens.
    tilt_deg : (...) array
        Pantoscopic tilt: positive turns the front surface downwards. [deg]
    face_form_deg : (...) array
        Positive turns the front surface towards the temple. [deg]

    Returns
    -------
    (..., 3, 3) array
        Columns across, out, up. [-]
    """
    tilt, wrap = np.deg2rad(tilt_deg), np.deg2rad(face_form_deg) * outward
    normal = _rows(np.sin(wrap) * np.cos(tilt), np.cos(wrap) * np.cos(tilt), -np.sin(tilt))
    across = _rows(np.cos(wrap), -np.sin(wrap), 0.0 * wrap)
    return np.stack([across, normal, cross(across, normal)], axis=-1)


def _surfaces(glasses: Glasses, *, guesses: tuple[LensGuess, ...]) -> dict[str, FloatArray]:
    """Return the surfaces of the pair for each guess, right and left in turn."""
    index = glasses.refractive_index
    pair = (glasses.assumed_right, glasses.assumed_left)
    ground = [_shifted(one, guess.sphere_shift_d) for guess in guesses for one in pair]
    shifts = np.repeat([guess.base_curve_shift_d for guess in guesses], 2)
    base = np.array([predicted_base_curve_d(glasses, prescription=one) for one in ground])
    base = np.maximum(base + shifts, 0.0)
    along = np.array([one.sphere_d for one in ground])
    square = np.array([one.sphere_d + one.cylinder_d for one in ground])
    diameter = float(np.hypot(glasses.lens_width_mm, glasses.lens_height_mm)) * MM
    thickness, curves = ground_back(
        np.stack([along, square]), base_curve_d=base, diameter_m=diameter, index=index
    )
    axis = np.array([one.axis_deg for one in ground])
    return {
        "front_curvature": front_curvature(base),
        "back_curvature_a": curves[0],
        "back_curvature_b": curves[1],
        # Axis notation counts from the wearer's left (-x) upwards.
        "back_axis": np.pi - np.deg2rad(axis),
        "thickness_m": thickness,
        "index": np.full(len(base), index),
    }


def _shifted(prescription: Prescription, shift_d: float) -> Prescription:
    if shift_d == 0.0:
        return prescription
    return prescription.model_copy(update={"sphere_d": prescription.sphere_d + shift_d})


def _refuse_unbuildable(glasses: Glasses, shape: dict[str, FloatArray], center: FloatArray) -> None:
    """Refuse a lens whose surfaces are too steep to reach its edge.

    Raises
    ------
    SetupError
        With the strongest sphere and the sizes that do not go together.
    """
    exponent, taper = glasses.outline_shape
    edge = superellipse_points(
        EDGE_POINTS,
        half_width=glasses.lens_width_mm * MM / 2,
        half_height=glasses.lens_height_mm * MM / 2,
        exponent=exponent,
        taper=taper,
    )
    farthest = np.hypot(*(edge - center[:, None, :]).transpose(2, 0, 1)).max(axis=1)
    steepest = np.abs(
        [shape["front_curvature"], shape["back_curvature_a"], shape["back_curvature_b"]]
    ).max(axis=0)
    if np.all(steepest * farthest < STEEPEST_SLOPE):
        return
    strongest = max(
        (glasses.assumed_right, glasses.assumed_left), key=lambda one: abs(one.sphere_d)
    )
    raise SetupError(
        (
            Problem(
                key="sitter.glasses right.sphere and left.sphere",
                given=f"{strongest.sphere_d:+g} D in a lens of {glasses.lens_width_mm:g} mm "
                f"by {glasses.lens_height_mm:g} mm",
                allowed="a lens whose surfaces reach its edge",
                advice="check the prescription and lens_width, lens_height; such strong lenses "
                "are made smaller, or of a higher index",
            ),
        )
    )


def _front_frame(center: FloatArray, *, curvature: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the optical centre on the front and the optical axes, boxed frame."""
    point = front_point(center[:, 0], center[:, 1], curvature=curvature)
    normal = curvature[:, None] * point + np.array([0.0, 1.0, 0.0])
    flat = np.hypot(normal[:, 0], normal[:, 1])
    across = _rows(normal[:, 1] / flat, -normal[:, 0] / flat, 0.0 * flat)
    return point, np.stack([across, normal, cross(across, normal)], axis=-1)


def _boxed_center(glasses: Glasses, *, outward: FloatArray) -> FloatArray:
    across = outward * (glasses.lens_width_mm + glasses.bridge_mm) * MM / 2
    pupil_height = glasses.assumed_pupil_height_mm
    up = (glasses.lens_height_mm / 2 - pupil_height - glasses.slipped_mm) * MM
    return _rows(across, 0.0 * across, np.full_like(across, up))


def _optical_center(
    glasses: Glasses, *, sitter: Sitter, outward: FloatArray, tilt_deg: FloatArray
) -> FloatArray:
    """Return the optical centre in the boxed frame, (L, 2) [m]."""
    across = sitter.face.interpupillary_mm - (glasses.lens_width_mm + glasses.bridge_mm)
    pupil = glasses.assumed_pupil_height_mm - glasses.lens_height_mm / 2
    up = pupil - MM_LOWER_PER_DEGREE_TILT * tilt_deg
    return np.stack([outward * across * MM / 2, up * MM], axis=-1)


def _depth_for_vertex_distance(
    glasses: Glasses,
    *,
    sitter: Sitter,
    outward: FloatArray,
    shape: dict[str, FloatArray],
    optical_axes: FloatArray,
    optical_origin: FloatArray,
) -> FloatArray:
    """Return the depth that puts each pair's backs at the vertex distance, (L,) [m]."""
    half, slip = sitter.face.interpupillary_mm * MM / 2, glasses.slipped_mm * MM
    start = _rows(outward * half, np.full_like(outward, START_M), np.full_like(outward, -slip))
    local = ((start - optical_origin)[:, None, :] @ optical_axes)[:, 0]
    distance = intersect_toric(
        local,
        -optical_axes[:, 1, :],
        curvature_a=shape["back_curvature_a"],
        curvature_b=shape["back_curvature_b"],
        axis_angle=shape["back_axis"],
        vertex_y=-shape["thickness_m"],
    )
    own = glasses.vertex_distance_mm * MM - (START_M - distance) + slip * SLIP_FORWARD_SHARE
    return np.repeat(own.reshape(-1, 2).mean(axis=1), 2)  # both lenses sit in one frame


def _rows(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
    return np.stack([x, y, z], axis=-1)


def _or(value: float | None, default: float) -> float:
    return default if value is None else value
