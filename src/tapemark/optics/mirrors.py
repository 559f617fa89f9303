"""Convex mirrors: the images that the cornea and a lens surface make of a light.

All lengths are positive in metres and stand for sizes; an image distance carries the
textbook sign (negative: a virtual image behind the mirror).

    light |                    ( cornea
          |--------------------(---* image, upright and small, behind the vertex
          |<------ do -------->(<->|
                                -di
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike


def convex_image_distance(object_distance_m: FloatLike, *, radius_m: FloatLike) -> FloatArray:
    """Return where a convex mirror shows an object.

    Parameters
    ----------
    object_distance_m : float or (...) array
        Object to vertex, above 0; may be infinite. [m]
    radius_m : float or (...) array
        Radius of the mirror, above 0. [m]

    Returns
    -------
    (...) array
        Image distance d_i, negative: behind the mirror. [m]

    Notes
    -----
    1/d_o + 1/d_i = -2/R, close to the axis.

    References
    ----------
    [openstax-mirror]; checked against [serway-mirror].
    """
    return -1.0 / (np.true_divide(2.0, radius_m) + np.true_divide(1.0, object_distance_m))


def convex_magnification(object_distance_m: FloatLike, *, radius_m: FloatLike) -> FloatArray:
    """Return the size of a convex mirror's image over the size of the object.

    Parameters
    ----------
    object_distance_m : float or (...) array
        Object to vertex, above 0. [m]
    radius_m : float or (...) array
        Radius of the mirror, above 0. [m]

    Returns
    -------
    (...) array
        Magnification m = (R/2)/(d_o + R/2), between 0 and 1, upright. [-]

    References
    ----------
    [openstax-mirror]
    """
    focal = np.multiply(0.5, radius_m)
    return focal / np.add(object_distance_m, focal)


def radius_from_magnification(
    magnification: FloatLike, *, object_distance_m: FloatLike
) -> FloatArray:
    """Return the radius of a convex mirror from the size of its image, exactly.

    Parameters
    ----------
    magnification : float or (...) array
        Image size over object size, between 0 and 1. [-]
    object_distance_m : float or (...) array
        Object to vertex, above 0. [m]

    Returns
    -------
    (...) array
        Radius R = 2 d_o m/(1 - m). [m]

    References
    ----------
    [openstax-mirror]
    """
    m = np.asarray(magnification, dtype=np.float64)
    return 2.0 * np.asarray(object_distance_m, dtype=np.float64) * m / (1.0 - m)


def keratometer_radius(magnification: FloatLike, *, distance_to_image_m: FloatLike) -> FloatArray:
    """Return the radius of the cornea as a keratometer works it out.

    Parameters
    ----------
    magnification : float or (...) array
        Image size over object size, between 0 and 1. [-]
    distance_to_image_m : float or (...) array
        Object to the focal point of the cornea, nearly that to the image. [m]

    Returns
    -------
    (...) array
        Radius R = 2 d m. [m]

    Notes
    -----
    Exact for the distance to the focal point. With the distance to the vertex it comes out
    low by the factor 1 - m; `radius_from_magnification` is then the exact form.

    References
    ----------
    [keratometer]
    """
    return 2.0 * np.multiply(distance_to_image_m, magnification)


def purkinje_image_depth(
    corneal_radius_m: FloatLike, *, distance_m: FloatLike = np.inf
) -> FloatArray:
    """Return how deep behind the cornea its reflection of a light lies (Purkinje I).

    Parameters
    ----------
    corneal_radius_m : float or (...) array
        Radius of the front of the cornea; 7.8 mm is typical. [m]
    distance_m : float or (...) array
        Light to cornea; infinite by default. [m]

    Returns
    -------
    (...) array
        Depth behind the corneal vertex, positive. [m]

    References
    ----------
    [schwartz-optics] fig. 14-14.

    Examples
    --------
    >>> round(float(purkinje_image_depth(7.8e-3)), 6)
    0.0039
    """
    return -convex_image_distance(distance_m, radius_m=corneal_radius_m)


def catchlight_size(
    source_width_m: FloatLike, *, distance_m: FloatLike, corneal_radius_m: FloatLike
) -> FloatArray:
    """Return how large a light appears on the eye.

    Parameters
    ----------
    source_width_m : float or (...) array
        Width of the light, square to the line to the eye. [m]
    distance_m : float or (...) array
        Light to cornea. [m]
    corneal_radius_m : float or (...) array
        Radius of the front of the cornea; 7.8 mm is typical. [m]

    Returns
    -------
    (...) array
        Width of the catchlight. [m]

    References
    ----------
    [openstax-mirror]

    Examples
    --------
    >>> size = catchlight_size(0.6, distance_m=1.2, corneal_radius_m=7.8e-3)
    >>> round(float(size), 5)
    0.00194
    """
    return np.multiply(source_width_m, convex_magnification(distance_m, radius_m=corneal_radius_m))
