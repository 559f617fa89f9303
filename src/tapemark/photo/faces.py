"""Where faces are in a photo, and both eyes of each."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from tapemark.photo.cascades import EYE, EYE_WITH_GLASSES, FACE, OTHER_FACE, detect
from tapemark.photo.eye_pairs import best_pair
from tapemark.photo.face_found import FaceFound, face_at
from tapemark.photo.faces_by_glasses import told_by_glasses

SEARCH_EDGE = 330  # px: the picture that faces are searched in
EYES_EDGE = 720  # px: that the eyes of a large face are searched in
LEAST_FACE = 0.085  # of the long edge of the picture searched
FINE_EDGE = 900  # px: where they may be small
FACE_EDGE = 180  # px: a face that eyes are searched in
TIPS_DEG = (-9.0, 9.0)  # a face is found level though the head is tipped: its eyes may not be
SMALL_FACE = 0.13  # of the long edge: others may be too small for the first search
SURE, LIKELY = 0.5, 0.3
LONE_EYES_EDGE = 500  # px: the picture that eyes without a face are searched in
LONE_EYES = 0.8  # how much surer eyes in a face that was found are
PUPILS_APART_OF_EYE = 1.9  # of the square around an eye
MOST_LONE_PAIRS = 8
UPPER = 0.62  # share of a face's square that has the eyes
_OVERLAP = 0.3


class Look(NamedTuple):
    """One way to look for faces: by which detector, how tipped, with lights and darks evened out.

    Attributes
    ----------
    detector : str
        Which one.
    neighbours : int
        How many overlapping hits a finding needs.
    tilt_deg : float
        The picture is turned back by this first. [deg]
    evened : bool
        Whether lights and darks are evened out: faces beside white hair, or lit from one side.
    """

    detector: str
    neighbours: int
    tilt_deg: float = 0.0
    evened: bool = False


#: One after the other, until somebody is found for sure.
LOOKS = (
    Look(FACE, 3),
    Look(OTHER_FACE, 2, evened=True),
    Look(FACE, 2, tilt_deg=12.0, evened=True),
    Look(FACE, 2, tilt_deg=-12.0, evened=True),
    Look(FACE, 3, tilt_deg=25.0),
    Look(FACE, 3, tilt_deg=-25.0),
)


class _Level(NamedTuple):
    """The picture at one size: grey and red, and its pixels for one of the photo."""

    grey: np.ndarray
    red: np.ndarray
    scale: float


def find_faces(pixels: np.ndarray) -> tuple[FaceFound, ...]:
    """Return the faces in a picture (rows, columns, 3) of sRGB bytes, from camera-left to right."""
    long_edge = max(pixels.shape[:2])
    levels = [_level(pixels, edge) for edge in (SEARCH_EDGE, EYES_EDGE) if edge < long_edge]
    levels = levels or [_level(pixels, long_edge)]
    found: list[FaceFound] = []
    all_found: list[FaceFound] = []
    for look in LOOKS:
        all_found += _at_tilt(levels, 0, look=look)
        found = _merged(all_found)
        if any(one.confidence >= SURE for one in found):
            break  # a photo is level or not: who is not sure here is not found elsewhere
    if not any(one.confidence >= SURE for one in found):
        found = _merged(told_by_glasses(pixels, [*all_found, *_around_eyes(levels)]))
    largest = max((one.side for one in found if one.confidence >= LIKELY), default=0.0)
    if largest < SMALL_FACE * long_edge and long_edge > SEARCH_EDGE:
        levels += [_level(pixels, edge) for edge in (FINE_EDGE, long_edge) if edge <= long_edge]
        fine = max(one for one, level in enumerate(levels) if max(level.grey.shape) <= FINE_EDGE)
        found = _merged([*found, *_at_tilt(levels, fine, look=LOOKS[0])])
    return tuple(sorted(found, key=lambda one: one.center[0]))


def _level(pixels: np.ndarray, edge: int) -> _Level:
    import cv2

    rows, columns = pixels.shape[:2]
    scale = min(edge / max(rows, columns), 1.0)
    if scale < 1.0:
        size = (max(round(columns * scale), 1), max(round(rows * scale), 1))
        pixels = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    return _Level(grey, np.ascontiguousarray(pixels[..., 0]), scale)


def _at_tilt(levels: list[_Level], number: int, *, look: Look) -> list[FaceFound]:
    """Return the faces found in one level of the picture, turned back by a tilt."""
    import cv2

    grey, scale, tilt_deg = levels[number].grey, levels[number].scale, look.tilt_deg
    size = grey.shape[1::-1]
    turn = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    if look.evened:
        grey = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(4, 4)).apply(grey)
    if tilt_deg:
        turn = cv2.getRotationMatrix2D((size[0] / 2, size[1] / 2), tilt_deg, 1.0)
        grey = cv2.warpAffine(grey, turn, size, borderMode=cv2.BORDER_REPLICATE)
    least = max(26.0, LEAST_FACE * max(size))
    faces = detect(look.detector, grey, step=1.2, neighbours=look.neighbours, smallest=least)
    back = cv2.invertAffineTransform(turn)
    found = []
    for left, top, side, hits in faces:
        own = back @ (left + side / 2, top + side / 2, 1.0) / scale
        center = (float(own[0]), float(own[1]))
        eyes = _eyes_in(levels, FaceSquare(center, side / scale, tilt_deg))
        for more in TIPS_DEG if eyes.confidence < SURE else ():
            tipped = _eyes_in(levels, FaceSquare(center, side / scale, tilt_deg + more))
            eyes = max(eyes, tipped, key=lambda one: one.confidence)
        sure = eyes.confidence * (0.6 + 0.4 * hits / (hits + 2.0))
        found.append(replace(eyes, confidence=sure))
    return found


def _around_eyes(levels: list[_Level]) -> list[FaceFound]:
    """Return faces around eyes that are found without them: thick rims hide faces, not eyes."""
    import cv2

    level = levels[-1]
    shrink = min(LONE_EYES_EDGE / max(level.grey.shape), 1.0)
    size = tuple(round(one * shrink) for one in level.grey.shape[1::-1])
    grey = cv2.resize(level.grey, size, interpolation=cv2.INTER_AREA)
    even = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(4, 4)).apply(grey)
    scale = shrink * level.scale
    limits = {"smallest": 0.035 * LONE_EYES_EDGE, "largest": 0.18 * LONE_EYES_EDGE}
    eyes = [
        ((left + side / 2) / scale, (top + side / 2) / scale, side / scale)
        for name in (EYE_WITH_GLASSES, EYE)
        for left, top, side, _ in detect(name, even, step=1.15, neighbours=2, **limits)
    ]
    found = []
    for one, two in _pupils_by_eyes(eyes):
        face = face_at(one, two)
        own = _eyes_in(levels, FaceSquare(face.center, face.side, face.tilt_deg))
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


class FaceSquare(NamedTuple):
    """The square around a face: centre, side [px] and tilt [deg]."""

    center: tuple[float, float]
    side: float
    tilt_deg: float

    @property
    def matrix(self) -> np.ndarray:
        """From pixels of the picture to those of an upright crop, (2, 3)."""
        scale, angle = FACE_EDGE / self.side, math.radians(self.tilt_deg)
        cosine, sine = scale * math.cos(angle), scale * math.sin(angle)
        turn = np.array([[cosine, sine], [-sine, cosine]])
        return np.column_stack([turn, FACE_EDGE / 2 - turn @ np.array(self.center)])


def _eyes_in(levels: list[_Level], square: FaceSquare) -> FaceFound:
    """Return a face with its most likely pair of eyes."""
    import cv2

    enough = [one for one in levels if square.side * one.scale >= FACE_EDGE]
    level = enough[0] if enough else levels[-1]
    matrix = square.matrix
    here = matrix @ np.diag([1.0 / level.scale, 1.0 / level.scale, 1.0])
    even = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(4, 3)).apply(_cut(level.grey, here))
    one, two, sure = _pair_of_eyes(even, _cut(level.red, here))
    back = cv2.invertAffineTransform(matrix)
    pupils = [back @ (*at, 1.0) for at in (one, two)]
    return FaceFound(
        center=square.center,
        side=square.side,
        tilt_deg=square.tilt_deg,
        right=(float(pupils[0][0]), float(pupils[0][1])),
        left=(float(pupils[1][0]), float(pupils[1][1])),
        confidence=sure,
    )


def _cut(plane: np.ndarray, matrix: np.ndarray) -> np.ndarray:
    """Return the upper part of an upright crop."""
    import cv2

    size = (FACE_EDGE, round(FACE_EDGE * UPPER))
    return np.asarray(cv2.warpAffine(plane, matrix, size, borderMode=cv2.BORDER_REPLICATE))


def _pair_of_eyes(
    even: np.ndarray, red: np.ndarray
) -> tuple[tuple[float, float], tuple[float, float], float]:
    """Return the pupils in a face's upper part, camera-left first, and how sure they are."""
    votes: list[tuple[float, float, float]] = []
    limits = {"smallest": 0.13 * FACE_EDGE, "largest": 0.42 * FACE_EDGE}
    for name in (EYE_WITH_GLASSES, EYE):
        for left, top, side, hits in detect(name, even, step=1.2, neighbours=2, **limits):
            votes.append((left + side / 2, top + side / 2, hits / (hits + 2.0)))
        if name == EYE_WITH_GLASSES and not _both_sides(votes):
            continue
        one, two, sure = best_pair(red, votes, side=FACE_EDGE)
        if min(one.vote, two.vote) > 0.5:
            break
    return (one.column, one.row), (two.column, two.row), sure


def _both_sides(votes: list[tuple[float, float, float]]) -> bool:
    sides = [one[0] > FACE_EDGE / 2 for one in votes]
    return any(sides) and not all(sides)


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
