"""A face in a photo with its pupils."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tapemark.photo.eye_pairs import EYES_APART, EYES_DOWN


@dataclass(frozen=True, kw_only=True, slots=True)
class FaceFound:
    """A face with its pupils, in pixels of the picture searched.

    Attributes
    ----------
    center : tuple of two floats
        Of the face: column and row. [px]
    side : float
        Of the square around it. [px]
    tilt_deg : float
        How far it is tipped, clockwise in the picture. [deg]
    right, left : tuples of two floats
        Pupil centres of the sitter's own right and left eye. [px]
    confidence : float
        0 to 1 that this is a face with its eyes there.
    """

    center: tuple[float, float]
    side: float
    tilt_deg: float
    right: tuple[float, float]
    left: tuple[float, float]
    confidence: float


def face_at(
    right: tuple[float, float], left: tuple[float, float], *, confidence: float = 1.0
) -> FaceFound:
    """Return the face that two pupils belong to.

    Parameters
    ----------
    right, left : tuples of two floats
        Pupil centres of the sitter's own right and left eye. [px]
    confidence : float
        That they are there. [-]
    """
    across, down = left[0] - right[0], left[1] - right[1]
    apart = math.hypot(across, down)
    side = apart / EYES_APART
    lower = (0.5 - EYES_DOWN) * side
    middle = ((right[0] + left[0]) / 2, (right[1] + left[1]) / 2)
    unit = (across / apart, down / apart)
    return FaceFound(
        center=(middle[0] - unit[1] * lower, middle[1] + unit[0] * lower),
        side=side,
        tilt_deg=math.degrees(math.atan2(down, across)),
        right=right,
        left=left,
        confidence=confidence,
    )
