"""Faces told by the glasses on them: where eyes are hidden, the rims still show where they are.

A reflection, a tint or a thick rim hides an eye from every detector of eyes. For each place where
a face may be, the pair of lenses is looked for, the eyes are moved to where they sit behind such a
pair, and the place counts for more the better its rims are followed.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from tapemark.photo.eye_pairs import EYES_DOWN
from tapemark.photo.face_found import FaceFound, face_at
from tapemark.photo.lens_regions import LensesFound, find_lenses
from tapemark.photo.strip import EyeStrip, eye_strip

MOST_TRIED = 6
GLASSES_FROM = 0.5  # less sure pairs of lenses are none
SUPPORT_FROM, SUPPORT_COUNTS = 0.33, 1.5  # as far as rims are followed by chance, and beyond it
ROUNDS = 2
#: Pupils behind a pair of lenses: their distance over that of the middles, and how far above.
PUPILS_OF_MIDDLES, ABOVE_MIDDLE_MM = 0.905, 3.1


def told_by_glasses(pixels: np.ndarray, faces: list[FaceFound]) -> list[FaceFound]:
    """Return the same faces and some like them, as sure as glasses make them.

    Parameters
    ----------
    pixels : (rows, columns, 3) array of bytes
        The photo.
    faces : list of FaceFound
        Where a face may be; the surest of them are tried.
    """
    tried = sorted(faces, key=lambda one: -one.confidence)[:MOST_TRIED]
    found = list(faces)
    for one in tried:
        for other in (one, _as_usual(one)):
            found.append(_with_glasses(pixels, other))
    return found


def _as_usual(face: FaceFound) -> FaceFound:
    """Return a face with its eyes where they usually are."""
    angle = math.radians(face.tilt_deg)
    across = np.array([math.cos(angle), math.sin(angle)])
    middle = np.array(face.center) + (EYES_DOWN - 0.5) * face.side * np.array(
        [-across[1], across[0]]
    )
    right, left = (middle + sign * 0.18 * face.side * across for sign in (-1.0, 1.0))
    return replace(
        face, right=(float(right[0]), float(right[1])), left=(float(left[0]), float(left[1]))
    )


def _with_glasses(pixels: np.ndarray, face: FaceFound) -> FaceFound:
    """Return a face with its eyes behind the lenses found, as sure as these make it."""
    best, most = face, 0.0
    for _ in range(ROUNDS):
        strip = eye_strip(pixels, right=face.right, left=face.left)
        lenses = find_lenses(strip)
        support = lenses.support if lenses.confidence >= GLASSES_FROM else 0.0
        if support > most:
            best, most = face, support
        if support < 0.8 * SUPPORT_FROM:
            break
        face = _behind(strip, lenses, confidence=face.confidence)
    more = SUPPORT_COUNTS * max(most - SUPPORT_FROM, 0.0)
    return replace(best, confidence=min(best.confidence + more, 1.0))


def _behind(strip: EyeStrip, lenses: LensesFound, *, confidence: float) -> FaceFound:
    """Return the face whose pupils sit behind a pair of lenses as they usually do."""
    one, two = (np.array([lens.across, lens.down]) for lens in (lenses.right, lenses.left))
    middle, half = (one + two) / 2, (two - one) / 2
    up = np.array([half[1], -half[0]]) / max(float(np.hypot(*half)), 1e-6) * ABOVE_MIDDLE_MM
    pupils = [middle + sign * PUPILS_OF_MIDDLES * half + up for sign in (-1.0, 1.0)]
    right, left = strip.in_photo(np.array(pupils))
    return face_at(
        (float(right[0]), float(right[1])),
        (float(left[0]), float(left[1])),
        confidence=confidence,
    )
