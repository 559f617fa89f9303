"""How much light a clean, uncoated, clear surface reflects (Fresnel's equations)."""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

_GRAZING = 1e-300  # least cosine; keeps 0/0 away at exactly 90 degrees [-]


def fresnel_reflectance(
    cos_incidence: FloatLike, *, index_from: FloatLike, index_to: FloatLike
) -> tuple[FloatArray, FloatArray]:
    """Return the reflectance of a bare surface for s- and p-polarised light.

    Parameters
    ----------
    cos_incidence : float or (...) array
        Cosine of the angle between ray and normal, of either sign, -1 to 1. [-]
    index_from, index_to : float or (...) array
        Refractive index before and behind the surface. [-]

    Returns
    -------
    reflectance_s, reflectance_p : (...) array
        Fraction reflected, 0 to 1, with the electric field across (s) and in (p) the plane
        of incidence; 1 at total internal reflection, NaN where an input is NaN. [-]

    Notes
    -----
    r_s = (n1 cos i - n2 cos t)/(n1 cos i + n2 cos t),
    r_p = (n2 cos i - n1 cos t)/(n2 cos i + n1 cos t), R = r^2. No absorption. Beyond the
    critical angle cos t is set to 0, which gives R = 1.

    References
    ----------
    [smith-optical] eq. 11.1 and 11.2; [springer-fresnel].
    """
    cos_i = np.maximum(np.abs(np.asarray(cos_incidence, dtype=np.float64)), _GRAZING)
    n1 = np.asarray(index_from, dtype=np.float64)
    n2 = np.asarray(index_to, dtype=np.float64)
    ratio = n1 / n2
    cos_t = np.sqrt(np.maximum(1.0 - ratio * ratio * (1.0 - cos_i * cos_i), 0.0))
    across = (n1 * cos_i - n2 * cos_t) / (n1 * cos_i + n2 * cos_t)
    within = (n2 * cos_i - n1 * cos_t) / (n2 * cos_i + n1 * cos_t)
    return across * across, within * within


def unpolarised_reflectance(
    cos_incidence: FloatLike, *, index_from: FloatLike, index_to: FloatLike
) -> FloatArray:
    """Return the reflectance of a bare surface for unpolarised light.

    Parameters
    ----------
    cos_incidence : float or (...) array
        Cosine of the angle between ray and normal, of either sign, -1 to 1. [-]
    index_from, index_to : float or (...) array
        Refractive index before and behind the surface. [-]

    Returns
    -------
    (...) array
        Fraction reflected, 0 to 1: the mean of s and p. NaN where an input is NaN. [-]

    References
    ----------
    [springer-fresnel]; checked against [scifrefl].

    Examples
    --------
    >>> round(float(unpolarised_reflectance(1.0, index_from=1.0, index_to=1.5)), 4)
    0.04
    """
    across, within = fresnel_reflectance(cos_incidence, index_from=index_from, index_to=index_to)
    return 0.5 * (across + within)


def normal_reflectance(index: FloatLike, *, index_from: FloatLike = 1.0) -> FloatArray:
    """Return the reflectance of a bare surface met square on.

    Parameters
    ----------
    index : float or (...) array
        Refractive index behind the surface. [-]
    index_from : float or (...) array
        Refractive index before the surface; air by default. [-]

    Returns
    -------
    (...) array
        Fraction reflected, ((n - 1)/(n + 1))^2 from air. NaN where an input is NaN. [-]

    References
    ----------
    [nfos-reflections] slide 17.

    Examples
    --------
    >>> round(float(normal_reflectance(1.67)), 4)
    0.063
    """
    n1 = np.asarray(index_from, dtype=np.float64)
    n2 = np.asarray(index, dtype=np.float64)
    amplitude = (n2 - n1) / (n2 + n1)
    return amplitude * amplitude


def brewster_angle(index: FloatLike, *, index_from: FloatLike = 1.0) -> FloatArray:
    """Return the angle of incidence at which no p-polarised light is reflected.

    Parameters
    ----------
    index : float or (...) array
        Refractive index behind the surface. [-]
    index_from : float or (...) array
        Refractive index before the surface; air by default. [-]

    Returns
    -------
    (...) array
        Brewster's angle, from the normal. NaN where an input is NaN. [rad]

    References
    ----------
    [smith-optical] restated: tan(angle) = n2/n1.
    """
    return np.arctan2(np.asarray(index, dtype=np.float64), np.asarray(index_from, dtype=np.float64))
