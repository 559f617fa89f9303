"""Refraction of rays at a surface between two media (Snell's law in vector form)."""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike, dot, join_components, split_components


def refract(
    direction: FloatArray, *, normal: FloatArray, index_from: FloatLike, index_to: FloatLike
) -> FloatArray:
    """Return the direction of a ray after it has crossed a surface.

    Parameters
    ----------
    direction : (..., 3) array
        Unit vector along which the light travels. [-]
    normal : (..., 3) array
        Unit surface normal, either side, same frame; broadcasts with `direction`. [-]
    index_from, index_to : float or (...) array
        Refractive index before and behind the surface. [-]

    Returns
    -------
    (..., 3) array
        Unit vector; NaN at total internal reflection and where an input is NaN. [-]

    Notes
    -----
    With mu = index_from/index_to and c = d.n:
    d' = mu d + (sign(c) sqrt(1 - mu^2 (1 - c^2)) - mu c) n. The sign follows the side the
    ray comes from, so that the normal may point either way.

    References
    ----------
    [snell-vector] restated.

    Examples
    --------
    >>> bent = refract(
    ...     np.array([0.6, -0.8, 0.0]),
    ...     normal=np.array([0.0, 1.0, 0.0]), index_from=1.0, index_to=1.5,
    ... )
    >>> bent.round(6).tolist()
    [0.4, -0.916515, 0.0]
    """
    ratio = np.true_divide(index_from, index_to)
    cosine = dot(direction, normal)
    squared = 1.0 - ratio * ratio * (1.0 - cosine * cosine)
    bent_cosine = np.sqrt(np.where(squared < 0.0, np.nan, squared))
    along_normal = np.copysign(bent_cosine, cosine) - ratio * cosine
    dx, dy, dz = split_components(direction)
    nx, ny, nz = split_components(normal)
    return join_components(
        ratio * dx + along_normal * nx,
        ratio * dy + along_normal * ny,
        ratio * dz + along_normal * nz,
    )
