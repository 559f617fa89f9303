"""What a lens blank is ground to, so that it has the powers of a prescription."""

import numpy as np

from tapemark.geometry import FloatArray, FloatLike
from tapemark.optics.lens_power import back_curvature, back_surface_power_d, front_power_d
from tapemark.optics.prescription import center_thickness_m

__all__ = ["ground_back"]


def ground_back(
    powers_d: FloatArray, *, base_curve_d: FloatLike, diameter_m: FloatLike, index: FloatLike
) -> tuple[FloatArray, FloatArray]:
    """Return how thick lenses are and how their backs are curved.

    Parameters
    ----------
    powers_d : (2, ...) array
        Back vertex powers along the axis and square to it. [D]
    base_curve_d : float or (...) array
        Nominal base curve of the front. [D]
    diameter_m : float or (...) array
        Longest way across the lens, which decides the thickness of plus lenses. [m]
    index : float or (...) array
        Refractive index. [-]

    Returns
    -------
    center_thickness_m : (...) array
        By the stronger of both powers. [m]
    curvature : (2, ...) array
        Of the back, along the axis and square to it. [1/m]

    References
    ----------
    [back-vertex]
    """
    thickness = center_thickness_m(
        np.maximum(powers_d[0], powers_d[1]), index=index, diameter_m=diameter_m
    )
    backs = back_surface_power_d(
        powers_d,
        front_power_d=front_power_d(base_curve_d, index=index),
        center_thickness_m=thickness,
        index=index,
    )
    return thickness, back_curvature(backs, index=index)
