"""What can be told from a prescription before the lens is seen: base curve and thickness.

Powers are in dioptres [D = 1/m] and carry `_d`; lengths are in metres.
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

LEAST_BASE_CURVE_D = 0.50  # flattest front made [D], [gka-model-eye]
# Least centre thickness of minus lenses against index [m], [optiboard-thickness]
_THICKNESS_INDEX = (1.498, 1.54, 1.60)
_THICKNESS_MINUS_M = (2.0e-3, 1.4e-3, 1.2e-3)


def spherical_equivalent_d(sphere_d: FloatLike, *, cylinder_d: FloatLike) -> FloatArray:
    """Return the mean power of a prescription: sphere + cylinder/2.

    Parameters
    ----------
    sphere_d, cylinder_d : float or (...) array
        Sphere and cylinder as written on the prescription. [D]

    Returns
    -------
    (...) array
        Spherical equivalent. [D]

    References
    ----------
    [opterio-base-curve]
    """
    return np.add(sphere_d, np.multiply(0.5, cylinder_d))


def transpose_prescription(
    sphere_d: float, *, cylinder_d: float, axis_deg: float
) -> tuple[float, float, float]:
    """Return the same prescription written with the other sign of cylinder.

    Parameters
    ----------
    sphere_d, cylinder_d : float
        Sphere and cylinder as written. [D]
    axis_deg : float
        Axis as written, above 0 to 180. [deg]

    Returns
    -------
    sphere_d, cylinder_d, axis_deg : float
        Transposed prescription, axis above 0 to 180. [D, D, deg]

    References
    ----------
    [mrcophth-toric]

    Examples
    --------
    >>> transpose_prescription(3.0, cylinder_d=-1.0, axis_deg=180.0)
    (2.0, 1.0, 90.0)
    """
    turned = (axis_deg + 90.0) % 180.0
    return sphere_d + cylinder_d, -cylinder_d, turned or 180.0


def vogel_base_curve(spherical_equivalent_d: FloatLike) -> FloatArray:
    """Return the base curve a lens probably has, from its prescription.

    Parameters
    ----------
    spherical_equivalent_d : float or (...) array
        Sphere + cylinder/2. [D]

    Returns
    -------
    (...) array
        Nominal base curve, at least 0.50. [D]

    Notes
    -----
    Vogel's rule: SE + 6 for plus, SE/2 + 6 for minus. Another source prints SE + 8 for
    minus; the two agree at -4 and differ by 1 D at -2 and -6. Carry +-1 D as uncertainty.
    Flat (aspheric, high-index) designs are flatter than either.

    References
    ----------
    [gka-model-eye] for minus and the floor; [opterio-base-curve] for plus and the other
    minus rule.

    Examples
    --------
    >>> vogel_base_curve(np.array([2.5, -4.0, -12.0])).tolist()
    [8.5, 4.0, 0.5]
    """
    mean = np.asarray(spherical_equivalent_d, dtype=np.float64)
    return np.maximum(np.where(mean < 0.0, 0.5 * mean, mean) + 6.0, LEAST_BASE_CURVE_D)


def center_thickness_m(
    power_d: FloatLike,
    *,
    index: FloatLike,
    diameter_m: FloatLike,
    edge_thickness_m: FloatLike = 1.0e-3,
) -> FloatArray:
    """Return the centre thickness a spectacle lens probably has.

    Parameters
    ----------
    power_d : float or (...) array
        Back vertex power; of a cylinder, the most plus meridian. [D]
    index : float or (...) array
        Refractive index of the lens. [-]
    diameter_m : float or (...) array
        Effective diameter ED: twice the longest radius of the outline. [m]
    edge_thickness_m : float or (...) array
        Thinnest edge left on a plus lens; 1 mm is an assumption. [m]

    Returns
    -------
    (...) array
        Thickness at the optical centre. [m]

    Notes
    -----
    Minus and plano: 2.0 mm at index 1.498, 1.4 at 1.54, 1.2 at 1.60 and above, straight
    between. Plus: edge + ED^2 F / (8 (n - 1)), the parabola's depth, if that is more.

    References
    ----------
    [optiboard-thickness] for minus; [calculator-thickness] for plus.
    """
    n = np.asarray(index, dtype=np.float64)
    least = np.interp(n, _THICKNESS_INDEX, _THICKNESS_MINUS_M)
    depth = np.square(diameter_m) * np.asarray(power_d, dtype=np.float64) / (8.0 * (n - 1.0))
    return np.maximum(least, np.add(edge_thickness_m, depth))
