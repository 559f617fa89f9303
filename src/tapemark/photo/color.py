"""Colours of a picture: to sRGB by its profile, and to linear light."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np

from tapemark.geometry import FloatArray

if TYPE_CHECKING:
    from PIL import Image

#: Luminance of linear sRGB red, green and blue [iec-61966-2-1].
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
MOST_PROFILE_BYTES = 4_000_000
_SRGB_NAMES = ("sRGB", "srgb", "IEC61966")
_CODES = np.arange(256) / 255.0
_LINEAR = np.where(_CODES <= 0.04045, _CODES / 12.92, ((_CODES + 0.055) / 1.055) ** 2.4).astype(
    np.float32
)


def linear_light(pixels: np.ndarray) -> FloatArray:
    """Return sRGB bytes as linear light, 0 to 1. [-]

    References
    ----------
    [iec-61966-2-1] the curve of sRGB.
    """
    return np.asarray(_LINEAR[pixels])


def luminance(pixels: np.ndarray) -> FloatArray:
    """Return the luminance of sRGB bytes (..., 3), 1 for white. [-]"""
    return np.asarray(linear_light(pixels) @ LUMINANCE.astype(np.float32))


def to_srgb(image: Image.Image) -> tuple[Image.Image, str]:
    """Return an image in sRGB and the name of the profile it was in.

    An unreadable profile is passed over: the image counts as sRGB then.
    """
    from PIL import ImageCms

    given = image.info.get("icc_profile")
    plain = image if image.mode == "RGB" else None
    if not isinstance(given, bytes) or not 128 <= len(given) <= MOST_PROFILE_BYTES:
        return plain or as_rgb(image), ""
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(given))
        name = ImageCms.getProfileDescription(profile).strip()[:80]
        if any(one in name for one in _SRGB_NAMES) and plain is not None:
            return plain, name
        if image.mode not in {"RGB", "L", "CMYK"}:
            image = as_rgb(image)
        target = ImageCms.createProfile("sRGB")
        done = ImageCms.profileToProfile(image, profile, target, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return plain or as_rgb(image), ""
    return (done if done is not None else as_rgb(image)), name


def as_rgb(image: Image.Image) -> Image.Image:
    """Return an image of any mode as red, green and blue; what is transparent shows white."""
    from PIL import Image as Images

    if image.mode.startswith(("I", "F")):
        values = np.nan_to_num(np.asarray(image, dtype=np.float64))
        top = 65535.0 if image.mode.startswith("I") else max(float(values.max(initial=0.0)), 1e-9)
        grey = np.clip(values / top * 255.0 + 0.5, 0, 255).astype(np.uint8)
        return Images.fromarray(grey).convert("RGB")
    if image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info:
        over = image.convert("RGBA")
        white = Images.new("RGBA", over.size, (255, 255, 255, 255))
        return Images.alpha_composite(white, over).convert("RGB")
    return image.convert("RGB")
