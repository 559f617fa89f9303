"""Mirror reflection of rays."""

from tapemark.geometry.vectors import FloatArray, dot, join_components, split_components


def reflect(direction: FloatArray, *, normal: FloatArray) -> FloatArray:
    """Return the direction of a ray after a mirror reflection.

    Parameters
    ----------
    direction : (..., 3) array
        Unit vector along which the light travels. [-]
    normal : (..., 3) array
        Unit surface normal, either side, same frame; broadcasts with `direction`. [-]

    Returns
    -------
    (..., 3) array
        Unit vector; NaN where an input is NaN. [-]

    Notes
    -----
    d' = d - 2 (d.n) n. Assumes a surface smooth against the wavelength.

    References
    ----------
    [snell-vector] restated.

    Examples
    --------
    >>> import numpy as np
    >>> reflect(np.array([0.6, -0.8, 0.0]), normal=np.array([0.0, 1.0, 0.0])).tolist()
    [0.6, 0.8, 0.0]
    """
    twice = 2.0 * dot(direction, normal)
    dx, dy, dz = split_components(direction)
    nx, ny, nz = split_components(normal)
    return join_components(dx - twice * nx, dy - twice * ny, dz - twice * nz)
