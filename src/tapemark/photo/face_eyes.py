"""Both eyes in the square around a face: by the network, else by detectors of eyes.

The network was trained on faces; what it is not sure of, as what is no face, is left to detectors
of eyes and counts for less.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from tapemark.photo.cascades import EYE, EYE_WITH_GLASSES, detect
from tapemark.photo.eye_pairs import EYES_APART, EYES_DOWN, best_pair
from tapemark.photo.face_found import FaceFound
from tapemark.photo.lens_net import lens_maps
from tapemark.photo.pupil_peaks import pupil_peaks
from tapemark.photo.strip import eye_strip

SURE = 0.5  # surer eyes are not looked for again
BY_DETECTORS = 0.75  # how much eyes count that the network is not sure of
ROUNDS, AGAIN_FROM = 2, 0.12  # a second strip, about the pupils of the first, if there are some
FACE_EDGE = 180  # px: a face that detectors search for eyes
TIPS_DEG = (-9.0, 9.0)  # a face is found level though the head is tipped: its eyes may not be
UPPER = 0.62  # share of a face's square that has the eyes
_LEAST_APART, _MOST_APART, _MOST_TIPPED = 0.6, 1.6, 0.5  # of what was thought; down over across


class Level(NamedTuple):
    """The picture at one size: grey and red, and its pixels for one of the photo."""

    grey: np.ndarray
    red: np.ndarray
    scale: float


class Picture:
    """A picture that is looked at in several sizes, (rows, columns, 3) of sRGB bytes."""

    def __init__(self, pixels: np.ndarray) -> None:
        self.pixels = pixels
        self.long_edge = max(pixels.shape[:2])
        self._levels: dict[int, Level] = {}

    def level(self, edge: int) -> Level:
        """Return the picture with a longer side of so many pixels, or as it is if that is less."""
        if edge not in self._levels:
            self._levels[edge] = self._made(edge)
        return self._levels[edge]

    def _made(self, edge: int) -> Level:
        import cv2

        scale = min(edge / self.long_edge, 1.0)
        rows, columns = self.pixels.shape[:2]
        pixels = self.pixels
        while max(pixels.shape) >= 2 * edge:  # halves first, which is quick
            half = (max(pixels.shape[1] // 2, 1), max(pixels.shape[0] // 2, 1))
            pixels = cv2.resize(pixels, half, interpolation=cv2.INTER_AREA)
        size = (max(round(columns * scale), 1), max(round(rows * scale), 1))
        if size != pixels.shape[1::-1]:
            pixels = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
        grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
        return Level(grey, np.ascontiguousarray(pixels[..., 0]), scale)


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

    def usual_eyes(self) -> np.ndarray:
        """Where eyes usually are in it, camera-left first, (2, 2). [px]"""
        angle = math.radians(self.tilt_deg)
        across = np.array([math.cos(angle), math.sin(angle)])
        down = np.array([-across[1], across[0]])
        middle = np.array(self.center) + (EYES_DOWN - 0.5) * self.side * down
        return middle + np.outer([-0.5, 0.5], EYES_APART * self.side * across)


def eyes_of(picture: Picture, square: FaceSquare, *, hits: int) -> FaceFound:
    """Return a face with its eyes, and how sure they are.

    Parameters
    ----------
    picture : Picture
        To look at.
    square : FaceSquare
        Around what may be a face.
    hits : int
        How many findings of a detector of faces agree; 0 asks the network alone.
    """
    seen = _by_network(picture.pixels, square)
    if seen.confidence >= SURE or not hits:
        return seen
    eyes = _by_detectors(picture, square)
    for more in TIPS_DEG if eyes.confidence < SURE else ():
        tipped = _by_detectors(picture, square._replace(tilt_deg=square.tilt_deg + more))
        eyes = max(eyes, tipped, key=lambda one: one.confidence)
    agreed = BY_DETECTORS * (0.6 + 0.4 * hits / (hits + 2.0))
    eyes = replace(eyes, confidence=agreed * eyes.confidence)
    return max(seen, eyes, key=lambda one: one.confidence)


def _by_network(pixels: np.ndarray, square: FaceSquare) -> FaceFound:
    """Return a face with its eyes as the network sees them from where eyes usually are."""
    usual = square.usual_eyes()
    apart, at, sure = float(np.linalg.norm(usual[1] - usual[0])), usual, 0.0
    for _ in range(ROUNDS):
        one, two = ((float(x), float(y)) for x, y in at)
        strip = eye_strip(pixels, right=one, left=two)
        peaks = pupil_peaks(lens_maps(strip))
        at, sure = strip.in_photo(np.array([peaks.right, peaks.left])), min(peaks.sure)
        across, down = at[1] - at[0]
        likely = _LEAST_APART < math.hypot(across, down) / apart < _MOST_APART
        if not likely or abs(down) > _MOST_TIPPED * across:
            sure = 0.0
        if not AGAIN_FROM <= sure < SURE:
            break
    right, left = ((float(x), float(y)) for x, y in at)
    return FaceFound(
        center=square.center,
        side=square.side,
        tilt_deg=square.tilt_deg,
        right=right,
        left=left,
        confidence=min(sure, 1.0),
    )


def _by_detectors(picture: Picture, square: FaceSquare) -> FaceFound:
    """Return a face with the most likely pair of eyes that detectors of eyes find in it."""
    import cv2

    level = picture.level(round(FACE_EDGE / square.side * picture.long_edge))
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
