"""What a camera lens draws: size, angle of view, depth of field, perspective.

The lens is thin and moves as a whole to focus::

     object            lens             sensor
        |               |                 |
        |<- object ---->|<- image ------->|      1/object + 1/image = 1/focal length

Distances are counted from the lens.  A lens that focuses by moving parts inside gets shorter
when focused near, so that its frame takes in more than is said here: at 2 m and 85 mm by up
to 4 %.
"""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

DIAGONAL_PER_CIRCLE = 1500.0  # [-], sensor diagonal over circle of confusion, [zeiss-formula]


def image_distance(object_distance_m: FloatLike, *, focal_length_m: FloatLike) -> FloatArray:
    """Return how far behind the lens the image of an object lies.

    Parameters
    ----------
    object_distance_m : float or (...) array
        Lens to object, above the focal length; inf for far away. [m]
    focal_length_m : float or (...) array
        Focal length. [m]

    Returns
    -------
    (...) array
        Lens to image; NaN for an object within the focal length. [m]

    References
    ----------
    [navedtra-14209] p. 42, conjugates.
    """
    power = 1.0 / np.asarray(focal_length_m) - 1.0 / np.asarray(object_distance_m)
    return np.asarray(1.0 / np.where(power > 0.0, power, np.nan))


def magnification(object_distance_m: FloatLike, *, focal_length_m: FloatLike) -> FloatArray:
    """Return the size of an image on the sensor over the size of the object [-].

    Parameters
    ----------
    object_distance_m : float or (...) array
        Lens to object, on which it is focused. [m]
    focal_length_m : float or (...) array
        Focal length. [m]

    Notes
    -----
    m = f/(s - f), the same as image distance over object distance; NaN within the focal length.
    """
    focal = np.asarray(focal_length_m)
    beyond = np.asarray(object_distance_m) - focal
    return np.asarray(focal / np.where(beyond > 0.0, beyond, np.nan))


def conjugate_distances(
    image_over_object: FloatLike, *, focal_length_m: FloatLike
) -> tuple[FloatArray, FloatArray]:
    """Return where object and sensor must be for an image of a wanted size.

    Parameters
    ----------
    image_over_object : float or (...) array
        Magnification, above 0. [-]
    focal_length_m : float or (...) array
        Focal length. [m]

    Returns
    -------
    object_distance_m, image_distance_m : (...) arrays
        Lens to object, f (1 + 1/m), and lens to image, f (1 + m). [m]

    References
    ----------
    [navedtra-14209] p. 42.

    Examples
    --------
    >>> [round(float(one), 3) for one in conjugate_distances(0.06, focal_length_m=0.085)]
    [1.502, 0.09]
    """
    size, focal = np.asarray(image_over_object), np.asarray(focal_length_m)
    return np.asarray(focal * (1.0 + 1.0 / size)), np.asarray(focal * (1.0 + size))


def focal_length_for(image_over_object: FloatLike, *, object_distance_m: FloatLike) -> FloatArray:
    """Return the focal length that draws an object at a wanted size from a given distance.

    Parameters
    ----------
    image_over_object : float or (...) array
        Magnification. [-]
    object_distance_m : float or (...) array
        Lens to object. [m]

    Returns
    -------
    (...) array
        f = s m/(1 + m). [m]
    """
    size = np.asarray(image_over_object)
    return np.asarray(np.asarray(object_distance_m) * size / (1.0 + size))


def field_size(
    object_distance_m: FloatLike, *, focal_length_m: FloatLike, side_m: FloatLike
) -> FloatArray:
    """Return how much of the plane in focus one side of the frame takes in.

    Parameters
    ----------
    object_distance_m : float or (...) array
        Lens to the plane in focus. [m]
    focal_length_m : float or (...) array
        Focal length. [m]
    side_m : float or (...) array
        Side of the frame on the sensor. [m]

    Returns
    -------
    (...) array
        Width or height at that plane. [m]
    """
    drawn = magnification(object_distance_m, focal_length_m=focal_length_m)
    return np.asarray(np.asarray(side_m) / drawn)


