"""How wide the pupil is in a given light."""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

_MM = 1e-3  # the formula is published in millimetres [m]
_REFERENCE_AGE_YEARS = 28.58  # [years], [watson-yellott-2012]
_ONE_EYE_EFFECT = 0.1  # a light seen by one eye works a tenth [-], [watson-yellott-2012]


def pupil_diameter(
    luminance_cd_m2: FloatLike,
    *,
    age_years: FloatLike,
    field_deg2: FloatLike = 1000.0,
    eyes: int = 2,
) -> FloatArray:
    """Return the diameter of the pupil that looks at an even field.

    Parameters
    ----------
    luminance_cd_m2 : float or (...) array
        Luminance of the field, above 0. [cd/m2]
    age_years : float or (...) array
        Age; the data cover 17 to 83. [years]
    field_deg2 : float or (...) array
        Area of the field; 1000 deg2, a bright room ahead, is an assumption. [deg2]
    eyes : int
        Eyes that see the field, 1 or 2. [-]

    Returns
    -------
    (...) array
        Diameter of the entrance pupil; NaN where an input is NaN. [m]

    Notes
    -----
    D = D_SD + (age - 28.58)(0.021323 - 0.0095623 D_SD), with
    D_SD = 7.75 - 5.75 q/(q + 2), q = (L a e/846)^0.41, in mm; e is 1 for two eyes and 0.1
    for one. People differ from it by about 1 mm. The age range is from memory.

    References
    ----------
    [watson-yellott-2012]

    Examples
    --------
    >>> round(float(pupil_diameter(100.0, age_years=30.0)), 5)
    0.00325
    """
    effect = 1.0 if eyes == 2 else _ONE_EYE_EFFECT
    flux = np.multiply(luminance_cd_m2, field_deg2) * effect
    q = (flux / 846.0) ** 0.41
    young_mm = 7.75 - 5.75 * q / (q + 2.0)
    older = np.subtract(age_years, _REFERENCE_AGE_YEARS)
    return _MM * (young_mm + older * (0.021323 - 0.0095623 * young_mm))
