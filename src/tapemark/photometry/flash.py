"""Flash heads: from stored energy to luminance, intensity, guide number and bounce."""

import numpy as np

from tapemark.geometry.vectors import FloatArray, FloatLike
from tapemark.photometry.exposure import FLAT

TYPICAL_EFFICACY_LM_PER_W = 40.0  # lm s per J stored; 15 to 50 are met [lm/W], [flash-efficacy]


def flash_light_output(energy_j: FloatLike, *, efficacy_lm_per_w: FloatLike) -> FloatArray:
    """Return the light a flash tube gives off in one pop.

    Parameters
    ----------
    energy_j : float or (...) array
        Energy stored (watt-seconds). [J]
    efficacy_lm_per_w : float or (...) array
        Light per energy stored; 15 to 50 lm s per J. [lm/W]

    Returns
    -------
    (...) array
        Quantity of light Q. [lm s]

    References
    ----------
    [flash-efficacy]

    Examples
    --------
    >>> float(flash_light_output(150.0, efficacy_lm_per_w=40.0))
    6000.0
    """
    return np.multiply(energy_j, efficacy_lm_per_w)


def face_luminance(
    light_output: FloatLike, *, efficiency: FloatLike, area_m2: FloatLike
) -> FloatArray:
    """Return the luminance of an evenly lit front that sends its light one way.

    Parameters
    ----------
    light_output : float or (...) array
        Light of the lamp: lm s for flash, lm for continuous light. [lm s or lm]
    efficiency : float or (...) array
        Fraction of it that leaves the front, 0 to 1. [-]
    area_m2 : float or (...) array
        Area of the front. [m2]

    Returns
    -------
    (...) array
        L = efficiency Q/(pi A), in cd s/m2 for flash and cd/m2 for continuous light.

    References
    ----------
    [lambert-polygon] restated: a Lambert face sends out pi L A.
    """
    light = np.multiply(light_output, efficiency)
    return np.true_divide(light, np.multiply(np.pi, area_m2))


def bare_tube_intensity(light_output: FloatLike, *, axial_gain: FloatLike = 1.0) -> FloatArray:
    """Return the intensity of a bare tube or of a reflector of known gain.

    Parameters
    ----------
    light_output : float or (...) array
        Light of the lamp: lm s for flash, lm for continuous light. [lm s or lm]
    axial_gain : float or (...) array
        Intensity on the axis over that of a tube that shines evenly all round. [-]

    Returns
    -------
    (...) array
        I = g Q/(4 pi), in cd s for flash and cd for continuous light.
    """
    return np.multiply(light_output, axial_gain) / (4.0 * np.pi)


def guide_number_m(
    intensity_cd_s: FloatLike, *, iso: FloatLike, calibration: float = FLAT
) -> FloatArray:
    """Return the guide number of a flash of known intensity.

    Parameters
    ----------
    intensity_cd_s : float or (...) array
        Intensity on the axis times time (also called BCPS). [cd s]
    iso : float or (...) array
        ISO speed, arithmetic. [-]
    calibration : float
        Meter constant C. [lx s]

    Returns
    -------
    (...) array
        Aperture times distance, sqrt(S I/C); far from the flash only. [m]

    Notes
    -----
    Makers' guide numbers imply C of 171 to 250 and a room that helps: 0 to 0.5 stop more
    than this.
    """
    return np.sqrt(np.multiply(intensity_cd_s, iso) / calibration)


def intensity_from_guide_number(
    guide_number_m: FloatLike, *, iso: FloatLike, calibration: float = FLAT
) -> FloatArray:
    """Return the intensity of a flash of known guide number.

    Parameters
    ----------
    guide_number_m : float or (...) array
        Aperture times distance. [m]
    iso : float or (...) array
        ISO speed the guide number is stated for. [-]
    calibration : float
        Meter constant C. [lx s]

    Returns
    -------
    (...) array
        Intensity on the axis times time, C GN^2/S. [cd s]
    """
    return calibration * np.square(guide_number_m) / iso


def guide_number_at(
    guide_number_m: FloatLike,
    *,
    from_iso: FloatLike,
    to_iso: FloatLike,
    power_stops: FloatLike = 0.0,
) -> FloatArray:
    """Return a guide number for another ISO speed and a lower power.

    Parameters
    ----------
    guide_number_m : float or (...) array
        Aperture times distance at full power. [m]
    from_iso, to_iso : float or (...) array
        ISO speed it is stated for, and wanted for. [-]
    power_stops : float or (...) array
        Power counted from full power, 0 or less. [stops]

    Returns
    -------
    (...) array
        GN sqrt(S2/S1) 2^(power/2). [m]

    References
    ----------
    [guide-number-iso]; the power follows from N^2 = H S/C.

    Examples
    --------
    >>> float(guide_number_at(40.0, from_iso=100, to_iso=400, power_stops=-2.0))
    40.0
    """
    speed = np.true_divide(to_iso, from_iso)
    scaled: FloatArray = np.multiply(
        guide_number_m, np.sqrt(speed * np.exp2(np.asarray(power_stops, dtype=np.float64)))
    )
    return scaled


