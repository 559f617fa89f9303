"""From base curve and prescription to the curvatures and powers of a spectacle lens.

Powers are in dioptres [D = 1/m] and carry `_d`; lengths are in metres. The sign of a surface
power is the optician's: a front domed outward is positive, a back domed outward (hollow
towards the eye) is negative. Curvatures are those of `surfaces`: domed outward is positive.
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

NOMINAL_INDEX_OFFSET = 0.530  # n - 1 of the trade's curve label [-], [optiboard-index]


def front_radius_m(base_curve_d: FloatLike) -> FloatArray:
    """Return the front radius that a nominal base curve stands for.

    Parameters
    ----------
    base_curve_d : float or (...) array
        Nominal ("tool") curve. [D]

    Returns
    -------
    (...) array
        Radius, infinite for base 0; NaN where an input is NaN. [m]

    Notes
    -----
    R = 0.530/base. The label is a curvature, not the optical power, unless the lens really
    has the index 1.530.

    References
    ----------
    [optiboard-index]

    Examples
    --------
    >>> round(float(front_radius_m(4.0)), 6)
    0.1325
    """
    base = np.asarray(base_curve_d, dtype=np.float64)
    flat = base == 0.0
    return np.where(flat, np.inf, NOMINAL_INDEX_OFFSET / np.where(flat, 1.0, base))[()]


def front_curvature(base_curve_d: FloatLike) -> FloatArray:
    """Return the front curvature that a nominal base curve stands for.

    Parameters
    ----------
    base_curve_d : float or (...) array
        Nominal ("tool") curve. [D]

    Returns
    -------
    (...) array
        Curvature, positive if domed outward, 0 for base 0. [1/m]

    References
    ----------
    [optiboard-index]
    """
    return np.true_divide(base_curve_d, NOMINAL_INDEX_OFFSET)


def front_power_d(base_curve_d: FloatLike, *, index: FloatLike) -> FloatArray:
    """Return the true power of a front surface from its nominal base curve.

    Parameters
    ----------
    base_curve_d : float or (...) array
        Nominal ("tool") curve. [D]
    index : float or (...) array
        Refractive index of the lens. [-]

    Returns
    -------
    (...) array
        Surface power F1 = (n - 1)/R1. [D]

    References
    ----------
    [optiboard-index]
    """
    return np.subtract(index, 1.0) * front_curvature(base_curve_d)


def back_surface_power_d(
    back_vertex_power_d: FloatLike,
    *,
    front_power_d: FloatLike,
    center_thickness_m: FloatLike,
    index: FloatLike,
) -> FloatArray:
    """Return the power the back surface needs, in one meridian.

    Parameters
    ----------
    back_vertex_power_d : float or (...) array
        Power on the prescription in this meridian: sphere along the cylinder axis, sphere +
        cylinder square to it. [D]
    front_power_d : float or (...) array
        True power of the front surface. [D]
    center_thickness_m : float or (...) array
        Thickness at the optical centre. [m]
    index : float or (...) array
        Refractive index of the lens. [-]

    Returns
    -------
    (...) array
        Surface power F2 = F'v - F1/(1 - t F1/n). [D]

    References
    ----------
    [back-vertex]

    Examples
    --------
    >>> f1 = front_power_d(4.0, index=1.498)
    >>> f2 = back_surface_power_d(
    ...     -3.0, front_power_d=f1, center_thickness_m=1.5e-3, index=1.498)
    >>> round(float(f2), 4)
    -6.7727
    """
    return np.subtract(
        back_vertex_power_d, _vergence_at_back(front_power_d, center_thickness_m, index)
    )


def back_curvature(back_surface_power_d: FloatLike, *, index: FloatLike) -> FloatArray:
    """Return the curvature of a back surface from its power.

    Parameters
    ----------
    back_surface_power_d : float or (...) array
        Surface power F2, negative if hollow towards the eye. [D]
    index : float or (...) array
        Refractive index of the lens. [-]

    Returns
    -------
    (...) array
        Curvature, positive if domed outward (hollow towards the eye). [1/m]

    Notes
    -----
    R2 = (1 - n)/F2.
    """
    return np.true_divide(back_surface_power_d, np.subtract(1.0, index))


def back_vertex_power_d(
    *,
    front_power_d: FloatLike,
    back_surface_power_d: FloatLike,
    center_thickness_m: FloatLike,
    index: FloatLike,
) -> FloatArray:
    """Return the power a lens meter reads at the back of a thick lens.

    Parameters
    ----------
    front_power_d, back_surface_power_d : float or (...) array
        True powers F1 and F2 of the surfaces. [D]
    center_thickness_m : float or (...) array
        Thickness at the optical centre. [m]
    index : float or (...) array
        Refractive index of the lens. [-]

    Returns
    -------
    (...) array
        Back vertex power F'v = F1/(1 - t F1/n) + F2. [D]

    References
    ----------
    [back-vertex]
    """
    return np.add(_vergence_at_back(front_power_d, center_thickness_m, index), back_surface_power_d)


def front_mirror_power_d(front_curvature: FloatLike) -> FloatArray:
    """Return the power of the front surface as a mirror.

    Parameters
    ----------
    front_curvature : float or (...) array
        Curvature of the front, positive if domed outward. [1/m]

    Returns
    -------
    (...) array
        Mirror power -2/R1: negative, so that images are upright and small. [D]
    """
    return np.multiply(-2.0, front_curvature)


def back_mirror_power_d(
    *,
    front_curvature: FloatLike,
    back_curvature: FloatLike,
    center_thickness_m: FloatLike,
    index: FloatLike,
) -> FloatArray:
    """Return the equivalent mirror power of the back surface seen through the front.

    Parameters
    ----------
    front_curvature, back_curvature : float or (...) array
        Curvatures, positive if domed outward. [1/m]
    center_thickness_m : float or (...) array
        Thickness at the optical centre. [m]
    index : float or (...) array
        Refractive index of the lens. [-]

    Returns
    -------
    (...) array
        Equivalent mirror power: image size of a far source is its angle divided by this. [D]

    Notes
    -----
    Paraxial chain: refract at F1, travel t/n, mirror -2 n/R2, travel t/n, refract at F1.
    For t = 0 it is 2 F1 + 2 n F2/(n - 1).

    References
    ----------
    [equivalent-mirror]
    """
    n = np.asarray(index, dtype=np.float64)
    front = (n - 1.0) * np.asarray(front_curvature, dtype=np.float64)
    mirror = -2.0 * n * np.asarray(back_curvature, dtype=np.float64)
    reduced = np.asarray(center_thickness_m, dtype=np.float64) / n
    kept = 1.0 - reduced * front
    return kept * (2.0 * front + mirror * kept)


def _vergence_at_back(
    front_power_d: FloatLike, center_thickness_m: FloatLike, index: FloatLike
) -> FloatArray:
    """Return the vergence that light from afar has when it arrives at the back. [D]"""
    power = np.asarray(front_power_d, dtype=np.float64)
    return power / (1.0 - np.true_divide(center_thickness_m, index) * power)
