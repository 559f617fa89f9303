"""What a meter at the sitter shows: domes, light that adds up, steady light beside flash."""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike


def dome_share(cos_turned: FloatLike) -> FloatArray:
    """Return how much of a light a dome takes in that is turned away from it.

    Parameters
    ----------
    cos_turned : float or (...) array
        Cosine of the angle between the dome's axis and the light, -1 to 1. [-]

    Returns
    -------
    (...) array
        (1 + cos)/2, which is 1 square on, 1/2 from the side and 0 from behind. [-]

    Notes
    -----
    The lit part of half a ball, as the light sees it, against the whole disc: geometry alone.
    Real domes are made to come near it.
    """
    return (1.0 + np.asarray(cos_turned, dtype=np.float64)) / 2.0


def mixed_exposure(
    flash_lx_s: FloatLike, *, illuminance_lx: FloatLike, shutter_s: FloatLike
) -> FloatArray:
    """Return the light that a flash and steady light put on the subject in one exposure.

    Parameters
    ----------
    flash_lx_s : float or (...) array
        Light of the flash, all pops and heads together. [lx s]
    illuminance_lx : float or (...) array
        Steady light. [lx]
    shutter_s : float or (...) array
        Exposure time, longer than the flash. [s]

    Returns
    -------
    (...) array
        H = H_flash + E t. [lx s]

    References
    ----------
    [iso-2720]; the two sources are incoherent, so amounts add.
    """
    mixed: FloatArray = np.add(flash_lx_s, np.multiply(illuminance_lx, shutter_s))
    return mixed


def stops_of_pops(pops: FloatLike) -> FloatArray:
    """Return how much more light several equal pops, or heads, give than one.

    Parameters
    ----------
    pops : float or (...) array
        How many, 1 or more. [-]

    Returns
    -------
    (...) array
        log2 of their number. [stops]

    References
    ----------
    [navedtra-14209] p. 144.

    Examples
    --------
    >>> float(stops_of_pops(4))
    2.0
    """
    more: FloatArray = np.log2(np.asarray(pops, dtype=np.float64))
    return more


def ambient_stops_under(setting_ev: FloatLike, *, scene_ev: FloatLike) -> FloatArray:
    """Return how far the room's own light stays under what the camera is set to.

    Parameters
    ----------
    setting_ev : float or (...) array
        Exposure value of aperture and shutter, counted back to ISO 100. [stops]
    scene_ev : float or (...) array
        Exposure value that the room's light calls for at ISO 100. [stops]

    Returns
    -------
    (...) array
        Stops under; below 0 where the room alone would overexpose. [stops]

    References
    ----------
    [exposure-value]

    Examples
    --------
    >>> round(float(ambient_stops_under(13.32, scene_ev=8.0)), 2)
    5.32
    """
    under: FloatArray = np.subtract(setting_ev, scene_ev)
    return under


def share_at_stops_under(stops: FloatLike) -> FloatArray:
    """Return the share of a full exposure that light so many stops under it gives.

    Parameters
    ----------
    stops : float or (...) array
        How far under, positive for less. [stops]

    Returns
    -------
    (...) array
        2^-stops. [-]
    """
    return np.exp2(-np.asarray(stops, dtype=np.float64))


def shutter_for_stops_under(
    stops: FloatLike, *, flash_lx_s: FloatLike, illuminance_lx: FloatLike
) -> FloatArray:
    """Return the shutter time at which steady light is so far under the flash.

    Parameters
    ----------
    stops : float or (...) array
        How far under the flash it should be. [stops]
    flash_lx_s : float or (...) array
        Light of the flash, which no shutter time longer than it changes. [lx s]
    illuminance_lx : float or (...) array
        Steady light, above 0. [lx]

    Returns
    -------
    (...) array
        Shutter time, 2^-stops H/E. [s]
    """
    allowed: FloatArray = share_at_stops_under(stops) * np.true_divide(flash_lx_s, illuminance_lx)
    return allowed
