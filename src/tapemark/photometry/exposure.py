"""Exposure: from light on the subject to the aperture, and back.

A meter's constant C is a convention, not physics: `FLAT` for a flat receptor turned to one
light, `DOME` for a dome turned to the camera. They differ by 0.4 stop, and every answer in
apertures has to say which one it used.
"""

import math
from bisect import bisect

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike

FLAT = 250.0  # incident constant C of a flat receptor [lx s], [iso-2720]
DOME = 330.0  # incident constant C of a dome, 320 to 340 in practice [lx s], [iso-2720]

# Apertures as lenses and meters print them, a third of a stop apart [-], [nominal-apertures]
NOMINAL_APERTURES = (
    *(0.5, 0.56, 0.63, 0.7, 0.8, 0.9),
    *(1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5),
    *(4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0, 10.0, 11.0, 13.0, 14.0),
    *(16.0, 18.0, 20.0, 22.0, 25.0, 29.0, 32.0, 36.0, 40.0, 45.0, 51.0, 57.0, 64.0),
)
_FIRST_THIRD = -6  # f/0.5 is two stops wider than f/1 [thirds of a stop]
_ISO_THIRDS = (100.0, 125.0, 160.0)  # printed speeds of one octave [-], from memory
# Printed shutter times, as parts of a second [1/s], from memory
_SHUTTERS = (
    *(1.0, 1.25, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 15.0, 20.0, 25.0, 30.0),
    *(40.0, 50.0, 60.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 320.0, 400.0, 500.0, 640.0),
    *(800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3200.0, 4000.0, 5000.0, 6400.0, 8000.0),
)


def exposure_value(aperture: FloatLike, *, shutter_s: FloatLike) -> FloatArray:
    """Return the exposure value of a camera setting.

    Parameters
    ----------
    aperture : float or (...) array
        f-number N, above 0. [-]
    shutter_s : float or (...) array
        Exposure time t, above 0. [s]

    Returns
    -------
    (...) array
        EV = log2(N^2/t). [stops]

    References
    ----------
    [exposure-value]

    Examples
    --------
    >>> round(float(exposure_value(8.0, shutter_s=1 / 160)), 2)
    13.32
    """
    n = np.asarray(aperture, dtype=np.float64)
    return np.log2(n * n / shutter_s)


def illuminance_from_exposure_value(
    exposure_value_100: FloatLike, *, calibration: float = FLAT
) -> FloatArray:
    """Return the illuminance that calls for an exposure value at ISO 100.

    Parameters
    ----------
    exposure_value_100 : float or (...) array
        EV at ISO 100. [stops]
    calibration : float
        Meter constant C. [lx s]

    Returns
    -------
    (...) array
        Illuminance E = C 2^EV/100. [lx]

    References
    ----------
    [iso-2720], [exposure-value]

    Examples
    --------
    >>> float(illuminance_from_exposure_value(8.0))
    640.0
    """
    return np.exp2(np.asarray(exposure_value_100, dtype=np.float64)) * (calibration / 100.0)


def exposure_value_from_illuminance(
    illuminance_lx: FloatLike, *, calibration: float = FLAT
) -> FloatArray:
    """Return the exposure value at ISO 100 that an illuminance calls for.

    Parameters
    ----------
    illuminance_lx : float or (...) array
        Illuminance at the subject, above 0. [lx]
    calibration : float
        Meter constant C. [lx s]

    Returns
    -------
    (...) array
        EV at ISO 100, log2(100 E/C). [stops]

    References
    ----------
    [iso-2720], [exposure-value]
    """
    return np.log2(np.asarray(illuminance_lx, dtype=np.float64) * (100.0 / calibration))


def required_flash_exposure(
    aperture: FloatLike, *, iso: FloatLike, calibration: float = FLAT
) -> FloatArray:
    """Return the light a flash must put on the subject for an aperture.

    Parameters
    ----------
    aperture : float or (...) array
        f-number N; for a nominal one use `exact_aperture` first. [-]
    iso : float or (...) array
        ISO speed S, arithmetic. [-]
    calibration : float
        Meter constant C. [lx s]

    Returns
    -------
    (...) array
        Exposure H = C N^2/S, continuous light during the shutter time included. [lx s]

    References
    ----------
    [iso-2720] for C; the flash form is the same equation with H = E t.

    Examples
    --------
    >>> float(required_flash_exposure(8.0, iso=100.0))
    160.0
    """
    n = np.asarray(aperture, dtype=np.float64)
    return calibration * n * n / iso


