"""Where faces are in a photo, and both eyes of each."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from tapemark.photo.cascades import EYE, EYE_WITH_GLASSES, FACE, OTHER_FACE, detect
from tapemark.photo.face_eyes import SURE, FaceSquare, Picture, eyes_of
from tapemark.photo.face_found import FaceFound, face_at

SEARCH_EDGE = 240  # px: the picture that faces are searched in
LEAST_FACE = 0.085  # of the long edge of the picture searched
FINE_EDGE = 900  # px: where they may be small
SMALL_FACE = 0.13  # of the long edge: others may be too small for the first search
LIKELY = 0.3  # less sure findings are no faces
LONE_EYES_EDGE = 500  # px: the picture that eyes without a face are searched in
LONE_EYES = 0.8  # how much surer eyes in a face that was found are
PUPILS_APART_OF_EYE = 1.9  # of the square around an eye
MOST_LONE_PAIRS = 8
_OVERLAP = 0.3


class Look(NamedTuple):
    """One way to look for faces: by which detector, how tipped, with lights and darks evened out.

    Attributes
    ----------
    detector : str
        Which one.
    neighbours : int
        How many overlapping hits a finding needs; with one only the network says what is a face.
    step : float
        Ratio of one size looked for to the next. [-]
    tilt_deg : float
        The picture is turned back by this first. [deg]
    evened : bool
        Whether lights and darks are evened out: faces beside white hair, or lit from one side.
    """

    detector: str
    neighbours: int
    step: float = 1.2
    tilt_deg: float = 0.0
    evened: bool = False


#: One after the other, until somebody is found for sure.
LOOKS = (
    Look(FACE, 3),
    Look(FACE, 1, step=1.1),
    Look(OTHER_FACE, 1, step=1.1, evened=True),
    Look(OTHER_FACE, 2),
    Look(FACE, 2, tilt_deg=12.0, evened=True),
    Look(FACE, 2, tilt_deg=-12.0, evened=True),
    Look(FACE, 3, tilt_deg=25.0),
    Look(FACE, 3, tilt_deg=-25.0),
)


def find_faces(pixels: np.ndarray) -> tuple[FaceFound, ...]:
    """Return the faces in a picture (rows, columns, 3) of sRGB bytes, from camera-left to right."""
    picture = Picture(pixels)
    found: list[FaceFound] = []
    all_found: list[FaceFound] = []
    for look in LOOKS:
        all_found += _at_tilt(picture, SEARCH_EDGE, look=look)
        found = _merged(all_found)
        if any(one.confidence >= SURE for one in found):
            break  # a photo is level or not: who is not sure here is not found elsewhere
    if not any(one.confidence >= SURE for one in found):
        found = _merged([*all_found, *_around_eyes(picture)])
    largest = max((one.side for one in found if one.confidence >= LIKELY), default=0.0)
    if largest < SMALL_FACE * picture.long_edge and picture.long_edge > SEARCH_EDGE:
        found = _merged([*found, *_at_tilt(picture, FINE_EDGE, look=LOOKS[0])])
    return tuple(sorted(found, key=lambda one: one.center[0]))


def _at_tilt(picture: Picture, edge: int, *, look: Look) -> list[FaceFound]:
    """Return the faces found in the picture at one size, turned back by a tilt."""
    import cv2

    level, tilt_deg = picture.level(edge), look.tilt_deg
    grey, scale = level.grey, level.scale
    size = grey.shape[1::-1]
    turn = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    if look.evened:
        grey = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(4, 4)).apply(grey)
    if tilt_deg:
        turn = cv2.getRotationMatrix2D((size[0] / 2, size[1] / 2), tilt_deg, 1.0)
        grey = cv2.warpAffine(grey, turn, size, borderMode=cv2.BORDER_REPLICATE)
    least = max(26.0, LEAST_FACE * max(size))
    faces = detect(look.detector, grey, step=look.step, neighbours=look.neighbours, smallest=least)
    back = cv2.invertAffineTransform(turn)
    found = []
    for left, top, side, hits in faces:
        own = back @ (left + side / 2, top + side / 2, 1.0) / scale
        center = (float(own[0]), float(own[1]))
        square = FaceSquare(center, side / scale, tilt_deg)
        found.append(eyes_of(picture, square, hits=hits if look.neighbours > 1 else 0))
    return found


def _around_eyes(picture: Picture) -> list[FaceFound]:
    """Return faces around eyes that are found without them: thick rims hide faces, not eyes."""
    import cv2

    level = picture.level(LONE_EYES_EDGE)
    even = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(4, 4)).apply(level.grey)
    scale = level.scale
    limits = {"smallest": 0.035 * LONE_EYES_EDGE, "largest": 0.18 * LONE_EYES_EDGE}
    eyes = [
        ((left + side / 2) / scale, (top + side / 2) / scale, side / scale)
        for name in (EYE_WITH_GLASSES, EYE)
        for left, top, side, _ in detect(name, even, step=1.15, neighbours=2, **limits)
    ]
    found = []
    for one, two in _pupils_by_eyes(eyes):
        face = face_at(one, two)
        own = eyes_of(picture, FaceSquare(face.center, face.side, face.tilt_deg), hits=2)
        found.append(replace(own, confidence=LONE_EYES * own.confidence))
    return found


Place = tuple[float, float]


def _pupils_by_eyes(eyes: list[tuple[float, float, float]]) -> list[tuple[Place, Place]]:
    """Return pairs of pupils that eyes (column, row, side) may belong to, camera-left first."""
    pairs: list[tuple[Place, Place]] = []
    for number, (column, row, side) in enumerate(eyes):
        mates = [
            (other[0], other[1])
            for other in eyes[number + 1 :]
            if 1.1 < math.hypot(other[0] - column, other[1] - row) / side < 3.0
            and abs(other[1] - row) < 0.5 * abs(other[0] - column)
        ]
        reach = PUPILS_APART_OF_EYE * side
        mates = mates or [(column - reach, row), (column + reach, row)]
        pairs += [
            ((column, row), mate) if column < mate[0] else (mate, (column, row)) for mate in mates
        ]
    return pairs[:MOST_LONE_PAIRS]


def _merged(found: list[FaceFound]) -> list[FaceFound]:
    """Return faces without those that overlap a surer one."""
    kept: list[FaceFound] = []
    for one in sorted(found, key=lambda face: -face.confidence):
        if all(_overlap(one, other) < _OVERLAP for other in kept):
            kept.append(one)
    return kept


def _overlap(one: FaceFound, two: FaceFound) -> float:
    """Return what two squares share, of the smaller."""
    reach = (one.side + two.side) / 2
    wide = min(reach - abs(one.center[0] - two.center[0]), one.side, two.side)
    tall = min(reach - abs(one.center[1] - two.center[1]), one.side, two.side)
    smaller = min(one.side, two.side) ** 2
    return max(wide, 0.0) * max(tall, 0.0) / smaller if min(wide, tall) > 0 else 0.0
