"""Small pictures of the eyes in a photo, with what was found drawn in."""

from __future__ import annotations

import io

import numpy as np

from tapemark.geometry import FloatArray
from tapemark.photo.files import Photo
from tapemark.photo.reading import Point, ShotReading, WearerReading
from tapemark.photo.strip import EyeStrip, eye_strip

CROP_SIZE = (320, 180)
MOST_WEARERS = 3  # in one small picture
JPEG_QUALITY = 85
_LENS, _GLARE = (120, 150, 60), (225, 70, 30)  # of the house style: moss and vermilion


def eye_crop(photo: Photo, reading: ShotReading) -> bytes:
    """Return the eyes of a photo as a small JPEG, one person under the other.

    Without a face it is the whole photo, made small.
    """
    from PIL import Image

    shown = reading.wearers[:MOST_WEARERS]
    if shown:
        cuts = [_strip_of(photo, one) for one in shown]
        image = Image.fromarray(np.vstack(cuts))
    else:
        image = Image.fromarray(photo.pixels)
        image.thumbnail(CROP_SIZE)
    stream = io.BytesIO()
    image.save(stream, format="JPEG", quality=JPEG_QUALITY)
    return stream.getvalue()


def _strip_of(photo: Photo, wearer: WearerReading) -> np.ndarray:
    import cv2

    right, left = (
        (x / photo.scale - 0.5, y / photo.scale - 0.5)
        for x, y in (wearer.right.pupil, wearer.left.pupil)
    )
    strip = eye_strip(photo.pixels, right=right, left=left)
    image = strip.pixels.copy()
    for eye in wearer.eyes:
        if eye.lens is None:
            continue
        _draw(image, strip, eye.lens.outline, photo.scale, color=_LENS)
        for one in eye.lens.reflections:
            _draw(image, strip, one.outline, photo.scale, color=_GLARE)
    return np.asarray(cv2.resize(image, CROP_SIZE, interpolation=cv2.INTER_AREA))


def _draw(
    image: np.ndarray,
    strip: EyeStrip,
    outline: tuple[Point, ...],
    scale: float,
    *,
    color: tuple[int, int, int],
) -> None:
    import cv2

    at: FloatArray = np.array(outline) / scale - 0.5
    own = np.linalg.solve(strip.matrix[:, :2], (at - strip.matrix[:, 2]).T).T
    cv2.polylines(
        image, [np.round(own).astype(np.int32)], isClosed=True, color=color, lineType=cv2.LINE_AA
    )