def hyperfocal_distance(
    focal_length_m: FloatLike, *, f_number: FloatLike, circle_m: FloatLike
) -> FloatArray:
    """Return the nearest focus at which everything far away still counts as sharp.

    Parameters
    ----------
    focal_length_m : float or (...) array
        Focal length. [m]
    f_number : float or (...) array
        Aperture. [-]
    circle_m : float or (...) array
        Circle of confusion: blur on the sensor that still counts as sharp. [m]

    Returns
    -------
    (...) array
        H = f²/(N c) + f. [m]

    References
    ----------
    [hyperfocal]; [army-ss0507] p. 58.
    """
    focal = np.asarray(focal_length_m)
    return np.asarray(focal**2 / (np.asarray(f_number) * np.asarray(circle_m)) + focal)


def depth_of_field_limits(
    focused_at_m: FloatLike, *, focal_length_m: FloatLike, hyperfocal_m: FloatLike
) -> FloatArray:
    """Return from where to where things count as sharp.

    Parameters
    ----------
    focused_at_m : float or (...) array
        Lens to the plane in focus, above the focal length. [m]
    focal_length_m, hyperfocal_m : float or (...) array
        Focal length and hyperfocal distance. [m]

    Returns
    -------
    (..., 2) array
        Nearest and farthest; the farthest is inf from the hyperfocal distance on. [m]

    Notes
    -----
    Near = s (H - f)/(H + s - 2f), far = s (H - f)/(H - s): the thin lens, exact; the
    approximations H s/(H ± s) are not used.

    References
    ----------
    [hyperfocal]; [harrison-depth] worked example.
    """
    at, focal, reach = np.broadcast_arrays(
        np.asarray(focused_at_m, dtype=np.float64), focal_length_m, hyperfocal_m
    )
    top = at * (reach - focal)
    open_end = at >= reach
    far = np.where(open_end, top + np.inf, top / np.where(open_end, 1.0, reach - at))
    return np.stack([top / (reach + at - 2.0 * focal), far], axis=-1)


def blur_circle(
    distance_m: FloatLike,
    *,
    focused_at_m: FloatLike,
    focal_length_m: FloatLike,
    f_number: FloatLike,
) -> FloatArray:
    """Return the diameter on the sensor into which a point out of focus is spread.

    Parameters
    ----------
    distance_m : float or (...) array
        Lens to the point, along the axis. [m]
    focused_at_m : float or (...) array
        Lens to the plane in focus. [m]
    focal_length_m : float or (...) array
        Focal length. [m]
    f_number : float or (...) array
        Aperture. [-]

    Returns
    -------
    (...) array
        b = f² |d - s|/(N d (s - f)). [m]

    Notes
    -----
    By similar triangles behind the lens; a point that is as far away as the limits of
    `depth_of_field_limits` is spread into just the circle of confusion.  Diffraction and
    faults of the lens are left out.
    """
    at, focal = np.asarray(focused_at_m), np.asarray(focal_length_m)
    away = np.asarray(distance_m)
    return np.asarray(focal**2 * np.abs(away - at) / (np.asarray(f_number) * away * (at - focal)))


def perspective_ratio(near_distance_m: FloatLike, *, depth_m: FloatLike) -> FloatArray:
    """Return how much larger a near feature is drawn than an equal one behind it.

    Parameters
    ----------
    near_distance_m : float or (...) array
        Camera to the nearer feature. [m]
    depth_m : float or (...) array
        How far the other lies behind it. [m]

    Returns
    -------
    (...) array
        (D + depth)/D; the focal length has no part in it. [-]

    Examples
    --------
    >>> round(float(perspective_ratio(0.45, depth_m=0.12)), 3)
    1.267
    """
    near = np.asarray(near_distance_m)
    return np.asarray((near + np.asarray(depth_m)) / near)
