"""Light that a room's own surfaces keep throwing about: one-number estimates."""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike


def room_lift(reflectance: FloatLike) -> FloatArray:
    """Return by how much bounce after bounce lifts the light of the first bounce.

    Parameters
    ----------
    reflectance : float or (...) array
        Mean of walls, floor and ceiling by area, 0 to below 1. [-]

    Returns
    -------
    (...) array
        1/(1 - reflectance). [-]

    Notes
    -----
    1 + r + r^2 + ..., as in a ball whose inside is matt and even. From memory; a real room
    with its dark and light sides is within a factor of two.

    References
    ----------
    [room-lift]

    Examples
    --------
    >>> float(room_lift(0.5))
    2.0
    """
    kept = np.asarray(reflectance, dtype=np.float64)
    return 1.0 / (1.0 - kept)


def room_exposure(light: FloatLike, *, reflectance: FloatLike, surface_m2: FloatLike) -> FloatArray:
    """Return the light on any surface in a room after one bounce and all that follow.

    Parameters
    ----------
    light : float or (...) array
        Light sent into the room: lm s for flash, lm for steady light. [lm s or lm]
    reflectance : float or (...) array
        Mean of walls, floor and ceiling by area, 0 to below 1. [-]
    surface_m2 : float or (...) array
        Area of walls, floor and ceiling together. [m2]

    Returns
    -------
    (...) array
        Q r/(A (1 - r)), in lx s or lx.

    Notes
    -----
    The same everywhere in the room, as in a matt ball. From memory, see `room_lift`.

    References
    ----------
    [room-lift]
    """
    first = np.true_divide(np.multiply(light, reflectance), surface_m2)
    everywhere: FloatArray = first * room_lift(reflectance)
    return everywhere
