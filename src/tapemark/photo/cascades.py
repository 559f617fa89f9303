"""The trained detectors that the image library brings along."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

import numpy as np

from tapemark.errors import FileError

FACE = "haarcascade_frontalface_alt2.xml"
OTHER_FACE = "haarcascade_frontalface_alt.xml"
EYE = "haarcascade_eye.xml"
EYE_WITH_GLASSES = "haarcascade_eye_tree_eyeglasses.xml"


def detect(
    name: str,
    grey: np.ndarray,
    *,
    step: float,
    neighbours: int,
    smallest: float,
    largest: float = 0.0,
) -> list[tuple[float, float, float, int]]:
    """Return what a detector finds in a grey picture.

    Parameters
    ----------
    name : str
        Which detector.
    grey : (rows, columns) array of bytes
        The picture.
    step : float
        Ratio of one size looked for to the next. [-]
    neighbours : int
        How many overlapping hits a finding needs.
    smallest, largest : float
        Side of a finding; 0 for no largest. [px]

    Returns
    -------
    list of (left, top, side, hits)
        Left, top and side in pixels, and how many hits agree.
    """
    least = max(int(smallest), 8)
    most = int(largest) if largest > 0.0 else max(grey.shape)
    if min(grey.shape) <= least:
        return []
    boxes, hits = _detector(name).detectMultiScale2(
        grey,
        scaleFactor=step,
        minNeighbors=neighbours,
        minSize=(least, least),
        maxSize=(most, most),
    )
    return [
        (float(left), float(top), float(max(wide, tall)), int(count))
        for (left, top, wide, tall), count in zip(boxes, np.ravel(hits), strict=True)
    ]


def load_detectors() -> None:
    """Load the image library and its detectors now, so that the first photo is read at once."""
    for name in (FACE, OTHER_FACE, EYE, EYE_WITH_GLASSES):
        _detector(name)


@functools.cache
def _detector(name: str) -> Any:
    import cv2

    cv2.setNumThreads(1)  # many photos are read at once, a process each
    file = Path(cv2.__file__).parent / "data" / name
    if not file.is_file():
        raise FileError(
            str(file), reason="the installed image library lacks it", advice="install tapemark anew"
        )
    return cv2.CascadeClassifier(str(file))