def beam_exponent(beam: FloatLike) -> FloatArray:
    """Return the power of the cosine whose intensity is halved at the edge of a beam.

    Parameters
    ----------
    beam : float or (...) array
        Full angle of the beam, to half its intensity, 0 to pi. [rad]

    Returns
    -------
    (...) array
        Exponent, 1 (an even matt face) or more. [-]
    """
    half = np.minimum(beam, np.deg2rad(170.0)) / 2.0
    exponent: FloatArray = np.maximum(np.log(0.5) / np.log(np.cos(half)), 1.0)
    return exponent


def beam_intensity(light: FloatLike, *, exponent: FloatLike) -> FloatArray:
    """Return the intensity on the axis of a beam that falls with a power of the cosine.

    Parameters
    ----------
    light : float or (...) array
        All the light in the beam: lm s for flash, lm for continuous light. [lm s or lm]
    exponent : float or (...) array
        Power of the cosine, 1 for an even matt face. [-]

    Returns
    -------
    (...) array
        I = Q (n + 1)/(2 pi), in cd s for flash and cd for continuous light.
    """
    on_axis: FloatArray = np.multiply(light, np.add(exponent, 1.0)) / (2.0 * np.pi)
    return on_axis


def beam_light(intensity: FloatLike, *, exponent: FloatLike) -> FloatArray:
    """Return all the light in a beam of known intensity on its axis.

    Parameters
    ----------
    intensity : float or (...) array
        Intensity on the axis, times time for flash. [cd s or cd]
    exponent : float or (...) array
        Power of the cosine with which it falls, 1 for an even matt face. [-]

    Returns
    -------
    (...) array
        Q = 2 pi I/(n + 1), in lm s for flash and lm for continuous light.
    """
    light: FloatArray = np.multiply(intensity, 2.0 * np.pi) / np.add(exponent, 1.0)
    return light


def honeycomb_share(cos_turned: FloatLike, *, acceptance: FloatLike) -> FloatArray:
    """Return the share of light that a honeycomb grid lets through at an angle.

    Parameters
    ----------
    cos_turned : float or (...) array
        Cosine of the angle between the light and the axis of the cells. [-]
    acceptance : float or (...) array
        Full angle beyond which nothing passes, above 0 and below pi. [rad]

    Returns
    -------
    (...) array
        1 on the axis, falling with the tangent of the angle to 0 at half the full angle. [-]

    Notes
    -----
    1 - tan(angle)/tan(acceptance/2): how far the two ends of a cell still cover each other.
    Light that the walls of the cells take on the axis, or send on, is left out.
    """
    cosine = np.asarray(cos_turned, dtype=np.float64)
    behind = cosine <= 0.0
    safe = np.where(behind, 1.0, cosine)
    tangent = np.sqrt(np.maximum(1.0 - safe * safe, 0.0)) / safe
    share = np.maximum(1.0 - tangent / np.tan(np.true_divide(acceptance, 2.0)), 0.0)
    return np.where(behind, 0.0, share)[()]


def bounced_exposure(
    light_on_patch: FloatLike,
    *,
    reflectance: FloatLike,
    distance_m: FloatLike,
    cos_emitted: FloatLike = 1.0,
    cos_received: FloatLike = 1.0,
) -> FloatArray:
    """Return the light that reaches the subject from a small lit spot of ceiling or wall.

    Parameters
    ----------
    light_on_patch : float or (...) array
        Light that falls on the spot. [lm s or lm]
    reflectance : float or (...) array
        Fraction the matt surface sends back, 0 to 1. [-]
    distance_m : float or (...) array
        Spot to subject, large against the spot. [m]
    cos_emitted, cos_received : float or (...) array
        Cosine of the angle between the joining line and the ceiling's, and the receiving
        surface's normal, 0 to 1. [-]

    Returns
    -------
    (...) array
        H = reflectance Q cos cos/(pi d^2), in lx s or lx.

    References
    ----------
    [view-factor]
    """
    back = np.multiply(light_on_patch, reflectance) * np.multiply(cos_emitted, cos_received)
    bounced: FloatArray = np.true_divide(back, np.pi * np.square(distance_m))
    return bounced
