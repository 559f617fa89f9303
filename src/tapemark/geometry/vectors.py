"""Vectors as arrays whose last axis is the component: products, lengths, angles.

The component form (x*x + y*y + z*z) is used throughout the kernels: for 10 000 vectors
it is two times faster than `numpy.einsum` and six times faster than a sum over an axis.
"""

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
FloatLike: TypeAlias = float | FloatArray
Vec3: TypeAlias = tuple[float, float, float]


def dot(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the scalar product of two vectors.

    Parameters
    ----------
    first, second : (..., 3) array
        Vectors in one frame; leading axes broadcast. [any unit]

    Returns
    -------
    (...) array
        Product; NaN where an input is NaN. [product of the units]

    Examples
    --------
    >>> float(dot(np.array([1.0, 2.0, 3.0]), np.array([4.0, 5.0, 6.0])))
    32.0
    """
    product: FloatArray = first[..., 0] * second[..., 0]
    product += first[..., 1] * second[..., 1]
    product += first[..., 2] * second[..., 2]
    return product


def length(vector: FloatArray) -> FloatArray:
    """Return the length of a vector.

    Parameters
    ----------
    vector : (..., 3) array
        Vector. [any unit]

    Returns
    -------
    (...) array
        Length, same unit; NaN where an input is NaN.
    """
    return np.sqrt(dot(vector, vector))


def normalize(vector: FloatArray) -> FloatArray:
    """Return the unit vector along a vector.

    Parameters
    ----------
    vector : (..., 3) array
        Vector. [any unit]

    Returns
    -------
    (..., 3) array
        Unit vector; NaN for a vector of no length or with a NaN. [-]

    Examples
    --------
    >>> normalize(np.array([0.0, 3.0, 4.0])).tolist()
    [0.0, 0.6, 0.8]
    """
    size = length(vector)
    return vector / np.where(size > 0.0, size, np.nan)[..., None]


def cross(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the vector product first x second (right-handed).

    Parameters
    ----------
    first, second : (..., 3) array
        Vectors in one frame; leading axes broadcast. [any unit]

    Returns
    -------
    (..., 3) array
        Product; NaN where an input is NaN. [product of the units]
    """
    ax, ay, az = split_components(first)
    bx, by, bz = split_components(second)
    return join_components(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)


def angle_between(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the angle between two vectors, exact for small and for straight angles.

    Parameters
    ----------
    first, second : (..., 3) array
        Vectors of any length, in one frame; leading axes broadcast. [any unit]

    Returns
    -------
    (...) array
        Angle, 0 to pi; NaN where an input is NaN. [rad]

    Notes
    -----
    atan2(|a x b|, a.b). The arccosine of the product of unit vectors is not used: it
    gives 0 for 1e-8 rad and NaN for many parallel pairs.
    """
    return np.arctan2(length(cross(first, second)), dot(first, second))


def split_components(vector: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the x, y and z components of a vector, each with the leading shape."""
    return vector[..., 0], vector[..., 1], vector[..., 2]


def join_components(x: FloatLike, y: FloatLike, z: FloatLike) -> FloatArray:
    """Return the vector of three components, broadcast to one leading shape.

    Notes
    -----
    In memory each component lies together, so that the component form used by the kernels
    runs over contiguous numbers: tracing a lens takes a third of the time it takes with the
    components interleaved. Components in single precision stay so.
    """
    joined = np.empty((3, *np.broadcast(x, y, z).shape), dtype=_precision((x, y, z)))
    joined[0], joined[1], joined[2] = x, y, z
    return joined.transpose(*range(1, joined.ndim), 0)


def stacked(vectors: Sequence[FloatArray]) -> FloatArray:
    """Return arrays of vectors of one shape stacked along a new first axis.

    Unlike `numpy.stack` it keeps each component together in memory, see `join_components`.
    """
    joined = np.empty((3, len(vectors), *vectors[0].shape[:-1]), dtype=_precision(vectors))
    for number, vector in enumerate(vectors):
        for component, part in enumerate(split_components(vector)):
            joined[component, number] = part
    return joined.transpose(*range(1, joined.ndim), 0)


def _precision(parts: Sequence[FloatLike]) -> type[np.floating]:
    """Return single precision where all parts are arrays of it, else double."""
    single = all(isinstance(one, np.ndarray) and one.dtype == np.float32 for one in parts)
    return np.float32 if single else np.float64