def aperture_from_exposure(
    exposure_lx_s: FloatLike, *, iso: FloatLike, calibration: float = FLAT
) -> FloatArray:
    """Return the aperture that an amount of light calls for.

    Parameters
    ----------
    exposure_lx_s : float or (...) array
        Light on the subject, flash plus continuous light times shutter time, 0 or more. [lx s]
    iso : float or (...) array
        ISO speed S, arithmetic. [-]
    calibration : float
        Meter constant C. [lx s]

    Returns
    -------
    (...) array
        Exact f-number, N^2 = H S/C. [-]

    References
    ----------
    [iso-2720] for C.
    """
    return np.sqrt(np.asarray(exposure_lx_s, dtype=np.float64) * iso / calibration)


def stops_between(amount: FloatLike, *, reference: FloatLike) -> FloatArray:
    """Return how many stops one amount of light is above another.

    Parameters
    ----------
    amount, reference : float or (...) array
        Two amounts of the same quantity, `reference` above 0, `amount` 0 or more. [any unit]

    Returns
    -------
    (...) array
        log2(amount/reference), -infinity for no light. [stops]

    Examples
    --------
    >>> float(stops_between(320.0, reference=80.0))
    2.0
    """
    ratio = np.true_divide(amount, reference)
    dark = ratio == 0.0
    return np.where(dark, -np.inf, np.log2(np.where(dark, 1.0, ratio)))[()]


def nominal_aperture(aperture: float) -> float:
    """Return the nearest aperture as lenses print it, in thirds of a stop.

    Parameters
    ----------
    aperture : float
        Exact f-number, above 0. [-]

    Returns
    -------
    float
        Nominal f-number between 0.5 and 64, nearest in stops; NaN for NaN. [-]

    References
    ----------
    [nominal-apertures]

    Examples
    --------
    >>> nominal_aperture(11.31)
    11.0
    """
    if math.isnan(aperture):
        return math.nan
    third = round(6.0 * math.log2(aperture)) - _FIRST_THIRD
    return NOMINAL_APERTURES[min(max(third, 0), len(NOMINAL_APERTURES) - 1)]


def exact_aperture(nominal: float) -> float:
    """Return the f-number that a printed aperture stands for.

    Parameters
    ----------
    nominal : float
        Aperture as printed, 5.6 or 11. [-]

    Returns
    -------
    float
        The exact third of a stop, 2^(k/6), if `nominal` is a printed one; else `nominal`. [-]

    References
    ----------
    [nominal-apertures]

    Examples
    --------
    >>> round(exact_aperture(11.0), 3)
    11.314
    """
    place = bisect(NOMINAL_APERTURES, nominal) - 1
    if place < 0 or NOMINAL_APERTURES[place] != nominal:
        return nominal
    return float(2.0 ** ((place + _FIRST_THIRD) / 6.0))


def nominal_iso(iso: float) -> int:
    """Return the nearest ISO speed as cameras print it, in thirds of a stop.

    Parameters
    ----------
    iso : float
        ISO speed, arithmetic, above 0. [-]

    Returns
    -------
    int
        Printed speed, nearest in stops.

    References
    ----------
    [nominal-apertures] for thirds of a stop; the printed numbers are from memory.

    Examples
    --------
    >>> nominal_iso(398.0), nominal_iso(127.0), nominal_iso(25_000.0)
    (400, 125, 25600)
    """
    octave, third = divmod(round(3.0 * math.log2(iso / 100.0)), 3)
    return round(_ISO_THIRDS[third] * 2.0**octave)


def nominal_shutter_s(shutter_s: float) -> float:
    """Return the nearest shutter time as cameras print it that is no longer.

    Parameters
    ----------
    shutter_s : float
        Exposure time, above 0. [s]

    Returns
    -------
    float
        The longest printed time from 1/8000 s to 1 s that is at most `shutter_s`; 1/8000 s
        where that is too long. [s]

    References
    ----------
    [nominal-apertures] for thirds of a stop; the printed numbers are from memory.

    Examples
    --------
    >>> round(1 / nominal_shutter_s(1 / 150))
    160
    """
    printed = [1.0 / one for one in _SHUTTERS if 1.0 / one <= shutter_s * (1.0 + 1e-9)]
    return max(printed, default=1.0 / _SHUTTERS[-1])
