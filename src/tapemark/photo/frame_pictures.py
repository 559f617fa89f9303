"""Small pictures that are kept of a frame: all of it, and the eyes of everybody, level, to compare.

Nothing is drawn into them; what was found is told beside them in numbers.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.files import LONG_EDGE, Photo
from tapemark.photo.reading import ShotReading, WearerReading
from tapemark.photo.strip import ABOVE_MM, BELOW_MM, HALF_WIDE_MM, PUPILS_APART_MM

MOST_BYTES = 200_000  # of a picture
EYES_PX_PER_MM = 4.0
EYES_SIZE = (
    round(2 * HALF_WIDE_MM * EYES_PX_PER_MM),
    round((ABOVE_MM + BELOW_MM) * EYES_PX_PER_MM),
)
MOST_WEARERS = 3
_TRIES = ((1.0, 88), (1.0, 80), (1.0, 70), (1.0, 60), (0.7, 70), (0.5, 60), (0.35, 50))


@dataclass(frozen=True, kw_only=True, slots=True)
class EyesPicture:
    """The eyes of one person, level and always at the same scale for the same face.

    Attributes
    ----------
    number : int
        Of the person in the reading.
    jpeg : bytes
        The picture, `EYES_SIZE` large.
    from_photo : tuple of six floats
        Where a point (x, y) of the upright original is in it: ``(a x + b y + c, d x + e y + f)``.
    """

    number: int
    jpeg: bytes
    from_photo: tuple[float, float, float, float, float, float]


def preview_of(photo: Photo) -> bytes:
    """Return a photo as a small JPEG: at most 1400 pixels a side and 200 kB."""
    from PIL import Image

    whole = Image.fromarray(photo.pixels)
    for share, quality in _TRIES:
        image = whole.copy()
        edge = round(share * LONG_EDGE)
        image.thumbnail((edge, edge))
        found = _jpeg(image, quality)
        if len(found) <= MOST_BYTES:
            return found
    return found


def eyes_of(photo: Photo, reading: ShotReading) -> tuple[EyesPicture, ...]:
    """Return the eyes of everybody in a photo, of three people at most."""
    return tuple(_eyes(photo, one) for one in reading.wearers[:MOST_WEARERS])


def _eyes(photo: Photo, wearer: WearerReading) -> EyesPicture:
    import cv2
    from PIL import Image

    original = _to_original(wearer)
    inner = original / photo.scale
    inner[:, 2] += inner[:, :2] @ (0.5, 0.5) - 0.5  # pixel centres, not corners
    pixels = cv2.warpAffine(
        photo.pixels,
        inner,
        EYES_SIZE,
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    turn = np.linalg.inv(original[:, :2])
    shift = -turn @ original[:, 2]
    a, b, c, d, e, f = (round(float(one), 5) for one in np.column_stack((turn, shift)).ravel())
    found = _jpeg(Image.fromarray(pixels), 85)
    return EyesPicture(number=wearer.number, jpeg=found, from_photo=(a, b, c, d, e, f))


def _to_original(wearer: WearerReading) -> FloatArray:
    """Return the matrix (2, 3) from pixels of the small picture to those of the original."""
    right, left = np.array(wearer.right.pupil), np.array(wearer.left.pupil)
    across = (left - right) / PUPILS_APART_MM / EYES_PX_PER_MM
    down = np.array([-across[1], across[0]])
    turn = np.column_stack((across, down))
    origin_px = np.array([HALF_WIDE_MM, ABOVE_MM]) * EYES_PX_PER_MM
    return np.column_stack((turn, (right + left) / 2 - turn @ origin_px))


def _jpeg(image: object, quality: int) -> bytes:
    from PIL import Image

    assert isinstance(image, Image.Image)
    stream = io.BytesIO()
    image.save(stream, format="JPEG", quality=quality, optimize=True)
    return stream.getvalue()
