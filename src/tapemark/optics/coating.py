"""How much light a lens surface reflects, with or without an anti-reflective coating."""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike
from tapemark.optics.fresnel import normal_reflectance, unpolarised_reflectance


def surface_reflectance(
    cos_incidence: FloatLike,
    *,
    index: FloatLike,
    coating_reflectance: FloatLike | None,
    index_from: FloatLike = 1.0,
) -> FloatArray:
    """Return the reflectance of a lens surface for unpolarised light.

    Parameters
    ----------
    cos_incidence : float or (...) array
        Cosine of the angle between ray and normal, of either sign, -1 to 1. [-]
    index : float or (...) array
        Refractive index behind the surface. [-]
    coating_reflectance : float, (...) array or None
        Luminous reflectance of the coated surface met square on, 0 to 1; None for a bare
        surface. [-]
    index_from : float or (...) array
        Refractive index before the surface: air by default; the lens's for light that meets
        its surface from inside (`index` is then 1). [-]

    Returns
    -------
    (...) array
        Fraction reflected, 0 to 1; NaN where an input is NaN. [-]

    Notes
    -----
    Assumption: a coating's reflectance grows with the angle by the same factor as the bare
    surface's, R = R_coating * F(angle)/F(0), at most 1, and is 1 at total internal
    reflection. Real coatings differ beyond about 45 degrees and change colour; no published
    figures were found.

    References
    ----------
    [zeiss-coating] for what a coating reflects; the angle factor is ours.
    """
    bare = unpolarised_reflectance(cos_incidence, index_from=index_from, index_to=index)
    if coating_reflectance is None:
        return bare
    square_on = normal_reflectance(index, index_from=index_from)
    coated = np.minimum(bare * (coating_reflectance / square_on), 1.0)
    return np.where(bare >= 1.0, 1.0, coated)[()]
