"""From light on the sensor to a picture: exposure, white and the curve.

Light that a dome in front of the face would read as right for the camera's settings (C = 330)
makes a matt white come out at 1.0, so that an 18 % card comes out at 0.18, 118 of 255, and skin
at its own reflectance. What meters two stops over comes out two stops brighter. Beyond 1.0 there
is nothing: the sensor clips, each colour on its own, and no shoulder hides it.
"""

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photometry import DOME, exact_aperture, required_flash_exposure
from tapemark.studio import Camera


def sensor_values(image: FloatArray, *, camera: Camera) -> FloatArray:
    """Return light [cd·s/m²] as linear values of the sensor, where 1.0 is a lit matt white. [-]

    Parameters
    ----------
    image : (..., 3) array
        Luminous exposure of red, green and blue.
    camera : Camera
        Aperture and ISO; the shutter time is in the light already.
    """
    wanted = required_flash_exposure(
        exact_aperture(camera.aperture), iso=camera.iso, calibration=DOME
    )
    return np.asarray(image * (np.pi / wanted))


def developed(values: FloatArray) -> np.ndarray:
    """Return sensor values as an sRGB picture, (..., 3) of bytes."""
    steps = values * np.float32(len(_CURVE) - 1)
    np.fmin(np.fmax(steps, 0.0, out=steps), len(_CURVE) - 1, out=steps)  # NaN becomes 0
    return np.asarray(_CURVE[(steps + np.float32(0.5)).astype(np.uint16)])


def _curve() -> np.ndarray:
    linear = np.linspace(0.0, 1.0, 1 << 14)
    low, high = 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055
    return np.round(255.0 * np.where(linear < 0.0031308, low, high)).astype(np.uint8)


_CURVE = _curve()
